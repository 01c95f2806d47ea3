//! Rolling resistance, usual speed and unsteadiness of each surface, of sand and of dunes; the effect of tread and
//! roof.
//!
//! The table is `properties`, one row a surface. A changed row changes every leg on that surface, its uncertainty
//! (`spread`) and the calibration factors that follow from a log.
//!
//! Rolling resistance (force = Crr · m · g) is given as low, likely and high, meant as the 5th percentile,
//! the median and the 95th. The likely values are within published tables: Bosch Automotive Handbook
//! (asphalt 0.013, rolled gravel 0.02, unpaved 0.05; from memory, three of them seen quoted), Carvill,
//! Mechanical Engineer's Data Handbook 1993 (paving 0.01–0.02, loose gravel 0.04, medium soil 0.08, sand
//! 0.1–0.2), Gillespie, Fundamentals of Vehicle Dynamics 1992 (concrete 0.015, medium-hard soil 0.08, sand
//! 0.30), US Army CRREL TR-01-16 (fresh snow adds 0.02–0.12). No measured litres of a 4x4 in soft sand or
//! low range were found, so their ranges are wide. Speeds and unsteadiness are common practice, no source.

use crate::model::vocabulary::{RoofShape, Surface, Tread};
use crate::quantity::{Factor, Kilometres, KilometresPerHour, MetresPerSecond2, SquareMetres};

/// Rolling resistance as a fraction of the weight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RollingResistance {
    /// The 5th percentile of published values.
    pub low: Factor,
    /// The median of published values.
    pub likely: Factor,
    /// The 95th percentile of published values.
    pub high: Factor,
}

/// What a surface means for the fuel formula.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Properties {
    pub(crate) resistance: RollingResistance,
    /// Usual speed; `None` if the vehicle keeps its base speed.
    pub speed: Option<KilometresPerHour>,
    /// Mean acceleration of unsteady driving, paid for by the engine and lost in the brakes.
    pub(crate) unsteadiness: MetresPerSecond2,
    /// Whether the ground is firm and even, so that tread and tyre pressure decide the rolling resistance. On
    /// corrugations and rock the ground itself does.
    pub(crate) firm: bool,
}

