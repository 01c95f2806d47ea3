//! Daylight along a trip that states its date, its offset from UTC and coordinates, and what follows from it.

use crate::doubt::arrivals::{LegTime, elapsed};
use crate::model::Trip;
use crate::model::calendar::{Date, UtcOffset};
use crate::model::route::Position;
use crate::plan::facts::TripFacts;
use crate::plan::parts::Plan;
use crate::plan::parts::daylight::{Arrival, DayInLight, Daylight, SimulatedArrival};
use crate::plan::parts::finding::{Finding, What, Where};
use crate::plan::parts::legs::PlannedLeg;
use crate::quantity::{Hours, Metres, Share};
use crate::solver::sun::{Light, Sun, sun};

/// Departure after sunrise, unless stated. Common practice, no source.
const AFTER_SUNRISE: Hours = Hours::new(1.0);
/// Departure where the sun does not rise or does not set. Common practice, no source.
const WITHOUT_SUNRISE: Hours = Hours::new(8.0);
/// Time before sunset to find a camp and set it up. Common practice, no source.
const CAMP_SEARCH: Hours = Hours::new(1.0);
/// Above this altitude one should not sleep much higher than the night before: Wilderness Medical Society, clinical practice
/// guidelines for acute altitude illness, 2019 update (Luks et al., Wilderness Environ. Med. 30:S3; the figures from memory,
/// older and later summaries of them seen).
const HIGH: Metres = Metres::new(3000.0);
/// By how much at most; same source.
const HIGHER: Metres = Metres::new(500.0);

/// The daylight of a plan; `None` if the trip states no date, offset or coordinates.
pub(super) fn of(
    facts: &TripFacts<'_>,
    legs: &[PlannedLeg],
    target: Option<Share>,
) -> Option<Daylight> {
    let trip = facts.trip;
    let (date, offset) = (trip.start.date?, trip.start.utc_offset?);
    let times = times(trip, legs);
    let halts = trip.rules().halts();
    let simulated = target.map(|target| {
        let shares = [Share::new(0.05), target, Share::new(0.99).max(target)];
        elapsed(trip.rules().seed(), &times, halts, shares)
    });
    let mut days = Vec::new();
    for of_day in legs.chunk_by(|a, b| a.day == b.day) {
        // A day that has begun is driven as it goes.
        if of_day[0].n <= facts.from()
            || facts.passed() > facts.from() && of_day[0].n == facts.from() + 1
        {
            continue;
        }
        days.push(day(
            trip,
            (date, offset),
            of_day,
            &times,
            simulated.as_deref(),
        )?);
    }
    Some(Daylight { days })
}

fn times(trip: &Trip, legs: &[PlannedLeg]) -> Vec<LegTime> {
    let time = |leg: &PlannedLeg| LegTime {
        driving: leg.driving,
        idle: trip.legs[leg.n - 1].idle_h.unwrap_or_default(),
        surface: leg.surface,
        day: leg.day,
    };
    legs.iter().map(time).collect()
}

fn day(
    trip: &Trip,
    (first, offset): (Date, UtcOffset),
    legs: &[PlannedLeg],
    times: &[LegTime],
    simulated: Option<&[[Hours; 3]]>,
) -> Option<DayInLight> {
    let (begin, end) = (legs[0].n - 1, legs[legs.len() - 1].n);
    let date = first.plus_days(legs[0].day - 1)?;
    let at = |place: usize| sun(date, offset, position(trip, place)?);
    let (sun_at_start, sun_at_end) = (at(begin)?, at(end)?);
    let depart = departure(trip, begin, sun_at_start);
    let halts = 1.0 + trip.rules().halts().get();
    let mut since = Hours::ZERO;
    let arrivals: Vec<Arrival> = (begin..end)
        .map(|leg| {
            since += times[leg].driving * halts + times[leg].idle;
            Arrival {
                place_number: leg + 1,
                expected: depart + since,
                simulated: simulated.map(|simulated| {
                    let [earliest, at_target, nearly_all] = simulated[leg];
                    SimulatedArrival {
                        earliest: depart + earliest,
                        at_target: depart + at_target,
                        nearly_all: depart + nearly_all,
                    }
                }),
            }
        })
        .collect();
    let takes = arrivals.last().map(|last| last.latest() - depart);
    Some(DayInLight {
        day: legs[0].day,
        date,
        depart,
        sun_at_start,
        sun_at_end,
        latest_departure: sun_at_end
            .day
            .end()
            .zip(takes)
            .map(|(sunset, takes)| sunset - takes),
        arrivals,
    })
}

/// The departure of a day that begins with a leg (from 0).
fn departure(trip: &Trip, leg: usize, sun: Sun) -> Hours {
    if let Some(stated) = trip.legs[leg].depart {
        return stated.hours();
    }
    let sunrise = sun.day.begin();
    sunrise.map_or(WITHOUT_SUNRISE, |sunrise| sunrise + AFTER_SUNRISE)
}

/// The coordinates of a place, or of the nearest one before it that has any, or after it.
fn position(trip: &Trip, place: usize) -> Option<Position> {
    let at = |place: usize| trip.place(place).position;
    let before = (0..=place).rev().find_map(at);
    before.or_else(|| (place..=trip.legs.len()).find_map(at))
}

/// Adds what the days' light and the nights' altitudes give to find, gravest first.
pub(super) fn find(plan: &mut Plan, facts: &TripFacts<'_>) {
    let of_light = plan.daylight.iter().flat_map(|light| &light.days);
    let last_day = plan.legs.last().map(|leg| leg.day);
    let mut found: Vec<Finding> = of_light
        .filter_map(|day| in_light(day, last_day == Some(day.day)))
        .collect();
    found.extend(nights(facts, &plan.legs));
    plan.findings.extend(found);
    plan.findings.sort_by_key(Finding::severity);
}

/// Whether a day ends in the dark, or too late to look for a camp.
fn in_light(day: &DayInLight, is_last: bool) -> Option<Finding> {
    let last = day.last()?;
    let arrival = last.latest();
    let Sun {
        day: light,
        twilight,
    } = day.sun_at_end;
    let is_dark = match twilight {
        Light::Between(_, dusk) => arrival > dusk,
        Light::Always => false,
        Light::Never => true,
    };
    let at = Where::Place(last.place_number);
    if is_dark {
        let what = What::DayAfterDark {
            day: day.day,
            arrival,
            dusk: twilight.end(),
            latest_departure: day.latest_departure,
        };
        return Some(Finding { at, what });
    }
    let sunset = light.end()?;
    let what = What::CampSearch {
        day: day.day,
        arrival,
        sunset,
        latest_departure: day.latest_departure.map(|latest| latest - CAMP_SEARCH),
    };
    (!is_last && arrival > sunset - CAMP_SEARCH).then_some(Finding { at, what })
}

/// Nights high up that are much higher than the one before.
fn nights(facts: &TripFacts<'_>, legs: &[PlannedLeg]) -> Vec<Finding> {
    let Some(start) = facts.trip.start.altitude_m else {
        return Vec::new();
    };
    let mut altitude = start;
    let mut before = start;
    let mut found = Vec::new();
    let last = legs.last().map(|leg| leg.day);
    for day in legs.chunk_by(|a, b| a.day == b.day) {
        for leg in day {
            altitude = altitude + leg.ascent - leg.descent;
        }
        let end = &day[day.len() - 1];
        let is_night = Some(end.day) != last && end.n > facts.from();
        if is_night && altitude > HIGH && altitude - before > HIGHER {
            found.push(What::SleepAltitude { altitude, before }.at(Where::Place(end.n)));
        }
        before = altitude;
    }
    found
}
