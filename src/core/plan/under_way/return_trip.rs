//! The return of a trip under way, as a trip of its own.
//!
//! It starts where the last fuel reading was taken, with what was read; its legs are those that were driven, the last
//! one first and each from its other end; it ends at the refuge. A fuel stop off the route is one leg more.

use super::UnderWay;
use crate::consumption::terrain::{self, Terrain};
use crate::model::Trip;
use crate::model::line::Polyline;
use crate::model::route::{FIRST_DAY, FuelStop, Leg, Place, Start, WayBack};
use crate::model::track::Track;
use crate::quantity::{Factor, Kilometres, Metres};

/// The return from where a trip is to a refuge behind, a place number.
pub(in crate::plan) fn return_trip(under_way: &UnderWay, refuge: usize) -> Trip {
    let trip = &under_way.trip;
    let terrain = terrain::along(trip);
    let days = trip.days();
    let place_number = under_way.place_number;
    let begun = under_way.aside.as_ref();
    let last_driven = if begun.is_some() {
        Some(place_number)
    } else {
        place_number.checked_sub(1)
    };
    let today = last_driven.map_or(FIRST_DAY, |leg| days[leg]);
    let mut legs = Vec::new();
    if let Some((leg, terrain)) = begun {
        legs.push(back_over(leg, terrain, trip.place(place_number), today));
    }
    for at in (refuge..place_number).rev() {
        // Nights fall where they fell on the route out.
        let day = today + (today - days[at]);
        legs.push(back_over(&trip.legs[at], &terrain[at], trip.place(at), day));
    }
    if let Some(leg) = detour(trip, refuge, legs.last().and_then(|leg| leg.day)) {
        if let Some(before) = legs.last_mut() {
            before.fuel = None;
        }
        legs.push(leg);
    }
    let mut rules = trip.rules().clone();
    rules.start_error = Some(under_way.progress.error);
    Trip {
        rules: Some(rules),
        start: start(under_way),
        legs,
        what_ifs: None,
        log: None,
        ..trip.clone()
    }
}

/// Where the last fuel reading was taken.
fn start(under_way: &UnderWay) -> Start {
    let here = under_way.trip.place(under_way.place_number);
    let at_place = under_way.aside.is_none();
    let position = here.position.filter(|_| at_place);
    Start {
        name: under_way.progress.place.clone(),
        lat: position.map(|position| position.lat),
        lon: position.map(|position| position.lon),
        altitude_m: None,
        odometer_km: Some(under_way.progress.odometer),
        date: under_way.trip.start.date,
        utc_offset: under_way.trip.start.utc_offset,
        fuel: here.fuel.filter(|_| at_place).cloned(),
    }
}

/// A leg driven back to a place.
fn back_over(leg: &Leg, terrain: &Terrain, to: Place<'_>, day: u32) -> Leg {
    Leg {
        to: to.name.to_owned(),
        lat: to.position.map(|position| position.lat),
        lon: to.position.map(|position| position.lon),
        day: Some(day),
        distance_km: Some(terrain.distance),
        ascent_m: Some(terrain.descent),
        descent_m: Some(terrain.ascent),
        ascent_grade: Some(terrain.descent_grade),
        descent_grade: Some(terrain.ascent_grade),
        mean_altitude_m: Some(terrain.altitude),
        // The outward leg takes what the formula gives.
        way_back: Some(WayBack {
            possible: Some(leg.can_return()),
            factor: Some(Factor::new(1.0)),
        }),
        litres_factor: Some(leg.return_factor()),
        fuel: to.fuel.cloned(),
        track: leg.track.as_ref().and_then(backwards),
        ..leg.reversed()
    }
}

/// The lines of a track from the other end, those of a file, too: what returns is not saved.
fn backwards(track: &Track) -> Option<Track> {
    let lines: Vec<Polyline> = track.lines().iter().rev().map(Polyline::reversed).collect();
    (!lines.is_empty()).then(|| Track::of_lines(lines))
}

/// The way from the route to the fuel stop of a refuge; `None` if that is on the route.
fn detour(trip: &Trip, refuge: usize, day: Option<u32>) -> Option<Leg> {
    let there = trip.place(refuge);
    let fuel = there.fuel.filter(|fuel| fuel.detour() > Kilometres::ZERO)?;
    // Level ground of the leg that led there.
    let like = trip.legs.get(refuge.saturating_sub(1))?;
    Some(Leg {
        day,
        distance_km: Some(fuel.detour() / 2.0),
        surface: like.surface,
        aired_down: like.aired_down,
        speed_kmh: like.speed_kmh,
        ascent_m: Some(Metres::ZERO),
        descent_m: Some(Metres::ZERO),
        temperature_c: like.temperature_c,
        aircon: like.aircon,
        fuel: Some(FuelStop {
            detour_km: None,
            ..fuel.clone()
        }),
        ..Leg::to(format!("fuel at {}", there.name))
    })
}