/// A row of the table: rolling resistance at its 5th percentile, median and 95th; usual speed in km/h; unsteadiness in
/// m/s²; whether the surface is firm.
const fn row(crr: [f64; 3], speed: Option<f64>, unsteadiness: f64, firm: bool) -> Properties {
    Properties {
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

/// The table of surfaces.
pub const fn properties(surface: Surface) -> Properties {
    match surface {
        Surface::Sealed => row([0.011, 0.014, 0.018], None, 0.05, true),
        Surface::Gravel => row([0.017, 0.024, 0.034], Some(70.0), 0.07, true),
        Surface::Corrugated => row([0.022, 0.032, 0.05], Some(55.0), 0.08, false),
        Surface::Earth => row([0.035, 0.05, 0.08], Some(40.0), 0.10, false),
        Surface::Rock => row([0.05, 0.08, 0.13], Some(20.0), 0.15, false),
        Surface::Mud => row([0.08, 0.13, 0.22], Some(20.0), 0.12, false),
        Surface::Salt => row([0.014, 0.02, 0.04], Some(70.0), 0.05, true),
        Surface::Snow => row([0.05, 0.08, 0.13], Some(30.0), 0.08, false),
    }
}

/// Part of the known distance from which a surface counts among those of a trip.
const OF_TRIP_FROM: f64 = 0.05;

/// Resistance of a part whose surface is not known, from the known surfaces of the trip, each with its distance. Its range
/// is that from the lowest to the highest of them, and at least to that of earth, which any unmapped track may be; with
/// nothing known it is that of all surfaces but mud and snow, which depend on the weather. Common practice, no source.
pub(crate) fn unknown(known: &[(Surface, Kilometres)]) -> RollingResistance {
    let whole: f64 = known.iter().map(|(_, km)| km.get()).sum();
    let mut by_surface: Vec<(Surface, f64)> = Surface::ALL
        .iter()
        .map(|&surface| {
            let of = known.iter().filter(|(known, _)| *known == surface);
            (surface, of.map(|(_, km)| km.get()).sum::<f64>())
        })
        .filter(|(_, km)| *km > OF_TRIP_FROM * whole)
        .collect();
    if by_surface.is_empty() {
        return RollingResistance {
            low: properties(Surface::Sealed).resistance.low,
            likely: properties(Surface::Gravel).resistance.likely,
            high: properties(Surface::Rock).resistance.high,
        };
    }
    let resistance = |surface: Surface| properties(surface).resistance;
    by_surface.sort_by(|a, b| {
        let likely = |of: &(Surface, f64)| resistance(of.0).likely.get();
        likely(a).total_cmp(&likely(b))
    });
    let half = by_surface.iter().map(|(_, km)| km).sum::<f64>() / 2.0;
    let mut sum = 0.0;
    let middle = by_surface.iter().find(|(_, km)| {
        sum += km;
        sum >= half
    });
    let middle = middle.map_or(Surface::Gravel, |(surface, _)| *surface);
    let lows = by_surface
        .iter()
        .map(|(surface, _)| resistance(*surface).low);
    let highs = by_surface
        .iter()
        .map(|(surface, _)| resistance(*surface).high);
    RollingResistance {
        low: lows.fold(resistance(middle).low, Factor::min),
        likely: resistance(middle).likely,
        high: highs.fold(resistance(Surface::Earth).high, Factor::max),
    }
}

/// Soft sand of a track.
pub(crate) const SAND: Properties = row([0.07, 0.13, 0.25], Some(35.0), 0.08, false);
/// Dunes without a track. The range spans *reports that could not be checked*: 30 to 40 L/100 km of diesels and 40 to 80 of
/// petrol vehicles in trackless dunes, where sandy tracks took 1.4 to 1.7 times the usual figure. Owners' accounts that were
/// seen: a large diesel at 13 to 14 as usual takes 17 to 20 in thick sand and low range (1.3 to 1.5 times), a petrol vehicle
/// 30 in thick sand.
pub(crate) const DUNES: Properties = row([0.13, 0.22, 0.36], Some(25.0), 0.15, false);
/// Usual speed in low range.
pub(crate) const LOW_RANGE_SPEED: KilometresPerHour = KilometresPerHour::new(10.0);
/// Usual speed in low range in sand or dunes.
pub(crate) const LOW_RANGE_SAND_SPEED: KilometresPerHour = KilometresPerHour::new(12.0);
/// Unsteadiness in low range.
pub(crate) const LOW_RANGE_UNSTEADINESS: MetresPerSecond2 = MetresPerSecond2::new(0.10);
/// Above this speed tyres that are let down overheat. Common practice, no source.
pub const AIRED_DOWN_FASTEST: KilometresPerHour = KilometresPerHour::new(60.0);

/// Rolling resistance on firm ground over that of a road tread. Common practice, no source.
pub(crate) const fn tread_factor(tread: Tread) -> Factor {
    Factor::new(match tread {
        Tread::Road => 1.0,
        Tread::AllTerrain => 1.1,
        Tread::Mud => 1.25,
    })
}

/// Drag area of the roof load. A large box adds 0.2 m² (SUV) to 0.4 m² (compact car): implied by Thomas,
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

    /// An unknown resistance is within the range of the known ones, and reaches to earth at least.
    #[test]
    fn an_unknown_surface_is_drawn_from_the_known_ones() {
        let km = Kilometres::new;
        let nothing = unknown(&[]);
        assert!(nothing.low < nothing.likely && nothing.likely < nothing.high);
        let mostly_gravel = unknown(&[
            (Surface::Gravel, km(70.0)),
            (Surface::Sealed, km(20.0)),
            (Surface::Mud, km(2.0)),
        ]);
        assert_eq!(
            mostly_gravel.likely,
            properties(Surface::Gravel).resistance.likely
        );
        assert_eq!(
            mostly_gravel.low,
            properties(Surface::Sealed).resistance.low
        );
        assert_eq!(
            mostly_gravel.high,
            properties(Surface::Earth).resistance.high
        );
        let rocky = unknown(&[(Surface::Rock, km(30.0)), (Surface::Gravel, km(20.0))]);
        assert_eq!(rocky.likely, properties(Surface::Rock).resistance.likely);
        assert_eq!(rocky.high, properties(Surface::Rock).resistance.high);
    }

    #[test]
    fn every_resistance_is_ordered_and_rougher_ground_is_slower() {
        for &surface in Surface::ALL {
            let r = properties(surface).resistance;
            assert!(r.low < r.likely && r.likely < r.high, "{surface}");
        }
        assert!(properties(Surface::Gravel).speed > properties(Surface::Corrugated).speed);
        assert!(properties(Surface::Corrugated).speed > properties(Surface::Earth).speed);
    }
}
