//! A note to each of the four answers, where there is room for it: by what each is measured, and what to do.

use super::answers::{decision_point, tightest_limit};
use super::number::{Toward, Units, outcome};
use super::{card, load, margin};
use crate::plan::Plan;

/// The notes in the order of the answers; empty where there is nothing to add.
pub(crate) fn notes(plan: &Plan, units: Units) -> [String; 4] {
    [
        margin::beside(plan, units).unwrap_or_default(),
        tightest(plan, units).unwrap_or_default(),
        finish(plan).unwrap_or_default(),
        decide(plan, units).unwrap_or_default(),
    ]
}

fn tightest(plan: &Plan, units: Units) -> Option<String> {
    let (bar, _) = tightest_limit(plan)?;
    let line = load::line(bar, plan, units);
    let (mass, limit) = (line.mass.number, line.limit?);
    Some(format!("{mass} of {limit} on leaving {}", line.place))
}

fn finish(plan: &Plan) -> Option<String> {
    let ran_out = plan.doubt.as_ref()?.outcomes.ran_out.share;
    let ran_out = outcome(ran_out);
    Some(format!(
        "with the reserve intact; {ran_out} run out of fuel"
    ))
}

fn decide(plan: &Plan, units: Units) -> Option<String> {
    let check = decision_point(plan)?;
    let odometer = card::odometer(plan, check.at_km, Toward::Nearest, units);
    let odometer = odometer.map_or_else(String::new, |shown| format!(" ({shown})"));
    let place = card::check_place(check);
    let decide = card::decide(check, plan, |litres| units.by_gauge(litres, Toward::Up))?;
    Some(format!("{place}{odometer}: {decide}"))
}
