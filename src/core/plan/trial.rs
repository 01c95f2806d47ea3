//! A set of cans tried on a trip: driven by the instructions of a policy, weighed at every departure.

use crate::quantity::{Litres, Share};
use crate::solver::drive;
use crate::solver::fuel::{Need, Problem, ROUNDING};
use crate::solver::load::{self, Departing, Departure, LoadBar};
use crate::solver::run::Run;

use crate::plan::facts::TripFacts;
use crate::plan::loadout::Loadout;
use crate::plan::policy::cheapest;
use crate::plan::policy::target::simulation::Simulation;
use crate::plan::policy::{Instructions, NotLeast, Policy};

/// A trip tried with one set of cans.
pub(in crate::plan) struct Trial {
    pub(crate) loadout: Loadout,
    pub(crate) problem: Problem,
    pub(crate) need: Need,
    pub(crate) run: Run,
    pub(crate) departures: Vec<Departure>,
    pub(crate) bars: Vec<LoadBar>,
    /// Litres needed in cans, without what is lost in decanting.
    pub(crate) in_cans: Litres,
    /// What the start itself lacks; no can cures it.
    pub(crate) short_at_start: Litres,
    /// Whether the fuel stop of each place is relied on.
    pub(crate) relied_on: Vec<bool>,
    /// With this chance of fuel a stop that was passed is one to return to.
    pub(crate) refuge_chance: Share,
    /// Why it may cost more than it must, where the least cost is asked for.
    pub(crate) not_least: Option<NotLeast>,
    /// The simulated trips, where the policy is one for the success target and the cans were confirmed.
    pub(crate) simulation: Option<Simulation>,
    /// Blocks of simulated trips that were found necessary; the next trial begins with as many.
    pub(crate) blocks: usize,
}

impl Trial {
    /// Whether the cans hold what is needed, decanting losses included.
    pub(crate) fn covers(&self) -> bool {
        self.need.in_cans <= self.loadout.fill + ROUNDING
    }

    /// Whether the fuel lasts from start to finish.
    pub(crate) fn goes_through(&self) -> bool {
        self.covers() && self.short_at_start <= ROUNDING
    }

    /// What is on board at each departure, and the litres of it that are in cans.
    pub(crate) fn departing(&self, facts: &TripFacts<'_>) -> Vec<(Departing, Litres)> {
        departing(facts, &self.loadout, &self.run)
    }
}

/// Tries a set of cans on a trip under a policy.
pub(in crate::plan) fn try_loadout(
    facts: &TripFacts<'_>,
    policy: Policy<'_>,
    loadout: Loadout,
) -> Trial {
    let instructions = policy.instructions(facts, &loadout);
    let trial = driven(
        facts,
        loadout,
        instructions,
        policy.refuge_chance(facts.trip),
    );
    match policy {
        Policy::Cheapest(_) => bought_for_least(facts, trial),
        Policy::BestEstimate(_) | Policy::Target(_) => trial,
    }
}

/// The trial with its fuel bought for least.
fn bought_for_least(facts: &TripFacts<'_>, trial: Trial) -> Trial {
    let goes_through = trial.goes_through();
    let bought = cheapest::at_best_estimate(
        facts,
        &trial.loadout,
        &trial.problem,
        &trial.need,
        goes_through,
    );
    match bought {
        Err(why) => Trial {
            not_least: Some(why),
            ..trial
        },
        Ok(bought) => Trial {
            not_least: (!bought.proven).then_some(NotLeast::NotProven),
            ..match bought.in_cans {
                Some(in_cans) => redriven(facts, trial, bought.need, in_cans),
                None => trial,
            }
        },
    }
}

