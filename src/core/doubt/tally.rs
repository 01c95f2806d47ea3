//! What samples add up to, each figure with its sampling error.

use std::cmp::Ordering;

use crate::quantity::{Litres, Share};

/// By so many standard errors more samples hardly change the answer: once in 700 times (normal distribution, one side).
pub(crate) const SURELY: f64 = 3.0;

/// A quantile of litres.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Quantile {
    /// The quantile, in litres.
    pub litres: Litres,
    /// Standard error of the quantile.
    pub error: Litres,
}

/// How often something happens.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Odds {
    /// The share of the samples.
    pub share: Share,
    /// Its standard error; not 0 where it never or always happened.
    pub error: Share,
}

impl Odds {
    /// `happened` of `samples`. The error is that of the binomial, with one success and one failure added (Agresti
    /// and Coull 1998 add two of each for an interval).
    pub(crate) fn from_count(happened: usize, samples: usize) -> Self {
        let (happened, samples) = (happened as f64, samples as f64);
        let smoothed = (happened + 1.0) / (samples + 2.0);
        Self {
            share: Share::new(if samples > 0.0 {
                happened / samples
            } else {
                0.0
            }),
            error: Share::new((smoothed * (1.0 - smoothed) / (samples + 2.0)).sqrt()),
        }
    }

    /// From the chance of each sample. The error is that of their mean, with one success and one failure added.
    pub(super) fn of_chances(chances: &[f64]) -> Self {
        let samples = chances.len() as f64;
        let sum: f64 = chances.iter().sum();
        let squares: f64 = chances.iter().map(|chance| chance * chance).sum();
        let [mean, square] = [sum, squares].map(|sum| (sum + 1.0) / (samples + 2.0));
        Self {
            share: Share::new(if samples > 0.0 { sum / samples } else { 0.0 }),
            error: Share::new(((square - mean * mean).max(0.0) / (samples + 2.0)).sqrt()),
        }
    }
}

/// Litres of many samples in no order, for a quantile or two.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct UnsortedSamples(Vec<f64>);

impl UnsortedSamples {
    /// The litres of all the parts together; what is not a number is left out.
    pub(super) fn from_parts<'a>(parts: impl IntoIterator<Item = &'a [f64]>) -> Self {
        let litres = parts.into_iter().flatten().copied();
        Self(litres.filter(|litres| !litres.is_nan()).collect())
    }

    /// The least litres that are enough in a share of the samples. Cost: linear.
    pub(crate) fn quantile(&mut self, share: Share) -> Litres {
        let [litres] = self.quantiles([share]);
        litres
    }

    /// The litres at several shares, which rise.
    pub(crate) fn quantiles<const N: usize>(&mut self, shares: [Share; N]) -> [Litres; N] {
        let found = order_statistics(&mut self.0, shares, f64::total_cmp);
        found.map(|litres| Litres::new(litres.unwrap_or_default()))
    }
}

/// The place of a rank, the ranks counted from 1, among `len`.
pub(super) fn index_of(rank: f64, len: usize) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to the ranks that there are"
    )]
    let index = (rank - 1e-9).ceil().clamp(1.0, len.max(1) as f64) as usize - 1;
    index
}

/// The least of some litres that are enough in each of some rising shares of them; `None` if there are none. Cost:
/// linear.
pub(super) fn quantiles_of<const N: usize>(litres: &mut [f32], shares: [Share; N]) -> [Litres; N] {
    let found = order_statistics(litres, shares, f32::total_cmp);
    found.map(|litres| Litres::new(litres.unwrap_or_default().into()))
}

fn order_statistics<T: Copy, const N: usize>(
    numbers: &mut [T],
    shares: [Share; N],
    order: impl Fn(&T, &T) -> Ordering,
) -> [Option<T>; N] {
    let len = numbers.len();
    let mut from = 0;
    shares.map(|share| {
        let index = index_of(share.get() * len as f64, len).max(from);
        // An end below the one before is already counted.
        let rest = &mut numbers[from..];
        if rest.is_empty() {
            return None;
        }
        let (_, found, _) = rest.select_nth_unstable_by(index - from, &order);
        from = index;
        Some(*found)
    })
}

/// Litres of many samples, in rising order.
#[derive(Clone, Debug, PartialEq)]
pub struct Sorted(Vec<f64>);

impl Sorted {
    pub(super) fn from_samples(mut samples: Vec<f64>) -> Self {
        samples.sort_unstable_by(f64::total_cmp);
        Self(samples)
    }

    /// How many there are.
    pub(crate) fn len(&self) -> usize {
        self.0.len()
    }

