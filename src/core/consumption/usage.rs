//! Litres of a leg as a function of the litres on board at its start.
//!
//! Fuel has mass, and its mass falls as it burns. The rate of use is linear in the litres on board between
//! empty and full (its curvature is under a thousandth of a litre a leg; where the engine's limit sets in between
//! the two the line is laid over the bend), so with the whole leg as the unit of way `df/dt = −(α + β f)`, which
//! gives `use = A + B f` exactly, with `B = 1 − e^−β` and `A = α B / β`. Because
//! it is the solution of that equation, cutting a leg into pieces changes nothing.

use crate::quantity::{Factor, Litres, Share};

/// `(e^β − 1) / β` by its series up to β⁹. To the last bit or two where |β| is below 0.05, to 1e-11 of it up to 0.4.
#[inline]
pub(crate) fn expm1_over_x(beta: Share) -> Factor {
    let term = |rest: f64, n: i32| 1.0 + rest * beta.get() * (1.0 / f64::from(n));
    Factor::new((2..=10).rev().fold(1.0, term))
}

/// Use of a leg: `empty + slope · litres at its start`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Usage {
    /// Rate of use at empty, litres over the whole leg.
    alpha: f64,
    /// Growth of the rate for each litre on board.
    beta: f64,
}

impl Usage {
    /// No fuel is used, whatever is on board.
    pub const NONE: Self = Self {
        alpha: 0.0,
        beta: 0.0,
    };

    /// From the litres that the leg would take if the fuel on board stayed at nothing, and at `full`.
    pub fn between(at_empty: Litres, at_full: Litres, full: Litres) -> Self {
        let beta = (at_full - at_empty).part_of(full).unwrap_or(0.0);
        Self {
            alpha: at_empty.get(),
            beta,
        }
    }

    /// Litres that the leg would take if the fuel on board stayed at nothing.
    #[inline]
    pub fn at_empty(self) -> Litres {
        Litres::new(self.alpha)
    }

    /// Growth of the rate of use for each litre on board, over the whole leg.
    #[inline]
    pub fn growth(self) -> Share {
        Share::new(self.beta)
    }

    /// The leg where all but `fixed` litres of it are taken `times` as fast, and the fixed ones `fixed_times`.
    #[must_use]
    #[inline]
    pub fn scaled(self, times: Factor, fixed: Litres, fixed_times: Factor) -> Self {
        Self {
            alpha: (self.alpha - fixed.get()) * times.get() + fixed.get() * fixed_times.get(),
            beta: self.beta * times.get(),
        }
    }

    /// Litres of the leg with nothing on board.
    #[inline]
    pub fn empty(self) -> Litres {
        Litres::new(self.alpha * self.slope_over_beta())
    }

    /// Litres more for each litre on board at the start.
    #[inline]
    pub fn slope(self) -> Share {
        Share::new(self.beta * self.slope_over_beta())
    }

    /// `(1 − e^−β) / β`, which goes to 1 as β goes to 0.
    #[inline]
    fn slope_over_beta(self) -> f64 {
        if self.beta.abs() < 0.05 {
            expm1_over_x(Share::new(-self.beta)).get()
        } else {
            -(-self.beta).exp_m1() / self.beta
        }
    }

    /// Litres used when the leg is begun with `on_board`.
    #[inline]
    pub fn litres(self, on_board: Litres) -> Litres {
        Litres::new((self.alpha + self.beta * on_board.get()) * self.slope_over_beta())
    }

    /// The litres on board at which a steady mass would give the same use: their mean over the leg.
    #[inline]
    pub(crate) fn mean_on_board(self, on_board: Litres) -> Litres {
        if self.beta.abs() < 1e-9 {
            on_board - self.litres(on_board) / 2.0
        } else {
            (self.litres(on_board) - Litres::new(self.alpha)) / self.beta
        }
    }

    /// The first `part` (0 to 1) of the leg, as a leg of its own.
    #[must_use]
    #[inline]
    pub fn part(self, part: Share) -> Self {
        Self {
            alpha: self.alpha * part.get(),
            beta: self.beta * part.get(),
        }
    }

    /// The least litres at the start that leave `left` at the end, when every litre used counts
    /// `1 + extra` litres.
    ///
    /// On legs of thousands of kilometres a litre more can burn nearly itself, and no amount is enough; the answer
    /// is then a finite amount, far beyond what any vehicle holds.
    #[inline]
    pub fn needed_for(self, left: Litres, extra: Share) -> Litres {
        const LEAST_KEPT: f64 = 0.02;
        let counted = self.slope_over_beta() * (1.0 + extra.get());
        let kept = (1.0 - self.beta * counted).max(LEAST_KEPT);
        Litres::new((left.get() + self.alpha * counted) / kept)
    }

