//! The screen before there is a trip: recent ones, unsaved ones, samples, a new one, an import.
//!
//! A state and an update of their own: what is chosen here becomes the trip of [`super::state`].

use serde_json::{Value, json};

use super::editor::Refused;
use super::help::{self, Help};
use super::keymap::Layer;
use super::line::TypedLine;
use super::message::Message;
use super::outside::{Imported, Item, Opened, Shelf};
use super::prefix::Prefix;
use crate::model::change::{ChangeError, stated};
use crate::model::field::{self, Field};
use crate::model::rules::UNITS;
use crate::model::vehicle::REFERENCE_LOAD;
use crate::model::vocabulary::UnitSystem;
use crate::model::{Trip, check};
use crate::present::entry::Entry;
use crate::present::number::Units;
use crate::present::speeds;

/// The questions for a new trip: the field, the question, and an answer as an example.
const QUESTIONS: [(&str, &str, &str); 13] = [
    ("/name", "name of the trip", "Round the salt lakes"),
    ("/vehicle/fuel", "petrol or diesel", ""),
    ("/vehicle/engine_l", "engine displacement", "1.5"),
    (
        "/vehicle/baseline_l_per_100km",
        "consumption on a level sealed road at 90 km/h",
        "8.5",
    ),
    ("/vehicle/tank_l", "tank capacity", "45"),
    (
        "/vehicle/kerb_mass_kg",
        "kerb mass, from a weighbridge or the handbook",
        "1120",
    ),
    ("/vehicle/gvm_kg", "gross vehicle mass (GVM)", "1470"),
    ("/start/name", "place where the trip starts", "Base camp"),
    ("/start/fuel", "is there a fuel stop", ""),
    ("/legs/0/to", "place where the first leg ends", "First ford"),
    ("/legs/0/distance_km", "distance of the first leg", "85"),
    ("/legs/0/surface", "surface of the first leg", ""),
    (
        SPEEDS,
        "speed on each surface; Enter accepts all of them",
        "",
    ),
];

/// What may be typed there.
const SPEEDS_RANGE: &str = "change a number if you drive slower or faster there";
/// The question that shows all its defaults on the line that is typed.
const SPEEDS: &str = "/rules/speeds_kmh";

/// The screen before there is a trip.
#[derive(Clone, Debug)]
pub struct Start {
    /// What can be opened.
    pub items: Vec<Item>,
    /// Which of it is chosen.
    pub at: usize,
    /// The question that is being answered; `None` if the list is in front.
    pub asking: Option<Asking>,
    /// Why the last action failed; `None` if it did not.
    pub problem: Option<String>,
    /// The list of keys, while it is in front.
    pub help: Option<Help>,
    /// The reader's units.
    pub(super) units: Units,
    /// The letters that were typed at a choice.
    prefix: Prefix,
    /// The vehicle of a new trip, from the shelf: it answers the questions about the vehicle.
    vehicle: Option<Box<Trip>>,
}

/// What comes after an import.
const NEXT_STEPS: &str = "next: 5 Enter for surfaces and days, V for a vehicle, T for map files";

/// Items of a page.
const PAGE: usize = 8;

/// A question that is being answered.
#[derive(Clone, Debug)]
pub enum Asking {
    /// The paths of files to import, then the vehicle.
    Import {
        /// The answer so far.
        line: TypedLine,
        /// The paths, once they are answered.
        paths: Option<TypedLine>,
    },
    /// Whether what was imported is to be opened.
    Accept {
        /// The trip that was imported and is not accepted yet.
        imported: Imported,
        /// The first row that is shown.
        from_row: usize,
        /// The paths and the vehicle.
        answers: [TypedLine; 2],
    },
    /// One of the questions about a new trip.
    New {
        /// The answer so far.
        line: TypedLine,
        /// The answers to the questions before it.
        before: Vec<TypedLine>,
    },
}

/// What comes of a message.
#[derive(Debug)]
pub enum Outcome {
    /// Nothing that ends the screen.
    On,
    /// A trip was opened or made.
    Opened(Box<Opened>),
    /// The user leaves the program.
    Quit,
}

