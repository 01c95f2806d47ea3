//! The page for those who stay at home: where one will be, by when, and when to worry. Everything on it is computed, or left
//! open to be filled in by hand.
//!
//! Without a date, an offset from UTC or coordinates there are no times; the page then names what is missing.

use super::card;
use super::daylight::{clock, of_day};
use super::finding::place_name;
use super::load;
use super::name::plain;
use super::number::{Toward, Units, odds};
use crate::plan::Plan;
use crate::plan::daylight::{Arrival, DayInLight};
use crate::quantity::{Hours, Kilometres};

pub(crate) const TITLE: &str = "For those at home";

/// What the page is, and what it is not.
pub(crate) const WHAT_IT_IS: &str = "Leave this page with somebody who answers the phone. Alarm times are as the local rescue service instructs; ask it \
     before setting out. This page is no substitute for its advice.";

/// What is filled in by hand.
pub(crate) const BY_HAND: [&str; 8] = [
    "People: names, ages, medical needs",
    "Vehicle: registration, colour, marks on the roof",
    "Telephone and satellite numbers, radio call sign and channel",
    "Beacon: kind and number",
    "We report by, at these hours",
    "Rescue service here, its number, and the alarm time that it instructs",
    "Somebody who knows the route",
    "Changes under way: day, what, reported by",
];

/// A day: where it leads, and when one arrives.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct HomeDay {
    /// `Day 2, Sun 2027-02-14`.
    pub(crate) day: String,
    /// The places with their coordinates, the one where it begins first.
    pub(crate) places: Vec<HomePlace>,
}

/// A place of the route.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct HomePlace {
    /// Distance from the start, as in `km 340`.
    pub(crate) at: String,
    pub(crate) name: String,
    /// `42.61167 S, 120.50828 W`; `None` if unknown.
    pub(crate) position: Option<String>,
    /// `16:40 (15:50 to 18:05)`, or the departure; `None` without times.
    pub(crate) time: Option<String>,
}

/// The days that are still to be driven.
pub(crate) fn days(plan: &Plan, units: Units) -> Vec<HomeDay> {
    let here = plan.here().unwrap_or_default();
    let days = plan.legs.chunk_by(|a, b| a.day == b.day);
    let days = days.filter(|legs| {
        let last = &legs[legs.len() - 1];
        last.from_km + last.distance > here || here == Kilometres::ZERO
    });
    days.map(|legs| {
        let light = of_day(plan, legs[0].day);
        let begin = place(plan, legs[0].n - 1, legs[0].from_km, units);
        let mut places = vec![HomePlace {
            time: light.map(|light| format!("{} departure", clock(light.depart))),
            ..begin
        }];
        places.extend(legs.iter().map(|leg| HomePlace {
            time: light.and_then(|light| arrival(light, leg.n)),
            ..place(plan, leg.n, leg.from_km + leg.distance, units)
        }));
        HomeDay {
            day: light.map_or_else(
                || format!("Day {}", legs[0].day),
                |light| format!("Day {}, {} {}", light.day, light.date.weekday(), light.date),
            ),
            places,
        }
    })
    .collect()
}

fn place(plan: &Plan, place_number: usize, at: Kilometres, units: Units) -> HomePlace {
    let place = plan.trip.place(place_number);
    HomePlace {
        at: units.at(at, Toward::Nearest),
        name: plain(place.name).into_owned(),
        position: place.position.map(|position| {
            let half = |degrees: f64, ends: [&str; 2]| {
                let end = ends[usize::from(degrees < 0.0)];
                format!("{:.5} {end}", degrees.abs())
            };
            format!(
                "{}, {}",
                half(position.lat.get(), ["N", "S"]),
                half(position.lon.get(), ["E", "W"])
            )
        }),
        time: None,
    }
}

fn arrival(light: &DayInLight, place_number: usize) -> Option<String> {
    let mut arrivals = light.arrivals.iter();
    let arrival = arrivals.find(|arrival| arrival.place_number == place_number)?;
    let expected = clock(arrival.expected);
    Some(match arrival.simulated {
        Some(simulated) => format!(
            "{expected} ({} to {})",
            clock(simulated.earliest),
            clock(arrival.latest())
        ),
        None => expected,
    })
}

/// What the times are.
pub(crate) fn times(plan: &Plan) -> String {
    if plan.daylight.is_none() {
        return "There are no times: the trip file sets no date, UTC offset or coordinates for the start. Fill in the hours by \
                hand."
            .to_owned();
    }
    let offset = plan.trip.start.utc_offset;
    let offset = offset.map_or_else(String::new, |offset| offset.to_string());
    match &plan.doubt {
        Some(doubt) => format!(
            "Local time, UTC{offset}: the expected arrival, and in brackets the earliest (5 % are earlier) and the latest at \
             the {} target. Halts are included, breakdowns are not.",
            odds(doubt.success_target)
        ),
        None => format!("Local time, UTC{offset}: the expected arrival, without uncertainty."),
    }
}

/// The hour after which to worry, computed; `None` without times.
pub(crate) fn worry(plan: &Plan) -> Option<String> {
    let day = plan.daylight.as_ref()?.days.last()?;
    let last: &Arrival = day.last()?;
    let latest = last.simulated.map_or(last.expected, |simulated| {
        simulated.nearly_all.max(last.expected)
    });
    let arrived = if last.simulated.is_some() {
        "By then 99 % of the simulated trips have arrived"
    } else {
        "That is the expected arrival, without uncertainty"
    };
    // To the next full hour: who waits reads no minutes.
    let hour = Hours::new(latest.get().ceil());
    let place = plan
        .legs
        .last()
        .map_or_else(String::new, |leg| plain(&leg.to).into_owned());
    Some(format!(
        "Worry if there is no word from {place} by {} {} {}. {arrived}, breakdowns and returns apart. Then call first, and \
         next the rescue service.",
        day.date.weekday(),
        day.date,
        clock(hour)
    ))
}

/// Where the trip may turn back, and to where.
pub(crate) fn turn_backs(plan: &Plan, units: Units) -> Vec<String> {
    let points = plan.stages.iter().filter_map(|stage| stage.turn_back);
    points
        .map(|point| {
            format!(
                "Up to {} the trip may turn back to {}, {} back.",
                units.at(point.at_km, Toward::Down),
                place_name(plan, point.refuge),
                units.distance(point.way_back, Toward::Up)
            )
        })
        .collect()
}

/// Water and fuel on board, and how long they last.
pub(crate) fn supplies(plan: &Plan, units: Units) -> Vec<String> {
    let mut lines = load::supplies(plan, units);
    let stages = plan.stages.iter();
    lines.extend(stages.map(|stage| {
        let fuel = units.by_gauge(stage.on_board, Toward::Down);
        format!(
            "Fuel: {fuel} on leaving {}, for {} to {}.",
            place_name(plan, stage.from),
            units.distance(stage.distance, Toward::Nearest),
            place_name(plan, stage.to)
        )
    }));
    lines.extend(lasts(plan, units));
    lines
}

/// How far the fuel of the start leads.
fn lasts(plan: &Plan, units: Units) -> Option<String> {
    let first = plan.range_left().first()?;
    let check = plan.fuel_checks.first()?;
    let place = card::check_place(check);
    Some(match first.until_empty {
        Some(km) => format!(
            "Without another fill, the fuel on board at {place} is gone after {} more at the earliest (at the target).",
            units.distance(km, Toward::Down)
        ),
        None => format!(
            "Without another fill, the fuel on board at {place} lasts to the finish (at the target)."
        ),
    })
}
