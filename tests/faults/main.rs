//! What goes wrong while something is written: every step refused, the program killed at every step, a full device, a
//! folder that takes nothing, a reader that goes away. The table in `DEVELOPERS.md` has a row for each.

#![cfg(target_os = "linux")]
#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

mod edits;
mod faulty;
mod guarded;
mod program;
mod save;
