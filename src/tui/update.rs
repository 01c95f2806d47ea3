//! What each intention does to the state. Knows no keys, files, clock or terminal.

use super::dials;
use super::edit;
use super::find;
use super::message::{Effect, Message};
use super::sheet::Topic;
use super::state::{Mode, Panel, State};
use super::ways;
use crate::quantity::Kilometres;

/// A step of the cursor, as a part of what the strip shows.
const STEP: f64 = 0.01;
/// A page keeps this part of what was shown before.
const PAGE: f64 = 0.9;

/// Does what `message` wants and returns what only the terminal can do.
pub fn update(state: &mut State, message: Message) -> Option<Effect> {
    if let Message::Tipped(..) = message {
        // Comes by itself: what was told before stays.
        dials::of_dials(state, message);
        return None;
    }
    if message == Message::WaysFound {
        ways::found(state);
        return None;
    }
    state.status = None;
    if message == Message::Dials {
        dials::of_dials(state, message);
        return None;
    }
    match state.mode {
        Mode::Dials | Mode::SideBySide => {
            if dials::of_dials(state, message) {
                return None;
            }
            if message == Message::Help {
                state.open_help();
                return None;
            }
            return if edit::is_of_trip(message) {
                edit::of_trip(state, message)
            } else {
                terminal_effect(state, message)
            };
        }
        Mode::Help { scroll } => return update_help(state, scroll, message),
        Mode::Sheet => return edit::of_sheet(state, message),
        Mode::Field | Mode::Prompt => return edit::of_typing(state, message),
        Mode::Ask(question) => return edit::of_question(state, question, message),
        Mode::Browse => {}
    }
    if edit::is_of_trip(message) {
        return edit::of_trip(state, message);
    }
    let span = state.look().span;
    match message {
        Message::PreviousLeg => previous_leg(state),
        Message::NextLeg => state.choose(state.leg() + 1),
        Message::TripStart => state.choose(1),
        Message::TripEnd => state.go_to(state.strip().length()),
        Message::PageBack => state.go_to(state.at() - span * PAGE),
        Message::PageOn => state.go_to(state.at() + span * PAGE),
        Message::StepBack => state.go_to(state.at() - span * STEP),
        Message::StepOn => state.go_to(state.at() + span * STEP),
        Message::PreviousMark | Message::NextMark if state.found.is_some() => {
            find::go_on(state, message == Message::NextMark);
        }
        Message::Close if state.found.is_some() => {
            state.found = None;
            state.status = Some("n goes to marks again".into());
        }
        Message::PreviousMark => go_to_mark(state, previous_mark(state), "no mark before"),
        Message::NextMark => go_to_mark(state, next_mark(state), "no mark further on"),
        Message::ZoomIn => state.zoom_to(span / 2.0),
        Message::ZoomOut => state.zoom_to(span * 2.0),
        Message::ZoomLeg => state.zoom_to_leg(),
        Message::Find => find::ask(state),
        Message::Look => find::look(state),
        Message::ZoomTrip => state.zoom_to(state.strip().length()),
        Message::NextPanel => state.focus = state.focus.moved(1),
        Message::PreviousPanel => state.focus = state.focus.moved(Panel::ALL.len() - 1),
        Message::ScrollUp => state.scroll_panel(state.focus, false),
        Message::ScrollDown => state.scroll_panel(state.focus, true),
        Message::Help => state.open_help(),
        Message::TryWay => ways::try_next(state),
        Message::Close => {
            if ways::give_up(state) {
                state.status = Some("no longer looking for ways".into());
            }
        }
        Message::GoTo(km) => state.go_to(km),
        Message::Focus(panel) => state.focus = panel,
        _ => return terminal_effect(state, message),
    }
    None
}

/// The list of keys is in front: it scrolls and closes, and the terminal can still be asked for.
fn update_help(state: &mut State, scroll: usize, message: Message) -> Option<Effect> {
    const PAGE_LINES: usize = 10;
    let scroll = match message {
        Message::ScrollUp => scroll.saturating_sub(1),
        Message::ScrollDown => scroll + 1,
        Message::PageBack => scroll.saturating_sub(PAGE_LINES),
        Message::PageOn => scroll + PAGE_LINES,
        Message::TripStart => 0,
        Message::TripEnd => usize::MAX,
        Message::Find => {
            super::find::ask_help(state);
            return None;
        }
        Message::Help | Message::Close => {
            state.help_filter.clear();
            state.mode = state.behind_help;
            return None;
        }
        Message::Quit => return edit::of_trip(state, message),
        _ => return terminal_effect(state, message),
    };
    let last = super::view::help::line_count().saturating_sub(1);
    state.mode = Mode::Help {
        scroll: scroll.min(last),
    };
    None
}

/// What is asked of the terminal.
pub(super) fn terminal_effect(state: &mut State, message: Message) -> Option<Effect> {
    match message {
        Message::ToggleMouse => {
            state.mouse = !state.mouse;
            let says = if state.mouse {
                "the mouse chooses and scrolls here"
            } else {
                "the mouse selects text for the terminal"
            };
            state.status = Some(says.into());
            Some(Effect::CaptureMouse(state.mouse))
        }
        Message::Repaint => Some(Effect::Repaint),
        Message::Suspend => Some(Effect::Suspend),
        _ => None,
    }
}

/// The start of the leg under the cursor if the cursor is past it, else the leg before.
fn previous_leg(state: &mut State) {
    let past_start = state.chosen().is_some_and(|leg| state.at() > leg.from_km);
    state.choose(state.leg().saturating_sub(usize::from(!past_start)));
}

fn next_mark(state: &State) -> Option<Kilometres> {
    let marks = state.strip().all_marks();
    let next = marks.partition_point(|mark| mark.at <= state.at());
    marks.get(next).map(|mark| mark.at)
}

fn previous_mark(state: &State) -> Option<Kilometres> {
    let marks = state.strip().all_marks();
    let here = marks.partition_point(|mark| mark.at < state.at());
    here.checked_sub(1).map(|before| marks[before].at)
}

fn go_to_mark(state: &mut State, mark: Option<Kilometres>, otherwise: &'static str) {
    match mark {
        Some(km) => state.go_to(km),
        None => state.status = Some(otherwise.into()),
    }
}

/// Whether a message would change anything now; the footer offers only those that would.
pub fn works_now(state: &State, message: Message) -> bool {
    let browsing = matches!(state.mode, Mode::Browse | Mode::Sheet);
    match message {
        Message::PreviousLeg => state.at() > Kilometres::ZERO || state.leg() > 1,
        Message::NextLeg => state.leg() < state.plan().legs.len(),
        Message::NextMark | Message::PreviousMark if state.found.is_some() => true,
        Message::Add => state.topic.list().is_some() && state.topic != Topic::WhatIfs,
        Message::Delete => state.topic.list().is_some(),
        Message::NextMark => next_mark(state).is_some(),
        Message::PreviousMark => previous_mark(state).is_some(),
        Message::ZoomOut | Message::ZoomTrip => !state.shows_all(),
        Message::Help => browsing,
        Message::Close => state.mode != Mode::Browse || state.found.is_some(),
        Message::Undo => !state.history().is_empty(),
        Message::Redo => state.history().last_undone().is_some(),
        _ => true,
    }
}
