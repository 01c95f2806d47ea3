//! A small form: its fields are typed one after another, and the trip is left alone until all of it is accepted.

use super::line::TypedLine;
use super::message::Message;
use super::prefix::Prefix;
use crate::present::entry::Entry;

/// The words for no and yes.
const NO_YES: [&str; 2] = ["no", "yes"];

/// What a form is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Purpose {
    /// A fuel reading.
    Reading,
    /// The fuel stop of a place; 0 is the start.
    FuelStop(usize),
    /// A map and elevation tiles.
    Map,
    /// A fill-up log.
    FillLog,
    /// Vehicle, load and rules of another trip.
    Vehicle,
    /// Other legs, from tracks or a table.
    Route,
}

/// A form that is being filled in.
#[derive(Clone, Debug)]
pub struct Form {
    pub(super) purpose: Purpose,
    pub(super) title: String,
    pub(super) fields: Vec<FormField>,
    /// Number of the field that is typed.
    pub(super) at: usize,
    /// What the user must know before the form is accepted.
    pub(super) objection: Option<Objection>,
}

/// Why a form was not accepted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Objection {
    /// A value is wrong.
    Wrong(String),
    /// A value is unlikely; Enter accepts it.
    Unlikely(String),
}

impl Objection {
    /// The reason as a sentence.
    pub(super) fn reason(&self) -> &str {
        let (Self::Wrong(reason) | Self::Unlikely(reason)) = self;
        reason
    }
}

/// One field of a form.
#[derive(Clone, Debug)]
pub(super) struct FormField {
    /// The key of the value.
    pub(super) key: &'static str,
    pub(super) label: &'static str,
    /// How a value is typed; `None` where one of the words is chosen, and for a text of any kind.
    pub(super) entry: Option<Entry>,
    pub(super) words: Vec<String>,
    pub(super) line: TypedLine,
    /// Beside the value, dimmed: what was planned, or what it means.
    pub(super) hint: String,
    /// Whether the user typed or chose it.
    pub(super) is_typed: bool,
    prefix: Prefix,
}

impl FormField {
    /// A value that is typed, empty.
    pub(super) fn typed(key: &'static str, label: &'static str, entry: Entry) -> Self {
        Self {
            entry: Some(entry),
            ..Self::text(key, label)
        }
    }

    /// A text of any kind, empty.
    pub(super) fn text(key: &'static str, label: &'static str) -> Self {
        Self::chosen(key, label, Vec::new(), 0)
    }

    /// One of some words, of which one is chosen.
    pub(super) fn chosen(
        key: &'static str,
        label: &'static str,
        words: Vec<String>,
        at: usize,
    ) -> Self {
        Self {
            key,
            label,
            entry: None,
            line: TypedLine::new(words.get(at).cloned().unwrap_or_default()),
            words,
            hint: String::new(),
            is_typed: false,
            prefix: Prefix::default(),
        }
    }

    /// No or yes.
    pub(super) fn no_or_yes(key: &'static str, label: &'static str, is_yes: bool) -> Self {
        let words = NO_YES.map(str::to_owned).to_vec();
        Self::chosen(key, label, words, usize::from(is_yes))
    }

    #[must_use]
    pub(super) fn with_hint(self, hint: impl Into<String>) -> Self {
        Self {
            hint: hint.into(),
            ..self
        }
    }

    /// Number of the chosen word.
    pub(super) fn word(&self) -> Option<usize> {
        self.words.iter().position(|word| word == self.line.text())
    }

    fn choose(&mut self, number: usize) {
        if let Some(word) = self.words.get(number) {
            self.line = TypedLine::new(word.clone());
            self.is_typed = true;
        }
    }
}

/// What comes of a message.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Filled {
    /// What was typed or chosen, or which field is typed.
    Changed,
    /// The last field was accepted.
    Done,
    /// The form is given up.
    Closed,
    /// It means nothing to a form.
    NotMine,
}

