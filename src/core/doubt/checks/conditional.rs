//! Litres that are enough for 95 of 100 of the trips that have used about as much fuel as this one.
//!
//! Who arrives low drives a thirsty vehicle, day or surface, and what is ahead shares the cause. So what a trip still
//! needs is fitted to what it has used: a straight line through the logarithms of both, over the thirstier half of the
//! simulated trips, since only those come near a threshold. The 95 % quantile of what is left about the line is added.
//! On leaving with `D` litres the figure of a check is then the root of `F = given(D − F)`, and there is one.
//!
//! Trips that cannot do it with any amount rank above every quantile. Where they are too many for any figure, they are
//! the thirstiest: then there is a figure for those that used less, and none for who used more.
//!
//! Beyond the thirstiest simulated trip the line has no evidence: who has less than any of them has lost fuel in
//! another way (a leak, a can that was not full), so more use than that counts as that much.
//!
//! Without logarithms the spread of what is needed would not grow with what was used, and 6 to 30 % would run out where
//! 5 % are meant to.

use std::borrow::Cow;

use crate::quantity::{Litres, Share};

/// The share of the trips that arrive with about as much for which a figure of a fuel check is enough, whatever the
/// success target: at a lower level people would be advised to continue at a higher chance of running out.
pub(crate) const LEVEL: Share = Share::new(0.95);

/// Litres below this are taken for this in a logarithm: a small glass.
const LEAST: f64 = 0.05;
/// That bound in the precision of kept litres.
pub(super) const LEAST_KEPT: f32 = 0.05;
/// Logarithms that vary less than this are equal, within single precision.
const LEAST_VARIANCE: f64 = 1e-10;
/// Fewer trips than this do not show a tail of one in twenty. Chosen, no source.
const FEWEST: usize = 100;
/// Steps towards a root at most: halvings alone get from a hundred litres to less than a drop.
const MOST_STEPS: u32 = 40;
/// Litres between two steps at which a root is found.
const NEAR_ENOUGH: f64 = 1e-9;

/// The logarithm of litres that were used, for [`Conditional::log_given`].
#[inline]
fn log_of_used(used: f64) -> f64 {
    used.max(LEAST).ln()
}

/// The place of a share among so many, in order.
fn rank(share: f64, of: usize) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a share of a count"
    )]
    let rank = (share * of as f64).ceil().max(1.0) as usize;
    rank - 1
}

/// What a trip still needs, given the litres that it has used.
#[derive(Clone, Debug)]
pub(crate) struct Conditional {
    intercept: f64,
    slope: f64,
    /// What the thirstiest trip has used.
    most_used: f64,
    log_most_used: f64,
    /// The 95 % quantile of what is left about the line; infinite where more than 5 % of the trips cannot do it at all.
    upper: f64,
    /// What is left about the line, trip by trip in no order, and those that cannot do it at all.
    left: Vec<f32>,
    hopeless: usize,
    /// The use after which no amount is enough; `None` if there is no such limit.
    beyond: Option<Beyond>,
}

/// A use from which on too many trips cannot do it at all.
#[derive(Clone, Copy, Debug)]
struct Beyond {
    used: f64,
    /// The share of those that have used more which cannot.
    hopeless: f64,
}

impl Beyond {
    /// The use from which on more than one in twenty are hopeless, if that share only rises with what was used, and the
    /// trips that have used no more; `None` if more are hopeless from the first on. With the trips in order of use, the
    /// isotonic estimate of the share passes a level after the last minimum of the count of the hopeless less the level
    /// for each trip (Barlow et al., Statistical Inference under Order Restrictions, 1972, from memory).
    fn from_use(
        logs_used: &[f32],
        is_hopeless: impl Fn(usize) -> bool,
    ) -> Option<(Self, Vec<usize>)> {
        let mut order: Vec<usize> = (0..logs_used.len()).collect();
        order.sort_unstable_by(|&one, &other| {
            logs_used[one]
                .total_cmp(&logs_used[other])
                .then(one.cmp(&other))
        });
        let (mut over, mut least, mut first) = (0.0, 0.0, 0);
        for (nth, &trip) in order.iter().enumerate() {
            over += f64::from(u8::from(is_hopeless(trip))) - (1.0 - LEVEL.get());
            if over <= least {
                (least, first) = (over, nth + 1);
            }
        }
        let more = order.split_off(first);
        let hopeless = more.iter().filter(|&&trip| is_hopeless(trip)).count();
        let last = *order.last()?;
        let beyond = Self {
            used: f64::from(logs_used[last]).exp(),
            hopeless: hopeless as f64 / more.len().max(1) as f64,
        };
        Some((beyond, order))
    }
}

