//! What tyre pressure does to rolling resistance: on a hard road soft tyres cost, in soft sand they help.

use crate::quantity::{Bar, Factor, Kilograms, KilometresPerHour};

/// Pressure (bar) that the carcass of a tyre carries by itself: without air it still is no flat band. Common practice,
/// no source.
const CARCASS: f64 = 0.5;
/// How strongly resistance in dry sand falls with the sand numeric, as its power.
///
/// The numeric G·(b·d)^1.5/W · δ/h rises with the deflection δ of the tyre (Turnage and Green, US Army WES Technical
/// Report 3-666, report 4, 1966). Were resistance inverse to it, the power would be 1; the form for cohesive soil (ASAE
/// D497, Brixius: 1/Bn + 0.04 with Bn as 1 + 5 δ/h) comes to 0.3 or so. 0.7 is between the two, and makes tyres that
/// are let down from 2.0 to 1.2 bar save about a quarter, as is common practice to reckon. From memory, all but the
/// report's title and the sign: mobility rises as pressure and load fall (Hegazy and Sandu, J. Terramechanics 50, 2013,
/// 1.0 to 2.5 bar).
const OF_NUMERIC: f64 = 0.7;

/// Rolling resistance on a hard road: Crr = 0.005 + (0.01 + 0.0095 (v/100)²)/p, p in bar, v in km/h, an engineering
/// reference formula.
pub(crate) fn on_hard_road(pressure: Bar, speed: KilometresPerHour) -> Factor {
    let hundreds = speed.get() / 100.0;
    Factor::new(0.005 + (0.01 + 0.0095 * hundreds * hundreds) / pressure.get())
}

/// The least pressure at which the two tyres of an axle may carry `on_axle`, by what one of them may carry at a
/// pressure: `P = P_ref · (load / (2 · rating))^1.25`, the formula of the ETRTO Standards Manual for car tyres as others quote
/// it; the manual was not seen. A stiffness model gives more at low loads than some such formulas (Daws, Tire Society,
/// 2009), so this is the least that is admitted.
pub(crate) fn least_for(on_axle: Kilograms, rating: Kilograms, at: Bar) -> Bar {
    at * (on_axle / (rating * 2.0)).powf(1.25)
}

/// How many times the deflection at `road` pressure a tyre has at `soft` pressure under the same load: stiffness rises
/// evenly with pressure.
fn deflection(soft: Bar, road: Bar) -> f64 {
    (road.get() + CARCASS) / (soft.get() + CARCASS)
}

/// Rolling resistance in soft sand at `soft` pressure over that at `road` pressure; 1 where they are equal.
pub(crate) fn in_sand(soft: Bar, road: Bar) -> Factor {
    Factor::new(deflection(soft, road).powf(-OF_NUMERIC))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The reference of the formula prints 0.01304 and 0.01586.
    #[test]
    fn hard_roads_are_as_the_formula_says() {
        let at = |bar: f64, kmh: f64| on_hard_road(Bar::new(bar), KilometresPerHour::new(kmh));
        assert!((at(2.0, 80.0).get() - 0.01304).abs() < 1e-5);
        assert!((at(1.0, 30.0).get() - 0.015_855).abs() < 1e-5);
    }

    /// By hand: two tyres of 800 kg at 2.5 bar carry 1600 kg; half of that takes 2.5 · 0.5^1.25 = 1.051 bar.
    #[test]
    fn half_the_load_takes_less_than_half_the_pressure() {
        let least = |kg: f64| least_for(Kilograms::new(kg), Kilograms::new(800.0), Bar::new(2.5));
        assert!((least(1600.0).get() - 2.5).abs() < 1e-12);
        assert!((least(800.0).get() - 1.0511).abs() < 1e-4);
    }

    /// From 2.0 bar downwards: nothing gained at equal pressure, more with each step down, and always between the two
    /// published forms. By hand for 1.2 bar: (2.5 / 1.7)^-0.7 = 0.763.
    #[test]
    fn soft_tyres_help_in_sand_within_the_published_bracket() {
        let road = Bar::new(2.0);
        let factor = |bar: f64| in_sand(Bar::new(bar), road).get();
        assert!((factor(2.0) - 1.0).abs() < 1e-12);
        assert!((factor(1.2) - 0.763).abs() < 5e-4);
        let mut last = 1.0;
        for tenths in (6..20).rev() {
            let bar = f64::from(tenths) / 10.0;
            let times = deflection(Bar::new(bar), road);
            // ρ = 1/Bn + 0.04 at 0.13 on hard tyres with δ/h 0.18: ASAE D497, from memory.
            let cohesive = 0.09 * (1.0 + 5.0 * 0.18) / (1.0 + 5.0 * 0.18 * times) + 0.04;
            let bracket = 1.0 / times..=cohesive / 0.13;
            assert!(
                bracket.contains(&factor(bar)) && factor(bar) < last,
                "{bar}"
            );
            last = factor(bar);
        }
    }
}
