//! The verdict in words: whether to set out, with which cans, and if not what forbids it.

use super::number::{Toward, Units, money, odds};
use super::{behind, finding, load};
use crate::plan::NoMoreCans;
use crate::plan::behind::Advice;
use crate::plan::doubt::MOST_LEGS;
use crate::plan::{ChosenCans, Finding, LoadLimit, Plan, Severity, Verdict, What};
use crate::quantity::Kilograms;

/// The word that stands for the verdict in JSON.
pub(crate) const fn code(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::TankDoes => "tank-does",
        Verdict::CansDo => "cans-do",
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
    let told = reason(plan);
    forbidding(plan).filter(move |finding| told.is_none_or(|told| !std::ptr::eq(*finding, told)))
}

/// The verdict in sentences: GO with what is carried and what is needed, or NO-GO with what forbids it first, then what
/// would be enough.
///
/// Under way it is what to do now, then whether the target is still met; on a return whether it is.
pub fn sentence(plan: &Plan, units: Units) -> String {
    if let Some(text) = on_the_way(plan, units) {
        return text;
    }
    let spare = &plan.spare;
    if may_go(plan) {
        return if spare.cans.is_empty() {
            format!(
                "GO with the tank alone. {} needs no fuel in cans.",
                standard(plan, "The")
            )
        } else {
            let why = if load::fewer_would_hold_it(plan) {
                "With fewer cans, too few simulated trips succeed.".to_owned()
            } else {
                let needed = units.spare(spare.needed, Toward::Up);
                format!("{} needs {needed}.", standard(plan, "The"))
            };
            format!(
                "GO with {} in jerry cans ({}). {why}",
                units.spare(spare.carried, Toward::Down),
                carried(&spare.cans),
            )
        };
    }
    let reason = reason(plan);
    let mut text = vec![
        match plan.verdict() {
            // The mass that is the limit comes before the fuel that is short for it.
            Verdict::FuelShort(_) if reason.and_then(mass_left).is_some() => "NO-GO:",
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

/// The verdict under way or on a return; `None` if the trip has not set out, is over, or if something else than fuel forbids
/// it to go on.
fn on_the_way(plan: &Plan, units: Units) -> Option<String> {
    if forbidding(plan).any(|finding| !is_fuel(finding)) {
        return None;
    }
    let target = plan
        .doubt
        .as_ref()
        .map(|doubt| odds(doubt.success_target))?;
    let target = if may_go(plan) {
        format!("the {target} target is met.")
    } else {
        let reason = reason(plan).map(|reason| finding::sentence(reason, plan, units));
        format!(
            "the {target} target is missed. {}",
            reason.unwrap_or_default()
        )
    };
    if plan.is_return {
        return Some(format!("RETURN: {target}"));
    }
    let now = plan.now()?;
    let advice = behind::advice(now.advice);
    Some(match now.advice {
        Advice::Continue | Advice::Fill => format!("{advice}: {target}"),
        Advice::TurnBack | Advice::Neither => {
            format!("{advice}. {}", behind::needs(plan, &now, units))
        }
    })
}

/// Whether a finding is about fuel that does not last.
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

/// The mass limit that leaves no room for another can, and what is left of it.
fn mass_left(reason: &Finding) -> Option<(LoadLimit, Kilograms)> {
    match reason.what {
        What::CansShort {
            why: NoMoreCans::Mass { what, left, .. },
            ..
        } => Some((what, left)),
        _ => None,
    }
}

/// What would be enough, where the fuel is not what forbids it.
fn enough(plan: &Plan, units: Units) -> Option<String> {
    let is_fuel = |finding: &Finding| matches!(finding.what, What::TargetMissed { .. });
    if matches!(plan.verdict(), Verdict::FuelShort(_)) || forbidding(plan).any(is_fuel) {
        return None;
    }
    let standard = standard(plan, "the");
    let cans = plan.spare.cans.as_slice();
    Some(if cans.is_empty() {
        format!("The fuel would be enough: {standard} needs no fuel in cans.")
    } else {
        let cover = match cans {
            [one] if one.count == 1 => "covers",
            _ => "cover",
        };
        format!(
            "The fuel would be enough: {} {cover} the {} that {standard} needs.",
            self::cans(cans),
            units.spare(plan.spare.needed, Toward::Up),
        )
    })
}

/// By which plan something is judged.
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
        let says = advice.map_or("RETURN", behind::advice);
        return match advice {
            Some(Advice::TurnBack | Advice::Neither) => format!("{says}."),
            _ => format!("{says}: target {does}."),
        };
    }
    if may_go(plan) {
        let carried = units.spare(plan.spare.carried, Toward::Down);
        return match plan.cans() as usize {
            0 => "GO with the tank alone.".to_owned(),
            cans => format!("GO with {carried} in {}.", counted(cans, "can", "cans")),
        };
    }
    match (plan.verdict(), reason(plan).and_then(mass_left)) {
        (Verdict::FuelShort(short), Some((what, left))) => format!(
            "NO-GO: {}, {} left; {} short.",
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

/// What a best-estimate plan says in place of a verdict, as a sentence and in few words.
pub(crate) fn best_estimate(plan: &Plan, units: Units) -> [String; 2] {
    if plan.trip.legs.len() > MOST_LEGS {
        return [
            "Too long to simulate: best estimate only, no verdict.",
            "Too long to simulate: no verdict.",
        ]
        .map(str::to_owned);
    }
    let [long, short] = best_estimate_of_fuel(plan, units);
    [
        format!("Best estimate, no verdict: {long}."),
        format!("Best estimate: {short}."),
    ]
}

/// Whether fuel and load are enough by the best estimate, in more and in fewer words.
fn best_estimate_of_fuel(plan: &Plan, units: Units) -> [String; 2] {
    let stops = forbidding(plan).count();
    let cans = cans(&plan.spare.cans);
    match plan.verdict() {
        Verdict::FuelShort(short) => {
            let short = units.fuel(short, Toward::Up);
            [
                format!("{short} of fuel is missing"),
                format!("{short} missing"),
            ]
        }
        Verdict::Overloaded => [
            "the fuel is enough, but the load exceeds a limit".to_owned(),
            "overloaded".to_owned(),
        ],
        _ if stops > 0 => {
            let findings = counted(stops, "finding", "findings");
            [
                format!("the fuel is enough, but {findings} must be settled first"),
                format!("{findings} to settle"),
            ]
        }
        Verdict::TankDoes => [
            "the tank alone is enough".to_owned(),
            "the tank is enough".to_owned(),
        ],
        Verdict::CansDo => {
            let needed = units.spare(plan.spare.needed, Toward::Up);
            let carried = units.spare(plan.spare.carried, Toward::Down);
            let count = counted(plan.cans() as usize, "can", "cans");
            [
                format!("{needed} needed in cans, {carried} carried in {cans}"),
                format!("{count}, {carried} in all"),
            ]
        }
    }
}

/// The size of the trip: way, days, fuel, hours, cost.
pub(crate) fn totals(plan: &Plan, units: Units) -> String {
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

/// The cans by size and place, `1 x 20 L, 1 x 10 L, rear carrier`, or each with its place where they differ.
fn carried(cans: &[ChosenCans]) -> String {
    let one = |kind: &ChosenCans| {
        let buy = match kind.to_buy {
            0 => String::new(),
            n if n == kind.count => " to buy".to_owned(),
            n => format!(" with {n} to buy"),
        };
        format!("{} x {}{buy}", kind.count, Units::can_size(kind.size))
    };
    let place = |kind: &ChosenCans| load::place_name(kind.place);
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

/// The cans in words, `2 x 20 L can (rear) and 1 x 10 L can (rear)`; `no cans` when there are none.
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
                kind.place
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
