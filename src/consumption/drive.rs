//! Driving a leg: the forces at the wheels, the engine that answers them, and the litres that follow.
//!
//! Of a leg's distance some is sand, some low range, some both; each of these regimes is split into climb,
//! level and descent, because hills cost more than their mean. For each part, in newtons and watts:
//!
//! ```text
//! F = Crr·m·g + ½·ρ·(CdA + roof)·(v + w)·|v + w| + m·a_c + m·g·i
//! P = max(F, 0)·v / η + accessories
//! ```
//!
//! and the engine of [`super::engine`] turns P into litres. Where it cannot give P the speed falls until it
//! can. Everything here is in SI units and private to `consumption`; the module's border speaks in quantities.

use crate::model::fitted::{COMPONENTS, Component};
use crate::model::vehicle::Vehicle;
use crate::quantity::KilometresPerHour;

use super::engine::{Engine, Working};
use super::{air, surface};

/// Standard gravity, m/s².
pub(super) const GRAVITY: f64 = 9.80665;
/// What the engine's own accessories and the lights always take, W. Common practice, no source.
///
/// Also while idling. The Willans line alone idles a 2.0 L petrol engine on 0.68 L/h and a diesel on 0.48, where 0.61
/// and 0.64 were measured (US DOE Fact #861); with this it is 0.75 and 0.55. A measured rate holds some of it already, so
/// petrol errs on the safe side; without it diesel would fall a quarter short.
pub(super) const ACCESSORIES: f64 = 300.0;
/// What air-conditioning takes at the crank, W (1.0 to 2.9 kW); about +0.9 L/h was measured on the road in 2021.
pub(super) const AIR_CONDITIONING: f64 = 1800.0;

/// A vehicle in the numbers of the formula.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Machine {
    pub(crate) engine: Engine,
    pub(crate) driveline: f64,
    pub(crate) drag_area: f64,
    /// Engine turns a metre in top gear on the standard tyres.
    pub(crate) turns_per_m: f64,
}

impl Machine {
    pub(crate) fn of(vehicle: &Vehicle) -> Self {
        Self {
            engine: Engine::of(vehicle),
            driveline: vehicle.driveline_efficiency().get(),
            drag_area: vehicle.drag_area().get(),
            turns_per_m: vehicle.revs_per_km().get() / 1000.0,
        }
    }
}

/// Tyres as they roll on a leg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Rolling {
    /// Fitted diameter over standard diameter.
    pub(crate) ratio: f64,
    /// Factor of the tread on firm ground.
    pub(crate) tread: f64,
    /// Soft and road pressure (bar) where the tyres are let down.
    pub(crate) aired_down: Option<[f64; 2]>,
}

/// What one leg asks of a vehicle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Drive {
    /// Length, m.
    pub(crate) distance: f64,
    /// Rolling resistance of the ground on a road tread.
    pub(crate) crr: f64,
    pub(crate) sand_crr: f64,
    pub(crate) unsteadiness: f64,
    pub(crate) firm: bool,
    /// Speed where there is neither sand nor low range, m/s.
    pub(crate) speed: f64,
    pub(crate) sand: f64,
    pub(crate) low_range: f64,
    /// Share in both, where stated.
    pub(crate) both: Option<f64>,
    pub(crate) roof_area: f64,
    /// Mass with all that is aboard, fuel included, kg.
    pub(crate) mass: f64,
    /// Metres of climb and their mean grade; likewise of descent.
    pub(crate) climb: [f64; 2],
    pub(crate) descent: [f64; 2],
    /// kg/m³.
    pub(crate) density: f64,
    /// m/s, positive against.
    pub(crate) head_wind: f64,
    pub(crate) tyres: Rolling,
    /// What accessories take, W.
    pub(crate) accessories: f64,
    /// Seconds of idling.
    pub(crate) idling: f64,
}

/// Sand and low range, alone and together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Regime {
    /// Neither.
    Plain,
    /// Soft sand in high range.
    Sand,
    /// Low range off the sand.
    LowRange,
    /// Low range in soft sand.
    Both,
}

impl Regime {
    /// What has the factor of the vehicle that holds for it.
    pub(crate) const fn component(self) -> Component {
        match self {
            Self::Plain => Component::Base,
            Self::Sand => Component::Sand,
            Self::LowRange | Self::Both => Component::LowRange,
        }
    }
}

/// Which way the ground leans.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Lean {
    /// Uphill.
    Climb,
    /// Level.
    Level,
    /// Downhill.
    Descent,
}

