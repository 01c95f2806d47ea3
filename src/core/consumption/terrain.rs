//! Distance, climb, grade and altitude of each leg: as set, else from its track, else a lengthened straight line
//! between its places.

use crate::model::Trip;
use crate::model::climb::Climbed;
use crate::model::geodesic::{bearing, distance};
use crate::model::route::{DETOUR_FACTOR, Leg, Position, SURFACE};
use crate::model::survey::Profile;
use crate::model::track::Track;
use crate::model::vocabulary::Surface;
use crate::quantity::{Degrees, Grade, Kilometres, KilometresPerHour, Metres, Share};

use super::surface::{self, RollingResistance};

/// The gentlest mean grade that hills are taken to have; by it a leg is never averaged over its hills.
/// Common practice, no source.
pub const LEAST_MEAN_GRADE: Grade = Grade::new(0.06);

/// What a leg is by the rest of the trip, besides what it states: its shape above all.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Terrain {
    /// Length by road.
    pub distance: Kilometres,
    /// The straight line, where the length was made from it.
    pub guessed_from: Option<Kilometres>,
    /// Metres climbed over the whole leg.
    pub ascent: Metres,
    /// Metres descended over the whole leg.
    pub descent: Metres,
    /// Mean grade of the climbing parts.
    pub ascent_grade: Grade,
    /// Mean grade of the descending parts.
    pub descent_grade: Grade,
    /// Mean altitude of the leg, from which air density follows.
    pub altitude: Metres,
    /// The speed that the trip states for the leg's surface.
    pub trips_speed: Option<KilometresPerHour>,
    /// Whether the leg begins a day, with a cold engine.
    pub is_first_of_day: bool,
    /// Days from the leg's own to that of the next one.
    pub days_at_end: u32,
    /// What a wind from a known direction adds to the leg's headwind, on its bearing.
    pub wind_against: KilometresPerHour,
    /// Where the leg leads, clockwise from north, where both its places are known and are not one.
    pub bearing: Option<Degrees>,
    /// Resistance where the surface is not known, by the known surfaces of the trip.
    pub unknown: RollingResistance,
}

/// The shape of every leg, in driving order.
///
/// A leg that states no mean altitude gets the one that follows from the start's altitude (0 if not stated)
/// and all climbs and descents before it.
pub fn along(trip: &Trip) -> Vec<Terrain> {
    let mut height = trip.start.altitude_m.unwrap_or_default();
    let mut from = trip.place(0).position;
    let mut legs = Vec::with_capacity(trip.legs.len());
    let days = trip.days();
    let unknown = surface::unknown(&known_surfaces(trip));
    for (leg, place_number) in trip.legs.iter().zip(1..) {
        let to = trip.place(place_number).position;
        let begins = trip.place(place_number - 1).position;
        let day = days[place_number - 1];
        let bearing = begins.zip(to).and_then(|(begins, to)| bearing(begins, to));
        let terrain = Terrain {
            trips_speed: trip.rules().speed_on(leg.surface()),
            unknown,
            is_first_of_day: place_number == 1 || days[place_number - 2] != day,
            bearing,
            wind_against: wind_against(leg, bearing),
            days_at_end: days
                .get(place_number)
                .map_or(0, |next| next.saturating_sub(day)),
            ..of_leg(leg, from, to, height)
        };
        height = (height + terrain.ascent - terrain.descent)
            .max(LOWEST)
            .min(HIGHEST);
        legs.push(terrain);
        from = to.or(from);
    }
    legs
}

impl Terrain {
    /// A level way of a length at sea level, to which the rest of a trip adds nothing.
    pub const fn level(distance: Kilometres) -> Self {
        Self {
            distance,
            guessed_from: None,
            ascent: Metres::ZERO,
            descent: Metres::ZERO,
            ascent_grade: LEAST_MEAN_GRADE,
            descent_grade: LEAST_MEAN_GRADE,
            altitude: Metres::ZERO,
            trips_speed: None,
            is_first_of_day: false,
            days_at_end: 0,
            bearing: None,
            wind_against: KilometresPerHour::ZERO,
            unknown: surface::properties(SURFACE).resistance,
        }
    }
}

