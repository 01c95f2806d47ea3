//! The way driven in the other direction: a leg turned round, the whole trip, out and back.

use super::{Change, ChangeError, LEGS, Step};
use crate::model::Trip;
use crate::model::route::{FIRST_DAY, FuelStop, Leg, Start};
use crate::quantity::{Degrees, Metres};

impl Change {
    /// Turns what is stated of one leg round, its ends staying: climbs become descents, headwind tailwind, the track
    /// runs backwards.
    ///
    /// # Errors
    /// When there is no such leg.
    pub fn reverse_leg(trip: &Trip, at: usize) -> Result<Self, ChangeError> {
        let leg = super::legs::leg(trip, at)?.reversed();
        let step = Step::ReplaceLeg {
            at,
            leg: Box::new(leg),
        };
        Ok(Self::new(format!("reverse leg {}", at + 1), vec![step]))
    }

    /// The whole trip driven from its finish to its start, days in the other order too. An odometer reading at the
    /// start stays with the start.
    ///
    /// # Errors
    /// When the log has readings, which belong to the route as it was driven.
    pub fn reverse_trip(trip: &Trip) -> Result<Self, ChangeError> {
        not_begun(trip)?;
        let places = ends(trip);
        let count = trip.legs.len();
        let days = trip.days();
        let last_day = days.last().copied().unwrap_or(FIRST_DAY);
        let climbed = climbed(trip);
        let mut start = trip.start.clone();
        let finish = &places[count];
        (start.name, start.fuel) = (finish.name.clone(), finish.fuel.clone());
        (start.lat, start.lon) = (finish.lat, finish.lon);
        start.altitude_m = start.altitude_m.map(|start| start + climbed);
        let with_days = trip.legs.iter().any(|leg| leg.day.is_some());
        let mut steps = start_steps(trip, &start);
        steps.push(Step::Reverse {
            list: LEGS.to_owned(),
        });
        for (at, leg) in trip.legs.iter().rev().enumerate() {
            let mut leg = leg.reversed();
            places[count - 1 - at].give(&mut leg);
            leg.day = with_days.then(|| last_day + 1 - days[count - 1 - at]);
            steps.push(Step::ReplaceLeg {
                at,
                leg: Box::new(leg),
            });
        }
        Ok(Self::new("reverse the trip", steps))
    }

    /// Adds the return to the start over the same legs; nights are at the same places as on the route out.
    ///
    /// # Errors
    /// When a leg cannot be driven in the other direction.
    pub fn out_and_back(trip: &Trip) -> Result<Self, ChangeError> {
        if let Some(at) = trip.legs.iter().position(|leg| !leg.can_return()) {
            return Err(ChangeError::Legs(format!(
                "leg {} cannot be driven in the other direction, so there is no return over the same legs",
                at + 1
            )));
        }
        let places = ends(trip);
        let days = trip.days();
        let last_day = days.last().copied().unwrap_or(FIRST_DAY);
        let with_days = last_day > days.first().copied().unwrap_or(last_day);
        let mut back: Vec<Leg> = Vec::new();
        for (at, leg) in trip.legs.iter().enumerate().rev() {
            let mut leg = leg.reversed();
            places[at].give(&mut leg);
            leg.day = with_days.then(|| last_day + (last_day - days[at]));
            back.push(leg);
        }
        let step = Step::InsertLegs {
            at: trip.legs.len(),
            legs: back,
        };
        Ok(Self::new("out and back", vec![step]))
    }
}

fn not_begun(trip: &Trip) -> Result<(), ChangeError> {
    match trip.log().first() {
        None => Ok(()),
        Some(reading) => Err(ChangeError::Logged(reading.place_number)),
    }
}

/// The start's fields that differ, set one by one; its reading and what else is stated stay.
fn start_steps(trip: &Trip, start: &Start) -> Vec<Step> {
    let json = |value: &Start| serde_json::to_value(value).expect("text keys and finite numbers");
    if trip.start == *start {
        return Vec::new();
    }
    vec![Step::set("/start", json(start))]
}

/// A place as a leg states its end.
struct End {
    name: String,
    lat: Option<Degrees>,
    lon: Option<Degrees>,
    fuel: Option<FuelStop>,
}

impl End {
    fn give(&self, leg: &mut Leg) {
        leg.to.clone_from(&self.name);
        (leg.lat, leg.lon) = (self.lat, self.lon);
        leg.fuel.clone_from(&self.fuel);
    }
}

/// Every place from the start on.
fn ends(trip: &Trip) -> Vec<End> {
    let start = End {
        name: trip.start.name.clone(),
        lat: trip.start.lat,
        lon: trip.start.lon,
        fuel: trip.start.fuel.clone(),
    };
    let ends = trip.legs.iter().map(|leg| End {
        name: leg.to.clone(),
        lat: leg.lat,
        lon: leg.lon,
        fuel: leg.fuel.clone(),
    });
    std::iter::once(start).chain(ends).collect()
}

/// Altitude of the finish above the start, by climbs and descents.
fn climbed(trip: &Trip) -> Metres {
    (0..trip.legs.len())
        .map(|at| {
            let measured = super::cut::measure(trip, at);
            measured.ascent - measured.descent
        })
        .sum()
}
