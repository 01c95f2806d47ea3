//! What each intention does while the trip is edited: rows, the field that is typed, undo, saving.

use serde_json::{Value, json};

use super::editor::Editor;
use super::line::Line;
use super::message::{Effect, Message};
use super::prompt::{Prompt, Purpose};
use super::sheet::{Row, Topic};
use super::state::{Mode, Question, State};
use crate::model::change::{Change, ChangeError};
use crate::model::field::{self, Kind};
use crate::model::route::Leg;
use crate::present::entry::Entry;
use crate::quantity::Kilometres;

/// Rows of a page.
const PAGE_ROWS: usize = 8;

/// Undo, redo, save: what can be asked for over the strip and over the rows alike. Nothing if it is none of them.
pub(super) fn of_trip(state: &mut State, message: Message) -> Option<Option<Effect>> {
    match message {
        Message::Edit => open(state),
        Message::Undo => turn(state, "undone", |state| state.history.undo()),
        Message::Redo => turn(state, "done again", |state| state.history.redo()),
        Message::Save => {
            return Some(match state.file {
                Some(_) => Some(Effect::Save {
                    over: false,
                    then_quit: false,
                }),
                None => {
                    ask_where(state, false);
                    None
                }
            });
        }
        Message::SaveAs => ask_where(state, false),
        Message::Quit if state.history.is_changed() => state.mode = Mode::Ask(Question::Quit),
        Message::Quit => return Some(Some(Effect::Quit)),
        _ => return None,
    }
    Some(None)
}

fn open(state: &mut State) {
    let topic = Topic::of_panel(state.focus);
    if topic != state.topic {
        (state.topic, state.row) = (topic, 0);
    }
    state.open_sheet(true);
}

fn turn(state: &mut State, did: &str, what: fn(&mut State) -> Option<String>) {
    match what(state) {
        Some(name) => {
            state.settle();
            state.status = Some(format!("{did}: {name}").into());
        }
        None => state.status = Some(format!("nothing to be {did}").into()),
    }
}

fn ask_where(state: &mut State, then_quit: bool) {
    let proposed = state.file.clone().unwrap_or_else(|| "trip.json".to_owned());
    state.prompt = Some(Prompt::new(Purpose::SaveAs { then_quit }, proposed));
    state.mode = Mode::Prompt;
}

/// The rows are in front.
pub(super) fn of_sheet(state: &mut State, message: Message) -> Option<Effect> {
    if let Some(effect) = of_trip(state, message) {
        return effect;
    }
    let last = state.rows().len().saturating_sub(1);
    let of_legs = state.topic == Topic::Leg;
    match message {
        Message::Close => state.open_sheet(false),
        Message::ScrollUp => state.row = state.row.saturating_sub(1),
        Message::ScrollDown => state.row = (state.row + 1).min(last),
        Message::PageBack => state.row = state.row.saturating_sub(PAGE_ROWS),
        Message::PageOn => state.row = (state.row + PAGE_ROWS).min(last),
        Message::Row(row) => state.row = row.min(last),
        Message::NextPanel => (state.topic, state.row) = (state.topic.moved(1), 0),
        Message::PreviousPanel => {
            (state.topic, state.row) = (state.topic.moved(Topic::ALL.len() - 1), 0);
        }
        Message::PreviousLeg => state.choose(state.leg().saturating_sub(1)),
        Message::NextLeg => state.choose(state.leg() + 1),
        Message::Enter => begin(state, None),
        Message::Type(c) => begin(state, Some(c)),
        Message::Clear => clear(state),
        Message::Add => add(state),
        Message::Duplicate => duplicate(state),
        Message::Delete => delete(state),
        Message::Earlier => displace(state, false),
        Message::Later => displace(state, true),
        Message::Split if of_legs => ask_where_to_split(state),
        Message::Join if of_legs => with_leg(state, Change::join_legs),
        Message::Reverse if of_legs => with_leg(state, Change::reverse_leg),
        Message::DayLater if of_legs => {
            with_leg(state, |trip, leg| Change::shift_days(trip, leg, 1))
        }
        Message::DayEarlier if of_legs => {
            with_leg(state, |trip, leg| Change::shift_days(trip, leg, -1));
        }
        Message::ReverseTrip => with_leg(state, |trip, _| Change::reverse_trip(trip)),
        Message::OutAndBack => with_leg(state, |trip, _| Change::out_and_back(trip)),
        Message::Help => state.mode = Mode::Help { scroll: 0 },
        _ => return super::update::terminal_effect(state, message),
    }
    None
}

