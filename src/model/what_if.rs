//! What-ifs: named JSON Patches (RFC 6902) on the trip, each index guarded by a `test`; and single values
//! set by JSON Pointer (RFC 6901).
//!
//! Both change a copy of the document, which is then checked as a file is: what comes out is a sound trip
//! or nothing.

use json_patch::jsonptr::Pointer;
use json_patch::{PatchErrorKind, PatchOperation};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

use super::Trip;
use super::check::{self, Problem, shown};
use super::field::{self, Kind, Node};

/// A change that is kept under a name and can be tried at any time.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WhatIf {
    /// What the user calls it.
    pub name: String,
    /// The operations of RFC 6902, applied in order, all or none.
    #[schemars(with = "Vec<serde_json::Map<String, serde_json::Value>>")]
    pub change: Vec<PatchOperation>,
}

/// Why a what-if could not be applied.
#[derive(Debug, thiserror::Error)]
pub enum WhatIfError {
    /// No what-if has that name.
    #[error("there is no what-if named `{name}`; there are: {}", listed(.known))]
    Unknown {
        /// The name that was asked for.
        name: String,
        /// The names that exist.
        known: Vec<String>,
    },
    /// A guard failed or a pointer leads nowhere: the trip has changed since the patch was written.
    #[error("what-if `{name}` no longer fits the trip: {problem}")]
    Stale {
        /// The what-if.
        name: String,
        /// What the patch met, and where.
        problem: Problem,
    },
    /// The patched trip breaks a rule of the format.
    #[error("what-if `{name}` makes no sound trip: {}", listed(.problems))]
    Unsound {
        /// The what-if.
        name: String,
        /// Everything that is wrong with the result.
        problems: Vec<Problem>,
    },
}

/// Why a value could not be set.
#[derive(Debug, thiserror::Error)]
pub enum SetError {
    /// The text is no JSON Pointer, or it leads to no place where a value can stand.
    #[error("cannot set `{pointer}`: {says}")]
    Pointer {
        /// What was given.
        pointer: String,
        /// What would be right.
        says: String,
    },
    /// With that value the trip breaks a rule of the format.
    #[error("cannot set `{pointer}`: {}", listed(.problems))]
    Unsound {
        /// Where the value was to stand.
        pointer: String,
        /// Everything that is wrong with the result.
        problems: Vec<Problem>,
    },
}

fn listed<T: ToString>(things: &[T]) -> String {
    if things.is_empty() {
        return "none".to_owned();
    }
    things
        .iter()
        .map(ToString::to_string)
        .collect::<Vec<_>>()
        .join("; ")
}

impl Trip {
    /// The trip with the what-if of that name applied.
    ///
    /// # Errors
    /// When no what-if has the name, a guard fails, or the result is no sound trip.
    pub fn with_what_if(&self, name: &str) -> Result<Self, WhatIfError> {
        let what_if = self
            .what_ifs()
            .iter()
            .find(|what_if| what_if.name == name)
            .ok_or_else(|| WhatIfError::Unknown {
                name: name.to_owned(),
                known: self
                    .what_ifs()
                    .iter()
                    .map(|what_if| what_if.name.clone())
                    .collect(),
            })?;
        let mut document = self.to_document();
        for operation in &what_if.change {
            apply(&mut document, operation).map_err(|problem| WhatIfError::Stale {
                name: name.to_owned(),
                problem,
            })?;
        }
        self.changed_to(document)
            .map_err(|problems| WhatIfError::Unsound {
                name: name.to_owned(),
                problems,
            })
    }

    /// The trip with one value replaced, or added where there is none yet.
    ///
    /// Objects of the format on the way to the value are made where they are missing; in a list, `-` or the
    /// number after the last stands for a new item.
    ///
    /// # Errors
    /// When the pointer leads nowhere or the result is no sound trip.
    pub fn with_value(&self, pointer: &str, value: Value) -> Result<Self, SetError> {
        let wrong = |says| SetError::Pointer {
            pointer: pointer.to_owned(),
            says,
        };
        let way = match Pointer::parse(pointer) {
            Ok(way) if !way.is_root() => way,
            _ => {
                return Err(wrong(
                    "must be a JSON Pointer such as /legs/0/surface".to_owned(),
                ));
            }
        };
        let mut document = self.to_document();
        *value_at(&mut document, way).map_err(wrong)? = value;
        self.changed_to(document)
            .map_err(|problems| SetError::Unsound {
                pointer: pointer.to_owned(),
                problems,
            })
    }

