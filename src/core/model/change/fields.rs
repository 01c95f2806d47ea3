//! Changes of single values, of the items of a list, and of the what-ifs that are kept.

use std::collections::HashSet;
use std::ops::RangeInclusive;

use json_patch::jsonptr::PointerBuf;
use json_patch::{PatchOperation, TestOperation};
use serde_json::Value;

use super::{Change, Step, WHAT_IFS, value};
use crate::model::Trip;
use crate::model::check::shown;
use crate::model::field::{self, Kind, PERCENT, as_percent};
use crate::model::load::empty_can;
use crate::model::what_if::WhatIf;
use crate::quantity::{Litres, Share};

/// The value that a trip states at a JSON Pointer.
pub fn stated(trip: &Trip, at: &str) -> Option<Value> {
    value::get(trip, at)
}

/// What holds the value, as the reader knows it: `leg 4`, `drinking water`, `vehicle`.
pub fn holder(trip: &Trip, at: &str) -> String {
    let steps: Vec<&str> = at.split('/').skip(1).collect();
    let number = |step: &str| step.parse::<usize>().ok();
    let named = |list: &str, step: &str| {
        let name = value::get(trip, &format!("{list}/{step}/name"))?;
        name.as_str().map(str::to_owned)
    };
    match steps.as_slice() {
        ["legs", leg, ..] => match number(leg) {
            Some(leg) => format!("leg {}", leg + 1),
            None => "legs".to_owned(),
        },
        ["load", list @ ("gear" | "people"), item, ..] => {
            named(&format!("/load/{list}"), item).unwrap_or_else(|| (*list).to_owned())
        }
        ["load", "cans", can, ..] => match value::get(trip, &format!("/load/cans/{can}/size_l")) {
            Some(size) => format!("{size} L cans"),
            None => "cans".to_owned(),
        },
        ["load", "roof", ..] => "roof".to_owned(),
        ["log", reading, ..] => match number(reading) {
            Some(reading) => format!("reading {}", reading + 1),
            None => "log".to_owned(),
        },
        ["what_ifs", what_if, ..] => named(WHAT_IFS, what_if)
            .map_or_else(|| "what-ifs".to_owned(), |name| format!("what-if {name}")),
        [_] => "trip".to_owned(),
        [part, ..] => (*part).to_owned(),
        [] => String::new(),
    }
}

/// The name of a change that sets a value: `distance 56 -> 60 km`, `sand 40 -> 80 %`.
pub(super) fn in_words_set(trip: &Trip, at: &str, to: Option<&Value>) -> String {
    let field = field::at_pointer(at);
    let label = field.map_or_else(|| at.to_owned(), field::Field::label);
    let is_fraction = field.is_some_and(|field| field.kind.is_fraction());
    let unit = match field.map(|field| field.kind) {
        _ if is_fraction => format!(" {PERCENT}"),
        Some(Kind::Number { unit, .. }) if !unit.is_empty() => format!(" {unit}"),
        _ => String::new(),
    };
    let as_text = |value: Option<&Value>| match value {
        None | Some(Value::Null) => "not set".to_owned(),
        Some(Value::String(text)) => text.clone(),
        Some(Value::Object(_)) => "set".to_owned(),
        Some(Value::Number(number)) if is_fraction => number.as_f64().map_or_else(
            || number.to_string(),
            |share| as_percent(Share::new(share)).get().to_string(),
        ),
        Some(other) => shown(other),
    };
    let was = value::get(trip, at);
    let now = match to {
        number @ Some(Value::Number(_)) => format!("{}{unit}", as_text(number)),
        other => as_text(other),
    };
    format!("{label} {} -> {now}", as_text(was.as_ref()))
}

impl Change {
    /// Gives a can another size; its empty mass follows while it is the proposed one.
    pub fn set_can_size(trip: &Trip, at: &str, to: Option<Value>) -> Self {
        let new = to.as_ref().and_then(Value::as_f64).map(Litres::new);
        let mut change = Self::set(trip, at, to);
        let number = at.split('/').nth(3).and_then(|number| number.parse().ok());
        let can = number.and_then(|number: usize| trip.load().cans().get(number));
        if let (Some(can), Some(new)) = (can, new)
            && can.empty_kg == empty_can(can.size_l)
        {
            let empty = at.replace("/size_l", "/empty_kg");
            change.steps.push(Step::set(empty, empty_can(new).get()));
        }
        change
    }

    /// Sets the value at a JSON Pointer, or clears it. Objects on the route that are missing are made.
    pub fn set(trip: &Trip, at: &str, to: Option<Value>) -> Self {
        let name = format!(
            "{}: {}",
            holder(trip, at),
            in_words_set(trip, at, to.as_ref())
        );
        let to = to.filter(|to| !to.is_null());
        let mut steps = vec![Step::Set {
            at: at.to_owned(),
            to,
        }];
        // A surface that the user sets is the user's, and known.
        if let Some(leg) = at.strip_suffix("/surface")
            && leg.starts_with(super::LEGS)
        {
            let of_map = ["surface_from", "surface_known_share"].map(|key| format!("{leg}/{key}"));
            let stated = of_map.iter().filter(|at| value::get(trip, at).is_some());
            steps.extend(stated.map(|at| Step::clear(at)));
        }
        Self::new(name, steps)
    }