/// The trial driven by another need, with `in_cans` litres in cans without what is lost in decanting.
fn redriven(facts: &TripFacts<'_>, trial: Trial, need: Need, in_cans: Litres) -> Trial {
    let instructions = Instructions {
        problem: trial.problem,
        need,
        relied_on: trial.relied_on,
        not_least: trial.not_least,
        simulation: trial.simulation,
        blocks: trial.blocks,
    };
    Trial {
        in_cans,
        ..driven(facts, trial.loadout, instructions, trial.refuge_chance)
    }
}

/// The trip driven with one set of cans so that what is needed is on board.
fn driven(
    facts: &TripFacts<'_>,
    loadout: Loadout,
    instructions: Instructions,
    refuge_chance: Share,
) -> Trial {
    let Instructions {
        problem,
        mut need,
        relied_on,
        not_least,
        simulation,
        blocks,
    } = instructions;
    let in_cans = if loadout.cans.is_empty() {
        need.in_cans
    } else {
        let without_cans = Problem {
            cans: vec![],
            ..problem.clone()
        };
        without_cans.need().in_cans
    };
    let conditions = loadout.conditions(facts);
    let on_board = conditions.start_tank + conditions.start_cans;
    let run = drive::run(&problem, &need, conditions);
    let departures = departures(facts, &loadout, &run);
    let bars = load::bars(facts.trip, &departures);
    let short_at_start = short_at_start(&problem, &need, on_board);
    if need.in_cans <= loadout.fill + ROUNDING && short_at_start <= ROUNDING {
        let lacking = carried_losses(facts, &problem, &need, &run);
        if lacking > ROUNDING {
            need.in_cans = loadout.fill + lacking;
        }
    }
    Trial {
        loadout,
        problem,
        need,
        run,
        departures,
        bars,
        in_cans,
        short_at_start,
        relied_on,
        refuge_chance,
        not_least,
        simulation,
        blocks,
    }
}

/// What the trip, as driven, ends a leg short of because cans are decanted later than what is required counts with:
/// what decanting them loses is carried until then, and takes fuel. Some millilitres, where cans hold just what is
/// needed.
fn carried_losses(facts: &TripFacts<'_>, problem: &Problem, need: &Need, run: &Run) -> Litres {
    let most = problem.lost_in_decanting(problem.cans.iter().copied().sum());
    let ahead = facts.from()..run.legs.len();
    let lacking = ahead.map(|leg| run.lacks(leg, need));
    let worst = lacking.reduce(Litres::max).unwrap_or_default();
    if worst > most { Litres::ZERO } else { worst }
}

fn departing(facts: &TripFacts<'_>, loadout: &Loadout, run: &Run) -> Vec<(Departing, Litres)> {
    let fill = loadout.fill;
    let departing = run.legs.iter().enumerate().map(|(leg, driven)| {
        let full = driven.start_cans.part_of(fill).unwrap_or(0.0);
        let departing = Departing {
            day: facts.days[leg],
            surface: facts.trip.legs[leg].surface(),
            on_board: driven.start.max(Litres::ZERO),
            cans_full: Share::new(full),
        };
        (departing, fill * full)
    });
    departing.collect()
}

fn departures(facts: &TripFacts<'_>, loadout: &Loadout, run: &Run) -> Vec<Departure> {
    let departing = departing(facts, loadout, run).into_iter().enumerate();
    departing
        .skip(facts.from())
        .map(|(leg, (departing, _))| load::departure(facts.trip, &loadout.cans, leg, departing))
        .collect()
}

/// What the start lacks: what is required there, less what is on board and what a fuel stop there can give.
fn short_at_start(problem: &Problem, need: &Need, on_board: Litres) -> Litres {
    let (Some(fuel_stop), Some(required)) = (problem.fuel_stops[0], need.at_fuel_stop[0]) else {
        return (need.departure[0] - on_board).max(Litres::ZERO);
    };
    let there = on_board - fuel_stop.detour.litres(on_board);
    let given = need.allowance[0].unwrap_or((required - there).max(Litres::ZERO));
    (required - there - given).max(-there).max(Litres::ZERO)
}
