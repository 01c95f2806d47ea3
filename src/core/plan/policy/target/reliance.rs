//! The ways to rely on fuel stops that may be dry.

use std::collections::{BTreeMap, BTreeSet};

use crate::doubt::driven::Passing;
use crate::model::route::{COUNTED_FROM, FuelStop};
use crate::model::vocabulary::{Rely, UnconfirmedStops};
use crate::quantity::{Kilometres, Share};

use super::TARGETS;
use crate::plan::facts::TripFacts;

/// Sets of unconfirmed fuel stops that are relied on by chance at most, and as many from which one turns back. Chosen,
/// no source: all sets of four stops.
const MOST_SETS: usize = 16;
/// Sets at most of which those that may do are taken. Chosen, no source: all sets of eight stops.
const MOST_TRIED: usize = 256;
/// Steps of chance at most by which the least sure are dropped; more are merged.
const MOST_STEPS: usize = MOST_SETS / 2;

/// A way to rely on fuel stops.
#[derive(Clone, Debug)]
pub(super) struct Reliance {
    /// Whether the fuel stop of each place is relied on.
    pub(crate) relied_on: Vec<bool>,
    /// The chance that all of those have fuel.
    pub(crate) chance: Share,
    /// Where one must be able to turn back.
    pub(crate) turn_back: Option<Vec<bool>>,
}

/// The chance of each fuel stop by its number: of one that is met again with another chance, the least.
pub(super) fn chances(facts: &TripFacts<'_>) -> Vec<Share> {
    let mut chances = BTreeMap::new();
    for (place, number) in facts.trip.places().zip(facts.stop_numbers()) {
        if let (Some(fuel), Some(number)) = (place.fuel, number) {
            let least = chances.entry(*number).or_insert(Share::new(1.0));
            *least = least.min(fuel.chance());
        }
    }
    chances.into_values().collect()
}

/// Whether the trip is set to rely on the stop at each place, whatever its chance of fuel.
fn always(facts: &TripFacts<'_>, relied_on: &[bool]) -> Vec<bool> {
    let places = facts.trip.places().zip(relied_on);
    places
        .map(|(place, relied_on)| {
            let fuel = place.fuel.filter(|_| *relied_on);
            fuel.is_some_and(|fuel| fuel.rely() == Rely::Always)
        })
        .collect()
}

/// Whether the plan must rely on the stop at each place: the trip is set so, and its chance would count. From where one
/// turns back it does not, and who can do without the fuel there needs none to turn back.
fn must_rely(facts: &TripFacts<'_>, relied_on: &[bool]) -> Vec<bool> {
    let mut must = always(facts, relied_on);
    if facts.trip.rules().unconfirmed_stops() == UnconfirmedStops::TurnBack {
        for (must, can_turn_back) in must.iter_mut().zip(can_turn_back(facts, relied_on)) {
            *must &= !can_turn_back;
        }
    }
    must
}

/// Whether a refuge is behind each place, over legs that can all be driven the other way.
pub(in crate::plan) fn can_turn_back(facts: &TripFacts<'_>, relied_on: &[bool]) -> Vec<bool> {
    let doubted = doubted(facts, relied_on, &chances(facts));
    // Not by the target: which way to go on is chosen before it counts.
    let refuges = refuges(facts, relied_on, &doubted, COUNTED_FROM);
    let mut home = vec![refuges[0]];
    for (leg, &refuge) in facts.trip.legs.iter().zip(&refuges[1..]) {
        home.push(refuge || leg.can_return() && home[home.len() - 1]);
    }
    home
}

/// The ways to rely on fuel stops: all that the best estimate relies on, ever fewer of the unconfirmed ones, the least
/// sure dropped first, and each of these sets less one more unconfirmed stop. Where the rules count on turning back, a
/// stop that may have no fuel is relied on only if turning back from it is possible, however sure it is.
///
/// Of up to four unconfirmed stops these are all sets, so a trip that is planned without one of them never needs less.
/// Of more stops only some of the sets are tried, and none that all have fuel together less often than any target
/// requires for. Stops that must be relied on are in each of them.
pub(super) fn reliances(facts: &TripFacts<'_>, relied_on: &[bool]) -> Vec<Reliance> {
    let chances = chances(facts);
    let unconfirmed = Unconfirmed::new(facts, relied_on, &chances);
    let turns_back = facts.trip.rules().unconfirmed_stops() == UnconfirmedStops::TurnBack;
    let sets = if turns_back {
        vec![Vec::new()]
    } else {
        unconfirmed.by_chance()
    };
    let mut reliances: Vec<Reliance> = sets
        .into_iter()
        .map(|kept| {
            let relied_on = unconfirmed.only(relied_on, &kept);
            Reliance {
                chance: together(facts, &relied_on, &chances),
                relied_on,
                turn_back: None,
            }
        })
        .collect();
    if turns_back {
        reliances.extend(with_turning_back(facts, relied_on, &unconfirmed, &chances));
    }
    reliances
}

