//! What-ifs: named JSON Patches (RFC 6902) on the trip, each index guarded by a `test`; and single values
//! set by JSON Pointer (RFC 6901).
//!
//! Both change a document of those parts of the trip that they refer to, which is then checked as a file is: what comes
//! out is a sound trip or nothing.

use json_patch::jsonptr::Pointer;
use json_patch::{PatchErrorKind, PatchOperation};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::Trip;
use super::check::{self, Problem, shown};
use super::field;
use super::near::nearest;
use super::part::{Excerpt, PointerError, spot};

/// Values, and characters of texts, that the operations of one patch may copy. A whole trip of 1,000 legs has some
/// 20,000.
const MOST_COPIED: usize = 1_000_000;
/// Operations of one patch that may move or copy something: with each of them values may be a level deeper.
const MOST_MOVES: usize = 100;
/// Steps of a pointer to anything in a trip, and some more.
const MOST_STEPS: usize = 16;

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
    #[error("there is no what-if named `{name}`; {}", self.reason())]
    Unknown {
        /// The name that was asked for.
        name: String,
        /// The names that exist.
        known: Vec<String>,
    },
    /// It cannot be applied.
    #[error("what-if `{name}` {patch}")]
    Patch {
        /// Name of the what-if.
        name: String,
        /// Why its patch does not apply.
        patch: PatchError,
    },
}

/// Why operations could not be applied.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PatchError {
    /// A guard failed or a pointer leads nowhere: the trip has changed since the patch was written.
    #[error("no longer fits the trip: {0}")]
    Stale(
        /// What the patch met, and where.
        Problem,
    ),
    /// The patched trip breaks a rule of the format.
    #[error("makes the trip invalid: {}", listed(.0))]
    Unsound(
        /// Everything that is wrong with the result.
        Vec<Problem>,
    ),
}

impl WhatIfError {
    /// The reason alone, for where the what-if has been named already.
    pub fn reason(&self) -> String {
        match self {
            Self::Unknown { name, known } => {
                let near = nearest(name, known.iter().map(String::as_str));
                let near = near.map_or_else(String::new, |near| format!("did you mean `{near}`? "));
                let known: Vec<String> = known.iter().map(|name| format!("`{name}`")).collect();
                match known.as_slice() {
                    [] => "the trip has none".to_owned(),
                    known => format!("{near}the trip has {}", known.join(", ")),
                }
            }
            Self::Patch { patch, .. } => match patch {
                PatchError::Stale(problem) => problem.to_string(),
                PatchError::Unsound(problems) => listed(problems),
            },
        }
    }
}

/// Why a value could not be set.
#[derive(Debug, thiserror::Error)]
pub enum SetError {
    /// The text is no JSON Pointer, or it leads to no place where a value can be.
    #[error("{pointer}: {reason}")]
    Pointer {
        /// The pointer as it was given.
        pointer: String,
        /// Why it does not.
        reason: PointerError,
    },
    /// With the values the trip breaks a rule of the format.
    #[error("the trip would be invalid: {}", listed(.0))]
    Unsound(
        /// Everything that is wrong with the result.
        Vec<Problem>,
    ),
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
    /// When no what-if has the name, a guard fails, or the result is invalid.
    pub fn with_what_if(&self, name: &str) -> Result<Self, WhatIfError> {
        let mut kept = self.what_ifs().iter();
        let what_if =
            kept.find(|what_if| what_if.name == name)
                .ok_or_else(|| WhatIfError::Unknown {
                    name: name.to_owned(),
                    known: self
                        .what_ifs()
                        .iter()
                        .map(|what_if| what_if.name.clone())
                        .collect(),
                })?;
        self.with_operations(&what_if.change)
            .map_err(|patch| what_if.error(patch))
    }

