//! Daylight by day: when the sun rises and sets, when one arrives, and the latest departure.

use crate::plan::Plan;
use crate::plan::daylight::DayInLight;
use crate::quantity::{Hours, Minutes};
use crate::solver::sun::Light;

use super::number::odds;

pub(crate) const TITLE: &str = "Daylight";

/// The heads of the columns, in two lines.
pub(crate) const HEADS: [[&str; 2]; 9] = [
    ["", "day"],
    ["", "date"],
    ["", "sunrise"],
    ["de-", "parture"],
    ["arrival,", "expected"],
    ["arrival,", "target"],
    ["", "sunset"],
    ["", "dark"],
    ["latest", "departure"],
];

/// One day, cell by cell.
pub(crate) fn rows(plan: &Plan) -> Vec<[String; 9]> {
    let days = plan.daylight.iter().flat_map(|light| &light.days);
    days.map(row).collect()
}

fn row(day: &DayInLight) -> [String; 9] {
    let last = day.last();
    [
        day.day.to_string(),
        format!("{} {}", day.date.weekday(), day.date),
        light(day.sun_at_start.day, Light::begin),
        clock(day.depart),
        last.map_or_else(dash, |arrival| clock(arrival.expected)),
        last.map_or_else(dash, |arrival| clock(arrival.latest())),
        light(day.sun_at_end.day, Light::end),
        light(day.sun_at_end.twilight, Light::end),
        day.latest_departure.map_or_else(dash, |latest| {
            if latest < day.sun_at_start.twilight.begin().unwrap_or(Hours::ZERO) {
                "too long".to_owned()
            } else {
                clock(latest)
            }
        }),
    ]
}

fn dash() -> String {
    "-".to_owned()
}

fn light(light: Light, end: fn(Light) -> Option<Hours>) -> String {
    match light {
        Light::Between(..) => end(light).map_or_else(dash, clock),
        Light::Always => "light".to_owned(),
        Light::Never => "none".to_owned(),
    }
}

/// The time of day: `17:20`; `01:10 +1` on the next day.
pub(crate) fn clock(time: Hours) -> String {
    const MINUTES_PER_DAY: f64 = 24.0 * 60.0;
    let minutes = Minutes::from(time).get().round();
    let days = (minutes / MINUTES_PER_DAY).floor();
    let of_day = minutes - days * MINUTES_PER_DAY;
    let text = format!("{:02}:{:02}", (of_day / 60.0).floor(), of_day % 60.0);
    if days == 0.0 {
        text
    } else {
        format!("{text} {days:+}")
    }
}

/// How the table is read.
pub(crate) fn how_to_read(plan: &Plan) -> String {
    let target = plan.doubt.as_ref().map_or_else(
        || "The arrival is the best estimate.".to_owned(),
        |doubt| {
            format!(
                "Target: by then {} of the simulated trips have arrived.",
                odds(doubt.success_target)
            )
        },
    );
    let offset = plan.trip.start.utc_offset;
    let offset = offset.map_or_else(String::new, |offset| offset.to_string());
    format!(
        "Local time, UTC{offset}. {target} Halts take {} min for each hour of driving. Dark: the end of civil twilight. Latest \
         departure: with it the day still ends before sunset, at the target. Level horizon: in a valley it is dark earlier.",
        (plan.trip.rules().halts().get() * 60.0).round()
    )
}

/// A head of two lines in one: `de-` and `parture` are one word.
pub(crate) fn joined([first, second]: [&str; 2]) -> String {
    match first.strip_suffix('-') {
        Some(begin) => format!("{begin}{second}"),
        None => format!("{first} {second}").trim_start().to_owned(),
    }
}

/// The daylight of one day, if it is known.
pub(super) fn of_day(plan: &Plan, day: u32) -> Option<&DayInLight> {
    let mut days = plan.daylight.iter().flat_map(|light| &light.days);
    days.find(|light| light.day == day)
}

/// The latest arrival of a day and when it is dark there: `arrive by 17:20, dark 18:05`.
pub(crate) fn in_short(plan: &Plan, day: u32) -> Option<String> {
    let day = of_day(plan, day)?;
    let arrival = clock(day.last()?.latest());
    let dark = day.sun_at_end.twilight.end()?;
    Some(format!("arrive by {arrival}, dark {}", clock(dark)))
}
