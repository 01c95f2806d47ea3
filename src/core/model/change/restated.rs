//! Several changes as one, and the change that leads from a trip to one that states more of the same route.

use serde_json::Value;

use super::replace::in_words;
use super::{Change, ChangeError, LEGS, LOG, Step, WHAT_IFS};
use crate::model::Trip;

impl Change {
    /// The change that does nothing.
    pub fn none(name: impl Into<String>) -> Self {
        Self::new(name, Vec::new())
    }

    /// This change, then another one, under the name of this.
    #[must_use]
    pub fn then(mut self, next: Self) -> Self {
        self.steps.extend(next.steps);
        self
    }

    /// Whether it changes nothing.
    pub const fn is_nothing(&self) -> bool {
        self.steps.is_empty()
    }

    /// The change from a trip to one with as many legs. Log and what-ifs stay those of the first.
    ///
    /// # Errors
    /// When the numbers of legs differ.
    pub fn restated(
        before: &Trip,
        after: &Trip,
        name: impl Into<String>,
    ) -> Result<Self, ChangeError> {
        let [was, is] = [before, after].map(|trip| trip.legs.len());
        if was != is {
            return Err(ChangeError::Legs(format!("must keep {was} legs, got {is}")));
        }
        let [old, new] = [before, after].map(without_legs);
        let none = Value::Null;
        let mut keys: Vec<&String> = old.keys().chain(new.keys()).collect();
        keys.sort();
        keys.dedup();
        let mut steps = Vec::new();
        for key in keys {
            let [was, is] = [&old, &new].map(|part| part.get(key).unwrap_or(&none));
            let at = format!("/{key}");
            if was != is && ![LEGS, LOG, WHAT_IFS].contains(&at.as_str()) {
                steps.push(match is {
                    Value::Null => Step::clear(&at),
                    value => Step::set(at, value.clone()),
                });
            }
        }
        for (at, (was, is)) in before.legs.iter().zip(&after.legs).enumerate() {
            if was != is {
                steps.push(Step::ReplaceLeg {
                    at,
                    leg: Box::new(is.clone()),
                });
            }
        }
        Ok(Self::new(name, steps))
    }
}

/// What another trip states differently beside the legs, a line each: `vehicle: tank capacity 40 -> 52 L`.
pub fn differences(before: &Trip, after: &Trip) -> Vec<String> {
    let [old, new] = [before, after].map(without_legs);
    let mut lines = Vec::new();
    for (key, is) in &new {
        let was = old.get(key).unwrap_or(&Value::Null);
        let words = in_words(before, &format!("/{key}"), was, is);
        lines.extend(words.iter().map(|words| format!("{key}: {words}")));
    }
    lines
}

/// What a trip states beside its legs.
fn without_legs(trip: &Trip) -> serde_json::Map<String, Value> {
    let rest = Trip {
        legs: Vec::new(),
        ..trip.clone()
    };
    let document = serde_json::to_value(&rest).expect("text keys and finite numbers");
    document.as_object().cloned().unwrap_or_default()
}