    /// The stored what-ifs that cannot be applied.
    pub fn unfit_what_ifs(&self) -> impl Iterator<Item = (&WhatIf, WhatIfError)> {
        let without = Self {
            what_ifs: None,
            ..self.clone()
        };
        self.what_ifs().iter().filter_map(move |what_if| {
            let patch = without.with_operations(&what_if.change).err()?;
            Some((what_if, what_if.error(patch)))
        })
    }

    /// The trip with operations applied, in order, all or none. What-ifs are no part of what they may change.
    ///
    /// # Errors
    /// When a guard fails, a pointer leads nowhere, or the result is invalid.
    pub fn with_operations(&self, operations: &[PatchOperation]) -> Result<Self, PatchError> {
        let all = operations.iter().flat_map(pointers).map(Pointer::as_str);
        let mut excerpt = Excerpt::new(self, all);
        let (mut moves, mut copied) = (0, 0);
        for operation in operations {
            if let PatchOperation::Copy(step) = operation {
                let value = excerpt.document.pointer(step.from.as_str());
                copied += value.map_or(0, extent);
            }
            moves += usize::from(pointers(operation).count() > 1);
            bounds(operation, moves, copied)
                .and_then(|()| apply(&mut excerpt.document, operation))
                .map_err(PatchError::Stale)?;
        }
        excerpt
            .finish()
            .and_then(|changed| self.with_legs_kept(changed))
            .map_err(PatchError::Unsound)
    }

    /// The trip with values replaced in order, or added where there is none yet, and then checked once.
    ///
    /// Objects and lists of the format on the route to a value are made where they are missing; in a list,
    /// `-` or the number after the last represents a new item.
    ///
    /// # Errors
    /// When a pointer leads nowhere or the result is invalid.
    pub fn with_values(&self, values: &[(&str, Value)]) -> Result<Self, SetError> {
        let mut excerpt = Excerpt::new(self, values.iter().map(|(pointer, _)| *pointer));
        for (pointer, value) in values {
            let wrong = |reason| SetError::Pointer {
                pointer: (*pointer).to_owned(),
                reason,
            };
            let way = Pointer::parse(*pointer).ok().filter(|way| !way.is_root());
            let way = way.ok_or_else(|| wrong(PointerError::Malformed))?;
            let spot = spot(&mut excerpt.document, field::tree(), way, true).map_err(wrong)?;
            *spot.value = value.clone();
        }
        excerpt
            .finish()
            .and_then(|changed| self.with_legs_kept(changed))
            .map_err(SetError::Unsound)
    }

    /// The changed trip, which must have a leg if this one has: what plans the trip also plans what it is changed to.
    fn with_legs_kept(&self, changed: Self) -> Result<Self, Vec<Problem>> {
        if changed.legs.is_empty() && !self.legs.is_empty() {
            let message = "must keep a leg, got none";
            return Err(vec![Problem::new("/legs", message)]);
        }
        Ok(changed)
    }
}

impl WhatIf {
    fn error(&self, patch: PatchError) -> WhatIfError {
        WhatIfError::Patch {
            name: self.name.clone(),
            patch,
        }
    }
}

/// The pointers of an operation, that to what it changes last.
fn pointers(operation: &PatchOperation) -> impl Iterator<Item = &Pointer> {
    let from = match operation {
        PatchOperation::Move(step) => Some(&step.from),
        PatchOperation::Copy(step) => Some(&step.from),
        _ => None,
    };
    let from = from.map(|from| &**from);
    from.into_iter().chain([operation.path()])
}

