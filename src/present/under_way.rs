//! A trip under way in words: fuel on board, whether to turn back now, fuel used and planned, and the updated
//! calibration factors.

use super::calibration::component;
use super::finding::place_name;
use super::name::{capitalized, plain};
use super::number::{Toward, Units, more};
use super::verdict;
use crate::calibrate::LikelyOff;
use crate::model::calibration::Component;
use crate::model::vocabulary::Measured;
use crate::plan::progress::{Advice, DrivenInterval, Now, OddOdometer, Progress, Worth};
use crate::plan::{Plan, PlannedLeg};
use crate::quantity::{Factor, Litres};
use crate::solver::fuel::ROUNDING;

/// A factor that changed by less is not shown.
const MOVED: f64 = 0.005;

/// The title of the section.
pub(crate) const TITLE: &str = "Under way";

/// How the section is read.
pub(crate) const HOW_TO_READ: &str = "driven legs show the fuel readings, shared out as planned between two of them; the rest is planned from the last one";

/// What is odd about an odometer reading.
pub(crate) fn odd_odometer(odd: &OddOdometer, units: Units) -> String {
    let distance = |km| units.distance(km, Toward::Nearest);
    let since = plain(&odd.since);
    if odd.is_impossible() {
        return format!(
            "{} less than at {since}: odometers do not count back",
            distance(odd.driven.abs())
        );
    }
    format!(
        "{} since {since}, where {} are planned",
        distance(odd.driven),
        distance(odd.planned)
    )
}

/// How many legs are driven.
pub(super) fn driven(plan: &Plan) -> usize {
    let progress = plan.progress.as_deref();
    progress.map_or(0, |progress| progress.place_number)
}