/// The thirstier half of some trips: only those come near a threshold.
#[derive(Debug)]
pub(super) struct Thirsty {
    /// Their numbers among the simulated trips.
    trips: Vec<u32>,
    /// The logarithms of what they have used.
    logs: Vec<f32>,
    /// What the thirstiest has used.
    most_used: f64,
}

impl Thirsty {
    /// Those of some trips, given by what they had `used`; `None` if there are too few.
    pub(crate) fn from_use(used: &[f32]) -> Option<Self> {
        let mut order: Vec<f32> = used
            .iter()
            .copied()
            .filter(|used| used.is_finite())
            .collect();
        if order.len() < FEWEST {
            return None;
        }
        let middle = order.len() / 2;
        let median = *order.select_nth_unstable_by(middle, f32::total_cmp).1;
        // What is not a number is above no median.
        let thirsty = (0..).zip(used).filter(|(_, used)| **used >= median);
        let (trips, logs): (Vec<u32>, Vec<f32>) = thirsty
            .map(|(trip, used)| (trip, used.max(LEAST_KEPT).ln()))
            .unzip();
        let most_used = used.iter().copied().fold(LEAST_KEPT, f32::max);
        Some(Self {
            trips,
            logs,
            most_used: f64::from(most_used),
        })
    }
}

impl Conditional {
    /// Fits what trips need, given by their numbers, to what the thirsty ones of them have used; a trip that cannot do
    /// it with any amount needs an infinite one. `None` if more than half of the thirsty ones cannot do it.
    pub(super) fn fit(thirsty: &Thirsty, needed: impl Fn(usize) -> f32) -> Option<Self> {
        let all = thirsty.trips.iter().map(|&trip| needed(trip as usize));
        let mut ys: Vec<f32> = all.map(|needed| needed.max(LEAST_KEPT)).collect();
        let mut xs = Cow::Borrowed(&thirsty.logs);
        let mut hopeless = ys.iter().filter(|needed| needed.is_infinite()).count();
        if hopeless > ys.len() - hopeless {
            return None;
        }
        let mut beyond = None;
        if rank(LEVEL.get(), ys.len()) >= ys.len() - hopeless
            && let Some((found, trips)) = Beyond::from_use(&xs, |trip| ys[trip].is_infinite())
            && trips.len() >= FEWEST
        {
            beyond = Some(found);
            xs = Cow::Owned(trips.iter().map(|&trip| xs[trip]).collect());
            ys = trips.iter().map(|&trip| ys[trip]).collect();
            hopeless = ys.iter().filter(|needed| needed.is_infinite()).count();
        }
        if hopeless > 0 {
            let can = xs.iter().zip(&ys).filter(|(_, needed)| needed.is_finite());
            let can: (Vec<f32>, Vec<f32>) = can.unzip();
            (xs, ys) = (Cow::Owned(can.0), can.1);
        }
        if ys.len() < FEWEST / 2 {
            return None;
        }
        for needed in &mut ys {
            *needed = needed.ln();
        }
        let n = ys.len() as f64;
        let mean = |logs: &[f32]| logs.iter().map(|&log| f64::from(log)).sum::<f64>() / n;
        let (x, y) = (mean(&xs), mean(&ys));
        let off = || xs.iter().map(|&log| f64::from(log) - x);
        let variance = off().map(|off| off * off).sum::<f64>() / n;
        let both = off().zip(&ys).map(|(off, &log)| off * (f64::from(log) - y));
        let common = both.sum::<f64>() / n;
        // Who has used more never needs less: the cause is common to both.
        let slope = if variance > LEAST_VARIANCE {
            (common / variance).max(0.0)
        } else {
            0.0
        };
        let intercept = y - slope * x;
        #[expect(clippy::cast_possible_truncation, reason = "logarithms")]
        let [steep, above] = [slope as f32, intercept as f32];
        let mut left = ys;
        for (left, x) in left.iter_mut().zip(xs.iter()) {
            *left -= above + steep * x;
        }
        let rank = rank(LEVEL.get(), left.len() + hopeless);
        let upper = if rank < left.len() {
            f64::from(*left.select_nth_unstable_by(rank, f32::total_cmp).1)
        } else {
            f64::INFINITY
        };
        Some(Self {
            intercept,
            slope,
            most_used: thirsty.most_used,
            log_most_used: thirsty.most_used.ln(),
            upper,
            left,
            hopeless,
            beyond,
        })
    }