/// The unconfirmed fuel stops that the best estimate relies on after the start and that need not be relied on: at the
/// start one sees what there is, and the finish needs no fuel.
struct Unconfirmed {
    /// The number and the chance of each, the least sure first.
    stops: Vec<(usize, Share)>,
    /// The number of the one at each place.
    at: Vec<Option<usize>>,
}

impl Unconfirmed {
    fn new(facts: &TripFacts<'_>, relied_on: &[bool], chances: &[Share]) -> Self {
        let last = relied_on.len() - 1;
        let must_rely = must_rely(facts, relied_on);
        let doubted = doubted(facts, relied_on, chances);
        let at: Vec<Option<usize>> = (0..=last)
            .map(|place_number| {
                facts.stop_numbers()[place_number]
                    .filter(|_| doubted[place_number] && !must_rely[place_number])
            })
            .collect();
        let mut numbers: Vec<usize> = at.iter().copied().flatten().collect();
        numbers.sort_unstable();
        numbers.dedup();
        let mut stops: Vec<(usize, Share)> = numbers
            .into_iter()
            .map(|number| (number, chances[number]))
            .collect();
        stops.sort_by(|a, b| a.1.get().total_cmp(&b.1.get()));
        Self { stops, at }
    }

    /// Sets of them by their numbers: the surest of each step of chance, then each set less one stop. The last of the
    /// steps is the empty set.
    fn by_chance(&self) -> Vec<Vec<usize>> {
        let mut steps: Vec<usize> = (1..self.stops.len())
            .filter(|&at| self.stops[at].1 > self.stops[at - 1].1)
            .collect();
        let every = steps.len().div_ceil(MOST_STEPS - 2).max(1);
        steps = steps.into_iter().skip(every - 1).step_by(every).collect();
        let numbers = |from: usize| self.stops[from..].iter().map(|stop| stop.0).collect();
        let mut sets = vec![numbers(0)];
        sets.extend(steps.into_iter().map(numbers));
        sets.push(Vec::new());
        sets.dedup();
        with_each_less_one(sets, |set| self.may_do(set))
    }

    /// Whether a set has fuel together often enough for any target.
    fn may_do(&self, set: &[usize]) -> bool {
        let chances = self.stops.iter().filter(|stop| set.contains(&stop.0));
        let together: f64 = chances.map(|stop| stop.1.get()).product();
        together >= TARGETS[0].get()
    }

    /// What is relied on if only these of them are.
    fn only(&self, relied_on: &[bool], kept: &[usize]) -> Vec<bool> {
        let places = relied_on.iter().zip(&self.at);
        places
            .map(|(&relied_on, at)| relied_on && at.is_none_or(|number| kept.contains(&number)))
            .collect()
    }
}

/// Adds each set less one stop, less another, and so on, as far as that is bounded; then leaves only those that may do.
fn with_each_less_one(
    mut sets: Vec<Vec<usize>>,
    may_do: impl Fn(&[usize]) -> bool,
) -> Vec<Vec<usize>> {
    let mut next = 0;
    while let Some(set) = sets.get(next).cloned() {
        next += 1;
        for dropped in &set {
            let mut less = set.clone();
            less.retain(|kept| kept != dropped);
            if sets.len() < MOST_TRIED && !sets.contains(&less) {
                sets.push(less);
            }
        }
    }
    sets.retain(|set| may_do(set));
    sets.truncate(MOST_SETS);
    sets
}

/// The chance that every fuel stop that is relied on before the finish has fuel.
fn together(facts: &TripFacts<'_>, relied_on: &[bool], chances: &[Share]) -> Share {
    let mut numbers: Vec<usize> = (1..relied_on.len() - 1)
        .filter(|&place_number| relied_on[place_number])
        .filter_map(|place_number| facts.stop_numbers()[place_number])
        .collect();
    numbers.sort_unstable();
    numbers.dedup();
    Share::new(
        numbers
            .iter()
            .map(|&number| chances[number].get())
            .product(),
    )
}

/// The fuel stops before the finish that are relied on and may have no fuel.
pub(super) fn doubted(facts: &TripFacts<'_>, relied_on: &[bool], chances: &[Share]) -> Vec<bool> {
    let last = relied_on.len() - 1;
    (0..=last)
        .map(|place_number| {
            let chance = facts.stop_numbers()[place_number].map(|number| chances[number]);
            let is_unsure = chance.is_some_and(|chance| chance < Share::new(1.0));
            place_number > 0 && place_number < last && relied_on[place_number] && is_unsure
        })
        .collect()
}

