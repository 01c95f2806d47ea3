//! Everything that is wrong with a trip document, all at once.
//!
//! A document is first walked beside the table of fields (`walk`): unknown and missing keys, wrong
//! types, ranges, words. Then come the rules between fields (`across`, and `way` for legs), which look only at
//! values that are sound by themselves, so that no problem is told twice. A document without a problem is
//! then read by serde, which finds nothing more: the walk lets nothing through that it refuses.
//!
//! A text that holds a sound trip needs no document: `stream` reads and checks it in one pass.
//!
//! What is legal but unwise is not told here; it is a finding of the plan.

mod across;
mod once;
mod stream;
mod walk;
mod way;

pub use once::document;
pub use stream::read_sound;
pub(super) use walk::unknown;

use std::fmt;

use serde_json::{Value, json};

use across::Part;
use way::Way;

use super::{Trip, field};

/// Most problems that are kept; a damaged track can hold millions.
const MOST_KEPT: usize = 10_000;
/// Characters of a value or a key that are shown.
const SHOWN: usize = 60;

/// One thing that is wrong, where it stands, and what would be right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// JSON Pointer (RFC 6901) to the value, or to where a missing one should stand.
    pub at: String,
    /// What would be right, then what was found: `must be 0 to 1, got 1.4`.
    pub says: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.at.is_empty() {
            return f.write_str(&self.says);
        }
        write!(f, "{}: {}", self.at, self.says)
    }
}

/// Reads a trip from a JSON document.
///
/// # Errors
/// Every problem of the document at once, in document order.
pub fn read(document: Value) -> Result<Trip, Vec<Problem>> {
    let problems = problems(&document);
    if !problems.is_empty() {
        return Err(problems);
    }
    // Nothing is known that gets here and fails; should there be something, it is told, not a panic.
    serde_json::from_value(document).map_err(|error| {
        vec![Problem {
            at: String::new(),
            says: error.to_string(),
        }]
    })
}

/// Every problem of a document, in document order; none when [`read`] gives a trip.
pub fn problems(document: &Value) -> Vec<Problem> {
    let mut found = Found::default();
    walk::walk(field::tree(), document, &mut found);
    if let Some(trip) = Part::trip(document) {
        across::parts(&trip, &mut found);
        way::between(&trip, &mut found);
        across::same_names(&trip, &mut found);
        across::readings(&trip, trip.length(), &mut found);
    }
    let Found { mut kept, more } = found;
    kept.sort_by_cached_key(|problem| position(document, &problem.at));
    if more > 0 {
        kept.push(Problem {
            at: String::new(),
            says: format!("{more} more problems of these kinds"),
        });
    }
    kept
}

/// Every problem of one value and its parts, beside the field that it belongs to; `at` is the pointer to it.
pub(super) fn within(node: &'static field::Node, value: &Value, at: &str) -> Vec<Problem> {
    let mut found = Found::default();
    walk::walk(node, value, &mut found);
    let mut problems = found.kept;
    for problem in &mut problems {
        problem.at.insert_str(0, at);
    }
    problems
}

/// Whether a value and its parts are sound by themselves.
fn is_sound(node: &'static field::Node, value: &Value) -> bool {
    within(node, value, "").is_empty()
}

/// Every problem between the values of a trip, which are sound by themselves. Where it is known that no others can
/// have one, only `legs` are looked at, and not what binds them to others.
pub(super) fn between(trip: &Trip, legs: Option<&[usize]>) -> Vec<Problem> {
    let mut found = Found::default();
    let names = trip.what_ifs().iter().map(|what_if| &what_if.name);
    let names: Value = names.map(|name| json!({ "name": name })).collect();
    let mut beside_legs = json!({ "vehicle": trip.vehicle, "what_ifs": names, "log": trip.log() });
    if let Some(load) = &trip.load {
        beside_legs["load"] = json!(load);
    }
    if let Some(rules) = &trip.rules {
        beside_legs["rules"] = json!(rules);
    }
    let beside_legs = Part::trip(&beside_legs).expect("an object");
    across::parts(&beside_legs, &mut found);
    match legs {
        None => way::between(&trip, &mut found),
        Some(legs) => {
            for &leg in legs {
                way::within(&trip, leg, &mut found);
            }
        }
    }
    across::same_names(&beside_legs, &mut found);
    across::readings(&beside_legs, trip.legs.len(), &mut found);
    found.kept
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

    fn add(&mut self, at: String, says: String) {
        if self.is_full() {
            self.more += 1;
        } else {
            self.kept.push(Problem { at, says });
        }
    }

    fn append(&mut self, other: Self) {
        for problem in other.kept {
            self.add(problem.at, problem.says);
        }
        self.more += other.more;
    }
}

/// Where a pointer leads, as the number of each step's value among its siblings; what is missing comes last.
fn position(document: &Value, pointer: &str) -> Vec<usize> {
    let mut here = Some(document);
    pointer
        .split('/')
        .skip(1)
        .map(|step| {
            let step = unescaped(step);
            let (number, next) = match here {
                Some(Value::Object(object)) => (
                    object.keys().position(|key| *key == step),
                    object.get(&step),
                ),
                Some(Value::Array(list)) => {
                    let number: Option<usize> = step.parse().ok();
                    (number, number.and_then(|number| list.get(number)))
                }
                _ => (None, None),
            };
            here = next;
            number.unwrap_or(usize::MAX)
        })
        .collect()
}

/// A key as a step of the JSON Pointer to a problem. Keys of the format are short; one that is not may be as long as the
/// file, and many problems may lie below it.
pub(crate) fn told(key: &str) -> String {
    match key.char_indices().nth(SHOWN) {
        Some((end, _)) => escaped(&key[..end]) + "…",
        None => escaped(key),
    }
}

/// A key as a step of a JSON Pointer (RFC 6901, section 3).
pub(crate) fn escaped(key: &str) -> String {
    key.replace('~', "~0").replace('/', "~1")
}

/// The key that a step of a JSON Pointer stands for.
pub(super) fn unescaped(step: &str) -> String {
    step.replace("~1", "/").replace("~0", "~")
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
