//! The uncertainty of each input of a leg: its standard deviation, and its value at a given deviation.
//!
//! A deviation is a number of standard deviations of a standard normal: 0 is the best estimate, −1.645 the 5th
//! percentile, 1.645 the 95th. Spreads are common practice, no source, unless one is named.

use crate::model::vocabulary::{BaselineFrom, Surface};
use crate::quantity::{Deviations, Factor, KilometresPerHour, LogFactor, Share};

use super::drive::Drive;
use super::leg::LegFormula;
use super::surface::{self, RollingResistance};

/// Standard normal deviation of the 95th percentile.
pub const P95: Deviations = Deviations::new(1.644_853_626_951_472_7);
/// Spread of a share of sand or low range, in its logit.
pub(crate) const SHARE_SPREAD: Factor = Factor::new(0.4);
/// A share that is left at nothing on soft ground is drawn between nothing and this.
pub(crate) const SHARE_UNSTATED_MOST: Share = Share::new(0.05);
/// Spread of the wind of a day.
pub(crate) const WIND_SPREAD: KilometresPerHour = KilometresPerHour::new(10.0);

/// Part of the variance of resistance and shares that all legs of a kind have in common.
pub const COMMON: Share = Share::new(0.7);
/// Spread of the low-range rate, in its log. No measured litres in low range are published, so it is wide.
pub const LOW_RANGE_SPREAD: LogFactor = LogFactor::new(0.2);
/// Spread of the idling rate, in its log.
pub const IDLE_SPREAD: LogFactor = LogFactor::new(0.2);
/// Spread of a day, in its log: traffic, the way of driving, what no other cause holds. With wind and driven distances
/// on top, tanks then stray as those of real logs do (12 to 30 % over one tank, 8 to 11 % over eight, at the 95th
/// percentile); 0.12 would be too much over eight.
pub const DAY_SPREAD: LogFactor = LogFactor::new(0.1);
/// How much of a day's deviation the next day takes over.
pub const DAY_CARRIED: Share = Share::new(0.5);

/// Spread of the baseline consumption, in its log. Individuals against a label: 95 % within about ±7 mpg (Greene et
/// al., TRR 1983, 2006), which is 0.15; twenty drivers of one car (JRC, Environ. Sci. Eur. 2020) give the same.
pub const fn baseline_spread(from: BaselineFrom) -> LogFactor {
    LogFactor::new(match from {
        BaselineFrom::Fills => 0.05,
        BaselineFrom::Label => 0.15,
        BaselineFrom::Guess => 0.2,
    })
}

/// Spread of what the cold adds, in its log: from a log of one winter to short trips in town it is a factor of two.
/// Common practice, no source.
pub const COLD_SPREAD: LogFactor = LogFactor::new(0.4);

/// Spread of the speed that is driven over the one that is planned, in its log. Off the sealed road drivers choose by
/// themselves, by the state of the road and not by its limit (Dissanayake and Liu, K-TRAN KSU-06-5, 2009, counts on more
/// than forty gravel sections; the table was not seen). Spot speeds at one place are normal with a standard deviation of
/// 13 to 15 % of their mean (FHWA, Speed Concepts: Informational Guide, chapter 5: 52 ± 7 and 71 ± 11); the mean of a whole
/// leg strays a little less. On a sealed road limits and traffic hold it, and the spread of a day has most of that.
pub const fn speed_spread(surface: Surface) -> LogFactor {
    LogFactor::new(match surface {
        Surface::Sealed => 0.05,
        _ => 0.12,
    })
}

/// What the driven distance is to the stated one: the log of its median, and its spread. Off the sealed road one
/// drives round obstacles.
pub const fn distance(surface: Surface) -> [LogFactor; 2] {
    match surface {
        Surface::Sealed => [LogFactor::ZERO, LogFactor::new(0.02)],
        // ln 1.03
        _ => [
            LogFactor::new(0.029_558_802_241_544_4),
            LogFactor::new(0.04),
        ],
    }
}

/// An input of a leg whose effect is not a plain factor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Drawn {
    /// Rolling resistance of the leg's surface.
    SurfaceResistance,
    /// Rolling resistance of its sand.
    SandResistance,
    /// Rolling resistance of its dunes.
    DuneResistance,
    /// Shares of sand and of dunes.
    SandShare,
    /// Share of low range.
    LowRangeShare,
    /// Wind along the leg.
    Wind,
    /// Speed that is driven over the one that is planned.
    Speed,
    /// What the cold adds.
    Cold,
    /// The surface where it is not known.
    UnknownSurface,
}

impl Drawn {
    /// All drawn factors, in the order of their numbers.
    pub const ALL: [Self; 9] = [
        Self::SurfaceResistance,
        Self::SandResistance,
        Self::DuneResistance,
        Self::SandShare,
        Self::LowRangeShare,
        Self::Wind,
        Self::Speed,
        Self::Cold,
        Self::UnknownSurface,
    ];
}

/// A two-piece lognormal through low (5th percentile), likely (median) and high (95th).
fn resistance(of: RollingResistance, at: Deviations) -> f64 {
    let end = if at < Deviations::ZERO {
        of.low / of.likely
    } else {
        of.high / of.likely
    };
    of.likely.get() * (end.ln().abs() / P95.get() * at.get()).exp()
}

