//! A leg reduced to what plan and simulation need: its litres and how each uncertain input changes them.
//!
//! Base, day, low range and idling are factors on additive parts, so their effect is exact. Rolling resistance,
//! shares and wind act through the engine; the logarithm of the driving litres is kept as a curve through five
//! deviations, two parabolas that meet at the best estimate, because a two-piece distribution has a kink there.

use crate::quantity::{Deviations, Factor, Litres, LogFactor};

use super::leg::{Components, LegFormula};
use super::spread::Drawn;
use super::usage::Usage;

/// The deviation of the 1st and 99th percentile, to which a curve is held exactly.
pub const P99: Deviations = Deviations::new(2.326_347_874_040_840_8);

/// How the driving litres of a leg answer to one drawn input.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Answer {
    /// Log of the factor at no deviation: not 0 where even the median of what is drawn differs from the plan's value.
    middle: f64,
    /// Linear and quadratic term below and above.
    below: [f64; 2],
    above: [f64; 2],
}

impl Answer {
    /// Through the logs of the factor at −P99, −P99/2, 0, P99/2, P99.
    fn through(logs: [f64; 5]) -> Self {
        let parabola = |half: f64, whole: f64, z: f64| {
            let (half, whole) = (half - logs[2], whole - logs[2]);
            // half = b z/2 + c z²/4 and whole = b z + c z²
            [
                (4.0 * half - whole) / z,
                (2.0 * whole - 4.0 * half) / (z * z),
            ]
        };
        Self {
            middle: logs[2],
            below: parabola(logs[1], logs[0], -P99.get()),
            above: parabola(logs[3], logs[4], P99.get()),
        }
    }

    /// The factor on the driving litres at a deviation.
    pub fn factor(&self, at: Deviations) -> Factor {
        Factor::new(self.log(at).get().exp())
    }

    /// The log of that factor.
    #[inline]
    pub fn log(&self, at: Deviations) -> LogFactor {
        // Both sides, one of them of nothing: without a branch a block of samples is worked out many at a time.
        let side = |z: f64, [linear, quadratic]: [f64; 2]| z * (linear + z * quadratic);
        let below = side(at.get().min(0.0), self.below);
        let above = side(at.get().max(0.0), self.above);
        LogFactor::new(self.middle + (below + above))
    }

    /// What the log is made of: the middle, then the linear and the quadratic term below it and above it.
    pub fn terms(&self) -> [LogFactor; 5] {
        let ([b1, b2], [a1, a2]) = (self.below, self.above);
        [self.middle, b1, b2, a1, a2].map(LogFactor::new)
    }

    /// Whether the leg takes the same at every deviation.
    pub fn is_flat(&self) -> bool {
        *self == Self::default()
    }
}

/// A leg as plan and sampling see it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Response {
    /// Litres by what is on board.
    pub usage: Usage,
    /// Its parts, at half of what can be on board.
    pub components: Components,
    answers: [Answer; Drawn::ALL.len()],
}

impl Response {
    /// How the driving litres answer to a drawn input.
    pub fn answer(&self, drawn: Drawn) -> &Answer {
        &self.answers[drawn as usize]
    }
}

impl LegFormula {
    /// Reduces the leg. `full` is the most that can be on board.
    ///
    /// Cost: some two dozen evaluations of the formula.
    pub fn response(&self, full: Litres) -> Response {
        let half = full / 2.0;
        let driving = |leg: &Self| (leg.litres_at(half) - leg.idle_litres()).get();
        let plain = driving(self);
        let answers = Drawn::ALL.map(|drawn| {
            if plain <= 0.0 {
                return Answer::default();
            }
            Answer::through(
                [-1.0, -0.5, 0.0, 0.5, 1.0]
                    .map(|part| (driving(&self.drawn(drawn, P99 * part)) / plain).ln()),
            )
        });
        Response {
            usage: self.usage(full),
            components: self.components(half),
            answers,
        }
    }
}
