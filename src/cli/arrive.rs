//! `drystage arrive`: a reading on the route into the log, and the plan from there.

use super::args::Arrive;
use super::failure::Failure;
use super::files::Own;
use super::{Common, files, planned, print_plan, set, units};
use crate::model::Trip;
use crate::model::change::{Change, ChangeError};
use crate::model::check::{self, Problem};
use crate::model::log::{Belongs, Reading, belongs};
use crate::model::vocabulary::Measured;
use crate::plan::Plan;
use crate::present::number::Units;
use crate::present::under_way;
use crate::quantity::{Kilometres, Litres};

/// Writes the reading into the trip file, then prints the plan from there.
pub(crate) fn run(asked: &Arrive, common: &Common) -> Result<u8, Failure> {
    let (trip, file) = Own::read_with_legs(&asked.trip)?;
    let units = units(&trip, common);
    let stated = |litres: Option<f64>| litres.map(Litres::new);
    let mut reading = Reading {
        place_number: 0,
        odometer_km: Kilometres::new(asked.odometer),
        tank_left_l: Litres::new(asked.left),
        cans_left_l: None,
        how: asked.how.map(|how| match how {
            super::args::How::Brim => Measured::Brim,
            super::args::How::Dip => Measured::Dip,
            super::args::How::Gauge => Measured::Gauge,
        }),
        filled_l: stated(asked.filled),
        dry: asked.dry.then_some(true),
        to_next_km: asked.to_next.map(Kilometres::new),
        place: asked.to_next.is_some().then(|| asked.place.clone()),
    };
    let place_number = place_number(asked, &trip)?;
    reading.place_number = u32::try_from(place_number).unwrap_or(u32::MAX);
    let place = belongs(trip.log(), &reading, asked.again);
    reading.cans_left_l = cans_left(asked, common, &trip, place)?;
    let failed = |error: ChangeError| match error {
        ChangeError::Unsound(problems) => refused(&problems),
        other => Failure::Wrong(other.to_string()),
    };
    let change = Change::read_off(&trip, &reading, asked.again);
    let (with_reading, _) = change.apply(&trip).map_err(failed)?;
    // The values of the command line are checked like those of a file.
    let document =
        serde_json::to_value(&with_reading).map_err(|error| Failure::Failed(error.into()))?;
    let problems = check::problems(&document);
    if !problems.is_empty() {
        return Err(refused(&problems));
    }
    refuse_odd_odometer(&trip, &reading, asked, units)?;
    let trip = with_reading;
    let planning = set::with_changes(trip.clone(), &asked.changes, common)?;
    // The log is in the trip's own file, which is to change.
    file.write(&trip)?;
    note_corrections(&trip, asked, place_number, place, &change, common);
    print_plan(planning, &asked.changes, units, common)
}

/// Refuses an odometer that went back, and one that counts far from what is planned unless it is confirmed: a slip
/// of the finger would change every figure of the rest of the trip.
fn refuse_odd_odometer(
    trip: &Trip,
    reading: &Reading,
    asked: &Arrive,
    units: Units,
) -> Result<(), Failure> {
    let plan = Plan::best_estimate(trip.clone());
    let Some(odd) = plan.odd_odometer(reading, asked.again) else {
        return Ok(());
    };
    let hint = if odd.is_impossible() {
        ""
    } else if asked.sure {
        return Ok(());
    } else {
        "; add --sure if the reading is right"
    };
    let reason = under_way::odd_odometer(&odd, units);
    Err(Failure::Wrong(format!(
        "--odometer {}: {reason}{hint}",
        asked.odometer
    )))
}

/// The options of the command line for the values of a reading.
const OPTIONS: [(&str, &str); 7] = [
    ("/odometer_km", "--odometer"),
    ("/tank_left_l", "--left"),
    ("/cans_left_l", "--cans"),
    ("/filled_l", "--filled"),
    ("/to_next_km", "--to-next"),
    ("/place_number", "PLACE"),
    ("/place", "PLACE"),
];

/// A reading that makes the trip invalid. A value of the command line is named by its option.
fn refused(problems: &[Problem]) -> Failure {
    let texts = problems.iter().map(|problem| {
        let is_end = |(end, _): &&(&str, &str)| problem.pointer.ends_with(end);
        match OPTIONS.iter().find(is_end) {
            Some((_, option)) if problem.pointer.starts_with("/log/") => {
                format!("{option}: {}", problem.message)
            }
            _ => problem.to_string(),
        }
    });
    let texts: Vec<String> = texts.collect();
    Failure::Wrong(texts.join("; "))
}

/// Shows on stderr what of the log was put right, and which meeting with the place was meant where there are several.
fn note_corrections(
    trip: &Trip,
    asked: &Arrive,
    place_number: usize,
    place: Belongs,
    change: &Change,
    common: &Common,
) {
    let mut notes = Vec::new();
    if matches!(place, Belongs::Instead(_)) {
        notes.push(format!(
            "{}; use --again to keep both readings",
            change.name
        ));
    }
    let is_number = asked.place.parse::<usize>().is_ok();
    if asked.to_next.is_none() && !is_number && meetings(trip, &asked.place).count() > 1 {
        notes.push(format!(
            "the route passes {} more than once; by the odometer this is place {place_number}. Give the number instead of the name to choose another",
            trip.place(place_number).name
        ));
    }
    files::note(&notes, common.errors);
}

