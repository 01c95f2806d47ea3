//! The leg table: its cursor, and what is typed into its cells.

use super::super::editor::{Editor, Refused};
use super::super::leg_table::Column;
use super::super::message::{Effect, Message};
use super::super::state::{Mode, State};
use super::super::update::terminal_effect;
use super::super::{find, state};
use super::{is_of_trip, made, of_trip};
use crate::model::change::Change;
use crate::model::field::Kind;
use crate::model::route::Leg;
use crate::quantity::Kilometres;

/// Legs of a page.
const PAGE: usize = 10;

/// The table is in front.
pub(in crate::tui) fn of_table(state: &mut State, message: Message) -> Option<Effect> {
    if is_of_trip(message) {
        return of_trip(state, message);
    }
    let last = state.trip().legs.len();
    let at = if state.cell.is_on_new {
        last
    } else {
        state.leg() - 1
    };
    if let Some(to) = message.scrolled(at, PAGE, last) {
        choose(state, to);
        return None;
    }
    match message {
        Message::Close if state.cell.anchor.is_some() => state.cell.anchor = None,
        Message::Close if state.stop_reading() => {}
        Message::Close => state.open_table(false),
        Message::NextPanel => leave(state, 1),
        Message::PreviousPanel => leave(state, state::Panel::ALL.len() - 1),
        Message::Focus(panel) => {
            state.open_table(false);
            state.focus = panel;
        }
        Message::CellLeft => state.cell.column = state.cell.column.beside(false),
        Message::PreviousDay | Message::NextDay => {
            state.choose_day(message == Message::NextDay);
        }
        Message::CellRight => state.cell.column = state.cell.column.beside(true),
        Message::Range => {
            let begins = state.cell.anchor.is_none() && !state.cell.is_on_new;
            state.cell.anchor = begins.then_some(state.leg());
        }
        Message::Enter => begin(state, None),
        Message::Type(c) => begin(state, Some(c)),
        Message::Clear => clear(state),
        Message::Add => add(state),
        Message::Delete => {
            let legs = state.legs_of_range();
            let count = legs.clone().count();
            let change = Change::delete_legs(state.trip(), legs.start() - 1, count);
            state.cell.anchor = None;
            made(state, change);
        }
        Message::Find => find::ask(state),
        Message::Help => state.open_help(),
        _ => return terminal_effect(state, message),
    }
    None
}

fn leave(state: &mut State, steps: usize) {
    state.open_table(false);
    state.focus = state.focus.moved(steps);
}

/// Chooses a row of the table, from 0; the one below the last leg is for a new leg.
fn choose(state: &mut State, row: usize) {
    let is_on_new = row >= state.trip().legs.len();
    state.choose(row + 1);
    if is_on_new && state.cell.anchor.is_none() {
        state.cell.is_on_new = true;
        state.cell.column = Column::To;
    }
}

fn begin(state: &mut State, typed: Option<char>) {
    let column = state.cell.column;
    let is_number = matches!(
        column.field().kind,
        Kind::Number { .. } | Kind::Whole { .. }
    );
    if typed.is_some() && !is_number {
        state.status = Some("Enter edits this cell".into());
        return;
    }
    let leg = if state.cell.is_on_new {
        state.trip().legs.len() + 1
    } else {
        state.leg()
    };
    let row = column.row(leg);
    state.editor = Some(Editor::new(row, state.trip(), state.units(), typed));
    state.mode = Mode::Field;
}

fn add(state: &mut State) {
    let at = state.leg();
    let change = Change::insert_leg(state.trip(), at, new_leg("new place"));
    if made(state, Ok(change)) {
        choose(state, at);
        state.cell.column = Column::To;
        begin(state, None);
        state.editor = state.editor.take().map(Editor::replaced_by_typing);
    }
}

/// A leg without a length: no distance is invented.
fn new_leg(to: &str) -> Leg {
    let mut leg = Leg::to(to.to_owned());
    leg.distance_km = Some(Kilometres::ZERO);
    leg
}

fn clear(state: &mut State) {
    let column = state.cell.column;
    if state.cell.is_on_new || column.field().is_required() {
        return;
    }
    let change = Change::set_in_legs(state.trip(), state.legs_of_range(), column.key(), None);
    made(state, Ok(change));
}

/// The change that the text in a cell makes: of one leg, of a range, or a new leg; `None` if there is none.
///
/// # Errors
/// What is wrong with the text.
pub(super) fn change(state: &State, editor: &Editor) -> Result<Option<Change>, Refused> {
    let trip = state.trip();
    if state.cell.is_on_new {
        let name = editor.line.text().trim();
        let leg = (!name.is_empty()).then(|| new_leg(name));
        return Ok(leg.map(|leg| Change::insert_leg(trip, trip.legs.len(), leg)));
    }
    let legs = state.legs_of_range();
    if legs.clone().count() > 1 {
        let value = editor.parsed()?;
        let key = state.cell.column.key();
        return Ok(Some(Change::set_in_legs(trip, legs, key, value)));
    }
    editor.change(trip)
}

/// Goes on from a cell that was accepted: place, distance, surface, then the next leg; elsewhere down the column.
pub(super) fn go_on(state: &mut State) {
    let cell = state.cell;
    if cell.is_on_new {
        let last = state.trip().legs.len();
        choose(state, last - 1);
        state.cell.column = Column::Distance;
        return;
    }
    if cell.anchor.is_some() {
        state.cell.anchor = None;
        return;
    }
    match cell.column {
        Column::To => state.cell.column = Column::Distance,
        Column::Distance => state.cell.column = Column::Surface,
        Column::Surface => {
            choose(state, state.leg());
            state.cell.column = Column::To;
        }
        _ if state.leg() < state.trip().legs.len() => choose(state, state.leg()),
        _ => {}
    }
}
