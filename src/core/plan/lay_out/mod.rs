//! From a trial to the lines of a plan.

mod carrying;
mod course;
mod daylight;
mod doubt;
mod driven;
mod findings;
mod fuel_checks;
mod relied;
mod shortages;
mod stages;
mod supplies;

use std::sync::Arc;

use crate::model::Trip;
use crate::model::route::FuelStop;
use crate::quantity::{Kilometres, Litres, Money, Share};
use crate::solver::load::LoadLimit;
use crate::solver::payload;

use crate::plan::answers::Answers;
use crate::plan::facts::TripFacts;
use crate::plan::kept::driving::Driving;
use crate::plan::kept::ledger_input::LedgerInput;
use crate::plan::kept::{FullCan, Kept};
use crate::plan::parts::Plan;
use crate::plan::parts::doubt::Doubt;
use crate::plan::parts::legs::{PlannedLeg, Totals};
use crate::plan::parts::load::{FuelInCans, LoadPlan};
use crate::plan::parts::stages::TurnBack;
use crate::plan::parts::stops::Stop;
use crate::plan::policy::target::check_route::unconfirmed_turn_back;
use crate::plan::policy::target::simulation::Simulation;
use crate::plan::trial::Trial;
use course::Course;

/// Lays a trial out as a plan; `tried_of_more` is how many sets of cans were tried,
/// if there were more than could be.
pub(in crate::plan) fn lay_out(
    trip: &Arc<Trip>,
    facts: &TripFacts<'_>,
    trial: &Trial,
    tried_of_more: Option<usize>,
) -> Plan {
    let course = Course::new(facts, trial);
    let mut legs = course.legs();
    driven::overwrite_with_observed(facts, &mut legs);
    let stops = course.stops();
    let stages = course.stages();
    let mut totals = totals(&legs, &stops, trial);
    totals.fuel += facts.used_aside();
    let gvm = trial.bars.iter().find(|bar| bar.what == LoadLimit::Gvm);
    let in_cans = FuelInCans {
        without_losses: trial.in_cans,
        needed: trial.need.in_cans,
        carried: trial.loadout.fill,
        covers: trial.covers(),
        short_at_start: trial.short_at_start,
        cans: trial.loadout.cans.clone(),
    };
    let supplies = supplies::calculate(trip, &legs, &stages);
    let findings = findings::all(
        facts,
        trial,
        &legs,
        &stops,
        &stages,
        &supplies,
        tried_of_more,
    );
    let load = LoadPlan {
        heaviest_at: gvm.map_or(0, |bar| bar.place_number),
        mass: gvm.map_or_else(Default::default, |bar| bar.mass),
        gvm: trip.vehicle.gvm_kg,
        bars: trial.bars.clone(),
        room: payload::room(facts.trip, &trial.departures),
        departures: trial.departures.clone(),
        supplies,
    };
    let mut plan = Plan {
        daylight: daylight::of(facts, &legs, None),
        base: facts.formula.base(),
        totals,
        stops,
        decants: course.decants(),
        fuel_checks: Vec::new(),
        course: course.spans(),
        findings,
        in_cans,
        load,
        stages,
        progress: facts.progress().cloned().map(Box::new),
        is_return: false,
        doubt: None,
        kept: Kept {
            formulas: trial.loadout.legs.clone(),
            usages: driven::usages(facts, trial),
            driving: None,
            full_cans: full_cans(trial),
            ledger_input: LedgerInput::new(&trial.problem, &trial.need),
        },
        answers: Answers::none(legs.len()),
        legs,
        trip: Arc::clone(trip),
    };
    daylight::find(&mut plan, facts);
    plan
}

/// Lays a trial for the success target out as a plan, beside the best estimate.
pub(in crate::plan) fn lay_out_at_target(
    trip: &Arc<Trip>,
    facts: &TripFacts<'_>,
    trial: &Trial,
    tried_of_more: Option<usize>,
    best_estimate: Arc<Plan>,
) -> Plan {
    let mut plan = lay_out(trip, facts, trial, tried_of_more);
    if let Some(simulation) = &trial.simulation {
        let (doubt, as_checked) = doubt::doubt(simulation, facts, trial, best_estimate);
        let driving = doubt::driving(simulation, facts, trial);
        plan.fuel_checks =
            fuel_checks::fuel_checks(&plan, &driving, &simulation.driven, &as_checked);
        stages_at_target(&mut plan, facts, trial, simulation, &driving, &doubt);
        plan.daylight = daylight::of(facts, &plan.legs, Some(doubt.success_target));
        find_anew(&mut plan, facts, trial, tried_of_more);
        daylight::find(&mut plan, facts);
        let stranding = findings::stops_that_strand(facts, &driving);
        findings::add_after_unconfirmed(&mut plan.findings, stranding);
        relied::check_by_outcomes(&mut plan.findings, facts, trial, (simulation, &doubt));
        plan.kept.driving = Some(driving);
        plan.doubt = Some(doubt);
    }
    plan
}