/// What is left in cans. Where there was something in them it must be given, since the plan would count on it.
fn cans_left(
    asked: &Arrive,
    common: &Common,
    trip: &Trip,
    place: Belongs,
) -> Result<Option<Litres>, Failure> {
    let (Belongs::Instead(number) | Belongs::At(number)) = place;
    let before = if let Some(reading) = trip.log()[..number].last() {
        reading.cans_left()
    } else {
        let set_out = planned(as_set_out(trip), common);
        set_out.on_board_at(Kilometres::ZERO).cans
    };
    match (asked.cans, asked.decanted) {
        (Some(left), _) => Ok(Some(Litres::new(left))),
        (None, Some(decanted)) if (0.0..=before.get()).contains(&decanted) => {
            Ok(Some(before - Litres::new(decanted)))
        }
        (None, Some(decanted)) => Err(Failure::Wrong(format!(
            "--decanted {decanted}: there were {:.1} L in cans before",
            before.get()
        ))),
        (None, None) if before > Litres::ZERO => Err(Failure::Wrong(format!(
            "add --cans L or --decanted L: there were {:.1} L in cans before",
            before.get()
        ))),
        (None, None) => Ok(None),
    }
}

/// The trip before anything was read off.
fn as_set_out(trip: &Trip) -> Trip {
    Trip {
        log: None,
        ..trip.clone()
    }
}

/// Number of the place where the reading was taken, or of the last one passed.
fn place_number(asked: &Arrive, trip: &Trip) -> Result<usize, Failure> {
    match (asked.to_next, &asked.past) {
        (None, _) => place(trip, "PLACE", &asked.place, asked.odometer),
        (Some(_), Some(past)) => place(trip, "--past", past, asked.odometer),
        (Some(_), None) => {
            let log = trip.log();
            let named = |reading: &&Reading| reading.place.as_ref() == Some(&asked.place);
            let reading = log.iter().rev().find(named).or(log.last());
            Ok(reading.map_or(0, |reading| reading.place_number as usize))
        }
    }
}

/// The places of a name.
fn meetings<'a>(trip: &'a Trip, name: &'a str) -> impl Iterator<Item = usize> + 'a {
    trip.places()
        .filter(move |place| place.name.eq_ignore_ascii_case(name))
        .map(|place| place.place_number)
}

/// The place of a name or number: of places of one name the one that agrees with the odometer.
fn place(trip: &Trip, what: &str, asked: &str, odometer: f64) -> Result<usize, Failure> {
    let last = trip.legs.len();
    if let Ok(number) = asked.parse::<usize>() {
        return if number <= last {
            Ok(number)
        } else {
            Err(Failure::Wrong(format!(
                "{what}: there is no place {number}; the places are 0 (start) to {last} (finish)"
            )))
        };
    }
    let mut found: Vec<usize> = meetings(trip, asked).collect();
    if found.len() > 1 {
        let would_show = would_show(trip);
        found.sort_by(|&a, &b| {
            let off = |place_number: usize| (would_show(place_number) - odometer).abs();
            off(a).total_cmp(&off(b)).then(a.cmp(&b))
        });
    }
    found.first().copied().ok_or_else(|| {
        let near = trip
            .places()
            .map(|place| (strsim::jaro_winkler(place.name, asked), place))
            .max_by(|a, b| a.0.total_cmp(&b.0))
            .map_or_else(String::new, |(_, place)| {
                format!(" Did you mean `{}` (place {})?", place.name, place.place_number)
            });
        Failure::Wrong(format!(
            "{what}: no place is called `{asked}`.{near} For a place outside the plan, add --to-next KM"
        ))
    })
}

/// What the odometer would show at a place, in kilometres, counted from the reading nearest to it on the route; where
/// it was never read, from the start.
fn would_show(trip: &Trip) -> impl Fn(usize) -> f64 {
    let plan = Plan::best_estimate(as_set_out(trip));
    let factor = trip.vehicle.odometer_factor();
    let shown = move |place_number: usize| -> f64 {
        let driven: Kilometres = plan.legs[..place_number]
            .iter()
            .map(|leg| leg.distance)
            .sum();
        driven.shown(factor).get()
    };
    let start = trip.start.odometer_km.map(|km| (0, km.get()));
    let read = trip
        .log()
        .iter()
        .filter(|reading| reading.to_next_km.is_none());
    let known: Vec<(usize, f64)> = read
        .map(|reading| (reading.place_number as usize, reading.odometer_km.get()))
        .chain(start)
        .collect();
    move |place_number| {
        let nearest = known.iter().min_by_key(|(at, _)| at.abs_diff(place_number));
        let &(at, odometer) = nearest.unwrap_or(&(0, 0.0));
        odometer + shown(place_number) - shown(at)
    }
}
