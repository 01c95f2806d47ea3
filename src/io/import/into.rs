//! An import into a trip: start and legs of the files take the place of the trip's, all else of it survives.

use super::notes::{Notes, counted};
use crate::model::Trip;
use crate::model::change::{ChangeError, NewRoute};
use crate::model::route::Start;

/// The trip with the route of the files, and every difference in a line.
#[derive(Debug)]
pub(super) struct Merged {
    pub(super) trip: Trip,
    pub(super) differences: Vec<String>,
}

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

/// Puts the route of an imported trip into another trip.
///
/// # Errors
/// When a fuel reading was taken at a place that is no longer on the route, or the trip would be invalid.
pub(super) fn merged(before: &Trip, imported: Trip, notes: &mut Notes) -> Result<Merged, String> {
    let route = NewRoute::new(before, imported.start, imported.legs.clone());
    let (mut trip, _) = route
        .change(before, "import a route")
        .apply(before)
        .map_err(|error| reason(before, &error))?;
    // Data of a map carry its notice.
    trip.notice = imported.notice.or(trip.notice);
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
    Ok(Merged {
        differences: route.differences(before),
        trip,
    })
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