/// The surfaces that the trip knows, each with its distance. Legs without a track and a distance have none.
fn known_surfaces(trip: &Trip) -> Vec<(Surface, Kilometres)> {
    if trip
        .legs
        .iter()
        .all(|leg| leg.surface_known_share() >= Share::new(1.0))
    {
        return Vec::new();
    }
    let known = trip.legs.iter().map(|leg| {
        let of_track = || Some(leg.track.as_ref()?.profile()?.length.into());
        let km: Kilometres = leg.distance_km.or_else(of_track).unwrap_or_default();
        let is_stated = leg.surface.is_some();
        let share = if is_stated {
            leg.surface_known_share().get()
        } else {
            0.0
        };
        (leg.surface(), km * share)
    });
    known.collect()
}

/// The part against the direction of travel of a wind that has a direction. A wind blows from where it is named after:
/// a west wind is against a leg that leads west. Of a cross wind nothing is counted, and nothing of a wind whose leg
/// has no bearing.
fn wind_against(leg: &Leg, bearing: Option<Degrees>) -> KilometresPerHour {
    let along = leg.wind().zip(bearing);
    along.map_or(KilometresPerHour::ZERO, |((wind, from), bearing)| {
        wind * (from.get() - bearing.get()).to_radians().cos()
    })
}

/// No road is lower or higher; heights that add up beyond are held here.
const LOWEST: Metres = Metres::new(-430.0);
const HIGHEST: Metres = Metres::new(6000.0);

