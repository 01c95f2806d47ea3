//! Words for a trip under way: where one is, whether to turn back now, what was used against what was planned, and what
//! the calibration factors are by now.

use super::calibration::component;
use super::finding::node_name;
use super::name::plain;
use super::number::{Toward, Units, more};
use crate::model::calibration::Component;
use crate::model::vocabulary::Measured;
use crate::plan::Plan;
use crate::plan::behind::{Advice, Behind, DrivenWay, Now, Worth};
use crate::quantity::{Factor, Litres};
use crate::solver::fuel::ROUNDING;

/// A factor that moved by less is not told.
const MOVED: f64 = 0.005;

/// What the section on a trip under way is about.
pub(crate) const TITLE: &str = "Under way";

/// How the section is read.
pub(crate) const HOW_TO_READ: &str =
    "legs already driven are as driven; the rest is planned from the last fuel reading";

/// Where the trip is and what is on board.
fn here(behind: &Behind, units: Units) -> String {
    let place = plain(&behind.place);
    let at = behind.to_next.map_or_else(
        || format!("At {place}"),
        |left| {
            let mut place = place.clone().into_owned();
            if let Some(first) = place.get_mut(..1) {
                first.make_ascii_uppercase();
            }
            format!(
                "{place}, {} before the next place,",
                units.distance(left, Toward::Nearest)
            )
        },
    );
    format!(
        "{at} you have {} ({}, ±{}).",
        units.spare(behind.aboard, Toward::Down),
        measured(behind.how),
        units.fuel(behind.error, Toward::Up),
    )
}

/// How fuel was measured, in a word.
const fn measured(how: Measured) -> &'static str {
    match how {
        Measured::Brim => "full tank",
        Measured::Dip => "dipstick",
        Measured::Gauge => "gauge",
    }
}

/// What to do now, in a few words.
pub(crate) const fn advice(advice: Advice) -> &'static str {
    match advice {
        Advice::Continue => "CONTINUE",
        Advice::Fill => "FILL HERE, THEN CONTINUE",
        Advice::TurnBack => "TURN BACK NOW",
        Advice::Neither => "NEITHER IS ADVISED",
    }
}

/// What to check first when hardly any trip was expected with as much or as little.
const UNEXPECTED: &str = "Fewer than one trip in a hundred was expected to arrive here with this much: first check for a \
                          leak, the cans and the odometer.";

/// What to do where there is too little to continue and to return.
const SAVE_FUEL: &str = "Slow down to save fuel, call for help early, and stay with the vehicle.";

/// Where the trip is, what is on board, and whether to continue or turn back now; nothing of the latter at the finish and
/// without simulated trips.
pub fn now(plan: &Plan, units: Units) -> Option<String> {
    let here = here(plan.behind.as_deref()?, units);
    let Some(now) = plan.now() else {
        return Some(here);
    };
    let mut text = Vec::new();
    if now.unexpected {
        text.push(UNEXPECTED.to_owned());
    }
    text.push(format!("{}.", advice(now.advice)));
    text.push(here);
    text.push(needs(plan, &now, units));
    if let Some(km) = now.turn_back.filter(|_| now.advice != Advice::TurnBack) {
        text.push(format!("Turn-back point: {}.", units.at(km, Toward::Down)));
    }
    if now.advice == Advice::Neither {
        text.push(SAVE_FUEL.to_owned());
    }
    Some(text.join(" "))
}

/// What continuing and returning need, as a sentence. A figure is never more than what was read unless that is too little.
pub(super) fn needs(plan: &Plan, now: &Now, units: Units) -> String {
    let figure = |litres: Litres| {
        let toward = if now.aboard < litres - ROUNDING {
            Toward::Up
        } else {
            Toward::Down
        };
        units.spare(litres, toward).to_string()
    };
    let on = match (now.continue_with, now.continue_filling) {
        (Some(litres), Some(filling)) if filling > Litres::ZERO => {
            format!(
                "Continuing needs {}, or {} before filling here",
                figure(litres),
                figure(filling)
            )
        }
        (Some(litres), Some(_)) => {
            format!("Continuing needs {}, or filling here", figure(litres))
        }
        (Some(litres), None) => format!("Continuing needs {}", figure(litres)),
        (None, Some(filling)) if filling > Litres::ZERO => {
            format!("Continuing needs {} before filling here", figure(filling))
        }
        (None, Some(_)) => "Continuing needs filling here".to_owned(),
        (None, None) => "No amount is enough to continue".to_owned(),
    };
    let back = now.back.map_or_else(
        || "there is no return from here".to_owned(),
        |(refuge, needed)| {
            let refuge = node_name(plan, refuge);
            if needed > Litres::ZERO {
                format!("returning to {refuge} needs {}", figure(needed))
            } else {
                format!("returning to {refuge} needs filling here")
            }
        },
    );
    format!("{on}; {back}.")
}

