//! The tractive forces on a leg, the engine power that they need, and the litres that follow.
//!
//! Of a leg's distance some is sand or dunes, some low range, some both; each of these regimes is split into climb,
//! level and descent, because hills cost more than their mean. For each part, in newtons and watts:
//!
//! ```text
//! F = Crr·m·g + ½·ρ·(CdA + roof)·(v + w)·|v + w| + m·a_c + m·g·i
//! P = max(F, 0)·v / η + accessories
//! ```
//!
//! and the engine of [`super::engine`] turns P into litres, more of them in the cold. Where it cannot give P the speed
//! falls until it can. Everything here is in SI units and private to `consumption`; the module's border uses
//! quantities.

use crate::model::calibration::{COMPONENTS, Component};
use crate::model::vehicle::Vehicle;
use crate::quantity::{Bar, KilometresPerHour};

use super::engine::{Engine, Working};
use super::{air, surface, tyres};

/// Standard gravity, m/s².
pub(super) const GRAVITY: f64 = 9.80665;
/// What the engine's own accessories and the lights always take, W. Common practice, no source.
///
/// Also while idling. The Willans line alone idles a 2.0 L petrol engine on 0.68 L/h and a diesel on 0.48, where 0.61
/// and 0.64 were measured (US DOE Fact #861); with this it is 0.75 and 0.55. A measured rate holds some of it already,
/// so petrol errs on the safe side; without it diesel would fall a quarter short.
pub(super) const ACCESSORIES: f64 = 300.0;
/// What each kelvin below the reference temperature adds to driving: stiff oil in engine, gearbox and axles, stiff
/// tyres, winter fuel. With [`COLD_START`] and the denser air of −7 °C against 25 °C, trips of 20 km take 13.6 % more,
/// as US DOE Fact #818 measured in town; over 50 km at 0 °C it is 7 %, where a log of December to February showed 8.5.
/// Set to these two; no source of its own.
pub(super) const COLD_DRIVING: f64 = 0.001;
/// Litres that warming up takes on a day's first leg, for each kelvin below the reference temperature and each litre of
/// swept volume.
pub(super) const COLD_START: f64 = 0.003;
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
    pub(crate) fn from_vehicle(vehicle: &Vehicle) -> Self {
        Self {
            engine: Engine::from_vehicle(vehicle),
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
    pub(crate) aired_down: Option<[Bar; 2]>,
}

/// What one leg demands of a vehicle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Drive {
    /// Length of the leg, m.
    pub(crate) distance: f64,
    /// Rolling resistance of the ground on a road tread.
    pub(crate) crr: f64,
    pub(crate) sand_crr: f64,
    pub(crate) dune_crr: f64,
    pub(crate) unsteadiness: f64,
    pub(crate) firm: bool,
    /// Speed where there is neither sand nor low range, m/s.
    pub(crate) speed: f64,
    /// Speed that is driven over the one that is planned, on all ground.
    pub(crate) pace: f64,
    pub(crate) sand: f64,
    pub(crate) dunes: f64,
    pub(crate) low_range: f64,
    /// Share in low range in sand or dunes, where stated.
    pub(crate) both: Option<f64>,
    pub(crate) roof_area: f64,
    /// Mass with all that is on board, fuel included, kg.
    pub(crate) mass: f64,
    /// Metres of climb and their mean grade; likewise of descent.
    pub(crate) climb: [f64; 2],
    pub(crate) descent: [f64; 2],
    /// Density of the air, kg/m³.
    pub(crate) density: f64,
    /// m/s, positive against.
    pub(crate) head_wind: f64,
    /// Kelvins below the reference temperature, as they count.
    pub(crate) cold: f64,
    pub(crate) starts: f64,
    pub(crate) tyres: Rolling,
    /// What accessories take, W.
    pub(crate) accessories: f64,
    /// Seconds of idling.
    pub(crate) idling: f64,
    /// Litres used at rest besides: heater, stove, generator.
    pub(crate) camp: f64,
}

