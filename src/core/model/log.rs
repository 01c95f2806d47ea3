//! The trip log: fuel readings at places, between two places, and outside the plan.
//!
//! Readings are in the order in which they were taken. Who writes down a second one at the same place puts the first
//! right: an odometer or litres were mistyped, or read better. Who drove about there and came back states that it is
//! another. A place that the route meets twice has two numbers, and so two readings.

use super::vocabulary::Measured;
use crate::quantity::{Kilometres, Litres};

/// How fuel was measured, unless stated: the way that is trusted least.
pub const MEASURED: Measured = Measured::Gauge;

stated! {
    /// One reading.
    pub struct Reading {
        pub place_number: u32,
        pub odometer_km: Kilometres,
        pub tank_left_l: Litres,
        pub cans_left_l: Option<Litres>,
        pub how: Option<Measured>,
        pub filled_l: Option<Litres>,
        pub dry: Option<bool>,
        pub to_next_km: Option<Kilometres>,
        pub place: Option<String>,
    }
}

impl Reading {
    /// Fuel left in cans; default none.
    pub fn cans_left(&self) -> Litres {
        self.cans_left_l.unwrap_or_default()
    }

    /// How the fuel was measured.
    pub fn how(&self) -> Measured {
        self.how.unwrap_or(MEASURED)
    }

    /// Fuel filled at the place; default none.
    pub(crate) fn filled(&self) -> Litres {
        self.filled_l.unwrap_or_default()
    }

    /// Whether the fuel stop had no fuel; default it was not tried.
    pub fn found_dry(&self) -> bool {
        self.dry.unwrap_or(false)
    }

    /// Tank and cans before filling, including unusable fuel.
    pub fn left(&self) -> Litres {
        self.tank_left_l + self.cans_left()
    }

    /// Whether it was taken where another one was.
    pub fn is_at_place_of(&self, other: &Self) -> bool {
        let is_aside = |reading: &Self| reading.to_next_km.is_some();
        self.place_number == other.place_number
            && self.place == other.place
            && is_aside(self) == is_aside(other)
    }
}

/// Where a reading belongs in a log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Belongs {
    /// It replaces the reading of that number, which was taken at the same place.
    Instead(usize),
    /// It gets that number, and later readings one more.
    At(usize),
}

/// Where a reading belongs in a log; with `again` it is another one even where there is one of its place.
pub fn belongs(log: &[Reading], reading: &Reading, again: bool) -> Belongs {
    let same = |other: &Reading| !again && other.is_at_place_of(reading);
    log.iter().rposition(same).map_or_else(
        || {
            let is_before = |other: &Reading| {
                other.place_number < reading.place_number
                    || (other.place_number == reading.place_number
                        && other.odometer_km <= reading.odometer_km)
            };
            Belongs::At(log.partition_point(is_before))
        },
        Belongs::Instead,
    )
}
