//! How far the vehicle goes: from the trip's vehicle, load and rules alone, so also of a trip without legs.
//!
//! Each figure is one long leg put to the leg formula: level, at the altitude of the start, calm but for the wind's
//! uncertainty, loaded as on the first day, begun with everything full. Its use is proportional to its length, so the
//! distance until a level is reached has a closed form (`Usage::legs_until`), and a simulated trip that takes `t` times the
//! litres goes 1/t times as far. To the minimum: by the best estimate the reserve and the contingency are left; at the
//! target the reserve is intact in that share of the simulated trips, and it is never farther than the best estimate, as
//! where cans are chosen.
//!
//! All of it is driven on one day. Over several days the uncertainty of a day averages out a little, so the target is on the
//! safe side there.

mod changes;
mod sets;

use std::num::NonZeroUsize;
use std::sync::Arc;

use crate::consumption::leg::LegFormula;
use crate::doubt::thirst::driving_factor;
use crate::doubt::threads::for_each;
use crate::model::Trip;
use crate::model::load::Load;
use crate::model::route::{Leg, Start, WayBack};
use crate::model::vocabulary::{CarryingPlace, Surface};
use crate::plan::answers::range::{
    Loaded, Payload, Range, Ranges, Reach, TypicalSurface, WithCans,
};
use crate::plan::facts::TripFacts;
use crate::plan::loadout::Loadout;
use crate::plan::parts::Plan;
use crate::plan::policy::target::aim::world;
use crate::quantity::{Factor, Kilometres, KilometresPerHour, Litres, LitresPer100Km, Share};
use crate::solver::cans::{self, ChosenCans};
use crate::solver::fuel::DECANTING_LOSS;
use crate::solver::load::{self, Departing};
use crate::solver::payload;

/// Length of the leg whose consumption is taken; what follows does not depend on it.
const LENGTH: Kilometres = Kilometres::new(100.0);

impl Plan {
    /// How far the vehicle goes with the load of the trip; computed when first asked for.
    pub fn range(&self) -> Arc<Ranges> {
        let threads = self
            .doubt
            .as_ref()
            .map_or(NonZeroUsize::MIN, |doubt| doubt.effort().threads);
        let ranges = || Arc::new(Ranges::of(&self.trip, threads));
        Arc::clone(self.answers.range.get_or_init(ranges))
    }
}

impl Plan {
    /// How far the vehicle goes, if that was asked for already.
    pub fn known_range(&self) -> Option<&Ranges> {
        self.answers.range.get().map(AsRef::as_ref)
    }
}

impl Ranges {
    /// How far the vehicle of a trip goes, whatever its legs are.
    pub fn of(trip: &Trip, threads: NonZeroUsize) -> Self {
        let (sets, end_of_cans) = sets::by_count(trip);
        let bare = alone(trip);
        let from_tank = |trip: &Trip| loaded(trip, &[], TypicalSurface::leg);
        let empty = from_tank(&with_load(&bare, first_person(trip.load())));
        let without_roof = from_tank(&with_load(&bare, without_roof(trip.load())));
        let as_stated = from_tank(&bare);
        let with_cans = for_each(sets.into_iter(), threads, |cans| WithCans {
            loaded: loaded(&bare, &cans, TypicalSurface::leg),
            cans,
        });
        let changes = changes::all(&bare, &as_stated, with_cans.first(), threads);
        Self {
            success_target: trip.rules().success_target(),
            empty,
            without_roof,
            as_stated,
            payload: payload(&bare),
            with_cans,
            end_of_cans,
            changes,
        }
    }
}

impl TypicalSurface {
    /// A leg of nothing but this surface.
    fn leg(self) -> Leg {
        let all = Some(Share::new(1.0));
        let leg = Leg {
            distance_km: Some(LENGTH),
            way_back: Some(WayBack {
                possible: Some(false),
                factor: None,
            }),
            ..Leg::to("there")
        };
        let on = |surface| Leg {
            surface: Some(surface),
            ..leg.clone()
        };
        match self {
            Self::Sealed => on(Surface::Sealed),
            Self::Gravel => on(Surface::Gravel),
            Self::Corrugated => on(Surface::Corrugated),
            Self::SandyTrack => Leg {
                sand_share: all,
                ..on(Surface::Earth)
            },
            Self::Dunes => Leg {
                dune_share: all,
                ..on(Surface::Earth)
            },
            Self::RockInLowRange => Leg {
                low_range_share: all,
                ..on(Surface::Rock)
            },
        }
    }
}

