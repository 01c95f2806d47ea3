//! One leg of a trip put to the formula: its litres, their parts, its hours.

use crate::model::route::Leg;
use crate::model::vehicle::Vehicle;
use crate::model::vocabulary::Surface;
use crate::quantity::{
    Factor, Hours, Kilograms, KilometresPerHour, Litres, LitresPerKm, SquareMetres,
};

use super::base::Base;
use super::drive::{ACCESSORIES, AIR_CONDITIONING, Drive, Machine, Regime, Rolling};
use super::terrain::Terrain;
use super::usage::Usage;
use super::{air, base, engine, surface};
use crate::model::vehicle::BaseCondition;

/// The vehicle's side of the formula, made once for a plan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Formula {
    pub(super) machine: Machine,
    pub(super) hundred_km: Drive,
    pub(super) rolling: Rolling,
    pub(super) pressures: [f64; 2],
    pub(super) kg_per_l: f64,
    base: Base,
}

/// What a leg bears besides fuel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Burden {
    /// Mass of everything but usable fuel.
    pub dry_mass: Kilograms,
    /// Drag area on the roof.
    pub roof_drag: SquareMetres,
}

/// A leg put to the formula.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LegFormula {
    pub(super) formula: Formula,
    pub(super) surface: Surface,
    /// With the dry mass; fuel comes on top.
    pub(super) drive: Drive,
    /// Litres for each litre of the formula; 1 but for ways back.
    pub(super) factor: f64,
}

/// A leg's litres by what burns them; they add up to the leg.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Components {
    /// Driving off the sand and in high range.
    pub plain: Litres,
    /// Driving in sand in high range.
    pub sand: Litres,
    /// Driving in low range, in sand or not.
    pub low_range: Litres,
    /// What the drag on the roof adds.
    pub roof: Litres,
    /// Idling.
    pub idle: Litres,
    /// What air-conditioning adds while driving.
    pub extras: Litres,
}

impl Components {
    /// All of them.
    pub fn total(&self) -> Litres {
        self.plain + self.sand + self.low_range + self.roof + self.idle + self.extras
    }
}

impl Formula {
    /// The formula scaled to `vehicle`.
    pub fn of(vehicle: &Vehicle) -> Self {
        Self {
            machine: Machine::of(vehicle),
            hundred_km: base::hundred_km(vehicle, &BaseCondition::REFERENCE),
            rolling: Rolling {
                ratio: vehicle.tyre_ratio().get(),
                tread: surface::tread_factor(vehicle.tread()).get(),
                aired_down: None,
            },
            pressures: [vehicle.soft_pressure().get(), vehicle.road_pressure().get()],
            kg_per_l: engine::fuel_density(vehicle.fuel).get(),
            base: Base::of(vehicle),
        }
    }

    /// The figure that the formula is scaled to.
    pub fn base(&self) -> Base {
        self.base
    }

    /// The speed of a leg where there is neither sand nor low range: as stated, else that of its surface,
    /// else the base speed.
    fn speed(&self, leg: &Leg) -> KilometresPerHour {
        let base_speed = KilometresPerHour::new(self.hundred_km.speed * 3.6);
        leg.speed_kmh
            .or(surface::of(leg.surface()).speed)
            .unwrap_or(base_speed)
    }

    /// Puts a leg to the formula.
    pub fn leg(&self, leg: &Leg, terrain: &Terrain, burden: Burden) -> LegFormula {
        let ground = surface::of(leg.surface());
        let drive = Drive {
            distance: terrain.distance.get() * 1000.0,
            crr: ground.resistance.likely.get(),
            unsteadiness: ground.unsteadiness.get(),
            firm: ground.firm,
            speed: self.speed(leg).get() / 3.6,
            sand: leg.sand_share().get(),
            low_range: leg.low_range_share().get(),
            both: leg.both_share.map(crate::quantity::Share::get),
            roof_area: burden.roof_drag.get(),
            mass: burden.dry_mass.get(),
            climb: [terrain.ascent.get(), terrain.ascent_grade.get()],
            descent: [terrain.descent.get(), terrain.descent_grade.get()],
            density: air::density(terrain.altitude, leg.temperature_c).get(),
            head_wind: leg.headwind_kmh.unwrap_or_default().get() / 3.6,
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
            ..self.hundred_km
        };
        LegFormula {
            formula: *self,
            surface: leg.surface(),
            drive,
            factor: 1.0,
        }
    }
}

