//! The verdict in words: whether to set out, with which cans, and if not what forbids it.

use std::fmt::Write;

use super::number::{Figure, Toward, Units, money, odds};
use super::{card, dry, finding, load, margin, under_way};
use crate::plan::NoMoreCans;
use crate::plan::progress::{Advice, Progress};
use crate::plan::{CheckKind, ChosenCans, Finding, LoadLimit, Plan, Severity, Verdict, What};
use crate::quantity::{Kilograms, Litres};

/// The code of the verdict in JSON.
pub(crate) const fn code(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::TankDoes => "tank-enough",
        Verdict::CansDo => "cans-enough",
        Verdict::Overloaded => "overloaded",
        Verdict::FuelShort(_) => "fuel-short",
    }
}

/// Whether nothing that was found forbids setting out.
pub fn may_go(plan: &Plan) -> bool {
    forbidding(plan).next().is_none()
        && matches!(plan.verdict(), Verdict::TankDoes | Verdict::CansDo)
}

/// The findings that forbid setting out.
fn forbidding(plan: &Plan) -> impl Iterator<Item = &Finding> {
    let findings = plan.findings.iter();
    findings.filter(|finding| finding.severity() == Severity::Stop)
}

/// The first reason not to set out: of an overload the limit that is exceeded, else the first that was found.
fn reason(plan: &Plan) -> Option<&Finding> {
    let is_overload = |finding: &&Finding| {
        matches!(
            finding.what,
            What::OverGvm { .. }
                | What::OverAxle { .. }
                | What::OverRoof { .. }
                | What::OverPlace { .. }
        )
    };
    let overload = (plan.verdict() == Verdict::Overloaded)
        .then(|| forbidding(plan).find(is_overload))
        .flatten();
    overload.or_else(|| forbidding(plan).next())
}

/// The findings that forbid setting out and are not in the verdict's sentence.
pub(crate) fn other_reasons(plan: &Plan) -> impl Iterator<Item = &Finding> {
    let given = reason(plan);
    forbidding(plan).filter(move |finding| given.is_none_or(|given| !std::ptr::eq(*finding, given)))
}

/// The verdict in sentences: GO with what is carried and what is needed, or NO-GO with what forbids it first, then what
/// would be enough.
///
/// Under way it is what to do now, then whether the target is still met; on a return whether it is.
pub fn sentence(plan: &Plan, units: Units) -> String {
    if let Some(text) = on_the_way(plan, units) {
        return text;
    }
    let in_cans = &plan.in_cans;
    if let Some(text) = finished(plan, units) {
        return text;
    }
    if may_go(plan) {
        return if in_cans.cans.is_empty() {
            format!(
                "GO with the tank alone. {} needs no fuel in cans.",
                standard(plan, "The")
            )
        } else {
            let why = if load::fewer_would_hold_it(plan) {
                "With fewer cans, too few simulated trips succeed.".to_owned()
            } else {
                format!("{} needs {}.", standard(plan, "The"), needed(plan, units))
            };
            format!(
                "GO with {} in jerry cans ({}). {why}",
                units.fuel_tenths(in_cans.carried, Toward::Down),
                carried(&in_cans.cans),
            )
        };
    }
    let reason = reason(plan);
    let mut text = vec![
        match plan.verdict() {
            // The mass that is the limit comes before the fuel that is short for it.
            Verdict::FuelShort(_) if reason.and_then(mass_left).is_some() => {
                "NO-GO: no room for more cans."
            }
            Verdict::FuelShort(_) if reason.is_some_and(is_over_most_in_cans) => {
                "NO-GO: too much fuel in cans."
            }
            Verdict::FuelShort(_) => "NO-GO: fuel short.",
            Verdict::Overloaded => "NO-GO: overloaded.",
            _ => "NO-GO.",
        }
        .to_owned(),
    ];
    text.extend(reason.map(|reason| finding::sentence(reason, plan, units)));
    text.extend(enough(plan, units));
    text.join(" ")
}

/// The verdict of a trip that is over.
fn finished(plan: &Plan, units: Units) -> Option<String> {
    let progress = plan.progress.as_deref().filter(|_| is_finished(plan))?;
    Some(format!("FINISHED. {}", under_way::here(progress, units)))
}

/// Whether the trip has reached its finish.
pub(crate) fn is_finished(plan: &Plan) -> bool {
    let is_over = |progress: &Progress| {
        progress.place_number == plan.trip.legs.len()
            && progress.to_next.is_none()
            && !plan.is_return
    };
    plan.progress.as_deref().is_some_and(is_over)
}

/// Litres needed in cans; as they are rounded up, and those carried down, never shown as more than those carried where
/// these are enough.
pub(crate) fn needed(plan: &Plan, units: Units) -> Figure {
    needed_of(plan.in_cans.needed, plan, units)
}

/// Litres needed in cans as they are shown, which may be those of another stage.
pub(super) fn needed_of(litres: Litres, plan: &Plan, units: Units) -> Figure {
    let needed = units.fuel_tenths(litres, Toward::Up);
    if plan.in_cans.covers && !plan.in_cans.cans.is_empty() {
        needed.min(units.fuel_tenths(plan.in_cans.carried, Toward::Down))
    } else {
        needed
    }
}