    /// The least litres that are enough in a share of the samples.
    pub(crate) fn quantile(&self, share: Share) -> Litres {
        Litres::new(self.at(share.get() * self.len() as f64))
    }

    /// The litres at a share with their standard error, from the order statistics one binomial standard deviation off.
    pub fn quantile_with_error(&self, share: Share) -> Quantile {
        let n = self.len() as f64;
        let rank = share.get() * n;
        let off = (n * share.get() * (1.0 - share.get())).sqrt().max(1.0);
        Quantile {
            litres: self.quantile(share),
            error: Litres::new((self.at(rank + off) - self.at(rank - off)) / 2.0),
        }
    }

    /// The share of the samples for which `litres` are enough.
    pub(crate) fn enough(&self, litres: Litres) -> Share {
        let enough = self.0.partition_point(|&sample| sample <= litres.get());
        Share::new(enough as f64 / self.len().max(1) as f64)
    }

    /// The value of a rank, the ranks counted from 1.
    fn at(&self, rank: f64) -> f64 {
        let index = index_of(rank, self.len());
        self.0.get(index).copied().unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: of 1 to 20 the 95 % quantile is the 19th, which is enough in 19 of 20.
    #[test]
    fn quantiles_are_order_statistics() {
        let sorted = Sorted::from_samples((1..=20).rev().map(f64::from).collect());
        let quantile = |share: f64| sorted.quantile(Share::new(share)).get();
        for (share, by_hand) in [
            (0.0, 1.0),
            (0.05, 1.0),
            (0.5, 10.0),
            (0.95, 19.0),
            (0.951, 20.0),
            (1.0, 20.0),
        ] {
            assert!((quantile(share) - by_hand).abs() < 1e-12, "{share}");
            let litres: Vec<f64> = (1..=20).rev().map(f64::from).collect();
            let mut heap = UnsortedSamples::from_parts([&litres[..7], &litres[7..]]);
            assert_eq!(heap.quantile(Share::new(share)), Litres::new(by_hand));
        }
        for shares in [
            [0.05, 0.5, 0.95],
            [0.5, 0.5, 0.5],
            [0.0, 0.5, 1.0],
            [0.0, 0.0, 0.04],
        ] {
            let shares = shares.map(Share::new);
            let shuffled: Vec<f64> = (0..20).map(|nth| f64::from(nth * 7 % 20 + 1)).collect();
            let by_sorting = shares.map(|share| sorted.quantile(share));
            assert_eq!(
                UnsortedSamples::from_parts([&shuffled[..]]).quantiles(shares),
                by_sorting
            );
            let mut short: Vec<f32> = (0..20_u8).map(|nth| f32::from(nth * 7 % 20 + 1)).collect();
            assert_eq!(quantiles_of(&mut short, shares), by_sorting);
        }
        assert_eq!(quantiles_of(&mut [], [Share::ZERO; 2]), [Litres::ZERO; 2]);
        assert_eq!(
            UnsortedSamples::from_parts([]).quantiles([Share::ZERO; 3]),
            [Litres::ZERO; 3]
        );
        assert_eq!(sorted.enough(Litres::new(19.0)), Share::new(0.95));
        // One standard deviation of the binomial is √(20 · 0.5 · 0.5) = 2.2 ranks: from rank 8 to rank 13.
        let half = sorted.quantile_with_error(Share::new(0.5));
        assert!((half.error.get() - 2.5).abs() < 1e-12);
    }

    /// Less than nothing has its place in the order, and what is not a number has none.
    #[test]
    fn any_litres_have_their_rank() {
        let nan = f64::NAN;
        let litres = [
            3.5,
            -nan,
            -0.25,
            f64::NEG_INFINITY,
            0.0,
            nan,
            -7.0,
            f64::INFINITY,
        ];
        let found =
            UnsortedSamples::from_parts([&litres[..]]).quantiles([0.0, 0.5, 0.7].map(Share::new));
        assert_eq!(found, [f64::NEG_INFINITY, -0.25, 3.5].map(Litres::new));
        assert_eq!(
            UnsortedSamples::from_parts([&litres[..]]).quantile(Share::new(1.0)),
            Litres::new(f64::INFINITY)
        );
    }

    /// By hand: √(0.25 / 100) is 0.05; never in 98 counts as once in 100.
    #[test]
    fn odds_have_the_error_of_the_binomial() {
        assert!((Odds::from_count(49, 98).error.get() - 0.05).abs() < 1e-12);
        let never = Odds::from_count(0, 98);
        assert!((never.error.get() - (0.01_f64 * 0.99 / 100.0).sqrt()).abs() < 1e-12);
        assert_eq!(never.share, Share::ZERO);
    }
}