impl Form {
    /// The form at its first field that is empty.
    pub(super) fn new(purpose: Purpose, title: impl Into<String>, fields: Vec<FormField>) -> Self {
        let is_open = |field: &FormField| field.line.text().is_empty();
        Self {
            purpose,
            title: title.into(),
            at: fields.iter().position(is_open).unwrap_or_default(),
            fields,
            objection: None,
        }
    }

    /// What the keys do, and what is done after the last field.
    pub(super) const fn how_to(&self) -> &'static str {
        match self.purpose {
            Purpose::Reading => {
                "Enter goes on; after the last field it enters the reading. Esc enters nothing."
            }
            Purpose::FuelStop(_) => {
                "Enter goes on; after the last field it sets the fuel stop. Esc changes nothing."
            }
            Purpose::Map | Purpose::FillLog | Purpose::Vehicle | Purpose::Route => {
                "Enter reads the files and shows what would change. Esc changes nothing."
            }
        }
    }

    /// Forgets the letters that were typed at a choice.
    pub(super) fn choose_anew(&mut self) {
        if let Some(field) = self.fields.get_mut(self.at) {
            field.prefix.clear();
        }
    }

    /// Whether Enter accepts an unlikely value.
    pub(super) const fn is_unlikely(&self) -> bool {
        matches!(self.objection, Some(Objection::Unlikely(_)))
    }

    /// The line that is typed; `None` where a word is chosen.
    pub(super) fn line(&self) -> Option<&TypedLine> {
        let field = self.fields.get(self.at)?;
        field.words.is_empty().then_some(&field.line)
    }

    /// The text of a field.
    pub(super) fn text(&self, key: &str) -> &str {
        let field = self.fields.iter().find(|field| field.key == key);
        field.map_or("", |field| field.line.text().trim())
    }

    /// Whether yes is chosen in a field.
    pub(super) fn is_yes(&self, key: &str) -> bool {
        self.text(key) == NO_YES[1]
    }

    /// Goes to a field and objects to it.
    pub(super) fn object(&mut self, key: &str, objection: Objection) {
        let at = self.fields.iter().position(|field| field.key == key);
        self.at = at.unwrap_or(self.at);
        self.objection = Some(objection);
    }

    /// Does what a message wants.
    pub(super) fn update(&mut self, message: Message) -> Filled {
        let last = self.fields.len().saturating_sub(1);
        let is_unlikely = self.is_unlikely();
        let Some(field) = self.fields.get_mut(self.at) else {
            return Filled::Closed;
        };
        let number = field.word();
        let has_words = !field.words.is_empty();
        match message {
            Message::Close => return Filled::Closed,
            Message::Enter if self.at == last || is_unlikely => return Filled::Done,
            Message::Enter => self.at += 1,
            Message::ScrollUp | Message::ScrollDown if has_words => {
                let count = field.words.len();
                let is_next = message == Message::ScrollDown;
                let on = if is_next { 1 } else { count - 1 };
                field.prefix.clear();
                field.choose(number.map_or(0, |number| (number + on) % count));
                return self.changed();
            }
            Message::ScrollUp | Message::PreviousPanel => self.at = self.at.saturating_sub(1),
            Message::ScrollDown => self.at = (self.at + 1).min(last),
            Message::Type(letter) if !field.words.is_empty() => {
                if let Some(found) = field.prefix.choose(&field.words, number, letter) {
                    field.choose(found);
                }
                return self.changed();
            }
            Message::Type(letter) => return self.typed(|line| line.put(letter)),
            Message::Erase(reach) if field.words.is_empty() => {
                return self.typed(|line| line.erase(reach));
            }
            Message::Erase(_) => field.prefix.clear(),
            Message::Go(reach) if field.words.is_empty() => field.line.go(reach),
            Message::Go(_) => {}
            _ => return Filled::NotMine,
        }
        self.changed()
    }

    fn typed(&mut self, act: impl FnOnce(&mut TypedLine)) -> Filled {
        if let Some(field) = self.fields.get_mut(self.at) {
            act(&mut field.line);
            field.is_typed = true;
        }
        self.changed()
    }

    fn changed(&mut self) -> Filled {
        self.objection = None;
        Filled::Changed
    }
}
