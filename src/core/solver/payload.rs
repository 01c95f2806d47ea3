//! What can still be loaded, and where: in each place the mass that keeps every limit at every departure.
//!
//! A kilogram in a place counts fully for the gross vehicle mass and for the place, and for each axle by its lever. Behind
//! the rear axle it lifts the front, which leaves the front axle's limit out.

use crate::model::Trip;
use crate::model::vehicle::AxlePlace;
use crate::model::vocabulary::CarryingPlace;
use crate::quantity::Kilograms;

use super::axles::Moments;
use super::load::{Departure, LoadLimit, roof_limit};

/// What can still be loaded in a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    /// Where in the vehicle it is loaded.
    pub place: CarryingPlace,
    /// The mass; below 0 if a limit is exceeded.
    pub mass: Kilograms,
    /// The limit that leaves no more.
    pub limit: LoadLimit,
    /// Place number of the departure at which that is so.
    pub place_number: usize,
}

/// What can still be loaded in each place; those without any limit are left out.
pub(crate) fn room(trip: &Trip, departures: &[Departure]) -> Vec<Room> {
    let in_place = |place: CarryingPlace| {
        let all = departures.iter().flat_map(|at| rooms(trip, at, place));
        all.min_by(|a, b| a.mass.get().total_cmp(&b.mass.get()))
    };
    [
        CarryingPlace::Cabin,
        CarryingPlace::Cargo,
        CarryingPlace::Rear,
        CarryingPlace::Roof,
    ]
    .into_iter()
    .filter_map(in_place)
    .collect()
}

/// What each limit leaves to a place at one departure.
fn rooms(trip: &Trip, at: &Departure, place: CarryingPlace) -> Vec<Room> {
    let vehicle = &trip.vehicle;
    let mut rooms = Vec::new();
    let mut add = |what: LoadLimit, limit: Option<Kilograms>, load: Kilograms, share: f64| {
        if let Some(limit) = limit.filter(|_| share > 0.0) {
            rooms.push(Room {
                place,
                mass: (limit - load) / share,
                limit: what,
                place_number: at.place_number,
            });
        }
    };
    add(LoadLimit::Gvm, vehicle.gvm_kg, at.mass, 1.0);
    let there = at.in_place(place);
    if place == CarryingPlace::Roof {
        let off_road = at.off_road;
        let what = LoadLimit::Roof { off_road };
        add(what, roof_limit(trip, off_road), there, 1.0);
    } else {
        let rating = trip.load().place_rating(place);
        add(LoadLimit::Place(place), rating, there, 1.0);
    }
    let moments = Moments::from_vehicle(vehicle);
    if let (Some(moments), Some(loads), Some(axles)) = (moments, at.axles, &vehicle.axles) {
        let front = moments.on_front(AxlePlace::Carried(place)).get();
        add(
            LoadLimit::FrontAxle,
            axles.front_limit_kg,
            loads.front,
            front,
        );
        add(
            LoadLimit::RearAxle,
            axles.rear_limit_kg,
            loads.rear,
            1.0 - front,
        );
    }
    rooms
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::super::load::{Departing, bars, departure};
    use super::*;
    use crate::model::vocabulary::Surface;
    use crate::quantity::Share;

    fn trip() -> Trip {
        serde_json::from_value(json!({
            "drystage": 1,
            "vehicle": {
                "fuel": "petrol", "engine_l": 1.8, "baseline_l_per_100km": 9, "tank_l": 50, "kerb_mass_kg": 1300,
                "gvm_kg": 1700, "roof_rating_kg": 75,
                "axles": { "wheelbase_m": 2.2, "front_kerb_kg": 700, "front_limit_kg": 800, "rear_limit_kg": 920 }
            },
            "load": {
                "people": [{ "name": "driver", "mass_kg": 80 }],
                "gear": [{ "name": "tent", "mass_kg": 20, "place": "roof" }, { "name": "tools", "mass_kg": 60 }],
                "roof": { "shape": "open-rack", "mass_kg": 12 },
                "place_ratings_kg": { "rear": 65 }
            },
            "start": { "name": "here" },
            "legs": [{ "to": "there", "distance_km": 100 }]
        }))
        .unwrap()
    }

    fn at_start(trip: &Trip) -> Departure {
        let departing = Departing {
            day: 1,
            surface: Surface::Gravel,
            on_board: trip.vehicle.usable_tank(),
            cans_full: Share::ZERO,
        };
        departure(trip, &[], 0, departing)
    }

    /// By hand: off the road 50 kg of the roof's 75 count, 32 are there; the rear carrier's rating is free.
    #[test]
    fn a_place_has_what_its_rating_leaves() {
        let trip = trip();
        let found = room(&trip, &[at_start(&trip)]);
        let of = |place| found.iter().find(|room| room.place == place).unwrap();
        let roof = of(CarryingPlace::Roof);
        assert!((roof.mass.get() - 18.0).abs() < 1e-9, "{roof:?}");
        assert_eq!(roof.limit, LoadLimit::Roof { off_road: true });
        assert!(of(CarryingPlace::Rear).mass <= Kilograms::new(65.0));
    }

    /// Loaded with exactly that, no limit is exceeded; with a kilogram more, the one that is named is.
    #[test]
    fn what_fits_fits_and_a_kilogram_more_does_not() {
        let trip = trip();
        for room in room(&trip, &[at_start(&trip)]) {
            let with = |mass: Kilograms| {
                let mut trip = trip.clone();
                let mut gear = trip.load().gear().to_vec();
                let mut item = gear[1].clone();
                (item.mass_kg, item.place) = (mass, Some(room.place));
                gear.push(item);
                trip.load.as_mut().unwrap().gear = Some(gear);
                let over = bars(&trip, &[at_start(&trip)]).into_iter();
                over.filter(super::super::load::LoadBar::is_over)
                    .map(|bar| bar.what)
                    .collect::<Vec<_>>()
            };
            assert!(room.mass > Kilograms::ZERO, "{room:?}");
            assert_eq!(with(room.mass), [], "{room:?}");
            assert!(
                with(room.mass + Kilograms::new(1.0)).contains(&room.limit),
                "{room:?}"
            );
        }
    }
}
