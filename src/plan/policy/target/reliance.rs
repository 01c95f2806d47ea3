//! The ways of relying on pumps that may be dry.

use std::collections::BTreeMap;

use crate::doubt::driven::Passing;
use crate::doubt::drivers::DoubtfulPump;
use crate::model::route::FuelStop;
use crate::model::vocabulary::DoubtfulStops;
use crate::plan::facts::{Groundwork, Solution};
use crate::quantity::{Kilometres, Share};

/// Ways of relying on pumps at most; more steps of chance than this are merged.
const MOST_RELIANCES: usize = 8;

/// A way of relying on pumps.
#[derive(Clone, Debug)]
pub(in crate::plan) struct Reliance {
    /// Whether the pump of each place is relied on.
    pub(in crate::plan) counted: Vec<bool>,
    /// The chance that all of those have fuel.
    pub(in crate::plan) chance: Share,
    /// Where one must be able to turn back.
    pub(in crate::plan) turn_back: Option<Vec<bool>>,
}

/// The chance of each pump by its number: of a pump that is met again with another chance, the least.
pub(in crate::plan) fn chances(ground: &Groundwork<'_>) -> Vec<Share> {
    let mut chances = BTreeMap::new();
    for (place, number) in ground.trip.places().zip(ground.pumps()) {
        if let (Some(fuel), Some(number)) = (place.fuel, number) {
            let least = chances.entry(*number).or_insert(Share::new(1.0));
            *least = least.min(fuel.chance());
        }
    }
    chances.into_values().collect()
}

/// The ways of relying on pumps: all that the plain plan counts, and ever fewer of the doubtful ones, the least sure
/// dropped first; and where the rules say so, all from which one can turn back.
pub(in crate::plan) fn reliances(ground: &Groundwork<'_>) -> Vec<Reliance> {
    let chances = chances(ground);
    let counted: Vec<bool> = (0..ground.pumps().len())
        .map(|node| ground.counts(node))
        .collect();
    let chance_at =
        |node: usize| ground.pumps()[node].map_or(Share::new(1.0), |number| chances[number]);
    // The finish needs no fuel, and at the start one sees what there is.
    let last = counted.len() - 1;
    let mut steps: Vec<Share> = (1..last)
        .filter(|&node| counted[node] && chance_at(node) < Share::new(1.0))
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
            let counted: Vec<bool> = (0..=last)
                .map(|node| counted[node] && kept(chance_at(node)))
                .collect();
            Reliance {
                chance: together(ground, &counted, &chances),
                counted,
                turn_back: None,
            }
        })
        .collect();
    // The last step drops every doubtful pump, so that there is always one to take.
    if let Some(surest) = reliances.last_mut()
        && surest.chance < Share::new(1.0)
    {
        for node in 1..last {
            surest.counted[node] &= chance_at(node) >= Share::new(1.0);
        }
        surest.chance = together(ground, &surest.counted, &chances);
    }
    if ground.trip.rules().doubtful_stops() == DoubtfulStops::TurnBack {
        reliances.extend(with_turning_back(ground, &counted, chance_at));
    }
    reliances
}

/// The chance that every pump that is counted on the way has fuel.
fn together(ground: &Groundwork<'_>, counted: &[bool], chances: &[Share]) -> Share {
    let mut numbers: Vec<usize> = (1..counted.len() - 1)
        .filter(|&node| counted[node])
        .filter_map(|node| ground.pumps()[node])
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

/// All pumps that the plain plan counts, but for those from which one could not turn back.
fn with_turning_back(
    ground: &Groundwork<'_>,
    counted: &[bool],
    chance_at: impl Fn(usize) -> Share,
) -> Option<Reliance> {
    let last = counted.len() - 1;
    let doubted: Vec<bool> = (0..=last)
        .map(|node| node > 0 && node < last && counted[node] && chance_at(node) < Share::new(1.0))
        .collect();
    let refuges = refuges(ground, counted, &doubted);
    // Whether a refuge lies behind, over legs that can all be driven the other way.
    let mut home = vec![refuges[0]];
    for (leg, &refuge) in ground.trip.legs.iter().zip(&refuges[1..]) {
        home.push(refuge || leg.can_return() && home[home.len() - 1]);
    }
    let wanted: Vec<bool> = (0..=last).map(|node| doubted[node] && home[node]).collect();
    wanted.iter().any(|&wanted| wanted).then(|| Reliance {
        counted: (0..=last)
            .map(|node| counted[node] && (!doubted[node] || wanted[node]))
            .collect(),
        chance: Share::new(1.0),
        turn_back: Some(wanted),
    })
}

/// Where a trip can safely end or start anew: at pumps that are relied on, unlimited, and not doubted.
pub(in crate::plan) fn refuges(
    ground: &Groundwork<'_>,
    counted: &[bool],
    doubted: &[bool],
) -> Vec<bool> {
    (0..counted.len())
        .map(|node| {
            let unlimited = ground
                .trip
                .place(node)
                .fuel
                .is_some_and(FuelStop::is_unlimited);
            counted[node] && unlimited && !doubted[node] || ground.is_refuge_behind(node)
        })
        .collect()
}

/// The pumps on the way that may be dry.
pub(in crate::plan) fn doubtful(ground: &Groundwork<'_>, solution: &Solution) -> Vec<DoubtfulPump> {
    let last = ground.pumps().len() - 1;
    let may_be_dry: Vec<bool> = (0..=last)
        .map(|node| {
            let fuel = ground.trip.place(node).fuel;
            // Where the plan begins one sees what there is.
            let way = node > ground.from() && node < last;
            way && fuel.is_some_and(|fuel| fuel.chance() < Share::new(1.0))
        })
        .collect();
    let mut met: BTreeMap<usize, DoubtfulPump> = BTreeMap::new();
    let pumps = ground.pumps_counted(&may_be_dry, &solution.legs, solution.full);
    for (node, pump) in pumps.into_iter().enumerate() {
        if let Some(pump) = pump {
            met.entry(pump.number).or_default().push((node, pump));
        }
    }
    met.into_values().collect()
}

/// The pumps on the route that are not relied on.
pub(in crate::plan) fn passing(ground: &Groundwork<'_>, counted: &[bool]) -> Vec<Option<Passing>> {
    let places = ground.trip.places().zip(ground.pumps()).zip(counted);
    let passed = ground.passed();
    places
        .map(|((place, number), counted)| {
            let fuel = place.fuel.filter(|fuel| {
                place.node >= passed && !counted && fuel.detour() <= Kilometres::ZERO
            })?;
            Some(Passing {
                number: (*number)?,
                supply: fuel.litres,
            })
        })
        .collect()
}
