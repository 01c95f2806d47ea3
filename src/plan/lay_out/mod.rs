//! From the solver's numbers to the lines of a plan.

mod card;
pub(in crate::plan) mod course;
mod findings;
mod stages;

use std::sync::{Arc, OnceLock};

use crate::model::Trip;
use crate::quantity::{Kilometres, Litres, Money};
use crate::solver::cans;

use crate::plan::facts::{Groundwork, Solution};
use crate::plan::kept::what_if_dry::WhatIfDry;
use crate::plan::lay_out::course::Course;
use crate::plan::parts::supplies::Supplies;
use crate::plan::questions::ledger::Books;
use crate::plan::under_way::Underway;
use crate::plan::{LoadPlan, Plan, PlannedLeg, Spare, Stop, Totals};

/// Plans the trip with everything at its likely value.
pub(in crate::plan) fn plan(trip: &Arc<Trip>) -> Plan {
    let underway = Underway::of(trip);
    let ground = Groundwork::under_way(trip, underway.as_ref());
    let choice = ground.choose();
    let solution = ground.cheapest(choice.solution);
    assemble(trip, &ground, &solution, choice.cut)
}

/// Lays a solution out as a plan.
pub(in crate::plan) fn assemble(
    trip: &Arc<Trip>,
    ground: &Groundwork<'_>,
    solution: &Solution,
    sets_cut: bool,
) -> Plan {
    let course = Course::of(ground, solution);
    let mut legs = course.legs();
    ground.stand_as_driven(&mut legs);
    let stops = course.stops();
    let stretches = course.stretches();
    let mut totals = totals(&legs, &stops, solution);
    totals.fuel += ground.used_aside();
    let gvm = solution
        .bars
        .iter()
        .find(|bar| bar.what == crate::plan::LoadLimit::Gvm);
    let spare = Spare {
        plain: solution.spare,
        needed: solution.need.spare,
        carried: cans::fill(&solution.set),
        covers: solution.covers(),
        short_at_start: solution.short_at_start,
        cans: solution.set.clone(),
    };
    let what_if_dry = WhatIfDry::of(&course);
    let found_dry = what_if_dry.stops();
    let passed_dry = what_if_dry.passed();
    let supplies = Supplies::of(trip, &legs, &stretches);
    let findings = findings::all(
        ground, solution, &legs, &stops, &stretches, &found_dry, &supplies, sets_cut,
    );
    let load = LoadPlan {
        heaviest_at: gvm.map_or(0, |bar| bar.node),
        mass: gvm.map_or_else(Default::default, |bar| bar.mass),
        gvm: trip.vehicle.gvm_kg,
        bars: solution.bars.clone(),
        departures: solution.departures.clone(),
        supplies,
    };
    Plan {
        base: ground.formula.base(),
        totals,
        stops,
        pours: course.pours(),
        decisions: course.decisions(),
        course: course.spans(),
        found_dry,
        passed_dry,
        findings,
        spare,
        load,
        stretches,
        usages: ground.usages(solution),
        why: legs.iter().map(|_| OnceLock::new()).collect(),
        ways: OnceLock::new(),
        other_cans: OnceLock::new(),
        what_if_dry,
        behind: ground.behind().cloned().map(Box::new),
        set_out: OnceLock::new(),
        lessons: OnceLock::new(),
        dry: OnceLock::new(),
        dry_pair: OnceLock::new(),
        books: Books::of(&solution.problem, &solution.need),
        ledger: OnceLock::new(),
        formulas: solution.legs.clone(),
        legs,
        trip: Arc::clone(trip),
        doubt: None,
    }
}

fn totals(legs: &[PlannedLeg], stops: &[Stop], solution: &Solution) -> Totals {
    let distance: Kilometres = legs.iter().map(|leg| leg.distance).sum();
    let driven: Litres = legs.iter().map(|leg| leg.fuel).sum();
    let detours: Litres = solution.run.fills.iter().map(|fill| fill.detour).sum();
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
