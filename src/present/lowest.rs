//! The least of a row of numbers over any run of them, without looking at each.
//!
//! A column of the strip may cover thousands of legs, and the one in which the fuel runs low must
//! not be missed. A pyramid of minima, each level an eighth as long as the one below, answers in a
//! number of steps that grows with the logarithm of the run.

use std::ops::Range;

/// Numbers that share one entry of the level above.
const FAN: usize = 8;

/// A row of numbers with the pyramid of its minima.
#[derive(Clone, Debug)]
pub(super) struct Lowest {
    /// The numbers, then their minima by eights, and so on up to one entry.
    levels: Vec<Vec<f64>>,
}

impl Lowest {
    /// The pyramid over `numbers`.
    pub(super) fn of(numbers: Vec<f64>) -> Self {
        let mut levels = vec![numbers];
        while let Some(last) = levels.last().filter(|level| level.len() > 1) {
            let above = last.chunks(FAN).map(least_of).collect();
            levels.push(above);
        }
        Self { levels }
    }

    /// Index of the first of the least numbers in `run`; nothing when the run is empty.
    pub(super) fn index_in(&self, run: Range<usize>) -> Option<usize> {
        let numbers = &self.levels[0];
        let run = run.start..run.end.min(numbers.len());
        if run.is_empty() {
            return None;
        }
        let least = self.least_in(0, run.clone());
        self.first_at_most(run, least)
    }

    /// The least number of `run` on a level.
    fn least_in(&self, level: usize, run: Range<usize>) -> f64 {
        let numbers = &self.levels[level];
        let (first, last) = (run.start.next_multiple_of(FAN), run.end / FAN * FAN);
        if first >= last {
            return least_of(&numbers[run]);
        }
        least_of(&numbers[run.start..first])
            .min(self.least_in(level + 1, first / FAN..last / FAN))
            .min(least_of(&numbers[last..run.end]))
    }

    /// Index of the first number of `run` that is not above `bound`, skipping whole blocks that are.
    fn first_at_most(&self, run: Range<usize>, bound: f64) -> Option<usize> {
        let mut at = run.start;
        while at < run.end {
            let block = (1..self.levels.len())
                .map_while(|level| {
                    let size = FAN.pow(u32::try_from(level).ok()?);
                    let whole = at.is_multiple_of(size) && self.levels[level][at / size] > bound;
                    whole.then_some(size)
                })
                .last();
            match block {
                Some(size) => at += size,
                None if self.levels[0][at] <= bound => return Some(at),
                None => at += 1,
            }
        }
        None
    }
}

/// The least of some numbers; infinite when there are none.
fn least_of(numbers: &[f64]) -> f64 {
    numbers.iter().copied().fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Against the plain search over every number.
        #[test]
        fn agrees_with_the_plain_search(
            numbers in prop::collection::vec(-50_i32..50, 0..700),
            a in 0_usize..700,
            b in 0_usize..700,
        ) {
            let run = a.min(b)..a.max(b).min(numbers.len());
            let plain = run.clone().filter(|&i| i < numbers.len()).min_by_key(|&i| numbers[i]);
            let pyramid = Lowest::of(numbers.iter().copied().map(f64::from).collect());
            prop_assert_eq!(pyramid.index_in(run), plain);
        }
    }
}
