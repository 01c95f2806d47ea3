//! Memory that one study gives back and the next one takes again.

use std::hint::black_box;
use std::sync::Once;

/// About what a study of forty legs takes at a time.
const OF_A_STUDY: usize = 4 << 20;

/// Lets the process keep what a study gives back.
///
/// The C library of Linux returns freed memory to the system but for twice the largest piece that it ever saw freed at
/// once, and a study takes its memory in small pieces: to have every page given anew took a quarter of its time. So one
/// large piece comes and goes before the first one; it is never written to. Elsewhere this does nothing.
pub(super) fn keep() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| drop(black_box(Vec::<u8>::with_capacity(OF_A_STUDY))));
}
