//! What simulated trips show of a plan: how they end, what is on board, where the last turn-back is.

use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

use crate::doubt::checks::ObeyedOutcomes;
use crate::doubt::driven::{Instructions, Luck};
use crate::doubt::drivers::UnconfirmedFuelStop;
use crate::doubt::study::{AtStops, FIRST_BLOCKS};
use crate::quantity::Share;
use crate::solver::cans;

use super::driven;
use crate::plan::facts::TripFacts;
use crate::plan::kept::driving::Driving;
use crate::plan::parts::Plan;
use crate::plan::parts::doubt::{Doubt, Outcomes, Study};
use crate::plan::policy::target::check_route::turn_backs;
use crate::plan::policy::target::simulation::Simulation;
use crate::plan::trial::Trial;

/// What the simulated trips of a plan show, and how they end as the checks assume.
pub(super) fn doubt(
    simulation: &Simulation,
    facts: &TripFacts<'_>,
    trial: &Trial,
    best_estimate: Arc<Plan>,
) -> (Doubt, ObeyedOutcomes) {
    let needed = &simulation.needed;
    let (drawn, first) = (&needed.drawn, &simulation.driven);
    let instructions = needed.instructions_with(&trial.need, trial.loadout.conditions(facts));
    let without_luck = simulation.outcomes.clone();
    let may_be_lucky = needed.passing.iter().any(Option::is_some);
    let with_luck = may_be_lucky.then(|| {
        let instructions = Instructions {
            luck: Luck::Counted,
            ..instructions
        };
        drawn.obeyed(first.card(), instructions, FIRST_BLOCKS, None)
    });
    let with_luck = with_luck.as_ref().unwrap_or(&without_luck);
    let (turned_back, ran_out) = without_luck.turned_back();
    let is_under_way = facts.progress().is_some() && facts.from() < facts.distances.len();
    let driving = (&trial.problem, &trial.need);
    let target = facts.trip.rules().success_target();
    let doubt = Doubt {
        success_target: target,
        samples: drawn.samples(),
        in_cans: needed.in_cans,
        may_rise: simulation.may_rise,
        by_target: needed.by_target.clone(),
        outcomes: with_luck.into(),
        outcomes_without_luck: Outcomes::from(&without_luck),
        turned_back_and_ran_out: [turned_back, ran_out],
        now: is_under_way.then(|| drawn.now(driving, &needed.checks)),
        turns_back: needed.policy.homeward.is_some(),
        first_below: (0..facts.distances.len())
            .map(|leg| without_luck.first_below(leg))
            .collect(),
        bands: driven::bands(facts, first.bands(target, drawn.effort().threads)),
        turn_backs: turn_backs(facts, driving, (drawn, first), target),
        best_estimate,
        study: Study {
            world: Arc::clone(drawn.world()),
            policy: needed.policy.clone(),
            unconfirmed: unconfirmed(facts, trial),
            share: needed.share,
            effort: drawn.effort(),
            drivers: OnceLock::new(),
        },
    };
    (doubt, as_checked(simulation, facts, trial, without_luck))
}

/// How the simulated trips end as the checks assume: with fuel at every stop that is relied on.
fn as_checked(
    simulation: &Simulation,
    facts: &TripFacts<'_>,
    trial: &Trial,
    without_luck: ObeyedOutcomes,
) -> ObeyedOutcomes {
    let first = &simulation.driven;
    if !first.may_lack_fuel() {
        return without_luck;
    }
    let needed = &simulation.needed;
    let instructions = needed.instructions_with(&trial.need, trial.loadout.conditions(facts));
    let simulated = (first, AtStops::Fuel);
    needed
        .drawn
        .outcomes(simulated, instructions.with_all_fuel(), FIRST_BLOCKS)
}

/// What is kept to drive the simulated trips again.
pub(super) fn driving(simulation: &Simulation, facts: &TripFacts<'_>, trial: &Trial) -> Driving {
    let needed = &simulation.needed;
    let conditions = trial.loadout.conditions(facts);
    Driving {
        world: Arc::clone(needed.drawn.world()),
        problem: trial.problem.clone(),
        need: trial.need.clone(),
        passing: needed.passing.clone(),
        cans: cans::each(&trial.loadout.cans),
        start_tank: conditions.start_tank,
        start_cans: conditions.start_cans,
        distances: facts.distances.clone(),
        rough: facts.rough().to_vec(),
        driven: facts.from(),
        checks: Arc::clone(&needed.checks),
        threads: needed.drawn.effort().threads,
    }
}

/// The fuel stops on the route that may be dry.
fn unconfirmed(facts: &TripFacts<'_>, trial: &Trial) -> Vec<UnconfirmedFuelStop> {
    let last = facts.stop_numbers().len() - 1;
    let may_be_dry: Vec<bool> = (0..=last)
        .map(|place_number| {
            let fuel = facts.trip.place(place_number).fuel;
            // Where the plan begins one sees what there is.
            let way = place_number > facts.from() && place_number < last;
            way && fuel.is_some_and(|fuel| fuel.chance() < Share::new(1.0))
        })
        .collect();
    let mut met: BTreeMap<usize, UnconfirmedFuelStop> = BTreeMap::new();
    let fuel_stops = trial.loadout.stops(facts, &may_be_dry);
    for (place_number, fuel_stop) in fuel_stops.into_iter().enumerate() {
        if let Some(fuel_stop) = fuel_stop {
            met.entry(fuel_stop.number)
                .or_default()
                .push((place_number, fuel_stop));
        }
    }
    met.into_values().collect()
}
