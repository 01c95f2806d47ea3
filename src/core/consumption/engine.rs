//! The engine: fuel for a given power, by the published extended Willans line, within the engine's limits.
//!
//! `pme = (a + b·cm + c·cm²)·pmf + a2·pmf² + l + l2·cm²`, where pme is the mean effective pressure at the
//! crank (bar), pmf that of the fuel's energy (bar) and cm the mean piston speed (m/s). Fuel power of a
//! four-stroke is pmf · Vd · n / 2. Coefficients: European Commission, Joint Research Centre, parameters of
//! the light-duty type-approval CO2 model. Left out: cut-off on the overrun (charged as
//! no load), wear; the scale factor k of the baseline consumption carries what is usual of them.

use crate::model::vehicle::Vehicle;
use crate::model::vocabulary::{Fuel, Induction};
use crate::quantity::{KilogramsPerLitre, LitresPerHour, MegajoulesPerLitre, RevsPerMinute, Share};

use super::air;

/// Idling speed. Common practice, no source.
pub(crate) const IDLE_SPEED: RevsPerMinute = RevsPerMinute::new(800.0);
/// Part of the full-load pressure up to which a driver works the engine before changing down. Common practice, no
/// source.
pub const WORKING_SHARE: Share = Share::new(0.85);

/// Highest mean piston speed that a driver uses, m/s; it binds on engines of long stroke only. Common practice, no
/// source.
const FASTEST_PISTON: f64 = 16.0;

const PASCALS_PER_BAR: f64 = 1e5;

/// Energy in a litre: ADR 2017, 1.1.3.2 note 1.
pub(crate) const fn energy(fuel: Fuel) -> MegajoulesPerLitre {
    MegajoulesPerLitre::new(match fuel {
        Fuel::Petrol => 32.0,
        Fuel::Diesel => 36.0,
    })
}

/// Mass of a litre at 15 °C: petrol typical of the EU reference fuel's 743–756 (Reg. (EC) 692/2008 Annex IX),
/// diesel within EN 590's 820–845.
pub const fn fuel_density(fuel: Fuel) -> KilogramsPerLitre {
    KilogramsPerLitre::new(match fuel {
        Fuel::Petrol => 0.745,
        Fuel::Diesel => 0.835,
    })
}

/// The coefficients of one line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct WillansLine {
    pub(crate) a: f64,
    pub(crate) b: f64,
    pub(crate) c: f64,
    pub(crate) a2: f64,
    pub(crate) l: f64,
    pub(crate) l2: f64,
}

impl WillansLine {
    const fn new(fuel: Fuel, induction: Induction) -> Self {
        match (fuel, induction) {
            (Fuel::Petrol, Induction::Natural) => Self {
                a: 0.4719,
                b: 0.01193,
                c: -0.00065,
                a2: -0.00385,
                l: -2.14063,
                l2: -0.00286,
            },
            (Fuel::Petrol, Induction::Turbo) => Self {
                a: 0.468_678,
                b: 0.011_859,
                c: -0.00069,
                a2: -0.00266,
                l: -2.49882,
                l2: -0.0025,
            },
            (Fuel::Diesel, _) => Self {
                a: 0.391_197,
                b: 0.028_604,
                c: -0.00196,
                a2: -0.0012,
                l: -1.55291,
                l2: -0.0076,
            },
        }
    }

    /// Fuel mean effective pressure (bar) for a mean effective pressure `pme` (bar) at piston speed `cm` (m/s).
    ///
    /// The smaller root of the quadratic, written so that nothing cancels. Its discriminant is positive for
    /// every pme up to the engine's limit and every piston speed up to its highest, which tests hold.
    pub(crate) fn pmf(&self, pme: f64, cm: f64) -> f64 {
        let slope = self.a + self.b * cm + self.c * cm * cm;
        let wanted = pme - self.l - self.l2 * cm * cm;
        2.0 * wanted / (slope + (slope * slope + 4.0 * self.a2 * wanted).max(0.0).sqrt())
    }
}

/// An engine in SI units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Engine {
    pub(crate) line: WillansLine,
    /// Swept volume, m³.
    pub(crate) swept: f64,
    /// Stroke of a piston, m.
    pub(crate) stroke: f64,
    /// Greatest mean effective pressure at sea level, bar.
    pub(crate) greatest_pme: f64,
    /// Whether thin air takes power.
    pub(crate) natural: bool,
    /// Lowest comfortable speed in high and in low range, revs a second.
    pub(crate) lowest: [f64; 2],
    /// Lowest speed in dunes, where a gear is held for momentum, revs a second.
    pub(crate) in_dunes: f64,
    /// Highest speed that a driver uses, revs a second.
    pub(crate) highest: f64,
    /// Joules in a litre.
    pub(crate) energy: f64,
}

/// How the engine works at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Working {
    /// Revs a second.
    pub(crate) revs: f64,
    /// Mean effective pressure, bar.
    pub(crate) pme: f64,
    /// Mean piston speed, m/s.
    pub(crate) piston_speed: f64,
    /// Fuel mean effective pressure, bar.
    pub(crate) pmf: f64,
    /// Litres a second, before the scale factor.
    pub(crate) litres_per_s: f64,
}