/// What is wrong with an operation whatever the trip is, the moves and the copied values up to it counted.
fn bounds(operation: &PatchOperation, moves: usize, copied: usize) -> Result<(), Problem> {
    let path = operation.path();
    let message = if pointers(operation).any(|way| way.count() > MOST_STEPS) {
        format!("the pointer has more than {MOST_STEPS} steps")
    } else if pointers(operation)
        .any(|way| way.first().is_some_and(|step| step.decoded() == "what_ifs"))
    {
        "a what-if cannot change what-ifs".to_owned()
    } else if moves > MOST_MOVES {
        format!("a what-if can have at most {MOST_MOVES} moves and copies")
    } else if copied > MOST_COPIED {
        format!("a what-if can copy at most {MOST_COPIED} values and characters")
    } else {
        return Ok(());
    };
    let at = path
        .tokens()
        .take(MOST_STEPS)
        .map(|step| format!("/{}", check::shown_key(&step.decoded())));
    Err(Problem::new(at.collect::<String>(), message))
}

/// The values of which a value consists, and the characters of its texts.
fn extent(value: &Value) -> usize {
    1 + match value {
        Value::String(text) => text.len(),
        Value::Array(list) => list.iter().map(extent).sum(),
        Value::Object(object) => object
            .iter()
            .map(|(key, value)| key.len() + extent(value))
            .sum(),
        _ => 0,
    }
}