impl LegFormula {
    /// The same leg driven the other way: climb and descent change places, the wind turns round, and each
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
        let machine = &self.formula.machine;
        self.factor * (self.k() * drive.litres(machine) + drive.idle_litres(machine))
    }

    /// Litres of the leg if the fuel on board stayed at `on_board` throughout.
    pub fn litres_at(&self, on_board: Litres) -> Litres {
        Litres::new(self.litres_of(&self.loaded(on_board)))
    }

    /// Litres of idling on the leg.
    pub fn idle_litres(&self) -> Litres {
        Litres::new(self.factor * self.drive.idle_litres(&self.formula.machine))
    }

    /// Litres of the leg for any litres on board at its start, from nothing to `full`.
    ///
    /// Where the engine's working limit sets in between the two, the leg bends there. If it bends down, the line is
    /// raised until it lies on the bend: a plan may ask for a little too much fuel, not for too little.
    pub fn usage(&self, full: Litres) -> Usage {
        let ((empty, limits_empty), (laden, limits_laden)) = (
            self.litres_and_limits(Litres::ZERO),
            self.litres_and_limits(full),
        );
        let raised = if limits_empty == limits_laden {
            Litres::ZERO
        } else {
            self.highest_over(empty, laden, full)
        };
        Usage::between(empty + raised, laden + raised, full)
    }

    fn litres_and_limits(&self, on_board: Litres) -> (Litres, usize) {
        let machine = &self.formula.machine;
        let (driving, limits) = self.loaded(on_board).litres_and_limits(machine);
        let scaled = self.factor * self.k() * driving;
        (Litres::new(scaled) + self.idle_litres(), limits)
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
    pub fn steady_on_board(&self, litres: Litres, guess: Litres) -> Litres {
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
    pub fn components(&self, on_board: Litres) -> Components {
        let machine = &self.formula.machine;
        let scale = self.factor * self.k();
        let whole = self.loaded(on_board);
        let bare = Drive {
            roof_area: 0.0,
            ..whole
        };
        let plain = Drive {
            accessories: ACCESSORIES,
            ..bare
        };
        let mut parts = Components::default();
        for part in plain.parts(machine) {
            *match part.regime {
                Regime::Plain => &mut parts.plain,
                Regime::Sand => &mut parts.sand,
                Regime::LowRange | Regime::Both => &mut parts.low_range,
            } += Litres::new(scale * part.litres);
        }
        let bare_litres = bare.litres(machine);
        parts.roof = Litres::new(scale * (whole.litres(machine) - bare_litres));
        parts.extras = Litres::new(scale * (bare_litres - plain.litres(machine)));
        parts.idle = self.idle_litres();
        parts
    }

    /// Hours at the wheel, idling left out.
    pub fn driving(&self, on_board: Litres) -> Hours {
        Hours::new(
            self.loaded(on_board)
                .parts(&self.formula.machine)
                .map(|part| part.time)
                .sum::<f64>()
                / 3600.0,
        )
    }

    /// The highest speed that is wanted anywhere on the leg.
    pub fn fastest(&self) -> KilometresPerHour {
        let fastest = self
            .drive
            .parts(&self.formula.machine)
            .map(|part| part.wanted)
            .fold(0.0, f64::max);
        KilometresPerHour::new(fastest * 3.6)
    }

    /// The lowest speed to which the engine's limit holds the leg somewhere, and what was wanted there.
    pub fn held(&self, on_board: Litres) -> Option<(KilometresPerHour, KilometresPerHour)> {
        self.loaded(on_board).held(&self.formula.machine)
    }

    /// Consumption of a level kilometre of the leg's plain ground, for detours to pumps.
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