    /// Gives one field of several legs, numbered from 1, the same value, or clears it.
    pub fn set_in_legs(
        trip: &Trip,
        legs: RangeInclusive<usize>,
        key: &str,
        to: Option<Value>,
    ) -> Self {
        let to = to.filter(|to| !to.is_null());
        let at = |leg: usize| format!("/legs/{}/{key}", leg - 1);
        let first = at(*legs.start());
        let words = in_words_set(trip, &first, to.as_ref());
        let name = match words.rsplit_once(" -> ") {
            Some((_, now)) => {
                let label = field::field(&format!("/legs/*/{key}"));
                let label = label.map_or_else(|| key.to_owned(), field::Field::label);
                format!("legs {} to {}: {label} {now}", legs.start(), legs.end())
            }
            None => words,
        };
        let steps = legs.map(|leg| Step::Set {
            at: at(leg),
            to: to.clone(),
        });
        Self::new(name, steps.collect())
    }

    /// Puts an item into a list of the load or the log; the list is made where there is none.
    pub fn insert_item(list: &str, at: usize, item: Value) -> Self {
        let name = item.get("name").and_then(Value::as_str);
        let name = name.map_or_else(|| in_words(list), str::to_owned);
        let step = Step::Insert {
            list: list.to_owned(),
            at,
            items: vec![item],
        };
        Self::new(format!("insert {name}"), vec![step])
    }

    /// Takes an item out of a list of the load or the log.
    pub fn remove_item(trip: &Trip, list: &str, at: usize) -> Self {
        let step = Step::Remove {
            list: list.to_owned(),
            at,
            count: 1,
        };
        let name = holder(trip, &format!("{list}/{at}"));
        Self::new(format!("delete {name}"), vec![step])
    }

    /// Puts an item of a list to another place in it.
    pub fn move_item(trip: &Trip, list: &str, from: usize, to: usize) -> Self {
        let step = Step::Move {
            list: list.to_owned(),
            from,
            count: 1,
            to,
        };
        let name = holder(trip, &format!("{list}/{from}"));
        Self::new(format!("move {name}"), vec![step])
    }

    /// Keeps a what-if with the trip; one of the same name is replaced.
    ///
    /// # Panics
    /// Never: a patch has text keys and finite numbers only.
    pub fn keep_what_if(trip: &Trip, what_if: &WhatIf) -> Self {
        let name = &what_if.name;
        let item = serde_json::to_value(what_if).expect("text keys and finite numbers");
        let kept = trip.what_ifs();
        let step = match kept.iter().position(|other| other.name == *name) {
            Some(number) => Step::set(format!("{WHAT_IFS}/{number}"), item),
            None => Step::Insert {
                list: WHAT_IFS.to_owned(),
                at: kept.len(),
                items: vec![item],
            },
        };
        Self::new(format!("save what-if {name}"), vec![step])
    }

    /// What the operations of a what-if set and remove, as a change; their guards are left out.
    pub fn of_operations(name: &str, operations: &[PatchOperation]) -> Self {
        let steps = operations.iter().filter_map(|operation| {
            let at = operation.path().to_string();
            match operation {
                PatchOperation::Add(add) => Some(Step::Set {
                    at,
                    to: Some(add.value.clone()),
                }),
                PatchOperation::Replace(replace) => Some(Step::Set {
                    at,
                    to: Some(replace.value.clone()),
                }),
                PatchOperation::Remove(_) => Some(Step::Set { at, to: None }),
                _ => None,
            }
        });
        Self::new(name.to_owned(), steps.collect())
    }
}

/// The operations with a guard before them for every leg and every named item whose number they use, so that
/// they never meet another one.
pub fn guarded(trip: &Trip, operations: Vec<PatchOperation>) -> Vec<PatchOperation> {
    let mut guards: Vec<PatchOperation> = Vec::new();
    let mut known = HashSet::new();
    for operation in &operations {
        let path = operation.path().as_str();
        let steps: Vec<&str> = path.split('/').skip(1).collect();
        let name = match steps.as_slice() {
            ["legs", leg, ..] => format!("/legs/{leg}/to"),
            ["load", list @ ("gear" | "people"), item, ..] => format!("/load/{list}/{item}/name"),
            ["load", "cans", can, ..] => format!("/load/cans/{can}/size_l"),
            _ => continue,
        };
        if known.insert(name.clone())
            && let (Some(value), Ok(path)) = (value::get(trip, &name), PointerBuf::parse(name))
        {
            guards.push(PatchOperation::Test(TestOperation { path, value }));
        }
    }
    guards.extend(operations);
    guards
}

fn in_words(list: &str) -> String {
    match list {
        "/load/cans" => "cans".to_owned(),
        "/log" => "a reading".to_owned(),
        other => other.to_owned(),
    }
}
