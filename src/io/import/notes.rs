//! Notes on an import: what was read, what was ignored and why, what was assumed.

use super::source::{Content, Source};
use crate::io::reading::Reading;
pub(super) use crate::present::verdict::counted;

/// Notes that are kept.
const MOST_NOTES: usize = 100;
/// Names in one note.
const MOST_NAMED: usize = 12;

/// Notes in the order in which they arose, each once.
#[derive(Default)]
pub(super) struct Notes(pub(super) Vec<String>);

impl Notes {
    pub(super) fn add(&mut self, message: impl Into<String>) {
        let message = match self.0.len() {
            MOST_NOTES => "There are more notes of this kind".to_owned(),
            _ => message.into(),
        };
        if self.0.len() <= MOST_NOTES && !self.0.contains(&message) {
            self.0.push(message);
        }
    }

    /// Adds a note on some names, if there are any: their number and the first of them.
    pub(super) fn add_of<T: AsRef<str>>(
        &mut self,
        names: &[T],
        message: impl FnOnce(usize, &str) -> String,
    ) {
        if !names.is_empty() {
            self.add(message(names.len(), &listed(names)));
        }
    }

    /// Notes how a file was read, and what of it was ignored.
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
                "{path}: damaged at line {}: {}. Only the part before the damage was imported",
                damage.line, damage.message
            ));
        }
        if reading.encoding != "UTF-8" {
            self.add(format!("{path}: read as {}", reading.encoding));
        }
        if reading.unusable_heights > 0 {
            self.add(format!(
                "{path}: {} out of range (-1000 to 10000 m) and ignored",
                counted(
                    usize::try_from(reading.unusable_heights).unwrap_or(usize::MAX),
                    "altitude is",
                    "altitudes are"
                )
            ));
        }
        let names = reading.passed_over.iter();
        let names = names.map(|(name, times)| format!("{name} ({times})"));
        let names: Vec<String> = names.collect();
        self.add_of(&names, |_, names| format!("{path}: ignored {names}"));
    }
}

/// The first of some names, and whether there are more.
pub(super) fn listed<T: AsRef<str>>(names: &[T]) -> String {
    let first: Vec<&str> = names.iter().take(MOST_NAMED).map(AsRef::as_ref).collect();
    match names.len() - first.len() {
        0 => first.join(", "),
        more => format!("{} and {more} more", first.join(", ")),
    }
}
