//! A question is answered with yes or no.

use super::super::message::{Effect, Message};
use super::super::state::{Question, State};
use super::super::update::terminal_effect;
use super::{ask_where, of_trip};

/// A question for yes or no is in front.
pub(in crate::tui) fn of_question(
    state: &mut State,
    question: Question,
    message: Message,
) -> Option<Effect> {
    let rest = state.resting();
    if question == Question::Proposal && message == Message::Quit {
        state.of_proposal(Message::No);
        return of_trip(state, message);
    }
    if question == Question::Proposal && state.of_proposal(message) {
        return None;
    }
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
        // Only "n" discards: who presses Ctrl-C twice is offered the edits at the next start.
        (_, Message::Quit) => Some(Effect::Leave),
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
            state.status = Some("y restores the edits, n discards them".into());
            None
        }
        (_, Message::Help) => {
            state.open_help();
            None
        }
        (_, Message::No | Message::Close) => {
            state.mode = rest;
            state.save_to = None;
            None
        }
        _ => terminal_effect(state, message),
    }
}
