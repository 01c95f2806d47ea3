//! Setting one value at a JSON Pointer: only the object that holds it passes through JSON.

use std::sync::Arc;

use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};

use super::{ChangeError, Step};
use crate::model::Trip;
use crate::model::check::{self, escaped, shown};
use crate::model::field::{self, Kind, Node};
use crate::model::line::Line;
use crate::model::route::Leg;
use crate::model::track::Track;

/// An object or value of the trip that is read and written as one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Part {
    Name,
    Vehicle,
    Load,
    Rules,
    Start,
    Leg(usize),
    WhatIfs,
    Log,
}

/// Where a pointer leads: a part, its fields, and the steps from there.
struct Way {
    part: Part,
    node: &'static Node,
    /// Pointer to the part.
    at: String,
    steps: Vec<String>,
}

/// The value at a pointer, if one stands there.
pub(super) fn get(trip: &Trip, at: &str) -> Option<Value> {
    let way = Way::of(trip, at).ok()?;
    let mut here = &way.part.read(trip, way.speaks_of_track());
    for step in &way.steps {
        here = match here {
            Value::Object(object) => object.get(step)?,
            Value::Array(list) => list.get(step.parse::<usize>().ok()?)?,
            _ => return None,
        };
    }
    (!here.is_null()).then(|| here.clone())
}

/// Whatever is wrong with a leg by itself, its points left out.
pub(super) fn check_leg(trip: &Trip, number: usize) -> Result<(), Vec<check::Problem>> {
    let node = field::tree()
        .child("legs")
        .and_then(|legs| legs.item.as_deref());
    let node = node.expect("the table has legs");
    let leg = Part::Leg(number).read(trip, false);
    let problems = check::within(node, &leg, &format!("/legs/{number}"));
    if problems.is_empty() {
        Ok(())
    } else {
        Err(problems)
    }
}

/// Sets or clears the value at a pointer; the step that undoes it.
pub(super) fn set(trip: &mut Trip, at: &str, to: Option<&Value>) -> Result<Step, ChangeError> {
    let way = Way::of(trip, at)?;
    let with_track = way.speaks_of_track();
    let mut value = way.part.read(trip, with_track);
    let undo = way
        .put(&mut value, at, to)
        .map_err(|says| ChangeError::Pointer {
            pointer: at.to_owned(),
            says,
        })?;
    let value = without_nulls(value);
    let problems = check::within(way.node, &value, &way.at);
    let absent = value.is_null() && way.part.may_be_absent();
    if !absent && !problems.is_empty() {
        return Err(ChangeError::Unsound(problems));
    }
    let undo = match way.part {
        // The points of a track are kept where they are, and come back with the leg.
        Part::Leg(index) if with_track => Step::ReplaceLeg {
            at: index,
            leg: Box::new(trip.legs[index].clone()),
        },
        _ => undo,
    };
    way.part.write(trip, value, with_track, &way.at)?;
    Ok(undo)
}

impl Way {
    fn of(trip: &Trip, at: &str) -> Result<Self, ChangeError> {
        let wrong = |says: String| ChangeError::Pointer {
            pointer: at.to_owned(),
            says,
        };
        let mut steps = at
            .strip_prefix('/')
            .ok_or_else(|| wrong("must be a JSON Pointer such as /legs/0/surface".to_owned()))?
            .split('/')
            .map(check::unescaped);
        let first = steps.next().unwrap_or_default();
        let unknown = || wrong(format!("must lead into the trip, got `{first}`"));
        let mut node = field::tree().child(&first).ok_or_else(unknown)?;
        let mut part_at = format!("/{first}");
        let part = match first.as_str() {
            "name" => Part::Name,
            "vehicle" => Part::Vehicle,
            "load" => Part::Load,
            "rules" => Part::Rules,
            "start" => Part::Start,
            "what_ifs" => Part::WhatIfs,
            "log" => Part::Log,
            "legs" => {
                let number = steps.next().and_then(|step| step.parse().ok());
                let number = number.filter(|&number: &usize| number < trip.legs.len());
                let number = number.ok_or_else(|| {
                    let last = trip.legs.len().saturating_sub(1);
                    wrong(format!("must lead to leg 0 to {last} of the list"))
                })?;
                node = node.item.as_deref().ok_or_else(unknown)?;
                part_at = format!("/legs/{number}");
                Part::Leg(number)
            }
            _ => return Err(unknown()),
        };
        Ok(Self {
            part,
            node,
            at: part_at,
            steps: steps.collect(),
        })
    }

    fn speaks_of_track(&self) -> bool {
        matches!(self.part, Part::Leg(_)) && self.steps.first().is_none_or(|step| step == "track")
    }

