//! What each intention does to the state. Knows no keys, files, clock or terminal.

use super::edit;
use super::editor::Editor;
use super::find;
use super::fixes;
use super::form::Form;
use super::help;
use super::message::{Effect, Message};
use super::proposal::Proposed;
use super::sheet::Topic;
use super::sliders;
use super::state::{Mode, Panel, Question, State};
use crate::quantity::Kilometres;

/// A step of the cursor, as a part of what the strip shows.
const STEP: f64 = 0.01;
/// A page keeps this part of what was shown before.
const PAGE: f64 = 0.9;

/// Does what `message` wants and returns what only the terminal can do.
pub fn update(state: &mut State, message: Message) -> Option<Effect> {
    if let Message::VerdictChanges(..) = message {
        // Comes by itself: what was shown before stays.
        sliders::of_sliders(state, message);
        return None;
    }
    if message == Message::FixesFound {
        fixes::found(state);
        return None;
    }
    if message == Message::Pause {
        edit::choose_anew(state);
        return None;
    }
    state.status = None;
    if message == Message::Sliders {
        sliders::of_sliders(state, message);
        return None;
    }
    match state.mode {
        Mode::Sliders | Mode::SideBySide => {
            if sliders::of_sliders(state, message) {
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
        Mode::Help | Mode::FindHelp => return update_help(state, message),
        Mode::Sheet => return edit::of_sheet(state, message),
        Mode::Legs => return edit::of_table(state, message),
        Mode::Field | Mode::Prompt => return edit::of_typing(state, message),
        Mode::Form => return edit::of_form(state, message),
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
        Message::PreviousDay | Message::NextDay => {
            state.choose_day(message == Message::NextDay);
        }
        Message::TripStart => state.choose(1),
        Message::TripEnd => state.go_to(state.strip().length()),
        Message::PageBack => state.go_to(state.at() - span * PAGE),
        Message::PageOn => state.go_to(state.at() + span * PAGE),
        Message::StepBack => state.go_to(state.at() - span * STEP),
        Message::StepOn => state.go_to(state.at() + span * STEP),
        Message::PreviousMark | Message::NextMark if state.finding.is_on => {
            find::go_on(state, message == Message::NextMark);
        }
        Message::Close if state.finding.is_on => {
            state.finding.is_on = false;
            state.status = Some("search ended".into());
        }
        Message::PreviousMark => go_to_mark(state, previous_mark(state), "no earlier markers"),
        Message::NextMark => go_to_mark(state, next_mark(state), "no later markers"),
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
        Message::TryFix => fixes::try_next(state),
        Message::Close => {
            if fixes::give_up(state) {
                state.status = Some("search for fixes stopped".into());
            } else {
                state.stop_reading();
            }
        }
        Message::GoTo(km) => state.go_to(km),
        Message::Focus(panel) => state.focus = panel,
        _ => return terminal_effect(state, message),
    }
    None
}

/// The list of keys is in front, and the terminal can still be asked for.
fn update_help(state: &mut State, message: Message) -> Option<Effect> {
    match state.help.update(message) {
        help::Outcome::On => {
            state.mode = if state.help.is_typed {
                Mode::FindHelp
            } else {
                Mode::Help
            };
        }
        help::Outcome::Closed => state.mode = state.behind_help,
        help::Outcome::NotMine if message == Message::Quit => {
            state.mode = state.behind_help;
            return update(state, message);
        }
        help::Outcome::NotMine => return terminal_effect(state, message),
    }
    None
}

/// What is asked of the terminal.
pub(super) fn terminal_effect(state: &mut State, message: Message) -> Option<Effect> {
    match message {
        Message::ToggleMouse => {
            state.mouse = !state.mouse;
            let message = if state.mouse {
                "mouse on: it selects and scrolls here"
            } else {
                "mouse off: it selects text in the terminal"
            };
            state.status = Some(message.into());
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
    let of_legs = state.mode == Mode::Browse || state.topic == Topic::Leg;
    match message {
        Message::NextLeg => of_legs && state.leg() < state.plan().legs.len(),
        Message::Look => state.focus == Panel::Findings && !state.plan().findings.is_empty(),
        Message::TryFix => state.plan().needs_fixes(),
        Message::Add if state.mode == Mode::Legs => true,
        Message::Add => state.topic.list().is_some() && state.topic != Topic::WhatIfs,
        Message::Delete => edit::can_delete(state),
        Message::Clear => edit::can_clear(state),
        Message::Enter if state.mode == Mode::Sheet => edit::can_begin(state),
        Message::Enter => !state.editor.as_ref().is_some_and(Editor::is_wrong),
        Message::ScrollDown if state.mode == Mode::Form => true,
        Message::ScrollDown if state.mode == Mode::Field => {
            state.editor.as_ref().is_some_and(Editor::chooses)
        }
        Message::ScrollDown => state.mode == Mode::Help && state.help.goes_on(),
        Message::Erase(_) => match state.mode {
            Mode::FindHelp => !state.help.sought.halves().0.is_empty(),
            Mode::Form => {
                let line = state.form.as_ref().and_then(Form::line);
                line.is_some_and(|line| !line.halves().0.is_empty())
            }
            _ => edit::line_typed(state).is_some_and(|line| !line.halves().0.is_empty()),
        },
        Message::ResetSlider => state
            .chosen_slider()
            .is_some_and(|slider| state.board.sliders().at(slider).is_some()),
        Message::SaveWhatIf => state.board.is_turned(),
        Message::NextWhatIf => !state.trip().what_ifs().is_empty(),
        Message::Save => state.history().is_changed(),
        Message::Yes if state.mode == Mode::Ask(Question::Proposal) => {
            let proposed = state.proposed.as_ref();
            proposed.is_some_and(Proposed::changes_something)
        }
        Message::Help => state.mode != Mode::Help,
        Message::Close => match state.mode {
            Mode::Browse => state.finding.is_on || state.is_reading(),
            Mode::Ask(Question::Recover) => false,
            _ => true,
        },
        _ => true,
    }
}
