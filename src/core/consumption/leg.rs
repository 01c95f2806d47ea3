//! The fuel formula of a vehicle, and one leg calculated with it: litres, their components, driving time.

use crate::model::calibration::{COMPONENTS, Component};
use crate::model::route::Leg;
use crate::model::vehicle::Vehicle;
use crate::model::vocabulary::Surface;
use crate::quantity::{
    Bar, Factor, Hours, Kilograms, KilometresPerHour, Litres, LitresPerKm, Share, SquareMetres,
};

use super::base::Base;
use super::drive::{ACCESSORIES, AIR_CONDITIONING, Drive, Machine, Rolling};
use super::surface::RollingResistance;
use super::terrain::Terrain;
use super::usage::Usage;
use super::{air, base, engine, surface};
use crate::model::vehicle::BaselineConditions;

/// The vehicle's side of the formula, made once for a plan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Formula {
    pub(super) machine: Machine,
    pub(super) hundred_km: Drive,
    pub(super) rolling: Rolling,
    pub(super) pressures: [Bar; 2],
    pub(super) kg_per_l: f64,
    /// Factors of the vehicle on base, sand, low range, roof and idling, where they were fitted.
    pub(super) fitted: Option<[f64; COMPONENTS]>,
    base: Base,
}

/// What is carried on a leg besides fuel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Burden {
    /// Mass of everything but usable fuel.
    pub dry_mass: Kilograms,
    /// Drag area on the roof.
    pub roof_drag: SquareMetres,
}

/// One leg with the fuel formula of a vehicle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LegFormula {
    pub(super) formula: Formula,
    pub(super) surface: Surface,
    /// With the dry mass; fuel comes on top.
    pub(super) drive: Drive,
    /// Litres for each litre of the formula; 1 but for returns.
    pub(super) factor: f64,
    /// Share of the distance whose surface is known, and the resistance of the rest.
    pub(super) known: (f64, RollingResistance),
}

/// A leg's litres by what burns them; they add up to the leg.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Components {
    /// Driving off the sand and in high range.
    pub base: Litres,
    /// Driving in sand in high range.
    pub sand: Litres,
    /// Driving in low range, in sand or not.
    pub low_range: Litres,
    /// What the drag on the roof adds.
    pub roof: Litres,
    /// Idling with the vehicle at rest.
    pub idle: Litres,
    /// What air-conditioning adds while driving.
    pub extras: Litres,
}

impl Components {
    /// Litres of the whole leg.
    pub fn total(&self) -> Litres {
        self.base + self.sand + self.low_range + self.roof + self.idle + self.extras
    }
}

impl Formula {
    /// The formula scaled to `vehicle`.
    pub fn from_vehicle(vehicle: &Vehicle) -> Self {
        Self {
            machine: Machine::from_vehicle(vehicle),
            hundred_km: base::hundred_km(vehicle, &BaselineConditions::REFERENCE),
            rolling: Rolling {
                ratio: vehicle.tyre_ratio().get(),
                tread: surface::tread_factor(vehicle.tread()).get(),
                aired_down: None,
            },
            pressures: [vehicle.soft_pressure(), vehicle.road_pressure()],
            kg_per_l: engine::fuel_density(vehicle.fuel).get(),
            fitted: vehicle
                .calibration
                .as_ref()
                .map(|fitted| fitted.factors().map(Factor::get)),
            base: Base::from_vehicle(vehicle),
        }
    }

    /// Litres of driving by the vehicle: each component by its factor.
    pub(super) fn driving(&self, drive: &Drive) -> f64 {
        let litres = match self.fitted {
            None => drive.litres(&self.machine),
            Some(factors) => self.by_factors(drive, factors),
        };
        self.base.k.get() * litres
    }

    /// Driving litres, and how many parts of the leg the engine's limit reaches into.
    fn driving_and_limits(&self, drive: &Drive) -> (f64, usize) {
        let (litres, limits) = drive.litres_and_limits(&self.machine);
        let litres = self
            .fitted
            .map_or(litres, |factors| self.by_factors(drive, factors));
        (self.base.k.get() * litres, limits)
    }

    /// Before the scale factor.
    fn by_factors(&self, drive: &Drive, factors: [f64; COMPONENTS]) -> f64 {
        let parts = drive.by_component(&self.machine);
        // With a strong wind from behind what is on the roof pushes. What it saves is litres of the rest, so it counts
        // no more than the least of them does, and something is always burnt.
        let [base, sand, low_range, roof, _] = factors;
        let least = base.min(sand).min(low_range).min(roof);
        parts
            .into_iter()
            .zip(factors)
            .map(|(part, factor)| part * if part < 0.0 { least } else { factor })
            .sum()
    }