/// Where the trip is and what is on board.
pub(super) fn here(progress: &Progress, units: Units) -> String {
    let place = plain(&progress.place);
    let at = progress.to_next.map_or_else(
        || format!("At {place}"),
        |left| {
            let left = units.distance(left, Toward::Nearest);
            format!("{}, {left} before the next place:", capitalized(&place))
        },
    );
    format!(
        "{at} you have {} ({}, ±{}).",
        units.fuel_tenths(progress.on_board, Toward::Down),
        measured(progress.how),
        units.fuel(progress.error, Toward::Up),
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

/// What to check first after a reading that hardly any simulated trip has.
const UNEXPECTED: &str = "Fewer than 1 in 100 trips arrive here with this much. First check for a leak, the cans and the \
                          odometer.";

/// What to do where there is too little to continue and to return.
const SAVE_FUEL: &str = "Slow down to save fuel, call for help early, and stay with the vehicle.";

/// What to do now, fuel on board, and what continuing and returning need; only the fuel on board at the finish and
/// without a simulation.
pub fn now(plan: &Plan, units: Units) -> Option<String> {
    let here = here(plan.progress.as_deref()?, units);
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
    let continues = matches!(now.advice, Advice::Continue | Advice::Fill);
    if let Some(km) = now.turn_back.filter(|_| continues) {
        text.push(format!("Turn-back point: {}.", units.at(km, Toward::Down)));
    }
    if now.advice == Advice::Neither {
        text.push(SAVE_FUEL.to_owned());
    }
    Some(text.join(" "))
}

/// The verdict at the head of a report: under way what to do now, then whether the target is met, on a return that of
/// the return.
pub(crate) fn head(plan: &Plan, units: Units) -> Vec<String> {
    let shown = plan.return_plan().unwrap_or(plan);
    let Some(now) = now(plan, units).filter(|_| plan.now().is_some()) else {
        return vec![verdict::sentence(shown, units)];
    };
    let Some(target) = verdict::target(shown, units) else {
        return vec![verdict::sentence(shown, units), now];
    };
    match plan.return_plan().and(plan.now()).and_then(|now| now.back) {
        Some((refuge, _)) => {
            let refuge = place_name(plan, refuge);
            vec![
                now,
                format!("This is the plan of the return to {refuge}. {target}"),
            ]
        }
        None => vec![format!("{now} {target}")],
    }
}

/// What continuing and returning need, as a sentence. A figure is never more than what is on board unless that is too
/// little.
pub(super) fn needs(plan: &Plan, now: &Now, units: Units) -> String {
    let figure = |litres: Litres| {
        let toward = if now.on_board < litres - ROUNDING {
            Toward::Up
        } else {
            Toward::Down
        };
        units.fuel_tenths(litres, toward).to_string()
    };
    let or_fill = |litres: Litres| {
        if litres > Litres::ZERO {
            format!("{} and a fill here", figure(litres))
        } else {
            "a fill here".to_owned()
        }
    };
    let on = match (now.continue_with, now.continue_filling) {
        (Some(litres), Some(filling)) => {
            format!(
                "Continuing needs {}, or {}",
                figure(litres),
                or_fill(filling)
            )
        }
        (Some(litres), None) => format!("Continuing needs {}", figure(litres)),
        (None, Some(filling)) => format!("Continuing needs {}", or_fill(filling)),
        (None, None) => "No amount is enough to continue".to_owned(),
    };
    let is_at_start = plan.progress.is_some() && driven(plan) == 0;
    let back = match now.back {
        Some((refuge, needed)) => {
            let needed = match needed {
                litres if litres > Litres::ZERO => figure(litres),
                _ => "a fill here".to_owned(),
            };
            format!("; returning to {} needs {needed}", place_name(plan, refuge))
        }
        None if is_at_start => String::new(),
        None => "; no return is possible".to_owned(),
    };
    format!("{on}{back}.")
}

/// The title of the plan of the return; `None` if the trip is not to turn back now.
pub fn return_title(plan: &Plan) -> Option<String> {
    let now = plan.now().filter(|now| now.advice == Advice::TurnBack)?;
    let (refuge, _) = now.back?;
    Some(format!(
        "{}: plan of the return to {}",
        advice(now.advice),
        place_name(plan, refuge)
    ))
}

/// A driven interval, figures as text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct IntervalRow {
    /// From where to where.
    pub(crate) between: String,
    /// Litres used with their standard deviation; `None` if unknown.
    pub(crate) used: Option<[String; 2]>,
    pub(crate) planned: String,
    /// Used over planned: `+15 %`; `None` if nothing was planned.
    pub(crate) over: Option<String>,
    /// Distance driven, and planned.
    pub(crate) distance: [String; 2],
    /// Why the calibration ignores it; `None` if it does not.
    pub(crate) unlearnt: Option<&'static str>,
    /// What most probably makes the difference; `None` if there is hardly any.
    pub(crate) likely_off: Option<&'static str>,
}

/// A difference between used and planned that is smaller, as a part of what was planned, needs no cause.
const WORTH_A_CAUSE: f64 = 0.05;

/// What most probably makes the difference between used and planned; `None` where that is small or not known.
pub(crate) fn likely_off(plan: &Plan, interval: &DrivenInterval) -> Option<LikelyOff> {
    let planned = plan.planned_for(interval);
    let used = interval.used.filter(|_| interval.worth == Worth::Counts)?;
    let is_large = (used - planned).abs() > planned * WORTH_A_CAUSE;
    is_large.then_some(interval.likely_off)
}

/// A cause in words.
const fn cause(likely: LikelyOff) -> &'static str {
    match likely {
        LikelyOff::Factor(Component::Base) => "base consumption",
        LikelyOff::Factor(Component::Sand) => "consumption in sand",
        LikelyOff::Factor(Component::LowRange) => "consumption in low range",
        LikelyOff::Factor(Component::Roof) => "drag of the roof load",
        LikelyOff::Factor(Component::Idle) => "consumption while idling",
        LikelyOff::Days => "wind, traffic and driving",
        LikelyOff::Readings => "the fuel readings",
    }
}

/// A driven leg, figures as text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct LegRow {
    /// Its number and where it leads.
    pub(crate) leg: String,
    /// Litres planned at the start of the trip, and used.
    pub(crate) litres: [String; 2],
    /// Used over planned: `+15 %`; `None` if nothing was planned.
    pub(crate) over: Option<String>,
}

/// The title of [`legs_used`], and how it is read.
pub(crate) const LEGS_USED: [&str; 2] = [
    "Fuel by leg",
    "planned at the start and used; shared out between two fuel readings",
];

