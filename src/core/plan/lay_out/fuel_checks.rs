//! The fuel checks of a plan, from the figures that were fitted to its simulated trips.

use crate::doubt::checks::{CheckCard, CheckFigures, Leaving, ObeyedOutcomes};
use crate::doubt::study::FirstDriven;
use crate::quantity::{Kilometres, Litres, Share};
use crate::solver::fuel::ROUNDING;

use crate::plan::kept::driving::Driving;
use crate::plan::parts::Plan;
use crate::plan::parts::fuel_check::{Arrivals, FuelCheck, Pumped, Return};

/// The fuel checks of a plan that is laid out.
pub(super) fn fuel_checks(
    plan: &Plan,
    driving: &Driving,
    driven: &FirstDriven,
    as_checked: &ObeyedOutcomes,
) -> Vec<FuelCheck> {
    let card = driven.card();
    let points = &driving.checks.route().points;
    let full = driving.checks.route().full;
    let checks = points.iter().zip(card.figures()).enumerate();
    let checks = checks.zip(arrivals(card, driving));
    checks
        .map(|((check, (&(index, part), figures)), arrivals)| {
            let leg = &plan.legs[index];
            let at_place = part >= Share::new(1.0);
            let at_km = leg.from_km + leg.distance * part.get();
            let back = driving.refuge_behind(index, &[]).map(|refuge| Return {
                refuge,
                litres: figures.return_with,
            });
            let is_asked = back.is_some_and(|back| back.litres.is_some());
            FuelCheck {
                place_number: at_place.then_some(index + 1),
                leg: leg.n,
                place: leg.to.clone(),
                at_km,
                kind: figures.kind,
                expected: expected(plan, index, at_place, at_km),
                arrivals,
                continue_with: figures.continue_with.filter(|_| is_asked),
                back,
                if_neither: figures.if_neither,
                finish: figures.finish,
                if_dry: figures.if_dry,
                rises_per_litre: figures.rise.filter(|_| is_asked),
                pumped: pumped(figures, card.left_with(check), full),
                turned_back: as_checked.turned_back_at(check),
            }
        })
        .collect()
}

/// What is on board on arrival at each check.
fn arrivals(card: &CheckCard, driving: &Driving) -> Vec<Arrivals> {
    let shares = [0.01, 0.05, 0.5, 0.95, 0.99].map(Share::new);
    let quantiles = card.quantiles(shares, driving.threads).into_iter();
    quantiles
        .map(|[p01, p05, p50, p95, p99]| Arrivals {
            p01,
            p05,
            p50,
            p95,
            p99,
        })
        .collect()
}

/// Usable litres on arrival by the best estimate.
fn expected(plan: &Plan, index: usize, at_place: bool, at_km: Kilometres) -> Litres {
    if at_place {
        return plan.legs[index].end;
    }
    let there = plan.on_board_at(at_km);
    there.tank + there.cans
}

/// What to leave a fuel stop with, by the litres pumped to fill as planned.
fn pumped(figures: &CheckFigures, planned: Option<Litres>, full: Litres) -> Vec<Pumped> {
    let (Some(leaving), Some(planned)) = (figures.leaving, planned) else {
        return Vec::new();
    };
    let Leaving {
        as_planned_from,
        all_full_from,
        may_return,
        detour,
    } = leaving;
    // The table ends with: turn back if you pumped more. Without a return that cannot be done.
    if !may_return && all_full_from.is_none() {
        return Vec::new();
    }
    // Where the plan fills nearly everything, all full is the plan.
    let is_full = full - planned < Litres::new(1.0) && all_full_from.is_some();
    let mut rows = Vec::new();
    if !is_full {
        rows.push(Pumped {
            up_to: (planned - as_planned_from).max(Litres::ZERO) + detour,
            leave_with: planned,
        });
    }
    if let Some(from) = all_full_from {
        let from = if may_return { from } else { Litres::ZERO };
        rows.push(Pumped {
            up_to: (planned - from).max(Litres::ZERO) + detour,
            leave_with: full,
        });
    }
    let is_evidence = as_planned_from > ROUNDING;
    if is_evidence { rows } else { Vec::new() }
}
