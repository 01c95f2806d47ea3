//! `drystage arrive`: a reading on the way into the log, and the plan from there.

use super::args::Arrive;
use super::failure::Failure;
use super::{Common, DONE, files, planned, units};
use crate::model::Trip;
use crate::model::check;
use crate::model::log::Reading;
use crate::model::vocabulary::Measured;
use crate::quantity::{Kilometres, Litres, Share};
use crate::report::{Case, text};

/// Writes the reading into the trip file, then prints the plan from there.
pub fn run(asked: &Arrive, common: &Common) -> Result<u8, Failure> {
    let mut trip = files::read_trip(&asked.trip)?;
    let units = units(&trip, common);
    let node = place(&trip, &asked.place)?;
    if asked.dry {
        found_dry(&mut trip, node);
    }
    let stated = |litres: Option<f64>| litres.map(Litres::new);
    trip.log.get_or_insert_default().push(Reading {
        node: u32::try_from(node).unwrap_or(u32::MAX),
        odometer_km: Kilometres::new(asked.odometer),
        tank_left_l: Litres::new(asked.left),
        cans_left_l: stated(asked.cans),
        how: asked.how.map(|how| match how {
            super::args::How::Brim => Measured::Brim,
            super::args::How::Dip => Measured::Dip,
            super::args::How::Gauge => Measured::Gauge,
        }),
        filled_l: stated(asked.filled),
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

/// The place of a name or number: of places of one name the first that is not yet behind.
fn place(trip: &Trip, asked: &str) -> Result<usize, Failure> {
    let from = trip.log().last().map_or(0, |reading| reading.node as usize);
    let last = trip.legs.len();
    if let Ok(number) = asked.parse::<usize>() {
        return if (from..=last).contains(&number) {
            Ok(number)
        } else {
            Err(Failure::Wrong(format!(
                "PLACE must be {from} to {last}, the places that are not yet behind, got {number}"
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
                "PLACE must be the name or number of a place that is not yet behind, got `{asked}`{near}"
            ))
        })
}

/// A pump that was met dry has nothing at any visit.
fn found_dry(trip: &mut Trip, node: usize) {
    let name = trip.place(node).name.to_owned();
    if trip.start.name == name
        && let Some(fuel) = &mut trip.start.fuel
    {
        fuel.chance = Some(Share::ZERO);
    }
    for leg in trip.legs.iter_mut().filter(|leg| leg.to == name) {
        if let Some(fuel) = &mut leg.fuel {
            fuel.chance = Some(Share::ZERO);
        }
    }
}
