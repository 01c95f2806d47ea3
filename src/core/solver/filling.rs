//! How full a can may be, so that its fuel has room to expand in the heat.
//!
//! ADR 4.1.1.4: filled at `t`, no more than `98 % / (1 + α·(50 − t))` of a receptacle, so that 2 % are still free at
//! 50 °C. Here 50 °C gives way to what a can may reach on this trip: the hottest air that a leg states, and what the
//! sun adds to it. The fuel is taken to come at 15 °C from a tank under ground. α is that of ASTM D1250 table 54B.
//! Without a stated temperature nothing is asked for, and a can counts its own fill share. Left out: cans that swell.

use crate::consumption::engine::fuel_density;
use crate::model::Trip;
use crate::model::load::CanKind;
use crate::model::vocabulary::Fuel;
use crate::quantity::{Celsius, KilogramsPerLitre, Litres, Share};

/// Part of a can that may be full at the hottest: ADR 4.1.1.4.
const FULL_AT_HOTTEST: f64 = 0.98;
/// Temperature at which the fuel is filled, and of table 54B.
const FILLED_AT: Celsius = Celsius::new(15.0);
/// What the sun adds to a can over the air's temperature. Common practice, no source.
const SUN: Celsius = Celsius::new(15.0);

/// Part by which a fuel expands for each kelvin at 15 °C. ASTM D1250 (API 11.1) table 54B, density in kg/m³:
/// gasolines 346.4228/ρ² + 0.4388/ρ, diesel oils 594.5418/ρ².
fn expansion(fuel: Fuel, density: KilogramsPerLitre) -> f64 {
    let rho = density.get() * 1000.0;
    match fuel {
        Fuel::Petrol => 346.4228 / (rho * rho) + 0.4388 / rho,
        Fuel::Diesel => 594.5418 / (rho * rho),
    }
}

/// The part of a can that may be filled at 15 °C when it can get as hot as `hottest`.
pub(crate) fn degree(fuel: Fuel, hottest: Celsius) -> Share {
    let alpha = expansion(fuel, fuel_density(fuel));
    let rise = (hottest - FILLED_AT).get().max(0.0);
    Share::new(FULL_AT_HOTTEST / (1.0 + alpha * rise))
}

/// The hottest air that any leg states.
pub(crate) fn hottest_air(trip: &Trip) -> Option<Celsius> {
    trip.legs
        .iter()
        .filter_map(|leg| leg.temperature_c)
        .reduce(Celsius::max)
}

/// The part of any can that the heat of the trip leaves to be filled; all of it where no temperature is stated.
pub(crate) fn most_full(trip: &Trip) -> Share {
    hottest_air(trip).map_or(Share::new(1.0), |air| degree(trip.vehicle.fuel, air + SUN))
}

/// Fuel in one filled can of a kind: its own fill share, or what the heat leaves of it.
pub(crate) fn fill(kind: &CanKind, most_full: Share) -> Litres {
    kind.fill().min(kind.size_l * most_full.get())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Volume at a temperature over that at 15 °C is exp(αΔT(1 + 0.8αΔT)), so the correction is its inverse.
    fn correction(fuel: Fuel, density: f64, celsius: f64) -> f64 {
        let at = expansion(fuel, KilogramsPerLitre::new(density)) * (celsius - 15.0);
        (-at * (1.0 + 0.8 * at)).exp()
    }

    /// ASTM D1250 table 54B: petrol of 745 kg/m³ and diesel of 832.4 kg/m³ at 35 °C.
    #[test]
    fn fuel_expands_as_in_the_table() {
        let near = |found: f64, table: f64| assert!((found - table).abs() < 5e-6, "{found}");
        near(correction(Fuel::Petrol, 0.745, 35.0), 0.97557);
        near(correction(Fuel::Diesel, 0.8324, 35.0), 0.98275);
        let alpha = |fuel, density| expansion(fuel, KilogramsPerLitre::new(density));
        assert!((alpha(Fuel::Petrol, 0.745) - 0.001_213).abs() < 5e-7);
        assert!((alpha(Fuel::Diesel, 0.8324) - 0.000_858).abs() < 5e-7);
    }

    /// ADR 4.1.1.4 at its own 50 °C, filled at 15 °C: 98/(1 + 0.001213 · 35) = 94.0 % of petrol.
    #[test]
    fn at_50_degrees_it_is_the_degree_of_the_regulation() {
        let percent = |fuel| degree(fuel, Celsius::new(50.0)).get() * 100.0;
        assert!((percent(Fuel::Petrol) - 94.01).abs() < 0.01);
        assert!((percent(Fuel::Diesel) - 95.16).abs() < 0.01);
    }

    /// By hand: 0.98/0.95 − 1 = 0.03158, over 0.001213/K 26 K, so petrol at 15 °C may fill 95 % of a can up to 41 °C.
    #[test]
    fn the_usual_fill_share_is_that_of_41_degrees_for_petrol() {
        let usual = crate::model::load::FILL_SHARE;
        let at = |celsius| degree(Fuel::Petrol, Celsius::new(celsius));
        assert!((at(41.0) - usual).get().abs() < 2e-4);
        assert!(at(40.0) > usual && at(42.0) < usual);
        assert!(degree(Fuel::Diesel, Celsius::new(50.0)) > usual);
    }

    /// Filled to the degree, the fuel needs no more room than the can has at the hottest.
    #[test]
    fn a_can_filled_to_the_degree_does_not_overflow() {
        for fuel in [Fuel::Petrol, Fuel::Diesel] {
            let mut last = 1.0;
            for celsius in [-30.0, 15.0, 30.0, 50.0, 75.0] {
                let filled = degree(fuel, Celsius::new(celsius)).get();
                let grown = 1.0 / correction(fuel, fuel_density(fuel).get(), celsius);
                assert!(filled * grown < 0.99, "{celsius}");
                assert!(filled <= last);
                last = filled;
            }
        }
    }
}
