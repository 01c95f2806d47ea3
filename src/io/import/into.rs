//! An import into a trip: start and legs of the files take the place of the trip's, all else of it survives.

use super::notes::{Notes, counted};
use crate::model::Trip;
use crate::model::change::{Change, ChangeError, NewRoute};
use crate::model::geodesic;
use crate::model::route::Start;
use crate::quantity::Kilometres;

/// What an import changes of the trip that it goes into.
#[derive(Clone, Debug)]
pub struct Merged {
    /// The change that merges the import into the trip.
    pub change: Change,
    /// Each difference in a line.
    pub differences: Vec<String>,
}

/// The name of the change.
const NAME: &str = "take legs from files";
/// Files that begin farther from the last reading are noted.
const NEAR: Kilometres = Kilometres::new(1.0);

/// The start of the files, completed from the trip's. At another place only the odometer reading and the date stay,
/// which are those of the departure.
pub(super) fn start(before: &Start, stated: Start, is_named: bool) -> Start {
    let is_same = !is_named || stated.name == before.name;
    let has_position = stated.lat.is_some() || stated.lon.is_some();
    let place = if is_same {
        before.clone()
    } else {
        stated.clone()
    };
    let position = if has_position { &stated } else { &place };
    Start {
        name: place.name.clone(),
        lat: position.lat,
        lon: position.lon,
        altitude_m: stated.altitude_m.or(place.altitude_m),
        odometer_km: stated.odometer_km.or(before.odometer_km),
        date: stated.date.or(before.date),
        utc_offset: stated.utc_offset.or(before.utc_offset),
        fuel: stated.fuel.or(place.fuel),
    }
}

/// Puts the route of an imported trip into another trip; after the last fuel reading, if so much of it was driven.
///
/// # Errors
/// When a fuel reading was taken at a place that is no longer on the route, or the trip would be invalid.
pub(super) fn merged(
    before: &Trip,
    mut imported: Trip,
    is_after_reading: bool,
    notes: &mut Notes,
) -> Result<(Trip, Merged), String> {
    if is_after_reading {
        continue_from_reading(before, &mut imported, notes)?;
    }
    let route = NewRoute::new(before, imported.start, imported.legs.clone());
    let of_route = route.change(before, NAME);
    let made = of_route.apply(before);
    let (of_legs, _) = made.map_err(|error| reason(before, &error))?;
    // Data of a map carry its notice.
    let trip = Trip {
        notice: imported.notice.or(of_legs.notice.clone()),
        ..of_legs.clone()
    };
    let of_notice = Change::restated(&of_legs, &trip, NAME).map_err(|error| error.to_string())?;
    let change = of_route.then(of_notice);
    let tracks = route.kept_tracks(&imported.legs);
    if tracks > 0 {
        notes.add(format!(
            "The files state no track for {}, so the track of the trip was kept. Delete `track` where the route has changed",
            counted(tracks, "leg between the same places", "legs between the same places")
        ));
    }
    let is_unfit = |name: &str, trip: &Trip| {
        trip.unfit_what_ifs()
            .any(|(what_if, _)| what_if.name == name)
    };
    for (what_if, error) in trip.unfit_what_ifs() {
        if !is_unfit(&what_if.name, before) {
            notes.add(format!(
                "What-if `{}` no longer fits the trip: {}",
                what_if.name,
                error.reason()
            ));
        }
    }
    let differences = route.differences(before);
    Ok((
        trip,
        Merged {
            change,
            differences,
        },
    ))
}

/// Puts the legs up to the last fuel reading before the imported ones.
fn continue_from_reading(
    before: &Trip,
    imported: &mut Trip,
    notes: &mut Notes,
) -> Result<(), String> {
    let Some(last) = before.log().last() else {
        return Err("the trip has no fuel reading, so there is no leg that was driven".to_owned());
    };
    if last.to_next_km.is_some() {
        return Err(
            "the last fuel reading was taken between two places. Split the leg there, or enter a reading at a place"
                .to_owned(),
        );
    }
    let driven = last.place_number as usize;
    let here = before.place(driven);
    let begins = imported.place(0).position;
    if let Some((from, to)) = here.position.zip(begins) {
        let apart = Kilometres::from(geodesic::distance(from, to));
        if apart > NEAR {
            notes.add(format!(
                "The files begin {:.0} km from {}, the place of the last fuel reading",
                apart.get(),
                here.name
            ));
        }
    }
    let kept = before.legs.iter().take(driven).cloned();
    imported.legs.splice(0..0, kept);
    imported.start = before.start.clone();
    Ok(())
}

fn reason(before: &Trip, error: &ChangeError) -> String {
    match error {
        ChangeError::Logged(place_number) => {
            let leg = (*place_number as usize).checked_sub(1);
            let name = leg.and_then(|leg| before.legs.get(leg));
            let name = name.map_or_else(String::new, |leg| format!(", `{}`", leg.to));
            format!(
                "place {place_number}{name}, has a fuel reading, but the new legs do not lead there. Keep its leg, or delete the reading first"
            )
        }
        other => other.to_string(),
    }
}
