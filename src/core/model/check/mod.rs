//! Everything that is wrong with a trip document, all at once.
//!
//! A document is first walked beside the table of fields (`walk`): unknown and missing keys, wrong types, ranges,
//! words. Then it is read into its types, and the rules between fields (`rules`) look at those. Where something is
//! wrong, they look at the parts that are sound by themselves (the vehicle, a leg, a reading), so that no problem is
//! reported twice; what a part with a wrong value in it breaks besides is reported once that value is right. A key that
//! nobody knows keeps no rule from its part.
//!
//! What is legal but unwise is not reported here; it is a finding of the plan.

mod named;
mod once;
mod renamed;
mod rules;
mod walk;

pub use named::named;
pub use once::{TWICE, document};
pub(super) use rules::Parts;
pub(super) use walk::{missing, unknown};

use std::fmt;

use serde_json::Value;

use super::{Trip, field};

/// Most problems that are kept; a damaged track can hold millions.
const MOST_KEPT: usize = 10_000;
/// Characters of a value or a key that are shown.
const SHOWN: usize = 60;

/// A place in a text, counted from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TextPlace {
    /// The line of the text.
    pub line: u64,
    /// The character of the line.
    pub column: u64,
}

/// One error, its place, and what would be right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// JSON Pointer (RFC 6901) to the value, or to where a missing one belongs.
    pub pointer: String,
    /// What the pointer leads to, in the names of the trip: `leg 4 to Dune Gate`.
    pub named: Option<String>,
    /// Where it is written, if it is from a text.
    pub place: Option<TextPlace>,
    /// What would be right, then what was found: `must be 0 to 1, got 1.4`.
    pub message: String,
}

impl Problem {
    /// An error at a pointer.
    pub fn new(pointer: impl Into<String>, message: impl Into<String>) -> Self {
        Self {
            pointer: pointer.into(),
            named: None,
            place: None,
            message: message.into(),
        }
    }

    /// The pointer and what it leads to: `/legs/3/sand_share, leg 4 to Dune Gate`.
    pub(crate) fn location(&self) -> String {
        match &self.named {
            Some(named) => format!("{}, {named}", self.pointer),
            None => self.pointer.clone(),
        }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.pointer.is_empty() {
            return f.write_str(&self.message);
        }
        write!(f, "{}: {}", self.location(), self.message)
    }
}

/// Reads a trip from a JSON document.
///
/// # Errors
/// Every problem of the document at once, in the order of the table of fields.
pub fn read(document: Value) -> Result<Trip, Vec<Problem>> {
    let mut found = Found::default();
    walk::walk(field::tree(), &document, &mut found);
    if !found.kept.is_empty() {
        rules::between(&rules::Draft::new(&document).parts(), &mut found);
        return Err(found.sorted());
    }
    match serde_json::from_value(document) {
        Ok(trip) => {
            let problems = between(&Parts::from(&trip));
            if problems.is_empty() {
                Ok(trip)
            } else {
                Err(problems)
            }
        }
        // No document is known that fails here; one that does gets an error, not a panic.
        Err(error) => Err(vec![Problem::new("", error.to_string())]),
    }
}

/// Every problem of a document, in the order of the table of fields; none when [`read`] gives a trip.
pub fn problems(document: &Value) -> Vec<Problem> {
    read(document.clone()).err().unwrap_or_default()
}

/// Every problem of one value and its parts, beside the field that it belongs to; `at` is the pointer to it.
pub(super) fn within(node: &'static field::Node, value: &Value, at: &str) -> Vec<Problem> {
    let mut found = Found::default();
    walk::walk(node, value, &mut found);
    let mut problems = found.kept;
    for problem in &mut problems {
        problem.pointer.insert_str(0, at);
    }
    problems
}

/// Every problem between the parts of a trip, which are sound by themselves.
pub(super) fn between(parts: &Parts<'_>) -> Vec<Problem> {
    let mut found = Found::default();
    rules::between(parts, &mut found);
    found.sorted()
}

/// The problems found so far.
#[derive(Default)]
struct Found {
    kept: Vec<Problem>,
    more: usize,
}

impl Found {
    const fn is_full(&self) -> bool {
        self.kept.len() >= MOST_KEPT
    }

    fn add(&mut self, at: impl Into<String>, message: impl Into<String>) {
        if self.is_full() {
            self.more += 1;
        } else {
            self.kept.push(Problem::new(at, message));
        }
    }

    fn sorted(self) -> Vec<Problem> {
        let Self { mut kept, more } = self;
        kept.sort_by_cached_key(|problem| position(&problem.pointer));
        if more > 0 {
            kept.push(Problem::new("", format!("and {more} more errors")));
        }
        kept
    }
}

/// Where a pointer leads in the table of fields, as the number of each step among its siblings; what is in no table
/// comes last.
pub(super) fn position(pointer: &str) -> Vec<usize> {
    let mut here = Some(field::tree());
    pointer
        .split('/')
        .skip(1)
        .map(|step| {
            let (number, next) = match here {
                Some(node) if !node.children.is_empty() => {
                    let number = node.children.iter().position(|child| child.key == step);
                    (number, number.map(|number| &node.children[number]))
                }
                // The parts of a track and of a patch are in no table.
                node => (
                    step.parse().ok(),
                    node.and_then(|node| node.item.as_deref()),
                ),
            };
            here = next;
            number.unwrap_or(usize::MAX)
        })
        .collect()
}

/// A key as a step of the JSON Pointer to a problem. Keys of the format are short; one that is not may be as long as
/// the file, and many problems may be below it.
pub fn shown_key(key: &str) -> String {
    match key.char_indices().nth(SHOWN) {
        Some((end, _)) => escaped(&key[..end]) + "…",
        None => escaped(key),
    }
}

/// A key as a step of a JSON Pointer (RFC 6901, section 3).
pub(crate) fn escaped(key: &str) -> String {
    key.replace('~', "~0").replace('/', "~1")
}

/// A value in a message: short, on one line, without control characters.
pub(super) fn shown(value: &Value) -> String {
    let text = match value {
        Value::Object(_) => return "an object".to_owned(),
        Value::Array(_) => return "a list".to_owned(),
        scalar => scalar.to_string(),
    };
    let mut short: String = text
        .chars()
        .take(SHOWN)
        .flat_map(|c| {
            let escape = c.is_control().then(|| c.escape_default());
            let plain = (!c.is_control()).then_some(c);
            escape.into_iter().flatten().chain(plain)
        })
        .collect();
    if text.chars().nth(SHOWN).is_some() {
        short.push('…');
    }
    short
}
