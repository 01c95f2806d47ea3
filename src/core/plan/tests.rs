//! What must hold for plans at a success target, from the facts to what is laid out.

use super::*;
use crate::consumption::usage::Usage;
use crate::doubt::driven::{Instructions, driven, sampled};
use crate::doubt::study;
use crate::plan::loadout::Loadout;
use crate::plan::policy::target::simulation::SimulatedNeed;
use crate::plan::search::choose;
use crate::plan::trial::{Trial, try_loadout};
use crate::quantity::{Factor, Litres, Share};
use crate::solver::fuel::{Problem, ROUNDING};

fn trips() -> Vec<Trip> {
    [
        include_str!("../../../tests/data/example-trip.json"),
        include_str!("../../../sample-routes/plateau-loop.json"),
        include_str!("../../../sample-routes/dune-coast.json"),
        include_str!("../../../sample-routes/forest-weekend.json"),
        include_str!("../../../sample-routes/long-dry-stage.json"),
    ]
    .map(|text| serde_json::from_str(text).unwrap())
    .to_vec()
}

fn simulated(trip: &Trip, then: impl Fn(&TripFacts<'_>, &Trial, &SimulatedNeed)) {
    let facts = TripFacts::new(trip, None);
    let target = Target::new(&facts, Effort::FIRST);
    let trial = choose(&facts, Policy::Target(target.aim()), Budget::USUAL).trial;
    then(&facts, &trial, &trial.simulation.as_ref().unwrap().needed);
}

/// What a block requires is, sample by sample, what the exact recursion finds for that sample.
#[test]
fn a_block_requires_what_the_recursion_finds_sample_by_sample() {
    for trip in trips() {
        simulated(&trip, |_, _, needed| {
            let (world, policy) = (needed.drawn.world(), &needed.policy);
            let block = world.block(3);
            let bare = study::Policy {
                homeward: None,
                ..policy.unchecked()
            };
            let all = bare.required(&world.legs, &block);
            let over_tank = bare.over_tank(&world.legs, &block);
            for (sample, &over_tank) in over_tank.iter().enumerate() {
                let problem = Problem {
                    extra: Share::ZERO,
                    ..sampled(&policy.problem, &world.legs, &block, sample)
                };
                let need = problem.need_as(&policy.need);
                let near = |a: Litres, b: Litres| {
                    assert!(
                        (a - b).abs() < Litres::new(1e-9),
                        "{:?} {a:?} {b:?}",
                        trip.name
                    );
                };
                near(Litres::new(over_tank).max(Litres::ZERO), need.in_cans);
                for (place, at) in all.iter().enumerate() {
                    let departure = Litres::new(at.departure[sample]);
                    let arrival = match &at.fuel_stop {
                        Some(fuel_stop) => Litres::new(fuel_stop.arrival[sample]),
                        None => departure.max(problem.reserve[place]),
                    };
                    near(departure, need.departure[place]);
                    near(arrival, need.arrival[place]);
                }
            }
        });
    }
}

/// Asked again with the same litres the draws give the same fuel in cans; with less on every leg, less.
#[test]
fn the_draws_can_be_asked_again() {
    for trip in trips() {
        let plan = Plan::at_target(trip, Effort::FIRST);
        let doubt = plan.doubt.as_ref().unwrap();
        let (again, legs) = (doubt.again(), &doubt.study.policy.problem.legs);
        let times = |times: f64| {
            let times = Factor::new(times);
            let legs: Vec<Usage> = legs
                .iter()
                .map(|leg| leg.scaled(times, Litres::ZERO, times))
                .collect();
            again.in_cans_with(&legs, &vec![times; legs.len()])
        };
        assert!((times(1.0) - doubt.in_cans.litres).abs() < ROUNDING);
        assert!(times(0.9) <= doubt.in_cans.litres && times(0.5) <= times(0.9));
    }
}

/// What a first look at some samples requires of the cans, all samples require too: so it refuses none that would do.
#[test]
fn a_first_look_asks_for_no_more_than_all_samples() {
    let mut refused = 0;
    for (mut trip, success_target) in trips()
        .into_iter()
        .flat_map(|trip| [0.5, 0.8, 0.95, 0.99].map(|share| (trip.clone(), share)))
    {
        trip.rules.get_or_insert_default().success_target = Some(Share::new(success_target));
        let facts = TripFacts::new(&trip, None);
        let target = Target::new(&facts, Effort::FIRST);
        let needed = |aim| {
            let bare = Loadout::new(&facts, Vec::new());
            try_loadout(&facts, Policy::Target(aim), bare).need.in_cans
        };
        let looked_at = needed(target.aim().confirm_if_sufficient());
        let wanted = needed(target.aim().at_target());
        assert!(looked_at <= wanted, "{:?} {success_target}", trip.name);
        refused += usize::from(looked_at < wanted);
    }
    assert!(refused > 3, "a first look refused only {refused}");
}

/// A sample in which everything is as likely as the plan takes it is driven as the plan drives it.
#[test]
fn a_sample_without_doubt_is_driven_as_planned() {
    for trip in trips() {
        simulated(&trip, |facts, trial, needed| {
            let block = needed.drawn.world().likely();
            let conditions = trial.loadout.conditions(facts);
            let instructions = needed.instructions_with(&trial.need, conditions);
            let no_more = vec![None; needed.passing.len()];
            let instructions = Instructions {
                passing: &no_more,
                ..instructions
            };
            let driven = driven(instructions, &block);
            for (at, leg) in trial.run.legs.iter().enumerate() {
                let as_planned = |litres: Option<Litres>, planned: Litres| {
                    let off = litres.unwrap() - planned;
                    assert!(off.abs() < ROUNDING, "{:?}", trip.name);
                };
                as_planned(driven.start(at, 0), leg.start);
                as_planned(driven.end(at, 0), leg.end_tank + leg.end_cans);
            }
        });
    }
}

/// Where the cans hold what is wanted, the samples that are driven by the instructions end as the rules want it at
/// least as often as the success target requires.
#[test]
fn instructions_hold_what_the_confidence_says() {
    for mut trip in trips() {
        trip.rules.get_or_insert_default().success_target = Some(Share::new(0.8));
        let plan = Plan::at_target(trip, Effort::FIRST);
        let doubt = plan.doubt.as_ref().unwrap();
        if plan.in_cans.covers && plan.in_cans.short_at_start <= ROUNDING {
            assert!(
                doubt.outcomes.finish_reserve_intact.share >= Share::new(0.8),
                "{:?} {:?}",
                plan.trip.name,
                doubt.outcomes
            );
        }
        for outcomes in [doubt.outcomes, doubt.outcomes_without_luck] {
            let all: f64 = outcomes.ends().iter().map(|odds| odds.share.get()).sum();
            assert!((all - 1.0).abs() < 1e-9);
        }
    }
}