/// Supplies and findings by the turn-back points at the success target.
fn find_anew(plan: &mut Plan, facts: &TripFacts<'_>, trial: &Trial, tried_of_more: Option<usize>) {
    let (legs, stages) = (&plan.legs, &plan.stages);
    let supplies = supplies::calculate(&plan.trip, legs, stages);
    plan.findings = findings::all(
        facts,
        trial,
        legs,
        &plan.stops,
        stages,
        &supplies,
        tried_of_more,
    );
    plan.load.supplies = supplies;
}

/// Puts the turn-back points at the success target in the place of the best estimates.
fn stages_at_target(
    plan: &mut Plan,
    facts: &TripFacts<'_>,
    trial: &Trial,
    simulation: &Simulation,
    driving: &Driving,
    doubt: &Doubt,
) {
    let legs = &plan.legs;
    let km = |place_number: usize| {
        legs.get(place_number)
            .map_or(plan.totals.distance, |leg| leg.from_km)
    };
    let chance = |place_number: usize| {
        let fuel = plan.trip.place(place_number).fuel;
        fuel.map_or(Share::new(1.0), FuelStop::chance)
    };
    let point = |at_km: Kilometres, refuge: usize| TurnBack {
        at_km,
        refuge,
        chance: chance(refuge),
        way_back: at_km - km(refuge),
        left: None,
    };
    let target = doubt.success_target;
    let simulated = (&simulation.needed.drawn, &simulation.driven);
    for (stage, found) in plan.stages.iter_mut().zip(&doubt.turn_backs) {
        let refuge = if stage.from == facts.from() && driving.driven > 0 {
            driving.refuge_for_return()
        } else if driving.checks.route().refuge[stage.from] {
            Some(stage.from)
        } else {
            stage
                .from
                .checked_sub(1)
                .and_then(|leg| driving.refuge_behind(leg, &[]))
        };
        stage.turn_back = found.zip(refuge).map(|(km, refuge)| point(km, refuge));
        let unconfirmed = unconfirmed_turn_back(
            facts,
            &trial.problem,
            simulated,
            (stage.from, stage.to),
            target,
        );
        stage.unconfirmed_turn_back = unconfirmed
            .filter(|(_, at_km)| *at_km >= stage.from_km)
            .map(|(place_number, at_km)| point(at_km, place_number));
    }
}

/// The runs of the course in which cans hold something.
fn full_cans(trial: &Trial) -> Vec<FullCan> {
    let spans = trial.run.spans.iter();
    spans
        .filter(|span| span.fullest_can > Litres::ZERO)
        .map(|span| FullCan {
            leg: span.leg,
            from: span.from,
            to: span.to,
            fullest: span.fullest_can,
        })
        .collect()
}

fn totals(legs: &[PlannedLeg], stops: &[Stop], trial: &Trial) -> Totals {
    let distance: Kilometres = legs.iter().map(|leg| leg.distance).sum();
    let driven: Litres = legs.iter().map(|leg| leg.fuel).sum();
    let detours: Litres = trial.run.fills.iter().map(|fill| fill.detour).sum();
    let filled = || {
        stops
            .iter()
            .filter(|stop| stop.tank + stop.cans > Litres::ZERO)
    };
    let cost: Option<Money> = filled().map(|stop| stop.cost).sum::<Option<Money>>();
    Totals {
        distance,
        fuel: driven + detours,
        rate: (distance > Kilometres::ZERO).then(|| (driven / distance).into()),
        ascent: legs.iter().map(|leg| leg.ascent).sum(),
        driving: legs.iter().map(|leg| leg.driving).sum(),
        cost: cost.filter(|_| filled().next().is_some()),
    }
}