impl Start {
    /// The screen with what the shelf has.
    pub fn new(shelf: &dyn Shelf, units: Option<UnitSystem>) -> Self {
        Self {
            items: shelf.items(),
            at: 0,
            asking: None,
            problem: None,
            help: None,
            units: Units(units.unwrap_or(UNITS)),
            prefix: Prefix::default(),
            vehicle: None,
        }
    }

    /// The layer that the keys are for.
    pub const fn layer(&self) -> Layer {
        match &self.help {
            Some(help) => help.layer(),
            None if matches!(self.asking, Some(Asking::Accept { .. })) => Layer::Ask,
            None if self.asking.is_some() => Layer::Typing,
            None => Layer::Start,
        }
    }

    /// Whether a message would change anything now.
    pub(crate) fn works_now(&self, message: Message) -> bool {
        match (message, self.layer()) {
            (Message::ScrollDown, Layer::Start) => self.at + 1 < self.items.len(),
            (Message::ScrollDown, Layer::Typing) => self
                .question()
                .is_some_and(|(_, choices, _)| self.help.is_none() && !choices.is_empty()),
            (Message::Erase(_), _) => {
                let line = self.help.as_ref().map(|help| &help.sought).or(self.line());
                line.is_some_and(|line| !line.halves().0.is_empty())
            }
            (Message::Close, layer) => layer != Layer::Start,
            (Message::Help, layer) => layer != Layer::Help,
            _ => true,
        }
    }

