//! What a point's symbol and type say of fuel, and which points are advice that this program itself wrote.

use serde_json::{Map, Value};

use super::line::put;
use crate::io::gpx::{Reading, Words};
use crate::quantity::Kilometres;

/// Words by which files say that fuel can be had. Common practice, no source.
const FUEL: [&str; 5] = [
    "fuel",
    "petrol",
    "gasoline",
    "gas station",
    "filling station",
];
/// Types of points that a report marks on the way and that are no places.
const ADVICE: [&str; 5] = ["pour", "turn back", "dry if", "below reserve", "runs dry"];

impl Words {
    /// Whether symbol or type say that there is fuel.
    pub(super) fn tells_fuel(&self) -> bool {
        let says = |text: &Option<String>| {
            let text = text.as_deref().unwrap_or_default().to_lowercase();
            FUEL.iter().any(|word| text.contains(word)) && !text.contains("no ")
        };
        says(&self.symbol) || says(&self.kind)
    }
}

/// States the fuel of a place where its words tell of any: as much as one likes, for sure, since no file
/// says more; `detour` is the extra way to it.
pub(super) fn put_fuel(object: &mut Map<String, Value>, words: &Words, detour: Option<Kilometres>) {
    if !words.tells_fuel() {
        return;
    }
    let mut fuel = Map::new();
    if let Some(detour) = detour {
        put(&mut fuel, "detour_km", detour);
    }
    object.insert("fuel".to_owned(), Value::Object(fuel));
}

/// Takes out of a file that this program wrote what it advised there: it follows from the trip and is no
/// part of it.
pub(super) fn leave_out_advice(reading: &mut Reading) {
    let ours = reading.creator.as_deref();
    if !ours.is_some_and(|creator| creator.starts_with("drystage")) {
        return;
    }
    let is_advice = |words: &Words| {
        ADVICE
            .iter()
            .any(|kind| words.kind.as_deref() == Some(*kind))
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