    /// Litres of idling by the vehicle.
    pub(super) fn idling(&self, drive: &Drive) -> f64 {
        let factor = self
            .fitted
            .map_or(1.0, |factors| factors[Component::Idle as usize]);
        factor * drive.idle_litres(&self.machine)
    }

    /// The figure that the formula is scaled to.
    pub fn base(&self) -> Base {
        self.base
    }

    /// The speed of a leg where there is neither sand nor low range: as stated, else the trip's on its surface, else
    /// the usual one on it, else the base speed.
    fn speed(&self, leg: &Leg, terrain: &Terrain) -> KilometresPerHour {
        let baseline_speed = KilometresPerHour::new(self.hundred_km.speed * 3.6);
        leg.speed_kmh
            .or(terrain.trips_speed)
            .or(surface::properties(leg.surface()).speed)
            .unwrap_or(baseline_speed)
    }

    /// Puts a leg to the formula.
    pub fn leg(&self, leg: &Leg, terrain: &Terrain, burden: Burden) -> LegFormula {
        let ground = surface::properties(leg.surface());
        let drive = Drive {
            distance: terrain.distance.get() * 1000.0,
            crr: ground.resistance.likely.get(),
            unsteadiness: ground.unsteadiness.get(),
            firm: ground.firm,
            speed: self.speed(leg, terrain).get() / 3.6,
            sand: leg.sand_share().get(),
            dunes: leg.dune_share().get(),
            low_range: leg.low_range_share().get(),
            both: leg.both_share.map(crate::quantity::Share::get),
            roof_area: burden.roof_drag.get(),
            mass: burden.dry_mass.get(),
            climb: [terrain.ascent.get(), terrain.ascent_grade.get()],
            descent: [terrain.descent.get(), terrain.descent_grade.get()],
            density: air::density(terrain.altitude, leg.temperature_c).get(),
            head_wind: (leg.headwind_kmh.unwrap_or_default() + terrain.wind_against).get() / 3.6,
            cold: leg.temperature_c.map_or(0.0, base::cold),
            starts: if terrain.is_first_of_day { 1.0 } else { 0.0 },
            tyres: Rolling {
                aired_down: leg.is_aired_down().then_some(self.pressures),
                ..self.rolling
            },
            accessories: ACCESSORIES
                + if leg.has_aircon() {
                    AIR_CONDITIONING
                } else {
                    0.0
                },
            idling: leg.idle_h.unwrap_or_default().get() * 3600.0,
            camp: leg.camp_l_per_day.unwrap_or_default().get() * f64::from(terrain.days_at_end),
            ..self.hundred_km
        };
        LegFormula {
            formula: *self,
            surface: leg.surface(),
            drive,
            factor: leg.litres_factor().get(),
            known: (leg.surface_known_share().get(), terrain.unknown),
        }
    }
}

impl LegFormula {
    /// The leg driven the other way: climb and descent change places, the wind turns round, and each
    /// litre counts `factor`.
    #[must_use]
    pub fn reversed(&self, factor: Factor) -> Self {
        let mut back = *self;
        std::mem::swap(&mut back.drive.climb, &mut back.drive.descent);
        back.drive.head_wind = -back.drive.head_wind;
        back.factor = factor.get();
        back
    }

    pub(super) fn loaded(&self, on_board: Litres) -> Drive {
        Drive {
            mass: self.drive.mass + on_board.get() * self.formula.kg_per_l,
            ..self.drive
        }
    }

    pub(super) fn k(&self) -> f64 {
        self.formula.base.k.get()
    }

    /// Litres of `drive` by this leg's vehicle.
    pub(super) fn litres_of(&self, drive: &Drive) -> f64 {
        self.factor * (self.formula.driving(drive) + self.formula.idling(drive))
    }

    /// The leg's litres by what has a factor of the vehicle (in the order of [`Component::ALL`]), each factor taken as
    /// 1; what air-conditioning adds is with what it is added to.
    pub fn unfitted(&self, on_board: Litres) -> [Litres; COMPONENTS] {
        let machine = &self.formula.machine;
        let drive = self.loaded(on_board);
        let mut litres = drive.by_component(machine).map(|litres| self.k() * litres);
        litres[Component::Idle as usize] = drive.idle_litres(machine);
        litres.map(|litres| Litres::new(self.factor * litres))
    }

    /// Litres of the leg if the fuel on board stayed at `on_board` throughout.
    pub fn litres_at(&self, on_board: Litres) -> Litres {
        Litres::new(self.litres_of(&self.loaded(on_board)))
    }

    /// Litres of idling on the leg.
    pub fn idle_litres(&self) -> Litres {
        Litres::new(self.factor * self.formula.idling(&self.drive))
    }