    /// Puts `to` at the end of the way, objects that are missing before it made; the step that undoes it.
    fn put(&self, part: &mut Value, at: &str, to: Option<&Value>) -> Result<Step, String> {
        let mut node = Some(self.node);
        let mut here = part;
        let mut walked = self.at.clone();
        // The first of the objects that had to be made: to undo is to take it away.
        let mut made: Option<String> = None;
        for step in &self.steps {
            if here.is_null() {
                if to.is_none() {
                    return Ok(Step::clear(at));
                }
                if node.map(Node::kind) != Some(Kind::Object) {
                    return Err(format!(
                        "must lead through what is there, got nothing before `{step}`"
                    ));
                }
                made.get_or_insert_with(|| walked.clone());
                *here = Map::new().into();
            }
            walked = format!("{walked}/{}", escaped(step));
            here = match here {
                Value::Object(object) => {
                    node = node.and_then(|node| node.child(step));
                    object.entry(step.clone()).or_insert(Value::Null)
                }
                Value::Array(list) => {
                    node = node.and_then(|node| node.item.as_deref());
                    let length = list.len();
                    let number = step.parse().ok().filter(|&number: &usize| number < length);
                    let number = number.ok_or_else(|| {
                        format!("must lead to an item of a list of {length}, got `{step}`")
                    })?;
                    &mut list[number]
                }
                other => {
                    let got = shown(other);
                    return Err(format!(
                        "must lead through objects and lists, got {got} before `{step}`"
                    ));
                }
            };
        }
        let was = std::mem::replace(here, to.cloned().unwrap_or_default());
        Ok(match made {
            Some(made) => Step::clear(&made),
            None => Step::Set {
                at: at.to_owned(),
                to: (!was.is_null()).then_some(was),
            },
        })
    }
}

impl Part {
    const fn may_be_absent(self) -> bool {
        matches!(
            self,
            Self::Name | Self::Load | Self::Rules | Self::WhatIfs | Self::Log
        )
    }

    /// The part as JSON; nothing where it is absent. A leg's track only where it is asked for.
    fn read(self, trip: &Trip, with_track: bool) -> Value {
        fn json(part: &impl Serialize) -> Value {
            serde_json::to_value(part).expect("text keys and finite numbers")
        }
        match self {
            Self::Name => json(&trip.name),
            Self::Vehicle => json(&trip.vehicle),
            Self::Load => json(&trip.load),
            Self::Rules => json(&trip.rules),
            Self::Start => json(&trip.start),
            Self::Leg(index) if with_track => json(&trip.legs[index]),
            Self::Leg(index) => json(&without_track(&trip.legs[index])),
            Self::WhatIfs => json(&trip.what_ifs),
            Self::Log => json(&trip.log),
        }
    }

    fn write(
        self,
        trip: &mut Trip,
        value: Value,
        with_track: bool,
        at: &str,
    ) -> Result<(), ChangeError> {
        fn typed<T: DeserializeOwned>(value: Value, at: &str) -> Result<T, ChangeError> {
            serde_json::from_value(value).map_err(|error| {
                // Nothing is known that passes the checks and fails here; should there be, it is told.
                ChangeError::Unsound(vec![check::Problem {
                    at: at.to_owned(),
                    says: error.to_string(),
                }])
            })
        }
        match self {
            Self::Name => trip.name = typed(value, at)?,
            Self::Vehicle => trip.vehicle = typed(value, at)?,
            Self::Load => trip.load = typed(value, at)?,
            Self::Rules => trip.rules = typed(value, at)?,
            Self::Start => trip.start = typed(value, at)?,
            Self::Leg(index) => {
                let mut leg: Leg = typed(value, at)?;
                if with_track {
                    if let Some(Track::File { path, lines }) = &mut leg.track {
                        *lines = read_already(trip, path);
                    }
                    trip.legs[index] = leg;
                } else {
                    leg.track = trip.legs[index].track.take();
                    trip.legs[index] = leg;
                }
            }
            Self::WhatIfs => trip.what_ifs = typed(value, at)?,
            Self::Log => trip.log = typed(value, at)?,
        }
        Ok(())
    }
}

/// The lines of a track's file, where a leg has them already.
fn read_already(trip: &Trip, wanted: &str) -> Option<Arc<[Line]>> {
    trip.legs.iter().find_map(|leg| match &leg.track {
        Some(Track::File {
            path,
            lines: Some(lines),
        }) if path == wanted => Some(Arc::clone(lines)),
        _ => None,
    })
}

fn without_track(leg: &Leg) -> Leg {
    // All but the points is small; a clone shares them.
    let mut leg = leg.clone();
    leg.track = None;
    leg
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
