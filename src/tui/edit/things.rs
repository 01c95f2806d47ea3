//! Legs and items of lists come, go and change places.

use serde_json::{Value, json};

use super::super::editor::Editor;
use super::super::sheet::Topic;
use super::super::state::State;
use super::{begin, chosen_row, clear, made, reading};
use crate::model::Trip;
use crate::model::change::{Change, stated};
use crate::model::load::{CAN_SIZE, empty_can};
use crate::model::route::Leg;
use crate::quantity::Kilometres;

/// The list that the subject is, and the number of the item that the chosen row is about; the number of items where
/// there is none.
fn place(state: &State) -> Option<(&'static str, usize)> {
    let list = state.topic.list()?;
    if state.topic == Topic::Leg {
        return Some((list, state.leg() - 1));
    }
    Some((
        list,
        chosen_row(state)
            .and_then(|row| row.item(list))
            .unwrap_or(0),
    ))
}

pub(super) fn add(state: &mut State) {
    let Some((list, at)) = place(state) else {
        state.status = Some(format!("there is one {} only", state.topic.title()).into());
        return;
    };
    let trip = state.trip();
    let count = stated(trip, list)
        .filter(|_| list != "/legs")
        .and_then(|list| list.as_array().map(Vec::len))
        .unwrap_or(0);
    let new = if count == 0 { 0 } else { at + 1 };
    let change = match state.topic {
        Topic::Leg => {
            let mut leg = Leg::to(unused("new place", |name| {
                trip.start.name == name || trip.legs.iter().any(|leg| leg.to == name)
            }));
            // A stay, until it gets a length: no way is invented.
            leg.distance_km = Some(Kilometres::ZERO);
            Change::insert_leg(trip, at + 1, leg)
        }
        Topic::People => {
            Change::insert_item(list, new, json!({ "name": "new person", "mass_kg": 75 }))
        }
        Topic::Gear => Change::insert_item(list, new, json!({ "name": "new gear", "mass_kg": 0 })),
        Topic::Cans => Change::insert_item(
            list,
            new,
            json!({ "size_l": CAN_SIZE, "empty_kg": empty_can(CAN_SIZE) }),
        ),
        Topic::Log => return reading::ask(state),
        _ => {
            state.status = Some("make a what-if with the sliders: d".into());
            return;
        }
    };
    if made(state, Ok(change)) {
        if state.topic == Topic::Leg {
            state.choose(at + 2);
            state.row = 0;
        } else {
            let first = state
                .rows()
                .iter()
                .position(|row| row.item(list) == Some(new));
            state.row = first.unwrap_or(0);
        }
        begin(state, None);
        // What a new gear is called is a guess.
        state.editor = state.editor.take().map(Editor::replaced_by_typing);
    }
}

/// A copied item with a name that no other of its list has.
fn renamed(trip: &Trip, list: &str, mut item: Value) -> Value {
    let all = stated(trip, list).unwrap_or_default();
    let names: Vec<&str> = all.as_array().map_or_else(Vec::new, |items| {
        items
            .iter()
            .filter_map(|item| item["name"].as_str())
            .collect()
    });
    if let Some(name) = item["name"].as_str() {
        item["name"] = unused(name, |name| names.contains(&name)).into();
    }
    item
}

fn unused(name: &str, is_used: impl Fn(&str) -> bool) -> String {
    let mut names = (1..).map(|number| match number {
        1 => name.to_owned(),
        _ => format!("{name} {number}"),
    });
    names.find(|name| !is_used(name)).unwrap_or_default()
}

pub(super) fn duplicate(state: &mut State) {
    let Some((list, at)) = place(state) else {
        return;
    };
    let trip = state.trip();
    let change = match state.topic {
        Topic::Leg => Change::duplicate_leg(trip, at),
        Topic::WhatIfs => return,
        _ => match stated(trip, &format!("{list}/{at}")) {
            Some(item) => Ok(Change::insert_item(list, at + 1, renamed(trip, list, item))),
            None => return,
        },
    };
    if made(state, change) && state.topic == Topic::Leg {
        state.choose(at + 2);
    }
}

pub(super) fn delete(state: &mut State) {
    let Some((list, at)) = place(state) else {
        clear(state);
        return;
    };
    let change = match state.topic {
        Topic::Leg => Change::delete_legs(state.trip(), at, 1),
        _ => Ok(Change::remove_item(state.trip(), list, at)),
    };
    made(state, change);
    state.row = state.row.min(state.rows().len().saturating_sub(1));
}

pub(super) fn displace(state: &mut State, later: bool) {
    let Some((list, at)) = place(state) else {
        return;
    };
    let to = if later {
        Some(at + 1)
    } else {
        at.checked_sub(1)
    };
    let Some(to) = to else {
        state.status = Some("already first".into());
        return;
    };
    let change = match state.topic {
        Topic::Leg => Change::move_legs(state.trip(), at, 1, to),
        _ => Ok(Change::move_item(state.trip(), list, at, to)),
    };
    if !made(state, change) {
        return;
    }
    if state.topic == Topic::Leg {
        state.choose(to + 1);
    } else {
        let rows = state.rows();
        let first = rows.iter().position(|row| row.item(list) == Some(to));
        state.row = first.unwrap_or(state.row);
    }
}