/// One part of a leg, evenly driven.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Part {
    pub(crate) regime: Regime,
    pub(crate) lean: Lean,
    /// m.
    pub(crate) distance: f64,
    pub(crate) grade: f64,
    pub(crate) crr: f64,
    pub(crate) unsteadiness: f64,
    /// Speed that was wanted and speed that the engine can hold, m/s.
    pub(crate) wanted: f64,
    pub(crate) speed: f64,
    /// Rolling, air, unsteadiness, slope: newtons.
    pub(crate) forces: [f64; 4],
    /// W at the crank.
    pub(crate) power: f64,
    pub(crate) working: Working,
    /// Before the scale factor.
    pub(crate) litres: f64,
    /// s.
    pub(crate) time: f64,
}

impl Part {
    /// Whether the engine cannot hold the speed that was wanted.
    fn is_held(&self) -> bool {
        self.speed < self.wanted * (1.0 - 1e-9)
    }
}

impl Drive {
    /// Shares of the distance: plain, sand only, low range only, both.
    pub(crate) fn shares(&self) -> [(Regime, f64); 4] {
        let (sand, low) = (self.sand, self.low_range);
        let most = sand.min(low);
        let least = (sand + low - 1.0).max(0.0);
        let both = self
            .both
            .unwrap_or(0.7 * most + 0.3 * sand * low)
            .max(least)
            .min(most);
        [
            (Regime::Plain, (1.0 - sand - low + both).max(0.0)),
            (Regime::Sand, sand - both),
            (Regime::LowRange, low - both),
            (Regime::Both, both),
        ]
    }

    /// Share of the distance and grade of climb, level and descent. Grades are steepened where the
    /// stated ones would need more distance than there is.
    pub(crate) fn leans(&self) -> [(Lean, f64, f64); 3] {
        let part = |[height, grade]: [f64; 2]| {
            if height > 0.0 {
                height / (self.distance * grade)
            } else {
                0.0
            }
        };
        let (up, down) = (part(self.climb), part(self.descent));
        let steeper = (up + down).max(1.0);
        [
            (Lean::Climb, up / steeper, self.climb[1] * steeper),
            (Lean::Level, 1.0 - (up + down) / steeper, 0.0),
            (Lean::Descent, down / steeper, -self.descent[1] * steeper),
        ]
    }

    /// The speed that is wanted in a regime.
    fn wanted(&self, regime: Regime) -> f64 {
        let up_to = |usual: KilometresPerHour| self.speed.min(usual.get() / 3.6);
        match regime {
            Regime::Plain => self.speed,
            Regime::Sand => surface::SAND.speed.map_or(self.speed, up_to),
            Regime::LowRange => up_to(surface::LOW_RANGE_SPEED),
            Regime::Both => up_to(surface::LOW_RANGE_SAND_SPEED),
        }
    }

    /// Factors of tread and pressure on the ground's own rolling resistance. What soft tyres add depends on the
    /// speed at which they roll.
    pub(crate) fn tyre_factors(&self, regime: Regime) -> [f64; 2] {
        if !self.firm {
            return [1.0, 1.0];
        }
        let speed = self.wanted(regime);
        let pressure = self.tyres.aired_down.map_or(1.0, |[soft, road]| {
            hard_road_resistance(soft, speed) / hard_road_resistance(road, speed)
        });
        [self.tyres.tread, pressure]
    }

    /// Rolling resistance of soft sand on the tyres as they are.
    pub(crate) fn sand_resistance(&self) -> f64 {
        let aired_down = surface::SAND_AIRED_DOWN.get();
        self.sand_crr * self.tyres.aired_down.map_or(1.0, |_| aired_down)
    }

    /// Rolling resistance and unsteadiness in a regime.
    fn ground(&self, regime: Regime) -> (f64, f64) {
        let low_unsteadiness = surface::LOW_RANGE_UNSTEADINESS.get();
        let sand_unsteadiness = surface::SAND.unsteadiness.get();
        let own = || self.crr * self.tyre_factors(regime).iter().product::<f64>();
        match regime {
            Regime::Plain => (own(), self.unsteadiness),
            Regime::Sand => (self.sand_resistance(), sand_unsteadiness),
            Regime::LowRange => (own(), low_unsteadiness),
            Regime::Both => (
                self.sand_resistance(),
                low_unsteadiness.max(sand_unsteadiness),
            ),
        }
    }

    /// The forces at the wheels at `speed`: rolling, air, unsteadiness, slope.
    fn forces(
        &self,
        machine: &Machine,
        crr: f64,
        unsteadiness: f64,
        grade: f64,
        speed: f64,
    ) -> [f64; 4] {
        [
            crr * self.mass * GRAVITY,
            air::drag(
                self.density,
                machine.drag_area + self.roof_area,
                speed,
                self.head_wind,
            ),
            self.mass * unsteadiness,
            self.mass * GRAVITY * grade,
        ]
    }

