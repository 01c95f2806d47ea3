//! What keeps a plan from carrying more fuel in cans than it does.
//!
//! Where the cans hold less than is needed all of them are full, so one more adds its whole mass at the departure that
//! is worst for each limit.

use crate::consumption::engine::fuel_density;
use crate::model::load::CanKind;
use crate::model::vehicle::AxlePlace;
use crate::model::vocabulary::CarryingPlace;
use crate::quantity::Kilograms;
use crate::solver::axles::Moments;
use crate::solver::cans::ChosenCans;
use crate::solver::load::{EQUAL_MASS, LoadBar, LoadLimit};

use crate::plan::facts::TripFacts;
use crate::plan::parts::carrying::{Elsewhere, NoMoreCans};
use crate::plan::search::stock;
use crate::plan::trial::Trial;

/// Why a trial does not carry more cans.
pub(super) fn no_more_cans(facts: &TripFacts<'_>, trial: &Trial) -> NoMoreCans {
    let trip = facts.trip;
    let stock = stock(trip);
    if stock.count(true) == 0 {
        let kinds = trip.load().cans();
        let is_listed = kinds.iter().any(|kind| kind.owned() + kind.may_buy() > 0);
        return if is_listed {
            NoMoreCans::NoneUsable
        } else {
            NoMoreCans::NoneListed
        };
    }
    let left = stock.left(&trial.loadout.cans);
    if left.is_empty() {
        return NoMoreCans::AllCarried;
    }
    let held = trial.loadout.fill;
    if let Some(most) = trip.rules().most_in_cans_l
        && left.iter().all(|can| held + can.fill > most)
    {
        return NoMoreCans::Rule(most);
    }
    let broken = left.iter().map(|can| broken_by(can, facts, trial));
    // The can that exceeds its limits by least is the next one; where it exceeds none, nothing is known against it.
    let least = broken.min_by(|a, b| total(a).get().total_cmp(&total(b).get()));
    let worst = least.and_then(|broken| {
        let by_excess =
            |a: &(LoadBar, Kilograms), b: &(LoadBar, Kilograms)| a.1.get().total_cmp(&b.1.get());
        broken.into_iter().max_by(by_excess)
    });
    worst.map_or(NoMoreCans::AllCarried, |(bar, _)| NoMoreCans::Mass {
        what: bar.what,
        left: bar.left().unwrap_or_default(),
        place_number: bar.place_number,
    })
}

fn total(broken: &[(LoadBar, Kilograms)]) -> Kilograms {
    broken.iter().map(|(_, excess)| *excess).sum()
}

/// The limits that one more can would exceed, and by how much; those that are exceeded already have findings of their
/// own.
fn broken_by(can: &ChosenCans, facts: &TripFacts<'_>, trial: &Trial) -> Vec<(LoadBar, Kilograms)> {
    let vehicle = &facts.trip.vehicle;
    let mass = can.empty + can.fill * fuel_density(vehicle.fuel);
    let front = Moments::from_vehicle(vehicle).map_or(0.0, |moments| {
        moments.on_front(AxlePlace::Carried(can.place)).get()
    });
    let part = |what: LoadLimit| match what {
        LoadLimit::Gvm => 1.0,
        LoadLimit::FrontAxle => front,
        LoadLimit::RearAxle => 1.0 - front,
        LoadLimit::Roof { .. } => f64::from(u8::from(can.place == CarryingPlace::Roof)),
        LoadLimit::Place(place) => f64::from(u8::from(can.place == place)),
    };
    let bars = trial.bars.iter().filter(|bar| !bar.is_over());
    bars.filter_map(|bar| {
        let excess = mass * part(bar.what) - bar.left()?;
        (excess > EQUAL_MASS).then_some((*bar, excess))
    })
    .collect()
}

/// The cans of a trial that are not in the place that the trip lists first for them; the cabin is no place for fuel.
pub(super) fn elsewhere(facts: &TripFacts<'_>, trial: &Trial) -> Vec<Elsewhere> {
    let kinds = facts.trip.load().cans();
    let left = |place: CarryingPlace| {
        let bars = trial.bars.iter();
        let of_place = bars.filter(|bar| match bar.what {
            LoadLimit::Roof { .. } => place == CarryingPlace::Roof,
            LoadLimit::Place(other) => place == other,
            _ => false,
        });
        of_place.filter_map(LoadBar::left).reduce(Kilograms::min)
    };
    let first = |group: &ChosenCans| {
        let of_kind = |kind: &&CanKind| {
            let is_alike = kind.size_l == group.size && kind.empty_kg == group.empty;
            is_alike && kind.places().contains(&group.place)
        };
        let places = kinds.iter().find(of_kind)?.places();
        let mut usable = places.iter().copied();
        usable.find(|place| *place != CarryingPlace::Cabin)
    };
    let groups = trial.loadout.cans.iter();
    groups
        .filter_map(|group| {
            let first = first(group).filter(|first| *first != group.place)?;
            Some(Elsewhere {
                size: group.size,
                count: group.count,
                place: group.place,
                first,
                left: left(first),
            })
        })
        .collect()
}
