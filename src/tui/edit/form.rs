//! A form is in front: its keys, and what comes of it.

use super::super::form::{Filled, Purpose};
use super::super::message::{Effect, Message};
use super::super::state::State;
use super::super::update::terminal_effect;
use super::{from_files, fuel_stop, of_trip, reading};

/// A form is filled in.
pub(in crate::tui) fn of_form(state: &mut State, message: Message) -> Option<Effect> {
    let Some(mut form) = state.form.take() else {
        state.mode = state.resting();
        return None;
    };
    let before = form.clone();
    match form.update(message) {
        Filled::Closed => state.mode = state.resting(),
        Filled::Done => {
            let done = match form.purpose {
                Purpose::Reading => reading::entered(state, &mut form),
                Purpose::FuelStop(place) => fuel_stop::set(state, &mut form, place),
                _ => {
                    if let Some(from) = from_files::named(&mut form) {
                        state.mode = state.resting();
                        state.propose(from);
                    } else {
                        state.form = Some(form);
                    }
                    return None;
                }
            };
            if let Some(status) = done {
                state.mode = state.resting();
                state.status = Some(status.into());
            } else {
                state.form = Some(form);
            }
        }
        Filled::Changed => {
            state.form = Some(match form.purpose {
                Purpose::Reading => reading::followed(state, form, &before),
                _ => form,
            });
        }
        Filled::NotMine if message == Message::Quit => {
            state.mode = state.resting();
            return of_trip(state, message);
        }
        Filled::NotMine => {
            state.form = Some(form);
            if message == Message::Help {
                state.open_help();
            } else {
                return terminal_effect(state, message);
            }
        }
    }
    None
}