/// All fuel stops that the best estimate relies on but the unconfirmed ones from which one could not turn back and that
/// need not be relied on; and each of these sets less one unconfirmed stop.
fn with_turning_back(
    facts: &TripFacts<'_>,
    relied_on: &[bool],
    unconfirmed: &Unconfirmed,
    chances: &[Share],
) -> Vec<Reliance> {
    let doubted = doubted(facts, relied_on, chances);
    let home = can_turn_back(facts, relied_on);
    let wanted_of = |kept: &[usize]| -> Vec<bool> {
        (0..doubted.len())
            .map(|place_number| {
                let kept =
                    unconfirmed.at[place_number].is_some_and(|number| kept.contains(&number));
                doubted[place_number] && home[place_number] && kept
            })
            .collect()
    };
    let mut numbers: Vec<usize> = unconfirmed.stops.iter().map(|stop| stop.0).collect();
    numbers.retain(|number| {
        (0..doubted.len())
            .any(|place_number| home[place_number] && unconfirmed.at[place_number] == Some(*number))
    });
    let sets = with_each_less_one(vec![numbers], |set| wanted_of(set).contains(&true));
    sets.into_iter()
        .map(|kept| {
            let wanted = wanted_of(&kept);
            let forced = |place_number: usize| {
                doubted[place_number] && unconfirmed.at[place_number].is_none()
            };
            let relied_on: Vec<bool> = (0..wanted.len())
                .map(|place_number| {
                    relied_on[place_number]
                        && (!doubted[place_number] || wanted[place_number] || forced(place_number))
                })
                .collect();
            // Anyone who finds no fuel where a return is possible turns back; elsewhere the chance is that of the trip.
            let no_return: Vec<bool> = relied_on
                .iter()
                .zip(&wanted)
                .map(|(relied_on, wanted)| *relied_on && !wanted)
                .collect();
            Reliance {
                chance: together(facts, &no_return, chances),
                relied_on,
                turn_back: Some(wanted),
            }
        })
        .collect()
}

/// The stops that the plan relies on because the trip is set so, and the chance that all of them have fuel.
pub(in crate::plan) struct AsAsked {
    /// The places where it first meets those that may have no fuel.
    pub(crate) place_numbers: Vec<usize>,
    /// No plan that relies on them promises success to a larger share of trips.
    pub(crate) chance: Share,
}

/// What comes of relying on stops as set in the trip, where a plan relies on these. Stops from which one turns back
/// where they have no fuel are left out.
pub(in crate::plan) fn as_asked(facts: &TripFacts<'_>, relied_on: &[bool]) -> AsAsked {
    let mut asked = AsAsked {
        place_numbers: Vec::new(),
        chance: Share::new(1.0),
    };
    if !always(facts, relied_on).contains(&true) {
        return asked;
    }
    let reliances = reliances(facts, relied_on).into_iter();
    let Some(surest) = reliances.reduce(|a, b| if b.chance > a.chance { b } else { a }) else {
        return asked;
    };
    let mut numbers = BTreeSet::new();
    let unsure = doubted(facts, &surest.relied_on, &chances(facts));
    asked.place_numbers = (0..unsure.len())
        .filter(|&place_number| unsure[place_number])
        .filter(|&place_number| {
            surest
                .turn_back
                .as_ref()
                .is_none_or(|back| !back[place_number])
        })
        .filter(|&place_number| numbers.insert(facts.stop_numbers()[place_number]))
        .collect();
    asked.chance = surest.chance;
    asked
}

/// The chance that there is fuel at a place and at all stops that a plan relies on.
pub(in crate::plan) fn with_those_relied_on(
    facts: &TripFacts<'_>,
    relied_on: &[bool],
    place_number: usize,
) -> Share {
    let mut relied_on = relied_on.to_vec();
    relied_on[place_number] = true;
    together(facts, &relied_on, &chances(facts))
}

/// Where a trip can safely end or start anew: at fuel stops that are relied on, unlimited, and not doubted; of those
/// that were passed, at the ones with at least this chance of fuel.
pub(in crate::plan) fn refuges(
    facts: &TripFacts<'_>,
    relied_on: &[bool],
    doubted: &[bool],
    chance: Share,
) -> Vec<bool> {
    (0..relied_on.len())
        .map(|place_number| {
            let unlimited = facts
                .trip
                .place(place_number)
                .fuel
                .is_some_and(FuelStop::is_unlimited);
            relied_on[place_number] && unlimited && !doubted[place_number]
                || facts.is_refuge_behind(place_number, chance)
        })
        .collect()
}

/// The fuel stops on the route that are not relied on.
pub(super) fn passing(facts: &TripFacts<'_>, relied_on: &[bool]) -> Vec<Option<Passing>> {
    let places = facts.trip.places().zip(facts.stop_numbers()).zip(relied_on);
    let passed = facts.passed();
    places
        .map(|((place, number), relied_on)| {
            let fuel = place.fuel.filter(|fuel| {
                place.place_number >= passed && !relied_on && fuel.detour() <= Kilometres::ZERO
            })?;
            Some(Passing {
                number: (*number)?,
                supply: fuel.litres,
            })
        })
        .collect()
}