/// A share drawn in its logit; a share of nothing on soft ground may be a little, anywhere else it stays.
fn share(stated: f64, soft: bool, at: Deviations) -> f64 {
    if stated <= 0.0 {
        let below = 0.5 * libm::erfc(-at.get() / std::f64::consts::SQRT_2);
        return if soft {
            SHARE_UNSTATED_MOST.get() * below
        } else {
            0.0
        };
    }
    if stated >= 1.0 {
        return 1.0;
    }
    let logit = (stated / (1.0 - stated)).ln() + SHARE_SPREAD.get() * at.get();
    1.0 / (1.0 + (-logit).exp())
}

impl LegFormula {
    /// The leg with one input drawn `at` a deviation.
    #[must_use]
    pub fn drawn(&self, drawn: Drawn, at: Deviations) -> Self {
        let soft = matches!(self.surface, Surface::Earth | Surface::Mud | Surface::Salt);
        let mut leg = *self;
        let Drive {
            sand,
            dunes,
            low_range,
            ..
        } = self.drive;
        match drawn {
            Drawn::SurfaceResistance => {
                leg.drive.crr = resistance(surface::properties(self.surface).resistance, at);
            }
            Drawn::SandResistance => leg.drive.sand_crr = resistance(surface::SAND.resistance, at),
            Drawn::DuneResistance => {
                leg.drive.dune_crr = resistance(surface::DUNES.resistance, at);
            }
            Drawn::SandShare => {
                let drawn = [share(sand, soft, at), share(dunes, false, at)];
                let all = drawn.iter().sum::<f64>().max(1.0);
                [leg.drive.sand, leg.drive.dunes] = drawn.map(|drawn| drawn / all);
            }
            Drawn::LowRangeShare => leg.drive.low_range = share(low_range, soft, at),
            Drawn::Speed => leg.drive.pace = (speed_spread(self.surface) * at.get()).get().exp(),
            Drawn::Cold => leg.drive.cold *= (COLD_SPREAD * at.get()).get().exp(),
            Drawn::UnknownSurface => {
                let (known, rest) = self.known;
                if known < 1.0 {
                    leg.drive.crr = known * leg.drive.crr + (1.0 - known) * resistance(rest, at);
                }
            }
            Drawn::Wind => leg.drive.head_wind += at.get() * WIND_SPREAD.get() / 3.6,
        }
        leg
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::super::leg::{Burden, Formula};
    use super::super::terrain;
    use super::*;
    use crate::model::Trip;
    use crate::quantity::SquareMetres;

    #[test]
    fn resistance_goes_through_its_three_points() {
        let gravel = surface::properties(Surface::Gravel).resistance;
        let at = |deviation: f64| resistance(gravel, Deviations::new(deviation));
        assert!((at(0.0) - gravel.likely.get()).abs() < 1e-15);
        assert!((at(-P95.get()) - gravel.low.get()).abs() < 1e-12);
        assert!((at(P95.get()) - gravel.high.get()).abs() < 1e-12);
    }

    #[test]
    fn shares_stay_shares() {
        for stated in [0.0, 0.01, 0.4, 0.99, 1.0] {
            let mut last = -1.0;
            for step in -30..=30 {
                let drawn = share(stated, true, Deviations::new(f64::from(step) / 10.0));
                assert!(
                    (0.0..=1.0).contains(&drawn) && drawn >= last,
                    "{stated}: {drawn}"
                );
                last = drawn;
            }
        }
        assert!(share(0.0, false, Deviations::new(2.0)).abs() < f64::EPSILON);
        assert!((share(0.0, true, Deviations::ZERO) - 0.025).abs() < 1e-12);
    }

    /// What a spread is: the move of the logit, and of the wind, for one standard deviation.
    #[test]
    fn one_deviation_is_one_spread() {
        let logit = |share: f64| (share / (1.0 - share)).ln();
        let drawn = share(0.3, false, Deviations::new(1.0));
        assert!((logit(drawn) - logit(0.3) - SHARE_SPREAD.get()).abs() < 1e-12);

        let trip: Trip = serde_json::from_value(json!({
            "drystage": 1,
            "vehicle": { "fuel": "petrol", "engine_l": 1.8, "baseline_l_per_100km": 9, "tank_l": 50, "kerb_mass_kg": 1300 },
            "start": { "name": "a" },
            "legs": [{ "to": "b", "distance_km": 90, "headwind_kmh": -4 }]
        }))
        .unwrap();
        let burden = Burden {
            dry_mass: trip.vehicle.kerb_mass_kg,
            roof_drag: SquareMetres::ZERO,
        };
        let leg = Formula::from_vehicle(&trip.vehicle).leg(
            &trip.legs[0],
            &terrain::along(&trip)[0],
            burden,
        );
        let wind = |at| leg.drawn(Drawn::Wind, Deviations::new(at)).drive.head_wind * 3.6;
        assert!((wind(0.0) + 4.0).abs() < 1e-12);
        assert!((wind(1.0) - wind(0.0) - WIND_SPREAD.get()).abs() < 1e-12);
    }
}
