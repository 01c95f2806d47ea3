//! What the user has to know about an import, a sentence each.

use super::source::{Content, Source};
use crate::io::reading::Reading;

/// Notes that are kept.
const MOST_NOTES: usize = 100;
/// Names in one note.
const MOST_NAMED: usize = 12;

/// Notes in the order in which they arose, each once.
#[derive(Default)]
pub(super) struct Notes(pub(super) Vec<String>);

impl Notes {
    pub(super) fn add(&mut self, says: String) {
        let full = self.0.len() == MOST_NOTES;
        let says = if full {
            "there is more of this kind".to_owned()
        } else {
            says
        };
        if self.0.len() <= MOST_NOTES && !self.0.contains(&says) {
            self.0.push(says);
        }
    }

    /// What a file gave that the trip does not show.
    pub(super) fn tell_of(&mut self, source: &Source) {
        let path = &source.path;
        match &source.content {
            Content::Table { table, encoding } => {
                self.add(format!("{path}: read as {encoding}, {}", table.dialect));
            }
            Content::Map(reading) => self.tell_of_reading(path, reading),
        }
    }

    fn tell_of_reading(&mut self, path: &str, reading: &Reading) {
        if let Some(damage) = &reading.salvaged_before {
            self.add(format!(
                "{path}: damaged at line {}: {}; only what precedes it was taken",
                damage.line, damage.says
            ));
        }
        if reading.encoding != "UTF-8" {
            self.add(format!("{path}: read as {}", reading.encoding));
        }
        if reading.unusable_heights > 0 {
            self.add(format!(
                "{path}: {} heights are no number from -1000 to 10000 m and count as unknown",
                reading.unusable_heights
            ));
        }
        if !reading.passed_over.is_empty() {
            let names = reading.passed_over.iter();
            let names = names.map(|(name, times)| format!("{name} ({times})"));
            self.add(format!("{path}: passed over {}", listed(names)));
        }
    }
}

/// The first of some names, and whether there are more.
pub(super) fn listed<T: AsRef<str>>(names: impl IntoIterator<Item = T>) -> String {
    let mut names = names.into_iter();
    let first: Vec<T> = names.by_ref().take(MOST_NAMED).collect();
    let first: Vec<&str> = first.iter().map(AsRef::as_ref).collect();
    let more = names.count();
    if more == 0 {
        first.join(", ")
    } else {
        format!("{} and {more} more", first.join(", "))
    }
}

/// `one` or, where there are several, `many` with their number before it.
pub(super) fn counted(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}