/// The trip without its legs, its fuel stops, its log and its what-ifs.
fn alone(trip: &Trip) -> Trip {
    Trip {
        drystage: trip.drystage,
        name: None,
        notice: None,
        vehicle: trip.vehicle.clone(),
        load: trip.load.clone(),
        rules: trip.rules.clone(),
        start: Start {
            altitude_m: trip.start.altitude_m,
            ..Start::named("here")
        },
        legs: Vec::new(),
        what_ifs: None,
        log: None,
    }
}

fn with_load(trip: &Trip, load: Load) -> Trip {
    Trip {
        load: Some(load),
        ..trip.clone()
    }
}

/// The first person and nothing else.
fn first_person(load: &Load) -> Load {
    Load {
        people: Some(load.people().iter().take(1).cloned().collect()),
        ..Load::default()
    }
}

/// The load without the roof rack, and what is on it in the cargo area.
fn without_roof(load: &Load) -> Load {
    let mut gear = load.gear().to_vec();
    for item in &mut gear {
        if item.place() == CarryingPlace::Roof {
            item.place = Some(CarryingPlace::Cargo);
        }
    }
    Load {
        roof: None,
        gear: Some(gear),
        ..load.clone()
    }
}

/// What is on board when everything is full.
fn all_full(trip: &Trip, cans: &[ChosenCans]) -> Departing {
    Departing {
        day: 1,
        surface: Surface::Gravel,
        on_board: trip.vehicle.usable_tank() + cans::fill(cans),
        cans_full: Share::new(1.0),
    }
}

/// The masses with a full tank and no cans.
fn payload(trip: &Trip) -> Payload {
    let departure = load::departure(trip, &[], 0, all_full(trip, &[]));
    Payload {
        bars: load::bars(trip, &[departure]),
        room: payload::room(trip, &[departure]),
        departure,
    }
}

/// The range of a trip without legs, on legs as `leg` gives them.
fn loaded(trip: &Trip, cans: &[ChosenCans], leg: impl Fn(TypicalSurface) -> Leg) -> Loaded {
    let fuel = trip.vehicle.usable_tank() + cans::fill(cans)
        - DECANTING_LOSS * f64::from(cans::count(cans));
    Loaded {
        fuel,
        mass: load::departure(trip, cans, 0, all_full(trip, cans)).mass,
        by_surface: TypicalSurface::ALL.map(|surface| range_on(trip, cans, fuel, leg(surface))),
    }
}

/// The range on one leg.
fn range_on(trip: &Trip, cans: &[ChosenCans], fuel: Litres, leg: Leg) -> Range {
    let trip = Trip {
        legs: vec![leg],
        ..trip.clone()
    };
    let facts = TripFacts::new(&trip, None);
    let loadout = Loadout::new(&facts, cans.to_vec());
    let usage = loadout.usages[0];
    let reserve = loadout.reserve_on_return[1];
    let distance = |burnt: Litres| {
        let legs = usage.legs_until(fuel, fuel - burnt);
        LENGTH * legs.map_or(0.0, Factor::get)
    };
    let world = world(&facts, &loadout);
    let thirst = driving_factor(&world, 0, trip.rules().success_target()).get();
    let to_burn = (fuel - reserve).max(Litres::ZERO);
    let contingency = 1.0 + trip.rules().contingency().get();
    let reach = |best_estimate: Kilometres, on_reserve: Kilometres| Reach {
        best_estimate,
        at_target: best_estimate.min(on_reserve / thirst),
    };
    let until_empty = distance(fuel);
    Range {
        to_minimum: reach(distance(to_burn / contingency), distance(to_burn)),
        until_empty: reach(until_empty, until_empty),
        rate: if until_empty > Kilometres::ZERO {
            LitresPer100Km::from(fuel / until_empty)
        } else {
            LitresPer100Km::ZERO
        },
        speed: speed(&loadout.legs[0], loadout.full / 2.0),
    }
}

/// The mean speed of a leg of [`LENGTH`].
fn speed(leg: &LegFormula, on_board: Litres) -> KilometresPerHour {
    LENGTH / leg.driving(on_board)
}
