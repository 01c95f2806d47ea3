//! What is being typed or chosen: a value, with what is wrong with it and what it would change, or the answer to a
//! question.

use serde_json::Value;

use super::line::TypedLine;
use super::prefix::Prefix;
use super::sheet::FieldRow;
use crate::model::Trip;
use crate::model::change::{Change, ChangeError};
use crate::present::entry::Entry;
use crate::present::number::Units;
use crate::quantity::Kilometres;

/// Why what was typed is not taken.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub(crate) enum Refused {
    /// It is no value of the field.
    #[error("{0}")]
    Value(
        /// What would be right, then what was typed.
        String,
    ),
    /// The trip does not take it.
    #[error(transparent)]
    Change(#[from] ChangeError),
}

/// One field while it is edited.
#[derive(Clone, Debug)]
pub struct Editor {
    /// The row whose field is edited.
    pub row: FieldRow,
    /// The text that is typed, and its cursor.
    pub line: TypedLine,
    /// What is wrong with the trip that the text would make; [`Self::parsed`] returns what is wrong with the text.
    pub problem: Option<String>,
    entry: Entry,
    /// The text as it was; while it is there is nothing to change.
    first: String,
    /// The text for which the trial was made.
    pub(super) tried: Option<String>,
    /// Whether the text only holds the place of what is to be typed.
    holds_place: bool,
    /// The letters that were typed at a choice.
    prefix: Prefix,
}

impl Editor {
    /// Begins with what the trip states, or with the text that was typed over it.
    pub(crate) fn new(row: FieldRow, trip: &Trip, units: Units, typed: Option<char>) -> Self {
        let entry = Entry::new(row.field, units);
        let first = entry.shown(row.stated(trip).as_ref());
        let mut line = TypedLine::new(first.clone());
        if let Some(c) = typed {
            line = TypedLine::default();
            line.put(c);
        }
        Self {
            row,
            line,
            problem: None,
            entry,
            tried: Some(first.clone()),
            first,
            holds_place: false,
            prefix: Prefix::default(),
        }
    }

    /// An editor whose first typed letter replaces the whole value.
    #[must_use]
    pub(crate) const fn replaced_by_typing(mut self) -> Self {
        self.holds_place = true;
        self
    }

    /// Does something with the text that is typed.
    pub(super) fn with_line(&mut self, act: impl Fn(&mut TypedLine)) {
        self.holds_place = false;
        act(&mut self.line);
    }

    /// Types a letter.
    pub(super) fn put(&mut self, letter: char) {
        if std::mem::take(&mut self.holds_place) {
            self.line = TypedLine::default();
        }
        self.line.put(letter);
    }

    /// How the field is reported and typed.
    pub(crate) const fn entry(&self) -> Entry {
        self.entry
    }

    /// The words to choose from, the one for "not stated" first where that can be; empty where text is typed.
    pub(crate) fn choices(&self) -> Vec<&'static str> {
        let words = self.entry.choices();
        if words.is_empty() {
            return Vec::new();
        }
        let optional = !self.row.field.is_required()
            && !matches!(self.row.field.kind, crate::model::field::Kind::Object);
        let none = optional.then_some("");
        none.into_iter().chain(words.iter().copied()).collect()
    }

    /// Whether a word is chosen here; else text is typed.
    pub(crate) fn chooses(&self) -> bool {
        !self.entry.choices().is_empty()
    }

    /// Whether the trip cannot be made of what is here.
    pub(crate) const fn is_wrong(&self) -> bool {
        self.problem.is_some()
    }

    /// Which of the choices the text is.
    pub(crate) fn chosen(&self) -> Option<usize> {
        let text = self.line.text();
        let is_no = text.is_empty() && self.choices().first() != Some(&"");
        let text = if is_no { "no" } else { text };
        self.choices().iter().position(|&word| word == text)
    }

    /// Goes to another choice, round and round.
    pub(crate) fn choose(&mut self, on: bool) {
        let choices = self.choices();
        let count = choices.len();
        if count == 0 {
            return;
        }
        let next = match (self.chosen(), on) {
            (None, _) => 0,
            (Some(at), true) => (at + 1) % count,
            (Some(at), false) => (at + count - 1) % count,
        };
        self.line = TypedLine::new(choices[next]);
        self.prefix.clear();
    }

    /// Goes to the choice that begins with the letters typed so far.
    pub(crate) fn choose_by(&mut self, letter: char) {
        let choices = self.choices();
        if let Some(found) = self.prefix.choose(&choices, self.chosen(), letter) {
            self.line = TypedLine::new(choices[found]);
        }
    }

    /// Forgets the letters that chose.
    pub(super) fn choose_anew(&mut self) {
        self.prefix.clear();
    }

    /// Whether the text is not what it was.
    pub(crate) fn is_changed(&self) -> bool {
        self.line.text() != self.first
    }

    /// What the text means; `None` for what is not to be stated.
    ///
    /// # Errors
    /// What would be right, then what was typed.
    pub(crate) fn parsed(&self) -> Result<Option<Value>, Refused> {
        self.entry.parse(self.line.text()).map_err(Refused::Value)
    }

    /// The change that the text makes; none while it is as it was.
    ///
    /// # Errors
    /// What is wrong with the text.
    pub(crate) fn change(&self, trip: &Trip) -> Result<Option<Change>, Refused> {
        if !self.is_changed() {
            return Ok(None);
        }
        let value = self.parsed()?;
        Ok(Some(
            match (self.row.item("/legs"), self.row.field.key(), &value) {
                // A leg cannot go to another day without its neighbours.
                (Some(leg), "day", Some(day)) => {
                    let day = day
                        .as_u64()
                        .and_then(|day| u32::try_from(day).ok())
                        .unwrap_or(1);
                    Change::set_day(trip, leg, day)?
                }
                _ if self.row.field.path == "/load/cans/*/size_l" => {
                    Change::set_can_size(trip, &self.row.at, value)
                }
                _ => Change::set(trip, &self.row.at, value),
            },
        ))
    }
}

/// The question, the answer so far, and what is wrong with it.
#[derive(Clone, Debug)]
pub struct Prompt {
    /// What the answer is for.
    pub(crate) purpose: Purpose,
    /// The answer so far.
    pub(crate) line: TypedLine,
    /// What is wrong with it.
    pub(crate) problem: Option<String>,
}

/// What the answer is for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Purpose {
    /// The file to save in.
    SaveAs {
        /// Whether the program ends after that.
        then_quit: bool,
    },
    /// The kilometre at which the chosen leg is cut.
    SplitAt {
        /// Length of the leg.
        length: Kilometres,
    },
    /// The name under which the vehicle is on the shelf.
    KeepVehicle,
    /// The name under which the sliders are kept.
    SaveWhatIf,
    /// A part of the name of a place to go to.
    Find,
    /// A part of the name of a field to go to.
    FindField,
}

impl Prompt {
    /// The question with a proposed answer.
    pub(crate) fn new(purpose: Purpose, proposed: impl Into<String>) -> Self {
        Self {
            purpose,
            line: TypedLine::new(proposed),
            problem: None,
        }
    }
}
