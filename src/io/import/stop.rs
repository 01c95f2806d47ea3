//! What is known of a place where a leg ends: its own words, a fuel stop that is beside the track, and what symbol
//! and type of a point mean for fuel.

use super::line::{admits, rounded, tenth};
use super::thin::flat;
use crate::io::reading::{Reading, Waypoint, Words};
use crate::model::route::{DETOUR_FACTOR, FuelStop, Leg, Start};
use crate::model::track::Point;
use crate::quantity::{Kilometres, Metres, Share};

/// Words of symbols and types that mean a fuel stop. Common practice, no source.
const FUEL: [&str; 5] = [
    "fuel",
    "petrol",
    "gasoline",
    "gas station",
    "filling station",
];
/// Types of points that a report marks on the route and that are not places.
const ADVICE: [&str; 4] = [
    "decant",
    "turn-back point",
    "below minimum",
    "runs out of fuel",
];

/// Chance of fuel at a stop that only a map has: as likely as not, so that a target plan never relies on it. Common
/// practice, no source.
pub(crate) const PROPOSED: Share = Share::new(0.5);

/// The note of a fuel stop that only a map has.
fn from_map(words: &Words) -> String {
    let tags = words.description.as_deref();
    let tags = tags.map_or_else(String::new, |tags| format!(": {tags}"));
    format!("from the map, not confirmed{tags}")
}

/// What is known of a place.
#[derive(Clone, Copy, Default)]
pub(super) struct Stop<'a> {
    /// The words of the waypoint there.
    pub(super) words: Option<&'a Words>,
    pub(super) fuel_stop: Option<FuelStopOffTrack<'a>>,
}

/// A fuel stop off the track.
#[derive(Clone, Copy)]
pub(super) struct FuelStopOffTrack<'a> {
    pub(super) words: &'a Words,
    pub(super) off: Metres,
}

impl Words {
    /// Whether symbol or type mean a fuel stop.
    pub(super) fn tells_fuel(&self) -> bool {
        [&self.symbol, &self.kind]
            .into_iter()
            .flatten()
            .any(|text| {
                let text = text.to_lowercase();
                FUEL.iter().any(|word| text.contains(word)) && !text.contains("no ")
            })
    }
}

/// Takes out of a file that this program wrote what it advised there and what it reckoned: that follows from the
/// trip and is no part of it.
pub(super) fn leave_out_advice(reading: &mut Reading) {
    let creator = reading.creator.as_deref();
    if !creator.is_some_and(|creator| creator.starts_with("drystage")) {
        return;
    }
    reading.passed_over.clear();
    let is_advice = |words: &Words| {
        words
            .kind
            .as_deref()
            .is_some_and(|kind| ADVICE.contains(&kind))
    };
    reading.waypoints.retain(|point| !is_advice(&point.words));
    for point in &mut reading.waypoints {
        let words = &mut point.words;
        words.description = None;
        if !words.tells_fuel() {
            (words.symbol, words.kind) = (None, None);
        }
    }
}

impl<'a> Stop<'a> {
    pub(super) fn from_waypoint(waypoint: &'a Waypoint) -> Self {
        Self {
            words: Some(&waypoint.words),
            fuel_stop: None,
        }
    }

    /// The words that name the place.
    pub(super) fn name_words(&self) -> Option<&'a Words> {
        let own = self.words.filter(|words| words.name.is_some());
        own.or(self.fuel_stop.map(|fuel_stop| fuel_stop.words))
            .or(self.words)
    }

    pub(super) fn has_fuel(&self) -> bool {
        self.fuel_stop.is_some() || self.words.is_some_and(Words::tells_fuel)
    }

    /// The fuel of the place that is called `name`: unlimited and confirmed, since no file states
    /// more; with the extra way to a fuel stop off the track and back.
    fn fuel(&self, name: &str) -> Option<FuelStop> {
        let Some(fuel_stop) = self.fuel_stop else {
            let words = self.words.filter(|words| words.tells_fuel())?;
            return Some(FuelStop {
                chance: words.is_proposed.then_some(PROPOSED),
                note: words.is_proposed.then(|| from_map(words)),
                ..FuelStop::default()
            });
        };
        let off = Kilometres::from(fuel_stop.off).get();
        let there_and_back = off * 2.0 * DETOUR_FACTOR.get();
        let other = fuel_stop
            .words
            .name
            .as_deref()
            .filter(|other| *other != name);
        let other = other.map_or_else(String::new, |other| format!("{other}, "));
        let km = rounded(off, 10.0);
        let off_track = format!("{other}{km} km off the track in a straight line");
        Some(FuelStop {
            detour_km: Some(Kilometres::new((there_and_back * 10.0).ceil() / 10.0)),
            chance: fuel_stop.words.is_proposed.then_some(PROPOSED),
            note: Some(if fuel_stop.words.is_proposed {
                format!("{off_track}; {}", from_map(fuel_stop.words))
            } else {
                off_track
            }),
            ..FuelStop::default()
        })
    }

    /// The place as the start of the trip.
    pub(super) fn start(&self, name: &str, point: &Point) -> Start {
        let at = flat(point);
        let height = point.height.map(tenth);
        Start {
            name: name.to_owned(),
            lat: Some(at.lat),
            lon: Some(at.lon),
            altitude_m: height.filter(|height| admits("/start/altitude_m", height.get())),
            odometer_km: None,
            date: None,
            utc_offset: None,
            fuel: self.fuel(name),
        }
    }

    /// A leg to the place, of which nothing else is known.
    pub(super) fn leg(&self, name: &str, point: &Point) -> Leg {
        let at = flat(point);
        let words = self
            .words
            .or(self.fuel_stop.map(|fuel_stop| fuel_stop.words));
        Leg {
            lat: Some(at.lat),
            lon: Some(at.lon),
            fuel: self.fuel(name),
            note: words
                .filter(|words| !words.is_proposed)
                .and_then(|words| words.note(!words.tells_fuel())),
            ..Leg::to(name)
        }
    }
}