    /// The part of the leg (0 to 1) after which the litres on board have fallen from `from` to `to`;
    /// `None` if they never do.
    #[inline]
    pub fn part_until(self, from: Litres, to: Litres) -> Option<Share> {
        let legs = self.legs_until(from, to)?;
        (legs <= Factor::new(1.0)).then_some(Share::new(legs.get()))
    }

    /// How many such legs, driven one after another, it takes until the litres on board have fallen from `from` to `to`;
    /// `None` if they never do.
    #[inline]
    pub fn legs_until(self, from: Litres, to: Litres) -> Option<Factor> {
        if to >= from {
            return Some(Factor::ZERO);
        }
        // t = ln((α + β f) / (α + β to)) / β
        let (at_from, at_to) = (
            self.alpha + self.beta * from.get(),
            self.alpha + self.beta * to.get(),
        );
        let legs = if self.beta.abs() < 1e-9 {
            (from - to).get() / self.alpha
        } else {
            (at_from / at_to).ln() / self.beta
        };
        legs.is_finite().then_some(Factor::new(legs.max(0.0)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LEG: Usage = Usage {
        alpha: 14.0,
        beta: 0.006,
    };

    #[test]
    fn pieces_use_what_the_whole_uses() {
        let full = Litres::new(50.0);
        let mut left = full;
        for _ in 0..7 {
            left -= LEG.part(Share::new(1.0 / 7.0)).litres(left);
        }
        assert!((full - left - LEG.litres(full)).abs() < Litres::new(1e-12));
    }

    /// The series and the function that it represents, on both sides of where they meet.
    #[test]
    fn the_series_is_what_it_stands_for() {
        for beta in [1e-12, 1e-6, -0.003, 0.01, 0.049, -0.049, 0.051, 0.4] {
            let usage = Usage { alpha: 1.0, beta };
            let exact = -(-beta).exp_m1() / beta;
            assert!(
                (usage.slope_over_beta() / exact - 1.0).abs() < 1e-15,
                "{beta}"
            );
        }
        let even = Usage {
            alpha: 1.0,
            beta: 0.0,
        };
        assert!((even.slope_over_beta() - 1.0).abs() < f64::EPSILON);
    }

    #[test]
    fn use_solves_the_equation() {
        let mut left = 50.0;
        let steps = 200_000;
        for _ in 0..steps {
            left -= (LEG.alpha + LEG.beta * left) / f64::from(steps);
        }
        assert!((50.0 - left - LEG.litres(Litres::new(50.0)).get()).abs() < 1e-4);
    }

    #[test]
    fn what_is_needed_leaves_what_was_asked() {
        let needed = LEG.needed_for(Litres::new(6.0), Share::new(0.1));
        assert!((needed - LEG.litres(needed) * 1.1 - Litres::new(6.0)).abs() < Litres::new(1e-12));
    }

    #[test]
    fn the_mean_on_board_gives_the_same_use_at_a_steady_mass() {
        let mean = LEG.mean_on_board(Litres::new(50.0));
        assert!(
            ((LEG.alpha + LEG.beta * mean.get()) - LEG.litres(Litres::new(50.0)).get()).abs()
                < 1e-9
        );
        assert!(
            mean < Litres::new(50.0) && mean > Litres::new(50.0) - LEG.litres(Litres::new(50.0))
        );
    }

    /// Where mass does not matter the litres fall evenly, and what is on board halfway is their mean.
    #[test]
    fn the_mean_on_board_of_an_even_leg_is_that_of_its_middle() {
        let even = Usage { beta: 0.0, ..LEG };
        let mean = even.mean_on_board(Litres::new(50.0));
        assert!((mean - Litres::new(43.0)).abs() < Litres::new(1e-12));
        let hardly = Usage { beta: 2e-9, ..LEG };
        assert!((hardly.mean_on_board(Litres::new(50.0)) - mean).abs() < Litres::new(1e-4));
    }

    #[test]
    fn the_point_at_which_a_level_is_reached() {
        let part = LEG
            .part_until(Litres::new(50.0), Litres::new(43.0))
            .unwrap();
        assert!(
            (Litres::new(50.0) - LEG.part(part).litres(Litres::new(50.0)) - Litres::new(43.0))
                .abs()
                < Litres::new(1e-9)
        );
        assert_eq!(LEG.part_until(Litres::new(50.0), Litres::new(1.0)), None);
    }

    /// From full to empty on so many legs: driven leg by leg, the same is left.
    #[test]
    fn legs_one_after_another_use_what_was_on_board() {
        let mut left = Litres::new(50.0);
        let legs = LEG.legs_until(left, Litres::new(3.0)).unwrap();
        let mut to_drive = legs.get();
        while to_drive > 0.0 {
            left -= LEG.part(Share::new(to_drive.min(1.0))).litres(left);
            to_drive -= 1.0;
        }
        assert!(
            (left - Litres::new(3.0)).abs() < Litres::new(1e-9),
            "{left:?}"
        );
        assert!(legs > Factor::new(3.0));
    }
}
