//! Whether an odometer reading can be right: the distance driven since the reading before it, beside the planned one.

use crate::model::log::{Belongs, Reading, belongs};
use crate::plan::parts::Plan;
use crate::quantity::Kilometres;

/// An odometer reading that is hardly right.
#[derive(Clone, Debug, PartialEq)]
pub struct OddOdometer {
    /// Where the reading before it was taken.
    pub since: String,
    /// Driven since, by the odometer; below 0 if it went back.
    pub driven: Kilometres,
    /// What the odometer would have counted on the planned route.
    pub planned: Kilometres,
}

impl OddOdometer {
    /// Whether it cannot be right: odometers do not count back.
    pub fn is_impossible(&self) -> bool {
        self.driven < ROUNDED * -1.0
    }
}

/// An odometer reading in a trip file may be rounded, or from memory, by as much. Common practice, no source.
const ROUNDED: Kilometres = Kilometres::new(2.0);

/// A detour or a shortcut of so much is nothing odd, as a part of the planned distance and at least. Common practice, no
/// source.
const USUAL_SHARE: f64 = 0.3;
const USUAL_LEAST: Kilometres = Kilometres::new(20.0);

impl Plan {
    /// Whether the odometer of a reading that is to be entered differs oddly from the reading before it, or from the one at
    /// the start. `None` where nothing is known to compare with.
    pub fn odd_odometer(&self, reading: &Reading, again: bool) -> Option<OddOdometer> {
        let log = self.trip.log();
        let (Belongs::Instead(number) | Belongs::At(number)) = belongs(log, reading, again);
        let on_route = |reading: &&Reading| reading.to_next_km.is_none();
        let before = log[..number].iter().rev().find(on_route);
        let (place_number, odometer) = match before {
            Some(before) => (before.place_number as usize, before.odometer_km),
            None => (0, self.trip.start.odometer_km?),
        };
        // Legs that are driven have the length of the readings.
        let set_out = self.as_planned().map_or(self, AsRef::as_ref);
        let at = |place_number: usize| {
            let leg = place_number
                .checked_sub(1)
                .and_then(|leg| set_out.legs.get(leg));
            leg.map_or(Kilometres::ZERO, |leg| leg.from_km + leg.distance)
        };
        let factor = self.trip.vehicle.odometer_factor();
        let ahead = at(reading.place_number as usize) - at(place_number);
        let odd = OddOdometer {
            since: self
                .trip
                .place(place_number.min(self.trip.legs.len()))
                .name
                .to_owned(),
            driven: reading.odometer_km - odometer,
            planned: ahead.shown(factor),
        };
        let drove_about = again && place_number == reading.place_number as usize;
        if reading.to_next_km.is_some() || drove_about {
            // Between two places, and about one, nothing is planned to compare with.
            return odd.is_impossible().then_some(odd);
        }
        let usual = (odd.planned * USUAL_SHARE).max(USUAL_LEAST);
        let is_odd = odd.is_impossible() || (odd.driven - odd.planned).abs() > usual;
        is_odd.then_some(odd)
    }
}
