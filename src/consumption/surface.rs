//! The one table of surfaces, and of sand, low range, tread and roof, and what they mean for the formula.
//!
//! Rolling resistance (force = Crr · m · g) is given as low, likely and high, meant as the 5th percentile,
//! the median and the 95th. The likely values stand within published tables: Bosch Automotive Handbook
//! (asphalt 0.013, rolled gravel 0.02, unpaved 0.05; from memory, three of them seen quoted), Carvill,
//! Mechanical Engineer's Data Handbook 1993 (paving 0.01–0.02, loose gravel 0.04, medium soil 0.08, sand
//! 0.1–0.2), Gillespie, Fundamentals of Vehicle Dynamics 1992 (concrete 0.015, medium-hard soil 0.08, sand
//! 0.30), US Army CRREL TR-01-16 (fresh snow adds 0.02–0.12). No measured litres of a 4x4 in soft sand or
//! low range were found, so their ranges are wide. Speeds and unsteadiness are common practice, no source.

use crate::model::vocabulary::{RoofShape, Surface, Tread};
use crate::quantity::{Factor, KilometresPerHour, MetresPerSecond2, SquareMetres};

/// Rolling resistance as a fraction of the weight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct RollingResistance {
    /// 5th percentile.
    pub(crate) low: Factor,
    /// Median.
    pub(crate) likely: Factor,
    /// 95th percentile.
    pub(crate) high: Factor,
}

/// What one kind of ground means for the formula.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Ground {
    /// Rolling resistance.
    pub(crate) resistance: RollingResistance,
    /// Usual speed; nothing where the vehicle keeps its base speed.
    pub(crate) speed: Option<KilometresPerHour>,
    /// Mean acceleration of unsteady driving, paid for by the engine and lost in the brakes.
    pub(crate) unsteadiness: MetresPerSecond2,
    /// Whether the ground is firm and even, so that tread and tyre pressure decide the rolling resistance. On
    /// corrugations and rock the ground itself does.
    pub(crate) firm: bool,
}

const fn ground(crr: [f64; 3], speed: Option<f64>, unsteadiness: f64, firm: bool) -> Ground {
    Ground {
        resistance: RollingResistance {
            low: Factor::new(crr[0]),
            likely: Factor::new(crr[1]),
            high: Factor::new(crr[2]),
        },
        speed: match speed {
            Some(kmh) => Some(KilometresPerHour::new(kmh)),
            None => None,
        },
        unsteadiness: MetresPerSecond2::new(unsteadiness),
        firm,
    }
}

/// What `surface` means for the formula.
pub(crate) const fn of(surface: Surface) -> Ground {
    match surface {
        Surface::Sealed => ground([0.011, 0.014, 0.018], None, 0.05, true),
        Surface::Gravel => ground([0.017, 0.024, 0.034], Some(70.0), 0.07, true),
        Surface::Corrugated => ground([0.022, 0.032, 0.05], Some(55.0), 0.08, false),
        Surface::Earth => ground([0.035, 0.05, 0.08], Some(40.0), 0.10, false),
        Surface::Rock => ground([0.05, 0.08, 0.13], Some(20.0), 0.15, false),
        Surface::Mud => ground([0.08, 0.13, 0.22], Some(20.0), 0.12, false),
        Surface::Salt => ground([0.014, 0.02, 0.04], Some(70.0), 0.05, true),
        Surface::Snow => ground([0.05, 0.08, 0.13], Some(30.0), 0.08, false),
    }
}

/// Soft sand of a track.
pub(crate) const SAND: Ground = ground([0.07, 0.13, 0.25], Some(35.0), 0.08, false);
/// Dunes without a track. The range spans *reports that could not be checked*: 30 to 40 L/100 km of diesels and 40 to 80 of
/// petrol vehicles in trackless dunes, where sandy tracks took 1.4 to 1.7 times the usual figure. Owners' accounts that were
/// seen: a large diesel at 13 to 14 as usual takes 17 to 20 in thick sand and low range (1.3 to 1.5 times), a petrol vehicle
/// 30 in thick sand.
pub(crate) const DUNES: Ground = ground([0.13, 0.22, 0.36], Some(25.0), 0.15, false);
/// Usual speed in low range.
pub(crate) const LOW_RANGE_SPEED: KilometresPerHour = KilometresPerHour::new(10.0);
/// Usual speed in low range in sand or dunes.
pub(crate) const LOW_RANGE_SAND_SPEED: KilometresPerHour = KilometresPerHour::new(12.0);
/// Unsteadiness in low range.
pub(crate) const LOW_RANGE_UNSTEADINESS: MetresPerSecond2 = MetresPerSecond2::new(0.10);
/// Above this speed tyres that are let down overheat. Common practice, no source.
pub(crate) const AIRED_DOWN_FASTEST: KilometresPerHour = KilometresPerHour::new(60.0);

/// Rolling resistance on firm ground over that of a road tread. Common practice, no source.
pub(crate) const fn tread_factor(tread: Tread) -> Factor {
    Factor::new(match tread {
        Tread::Road => 1.0,
        Tread::AllTerrain => 1.1,
        Tread::Mud => 1.25,
    })
}

/// Drag area that stands on the roof. A large box adds 0.2 m² (SUV) to 0.4 m² (compact car): implied by Thomas,
/// Huff, West (Oak Ridge), SAE 2014; the other shapes are graded around it, common practice, no source.
pub const fn roof_drag(shape: RoofShape) -> SquareMetres {
    SquareMetres::new(match shape {
        RoofShape::None => 0.0,
        RoofShape::Bars => 0.04,
        RoofShape::OpenRack => 0.10,
        RoofShape::LowLoad => 0.20,
        RoofShape::Box => 0.22,
        RoofShape::Tent => 0.25,
        RoofShape::TallLoad => 0.40,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_resistance_is_ordered_and_rougher_ground_is_slower() {
        for &surface in Surface::ALL {
            let r = of(surface).resistance;
            assert!(r.low < r.likely && r.likely < r.high, "{surface}");
        }
        assert!(of(Surface::Gravel).speed > of(Surface::Corrugated).speed);
        assert!(of(Surface::Corrugated).speed > of(Surface::Earth).speed);
    }
}
