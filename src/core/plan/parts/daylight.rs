//! Daylight along the trip: when the sun rises and sets on each day, and when one arrives.

use crate::model::calendar::Date;
use crate::quantity::Hours;
use crate::solver::sun::Sun;

/// The light of the days that are still to be driven.
#[derive(Clone, Debug, PartialEq)]
pub struct Daylight {
    /// The days of the trip, in their order.
    pub days: Vec<DayInLight>,
}

/// One day; times are in hours of local time since its midnight.
#[derive(Clone, Debug, PartialEq)]
pub struct DayInLight {
    /// Number of the day, from 1.
    pub day: u32,
    /// Date on which it is driven.
    pub date: Date,
    /// Time of departure, in hours since midnight.
    pub depart: Hours,
    /// The sun where the day begins.
    pub sun_at_start: Sun,
    /// The sun where it ends.
    pub sun_at_end: Sun,
    /// The arrivals at the ends of its legs.
    pub arrivals: Vec<Arrival>,
    /// The latest departure with which the day ends before sunset, at the success target. `None` if there is no sunset to
    /// be early for.
    pub latest_departure: Option<Hours>,
}

/// When a place is reached.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arrival {
    /// Number of the place, 0 for the start.
    pub place_number: usize,
    /// By the best estimate.
    pub expected: Hours,
    /// Simulated trips; `None` for a best-estimate plan.
    pub simulated: Option<SimulatedArrival>,
}

/// When simulated trips reach a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SimulatedArrival {
    /// 5 % of them arrive earlier.
    pub earliest: Hours,
    /// As many trips as the success target requires have arrived.
    pub at_target: Hours,
    /// 99 % have arrived.
    pub nearly_all: Hours,
}

impl Arrival {
    /// What decides: the arrival at the success target, the best estimate without simulated trips.
    pub fn latest(&self) -> Hours {
        self.simulated.map_or(self.expected, |simulated| {
            simulated.at_target.max(self.expected)
        })
    }
}

impl DayInLight {
    /// The arrival where the day ends.
    pub fn last(&self) -> Option<&Arrival> {
        self.arrivals.last()
    }
}
