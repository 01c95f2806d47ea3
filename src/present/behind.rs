//! Words for a trip under way: where one is, whether to turn back now, what was used against what was planned, and what
//! the vehicle's factors are by now.

use super::finding::node_name;
use super::fit::component;
use super::name::plain;
use super::number::{Toward, Units};
use crate::model::fitted::Component;
use crate::plan::Plan;
use crate::plan::behind::{Advice, Behind, DrivenWay, Worth};
use crate::quantity::Litres;

/// A factor that moved by less is not told.
const MOVED: f64 = 0.005;

/// Where the trip is and what is aboard.
pub fn here(behind: &Behind, units: Units) -> String {
    let at = behind.to_next.map_or_else(
        || format!("At {}", plain(&behind.place)),
        |left| {
            let mut place = plain(&behind.place).into_owned();
            if let Some(first) = place.get_mut(..1) {
                first.make_ascii_uppercase();
            }
            format!(
                "{place}, {} before the next place",
                units.distance(left, Toward::Nearest)
            )
        },
    );
    format!(
        "{at}: {} usable aboard, of which {} are counted on (less 1.645 spreads of how it was measured).",
        units.fuel(behind.aboard, Toward::Down),
        units.fuel(behind.counted, Toward::Down),
    )
}

/// What to do now, in two or three words.
pub const fn advice(advice: Advice) -> &'static str {
    match advice {
        Advice::GoOn => "GO ON",
        Advice::Fill => "FILL HERE, THEN GO ON",
        Advice::TurnBack => "TURN BACK NOW",
        Advice::Stay => "STAY AND CALL FOR HELP",
    }
}

/// Whether to go on or turn back now, with the litres; nothing where the trip is not under way or at its finish.
pub fn now(plan: &Plan, units: Units) -> Option<String> {
    let now = plan.now()?;
    let up = |litres| units.fuel(litres, Toward::Up);
    let counted = units.fuel(plan.behind.as_deref()?.counted, Toward::Down);
    let filling = now.fill.map_or_else(String::new, |litres| {
        format!(", or {} with the fuel to be had here", up(litres))
    });
    let back = match &now.back {
        Some((refuge, needed)) => {
            let until = now.last.filter(|_| now.advice != Advice::TurnBack);
            let until = until.map_or_else(String::new, |point| {
                format!(
                    "; that can be done until {}",
                    units.at(point.at_km, Toward::Down)
                )
            });
            format!(
                "Turning back from here to {} takes {}{until}.",
                node_name(plan, *refuge),
                up(*needed)
            )
        }
        None => "No sure pump behind can be gone back to from here.".to_owned(),
    };
    Some(format!(
        "{}. {counted} are counted on, going on takes {}{filling}. {back}",
        advice(now.advice),
        up(now.go_on)
    ))
}

/// A way that was driven, figures as text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WayRow {
    /// From where to where.
    pub way: String,
    /// Litres that were used, and how far they may be off; nothing where that is not known.
    pub used: Option<[String; 2]>,
    /// Litres that were planned.
    pub planned: String,
    /// Used over planned: `+15 %`; nothing where nothing was planned.
    pub over: Option<String>,
    /// Way that was driven and that was planned.
    pub distance: [String; 2],
    /// Why nothing is learnt from it; nothing where something is.
    pub unlearnt: Option<&'static str>,
}

/// The ways that were driven against what was planned for them.
pub fn ways(plan: &Plan, units: Units) -> Vec<WayRow> {
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
            .map(|used| format!("{:+.0} %", (used / planned - 1.0) * 100.0)),
        distance: [driven_km, planned_km].map(|km| units.distance(km, Toward::Nearest).to_string()),
        unlearnt: match way.worth {
            Worth::Counts => None,
            Worth::Stay => Some("nothing is learnt from it: nothing was driven"),
            Worth::NoDeparture => {
                Some("nothing is learnt from it: the departure was not written down")
            }
            Worth::Contradicts => {
                Some("nothing is learnt from it: readings contradict one another or the way")
            }
        },
    }
}

/// What stands where it is not known what was used.
pub const NOT_KNOWN: &str = "not known";

/// A way in a sentence.
pub fn sentence(row: &WayRow, units: Units) -> String {
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
pub fn factors(behind: &Behind) -> String {
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
        "The readings are too few or too rough to move a factor of the vehicle.".to_owned()
    } else {
        format!("Factors of the vehicle by now: {}.", moved.join(", "))
    }
}