/// Applies one operation; what it met when it does not fit.
fn apply(document: &mut Value, operation: &PatchOperation) -> Result<(), Problem> {
    let problem = |at: &Pointer, message: String| Problem::new(at.to_string(), message);
    // A `test` compares numbers by their value (RFC 6902, section 4.6): 20.0 is 20.
    if let PatchOperation::Test(test) = operation {
        return match document.pointer(test.path.as_str()) {
            Some(found) if equal(found, &test.value) => Ok(()),
            found => {
                let got = found.map_or("nothing".to_owned(), shown);
                let message = format!("must be {}, got {got}", shown(&test.value));
                Err(problem(&test.path, message))
            }
        };
    }
    json_patch::patch(document, std::slice::from_ref(operation)).map_err(|error| {
        let nothing = || "there is no such value in the trip".to_owned();
        match (operation, error.kind) {
            (
                PatchOperation::Move(_) | PatchOperation::Copy(_),
                PatchErrorKind::InvalidFromPointer,
            ) => problem(pointers(operation).next().unwrap_or(&error.path), nothing()),
            (_, PatchErrorKind::InvalidPointer) => problem(&error.path, nothing()),
            (_, kind) => problem(&error.path, kind.to_string()),
        }
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

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use crate::model::line::Polyline;

    use serde_json::json;

    use super::*;
    use crate::model::track::Track;
    use crate::quantity::Kilometres;

    fn example() -> Value {
        serde_json::from_str(include_str!("../../../tests/data/example-trip.json")).unwrap()
    }

    /// The example with one what-if, `it`.
    fn trip_with(change: &Value) -> Trip {
        let mut document = example();
        document["what_ifs"] = json!([{ "name": "it", "change": change }]);
        check::read(document).unwrap()
    }

    #[test]
    fn the_what_ifs_of_the_example_apply() {
        let trip = check::read(example()).unwrap();
        let tent = trip.with_what_if("tent on the roof").unwrap();
        let mut want = example();
        want["load"]["roof"] = json!({ "shape": "tent", "mass_kg": 46 });
        assert_eq!(tent, check::read(want).unwrap());
        let sand = trip.with_what_if("twice the sand").unwrap();
        let mut want = example();
        want["legs"][3]["sand_share"] = json!(0.8);
        assert_eq!(sand, check::read(want).unwrap());
    }

    #[test]
    fn a_name_that_is_not_there_is_reported_with_those_that_are() {
        let error = check::read(example()).unwrap().with_what_if("rain");
        assert_eq!(
            error.unwrap_err().to_string(),
            "there is no what-if named `rain`; the trip has `tent on the roof`, `twice the sand`"
        );
    }

    #[test]
    fn a_guard_that_fails_makes_the_what_if_stale() {
        let stale = |change: Value| match trip_with(&change).with_what_if("it") {
            Err(WhatIfError::Patch {
                patch: PatchError::Stale(problem),
                ..
            }) => problem.to_string(),
            other => panic!("{other:?}"),
        };
        let replace = json!({ "op": "replace", "path": "/name", "value": "never" });
        let test = |path: &str, value: Value| json!({ "op": "test", "path": path, "value": value });
        assert_eq!(
            stale(json!([replace, test("/legs/2/to", json!("Dune Gate"))])),
            "/legs/2/to: must be \"Dune Gate\", got \"Broken Stair\""
        );
        assert_eq!(
            stale(json!([test("/legs/9/to", json!("Dune Gate"))])),
            "/legs/9/to: must be \"Dune Gate\", got nothing"
        );
        assert_eq!(
            stale(json!([{ "op": "remove", "path": "/legs/2/aircon" }])),
            "/legs/2/aircon: there is no such value in the trip"
        );
        assert_eq!(
            stale(json!([{ "op": "move", "from": "/legs/9", "path": "/legs/0" }])),
            "/legs/9: there is no such value in the trip"
        );
        assert_eq!(
            stale(json!([{ "op": "move", "from": "/load", "path": "/load/roof" }])),
            "/load/roof: cannot move the value inside itself"
        );
    }

    /// RFC 6902, section 4.6: numbers are equal when their values are.
    #[test]
    fn a_guard_compares_numbers_by_value() {
        let trip = trip_with(&json!([
            { "op": "test", "path": "/legs/0/distance_km", "value": 142.0 },
            { "op": "test", "path": "/vehicle/baseline_conditions", "value": {
                "load_kg": 75.0, "roof": "none", "tyres": "standard", "altitude_m": 0.0,
                "temperature_c": 15, "surface": "sealed", "odometer": "true"
            } },
            { "op": "replace", "path": "/legs/0/distance_km", "value": 150.0 }
        ]));
        let changed = trip.with_what_if("it").unwrap();
        assert_eq!(
            changed.legs[0].distance_km.unwrap().get().to_string(),
            "150"
        );
    }

    #[test]
    fn an_unsound_result_is_reported_in_full() {
        let trip = trip_with(&json!([
            { "op": "replace", "path": "/vehicle/tank_l", "value": 40 },
            { "op": "add", "path": "/legs/0/sand", "value": 1 }
        ]));
        let error = trip.with_what_if("it").unwrap_err();
        assert_eq!(
            error.to_string(),
            "what-if `it` makes the trip invalid: \
             /rules/start_l: must be at most 40 L, the tank capacity, got 55; \
             /legs/0/sand: unknown key; did you mean `sand_share`?"
        );
    }

    /// What a patch makes ends before memory does, be it chosen or not: values that double, values that are ever
    /// deeper.
    #[test]
    fn a_patch_has_an_end() {
        let error_of = |change: Value| {
            let error = trip_with(&change).with_what_if("it").unwrap_err();
            error.reason()
        };
        let doubling = json!({ "op": "copy", "from": "/load", "path": "/load/gear/-" });
        assert_eq!(
            error_of(vec![doubling; 60].into()),
            "/load/gear/-: a what-if can copy at most 1000000 values and characters"
        );
        let mut deeper = vec![json!({ "op": "add", "path": "/x", "value": {} })];
        for _ in 0..1000 {
            deeper.push(json!({ "op": "add", "path": "/y", "value": {} }));
            deeper.push(json!({ "op": "move", "from": "/x", "path": "/y/x" }));
            deeper.push(json!({ "op": "move", "from": "/y", "path": "/x" }));
        }
        assert_eq!(
            error_of(deeper.into()),
            "/y/x: a what-if can have at most 100 moves and copies"
        );
        let path = "/x".repeat(100_000);
        assert_eq!(
            error_of(json!([{ "op": "remove", "path": path }])),
            format!("{}: the pointer has more than 16 steps", "/x".repeat(16))
        );
        assert_eq!(
            error_of(json!([{ "op": "remove", "path": "/what_ifs/0" }])),
            "/what_ifs/0: a what-if cannot change what-ifs"
        );
        assert_eq!(
            error_of(json!([{ "op": "replace", "path": "", "value": 7 }])),
            "must be an object, got 7"
        );
    }

    #[test]
    fn legs_may_come_go_and_change_places() {
        let trip = trip_with(&json!([
            { "op": "copy", "from": "/legs/0", "path": "/legs/1" },
            { "op": "move", "from": "/legs/1", "path": "/legs/0" },
            { "op": "remove", "path": "/legs/6" },
            { "op": "replace", "path": "/legs/1/distance_km", "value": 150 }
        ]));
        let changed = trip.with_what_if("it").unwrap();
        let mut want = trip.legs.clone();
        want.insert(0, want[0].clone());
        want.remove(6);
        want[1].distance_km = Some(Kilometres::new(150.0));
        assert_eq!(changed.legs, want);
    }

    #[test]
    fn a_track_that_was_read_stays_with_its_leg() {
        let mut trip = trip_with(&json!([{ "op": "remove", "path": "/legs/0" }]));
        let lines: Arc<[Polyline]> = Arc::new([]);
        trip.legs[1].track = Some(Track::File {
            path: "a.gpx".to_owned(),
            lines: Some(lines.clone()),
        });
        let changed = trip.with_what_if("it").unwrap();
        assert_eq!(changed.legs[0], trip.legs[1]);
    }

    #[test]
    fn a_value_is_replaced_or_added() {
        let trip = check::read(example()).unwrap();
        let set = |pointer, value| trip.with_values(&[(pointer, value)]).unwrap().to_document();
        let mut want = trip.to_document();
        assert_eq!(
            set("/rules/success_target", json!(0.9))["rules"]["success_target"],
            0.9
        );
        want["legs"][0]["headwind_kmh"] = json!(20);
        assert_eq!(set("/legs/0/headwind_kmh", json!(20)), want);
        let item = json!({ "name": "spare wheel", "mass_kg": 20 });
        let items = set("/load/gear/-", item.clone())["load"]["gear"].clone();
        assert_eq!(items.as_array().unwrap().len(), 5);
        assert_eq!(items[4], item);
        // Objects that are not there yet are made.
        let mut bare = example();
        bare.as_object_mut().unwrap().remove("rules");
        bare.as_object_mut().unwrap().remove("load");
        let bare = check::read(bare).unwrap();
        let made = bare
            .with_values(&[
                ("/rules/reserve/km", json!(80)),
                ("/load/gear/0", item.clone()),
            ])
            .unwrap()
            .to_document();
        assert_eq!(made["rules"], json!({ "reserve": { "km": 80 } }));
        assert_eq!(made["load"], json!({ "gear": [item] }));
    }

    #[test]
    fn a_value_that_cannot_be_set_is_reported() {
        let trip = check::read(example()).unwrap();
        let error_of = |pointer, value| {
            trip.with_values(&[(pointer, value)])
                .unwrap_err()
                .to_string()
        };
        for pointer in ["", "legs", "/a~2"] {
            assert!(
                error_of(pointer, json!(1)).contains("must be a JSON Pointer"),
                "{pointer}"
            );
        }
        assert_eq!(
            error_of("/legs/7/to", json!("x")),
            "/legs/7/to: there is no such leg; the trip has 6 legs, /legs/0 to /legs/5"
        );
        assert_eq!(
            error_of("/legs/+1/to", json!("x")),
            "/legs/+1/to: there is no such leg; the trip has 6 legs, /legs/0 to /legs/5"
        );
        assert_eq!(
            error_of("/name/first", json!("x")),
            "/name/first: there is no `first` in \"Four days to the salt edge (invented)\""
        );
        assert_eq!(
            error_of("/legs/0/sand_share", json!(1.4)),
            "the trip would be invalid: /legs/0/sand_share: must be 0 to 1, got 1.4 (for 1.4 % write 0.014)"
        );
    }
}