    /// The parts of the leg that are longer than nothing.
    pub(crate) fn parts(&self, machine: &Machine) -> impl Iterator<Item = Part> {
        let leans = self.leans();
        self.shares()
            .into_iter()
            .filter(|&(_, share)| share > 0.0)
            .flat_map(move |(regime, share)| {
                leans.into_iter().filter(|&(_, part, _)| part > 0.0).map(
                    move |(lean, part, grade)| {
                        self.part(machine, regime, lean, share * part * self.distance, grade)
                    },
                )
            })
    }

    fn part(
        &self,
        machine: &Machine,
        regime: Regime,
        lean: Lean,
        distance: f64,
        grade: f64,
    ) -> Part {
        let (crr, unsteadiness) = self.ground(regime);
        let wanted = self.wanted(regime);
        let power = |speed: f64| {
            let force: f64 = self
                .forces(machine, crr, unsteadiness, grade, speed)
                .iter()
                .sum();
            force.max(0.0) * speed / machine.driveline + self.accessories
        };
        let engine = &machine.engine;
        let turns_per_m = machine.turns_per_m / self.tyres.ratio;
        let geared = wanted.min(engine.highest / turns_per_m);
        let most = engine.working_power(self.density);
        let speed = if power(geared) <= most {
            geared
        } else {
            fastest_within(most, geared, power)
        };
        let lowest = match regime {
            Regime::Plain | Regime::Sand => engine.lowest[0],
            Regime::LowRange | Regime::Both => engine.lowest[1],
        };
        let working = engine.at(
            power(speed),
            (turns_per_m * speed).max(lowest),
            self.density,
        );
        let time = distance / speed;
        Part {
            regime,
            lean,
            distance,
            grade,
            crr,
            unsteadiness,
            wanted,
            speed,
            forces: self.forces(machine, crr, unsteadiness, grade, speed),
            power: power(speed),
            working,
            litres: working.litres_per_s * time,
            time,
        }
    }

    /// The lowest speed to which the engine's limit holds a part, and what was wanted there.
    pub(crate) fn held(&self, machine: &Machine) -> Option<(KilometresPerHour, KilometresPerHour)> {
        let kmh = |speed: f64| KilometresPerHour::new(speed * 3.6);
        self.parts(machine)
            .filter(Part::is_held)
            .min_by(|a, b| a.speed.total_cmp(&b.speed))
            .map(|part| (kmh(part.speed), kmh(part.wanted)))
    }

    /// Litres of driving, before the scale factor.
    pub(crate) fn litres(&self, machine: &Machine) -> f64 {
        self.parts(machine).map(|part| part.litres).sum()
    }

    /// The same by what has a factor of the vehicle, in the order of [`Component::ALL`]; nothing for idling.
    pub(crate) fn by_component(&self, machine: &Machine) -> [f64; COMPONENTS] {
        let bare = Self {
            roof_area: 0.0,
            ..*self
        };
        let mut litres = [0.0; COMPONENTS];
        for part in bare.parts(machine) {
            litres[part.regime.component() as usize] += part.litres;
        }
        if self.roof_area > 0.0 {
            litres[Component::Roof as usize] = self.litres(machine) - litres.iter().sum::<f64>();
        }
        litres
    }

    /// Litres of driving, and how far the engine's limit reaches into the leg: one for each part that asks for a lower
    /// gear, one more for each that even so is driven slower than wanted.
    pub(crate) fn litres_and_limits(&self, machine: &Machine) -> (f64, usize) {
        let most = machine.engine.working_pme(self.density) * (1.0 - 1e-9);
        self.parts(machine)
            .fold((0.0, 0), |(litres, limits), part| {
                let geared_down = part.working.pme >= most;
                let more = usize::from(geared_down) + usize::from(part.is_held());
                (litres + part.litres, limits + more)
            })
    }

    /// Litres of idling; the scale factor does not touch them.
    pub(crate) fn idle_litres(&self, machine: &Machine) -> f64 {
        machine
            .engine
            .idling(self.accessories, self.density)
            .litres_per_s
            * self.idling
    }
}

/// Rolling resistance on a hard road at `pressure` bar and `speed` m/s: Crr = 0.005 + (0.01 + 0.0095 (v/100)²)/p,
/// v in km/h, an engineering reference formula.
pub(super) fn hard_road_resistance(pressure: f64, speed: f64) -> f64 {
    let hundreds = speed * 3.6 / 100.0;
    0.005 + (0.01 + 0.0095 * hundreds * hundreds) / pressure
}

