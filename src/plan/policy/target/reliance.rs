//! The ways to rely on fuel stops that may be dry.

use std::collections::BTreeMap;

use crate::doubt::driven::Passing;
use crate::model::route::{COUNTED_FROM, FuelStop};
use crate::model::vocabulary::DoubtfulStops;
use crate::quantity::{Kilometres, Share};

use crate::plan::facts::TripFacts;

/// Ways to rely on fuel stops at most; more steps of chance than this are merged.
const MOST_RELIANCES: usize = 8;

/// A way to rely on fuel stops.
#[derive(Clone, Debug)]
pub(super) struct Reliance {
    /// Whether the fuel stop of each place is relied on.
    pub relied_on: Vec<bool>,
    /// The chance that all of those have fuel.
    pub chance: Share,
    /// Where one must be able to turn back.
    pub turn_back: Option<Vec<bool>>,
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

/// The ways to rely on fuel stops: all that the best estimate relies on, and ever fewer of the doubtful ones, the least sure
/// dropped first; and where the rules say so, all from which one can turn back.
pub(super) fn reliances(facts: &TripFacts<'_>, relied_on: &[bool]) -> Vec<Reliance> {
    let chances = chances(facts);
    let chance_at =
        |node: usize| facts.stop_numbers()[node].map_or(Share::new(1.0), |number| chances[number]);
    // The finish needs no fuel, and at the start one sees what there is.
    let last = relied_on.len() - 1;
    let mut steps: Vec<Share> = (1..last)
        .filter(|&node| relied_on[node] && chance_at(node) < Share::new(1.0))
        .map(chance_at)
        .collect();
    steps.sort_by(|a, b| a.get().total_cmp(&b.get()));
    steps.dedup();
    let every = steps.len().div_ceil(MOST_RELIANCES - 1).max(1);
    let from: Vec<Share> = std::iter::once(Share::ZERO)
        .chain(steps.iter().copied().skip(every - 1).step_by(every))
        .collect();
    let over = |step: Share| move |chance: Share| step == Share::ZERO || chance > step;
    let mut reliances: Vec<Reliance> = from
        .into_iter()
        .map(|step| {
            let kept = over(step);
            let relied_on: Vec<bool> = (0..=last)
                .map(|node| relied_on[node] && kept(chance_at(node)))
                .collect();
            Reliance {
                chance: together(facts, &relied_on, &chances),
                relied_on,
                turn_back: None,
            }
        })
        .collect();
    // The last step drops every doubtful stop, so that there is always one to take.
    if let Some(surest) = reliances.last_mut()
        && surest.chance < Share::new(1.0)
    {
        for node in 1..last {
            surest.relied_on[node] &= chance_at(node) >= Share::new(1.0);
        }
        surest.chance = together(facts, &surest.relied_on, &chances);
    }
    if facts.trip.rules().doubtful_stops() == DoubtfulStops::TurnBack {
        reliances.extend(with_turning_back(facts, relied_on, chance_at));
    }
    reliances
}

/// The chance that every fuel stop that is relied on before the finish has fuel.
fn together(facts: &TripFacts<'_>, relied_on: &[bool], chances: &[Share]) -> Share {
    let mut numbers: Vec<usize> = (1..relied_on.len() - 1)
        .filter(|&node| relied_on[node])
        .filter_map(|node| facts.stop_numbers()[node])
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

/// All fuel stops that the best estimate relies on, but for those from which one could not turn back.
fn with_turning_back(
    facts: &TripFacts<'_>,
    relied_on: &[bool],
    chance_at: impl Fn(usize) -> Share,
) -> Option<Reliance> {
    let last = relied_on.len() - 1;
    let doubted: Vec<bool> = (0..=last)
        .map(|node| node > 0 && node < last && relied_on[node] && chance_at(node) < Share::new(1.0))
        .collect();
    // Not by the target: which way to go on is chosen before it counts.
    let refuges = refuges(facts, relied_on, &doubted, COUNTED_FROM);
    // Whether a refuge lies behind, over legs that can all be driven the other way.
    let mut home = vec![refuges[0]];
    for (leg, &refuge) in facts.trip.legs.iter().zip(&refuges[1..]) {
        home.push(refuge || leg.can_return() && home[home.len() - 1]);
    }
    let wanted: Vec<bool> = (0..=last).map(|node| doubted[node] && home[node]).collect();
    wanted.iter().any(|&wanted| wanted).then(|| Reliance {
        relied_on: (0..=last)
            .map(|node| relied_on[node] && (!doubted[node] || wanted[node]))
            .collect(),
        chance: Share::new(1.0),
        turn_back: Some(wanted),
    })
}

/// Where a trip can safely end or start anew: at fuel stops that are relied on, unlimited, and not doubted; of those that
/// were passed, at the ones with at least this chance of fuel.
pub(in crate::plan) fn refuges(
    facts: &TripFacts<'_>,
    relied_on: &[bool],
    doubted: &[bool],
    chance: Share,
) -> Vec<bool> {
    (0..relied_on.len())
        .map(|node| {
            let unlimited = facts
                .trip
                .place(node)
                .fuel
                .is_some_and(FuelStop::is_unlimited);
            relied_on[node] && unlimited && !doubted[node] || facts.is_refuge_behind(node, chance)
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
                place.node >= passed && !relied_on && fuel.detour() <= Kilometres::ZERO
            })?;
            Some(Passing {
                number: (*number)?,
                supply: fuel.litres,
            })
        })
        .collect()
}
