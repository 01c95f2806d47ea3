//! A reading of the way comes into the log, or puts right the one that was taken at the same place.

use serde_json::Value;

use super::fields::in_words_set;
use super::{Change, ChangeError, LOG, Step};
use crate::model::Trip;
use crate::model::log::{Belongs, Reading, belongs};

impl Change {
    /// Writes down a reading; with `again` beside the one that was taken at the same place, and not instead of it.
    ///
    /// # Panics
    /// Never: a reading has text keys and finite numbers only.
    pub fn read_off(trip: &Trip, reading: &Reading, again: bool) -> Self {
        let item = serde_json::to_value(reading).expect("text keys and finite numbers");
        let place = place(trip, reading);
        match belongs(trip.log(), reading, again) {
            Belongs::Instead(number) => corrected(trip, number, &item, &place),
            Belongs::At(number) => {
                let step = Step::Insert {
                    list: LOG.to_owned(),
                    at: number,
                    items: vec![item],
                };
                Self::new(format!("fuel reading at {place}"), vec![step])
            }
        }
    }

    /// Replaces reading number `at` by another one, where that belongs.
    ///
    /// # Errors
    /// When the log has no such reading.
    pub fn read_off_instead(
        trip: &Trip,
        at: usize,
        reading: &Reading,
    ) -> Result<Self, ChangeError> {
        let mut others = trip.clone();
        let log = others.log.get_or_insert_default();
        if at >= log.len() {
            return Err(super::too_few(LOG, at + 1, log.len()));
        }
        log.remove(at);
        let mut change = Self::read_off(&others, reading, false);
        let gone = Step::Remove {
            list: LOG.to_owned(),
            at,
            count: 1,
        };
        change.steps.insert(0, gone);
        Ok(change)
    }
}

/// Sets what differs of reading `number`.
fn corrected(trip: &Trip, number: usize, item: &Value, place: &str) -> Change {
    let stands = super::value::get(trip, &format!("{LOG}/{number}")).unwrap_or_default();
    let (Value::Object(stands), Value::Object(item)) = (stands, item) else {
        return Change::new(format!("fuel reading at {place}"), Vec::new());
    };
    let gone = stands.keys().filter(|key| !item.contains_key(*key));
    let (mut steps, mut words) = (Vec::new(), Vec::new());
    for key in item.keys().chain(gone) {
        let to = item.get(key);
        if stands.get(key) == to {
            continue;
        }
        let at = format!("{LOG}/{number}/{key}");
        words.push(in_words_set(trip, &at, to));
        steps.push(Step::Set {
            at,
            to: to.cloned(),
        });
    }
    let did = if words.is_empty() {
        "unchanged".to_owned()
    } else {
        words.join(", ")
    };
    Change::new(format!("fuel reading at {place} corrected: {did}"), steps)
}

fn place(trip: &Trip, reading: &Reading) -> String {
    let place_number = (reading.place_number as usize).min(trip.legs.len());
    let passed = || trip.place(place_number).name.to_owned();
    reading.place.clone().unwrap_or_else(passed)
}
