//! Work that falls into parts, on several threads; what comes of it does not depend on how many.

use std::num::NonZeroUsize;

use rayon::iter::{IndexedParallelIterator, IntoParallelIterator, ParallelIterator};

/// Does the work for each part, on no more than so many threads, and gives what came of it in their order.
pub(crate) fn for_each<P: Send, T: Send>(
    parts: impl ExactSizeIterator<Item = P>,
    threads: NonZeroUsize,
    work: impl Fn(P) -> T + Sync + Send,
) -> Vec<T> {
    if threads.get() == 1 || parts.len() <= 1 {
        return parts.map(work).collect();
    }
    let parts: Vec<P> = parts.collect();
    // One by one, so that no thread waits long for another that was held up; else in as few runs as there are threads.
    let (least, most) = if threads.get() < rayon::current_num_threads() {
        (parts.len().div_ceil(threads.get()), parts.len())
    } else {
        (1, 1)
    };
    let parts = parts.into_par_iter();
    let parts = parts.with_min_len(least).with_max_len(most);
    parts.map(work).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_comes_of_the_parts_is_in_their_order() {
        for threads in (1..5).filter_map(NonZeroUsize::new) {
            for end in [0, 1, 2, 7, 100] {
                let squares = for_each(0..end, threads, |number| number * number);
                let by_hand: Vec<usize> = (0..end).map(|number| number * number).collect();
                assert_eq!(squares, by_hand);
            }
        }
    }

    #[test]
    #[should_panic(expected = "seven")]
    fn a_panic_is_passed_on() {
        let threads = NonZeroUsize::new(3).expect("not 0");
        for_each(0..100, threads, |number| assert!(number != 7, "seven"));
    }
}