/// What heads the plan of the return; nothing where the trip is not to turn back now.
pub fn return_title(plan: &Plan) -> Option<String> {
    let now = plan.now().filter(|now| now.advice == Advice::TurnBack)?;
    let (refuge, _) = now.back?;
    Some(format!(
        "{}: plan of the return to {}",
        advice(now.advice),
        node_name(plan, refuge)
    ))
}

/// A way that was driven, figures as text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct WayRow {
    /// From where to where.
    pub(crate) way: String,
    /// Litres that were used, and how far they may be off; nothing where that is not known.
    pub(crate) used: Option<[String; 2]>,
    /// Litres that were planned.
    pub(crate) planned: String,
    /// Used over planned: `+15 %`; nothing where nothing was planned.
    pub(crate) over: Option<String>,
    /// Way that was driven and that was planned.
    pub(crate) distance: [String; 2],
    /// Why nothing is learnt from it; nothing where something is.
    pub(crate) unlearnt: Option<&'static str>,
}

/// The ways that were driven against what was planned for them.
pub(crate) fn ways(plan: &Plan, units: Units) -> Vec<WayRow> {
    let ways = plan
        .behind
        .as_deref()
        .map_or(&[][..], |behind| &behind.ways);
    ways.iter().map(|way| row(plan, way, units)).collect()
}

fn row(plan: &Plan, way: &DrivenWay, units: Units) -> WayRow {
    let planned = plan.planned_for(way);
    let [from, to] = way.places.each_ref().map(|place| plain(place));
    let [planned_km, driven_km] = way.distance;
    WayRow {
        way: format!("{from} to {to}"),
        used: way
            .used
            .map(|used| [used, way.spread].map(|litres| units.litres(litres).number)),
        planned: units.litres(planned).number,
        over: way
            .used
            .filter(|used| *used > Litres::ZERO && planned.get() > 0.05)
            .map(|used| more(Factor::new(used / planned))),
        distance: [driven_km, planned_km].map(|km| units.distance(km, Toward::Nearest).to_string()),
        unlearnt: match way.worth {
            Worth::Counts => None,
            Worth::Stay => Some("no calibration from it: nothing was driven"),
            Worth::NoDeparture => {
                Some("no calibration from it: the departure was not written down")
            }
            Worth::Contradicts => Some(
                "no calibration from it: the fuel readings contradict one another or the route",
            ),
        },
    }
}

/// What stands where it is not known what was used.
pub(crate) const NOT_KNOWN: &str = "not known";

/// A way in a sentence.
pub(crate) fn sentence(row: &WayRow, units: Units) -> String {
    let over = row
        .over
        .as_ref()
        .map_or_else(String::new, |over| format!(" ({over})"));
    let doubt = row
        .unlearnt
        .map_or_else(String::new, |why| format!("; {why}"));
    let used = row.used.as_ref().map_or_else(
        || NOT_KNOWN.to_owned(),
        |[used, spread]| format!("{used} +- {spread} {}", units.fuel_unit()),
    );
    let planned = match row.used {
        Some(_) => row.planned.clone(),
        None => format!("{} {}", row.planned, units.fuel_unit()),
    };
    let [driven, planned_km] = &row.distance;
    format!(
        "{}: used {used}, planned {planned}{over}; driven {driven}, planned {planned_km}{doubt}.",
        row.way,
    )
}

/// How the log moved the factors of the vehicle.
pub(crate) fn factors(behind: &Behind) -> String {
    let [before, after] = &behind.factors;
    let moved: Vec<String> = Component::ALL
        .into_iter()
        .filter(|&each| (before.value(each).get() - after.value(each).get()).abs() >= MOVED)
        .map(|each| {
            format!(
                "{} {:.2} +- {:.2} (was {:.2} +- {:.2})",
                component(each),
                after.value(each).get(),
                after.spread(each).get(),
                before.value(each).get(),
                before.spread(each).get()
            )
        })
        .collect();
    if moved.is_empty() {
        "The fuel readings are too few or too rough to change a calibration factor.".to_owned()
    } else {
        format!("Calibration factors by now: {}.", moved.join(", "))
    }
}
