//! The verdict in words: whether to set out, with which cans, and where it is tightest.

use super::name::plain;
use super::number::{Toward, Units, money, odds};
use crate::plan::behind::Advice;
use crate::plan::{ChosenCans, Plan, PlannedLeg, Severity, Verdict};
use crate::quantity::Litres;

/// The word that stands for the verdict in JSON.
pub const fn code(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::TankDoes => "tank-does",
        Verdict::CansDo => "cans-do",
        Verdict::Overloaded => "overloaded",
        Verdict::FuelShort(_) => "fuel-short",
    }
}

/// Whether nothing that was found forbids setting out.
pub fn may_go(plan: &Plan) -> bool {
    stops(plan) == 0 && matches!(plan.verdict(), Verdict::TankDoes | Verdict::CansDo)
}

/// How many findings forbid setting out.
fn stops(plan: &Plan) -> usize {
    plan.findings
        .iter()
        .filter(|finding| finding.severity() == Severity::Stop)
        .count()
}

/// The verdict as one sentence.
pub fn sentence(plan: &Plan, units: Units) -> String {
    let cans = cans(&plan.spare.cans);
    let carried = units.spare(plan.spare.carried, Toward::Down);
    let needed = units.spare(plan.spare.needed, Toward::Up);
    let stops = stops(plan);
    let sure = sure(plan);
    let do_not = do_not(plan);
    match plan.verdict() {
        Verdict::TankDoes if stops == 0 => {
            format!("GO: the tank alone does it{sure}; no spare fuel is needed.")
        }
        Verdict::CansDo if stops == 0 => {
            let hold = match plan.spare.cans.as_slice() {
                [one] if one.count == 1 => "it holds",
                _ => "they hold",
            };
            format!("GO with {cans}: {needed} of spare fuel is needed{sure}, and {hold} {carried}.")
        }
        Verdict::TankDoes => format!(
            "{do_not} LIKE THIS: the tank alone does it{sure}, but {} to settle first.",
            counted(stops, "finding is", "findings are"),
        ),
        Verdict::CansDo => format!(
            "{do_not} LIKE THIS: the fuel goes through with {cans} ({needed} of spare fuel is \
             needed{sure}), but {} to settle first.",
            counted(stops, "finding is", "findings are"),
        ),
        Verdict::Overloaded if plan.spare.cans.is_empty() => {
            format!("{do_not} LIKE THIS: the fuel goes through{sure}, but the load breaks a limit.")
        }
        Verdict::Overloaded => format!(
            "{do_not} LIKE THIS: the fuel goes through with {cans} ({needed} of spare fuel is \
             needed{sure}), but the load breaks a limit."
        ),
        Verdict::FuelShort(short) => format!(
            "{do_not} LIKE THIS: {} of fuel is missing{sure}{}.",
            units.fuel(short, Toward::Up),
            what_now(plan),
        ),
    }
}

/// What is warned of: to set out, or on the way to go on.
const fn do_not(plan: &Plan) -> &'static str {
    if plan.behind.is_some() {
        "DO NOT GO ON"
    } else {
        "DO NOT SET OUT"
    }
}

/// What to do instead, on the way.
fn what_now(plan: &Plan) -> &'static str {
    match plan.now().map(|now| now.advice) {
        Some(Advice::TurnBack) => "; turn back now",
        Some(Advice::Stay) => "; neither going on nor turning back is sure",
        _ => "",
    }
}

/// ` for 95 %`, where the plan is one at a confidence.
fn sure(plan: &Plan) -> String {
    plan.doubt.as_ref().map_or_else(String::new, |doubt| {
        format!(" for {}", odds(doubt.confidence))
    })
}

/// The verdict in few words, where there is no room for the sentence.
pub fn brief(plan: &Plan, units: Units) -> String {
    let stops = stops(plan);
    let do_not = do_not(plan);
    match plan.verdict() {
        Verdict::FuelShort(short) => {
            format!(
                "{do_not}: {} missing{}.",
                units.fuel(short, Toward::Up),
                what_now(plan)
            )
        }
        Verdict::Overloaded => format!("{do_not}: overloaded."),
        _ if stops > 0 => format!(
            "{do_not}: {} to settle.",
            counted(stops, "finding", "findings")
        ),
        Verdict::TankDoes => "GO: the tank alone does it.".to_owned(),
        Verdict::CansDo => {
            let cans = plan.spare.cans.iter().map(|kind| kind.count as usize).sum();
            format!(
                "GO with {}, {} in all.",
                counted(cans, "can", "cans"),
                units.spare(plan.spare.carried, Toward::Down)
            )
        }
    }
}