impl Engine {
    pub(crate) fn from_vehicle(vehicle: &Vehicle) -> Self {
        let (fuel, induction) = (vehicle.fuel, vehicle.induction());
        // Full-load pressures, lowest and highest speeds: common practice, no source.
        let greatest_pme = match (fuel, induction) {
            (Fuel::Petrol, Induction::Natural) => 10.0,
            (Fuel::Petrol, Induction::Turbo) => 17.0,
            (Fuel::Diesel, Induction::Natural) => 7.5,
            (Fuel::Diesel, Induction::Turbo) => 15.0,
        };
        let (lowest, in_dunes, highest) = match fuel {
            Fuel::Petrol => ([1800.0, 2200.0], 3600.0, 5000.0),
            Fuel::Diesel => ([1500.0, 1800.0], 2000.0, 3800.0),
        };
        let stroke = vehicle.stroke().get() / 1000.0;
        Self {
            line: WillansLine::new(fuel, induction),
            swept: vehicle.engine_l.get() / 1000.0,
            stroke,
            greatest_pme,
            natural: induction == Induction::Natural,
            lowest: lowest.map(|rpm| rpm / 60.0),
            in_dunes: in_dunes / 60.0,
            highest: f64::min(highest / 60.0, FASTEST_PISTON / (2.0 * stroke)),
            energy: energy(fuel).get() * 1e6,
        }
    }

    /// The mean effective pressure (bar) up to which the engine is worked in air of `density` (kg/m³).
    pub(crate) fn working_pme(&self, density: f64) -> f64 {
        let thin = if self.natural {
            density / air::SEA_LEVEL_DENSITY.get()
        } else {
            1.0
        };
        WORKING_SHARE.get() * self.greatest_pme * thin
    }

    /// The power (W) that the engine gives at its highest speed in air of `density`.
    pub(crate) fn working_power(&self, density: f64) -> f64 {
        self.working_pme(density) * PASCALS_PER_BAR * self.swept * self.highest / 2.0
    }

    /// The engine giving `power` (W) at no less than `revs` a second: it turns faster, in a lower gear,
    /// as far as the working pressure requires.
    pub(crate) fn at(&self, power: f64, revs: f64, density: f64) -> Working {
        let needed = 2.0 * power / (self.swept * self.working_pme(density) * PASCALS_PER_BAR);
        let revs = revs.max(needed).min(self.highest);
        let volume_per_s = self.swept * revs / 2.0;
        let pme = power / volume_per_s / PASCALS_PER_BAR;
        let piston_speed = 2.0 * self.stroke * revs;
        let pmf = self.line.pmf(pme, piston_speed);
        Working {
            revs,
            pme,
            piston_speed,
            pmf,
            litres_per_s: pmf * PASCALS_PER_BAR * volume_per_s / self.energy,
        }
    }

    /// The engine idling while it gives `accessories` (W).
    pub(crate) fn idling(&self, accessories: f64, density: f64) -> Working {
        self.at(accessories, IDLE_SPEED.get() / 60.0, density)
    }
}

/// Litres an hour of the vehicle's engine idling with nothing but its own accessories on.
pub fn idle_rate(vehicle: &Vehicle) -> LitresPerHour {
    let idling = Engine::from_vehicle(vehicle)
        .idling(super::drive::ACCESSORIES, air::SEA_LEVEL_DENSITY.get());
    LitresPerHour::new(idling.litres_per_s * 3600.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Brake efficiencies that follow from the published lines at a piston speed of 6 m/s, computed from
    /// the formula by hand.
    #[test]
    fn efficiencies_follow_from_the_published_lines() {
        let table = [
            (Fuel::Petrol, [0.153, 0.229, 0.300, 0.327, 0.334]),
            (Fuel::Diesel, [0.172, 0.252, 0.328, 0.362, 0.380]),
        ];
        for (fuel, efficiencies) in table {
            let line = WillansLine::new(fuel, Induction::Natural);
            for (pme, efficiency) in [1.0, 2.0, 4.0, 6.0, 8.0].into_iter().zip(efficiencies) {
                let computed = pme / line.pmf(pme, 6.0);
                assert!(
                    (computed - efficiency).abs() < 6e-4,
                    "{fuel} at {pme} bar: {computed}"
                );
            }
        }
    }

    #[test]
    fn the_root_solves_the_line_within_every_limit() {
        for (fuel, induction, greatest) in [
            (Fuel::Petrol, Induction::Natural, 10.0),
            (Fuel::Petrol, Induction::Turbo, 17.0),
            (Fuel::Diesel, Induction::Natural, 7.5),
            (Fuel::Diesel, Induction::Turbo, 15.0),
        ] {
            let line = WillansLine::new(fuel, induction);
            for step in 0..=200 {
                let cm = FASTEST_PISTON * f64::from(step) / 200.0;
                for pme in [0.0, 0.5, 0.3 * greatest, 0.85 * greatest] {
                    let x = line.pmf(pme, cm);
                    let back = (line.a + line.b * cm + line.c * cm * cm) * x
                        + line.a2 * x * x
                        + line.l
                        + line.l2 * cm * cm;
                    assert!(
                        x > 0.0 && (back - pme).abs() < 1e-9,
                        "{fuel} {induction} {pme} bar at {cm} m/s: {x}, {back}"
                    );
                }
            }
        }
    }
}
