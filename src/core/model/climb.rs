//! Climb and descent from heights that stray.
//!
//! Sums of every rise inflate the climb: on a flat line with heights wrong by up to ±a they grow by
//! a third of a with each point. So a reference height follows the track and moves only to a height
//! that differs from it by the threshold or more, and then the whole difference counts. The
//! threshold has to exceed the noise; 5 to 10 m is usual (common practice, no source).
//!
//! The grade of a climb is not its height over all the way since the reference last moved, since a
//! plain before the foot of a hill would flatten the hill. It is taken from the last point that was
//! within half a threshold of the reference: on a steady grade that is the grade itself.

use crate::quantity::{Grade, Metres};

/// The threshold unless stated.
pub const THRESHOLD: Metres = Metres::new(5.0);

/// Adds up climb and descent along a track, point by point.
#[derive(Clone, Debug)]
pub(crate) struct Climb {
    threshold: f64,
    reference: Option<Height>,
    /// The last height seen, for the raw sums.
    last: f64,
    /// The last point not higher than half a threshold above the reference, where a climb begins.
    foot: Height,
    /// The last point not lower than half a threshold below it, where a descent begins.
    brow: Height,
    sums: Climbed,
}

/// A height at a distance along the track, both in metres.
#[derive(Clone, Copy, Debug, Default)]
struct Height {
    along: f64,
    height: f64,
}

/// What was climbed and descended.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Climbed {
    /// Climb by the moves of the reference height.
    pub ascent: Metres,
    /// Descent by the moves of the reference height.
    pub descent: Metres,
    /// Sum of every rise from one known height to the next.
    pub ascent_raw: Metres,
    /// Sum of every fall from one known height to the next.
    pub descent_raw: Metres,
    /// Way on which the ascent was climbed.
    pub ascending: Metres,
    /// Way on which the descent was descended.
    pub descending: Metres,
}

impl Climbed {
    /// The sums of this and another way.
    #[must_use]
    pub(crate) fn and(self, other: Self) -> Self {
        Self {
            ascent: self.ascent + other.ascent,
            descent: self.descent + other.descent,
            ascent_raw: self.ascent_raw + other.ascent_raw,
            descent_raw: self.descent_raw + other.descent_raw,
            ascending: self.ascending + other.ascending,
            descending: self.descending + other.descending,
        }
    }
}

impl Climb {
    /// Starts at no height, with a threshold of 0 or more; 0 makes every rise count.
    pub(crate) fn new(threshold: Metres) -> Self {
        Self {
            threshold: threshold.get().max(0.0),
            reference: None,
            last: 0.0,
            foot: Height::default(),
            brow: Height::default(),
            sums: Climbed::default(),
        }
    }

    /// Takes the height at a distance along the track.
    pub(crate) fn push(&mut self, height: Metres, along: Metres) {
        let here = Height {
            along: along.get(),
            height: height.get(),
        };
        let Some(reference) = self.reference else {
            self.last = here.height;
            self.settle(here);
            return;
        };
        let step = here.height - self.last;
        self.last = here.height;
        self.sums.ascent_raw += Metres::new(step.max(0.0));
        self.sums.descent_raw += Metres::new((-step).max(0.0));

        let difference = here.height - reference.height;
        if difference.abs() >= self.threshold && difference != 0.0 {
            let from = if difference > 0.0 {
                self.foot
            } else {
                self.brow
            };
            // The part from the foot represents the whole, but never for more way than there was.
            let way = ((here.along - from.along) * difference / (here.height - from.height))
                .min(here.along - reference.along);
            if difference > 0.0 {
                self.sums.ascent += Metres::new(difference);
                self.sums.ascending += Metres::new(way);
            } else {
                self.sums.descent += Metres::new(-difference);
                self.sums.descending += Metres::new(way);
            }
            self.settle(here);
            return;
        }
        if difference <= 0.5 * self.threshold {
            self.foot = here;
        }
        if difference >= -0.5 * self.threshold {
            self.brow = here;
        }
    }

    /// What was climbed since the last call, or since the start. The reference height stays, so the
    /// sums of consecutive stages are the sum of the whole.
    pub(crate) fn take(&mut self) -> Climbed {
        std::mem::take(&mut self.sums)
    }

    fn settle(&mut self, here: Height) {
        self.reference = Some(here);
        self.foot = here;
        self.brow = here;
    }
}

impl Climbed {
    /// Mean grade of the climbing, where there was any.
    pub(crate) fn ascent_grade(&self) -> Option<Grade> {
        grade(self.ascent, self.ascending)
    }

