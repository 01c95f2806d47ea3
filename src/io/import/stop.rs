//! What is known of a place where a leg ends: its own words, and a pump that lies beside the track.

use serde_json::{Map, Value};

use super::line::{put, rounded};
use crate::io::reading::{Waypoint, Words};
use crate::model::route::DETOUR_FACTOR;
use crate::quantity::{Kilometres, Metres};

/// What is known of a place.
#[derive(Clone, Copy, Default)]
pub(super) struct Stop<'a> {
    /// What the waypoint there says.
    pub(super) words: Option<&'a Words>,
    pub(super) pump: Option<Beside<'a>>,
}

/// A pump off the track.
#[derive(Clone, Copy)]
pub(super) struct Beside<'a> {
    pub(super) words: &'a Words,
    pub(super) off: Metres,
}

impl<'a> Stop<'a> {
    pub(super) fn of(waypoint: &'a Waypoint) -> Self {
        Self {
            words: Some(&waypoint.words),
            pump: None,
        }
    }

    /// The words that name the place.
    pub(super) fn name_words(&self) -> Option<&'a Words> {
        let own = self.words.filter(|words| words.name.is_some());
        own.or(self.pump.map(|pump| pump.words)).or(self.words)
    }

    pub(super) fn has_fuel(&self) -> bool {
        self.pump.is_some() || self.words.is_some_and(Words::tells_fuel)
    }

    /// States the fuel of the place that is called `name`: as much as one likes, for sure, since no file says
    /// more; with the extra way to a pump off the track and back.
    pub(super) fn put_fuel(&self, name: &str, object: &mut Map<String, Value>) {
        if !self.has_fuel() {
            return;
        }
        let mut fuel = Map::new();
        if let Some(pump) = self.pump {
            let off = Kilometres::from(pump.off);
            let there_and_back = off * 2.0 * DETOUR_FACTOR.get();
            let tenths = (there_and_back.get() * 10.0).ceil() / 10.0;
            put(&mut fuel, "detour_km", Kilometres::new(tenths));
            let other = pump.words.name.as_deref().filter(|other| *other != name);
            let other = other.map_or_else(String::new, |other| format!("{other}, "));
            let km = rounded(off.get(), 10.0);
            put(
                &mut fuel,
                "note",
                format!("{other}{km} km off the track in a straight line"),
            );
        }
        object.insert("fuel".to_owned(), Value::Object(fuel));
    }

    /// States the fuel, and what else the words tell as a note.
    pub(super) fn put(&self, name: &str, leg: &mut Map<String, Value>) {
        self.put_fuel(name, leg);
        let words = self.words.or(self.pump.map(|pump| pump.words));
        if let Some(note) = words.and_then(|words| words.note(!words.tells_fuel())) {
            put(leg, "note", note);
        }
    }
}