/// The highest speed up to `wanted` at which `power` stays within `most`, by bisection. Power need not rise
/// throughout (a tail wind), so the lower end is kept where it is known to be within.
fn fastest_within(most: f64, wanted: f64, power: impl Fn(f64) -> f64) -> f64 {
    let (mut within, mut beyond) = (0.0, wanted);
    for _ in 0..48 {
        let middle = f64::midpoint(within, beyond);
        if power(middle) <= most {
            within = middle;
        } else {
            beyond = middle;
        }
    }
    // At a standstill only accessories are driven, which every engine that can be stated bears.
    within.max(1e-3)
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::super::base::hundred_km;
    use super::*;
    use crate::model::vehicle::BaseCondition;

    fn hundred_level_km() -> Drive {
        let vehicle = serde_json::from_value(json!({
            "fuel": "petrol", "engine_l": 1.8, "base_l_per_100km": 9, "tank_l": 50, "kerb_mass_kg": 1300
        }));
        hundred_km(&vehicle.unwrap(), &BaseCondition::REFERENCE)
    }

    /// The four regimes are all of the leg, whatever overlap is stated, drawn or left open, and what is sand stays
    /// sand.
    #[test]
    fn shares_make_up_the_leg() {
        let steps = || (0..=10).map(|tenths| f64::from(tenths) / 10.0);
        for sand in steps() {
            for low_range in steps() {
                for both in steps().map(Some).chain([None]) {
                    let drive = Drive {
                        sand,
                        low_range,
                        both,
                        ..hundred_level_km()
                    };
                    let [plain, only_sand, only_low, in_both] =
                        drive.shares().map(|(_, share)| share);
                    let told = format!("{sand}, {low_range}, {both:?}: {:?}", drive.shares());
                    assert!(
                        (plain + only_sand + only_low + in_both - 1.0).abs() < 1e-12,
                        "{told}"
                    );
                    assert!(
                        plain >= 0.0 && only_sand >= 0.0 && only_low >= 0.0,
                        "{told}"
                    );
                    assert!((only_sand + in_both - sand).abs() < 1e-12, "{told}");
                    assert!((only_low + in_both - low_range).abs() < 1e-12, "{told}");
                }
            }
        }
    }

    /// Climb, level and descent are all of the leg, and length times grade is the height climbed and descended, also
    /// where the stated grades would need more length than there is.
    #[test]
    fn leans_make_up_the_leg_and_its_heights() {
        for (climb, descent) in [
            ([0.0, 0.06], [0.0, 0.06]),
            ([900.0, 0.06], [1500.0, 0.08]),
            ([5000.0, 0.06], [4000.0, 0.05]),
        ] {
            let drive = Drive {
                climb,
                descent,
                ..hundred_level_km()
            };
            let [up, level, down] = drive.leans();
            let told = format!("{:?}", drive.leans());
            assert!(
                (up.1 + level.1 + down.1 - 1.0).abs() < 1e-12 && level.1 >= 0.0,
                "{told}"
            );
            assert!(
                (up.1 * up.2 * drive.distance - climb[0]).abs() < 1e-9,
                "{told}"
            );
            assert!(
                (down.1 * down.2 * drive.distance + descent[0]).abs() < 1e-9,
                "{told}"
            );
        }
        let crowded = Drive {
            distance: 100_000.0,
            climb: [5000.0, 0.06],
            descent: [4000.0, 0.05],
            ..hundred_level_km()
        };
        assert!(crowded.leans()[1].1.abs() < 1e-12, "no level is left");
    }

    /// Over a leg of dunes in low range the unsteadier of the two decides.
    #[test]
    fn low_range_in_sand_is_as_unsteady_as_the_unsteadier() {
        let drive = hundred_level_km();
        let unsteadiness = |regime| drive.ground(regime).1;
        let alone = unsteadiness(Regime::Sand).max(unsteadiness(Regime::LowRange));
        assert!((unsteadiness(Regime::Both) - alone).abs() < 1e-12);
    }

    /// Values of the formula at two points, computed by hand.
    #[test]
    fn soft_tyres_roll_harder_on_a_hard_road() {
        assert!((hard_road_resistance(2.0, 80.0 / 3.6) - 0.01304).abs() < 1e-5);
        assert!((hard_road_resistance(1.0, 30.0 / 3.6) - 0.015_855).abs() < 1e-5);
    }
}