    /// The largest use after which some amount is still enough; infinite if there is no such limit.
    fn most_hopeful(&self) -> f64 {
        self.beyond.map_or(f64::INFINITY, |beyond| beyond.used)
    }

    /// Litres that are enough in 95 of 100 trips that have used so many, if any amount is.
    #[inline]
    fn given(&self, used: f64) -> f64 {
        self.log_given(log_of_used(used)).exp()
    }

    /// The logarithms of the same for many trips, given those of what they have used.
    pub(super) fn logs_given(&self, logs_used: &[f32]) -> Vec<f32> {
        #[expect(clippy::cast_possible_truncation, reason = "logarithms")]
        let [steep, above, most, hopeful] = [
            self.slope,
            self.intercept + self.upper,
            self.log_most_used,
            self.most_hopeful().ln(),
        ]
        .map(|log| log as f32);
        let logs = logs_used.iter().map(|&log| {
            if log > hopeful {
                f32::INFINITY
            } else {
                above + steep * log.min(most)
            }
        });
        logs.collect()
    }

    /// The logarithm of the same, given that of what was used.
    #[inline]
    fn log_given(&self, log_used: f64) -> f64 {
        self.intercept + self.slope * log_used.min(self.log_most_used) + self.upper
    }

    /// The most litres used for which `litres` are enough; `None` if they are whatever was used.
    pub(super) fn used_until(&self, litres: Litres) -> Option<Litres> {
        let hopeful = self.beyond.map(|beyond| Litres::new(beyond.used));
        if self.given(self.most_used) <= litres.get() {
            return hopeful;
        }
        if self.slope < 1e-6 {
            return Some(Litres::ZERO);
        }
        let log = (litres.get().max(LEAST).ln() - self.intercept - self.upper) / self.slope;
        let used = Litres::new(log.exp());
        Some(hopeful.map_or(used, |hopeful| used.min(hopeful)))
    }

    /// The least litres on arrival that are enough, with `filled` more that are taken there, for who had `departed`
    /// litres to use until then; `None` if even all of them are not.
    pub(super) fn threshold(&self, departed: Litres, filled: Litres) -> Option<Litres> {
        let departed = departed.get();
        let enough = |litres: f64| litres + filled.get() >= self.given(departed - litres);
        if !enough(departed) {
            return None;
        }
        // Who has used more than that is not saved by more.
        let least = (departed - self.most_hopeful()).max(0.0);
        if enough(least) {
            return Some(Litres::new(least));
        }
        // What is enough rises with the litres on board, so Newton's steps from within the bracket lead to the root.
        let (mut low, mut high) = (least, departed);
        let mut here = high;
        for _ in 0..MOST_STEPS {
            let used = departed - here;
            let given = self.given(used);
            let over = here + filled.get() - given;
            if over >= 0.0 {
                high = here;
            } else {
                low = here;
            }
            let rises = if used >= self.most_used || used <= LEAST {
                1.0
            } else {
                1.0 + self.slope * given / used
            };
            let next = here - over / rises;
            let next = if low < next && next < high {
                next
            } else {
                f64::midpoint(low, high)
            };
            if (next - here).abs() < NEAR_ENOUGH {
                break;
            }
            here = next;
        }
        Some(Litres::new(here))
    }

