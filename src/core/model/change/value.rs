//! Setting one value at a JSON Pointer: only the object that holds it passes through JSON.

use json_patch::jsonptr::Pointer;
use serde_json::Value;

use super::{ChangeError, Step};
use crate::model::Trip;
use crate::model::check::{self, Problem};
use crate::model::part::{PointerError, TripPart, spot};

/// The value at a pointer, if one is there.
pub(super) fn get(trip: &Trip, at: &str) -> Option<Value> {
    let (part, steps) = holding(trip, at).ok()?;
    let mut value = part.read(trip, part.speaks_of_track(steps));
    let found = value.pointer_mut(steps.as_str())?.take();
    (!found.is_null()).then_some(found)
}

/// Whatever is wrong with a leg by itself, its points left out.
pub(super) fn check_leg(trip: &Trip, number: usize) -> Result<(), Vec<Problem>> {
    let part = TripPart::Leg(number);
    let problems = check::within(part.node(), &part.read(trip, false), &part.pointer());
    if problems.is_empty() {
        Ok(())
    } else {
        Err(problems)
    }
}

/// Sets or clears the value at a pointer; the step that undoes it.
pub(super) fn set(trip: &mut Trip, at: &str, to: Option<&Value>) -> Result<Step, ChangeError> {
    let wrong = |reason| ChangeError::Pointer {
        pointer: at.to_owned(),
        reason,
    };
    let (part, steps) = holding(trip, at).map_err(wrong)?;
    let with_track = part.speaks_of_track(steps);
    let mut value = part.read(trip, with_track);
    let is_there = value.pointer(steps.as_str()).is_some();
    if to.is_none() && !is_there {
        return Ok(Step::clear(at));
    }
    let spot = spot(&mut value, part.node(), steps, false).map_err(wrong)?;
    let was = std::mem::replace(spot.value, to.cloned().unwrap_or_default());
    let undo = match spot.made {
        // The points of a track are kept where they are, and come back with the leg.
        _ if with_track => {
            let TripPart::Leg(at) = part else {
                unreachable!("only a leg has a track")
            };
            Step::ReplaceLeg {
                at,
                leg: Box::new(trip.legs[at].clone()),
            }
        }
        // To undo is to take away the first of the objects that had to be made.
        Some(depth) => Step::clear(
            &steps
                .tokens()
                .take(depth)
                .fold(part.pointer(), |way, step| {
                    format!("{way}/{}", step.encoded())
                }),
        ),
        None => Step::Set {
            at: at.to_owned(),
            to: (!was.is_null()).then_some(was),
        },
    };
    part.write(trip, without_nulls(value), with_track)
        .map_err(ChangeError::Unsound)?;
    Ok(undo)
}

/// The part that a pointer leads into; of the legs, which are no part by themselves, one.
fn holding<'p>(trip: &Trip, at: &'p str) -> Result<(TripPart, &'p Pointer), PointerError> {
    match TripPart::from_pointer(at, trip)? {
        (TripPart::Legs, _) => Err(PointerError::Leg {
            count: trip.legs.len(),
        }),
        found => Ok(found),
    }
}

/// What was cleared is a null until here, and a key less from here on. Patches keep the nulls of their values.
fn without_nulls(value: Value) -> Value {
    match value {
        Value::Object(object) if !object.contains_key("op") => Value::Object(
            object
                .into_iter()
                .filter(|(_, value)| !value.is_null())
                .map(|(key, value)| (key, without_nulls(value)))
                .collect(),
        ),
        Value::Array(list) => list.into_iter().map(without_nulls).collect(),
        other => other,
    }
}