fn chosen_row(state: &State) -> Option<Row> {
    state.rows().into_iter().nth(state.row)
}

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

fn begin(state: &mut State, typed: Option<char>) {
    let Some(row) = chosen_row(state) else {
        state.status = Some("nothing here yet: a puts something in".into());
        return;
    };
    let numbers = matches!(row.field.kind, Kind::Number { .. } | Kind::Whole { .. });
    let typed = typed.filter(|_| numbers);
    if row.field.kind == Kind::Patch {
        state.status =
            Some("a what-if is made by turning dials; here it is renamed or taken out".into());
        return;
    }
    let mut editor = Editor::new(row, state.trip(), state.units(), typed);
    // The points of a track are not text.
    if editor.row.field.kind == Kind::Track && editor.line.text().ends_with(" points") {
        editor.line = Line::default();
    }
    state.editor = Some(editor);
    state.mode = Mode::Field;
}

fn told(state: &mut State, made: Result<Change, ChangeError>) -> bool {
    let made = made
        .map_err(|error| error.to_string())
        .and_then(|change| state.make(&change));
    let is_done = made.is_ok();
    if let Err(says) = made {
        state.status = Some(says.into());
    }
    is_done
}

fn with_leg(
    state: &mut State,
    change: impl Fn(&crate::model::Trip, usize) -> Result<Change, ChangeError>,
) {
    let change = change(state.trip(), state.leg() - 1);
    told(state, change);
}

fn clear(state: &mut State) {
    if let Some(row) = chosen_row(state) {
        let change = Change::set(state.trip(), &row.at, None);
        told(state, Ok(change));
    }
}

fn add(state: &mut State) {
    let Some((list, at)) = place(state) else {
        state.status = Some(format!("there is one {} only", state.topic.title()).into());
        return;
    };
    let trip = state.trip();
    let count = crate::model::change::stated(trip, list)
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
        Topic::Crew => {
            Change::insert_item(list, new, json!({ "name": "new person", "mass_kg": 75 }))
        }
        Topic::Items => {
            Change::insert_item(list, new, json!({ "name": "new thing", "mass_kg": 0 }))
        }
        Topic::Cans => Change::insert_item(list, new, json!({ "size_l": 20, "empty_kg": 4.3 })),
        Topic::Log => Change::insert_item(list, new, next_reading(trip)),
        _ => {
            state.status = Some("a what-if is made by turning dials".into());
            return;
        }
    };
    if told(state, Ok(change)) {
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
    }
}

/// A reading at the place of the last one, for which only what differs need be typed.
fn next_reading(trip: &crate::model::Trip) -> Value {
    let last = trip.log().last();
    json!({
        "node": last.map_or(0, |last| last.node),
        "odometer_km": last.map_or_else(
            || trip.start.odometer_km.unwrap_or_default(),
            |last| last.odometer_km
        ),
        "tank_left_l": trip.vehicle.tank_l,
    })
}

fn unused(name: &str, is_used: impl Fn(&str) -> bool) -> String {
    let mut names = (1..).map(|number| match number {
        1 => name.to_owned(),
        _ => format!("{name} {number}"),
    });
    names.find(|name| !is_used(name)).unwrap_or_default()
}

fn duplicate(state: &mut State) {
    let Some((list, at)) = place(state) else {
        return;
    };
    let trip = state.trip();
    let change = match state.topic {
        Topic::Leg => Change::duplicate_leg(trip, at),
        Topic::WhatIfs => return,
        _ => match crate::model::change::stated(trip, &format!("{list}/{at}")) {
            Some(item) => Ok(Change::insert_item(list, at + 1, item)),
            None => return,
        },
    };
    if told(state, change) && state.topic == Topic::Leg {
        state.choose(at + 2);
    }
}

