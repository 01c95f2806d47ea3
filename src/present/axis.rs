//! Round numbers along an axis.

use std::ops::Range;

use super::number::{Units, trimmed};
use crate::quantity::Kilometres;

/// The least of 1, 2, 5 and their multiples by tens that is not below `least`; 1 where that is no
/// positive number.
pub(crate) fn round_step(least: f64) -> f64 {
    if !(least.is_finite() && least > 0.0) {
        return 1.0;
    }
    let ten = 10.0_f64.powf(least.log10().floor());
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|step| step * ten)
        .find(|&step| step >= least)
        .unwrap_or(10.0 * ten)
}

/// Round numbers of the reader's unit on a part of the route, no nearer than `least` to each other, each
/// with its position.
pub(crate) fn ticks(
    run: Range<Kilometres>,
    least: Kilometres,
    units: Units,
) -> impl Iterator<Item = (Kilometres, String)> {
    let unit = units.distance_step();
    let step = round_step(least / unit);
    let first = (run.start / unit / step).ceil();
    (0_u32..)
        .map(move |n| (first + f64::from(n)) * step)
        .map(move |number| (unit * number, trimmed(number)))
        .take_while(move |&(at, _)| at <= run.end)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::vocabulary::UnitSystem;

    #[test]
    fn ticks_are_round_in_the_readers_unit() {
        let run = || Kilometres::new(130.0)..Kilometres::new(500.0);
        let numbers = |system| -> Vec<String> {
            ticks(run(), Kilometres::new(70.0), Units(system))
                .map(|(_, number)| number)
                .collect()
        };
        assert_eq!(numbers(UnitSystem::Metric), ["200", "300", "400", "500"]);
        assert_eq!(numbers(UnitSystem::Us), ["100", "150", "200", "250", "300"]);
        assert!((round_step(0.3) - 0.5).abs() < 1e-12);
        assert!((round_step(f64::NAN) - 1.0).abs() < 1e-12);
    }
}