    /// What is asked, the words to choose from, and what may be typed.
    pub(crate) fn question(&self) -> Option<(String, &'static [&'static str], String)> {
        match self.asking.as_ref()? {
            Asking::Import { paths: None, .. } => Some((
                "1 of 2: file to import".to_owned(),
                &[],
                "a GPX or GeoJSON file, or a CSV leg table; separate several with ;".to_owned(),
            )),
            Asking::Import { .. } => Some((
                "2 of 2: trip whose vehicle, load and rules are taken over".to_owned(),
                &[],
                "a trip file or a name on the shelf of vehicles; empty: a placeholder".to_owned(),
            )),
            Asking::Accept { .. } => None,
            Asking::New { before, .. } => {
                let question = before.len();
                let (entry, label) = self.entry(question)?;
                let asked =
                    |questions: usize| (0..questions).filter(|&n| !self.is_answered(n)).count();
                let number = format!("{} of {}", asked(question + 1), asked(QUESTIONS.len()));
                if QUESTIONS[question].0 == SPEEDS {
                    let unit = self.units.speed_unit();
                    let asks = format!("{number}: {label}, {unit}");
                    return Some((asks, &[], SPEEDS_RANGE.to_owned()));
                }
                let unit = entry.unit();
                let unit = if unit.is_empty() {
                    String::new()
                } else {
                    format!(", {unit}")
                };
                let asks = format!("{number}: {label}{unit}");
                Some((asks, entry.choices(), self.example(question, entry)))
            }
        }
    }

    /// An answer as an example; what may be typed where there is none.
    fn example(&self, question: usize, entry: Entry) -> String {
        let (_, _, example) = QUESTIONS[question];
        // Examples are in metric units.
        let is_metric = matches!(self.units.0, UnitSystem::Metric | UnitSystem::KmPerL);
        if example.is_empty() || !(is_metric || entry.unit().is_empty()) {
            return entry.range();
        }
        format!("for example {example}")
    }

    /// The questions that are answered, with their answers.
    pub(crate) fn answers(&self) -> Vec<(&'static str, String)> {
        let Some(Asking::New { before, .. }) = &self.asking else {
            return Vec::new();
        };
        let answered = QUESTIONS.iter().zip(before);
        answered
            .map(|((_, question, _), line)| (*question, line.text().to_owned()))
            .collect()
    }

    fn entry(&self, question: usize) -> Option<(Entry, &'static str)> {
        let (path, label, _) = QUESTIONS.get(question)?;
        let field: &'static Field = field::at_pointer(path)?;
        Some((Entry::new(field, self.units), label))
    }

    /// The line that is typed.
    pub(crate) const fn line(&self) -> Option<&TypedLine> {
        match &self.asking {
            Some(Asking::Import { line, .. } | Asking::New { line, .. }) => Some(line),
            Some(Asking::Accept { .. }) | None => None,
        }
    }

    fn line_mut(&mut self) -> Option<&mut TypedLine> {
        match &mut self.asking {
            Some(Asking::Import { line, .. } | Asking::New { line, .. }) => Some(line),
            Some(Asking::Accept { .. }) | None => None,
        }
    }

    /// Whether the vehicle of the shelf answers a question.
    fn is_answered(&self, question: usize) -> bool {
        let path = QUESTIONS.get(question).map_or("", |question| question.0);
        let is_of_vehicle = path.starts_with("/vehicle") || path == SPEEDS;
        self.vehicle.is_some() && is_of_vehicle
    }

    /// Gives the answers of the vehicle of the shelf, as far as they come next.
    fn answer_by_vehicle(&self, before: &mut Vec<TypedLine>) {
        while self.is_answered(before.len())
            && let Some(vehicle) = &self.vehicle
        {
            let path = QUESTIONS[before.len()].0;
            let entry = self.entry(before.len()).filter(|_| path != SPEEDS);
            let shown = entry.map_or_else(
                || speeds::defaults(self.units),
                |(entry, _)| entry.shown(stated(vehicle, path).as_ref()),
            );
            before.push(TypedLine::new(shown));
        }
    }

    /// Does what a message wants.
    pub fn update(&mut self, message: Message, shelf: &mut dyn Shelf) -> Outcome {
        if let Some(help) = &mut self.help {
            match help.update(message) {
                help::Outcome::Closed => self.help = None,
                help::Outcome::NotMine if message == Message::Quit => return Outcome::Quit,
                help::Outcome::On | help::Outcome::NotMine => {}
            }
            return Outcome::On;
        }
        if message == Message::Help {
            self.help = Some(Help::of(self.layer()));
            return Outcome::On;
        }
        if matches!(self.asking, Some(Asking::Accept { .. })) {
            return self.accepted(message, shelf);
        }
        if self.asking.is_some() {
            return self.typed(message, shelf);
        }
        let last = self.items.len().saturating_sub(1);
        if let Some(at) = message.scrolled(self.at, PAGE, last) {
            self.at = at;
        }
        match message {
            Message::Enter => return self.choose(shelf),
            Message::Quit => return Outcome::Quit,
            _ => {}
        }
        Outcome::On
    }

    /// What was imported is listed: it is scrolled, opened or left.
    fn accepted(&mut self, message: Message, shelf: &mut dyn Shelf) -> Outcome {
        let Some(Asking::Accept {
            imported,
            from_row,
            answers,
        }) = &mut self.asking
        else {
            return Outcome::On;
        };
        let last = imported.lines.len().saturating_sub(1);
        if let Some(row) = message.scrolled(*from_row, PAGE, last) {
            *from_row = row;
            return Outcome::On;
        }
        match message {
            Message::Yes => {
                let mut opened = shelf.create((*imported.trip).clone());
                opened.notice = opened.notice.or_else(|| Some(NEXT_STEPS.to_owned()));
                Outcome::Opened(Box::new(opened))
            }
            Message::No | Message::Close => {
                let [paths, line] = answers.clone();
                self.asking = Some(Asking::Import {
                    line,
                    paths: Some(paths),
                });
                Outcome::On
            }
            Message::Quit => Outcome::Quit,
            _ => Outcome::On,
        }
    }

    fn choose(&mut self, shelf: &mut dyn Shelf) -> Outcome {
        self.problem = None;
        self.vehicle = None;
        if let Some(Item::Vehicle { at, .. }) = self.items.get(self.at) {
            match shelf.vehicle(at) {
                Ok(vehicle) => self.vehicle = Some(Box::new(vehicle)),
                Err(error) => return self.outcome(Err(error)),
            }
        }
        match self.items.get(self.at) {
            Some(Item::New | Item::Vehicle { .. }) => {
                // An answer that no longer fits is asked for again, with those after it.
                let kept = shelf.kept_answers().into_iter().take(QUESTIONS.len() - 1);
                let fits =
                    |(question, text): &(usize, String)| self.answer(*question, text).is_ok();
                let kept: Vec<TypedLine> = kept
                    .enumerate()
                    .take_while(fits)
                    .map(|(_, text)| TypedLine::new(text))
                    .collect();
                let mut before = Vec::new();
                for line in kept {
                    self.answer_by_vehicle(&mut before);
                    if before.len() < QUESTIONS.len() - 1 {
                        before.push(line);
                    }
                }
                let line = self.proposed(before.len());
                self.asking = Some(Asking::New { line, before });
                Outcome::On
            }
            Some(Item::Import) => {
                self.asking = Some(Asking::Import {
                    line: TypedLine::default(),
                    paths: None,
                });
                Outcome::On
            }
            Some(item) => {
                let opened = shelf.open(item);
                self.outcome(opened)
            }
            None => Outcome::On,
        }
    }

    fn outcome(&mut self, opened: anyhow::Result<Opened>) -> Outcome {
        match opened {
            Ok(opened) => Outcome::Opened(Box::new(opened)),
            Err(error) => {
                self.problem = Some(format!("{error:#}"));
                Outcome::On
            }
        }
    }

    /// Forgets the letters that were typed at a choice.
    pub(super) fn choose_anew(&mut self) {
        self.prefix.clear();
    }

    fn typed(&mut self, message: Message, shelf: &mut dyn Shelf) -> Outcome {
        let choices = self.question().map_or(&[][..], |(_, choices, _)| choices);
        if !matches!(message, Message::Type(_)) {
            self.prefix.clear();
        }
        match message {
            Message::Close => {
                self.step_back();
                self.keep_answers(shelf);
            }
            Message::Quit => return Outcome::Quit,
            Message::Enter => return self.answered(shelf),
            Message::ScrollUp | Message::ScrollDown if !choices.is_empty() => {
                let on = message == Message::ScrollDown;
                if let Some(line) = self.line_mut() {
                    let at = choices.iter().position(|&word| word == line.text());
                    let count = choices.len();
                    let next = at.map_or(0, |at| (at + if on { 1 } else { count - 1 }) % count);
                    *line = TypedLine::new(choices[next]);
                }
            }
            Message::Type(c) if !choices.is_empty() => {
                // As in a field.
                let text = self.line().map_or("", TypedLine::text);
                let at = choices.iter().position(|&word| word == text);
                let found = self.prefix.choose(choices, at, c);
                if let (Some(found), Some(line)) = (found, self.line_mut()) {
                    *line = TypedLine::new(choices[found]);
                }
            }
            Message::Type(c) => self.with_line(|line| line.put(c)),
            Message::Go(to) => self.with_line(|line| line.go(to)),
            Message::Erase(to) => self.with_line(|line| line.erase(to)),
            _ => {}
        }
        Outcome::On
    }

    /// Keeps what was answered, so that leaving the questions loses none of it.
    fn keep_answers(&self, shelf: &mut dyn Shelf) {
        let answered: &[TypedLine] = match &self.asking {
            Some(Asking::New { before, .. }) => before,
            _ => &[],
        };
        let answers: Vec<String> = answered.iter().map(|line| line.text().to_owned()).collect();
        shelf.keep_answers(&answers);
    }

    /// Back to the question before with its answer, so that none has to be typed again; from the first one to the list.
    fn step_back(&mut self) {
        self.problem = None;
        self.asking = match self.asking.take() {
            Some(Asking::New { mut before, .. }) => {
                while before
                    .len()
                    .checked_sub(1)
                    .is_some_and(|last| self.is_answered(last))
                {
                    before.pop();
                }
                before.pop().map(|line| Asking::New { line, before })
            }
            Some(Asking::Import {
                paths: Some(line), ..
            }) => Some(Asking::Import { line, paths: None }),
            _ => None,
        };
    }

    fn with_line(&mut self, act: impl Fn(&mut TypedLine)) {
        self.problem = None;
        if let Some(line) = self.line_mut() {
            act(line);
        }
    }

    fn answered(&mut self, shelf: &mut dyn Shelf) -> Outcome {
        match self.asking.take() {
            Some(Asking::Import { line, paths: None }) => {
                self.asking = Some(Asking::Import {
                    line: TypedLine::default(),
                    paths: Some(line),
                });
                Outcome::On
            }
            Some(Asking::Import {
                line,
                paths: Some(paths),
            }) => {
                match shelf.import(paths.text(), line.text(), self.units) {
                    Ok(imported) => {
                        self.asking = Some(Asking::Accept {
                            imported,
                            from_row: 0,
                            answers: [paths, line],
                        });
                    }
                    Err(error) => {
                        self.problem = Some(format!("{error:#}"));
                        let paths = Some(paths);
                        self.asking = Some(Asking::Import { line, paths });
                    }
                }
                Outcome::On
            }
            Some(Asking::New { line, mut before }) => {
                let answer = self.answer(before.len(), line.text());
                self.problem = answer.err().map(|refused| refused.to_string());
                let next = if self.problem.is_some() {
                    line
                } else {
                    before.push(line);
                    self.answer_by_vehicle(&mut before);
                    self.proposed(before.len())
                };
                if before.len() < QUESTIONS.len() {
                    self.asking = Some(Asking::New { line: next, before });
                    self.keep_answers(shelf);
                    return Outcome::On;
                }
                shelf.keep_answers(&[]);
                let made = self.made_of(&before);
                self.outcome(made.map(|trip| shelf.create(trip)).map_err(Into::into))
            }
            Some(Asking::Accept { .. }) | None => Outcome::On,
        }
    }

    /// The trip that the answers describe. Somebody drives it, with the mass of the baseline conditions.
    fn made_of(&self, answers: &[TypedLine]) -> Result<Trip, Refused> {
        let driver = json!({ "name": "driver", "mass_kg": REFERENCE_LOAD });
        let mut trip = json!({
            "drystage": 1, "vehicle": {}, "load": { "people": [driver] }, "rules": {}, "start": {}, "legs": [{}]
        });
        for (question, line) in answers.iter().enumerate() {
            if let Some(value) = self.answer(question, line.text())? {
                set(&mut trip, QUESTIONS[question].0, value);
            }
        }
        if let Some(stated) = trip.as_object_mut() {
            stated.retain(|key, value| key != "rules" || *value != json!({}));
        }
        let trip = check::read(trip).map_err(ChangeError::Unsound)?;
        Ok(match &self.vehicle {
            Some(vehicle) => trip.with_vehicle_of(vehicle),
            None => trip,
        })
    }

    /// The line with which a question begins.
    fn proposed(&self, question: usize) -> TypedLine {
        match QUESTIONS.get(question) {
            Some(&(SPEEDS, ..)) => TypedLine::new(speeds::defaults(self.units)),
            _ => TypedLine::default(),
        }
    }

    fn answer(&self, question: usize, text: &str) -> Result<Option<Value>, Refused> {
        let Some((entry, _)) = self.entry(question) else {
            return Ok(None);
        };
        if QUESTIONS[question].0 == SPEEDS {
            return speeds::parse(text, self.units).map_err(Refused::Value);
        }
        let value = entry.parse(text).map_err(Refused::Value)?;
        // A leg has a length here, since nothing else could give it yet; and no fuel stop is taken for granted.
        let must_be_answered = ["/legs/0/distance_km", "/start/fuel"];
        if text.trim().is_empty() && must_be_answered.contains(&QUESTIONS[question].0) {
            let message = format!("must be {}, got nothing", entry.range());
            return Err(Refused::Value(message));
        }
        Ok(value)
    }
}

/// Puts a value where the questions want it; the objects on the route are there.
fn set(document: &mut Value, at: &str, value: Value) {
    if let Some((holder, key)) = at.rsplit_once('/')
        && let Some(Value::Object(object)) = document.pointer_mut(holder)
    {
        object.insert(key.to_owned(), value);
    }
}