/// The size of the trip: way, days, fuel, hours, cost.
pub fn totals(plan: &Plan, units: Units) -> String {
    let totals = &plan.totals;
    let days = plan.legs.last().map_or(0, |leg| leg.day);
    let mut text = vec![format!(
        "{} in {}, {} of fuel",
        units.distance(totals.distance, Toward::Nearest),
        counted(days as usize, "day", "days"),
        units.litres(totals.fuel),
    )];
    if let Some(rate) = totals.rate {
        text.push(format!(" ({})", units.rate(rate)));
    }
    text.push(format!(
        ", {} at the wheel, {} of climb",
        units.time(totals.driving),
        units.height(totals.ascent),
    ));
    if let Some(cost) = totals.cost {
        text.push(format!(
            ", fuel for {}",
            money(cost, plan.trip.rules().currency.as_deref())
        ));
    }
    text.concat() + "."
}

/// The arrival with the least over its reserve, and how much that is.
fn tightest_leg(legs: &[PlannedLeg]) -> Option<(&PlannedLeg, Litres)> {
    legs.iter()
        .map(|leg| (leg, leg.end - leg.reserve))
        .min_by(|(_, a), (_, b)| a.get().total_cmp(&b.get()))
}

/// Where it is tightest, in few words.
pub fn tightest_brief(plan: &Plan, units: Units) -> Option<String> {
    let (leg, over) = tightest_leg(ahead(plan))?;
    let by = if over < Litres::ZERO {
        format!("{} under", units.fuel(-over, Toward::Up))
    } else {
        format!("{} over", units.fuel(over, Toward::Down))
    };
    Some(format!("Tightest: leg {}, {by} the reserve.", leg.n))
}

/// Where it is tightest: the arrival with the least over its reserve.
pub fn tightest(plan: &Plan, units: Units) -> Option<String> {
    tightest_of(ahead(plan), units)
}

/// The legs that are still to be driven.
fn ahead(plan: &Plan) -> &[PlannedLeg] {
    let driven = plan.behind.as_deref().map_or(0, |behind| behind.node);
    &plan.legs[driven..]
}

/// Where it is tightest among some legs; nothing when there are none.
pub fn tightest_of(legs: &[PlannedLeg], units: Units) -> Option<String> {
    let (leg, over) = tightest_leg(legs)?;
    let at = plain(&leg.to);
    Some(if over < Litres::ZERO {
        format!(
            "Tightest: leg {} to {at} ends {} under its reserve of {}.",
            leg.n,
            units.fuel(-over, Toward::Up),
            units.litres(leg.reserve),
        )
    } else {
        format!(
            "Tightest: leg {} to {at} ends with {}, {} over its reserve of {}.",
            leg.n,
            units.fuel(leg.end, Toward::Down),
            units.fuel(over, Toward::Down),
            units.litres(leg.reserve),
        )
    })
}

/// The cans in words, `2 x 20 L can (rear) and 1 x 10 L can (rear)`; `no cans` when there are none.
pub fn cans(cans: &[ChosenCans]) -> String {
    let each: Vec<String> = cans
        .iter()
        .map(|kind| {
            let buy = match kind.to_buy {
                0 => String::new(),
                n if n == kind.count => ", to buy".to_owned(),
                n => format!(", {n} to buy"),
            };
            format!(
                "{} x {} {} ({}{buy})",
                kind.count,
                Units::can_size(kind.size),
                if kind.count == 1 { "can" } else { "cans" },
                kind.place
            )
        })
        .collect();
    match each.split_last() {
        None => "no cans".to_owned(),
        Some((last, [])) => last.clone(),
        Some((last, before)) => format!("{} and {last}", before.join(", ")),
    }
}

/// `1 day`, `4 days`.
pub(super) fn counted(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}
