//! Fixes of a NO-GO, in one sentence each with their figures.

use super::finding::node_name;
use super::load::place_name;
use super::name::plain;
use super::number::{Toward, Units, outcome, percent, trimmed};
use super::verdict::counted;
use crate::plan::Plan;
use crate::plan::ways::{Doing, Spared, Way, Ways};
use crate::quantity::{Hours, Kilograms, Litres};

/// What to do, and its effect.
pub fn sentence(way: &Way, plan: &Plan, units: Units) -> String {
    let mut figures = Vec::new();
    if way.litres > Litres::new(0.05) {
        let litres = units.spare(way.litres, Toward::Nearest);
        figures.push(format!("needs {litres} less in cans"));
    } else if way.litres < Litres::new(-0.05) {
        let litres = units.spare(-way.litres, Toward::Nearest);
        figures.push(format!("needs {litres} more in cans"));
    }
    if way.kg > Kilograms::ZERO {
        let mass = units.mass(way.kg, Toward::Up);
        let moves =
            |doing: &Doing| matches!(doing, Doing::CansElsewhere { .. } | Doing::Moved { .. });
        let leaves = |doing: &Doing| matches!(doing, Doing::LeftBehind { .. } | Doing::NoRack);
        let done = match (way.doing.iter().any(moves), way.doing.iter().any(leaves)) {
            (true, false) => "moved",
            (false, _) => "left at home",
            (true, true) => "moved or left at home",
        };
        figures.push(format!("{mass} {done}"));
    }
    if way.time.get().abs() * 60.0 >= 0.5 {
        let more = if way.time > Hours::ZERO {
            "more"
        } else {
            "less"
        };
        let time = units.time(way.time.abs());
        figures.push(format!("{time} {more} driving"));
    }
    if let Some(odds) = way.odds_through {
        let share = outcome(odds);
        figures.push(format!("{share} finish with the reserve intact"));
    }
    if let Some(odds) = way.odds_back {
        figures.push(format!("{} turn back", outcome(odds)));
    }
    let mut text = name(way, plan, units);
    if let Some(first) = text.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    if figures.is_empty() {
        format!("{text}.")
    } else {
        format!("{text}: {}.", figures.join(", "))
    }
}

/// What the search for fixes left out because its work is bounded; `None` if nothing.
pub fn left_out(ways: &Ways) -> Option<String> {
    let mut left = Vec::new();
    for (count, what) in [
        (ways.untried, "not tried, or not with every set of cans"),
        (ways.unconfirmed, "promising, but not fully checked"),
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
    let ways = plan.ways();
    let says = ways.found.iter().map(|way| sentence(way, plan, units));
    says.chain(left_out(ways)).collect()
}

/// A fix in a few words, for a list and as the name of a what-if.
pub(crate) fn name(way: &Way, plan: &Plan, units: Units) -> String {
    let doing = way.doing.iter().map(|doing| act(doing, plan, units));
    doing.collect::<Vec<_>>().join(", and ")
}

fn act(doing: &Doing, plan: &Plan, units: Units) -> String {
    match doing {
        Doing::CansElsewhere { to, filled, moved } => {
            let mut acts = Vec::new();
            if !to.is_empty() {
                let to: Vec<&str> = to.iter().map(|place| place_name(*place)).collect();
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
        Doing::Moved { name } => format!("move {} into the cargo area", plain(name)),
        Doing::LeftBehind { name, mass, spared } => format!(
            "leave {} of {} at home{}",
            units.mass(*mass, Toward::Up),
            plain(name),
            match spared {
                Spared::Dispensable => "",
                Spared::Unknown => ", unless someone's safety depends on it",
                Spared::SafetyGear => ", which is SAFETY GEAR",
            }
        ),
        Doing::NoRack => "leave the roof rack at home".to_owned(),
        Doing::Slower { by, on_gravel } => format!(
            "drive {} slower on sealed roads{}",
            units.speed(*by, Toward::Nearest),
            if *on_gravel { " and gravel" } else { "" },
        ),
        Doing::AirDown { legs } => {
            let legs: Vec<String> = legs.iter().map(ToString::to_string).collect();
            format!("air down for the sand on leg {}", legs.join(", "))
        }
        Doing::TurnBackIfDry => {
            "rely on unconfirmed fuel stops from which you can return if they are dry".to_owned()
        }
        Doing::Detour { from, to, way } => format!(
            "fetch fuel at {} from {}, a detour of about {} there and back if there is a road",
            plain(to),
            node_name(plan, *from),
            units.distance(*way, Toward::Up),
        ),
        Doing::SmallerReserve { to } => format!("lower the contingency to {} %", trimmed(to.get())),
    }
}
