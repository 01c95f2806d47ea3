//! Work that falls into parts, on several threads; what comes of it does not hang on how many.

use std::num::NonZeroUsize;
use std::{panic, thread};

/// Does the work for each number up to `end`, and gives what came of it in their order.
pub(super) fn for_numbers<T: Send>(
    end: usize,
    threads: NonZeroUsize,
    work: impl Fn(usize) -> T + Sync,
) -> Vec<T> {
    for_each(0..end, threads, work)
}

/// Does the work for each part, and gives what came of it in their order.
pub(super) fn for_each<P: Send, T: Send>(
    parts: impl ExactSizeIterator<Item = P>,
    threads: NonZeroUsize,
    work: impl Fn(P) -> T + Sync,
) -> Vec<T> {
    let length = parts.len();
    let threads = threads.get().min(length);
    if threads <= 1 {
        return parts.map(work).collect();
    }
    let share = |hand: usize| length * (hand + 1) / threads - length * hand / threads;
    let (work, mut parts) = (&work, parts);
    thread::scope(|scope| {
        let first: Vec<P> = parts.by_ref().take(share(0)).collect();
        let others: Vec<_> = (1..threads)
            .map(|hand| {
                let own: Vec<P> = parts.by_ref().take(share(hand)).collect();
                scope.spawn(move || own.into_iter().map(work).collect::<Vec<T>>())
            })
            .collect();
        let mut done: Vec<T> = Vec::with_capacity(length);
        done.extend(first.into_iter().map(work));
        for other in others {
            done.extend(
                other
                    .join()
                    .unwrap_or_else(|panic| panic::resume_unwind(panic)),
            );
        }
        done
    })
}