/// The verdict under way or on a return; `None` if the trip has not set out, is over, or if something other than fuel
/// forbids it to continue.
fn on_the_way(plan: &Plan, units: Units) -> Option<String> {
    let target = target(plan, units)?;
    if plan.is_return {
        return Some(format!("RETURN. {target}"));
    }
    let now = plan.now()?;
    let advice = under_way::advice(now.advice);
    Some(match now.advice {
        Advice::Continue | Advice::Fill => format!("{advice}. {target}"),
        Advice::TurnBack | Advice::Neither => {
            format!("{advice}. {}", under_way::needs(plan, &now, units))
        }
    })
}

/// Whether the target is met, and if not why; `None` if something other than fuel forbids the trip.
pub(super) fn target(plan: &Plan, units: Units) -> Option<String> {
    if is_forbidden_by_other_than_fuel(plan) {
        return None;
    }
    let target = odds(plan.doubt.as_ref()?.success_target);
    if may_go(plan) {
        return Some(format!("The {target} target is met."));
    }
    let reason = reason(plan).map(|reason| finding::sentence(reason, plan, units));
    Some(format!(
        "The {target} target is missed. {}",
        reason.unwrap_or_default()
    ))
}

/// Whether something other than a lack of fuel forbids setting out.
pub(super) fn is_forbidden_by_other_than_fuel(plan: &Plan) -> bool {
    forbidding(plan).any(|finding| !is_fuel(finding))
}

/// The first of what forbids setting out that fuel, load and odds do not show, in a few words.
pub(super) fn other_than_fuel_and_load(plan: &Plan, units: Units) -> Option<String> {
    forbidding(plan).find_map(|found| finding::other_than_fuel_and_load(found, plan, units))
}

/// Whether the plan misses its success target.
pub(super) fn misses_target(plan: &Plan) -> bool {
    forbidding(plan).any(is_fuel)
}

/// Whether a finding is about a lack of fuel.
fn is_fuel(finding: &Finding) -> bool {
    matches!(
        finding.what,
        What::ShortAtStart { .. }
            | What::TargetMissed { .. }
            | What::CansShort { .. }
            | What::BelowReserve { .. }
            | What::RunsDry { .. }
    )
}

/// The mass limit that leaves no room for another can, and its margin.
fn mass_left(reason: &Finding) -> Option<(LoadLimit, Kilograms)> {
    match reason.what {
        What::CansShort {
            why: NoMoreCans::Mass { what, left, .. },
            ..
        } => Some((what, left)),
        _ => None,
    }
}

const fn is_over_most_in_cans(reason: &Finding) -> bool {
    matches!(reason.what, What::OverMostInCans { .. })
}

/// What would be enough, where the fuel is not what forbids it.
fn enough(plan: &Plan, units: Units) -> Option<String> {
    let is_fuel = |finding: &Finding| matches!(finding.what, What::TargetMissed { .. });
    if matches!(plan.verdict(), Verdict::FuelShort(_)) || forbidding(plan).any(is_fuel) {
        return None;
    }
    let standard = standard(plan, "the");
    let cans = plan.in_cans.cans.as_slice();
    Some(if cans.is_empty() {
        format!("The fuel would be enough: {standard} needs none in cans.")
    } else {
        let cover = match cans {
            [one] if one.count == 1 => "covers",
            _ => "cover",
        };
        format!(
            "The fuel would be enough: {} {cover} the {} that {standard} needs.",
            self::cans(cans),
            needed(plan, units),
        )
    })
}

/// The plan by which the verdict is given.
fn standard(plan: &Plan, the: &str) -> String {
    match &plan.doubt {
        Some(doubt) => format!("{the} {} target", odds(doubt.success_target)),
        None => format!("{the} best estimate"),
    }
}

/// The verdict in few words, where there is no room for the sentence.
pub fn brief(plan: &Plan, units: Units) -> String {
    if on_the_way(plan, units).is_some() {
        let does = if may_go(plan) { "met" } else { "missed" };
        let advice = plan.now().map(|now| now.advice);
        let word = advice.map_or("RETURN", under_way::advice);
        return match advice {
            Some(Advice::TurnBack | Advice::Neither) => format!("{word}."),
            _ => format!("{word}: target {does}."),
        };
    }
    if finished(plan, units).is_some() {
        return "FINISHED.".to_owned();
    }
    if may_go(plan) {
        let carried = units.fuel_tenths(plan.in_cans.carried, Toward::Down);
        return match plan.cans() as usize {
            0 => "GO with the tank alone.".to_owned(),
            cans => format!("GO with {carried} in {}.", counted(cans, "can", "cans")),
        };
    }
    match (plan.verdict(), reason(plan).and_then(mass_left)) {
        (Verdict::FuelShort(short), Some((what, left))) => format!(
            "NO-GO: {} margin {}; {} short.",
            load::name(what),
            units.mass(left.max(Kilograms::ZERO), Toward::Down),
            units.fuel(short, Toward::Up),
        ),
        (Verdict::FuelShort(short), None) => {
            format!("NO-GO: {} short.", units.fuel(short, Toward::Up))
        }
        (Verdict::Overloaded, _) => {
            let over = plan.load.bars.iter().filter(|bar| bar.is_over());
            let over = over.filter_map(|bar| Some((bar.what, -bar.left()?)));
            let worst = over.max_by(|a, b| a.1.get().total_cmp(&b.1.get()));
            worst.map_or_else(
                || "NO-GO: overloaded.".to_owned(),
                |(what, by)| {
                    format!(
                        "NO-GO: overloaded, {} {} over.",
                        load::name(what),
                        units.mass(by, Toward::Up)
                    )
                },
            )
        }
        _ => format!(
            "NO-GO: {} to settle.",
            counted(forbidding(plan).count(), "finding", "findings")
        ),
    }
}

