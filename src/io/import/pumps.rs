//! What a point's symbol and type say of fuel, and which points are advice that this program itself wrote.

use crate::io::reading::{Reading, Words};

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

/// Takes out of a file that this program wrote what it advised there and what it reckoned: that follows from the
/// trip and is no part of it.
pub(super) fn leave_out_advice(reading: &mut Reading) {
    let ours = reading.creator.as_deref();
    if !ours.is_some_and(|creator| creator.starts_with("drystage")) {
        return;
    }
    reading.passed_over.clear();
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