    /// Litres of the leg for any litres on board at its start, from nothing to `full`.
    ///
    /// Where the engine's working limit sets in between the two, the leg bends there. If it bends down, the line is
    /// raised until it is on the bend: a plan may require a little too much fuel, not for too little.
    pub fn usage(&self, full: Litres) -> Usage {
        let ((empty, limits_empty), (laden, limits_laden)) = (
            self.litres_and_limits(Litres::ZERO),
            self.litres_and_limits(full),
        );
        // Factors that are far apart magnify what bends a leg otherwise; halfway any bend shows.
        let bends = limits_empty != limits_laden
            || self.formula.fitted.is_some() && self.litres_at(full * 0.5) > (empty + laden) * 0.5;
        let raised = if bends {
            self.highest_over(empty, laden, full)
        } else {
            Litres::ZERO
        };
        Usage::between(empty + raised, laden + raised, full)
    }

    fn litres_and_limits(&self, on_board: Litres) -> (Litres, usize) {
        let (driving, limits) = self.formula.driving_and_limits(&self.loaded(on_board));
        (
            Litres::new(self.factor * driving) + self.idle_litres(),
            limits,
        )
    }

    /// How far the leg rises over the straight line from `empty` to `laden` where it does so most, looked for in
    /// ever finer steps.
    fn highest_over(&self, empty: Litres, laden: Litres, full: Litres) -> Litres {
        const STEPS: u32 = 8;
        let over = |part: f64| self.litres_at(full * part) - (empty + (laden - empty) * part);
        let (mut highest, mut peak, mut reach) = (Litres::ZERO, 0.5, 0.5);
        for _ in 0..3 {
            let (middle, step) = (peak, 2.0 * reach / f64::from(STEPS));
            for n in 1..STEPS {
                let part = middle - reach + step * f64::from(n);
                let here = over(part);
                if here > highest {
                    (highest, peak) = (here, part);
                }
            }
            reach = step;
        }
        highest
    }

    /// The steady litres on board, near `guess`, at which the leg takes `litres`; by the secant method.
    ///
    /// [`Usage`] takes the leg as linear in what is on board; where the engine's limit bends it, this still finds
    /// the load at which the formula gives the very litres of the plan.
    pub(crate) fn steady_on_board(&self, litres: Litres, guess: Litres) -> Litres {
        let miss = |on_board: Litres| (self.litres_at(on_board) - litres).get();
        let close = litres.get().abs() * 1e-12;
        let (mut last, mut here) = (guess + Litres::new(1.0), guess);
        let (mut last_miss, mut here_miss) = (miss(last), miss(here));
        for _ in 0..20 {
            let fall = last_miss - here_miss;
            if here_miss.abs() <= close || fall == 0.0 {
                break;
            }
            let next = here - (last - here) * (here_miss / fall);
            (last, last_miss) = (here, here_miss);
            (here, here_miss) = (next, miss(next));
        }
        here
    }

    /// The leg's litres by what burns them, at a steady `on_board`.
    pub(crate) fn components(&self, on_board: Litres) -> Components {
        let whole = self.loaded(on_board);
        let bare = Drive {
            roof_area: 0.0,
            ..whole
        };
        let plain = Drive {
            accessories: ACCESSORIES,
            ..bare
        };
        let scale = |driving: f64| Litres::new(self.factor * driving);
        let bare_litres = self.formula.driving(&bare);
        let [base, sand, low_range, ..] = plain.by_component(&self.formula.machine);
        let by_factor = |component: Component, litres: f64| {
            let factor = self
                .formula
                .fitted
                .map_or(1.0, |factors| factors[component as usize]);
            scale(factor * self.k() * litres)
        };
        Components {
            base: by_factor(Component::Base, base),
            sand: by_factor(Component::Sand, sand),
            low_range: by_factor(Component::LowRange, low_range),
            roof: scale(self.formula.driving(&whole) - bare_litres),
            extras: scale(bare_litres - self.formula.driving(&plain)),
            idle: self.idle_litres(),
        }
    }

    /// Hours driving, idling left out.
    pub(crate) fn driving(&self, on_board: Litres) -> Hours {
        Hours::new(
            self.loaded(on_board)
                .parts(&self.formula.machine)
                .map(|part| part.time)
                .sum::<f64>()
                / 3600.0,
        )
    }

    /// What the cold adds to the leg's litres without it, the denser air aside.
    pub(crate) fn for_cold(&self) -> Share {
        let warm = Drive {
            cold: 0.0,
            ..self.drive
        };
        let litres = self.litres_of(&warm);
        Share::new(if litres > 0.0 {
            self.litres_of(&self.drive) / litres - 1.0
        } else {
            0.0
        })
    }