    /// Mean grade of the descending, where there was any.
    pub(crate) fn descent_grade(&self) -> Option<Grade> {
        grade(self.descent, self.descending)
    }
}

fn grade(height: Metres, way: Metres) -> Option<Grade> {
    (height > Metres::ZERO && way > Metres::ZERO).then(|| Grade::new(height / way))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn climbed(threshold: f64, spacing: f64, heights: impl IntoIterator<Item = f64>) -> Climbed {
        let mut climb = Climb::new(Metres::new(threshold));
        let mut along = 0.0;
        for height in heights {
            climb.push(Metres::new(height), Metres::new(along));
            along += spacing;
        }
        climb.take()
    }

    /// The series by hand: 12 → 17 → 22 is 10 up, 22 → 15 is 7 down, and 12 is only 3 below 15.
    #[test]
    fn the_reference_moves_by_the_threshold_or_not_at_all() {
        let series = [12, 17, 15, 20, 22, 18, 15, 16, 14, 12].map(f64::from);
        let at_5 = climbed(5.0, 100.0, series);
        assert_eq!((at_5.ascent.get(), at_5.descent.get()), (10.0, 7.0));
        assert_eq!(
            (at_5.ascent_raw.get(), at_5.descent_raw.get()),
            (13.0, 13.0)
        );
        let at_0 = climbed(0.0, 100.0, series);
        assert_eq!(
            (at_0.ascent, at_0.descent),
            (at_0.ascent_raw, at_0.descent_raw)
        );
    }

    /// The mean of max(0, x − y) for x and y uniform in ±a is a / 3.
    #[test]
    fn raw_sums_grow_with_noise_and_hysteresis_does_not() {
        let (points, a) = (200_001_u32, 2.0);
        let mut state = 1_u64;
        let noise = (0..points).map(|_| {
            // A linear congruential generator; its multiplier is Knuth's for 64 bits.
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            a * ((state >> 11) as f64 / f64::from(1_u32 << 26) / f64::from(1_u32 << 26) - 1.0)
        });
        let flat = climbed(5.0, 10.0, noise);
        let expected = f64::from(points - 1) * a / 3.0;
        assert!(
            (flat.ascent_raw.get() / expected - 1.0).abs() < 0.01,
            "{flat:?}"
        );
        assert_eq!(flat.ascent, Metres::ZERO);
    }

    #[test]
    fn a_plain_before_the_hill_does_not_flatten_it() {
        let plain = std::iter::repeat_n(100.0, 1000);
        let hill = (1..=100).map(|step| 100.0 + f64::from(step) * 0.8);
        let found = climbed(5.0, 10.0, plain.chain(hill));
        let grade = found.ascent_grade().unwrap().get();
        assert!((grade - 0.08).abs() < 1e-9, "{grade}");
        assert_eq!(found.descent_grade(), None);
    }

    proptest! {
        #![proptest_config(ProptestConfig {
            failure_persistence: Some(Box::new(
                proptest::test_runner::FileFailurePersistence::Direct("../../tests/regressions/climb.txt"),
            )),
            ..ProptestConfig::default()
        })]
        /// What was climbed less what was descended is how far the reference moved, which is within a
        /// threshold of how far the height did; and a coarser threshold never finds more climb than the raw sum.
        #[test]
        fn climb_and_descent_balance(heights in prop::collection::vec(-400.0_f64..5000.0, 1..200), threshold in 0.0_f64..50.0) {
            let found = climbed(threshold, 25.0, heights.iter().copied());
            let moved = found.ascent.get() - found.descent.get();
            let height = heights[heights.len() - 1] - heights[0];
            prop_assert!((moved - height).abs() <= threshold + 1e-6);
            prop_assert!(found.ascent.get() <= found.ascent_raw.get() + 1e-6);
            let way = 25.0 * (heights.len() - 1) as f64;
            prop_assert!(found.ascending.get() + found.descending.get() <= way + 1e-6);
        }

        #[test]
        fn stages_add_up_to_the_whole(heights in prop::collection::vec(0.0_f64..900.0, 2..100), cut in 0_usize..100) {
            let whole = climbed(5.0, 25.0, heights.iter().copied());
            let mut climb = Climb::new(THRESHOLD);
            let mut sum = 0.0;
            for (n, &height) in heights.iter().enumerate() {
                climb.push(Metres::new(height), Metres::new(25.0 * n as f64));
                if n == cut {
                    sum += climb.take().ascent.get();
                }
            }
            sum += climb.take().ascent.get();
            prop_assert!((sum - whole.ascent.get()).abs() < 1e-6);
        }
    }
}
