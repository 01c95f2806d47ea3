//! From a trial to the lines of a plan.

mod card;
mod course;
mod doubt;
mod driven;
mod findings;
mod stages;
mod supplies;
mod what_if_dry;

use std::sync::Arc;

use crate::model::Trip;
use crate::quantity::{Kilometres, Litres, Money};
use crate::solver::load::LoadLimit;

use crate::plan::answers::Answers;
use crate::plan::facts::TripFacts;
use crate::plan::kept::Kept;
use crate::plan::kept::ledger_input::LedgerInput;
use crate::plan::parts::Plan;
use crate::plan::parts::legs::{PlannedLeg, Totals};
use crate::plan::parts::load::{LoadPlan, Spare};
use crate::plan::parts::stops::Stop;
use crate::plan::trial::Trial;
use course::Course;

/// Lays a trial out as a plan; `sets_cut` says whether there were more sets of cans than could be tried.
pub(in crate::plan) fn lay_out(
    trip: &Arc<Trip>,
    facts: &TripFacts<'_>,
    trial: &Trial,
    sets_cut: bool,
) -> Plan {
    let course = Course::of(facts, trial);
    let mut legs = course.legs();
    driven::overwrite_with_observed(facts, &mut legs);
    let stops = course.stops();
    let stretches = course.stretches();
    let mut totals = totals(&legs, &stops, trial);
    totals.fuel += facts.used_aside();
    let gvm = trial.bars.iter().find(|bar| bar.what == LoadLimit::Gvm);
    let spare = Spare {
        plain: trial.spare,
        needed: trial.need.spare,
        carried: trial.loadout.fill,
        covers: trial.covers(),
        short_at_start: trial.short_at_start,
        cans: trial.loadout.cans.clone(),
    };
    let what_if_dry = course.what_if_dry();
    let found_dry = what_if_dry.stops();
    let supplies = supplies::of(trip, &legs, &stretches);
    let findings = findings::all(
        facts, trial, &legs, &stops, &stretches, &found_dry, &supplies, sets_cut,
    );
    let load = LoadPlan {
        heaviest_at: gvm.map_or(0, |bar| bar.node),
        mass: gvm.map_or_else(Default::default, |bar| bar.mass),
        gvm: trip.vehicle.gvm_kg,
        bars: trial.bars.clone(),
        departures: trial.departures.clone(),
        supplies,
    };
    Plan {
        base: facts.formula.base(),
        totals,
        stops,
        pours: course.pours(),
        decisions: course.decisions(),
        course: course.spans(),
        found_dry,
        passed_dry: what_if_dry.passed(),
        findings,
        spare,
        load,
        stretches,
        behind: facts.behind().cloned().map(Box::new),
        doubt: None,
        kept: Kept {
            formulas: trial.loadout.legs.clone(),
            usages: driven::usages(facts, trial),
            what_if_dry,
            ledger_input: LedgerInput::new(&trial.problem, &trial.need),
        },
        answers: Answers::none(legs.len()),
        legs,
        trip: Arc::clone(trip),
    }
}

/// Lays a trial for the success target out as a plan, beside the best estimate.
pub(in crate::plan) fn lay_out_at_target(
    trip: &Arc<Trip>,
    facts: &TripFacts<'_>,
    trial: &Trial,
    sets_cut: bool,
    best_estimate: Arc<Plan>,
) -> Plan {
    let mut plan = lay_out(trip, facts, trial, sets_cut);
    if let Some(simulation) = &trial.simulation {
        plan.doubt = Some(doubt::told(
            simulation,
            facts,
            trial,
            best_estimate,
            &mut plan,
        ));
    }
    plan
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