/// The figures at the head of a report, each under its name: trip, fuel, smallest margin, where to decide, fuel stops.
pub(crate) fn key_figures(plan: &Plan, units: Units) -> Vec<(&'static str, String)> {
    let mut rows = trip_and_fuel(plan, units).to_vec();
    rows.extend(margin::key_figure(plan, units).map(|text| ("Smallest margin", text)));
    rows.extend(decide_at(plan, units).map(|text| ("Decide at", text)));
    rows.extend(relied_on(plan, units).map(|text| ("Fuel stops", text)));
    rows
}

/// Distance, days and climb of the trip, and its fuel, each under its name.
pub(crate) fn trip_and_fuel(plan: &Plan, units: Units) -> [(&'static str, String); 2] {
    [("Trip", trip(plan, units)), ("Fuel", fuel(plan, units))]
}

/// The critical fuel stop, or that the plan relies on confirmed fuel only.
pub(crate) fn relied_on(plan: &Plan, units: Units) -> Option<String> {
    let [mut text, _] = dry::critical(plan, units)?;
    if let Some(first) = text.get_mut(..1) {
        first.make_ascii_lowercase();
    }
    Some(text.trim_end_matches('.').to_owned())
}

fn trip(plan: &Plan, units: Units) -> String {
    let totals = &plan.totals;
    let days = plan.legs.last().map_or(0, |leg| leg.day);
    format!(
        "{} in {}, {} driving, {} of climb",
        units.distance(totals.distance, Toward::Nearest),
        counted(days as usize, "day", "days"),
        units.time(totals.driving),
        units.height(totals.ascent),
    )
}

fn fuel(plan: &Plan, units: Units) -> String {
    // Writing to a text cannot fail.
    let totals = &plan.totals;
    let mut text = units.litres(totals.fuel).to_string();
    if let Some(rate) = totals.rate {
        let _ = write!(text, " ({})", units.rate(rate));
    }
    if let Some(cost) = totals.cost {
        let currency = plan.trip.rules().currency.as_deref();
        let _ = write!(text, ", cost {}", money(cost, currency));
    }
    text
}

/// The first decision point; none where the trip is not to set out or to continue.
fn decide_at(plan: &Plan, units: Units) -> Option<String> {
    if !may_go(plan) {
        return None;
    }
    let mut checks = plan.fuel_checks.iter();
    let check = checks.find(|check| check.kind == CheckKind::Decision)?;
    let decide = card::decide(check, plan, |litres| units.by_gauge(litres, Toward::Up))?;
    let at = card::at(plan, check.at_km, Toward::Nearest, units);
    let place = card::check_place(check);
    Some(format!("{place}, {at}: {decide}"))
}

/// The cans by size and place, `1 x 20 L, 1 x 10 L, rear carrier`, or each with its place where they differ.
pub(crate) fn carried(cans: &[ChosenCans]) -> String {
    let one = |kind: &ChosenCans| {
        let buy = match kind.to_buy {
            0 => String::new(),
            n if n == kind.count => " to buy".to_owned(),
            n => format!(" with {n} to buy"),
        };
        format!("{} x {}{buy}", kind.count, Units::can_size(kind.size))
    };
    let place = |kind: &ChosenCans| load::carrying_place(kind.place);
    let parts: Vec<String> = match cans.split_first() {
        Some((first, rest)) if rest.iter().all(|kind| kind.place == first.place) => cans
            .iter()
            .map(one)
            .chain([place(first).to_owned()])
            .collect(),
        _ => cans
            .iter()
            .map(|kind| format!("{} {}", one(kind), place(kind)))
            .collect(),
    };
    parts.join(", ")
}

/// The cans in words, `2 x 20 L cans (rear carrier) and 1 x 10 L can (roof)`; `no cans` if there are none.
pub(crate) fn cans(cans: &[ChosenCans]) -> String {
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
                load::carrying_place(kind.place),
            )
        })
        .collect();
    if each.is_empty() {
        return "no cans".to_owned();
    }
    finding::listed(&each)
}

/// `1 day`, `4 days`.
pub(crate) fn counted(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}