    /// By how much the threshold rises for each litre that was taken on the route besides: that litre was not used for
    /// driving, so the one who has it is thirstier than he seems.
    pub(super) fn rise(&self, departed: Litres) -> Option<Share> {
        let threshold = self.threshold(departed, Litres::ZERO)?.get();
        let used = (departed.get() - threshold).max(LEAST);
        if used >= self.most_used {
            return Some(Share::ZERO);
        }
        if used >= self.most_hopeful() - NEAR_ENOUGH {
            return Some(Share::new(1.0));
        }
        let slope = self.slope * self.given(used) / used;
        Some(Share::new(slope / (1.0 + slope)))
    }

    /// The share of the trips that have used so many litres for which `litres` are not enough.
    pub(super) fn chance_short(&self, used: f64, litres: f64) -> f64 {
        if litres <= 0.0 {
            return 1.0;
        }
        let over = litres.ln() + self.upper - self.log_given(log_of_used(used));
        let enough = self.left.iter().filter(|&&left| f64::from(left) <= over);
        let short = 1.0 - enough.count() as f64 / (self.left.len() + self.hopeless) as f64;
        match self.beyond {
            Some(beyond) if used > beyond.used => short.max(beyond.hopeless),
            _ => short,
        }
    }
}

#[cfg(test)]
mod tests {
    use rand::SeedableRng;
    use rand_distr::{Distribution, StandardNormal};
    use rand_xoshiro::Xoshiro256PlusPlus;

    use super::*;

    /// Trips of two halves whose litres are lognormal and have a thirst in common: litres used, and litres needed.
    fn trips(n: usize, seed: u64, skewed: bool) -> Vec<(f32, f32)> {
        let mut draws = Xoshiro256PlusPlus::seed_from_u64(seed);
        let mut normal = move || -> f64 { StandardNormal.sample(&mut draws) };
        (0..n)
            .map(|_| {
                let common = 0.1 * normal();
                let own = if skewed {
                    let own: f64 = normal();
                    0.08 * own.max(0.0).powi(2)
                } else {
                    0.08 * normal()
                };
                let used = 40.0 * (common + 0.06 * normal()).exp();
                let needed = 43.0 * (common + own).exp();
                #[expect(clippy::cast_possible_truncation, reason = "litres")]
                let pair = (used as f32, needed as f32);
                pair
            })
            .collect()
    }

    fn fitted(trips: &[(f32, f32)]) -> Conditional {
        let used: Vec<f32> = trips.iter().map(|trip| trip.0).collect();
        let thirsty = Thirsty::from_use(&used).unwrap();
        Conditional::fit(&thirsty, |trip| trips[trip].1).unwrap()
    }

    /// Of a million trips the five hundred that arrive nearest to the threshold: one in twenty of them runs out, as the
    /// threshold promises (common practice: the binomial's 99.9 % limits of 500 are 2.2 and 8.6 %); so do all that
    /// arrive just there, on leaving with more and with less.
    #[test]
    fn one_in_twenty_of_those_at_the_threshold_runs_out() {
        for skewed in [false, true] {
            let of_fit = trips(8_192, 1, skewed);
            let fit = fitted(&of_fit);
            let many = trips(1_000_000, 2, skewed);
            for departed in [86.0, 92.0, 98.0] {
                let threshold = fit
                    .threshold(Litres::new(departed), Litres::ZERO)
                    .unwrap()
                    .get();
                let mut near: Vec<(f64, bool)> = many
                    .iter()
                    .map(|&(used, needed)| {
                        let arrived = departed - f64::from(used);
                        // Each is judged at its own distance from the threshold.
                        let short = f64::from(needed) > fit.given(f64::from(used));
                        ((arrived - threshold).abs(), short)
                    })
                    .collect();
                near.select_nth_unstable_by(500, |a, b| a.0.total_cmp(&b.0));
                let short = near[..500].iter().filter(|(_, short)| *short).count();
                let share = short as f64 / 500.0;
                assert!(
                    (0.022..0.086).contains(&share),
                    "{skewed} {departed}: {share} at {threshold}"
                );
            }
        }
    }