/// What each leg of a finished trip was planned to use and used; empty before the finish.
pub(crate) fn legs_used(plan: &Plan, units: Units) -> Vec<LegRow> {
    let planned = plan.as_planned().filter(|_| verdict::is_finished(plan));
    let legs = planned.map_or(&[][..], |planned| &planned.legs);
    let row = |(before, after): (&PlannedLeg, &PlannedLeg)| LegRow {
        leg: format!("{} {}", before.n, place_name(plan, before.n)),
        litres: [before.fuel, after.fuel]
            .map(|litres| units.fuel_tenths(litres, Toward::Nearest).number),
        over: (before.fuel.get() > 0.05).then(|| more(Factor::new(after.fuel / before.fuel))),
    };
    legs.iter().zip(&plan.legs).map(row).collect()
}

/// What becomes of what the readings of a finished trip taught.
pub(crate) fn keep_learnt(plan: &Plan) -> Option<&'static str> {
    let progress = plan
        .progress
        .as_deref()
        .filter(|_| verdict::is_finished(plan))?;
    moved(progress).next().is_some().then_some(
        "Other trips can use what the fuel readings taught: W on the screen puts the vehicle on the shelf, and --vehicle-from takes it from this trip.",
    )
}

/// The driven intervals with what was planned for them.
pub(crate) fn intervals(plan: &Plan, units: Units) -> Vec<IntervalRow> {
    let intervals = plan
        .progress
        .as_deref()
        .map_or(&[][..], |progress| &progress.intervals);
    intervals
        .iter()
        .map(|interval| row(plan, interval, units))
        .collect()
}

fn row(plan: &Plan, interval: &DrivenInterval, units: Units) -> IntervalRow {
    let planned = plan.planned_for(interval);
    let [from, to] = interval.places.each_ref().map(|place| plain(place));
    let [planned_km, driven_km] = interval.distance;
    IntervalRow {
        between: format!("{from} to {to}"),
        used: interval.used.map(|used| {
            [used, interval.spread].map(|litres| units.fuel_tenths(litres, Toward::Nearest).number)
        }),
        planned: units.fuel_tenths(planned, Toward::Nearest).number,
        over: interval
            .used
            .filter(|used| *used > Litres::ZERO && planned.get() > 0.05)
            .map(|used| more(Factor::new(used / planned))),
        likely_off: likely_off(plan, interval).map(cause),
        distance: [driven_km, planned_km].map(|km| units.distance(km, Toward::Nearest).to_string()),
        unlearnt: match interval.worth {
            Worth::Counts => None,
            Worth::NothingDriven => Some("not used for calibration: nothing was driven"),
            Worth::NoDeparture => Some("not used for calibration: no departure reading"),
            Worth::Contradicts => Some(
                "not used for calibration: the fuel readings conflict with each other or with the distance",
            ),
        },
    }
}

/// Instead of litres used that are not known.
pub(crate) const NOT_KNOWN: &str = "unknown";

/// A driven interval in a sentence.
pub(crate) fn sentence(row: &IntervalRow, units: Units) -> String {
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
    let [driven, planned_km] = &row.distance;
    let planned_km = if driven == planned_km {
        String::new()
    } else {
        format!(" (planned {planned_km})")
    };
    let cause = row
        .likely_off
        .map_or_else(String::new, |cause| format!("; most likely off: {cause}"));
    format!(
        "{}, {driven}{planned_km}: used {used}, planned {} {}{over}{cause}{doubt}.",
        row.between,
        row.planned,
        units.fuel_unit(),
    )
}

/// The factors that the trip log changed.
fn moved(progress: &Progress) -> impl Iterator<Item = Component> {
    let [before, after] = &progress.factors;
    let by = |each| (before.value(each).get() - after.value(each).get()).abs();
    Component::ALL
        .into_iter()
        .filter(move |&each| by(each) >= MOVED)
}

/// How the trip log changed the calibration factors.
pub(crate) fn factors(progress: &Progress) -> String {
    let [before, after] = &progress.factors;
    let moved: Vec<String> = moved(progress)
        .map(|each| {
            format!(
                "{} {:.2} +- {:.2} (before: {:.2} +- {:.2})",
                component(each),
                after.value(each).get(),
                after.spread(each).get(),
                before.value(each).get(),
                before.spread(each).get()
            )
        })
        .collect();
    if moved.is_empty() {
        "The fuel readings are too few or too rough to change the calibration.".to_owned()
    } else {
        format!("Updated calibration factors: {}.", moved.join(", "))
    }
}