fn delete(state: &mut State) {
    let Some((list, at)) = place(state) else {
        clear(state);
        return;
    };
    let change = match state.topic {
        Topic::Leg => Change::delete_legs(state.trip(), at, 1),
        _ => Ok(Change::remove_item(state.trip(), list, at)),
    };
    told(state, change);
    state.row = state.row.min(state.rows().len().saturating_sub(1));
}

fn displace(state: &mut State, later: bool) {
    let Some((list, at)) = place(state) else {
        return;
    };
    let to = if later {
        Some(at + 1)
    } else {
        at.checked_sub(1)
    };
    let Some(to) = to else {
        state.status = Some("it is the first".into());
        return;
    };
    let change = match state.topic {
        Topic::Leg => Change::move_legs(state.trip(), at, 1, to),
        _ => Ok(Change::move_item(state.trip(), list, at, to)),
    };
    if !told(state, change) {
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

/// The kilometre of a leg, as it is typed.
fn kilometres(state: &State) -> Option<Entry> {
    Some(Entry::new(
        field::field("/legs/*/distance_km")?,
        state.units(),
    ))
}

fn ask_where_to_split(state: &mut State) {
    let (Some(leg), Some(entry)) = (state.chosen(), kilometres(state)) else {
        return;
    };
    let length = leg.distance;
    let here = state.at() - leg.from_km;
    let inside = here > Kilometres::ZERO && here < length;
    let km = if inside { here } else { length / 2.0 };
    // To a tenth: nobody reads a kilometre off a screen more closely.
    let tenth = (km.get() * 10.0).round() / 10.0;
    let proposed = entry.shown(Some(&json!(Kilometres::new(tenth))));
    state.prompt = Some(Prompt::new(Purpose::SplitAt { length }, proposed));
    state.mode = Mode::Prompt;
}

/// A field or an answer is typed.
pub(super) fn of_typing(state: &mut State, message: Message) -> Option<Effect> {
    if matches!(message, Message::Quit) {
        give_up(state);
        return of_trip(state, message).flatten();
    }
    match message {
        Message::Close => give_up(state),
        Message::Enter if state.mode == Mode::Prompt => return answered(state),
        Message::Enter => take(state),
        Message::ScrollUp | Message::ScrollDown => {
            if let Some(editor) = &mut state.editor {
                editor.choose(message == Message::ScrollDown);
            }
        }
        Message::Type(c) => match &mut state.editor {
            Some(editor) if !editor.choices().is_empty() => editor.choose_by(c),
            _ => with_line(state, |line| line.put(c)),
        },
        Message::Go(to) => with_line(state, |line| line.go(to)),
        Message::Erase(to) => {
            let chooses = state
                .editor
                .as_ref()
                .is_some_and(|editor| !editor.choices().is_empty());
            if !chooses {
                with_line(state, |line| line.erase(to));
            }
        }
        _ => return super::update::terminal_effect(state, message),
    }
    None
}

fn with_line(state: &mut State, act: impl Fn(&mut Line)) {
    if let Some(prompt) = &mut state.prompt {
        act(&mut prompt.line);
        prompt.problem = None;
    } else if let Some(editor) = &mut state.editor {
        act(&mut editor.line);
    }
}

fn give_up(state: &mut State) {
    state.give_up_trial();
    (state.editor, state.prompt) = (None, None);
    state.mode = state.resting();
}

/// Takes what was typed, if it is right.
fn take(state: &mut State) {
    let Some(editor) = &state.editor else {
        return;
    };
    match editor.change(state.history.trip()) {
        Ok(None) => give_up(state),
        Ok(Some(change)) => {
            state.give_up_trial();
            match state.make(&change) {
                Ok(()) => {
                    state.editor = None;
                    state.mode = Mode::Sheet;
                    let last = state.rows().len().saturating_sub(1);
                    state.row = (state.row + 1).min(last);
                }
                Err(problem) => {
                    if let Some(editor) = &mut state.editor {
                        editor.problem = Some(problem);
                    }
                }
            }
        }
        Err(problem) => {
            if let Some(editor) = &mut state.editor {
                editor.problem = Some(problem);
            }
        }
    }
}

/// Shows what follows from what is being typed. Called once before a frame and not once for each key.
pub(super) fn try_what_is_typed(state: &mut State) {
    let Some(editor) = &state.editor else {
        return;
    };
    let text = editor.line.text().to_owned();
    if editor.tried.as_ref() == Some(&text) {
        return;
    }
    let change = editor.change(state.history.trip());
    let problem = match change {
        Ok(Some(change)) => state.try_out(&change).err(),
        Ok(None) => {
            state.give_up_trial();
            None
        }
        Err(problem) => Some(problem),
    };
    if problem.is_some() {
        state.give_up_trial();
    }
    if let Some(editor) = &mut state.editor {
        editor.tried = Some(text);
        editor.problem = problem;
    }
}

fn answered(state: &mut State) -> Option<Effect> {
    let prompt = state.prompt.as_ref()?;
    let text = prompt.line.text().trim().to_owned();
    match prompt.purpose {
        Purpose::SaveAs { then_quit } => {
            if text.is_empty() {
                state.problem_of_prompt("must be the name of a file, got nothing".to_owned());
                return None;
            }
            state.prompt = None;
            state.mode = state.resting();
            let same = state.file.as_ref() == Some(&text);
            if !same {
                state.save_to = Some(text);
            }
            Some(Effect::Save {
                over: false,
                then_quit,
            })
        }
        Purpose::KeepDials => {
            match super::dials::keep_as(state, &text) {
                Ok(()) => {
                    state.prompt = None;
                    state.mode = Mode::Dials;
                }
                Err(problem) => state.problem_of_prompt(problem),
            }
            None
        }
        Purpose::FindHelp => {
            state.help_filter = text;
            state.prompt = None;
            state.mode = Mode::Help { scroll: 0 };
            None
        }
        Purpose::Find => {
            super::find::go(state, &text);
            None
        }
        Purpose::SplitAt { .. } => {
            let entry = kilometres(state)?;
            let value = match entry.parse(&text) {
                Ok(value) => value.and_then(|value| value.as_f64()).unwrap_or(0.0),
                Err(problem) => {
                    state.problem_of_prompt(problem);
                    return None;
                }
            };
            let leg = state.leg() - 1;
            let place = format!(
                "{}, {text} {} before",
                state.trip().legs[leg].to,
                entry.unit()
            );
            let km = Kilometres::new(value);
            let made = Change::split_leg(state.trip(), leg, km, &place)
                .map_err(|error| error.to_string())
                .and_then(|change| state.make(&change));
            match made {
                Ok(()) => {
                    state.prompt = None;
                    state.mode = Mode::Sheet;
                }
                Err(problem) => state.problem_of_prompt(problem),
            }
            None
        }
    }
}

/// A question for yes or no is in front.
pub(super) fn of_question(
    state: &mut State,
    question: Question,
    message: Message,
) -> Option<Effect> {
    let rest = state.resting();
    match (question, message) {
        (Question::Quit, Message::Yes) => {
            state.mode = rest;
            if state.file.is_none() {
                ask_where(state, true);
                return None;
            }
            Some(Effect::Save {
                over: false,
                then_quit: true,
            })
        }
        (Question::Quit, Message::No) => Some(Effect::Quit),
        (Question::Overwrite { then_quit } | Question::Replace { then_quit }, Message::Yes) => {
            state.mode = rest;
            Some(Effect::Save {
                over: true,
                then_quit,
            })
        }
        (Question::Recover, Message::Yes | Message::No) => {
            state.mode = rest;
            Some(Effect::Recover(message == Message::Yes))
        }
        (Question::Reload, Message::Yes) => {
            state.mode = rest;
            Some(Effect::Reload)
        }
        (Question::Recover, Message::Close) => {
            state.status = Some("y takes the edits up, n drops them".into());
            None
        }
        (_, Message::No | Message::Close) => {
            state.mode = rest;
            state.save_to = None;
            None
        }
        (_, Message::Quit) => Some(Effect::Quit),
        _ => super::update::terminal_effect(state, message),
    }
}
