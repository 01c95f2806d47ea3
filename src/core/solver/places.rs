//! What the carrying places and the axles can still carry beside a set of cans, at every departure of a run: the quick
//! answer to whether a way of laying out the cans is within the limits.
//!
//! It must agree with `load::bars`, which judges one laid-out set in full.

use crate::consumption::engine::fuel_density;
use crate::model::Trip;
use crate::model::vehicle::AxlePlace;
use crate::model::vocabulary::{CarryingPlace, Surface};
use crate::quantity::{Factor, Kilograms, KilogramsPerLitre, Litres};

use super::axles::Moments;
use super::cans::ChosenCans;
use super::load::{self, Departing, LoadLimit};

/// The places that cans are in.
pub(crate) const PLACES: [CarryingPlace; 3] = [
    CarryingPlace::Cargo,
    CarryingPlace::Rear,
    CarryingPlace::Roof,
];

/// What is left of every limit at one departure, before any can.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Left {
    in_cans: Litres,
    places: [Option<Kilograms>; 3],
    front: Option<Kilograms>,
    rear: Option<Kilograms>,
}

/// What is left of the limits of places and axles at every departure, before any can.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Room {
    at: Vec<Left>,
    density: KilogramsPerLitre,
    /// What a kilogram in each place puts on the front axle.
    on_front: [Factor; 3],
}

impl Room {
    /// The room on a trip of which it is known what is on board at each departure: usable litres in all, and in cans.
    /// The limits of `passed_anyway` are not looked at.
    pub(crate) fn new(
        trip: &Trip,
        departures: impl IntoIterator<Item = (Departing, Litres)>,
        passed_anyway: &[LoadLimit],
    ) -> Self {
        let vehicle = &trip.vehicle;
        let axles = vehicle.axles.as_ref();
        let moments = Moments::from_vehicle(vehicle);
        let limit = |what: LoadLimit, limit: Option<Kilograms>| {
            limit.filter(|_| !passed_anyway.iter().any(|&passed| what.is_of(passed)))
        };
        let at = departures.into_iter().map(|(departing, in_cans)| {
            let off_road = departing.surface != Surface::Sealed;
            let roof = LoadLimit::Roof { off_road };
            // Weighed without a can, and with the fuel of the cans left out.
            let bare = load::departure(
                trip,
                &[],
                0,
                Departing {
                    on_board: departing.on_board - in_cans,
                    ..departing
                },
            );
            let place = |place| {
                let rating = trip.load().place_rating(place);
                limit(LoadLimit::Place(place), rating)
            };
            let less = |limit: Option<Kilograms>, mass| limit.map(|limit| limit - mass);
            Left {
                in_cans,
                places: [
                    less(place(CarryingPlace::Cargo), bare.cargo),
                    less(place(CarryingPlace::Rear), bare.rear),
                    less(limit(roof, load::roof_limit(trip, off_road)), bare.roof),
                ],
                front: bare.axles.and_then(|loads| {
                    let most = axles.and_then(|axles| axles.front_limit_kg);
                    less(limit(LoadLimit::FrontAxle, most), loads.front)
                }),
                rear: bare.axles.and_then(|loads| {
                    let most = axles.and_then(|axles| axles.rear_limit_kg);
                    less(limit(LoadLimit::RearAxle, most), loads.rear)
                }),
            }
        });
        Self {
            at: at.collect(),
            density: fuel_density(vehicle.fuel),
            on_front: PLACES.map(|place| {
                let of = moments.as_ref();
                of.map_or(Factor::ZERO, |of| of.on_front(AxlePlace::Carried(place)))
            }),
        }
    }

    /// Whether a set is within every limit at every departure.
    pub(crate) fn bears(&self, set: &[ChosenCans]) -> bool {
        let there = |place| set.iter().filter(move |cans| cans.place == place);
        let empty = PLACES.map(|place| {
            there(place)
                .map(|cans| cans.empty * f64::from(cans.count))
                .sum::<Kilograms>()
        });
        let fill = PLACES.map(|place| {
            there(place)
                .map(|cans| cans.fill * f64::from(cans.count))
                .sum::<Litres>()
        });
        // The places from the most rearward to the most forward.
        let mut order = [0, 1, 2];
        order.sort_by(|&a, &b| self.on_front[a].get().total_cmp(&self.on_front[b].get()));
        self.at.iter().all(|left| {
            let fits = |mass: Kilograms, room: Option<Kilograms>| {
                room.is_none_or(|room| mass <= room + load::EQUAL_MASS)
            };
            let full = |at: usize, litres: Litres| litres.min(fill[at]) * self.density;
            let places = (0..3).all(|at| fits(empty[at] + full(at, left.in_cans), left.places[at]));
            let axle = |order: &mut dyn Iterator<Item = usize>, on: &dyn Fn(usize) -> f64| {
                let mut litres = left.in_cans;
                order
                    .map(|at| {
                        let here = litres.min(fill[at]);
                        litres -= here;
                        (empty[at] + here * self.density) * on(at)
                    })
                    .sum::<Kilograms>()
            };
            let on_front = |at: usize| self.on_front[at].get();
            places
                && (left.front.is_none()
                    || fits(
                        axle(&mut order.iter().rev().copied(), &on_front),
                        left.front,
                    ))
                && (left.rear.is_none()
                    || fits(
                        axle(&mut order.iter().copied(), &|at| 1.0 - on_front(at)),
                        left.rear,
                    ))
        })
    }
}
