//! `drystage arrive`: a reading on the way into the log, and the plan from there.

use super::args::Arrive;
use super::failure::Failure;
use super::{Common, DONE, files, planned, units};
use crate::model::Trip;
use crate::model::check;
use crate::model::log::Reading;
use crate::model::vocabulary::Measured;
use crate::plan::Plan;
use crate::quantity::{Kilometres, Litres};
use crate::report::{Case, text};

/// Writes the reading into the trip file, then prints the plan from there.
pub fn run(asked: &Arrive, common: &Common) -> Result<u8, Failure> {
    let mut trip = files::read_trip(&asked.trip)?;
    let units = units(&trip, common);
    let last = trip.log().last().map_or(0, |reading| reading.node as usize);
    let (node, off_plan) = match (asked.to_next, &asked.past) {
        (None, _) => (place(&trip, "PLACE", &asked.place)?, None),
        (Some(_), Some(past)) => (place(&trip, "--past", past)?, Some(asked.place.clone())),
        (Some(_), None) => (last, Some(asked.place.clone())),
    };
    let stated = |litres: Option<f64>| litres.map(Litres::new);
    let cans = cans_left(asked, &trip)?;
    trip.log.get_or_insert_default().push(Reading {
        node: u32::try_from(node).unwrap_or(u32::MAX),
        odometer_km: Kilometres::new(asked.odometer),
        tank_left_l: Litres::new(asked.left),
        cans_left_l: cans,
        how: asked.how.map(|how| match how {
            super::args::How::Brim => Measured::Brim,
            super::args::How::Dip => Measured::Dip,
            super::args::How::Gauge => Measured::Gauge,
        }),
        filled_l: stated(asked.filled),
        dry: asked.dry.then_some(true),
        to_next_km: asked.to_next.map(Kilometres::new),
        place: off_plan,
    });
    // What the command line holds is checked as if it had stood in the file.
    let document = serde_json::to_value(&trip).map_err(|error| Failure::Failed(error.into()))?;
    let problems = check::problems(&document);
    if !problems.is_empty() {
        return Err(Failure::Unusable {
            file: "the trip with this arrival".to_owned(),
            problems,
        });
    }
    // The log is in the trip's own file, which is to change.
    files::write_trip(&asked.trip, &trip, true)?;
    files::print(&text::report(
        Case::as_stated(&planned(trip, common)),
        units,
    ))?;
    Ok(DONE)
}

/// What is left in cans. Where there was something in them it must be said, since the plan would count on it.
fn cans_left(asked: &Arrive, trip: &Trip) -> Result<Option<Litres>, Failure> {
    let before = match trip.log().last() {
        Some(reading) => reading.cans_left(),
        None => {
            Plan::of(Trip::clone(trip))
                .on_board_at(Kilometres::ZERO)
                .cans
        }
    };
    match (asked.cans, asked.poured) {
        (Some(left), _) => Ok(Some(Litres::new(left))),
        (None, Some(poured)) if (0.0..=before.get()).contains(&poured) => {
            Ok(Some(before - Litres::new(poured)))
        }
        (None, Some(poured)) => Err(Failure::Wrong(format!(
            "--poured must be 0 to {:.1}, the litres that were in cans, got {poured}",
            before.get()
        ))),
        (None, None) if before > Litres::ZERO => Err(Failure::Wrong(format!(
            "--cans or --poured must be stated, since {:.1} L were in cans before",
            before.get()
        ))),
        (None, None) => Ok(None),
    }
}

/// The place of a name or number: of places of one name the first that is not yet behind.
fn place(trip: &Trip, what: &str, asked: &str) -> Result<usize, Failure> {
    let from = trip.log().last().map_or(0, |reading| reading.node as usize);
    let last = trip.legs.len();
    if let Ok(number) = asked.parse::<usize>() {
        return if (from..=last).contains(&number) {
            Ok(number)
        } else {
            Err(Failure::Wrong(format!(
                "{what} must be {from} to {last}, the places that are not yet behind, got {number}"
            )))
        };
    }
    let places = || trip.places().skip(from);
    places()
        .find(|place| place.name.eq_ignore_ascii_case(asked))
        .map(|place| place.node)
        .ok_or_else(|| {
            let near = places()
                .map(|place| (strsim::jaro_winkler(place.name, asked), place))
                .max_by(|a, b| a.0.total_cmp(&b.0))
                .map_or_else(String::new, |(_, place)| {
                    format!("; {} `{}` is near", place.node, place.name)
                });
            Failure::Wrong(format!(
                "{what} must be the name or number of a place that is not yet behind, got `{asked}`{near}; \
                 a place that is not in the plan takes --to-next"
            ))
        })
}