/// Sand and low range, alone and together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Regime {
    /// Neither sand nor dunes.
    Plain,
    /// Soft sand in high range.
    Sand,
    /// Dunes in high range.
    Dunes,
    /// Low range on other ground.
    LowRange,
    /// Low range in soft sand.
    LowRangeSand,
    /// Low range in dunes.
    LowRangeDunes,
}

impl Regime {
    /// What has the factor of the vehicle that holds for it.
    pub(crate) const fn component(self) -> Component {
        match self {
            Self::Plain => Component::Base,
            Self::Sand | Self::Dunes => Component::Sand,
            Self::LowRange | Self::LowRangeSand | Self::LowRangeDunes => Component::LowRange,
        }
    }
}

/// Which way the ground leans.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slope {
    /// The parts that lead uphill.
    Climb,
    /// The parts with no grade.
    Level,
    /// The parts that lead downhill.
    Descent,
}

/// One part of a leg, evenly driven.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct LegPart {
    pub(crate) regime: Regime,
    pub(crate) lean: Slope,
    /// Length of the part, m.
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
    /// Time that the part takes, s.
    pub(crate) time: f64,
}

impl LegPart {
    /// Whether the engine cannot hold the speed that was wanted.
    fn is_held(&self) -> bool {
        self.speed < self.wanted * (1.0 - 1e-9)
    }
}

impl Drive {
    /// Shares of the distance. Low range is in sand and in dunes by their shares.
    pub fn shares(&self) -> [(Regime, f64); 6] {
        let (soft, low) = (self.sand + self.dunes, self.low_range);
        let most = soft.min(low);
        let least = (soft + low - 1.0).max(0.0);
        let both = self
            .both
            .unwrap_or(0.7 * most + 0.3 * soft * low)
            .max(least)
            .min(most);
        let in_dunes = if soft > 0.0 { self.dunes / soft } else { 0.0 };
        [
            (Regime::Plain, (1.0 - soft - low + both).max(0.0)),
            (Regime::Sand, (soft - both) * (1.0 - in_dunes)),
            (Regime::Dunes, (soft - both) * in_dunes),
            (Regime::LowRange, low - both),
            (Regime::LowRangeSand, both * (1.0 - in_dunes)),
            (Regime::LowRangeDunes, both * in_dunes),
        ]
    }