fn of_leg(leg: &Leg, from: Option<Position>, to: Option<Position>, height: Metres) -> Terrain {
    let surveyed = leg.track.as_ref().and_then(Track::profile);
    let climbed = surveyed.and_then(|profile| profile.climbed);
    let straight = || Some(Kilometres::from(distance(from?, to?)));
    let guessed_from = if leg.distance_km.is_none() && surveyed.is_none() {
        straight()
    } else {
        None
    };
    let distance = leg
        .distance_km
        .or(surveyed.map(|profile| profile.length.into()))
        .or(guessed_from.map(|straight| straight * DETOUR_FACTOR.get()))
        .unwrap_or_default();
    let of_track = |figure: fn(Climbed) -> Metres| climbed.map_or(Metres::ZERO, figure);
    let ascent = leg.ascent_m.unwrap_or(of_track(|climbed| climbed.ascent));
    let descent = leg.descent_m.unwrap_or(of_track(|climbed| climbed.descent));
    let length = Metres::from(distance);
    let mean = (ascent + descent).part_of(length).unwrap_or(0.0);
    let grade = Grade::new(mean.max(LEAST_MEAN_GRADE.get()));
    let surveyed_grade = |of: fn(&Profile) -> Option<Grade>| {
        let of_track = surveyed.as_ref().and_then(of);
        of_track
            .filter(|&grade| grade > Grade::ZERO)
            .unwrap_or(grade)
    };
    // What a stated grade leaves of the length may require a steeper one on the other side.
    let beside = |height: Metres, other: Metres, stated: Option<Grade>| {
        let left = stated.map_or(length, |grade| length - other / grade.get());
        Grade::new(height.part_of(left).unwrap_or(0.0))
    };
    Terrain {
        guessed_from,
        ascent,
        descent,
        ascent_grade: leg.ascent_grade.unwrap_or_else(|| {
            surveyed_grade(Profile::ascent_grade).max(beside(ascent, descent, leg.descent_grade))
        }),
        descent_grade: leg.descent_grade.unwrap_or_else(|| {
            surveyed_grade(Profile::descent_grade).max(beside(descent, ascent, leg.ascent_grade))
        }),
        altitude: leg
            .mean_altitude_m
            .or(surveyed.and_then(|profile| profile.mean_altitude))
            .unwrap_or(height + (ascent - descent) / 2.0)
            .max(LOWEST)
            .min(HIGHEST),
        ..Terrain::level(distance)
    }
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use super::*;

    /// East on the equator is 90 degrees, back is 270; a leg that leads where it began, or nobody knows where, has
    /// none.
    #[test]
    fn legs_lead_where_their_places_are() {
        let at =
            |lat: f64, lon: f64| json!({ "to": "x", "lat": lat, "lon": lon, "distance_km": 120 });
        let legs = trip(
            &json!({ "name": "a", "lat": 0, "lon": 0 }),
            &json!([at(0.0, 1.0), at(0.0, 0.0), at(0.0, 0.0), { "to": "y", "distance_km": 5 }, at(0.0, 2.0)]),
        );
        let bearings: Vec<Option<f64>> = legs
            .iter()
            .map(|leg| leg.bearing.map(Degrees::get))
            .collect();
        assert_eq!(bearings, [Some(90.0), Some(270.0), None, None, None]);
    }

    fn trip(start: &Value, legs: &Value) -> Vec<Terrain> {
        let trip = json!({
            "drystage": 1,
            "vehicle": { "fuel": "petrol", "engine_l": 1.8, "baseline_l_per_100km": 9, "tank_l": 50, "kerb_mass_kg": 1300 },
            "start": start, "legs": legs
        });
        along(&serde_json::from_value(trip).unwrap())
    }

    /// By hand: 400 m and 600 m up from 1000 m, then 1500 m down; each leg is as high as the middle of its ends.
    #[test]
    fn heights_follow_from_the_climbs_before() {
        let legs = trip(
            &json!({ "name": "a", "altitude_m": 1000 }),
            &json!([
                { "to": "b", "distance_km": 50, "ascent_m": 400 },
                { "to": "c", "distance_km": 50, "ascent_m": 600 },
                { "to": "d", "distance_km": 50, "descent_m": 1500 },
                { "to": "e", "distance_km": 50 }
            ]),
        );
        let heights: Vec<f64> = legs.iter().map(|leg| leg.altitude.get()).collect();
        assert_eq!(heights, [1200.0, 1700.0, 1250.0, 500.0]);
    }

    /// A degree of the equator is 111.3195 km (WGS 84: π · 6378.137 / 180), and the road 1.3 times as long.
    #[test]
    fn a_leg_without_a_length_gets_the_straight_line_and_a_detour() {
        let legs = trip(
            &json!({ "name": "a", "lat": 0, "lon": -30 }),
            &json!([{ "to": "b", "lat": 0, "lon": -29 }]),
        );
        assert!((legs[0].guessed_from.unwrap().get() - 111.3195).abs() < 1e-4);
        assert!((legs[0].distance.get() - 1.3 * 111.3195).abs() < 1e-3);
    }

    /// 2200 m down at 3 % take 73.3 of 90 km, so 1800 m up in the other 16.7 km are 10.8 %, and the stated grade stays.
    #[test]
    fn a_stated_grade_stays_and_the_other_fits_beside_it() {
        let terrain = &trip(
            &json!({ "name": "a" }),
            &json!([{ "to": "b", "distance_km": 90, "ascent_m": 1800, "descent_m": 2200, "descent_grade": 0.03 }]),
        )[0];
        assert!((terrain.descent_grade.get() - 0.03).abs() < 1e-12);
        assert!((terrain.ascent_grade.get() - 0.108).abs() < 1e-9);
    }

    /// A wind is against the leg that leads to where it blows from, pushes the leg that leads back, and does nothing to
    /// a leg across it; of a leg without a bearing nothing is known.
    #[test]
    fn a_wind_acts_by_the_bearing_of_each_leg() {
        let to = |to, lat, lon| json!({ "to": to, "lat": lat, "lon": lon, "distance_km": 120, "wind_kmh": 30, "wind_from_deg": 270 });
        let trip: Trip = serde_json::from_value(json!({
            "drystage": 1,
            "vehicle": { "fuel": "petrol", "engine_l": 1.8, "baseline_l_per_100km": 9, "tank_l": 50, "kerb_mass_kg": 1300 },
            "start": { "name": "a", "lat": 0, "lon": 0 },
            "legs": [
                to("west", 0, -1), to("north", 1, -1), to("east", 1, 0),
                { "to": "nowhere", "distance_km": 120, "wind_kmh": 30, "wind_from_deg": 270 }
            ]
        }))
        .unwrap();
        let winds: Vec<f64> = along(&trip)
            .iter()
            .map(|leg| leg.wind_against.get())
            .collect();
        for (wind, expected) in winds.iter().zip([30.0, 0.0, -30.0, 0.0]) {
            // The geodesic between two places of one latitude is not quite the parallel.
            assert!((wind - expected).abs() < 0.3, "{winds:?}");
        }
    }
}
