//! Fixes of a NO-GO, in one sentence each with their figures.

use super::finding::place_name;
use super::load::carrying_place;
use super::name::{capitalized, plain};
use super::number::{Toward, Units, outcome, percent, trimmed};
use super::verdict::counted;
use crate::plan::Plan;
use crate::plan::fixes::{Fix, Fixes, Remedy, Spared};
use crate::quantity::{Hours, Kilograms, Litres};

/// What to do, and its effect.
pub fn sentence(fix: &Fix, plan: &Plan, units: Units) -> String {
    let mut figures = Vec::new();
    if fix.litres > Litres::new(0.05) {
        let litres = units.fuel_tenths(fix.litres, Toward::Nearest);
        figures.push(format!("needs {litres} less in cans"));
    } else if fix.litres < Litres::new(-0.05) {
        let litres = units.fuel_tenths(-fix.litres, Toward::Nearest);
        figures.push(format!("needs {litres} more in cans"));
    }
    if fix.kg > Kilograms::ZERO {
        let mass = units.mass(fix.kg, Toward::Up);
        let is_moved =
            |remedy: &Remedy| matches!(remedy, Remedy::CansElsewhere { .. } | Remedy::Moved { .. });
        let is_left =
            |remedy: &Remedy| matches!(remedy, Remedy::LeftBehind { .. } | Remedy::NoRack);
        let (moves, leaves) = (
            fix.remedies.iter().any(is_moved),
            fix.remedies.iter().any(is_left),
        );
        let done = match (moves, leaves) {
            (true, false) => "moved",
            (false, _) => "left at home",
            (true, true) => "moved or left at home",
        };
        figures.push(format!("{mass} {done}"));
    }
    if fix.time.get().abs() * 60.0 >= 0.5 {
        let is_more = fix.time > Hours::ZERO;
        let more = if is_more { "more" } else { "less" };
        let time = units.time(fix.time.abs());
        figures.push(format!("{time} {more} driving"));
    }
    if let Some(odds) = fix.odds_through {
        let share = outcome(odds);
        figures.push(format!("{share} finish with the reserve intact"));
    }
    if let Some(odds) = fix.odds_back {
        figures.push(format!("{} turn back", outcome(odds)));
    }
    let text = capitalized(&name(fix, plan, units));
    if figures.is_empty() {
        format!("{text}.")
    } else {
        format!("{text}: {}.", figures.join(", "))
    }
}

/// What the search for fixes left out because its work is bounded; `None` if nothing.
pub fn left_out(fixes: &Fixes) -> Option<String> {
    let mut left = Vec::new();
    for (count, what) in [
        (fixes.untried, "not tried, or not with every set of cans"),
        (fixes.unconfirmed, "promising, but not fully checked"),
    ] {
        if count > 0 {
            let changes = counted(count, "change was", "changes were");
            left.push(format!("{changes} {what}"));
        }
    }
    let left = left.join("; ");
    (!left.is_empty()).then(|| format!("The search is limited: {left}. There may be more fixes."))
}

/// The fixes in a sentence each, and what the search left out.
pub(crate) fn lines(plan: &Plan, units: Units) -> Vec<String> {
    let fixes = plan.fixes();
    let sentences = fixes.found.iter().map(|fix| sentence(fix, plan, units));
    sentences.chain(left_out(fixes)).collect()
}

/// A fix in a few words, for a list and as the name of a what-if.
pub(crate) fn name(fix: &Fix, plan: &Plan, units: Units) -> String {
    let remedies = fix
        .remedies
        .iter()
        .map(|remedies| act(remedies, plan, units));
    remedies.collect::<Vec<_>>().join(", and ")
}

fn act(remedies: &Remedy, plan: &Plan, units: Units) -> String {
    match remedies {
        Remedy::CansElsewhere { to, filled, moved } => {
            let mut acts = Vec::new();
            if !to.is_empty() {
                let to: Vec<&str> = to.iter().map(|place| carrying_place(*place)).collect();
                acts.push(format!("also carry cans on the {}", to.join(" or the ")));
            }
            if let Some(share) = filled {
                acts.push(format!("fill cans to {} of capacity", percent(*share)));
            }
            if let Some(moved) = moved {
                acts.push(format!("move {} into the cargo area", plain(moved)));
            }
            acts.join(", ")
        }
        Remedy::Moved { name } => format!("move {} into the cargo area", plain(name)),
        Remedy::LeftBehind { name, mass, spared } => format!(
            "leave {} of {} at home{}",
            units.mass(*mass, Toward::Up),
            plain(name),
            match spared {
                Spared::Dispensable => "",
                Spared::Unknown => ", unless someone's safety depends on it",
                Spared::SafetyGear => ", which is SAFETY GEAR",
            }
        ),
        Remedy::NoRack => "leave the roof rack at home".to_owned(),
        Remedy::Slower { by, on_gravel } => format!(
            "drive {} slower on sealed roads{}",
            units.speed(*by, Toward::Nearest),
            if *on_gravel { " and gravel" } else { "" },
        ),
        Remedy::AirDown { legs } => {
            let legs: Vec<String> = legs.iter().map(ToString::to_string).collect();
            format!("air down for the sand on leg {}", legs.join(", "))
        }
        Remedy::TurnBackIfDry => {
            "rely on unconfirmed fuel stops from which you can return if they are dry".to_owned()
        }
        Remedy::Detour { from, to, fix } => format!(
            "fetch fuel at {} from {}, a detour of about {} there and back if there is a road",
            plain(to),
            place_name(plan, *from),
            units.distance(*fix, Toward::Up),
        ),
        Remedy::SmallerReserve { to } => {
            format!("lower the contingency to {} %", trimmed(to.get()))
        }
    }
}