    /// By hand: trips that need just what they have used leave no spread, so half of the litres is enough.
    #[test]
    fn the_threshold_is_the_root() {
        let trips: Vec<(f32, f32)> = (0..400_u16)
            .map(|nth| {
                let litres = 20.0 + f32::from(nth) / 20.0;
                (litres, litres)
            })
            .collect();
        let fit = fitted(&trips);
        let threshold = |litres: f64| {
            fit.threshold(Litres::new(litres), Litres::ZERO)
                .unwrap()
                .get()
        };
        for departed in [50.0, 61.0, 78.0] {
            assert!((threshold(departed) - departed / 2.0).abs() < 1e-4);
        }
        // Nobody has used more than 40 L: who has, lost the rest, and needs no more than the thirstiest.
        assert!((threshold(100.0) - 39.95).abs() < 1e-4);
        // One litre that was found on the route: half of it was not used for driving.
        let rise = fit.rise(Litres::new(60.0)).unwrap().get();
        assert!((rise - 0.5).abs() < 1e-4, "{rise}");
        assert!((threshold(61.0) - threshold(60.0) - rise).abs() < 1e-3);
    }

    #[test]
    fn who_cannot_do_it_ranks_above_every_quantile() {
        let mut some = trips(2_000, 3, false);
        let before = fitted(&some)
            .threshold(Litres::new(95.0), Litres::ZERO)
            .unwrap();
        let few: Vec<usize> = (0..some.len()).step_by(50).collect();
        for &at in &few {
            some[at].1 = f32::INFINITY;
        }
        let after = fitted(&some)
            .threshold(Litres::new(95.0), Litres::ZERO)
            .unwrap();
        assert!(after > before, "{before:?} {after:?}");
        for trip in some.iter_mut().step_by(10) {
            trip.1 = f32::INFINITY;
        }
        assert_eq!(
            fitted(&some).threshold(Litres::new(95.0), Litres::ZERO),
            None
        );
    }

    /// Of trips of which those that need more than 52 L cannot do it at all, one in twenty of those at the figure
    /// cannot or needs more, and who has used more than leads to it cannot be saved by more.
    #[test]
    fn who_used_too_much_cannot_be_saved_by_more() {
        let hopeless_above = |trips: &mut [(f32, f32)], most: f32| {
            for trip in trips.iter_mut().filter(|trip| trip.1 > most) {
                trip.1 = f32::INFINITY;
            }
        };
        let mut some = trips(8_192, 6, false);
        hopeless_above(&mut some, 52.0);
        let fit = fitted(&some);
        let beyond = fit.beyond.expect("more than one in twenty").used;
        let mut many = trips(1_000_000, 7, false);
        hopeless_above(&mut many, 52.0);
        for departed in [110.0, 150.0] {
            let threshold = fit.threshold(Litres::new(departed), Litres::ZERO).unwrap();
            assert!(
                (departed - threshold.get() - beyond).abs() < 1e-6,
                "{threshold:?}"
            );
        }
        many.sort_unstable_by(|a, b| {
            let off = |trip: &(f32, f32)| (f64::from(trip.0) - beyond).abs();
            off(a).total_cmp(&off(b))
        });
        let lost = many[..2_000]
            .iter()
            .filter(|trip| trip.1.is_infinite())
            .count();
        let share = lost as f64 / 2_000.0;
        assert!((0.03..0.08).contains(&share), "{share} at {beyond}");
        let there = many[0].0;
        assert!(fit.logs_given(&[(there - 0.5).ln()])[0].is_finite());
        assert!(fit.logs_given(&[(there + 0.5).ln()])[0].is_infinite());
        assert!(fit.chance_short(beyond + 5.0, 100.0) > 0.05);
        assert_eq!(
            fit.used_until(Litres::new(500.0)),
            Some(Litres::new(beyond))
        );
    }

    #[test]
    fn chances_agree_with_the_level() {
        let fit = fitted(&trips(8_192, 4, false));
        for used in [35.0, 45.0, 60.0] {
            let chance = fit.chance_short(used, fit.given(used));
            assert!((chance - 0.05).abs() < 0.03, "{used}: {chance}");
        }
        assert!(fit.chance_short(45.0, 0.0) > 0.99);
    }
}
