//! What is known of a trip whatever cans are carried: its legs, its fuel stops, what was driven. Nothing here changes,
//! and nothing here is in doubt.

use std::collections::HashMap;

use crate::consumption::leg::Formula;
use crate::consumption::terrain::{self, Terrain};
use crate::model::Trip;
use crate::model::route::Leg;
use crate::model::vocabulary::{Objective, Surface};
use crate::quantity::{Grade, Kilometres, Litres, Metres, MoneyPerLitre, Share};

use crate::plan::under_way::progress::Progress;
use crate::plan::under_way::{DrivenLeg, UnderWay};

/// Ground steeper than this starves the fuel pickup of a low tank. Common practice, no source.
const STEEP: Grade = Grade::new(0.10);

/// What is known of a trip.
pub(in crate::plan) struct TripFacts<'a> {
    pub(crate) trip: &'a Trip,
    pub(crate) formula: Formula,
    pub(crate) terrain: Vec<Terrain>,
    pub(crate) distances: Vec<Kilometres>,
    pub(crate) days: Vec<u32>,
    rough: Vec<bool>,
    /// Number of the fuel stop at each place that has one.
    stop_numbers: Vec<Option<usize>>,
    /// What was driven, where the trip is under way.
    under_way: Option<&'a UnderWay>,
}

/// Whether a leg is sand, dunes, mud, rock, low range or steep.
fn is_rough(leg: &Leg, terrain: &Terrain) -> bool {
    let steep = terrain.ascent > Metres::ZERO && terrain.ascent_grade > STEEP
        || terrain.descent > Metres::ZERO && terrain.descent_grade > STEEP;
    steep
        || leg.soft_share() > Share::ZERO
        || leg.low_range_share() > Share::ZERO
        || matches!(leg.surface(), Surface::Mud | Surface::Rock)
}

impl<'a> TripFacts<'a> {
    /// The facts of a trip and, where it is under way, of what was driven.
    pub(crate) fn new(stated: &'a Trip, under_way: Option<&'a UnderWay>) -> Self {
        let trip = under_way.map_or(stated, |under_way| &under_way.trip);
        let terrain = terrain::along(trip);
        let mut numbers = HashMap::new();
        let stop_numbers = trip.places().map(|place| {
            place.fuel.map(|_| {
                let next = numbers.len();
                *numbers.entry(place.name).or_insert(next)
            })
        });
        Self {
            stop_numbers: stop_numbers.collect(),
            under_way,
            formula: Formula::from_vehicle(&trip.vehicle),
            distances: terrain.iter().map(|terrain| terrain.distance).collect(),
            rough: trip
                .legs
                .iter()
                .zip(&terrain)
                .map(|(leg, terrain)| is_rough(leg, terrain))
                .collect(),
            days: trip.days(),
            trip,
            terrain,
        }
    }

    /// Number of the place where the plan begins.
    pub(crate) fn from(&self) -> usize {
        self.under_way.map_or(0, |under_way| under_way.place_number)
    }

    /// How many places were passed; one more than [`TripFacts::from`] where the plan begins past a place.
    pub(crate) fn passed(&self) -> usize {
        self.under_way.map_or(0, UnderWay::passed)
    }

    /// What is reported of what was driven.
    pub(crate) fn progress(&self) -> Option<&Progress> {
        self.under_way.map(|under_way| &under_way.progress)
    }

    /// How far the litres where the plan begins may be off, a standard deviation: those of the last fuel reading.
    pub(crate) fn reading_error(&self) -> Litres {
        let of_start = self.trip.rules().start_error.unwrap_or_default();
        self.progress().map_or(of_start, |progress| progress.error)
    }

    /// Where the plan begins past a place, the leg that leads back to it.
    pub(crate) fn leg_to_route(&self) -> Option<&(Leg, Terrain)> {
        self.under_way?.aside.as_ref()
    }

    /// Whether one could return to a place that was passed and begin anew there: its fuel stop is unlimited and has at
    /// least this chance of fuel, or as the trip is set to rely on it.
    pub(crate) fn is_refuge_behind(&self, place: usize, chance: Share) -> bool {
        place < self.passed()
            && self
                .trip
                .place(place)
                .fuel
                .is_some_and(|fuel| fuel.is_unlimited() && fuel.is_relied_on_from(chance))
    }

    /// The legs that were driven.
    pub(crate) fn driven_legs(&self) -> &[DrivenLeg] {
        self.under_way.map_or(&[], |under_way| &under_way.driven)
    }

    /// Litres that were used past the place where the plan begins.
    pub(crate) fn used_aside(&self) -> Litres {
        self.under_way
            .map_or(Litres::ZERO, |under_way| under_way.used_aside)
    }

    /// Number of the fuel stop at each place that has one; a stop that is met again has one number.
    pub(crate) fn stop_numbers(&self) -> &[Option<usize>] {
        &self.stop_numbers
    }

    /// Whether each leg is rough or steep.
    pub(crate) fn rough(&self) -> &[bool] {
        &self.rough
    }

    /// Whether the trip is to cost least.
    pub(crate) fn is_for_least_cost(&self) -> bool {
        self.trip.rules().objective() == Objective::LeastCost
    }

    /// The price at a place, where one is stated.
    pub(crate) fn price(&self, place: usize) -> Option<MoneyPerLitre> {
        self.trip.place(place).fuel?.price_per_l
    }

    /// The dearest price among the places before the finish that are `wanted`; `None` if none is stated.
    pub(crate) fn dearest(&self, wanted: impl Fn(usize) -> bool) -> Option<MoneyPerLitre> {
        (0..self.distances.len())
            .filter(|&place| wanted(place))
            .filter_map(|place| self.price(place))
            .reduce(MoneyPerLitre::max)
    }
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use super::*;

    /// Sand, low range, mud and rock are rough, and so is a climb or a descent of more than 10 %.
    #[test]
    fn rough_ground_is_what_starves_the_fuel_pickup() {
        let rough = |stated: Value| {
            let trip: Trip = serde_json::from_value(json!({
                "drystage": 1,
                "vehicle": { "fuel": "petrol", "engine_l": 1.8, "baseline_l_per_100km": 9, "tank_l": 50, "kerb_mass_kg": 1300 },
                "start": { "name": "a" },
                "legs": [stated]
            }))
            .unwrap();
            is_rough(&trip.legs[0], &terrain::along(&trip)[0])
        };
        for stated in [
            json!({ "to": "b", "distance_km": 50, "sand_share": 0.01 }),
            json!({ "to": "b", "distance_km": 50, "low_range_share": 0.01 }),
            json!({ "to": "b", "distance_km": 50, "surface": "mud" }),
            json!({ "to": "b", "distance_km": 50, "surface": "rock" }),
            json!({ "to": "b", "distance_km": 50, "ascent_m": 100, "ascent_grade": 0.11 }),
            json!({ "to": "b", "distance_km": 50, "descent_m": 100, "descent_grade": 0.11 }),
        ] {
            assert!(rough(stated.clone()), "{stated}");
        }
        for stated in [
            json!({ "to": "b", "distance_km": 50, "surface": "gravel" }),
            json!({ "to": "b", "distance_km": 50, "ascent_m": 100, "ascent_grade": 0.1 }),
            json!({ "to": "b", "distance_km": 50, "ascent_grade": 0.2, "descent_grade": 0.2 }),
        ] {
            assert!(!rough(stated.clone()), "{stated}");
        }
    }
}