    /// The trip of a changed document, with the track files that were read for this one.
    fn changed_to(&self, document: Value) -> Result<Self, Vec<Problem>> {
        let mut trip = check::read(document)?;
        trip.take_track_files_from(self);
        Ok(trip)
    }
}

/// Applies one operation; what it met when it does not fit.
fn apply(document: &mut Value, operation: &PatchOperation) -> Result<(), Problem> {
    let problem = |at: &Pointer, says: String| Problem {
        at: at.to_string(),
        says,
    };
    // A `test` compares numbers by their value (RFC 6902, section 4.6): 20.0 is 20.
    if let PatchOperation::Test(test) = operation {
        return match document.pointer(test.path.as_str()) {
            Some(found) if equal(found, &test.value) => Ok(()),
            found => {
                let got = found.map_or("nothing".to_owned(), shown);
                let says = format!("must be {}, got {got}", shown(&test.value));
                Err(problem(&test.path, says))
            }
        };
    }
    json_patch::patch(document, std::slice::from_ref(operation)).map_err(|error| {
        let (at, says) = match (operation, error.kind) {
            (PatchOperation::Move(step), PatchErrorKind::InvalidFromPointer) => {
                (&step.from, "must lead to a value, got nothing".to_owned())
            }
            (PatchOperation::Copy(step), PatchErrorKind::InvalidFromPointer) => {
                (&step.from, "must lead to a value, got nothing".to_owned())
            }
            (_, PatchErrorKind::InvalidPointer) => {
                (&error.path, "must lead to a value, got nothing".to_owned())
            }
            (_, kind) => (&error.path, kind.to_string()),
        };
        problem(at, says)
    })
}

/// Whether two values are the same, numbers by their value.
fn equal(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Number(a), Value::Number(b)) => a == b || a.as_f64() == b.as_f64(),
        (Value::Array(a), Value::Array(b)) => {
            a.len() == b.len() && a.iter().zip(b).all(|(a, b)| equal(a, b))
        }
        (Value::Object(a), Value::Object(b)) => {
            a.len() == b.len()
                && a.iter()
                    .all(|(key, a)| b.get(key).is_some_and(|b| equal(a, b)))
        }
        _ => a == b,
    }
}

/// The value at the end of `way`, made where it and the objects and lists above it are missing.
fn value_at<'a>(document: &'a mut Value, way: &Pointer) -> Result<&'a mut Value, String> {
    let mut node: Option<&Node> = Some(field::tree());
    let mut here = document;
    for step in way.tokens() {
        let key = step.decoded();
        if here.is_null() {
            match node.map(Node::kind) {
                Some(Kind::Object) => *here = Map::new().into(),
                Some(Kind::List { .. }) => *here = Vec::<Value>::new().into(),
                _ => {}
            }
        }
        here = match here {
            Value::Object(object) => {
                node = node.and_then(|node| node.child(&key));
                object.entry(key).or_insert(Value::Null)
            }
            Value::Array(list) => {
                node = node.and_then(|node| node.item.as_deref());
                let length = list.len();
                let index = step
                    .to_index()
                    .ok()
                    .and_then(|index| index.for_len_incl(length).ok())
                    .ok_or_else(|| {
                        format!("must lead to item 0 to {length} of a list, got `{key}`")
                    })?;
                if index == length {
                    list.push(Value::Null);
                }
                &mut list[index]
            }
            other => {
                let got = shown(other);
                return Err(format!(
                    "must lead through objects and lists, got {got} before `{key}`"
                ));
            }
        };
    }
    Ok(here)
}
