//! What simulated trips say of a plan that is laid out: how they end, what is on board, what a return takes.

use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

use crate::doubt::driven::{Instructions, Outcome};
use crate::doubt::drivers::DoubtfulPump;
use crate::doubt::study::MOST_BLOCKS;
use crate::doubt::ways_back::{Point, WaysBack};
use crate::quantity::{Kilometres, Litres, Share};

use super::driven;
use crate::plan::facts::TripFacts;
use crate::plan::parts::Plan;
use crate::plan::parts::card::{Decision, WayBack};
use crate::plan::parts::doubt::{Doubt, Study};
use crate::plan::policy::target::reliance::refuges;
use crate::plan::policy::target::simulation::Simulation;
use crate::plan::trial::Trial;

/// What simulated trips say of a plan; its card and turn-back points are raised to what is enough at the target.
pub(super) fn told(
    simulation: &Simulation,
    facts: &TripFacts<'_>,
    trial: &Trial,
    plain: Arc<Plan>,
    plan: &mut Plan,
) -> Doubt {
    let needed = &simulation.needed;
    let drawn = &needed.drawn;
    let told = needed.told_with(&trial.need, trial.loadout.conditions(facts));
    let outcomes = drawn.outcomes(&simulation.driven, told, MOST_BLOCKS);
    let turn_backs = go_back(simulation, facts, trial, told, plan);
    Doubt {
        confidence: facts.trip.rules().confidence(),
        samples: outcomes.samples(),
        spare: needed.spare,
        by_confidence: needed.by_confidence.clone(),
        through: outcomes.odds(Outcome::Through),
        on_reserve: outcomes.odds(Outcome::OnReserve),
        turned_back: outcomes.odds(Outcome::TurnedBack),
        stranded: outcomes.odds(Outcome::Stranded),
        turns_back: needed.policy.homeward.is_some(),
        first_below: (0..facts.distances.len())
            .map(|leg| outcomes.first_below(leg))
            .collect(),
        bands: driven::bands(facts, simulation.driven.bands(drawn.effort().threads)),
        turn_backs,
        plain,
        study: Study {
            world: Arc::clone(drawn.world()),
            policy: needed.policy.clone(),
            doubtful: doubtful(facts, trial),
            share: needed.share,
            effort: drawn.effort(),
            drivers: OnceLock::new(),
        },
    }
}

/// Raises what the card asks for to return to what is enough at the target; the turn-back points likewise.
fn go_back(
    simulation: &Simulation,
    facts: &TripFacts<'_>,
    trial: &Trial,
    told: Instructions<'_>,
    plan: &mut Plan,
) -> Vec<Option<Kilometres>> {
    let needed = &simulation.needed;
    let confidence = facts.trip.rules().confidence();
    let drawn = &needed.drawn;
    let back = trial.loadout.return_legs(facts);
    let none = vec![false; needed.relied_on.len()];
    let refuge = refuges(facts, &needed.relied_on, &none, trial.refuge_chance);
    let ways = WaysBack {
        problem: &trial.problem,
        legs: &drawn.world().legs,
        back: &back,
        refuge: &refuge,
        aside: trial
            .loadout
            .detour_to_route(facts)
            .map(|back| (facts.from(), back)),
    };
    let points: Vec<Point> = plan.decisions.iter().map(|at| point_of(at, plan)).collect();
    let likely = ways.likely(drawn.world(), &points);
    let enough = ways.enough(drawn, &points, confidence);
    for ((decision, enough), likely) in plan.decisions.iter_mut().zip(enough).zip(likely) {
        if let (Some(planned), Some(enough), Some(likely)) = (decision.back, enough, likely) {
            let needed = planned.needed + (enough - likely).max(Litres::ZERO);
            decision.back = (needed <= trial.loadout.full).then_some(WayBack { needed, ..planned });
        }
    }
    let stretches: Vec<(usize, usize)> = plan
        .stretches
        .iter()
        .map(|stretch| (stretch.from, stretch.to))
        .collect();
    let mut km: Vec<Kilometres> = plan.legs.iter().map(|leg| leg.from_km).collect();
    km.push(plan.totals.distance);
    ways.turn_backs(drawn, &simulation.driven, told, &stretches, &km, confidence)
}

/// The fuel stops on the way that may be dry.
fn doubtful(facts: &TripFacts<'_>, trial: &Trial) -> Vec<DoubtfulPump> {
    let last = facts.stop_numbers().len() - 1;
    let may_be_dry: Vec<bool> = (0..=last)
        .map(|node| {
            let fuel = facts.trip.place(node).fuel;
            // Where the plan begins one sees what there is.
            let way = node > facts.from() && node < last;
            way && fuel.is_some_and(|fuel| fuel.chance() < Share::new(1.0))
        })
        .collect();
    let mut met: BTreeMap<usize, DoubtfulPump> = BTreeMap::new();
    let pumps = trial.loadout.stops(facts, &may_be_dry);
    for (node, pump) in pumps.into_iter().enumerate() {
        if let Some(pump) = pump {
            met.entry(pump.number).or_default().push((node, pump));
        }
    }
    met.into_values().collect()
}

/// Where on which leg a line of the card stands.
fn point_of(decision: &Decision, plan: &Plan) -> Point {
    if let Some(node) = decision.node.filter(|&node| node > 0) {
        return (node - 1, Share::new(1.0));
    }
    let after = plan
        .legs
        .partition_point(|leg| leg.from_km <= decision.at_km);
    let leg = &plan.legs[after.saturating_sub(1)];
    (
        leg.n - 1,
        Share::new((decision.at_km - leg.from_km) / leg.distance),
    )
}