    /// Share of the distance and grade of climb, level and descent. Grades are steepened where the
    /// stated ones would need more distance than there is.
    pub(crate) fn leans(&self) -> [(Slope, f64, f64); 3] {
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
            (Slope::Climb, up / steeper, self.climb[1] * steeper),
            (Slope::Level, 1.0 - (up + down) / steeper, 0.0),
            (Slope::Descent, down / steeper, -self.descent[1] * steeper),
        ]
    }

    /// The speed that is wanted in a regime.
    fn wanted(&self, regime: Regime) -> f64 {
        let up_to = |usual: KilometresPerHour| self.speed.min(usual.get() / 3.6);
        let of_ground = |ground: surface::Properties| ground.speed.map_or(self.speed, up_to);
        self.pace
            * match regime {
                Regime::Plain => self.speed,
                Regime::Sand => of_ground(surface::SAND),
                Regime::Dunes => of_ground(surface::DUNES),
                Regime::LowRange => up_to(surface::LOW_RANGE_SPEED),
                Regime::LowRangeSand | Regime::LowRangeDunes => {
                    up_to(surface::LOW_RANGE_SAND_SPEED)
                }
            }
    }

    /// Factors of tread and pressure on the ground's own rolling resistance. What soft tyres add depends on the
    /// speed at which they roll.
    pub(crate) fn tyre_factors(&self, regime: Regime) -> [f64; 2] {
        if !self.firm {
            return [1.0, 1.0];
        }
        let speed = KilometresPerHour::new(self.wanted(regime) * 3.6);
        let pressure = self.tyres.aired_down.map_or(1.0, |[soft, road]| {
            tyres::on_hard_road(soft, speed) / tyres::on_hard_road(road, speed)
        });
        [self.tyres.tread, pressure]
    }

    /// Rolling resistance of soft sand, and of dunes, on the tyres as they are.
    pub fn soft_resistances(&self) -> [f64; 2] {
        let factor = self.sand_tyre_factor();
        [self.sand_crr * factor, self.dune_crr * factor]
    }

    /// Factor of the pressure on the resistance of sand and dunes.
    pub fn sand_tyre_factor(&self) -> f64 {
        let aired_down = self.tyres.aired_down;
        aired_down.map_or(1.0, |[soft, road]| tyres::in_sand(soft, road).get())
    }

    /// Rolling resistance and unsteadiness in a regime.
    fn ground(&self, regime: Regime) -> (f64, f64) {
        let low_range = surface::LOW_RANGE_UNSTEADINESS.get();
        let in_sand = surface::SAND.unsteadiness.get();
        let in_dunes = surface::DUNES.unsteadiness.get();
        let own = || self.crr * self.tyre_factors(regime).iter().product::<f64>();
        let [sand, dunes] = self.soft_resistances();
        match regime {
            Regime::Plain => (own(), self.unsteadiness),
            Regime::Sand => (sand, in_sand),
            Regime::Dunes => (dunes, in_dunes),
            Regime::LowRange => (own(), low_range),
            Regime::LowRangeSand => (sand, low_range.max(in_sand)),
            Regime::LowRangeDunes => (dunes, low_range.max(in_dunes)),
        }
    }

    /// Litres of driving in the cold for each litre without.
    pub fn cold_factor(&self) -> f64 {
        1.0 + COLD_DRIVING * self.cold
    }

    /// Litres of cold starts, before the scale factor.
    pub fn start_litres(&self, machine: &Machine) -> f64 {
        COLD_START * self.cold * self.starts * machine.engine.swept * 1000.0
    }

    /// The tractive forces at `speed`: rolling, air, unsteadiness, slope.
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
    pub(crate) fn parts(&self, machine: &Machine) -> impl Iterator<Item = LegPart> {
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
        lean: Slope,
        distance: f64,
        grade: f64,
    ) -> LegPart {
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
            Regime::Dunes | Regime::LowRangeDunes => engine.in_dunes,
            Regime::LowRange | Regime::LowRangeSand => engine.lowest[1],
        };
        let working = engine.at(
            power(speed),
            (turns_per_m * speed).max(lowest),
            self.density,
        );
        let time = distance / speed;
        LegPart {
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
            litres: working.litres_per_s * time * self.cold_factor(),
            time,
        }
    }

    /// The lowest speed to which the engine's limit holds a part, and what was wanted there.
    pub(crate) fn held(&self, machine: &Machine) -> Option<(KilometresPerHour, KilometresPerHour)> {
        let kmh = |speed: f64| KilometresPerHour::new(speed * 3.6);
        self.parts(machine)
            .filter(LegPart::is_held)
            .min_by(|a, b| a.speed.total_cmp(&b.speed))
            .map(|part| (kmh(part.speed), kmh(part.wanted)))
    }

    /// Litres of driving, before the scale factor.
    pub(crate) fn litres(&self, machine: &Machine) -> f64 {
        let driven: f64 = self.parts(machine).map(|part| part.litres).sum();
        driven + self.start_litres(machine)
    }

    /// Driving litres by calibration factor, in the order of [`Component::ALL`]; 0 for idling.
    pub(crate) fn by_component(&self, machine: &Machine) -> [f64; COMPONENTS] {
        let bare = Self {
            roof_area: 0.0,
            ..*self
        };
        let mut litres = [0.0; COMPONENTS];
        litres[Component::Base as usize] = self.start_litres(machine);
        for part in bare.parts(machine) {
            litres[part.regime.component() as usize] += part.litres;
        }
        if self.roof_area > 0.0 {
            litres[Component::Roof as usize] = self.litres(machine) - litres.iter().sum::<f64>();
        }
        litres
    }

    /// Litres of driving, and how far the engine's limit reaches into the leg: one for each part that needs a lower
    /// gear, one more for each that even so is driven slower than wanted.
    pub(crate) fn litres_and_limits(&self, machine: &Machine) -> (f64, usize) {
        let most = machine.engine.working_pme(self.density) * (1.0 - 1e-9);
        self.parts(machine)
            .fold((self.start_litres(machine), 0), |(litres, limits), part| {
                let geared_down = part.working.pme >= most;
                let more = usize::from(geared_down) + usize::from(part.is_held());
                (litres + part.litres, limits + more)
            })
    }

    /// Litres of idling and at camp; the scale factor does not touch them.
    pub(crate) fn idle_litres(&self, machine: &Machine) -> f64 {
        machine
            .engine
            .idling(self.accessories, self.density)
            .litres_per_s
            * self.idling
            + self.camp
    }
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
    // At a standstill only accessories are driven, which every engine that can be stated has power for.
    within.max(1e-3)
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::super::base::hundred_km;
    use super::*;
    use crate::model::vehicle::BaselineConditions;

    fn hundred_level_km() -> Drive {
        let vehicle = serde_json::from_value(json!({
            "fuel": "petrol", "engine_l": 1.8, "baseline_l_per_100km": 9, "tank_l": 50, "kerb_mass_kg": 1300
        }));
        hundred_km(&vehicle.unwrap(), &BaselineConditions::REFERENCE)
    }

    /// The regimes are all of the leg, whatever overlap is stated, drawn or left open, and what is sand stays sand,
    /// dunes dunes.
    #[test]
    fn shares_make_up_the_leg() {
        let steps = |end: i32| (0..=end).map(|tenths| f64::from(tenths) / 10.0);
        let stated = (0..=10).flat_map(|sand| steps(10 - sand).map(move |dunes| (sand, dunes)));
        for ((sand, dunes), low_range) in
            stated.flat_map(|soft| steps(10).map(move |low| (soft, low)))
        {
            let sand = f64::from(sand) / 10.0;
            for both in steps(10).map(Some).chain([None]) {
                let drive = Drive {
                    sand,
                    dunes,
                    low_range,
                    both,
                    ..hundred_level_km()
                };
                let case = format!(
                    "{sand}, {dunes}, {low_range}, {both:?}: {:?}",
                    drive.shares()
                );
                let shares = drive.shares().map(|(_, share)| share);
                let near = |found: f64, asked: f64| (found - asked).abs() < 1e-12;
                assert!(shares.iter().all(|&share| share > -1e-12), "{case}");
                assert!(near(shares.iter().sum(), 1.0), "{case}");
                let [_, high_sand, high_dunes, low, low_sand, low_dunes] = shares;
                assert!(near(high_sand + low_sand, sand), "{case}");
                assert!(near(high_dunes + low_dunes, dunes), "{case}");
                assert!(near(low + low_sand + low_dunes, low_range), "{case}");
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
            let case = format!("{:?}", drive.leans());
            assert!(
                (up.1 + level.1 + down.1 - 1.0).abs() < 1e-12 && level.1 >= 0.0,
                "{case}"
            );
            assert!(
                (up.1 * up.2 * drive.distance - climb[0]).abs() < 1e-9,
                "{case}"
            );
            assert!(
                (down.1 * down.2 * drive.distance + descent[0]).abs() < 1e-9,
                "{case}"
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

    /// In sand in low range the unsteadier of the two decides.
    #[test]
    fn low_range_in_sand_is_as_unsteady_as_the_unsteadier() {
        let drive = hundred_level_km();
        let unsteadiness = |regime| drive.ground(regime).1;
        let alone = unsteadiness(Regime::Sand).max(unsteadiness(Regime::LowRange));
        assert!((unsteadiness(Regime::LowRangeSand) - alone).abs() < 1e-12);
    }
}