    /// The highest speed that is wanted anywhere on the leg.
    pub(crate) fn fastest(&self) -> KilometresPerHour {
        let fastest = self
            .drive
            .parts(&self.formula.machine)
            .map(|part| part.wanted)
            .fold(0.0, f64::max);
        KilometresPerHour::new(fastest * 3.6)
    }

    /// The lowest speed to which the engine's limit holds the leg somewhere, and what was wanted there.
    pub(crate) fn held(&self, on_board: Litres) -> Option<(KilometresPerHour, KilometresPerHour)> {
        self.loaded(on_board).held(&self.formula.machine)
    }

    /// Consumption of a level kilometre of the leg's plain ground, for detours to fuel stops.
    pub fn level_rate(&self, on_board: Litres) -> LitresPerKm {
        let level = Drive {
            distance: 1000.0,
            sand: 0.0,
            low_range: 0.0,
            both: None,
            climb: [0.0, self.drive.climb[1]],
            descent: [0.0, self.drive.descent[1]],
            head_wind: 0.0,
            idling: 0.0,
            ..self.loaded(on_board)
        };
        LitresPerKm::new(self.litres_of(&level))
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::super::terrain;
    use super::*;
    use crate::model::Trip;

    fn leg(fitted: Option<[f64; COMPONENTS]>) -> LegFormula {
        let mut trip: Trip = serde_json::from_value(json!({
            "drystage": 1,
            "vehicle": { "fuel": "petrol", "engine_l": 1.8, "baseline_l_per_100km": 9, "tank_l": 50, "kerb_mass_kg": 1300 },
            "start": { "name": "a" },
            "legs": [{
                "to": "b", "distance_km": 90, "surface": "earth", "sand_share": 0.3, "low_range_share": 0.2,
                "ascent_m": 700, "aircon": true, "idle_h": 1.5
            }]
        }))
        .unwrap();
        trip.vehicle.calibration = fitted.map(|factors| {
            let mut fitted = json!({
                "covariance": vec![vec![0; COMPONENTS]; COMPONENTS], "residual_share": 0.05, "intervals": 9,
                "distance_km": 3000, "litres": 300, "baseline_l_per_100km": 9
            });
            for (component, factor) in Component::ALL.into_iter().zip(factors) {
                fitted[component.key()] = json!(factor);
            }
            serde_json::from_value(fitted).unwrap()
        });
        let burden = Burden {
            dry_mass: trip.vehicle.kerb_mass_kg,
            roof_drag: SquareMetres::new(0.2),
        };
        Formula::from_vehicle(&trip.vehicle).leg(&trip.legs[0], &terrain::along(&trip)[0], burden)
    }

    const ABOARD: Litres = Litres::new(25.0);

    #[test]
    fn factors_of_one_change_nothing() {
        let (plain, fitted) = (leg(None), leg(Some([1.0; COMPONENTS])));
        let near = |a: Litres, b: Litres| assert!((a - b).abs() < Litres::new(1e-9), "{a:?} {b:?}");
        near(plain.litres_at(ABOARD), fitted.litres_at(ABOARD));
        near(
            plain.usage(Litres::new(50.0)).litres(ABOARD),
            fitted.usage(Litres::new(50.0)).litres(ABOARD),
        );
        near(
            plain.components(ABOARD).total(),
            fitted.components(ABOARD).total(),
        );
        let (plain, fitted) = (plain.formula.base, fitted.formula.base);
        assert!((plain.reference.get() - fitted.reference.get()).abs() < 1e-9);
    }

    /// A leg is the sum of its components, each times its factor, whichever way it is asked.
    #[test]
    fn each_factor_scales_its_own_litres() {
        let factors = [1.1, 1.4, 0.7, 1.9, 0.6];
        let (plain, fitted) = (leg(None), leg(Some(factors)));
        let parts = plain.unfitted(ABOARD);
        let expected: f64 = parts
            .iter()
            .zip(factors)
            .map(|(part, f)| part.get() * f)
            .sum();
        assert!(
            parts.iter().all(|&part| part > Litres::new(0.1)),
            "{parts:?}"
        );
        for litres in [fitted.litres_at(ABOARD), fitted.components(ABOARD).total()] {
            assert!(
                (litres.get() - expected).abs() < 1e-9,
                "{litres:?}, {expected}"
            );
        }
        assert_eq!(fitted.unfitted(ABOARD), parts);
        let (roof, idle) = (
            fitted.components(ABOARD).roof,
            fitted.components(ABOARD).idle,
        );
        assert!((roof.get() - 1.9 * parts[3].get()).abs() < 1e-9);
        assert!((idle.get() - 0.6 * parts[4].get()).abs() < 1e-9);
        let base = fitted.formula.base.reference.get() / plain.formula.base.reference.get();
        assert!((base - 1.1).abs() < 1e-12);
    }
}
