//! A value or an answer is typed, tried, taken or given up.

use serde_json::json;

use super::super::editor::{Editor, Prompt, Purpose, Refused};
use super::super::line::TypedLine;
use super::super::message::{Effect, Message};
use super::super::sheet::FieldRow;
use super::super::state::{Mode, State};
use super::super::update::terminal_effect;
use super::super::{find, sliders};
use super::of_trip;
use super::reading;
use super::table;
use crate::model::change::Change;
use crate::model::field;
use crate::present::entry::Entry;
use crate::quantity::Kilometres;

/// The kilometre of a leg, as it is typed.
fn kilometres(state: &State) -> Option<Entry> {
    let field = field::field("/legs/*/distance_km")?;
    Some(Entry::new(field, state.units()))
}

pub(super) fn ask_where_to_split(state: &mut State) {
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
pub(in crate::tui) fn of_typing(state: &mut State, message: Message) -> Option<Effect> {
    if matches!(message, Message::Quit) {
        give_up(state);
        return of_trip(state, message);
    }
    match message {
        Message::Close => give_up(state),
        Message::Help => state.open_help(),
        Message::Enter if state.mode == Mode::Prompt => return answered(state),
        Message::Enter => take(state),
        Message::ScrollUp | Message::ScrollDown => {
            if let Some(editor) = &mut state.editor {
                editor.choose(message == Message::ScrollDown);
            }
        }
        Message::Type(c) => match &mut state.editor {
            Some(editor) if state.prompt.is_none() && editor.chooses() => {
                editor.choose_by(c);
            }
            Some(editor) if state.prompt.is_none() => editor.put(c),
            _ => with_line(state, |line| line.put(c)),
        },
        Message::Go(to) => with_line(state, |line| line.go(to)),
        Message::Erase(to) => {
            if line_typed(state).is_some() {
                with_line(state, |line| line.erase(to));
            } else if let Some(editor) = &mut state.editor {
                editor.choose_anew();
            }
        }
        _ => return terminal_effect(state, message),
    }
    None
}

/// The line of text that is typed; `None` if a word is chosen.
pub(in crate::tui) fn line_typed(state: &State) -> Option<&TypedLine> {
    match (&state.prompt, &state.editor) {
        (Some(prompt), _) => Some(&prompt.line),
        (None, Some(editor)) if !editor.chooses() => Some(&editor.line),
        _ => None,
    }
}

fn with_line(state: &mut State, act: impl Fn(&mut TypedLine)) {
    if let Some(prompt) = &mut state.prompt {
        act(&mut prompt.line);
        prompt.problem = None;
    } else if let Some(editor) = &mut state.editor {
        editor.with_line(act);
    }
}

fn give_up(state: &mut State) {
    let purpose = state.prompt.as_ref().map(|prompt| prompt.purpose);
    if purpose == Some(Purpose::SaveWhatIf) {
        state.prompt = None;
        state.mode = Mode::Sliders;
        return;
    }
    state.give_up_trial();
    (state.editor, state.prompt) = (None, None);
    state.mode = state.resting();
}

/// What the typed field does; nothing while it is as it was.
///
/// # Errors
/// What is wrong with the text.
fn typed_change(state: &State, editor: &Editor) -> Result<Option<Change>, Refused> {
    if state.is_table_open() {
        return table::change(state, editor);
    }
    match reading::moved(state.history.trip(), editor) {
        Some(moved) => Ok(Some(moved?)),
        None => editor.change(state.history.trip()),
    }
}

/// Takes what was typed, if it is right.
fn take(state: &mut State) {
    let Some(editor) = &state.editor else {
        return;
    };
    let taken = match typed_change(state, editor) {
        Ok(None) => {
            give_up(state);
            // Enter on an unchanged value goes on as well.
            go_on(state);
            return;
        }
        Ok(Some(change)) => {
            state.give_up_trial();
            state.make(&change).map_err(Refused::from)
        }
        Err(refused) => Err(refused),
    };
    match taken {
        Ok(()) => {
            state.editor = None;
            state.mode = state.resting();
            go_on(state);
        }
        Err(refused) => {
            if let Some(editor) = &mut state.editor {
                editor.problem = Some(refused.to_string());
            }
        }
    }
}

/// Chooses the cell or the row after one that was accepted.
fn go_on(state: &mut State) {
    if state.is_table_open() {
        table::go_on(state);
    } else {
        state.row = next_row(state);
    }
}

/// What most people fill in of an item: Enter leads from one of these to the next, and past what is left empty.
const ASKED: [(&str, &[&str]); 3] = [
    ("/load/people", &["name", "mass_kg"]),
    ("/load/gear", &["name", "mass_kg", "place"]),
    ("/load/cans", &["size_l", "owned", "places"]),
];

/// The row that one goes on to: the next one, but from the name of a place to the length of the leg, since few know
/// coordinates by heart; of an item what most people fill in.
fn next_row(state: &State) -> usize {
    let rows = state.rows();
    let of_list = |list: &str| rows.get(state.row).and_then(|row| row.item(list));
    let asked = ASKED
        .iter()
        .find_map(|&(list, keys)| Some((list, of_list(list)?, keys)));
    if let Some((list, item, keys)) = asked {
        let is_asked =
            |row: &FieldRow| row.item(list) == Some(item) && keys.contains(&row.field.key());
        let next = rows.iter().skip(state.row + 1).position(is_asked);
        return next.map_or(state.row, |next| state.row + 1 + next);
    }
    let is_length =
        |row: &FieldRow| row.item("/legs").is_some() && row.field.key() == "distance_km";
    let names = |row: &FieldRow| row.item("/legs").is_some() && row.field.key() == "to";
    let length = rows.iter().position(is_length);
    match rows.get(state.row) {
        Some(row) if names(row) => length.unwrap_or(state.row),
        _ => (state.row + 1).min(rows.len().saturating_sub(1)),
    }
}

/// Shows what follows from what is being typed. Called once before a frame and not once for each key.
pub(in crate::tui) fn try_what_is_typed(state: &mut State) {
    let Some(editor) = &state.editor else {
        return;
    };
    let text = editor.line.text().to_owned();
    if editor.tried.as_ref() == Some(&text) {
        return;
    }
    let change = typed_change(state, editor);
    state.give_up_trial();
    let tried = change.and_then(|change| match change {
        Some(change) => Ok(state.try_out(&change)?),
        None => Ok(()),
    });
    if let Some(editor) = &mut state.editor {
        editor.tried = Some(text);
        editor.problem = tried.err().map(|refused| refused.to_string());
    }
}

fn answered(state: &mut State) -> Option<Effect> {
    let prompt = state.prompt.as_ref()?;
    let text = prompt.line.text().trim().to_owned();
    match prompt.purpose {
        Purpose::SaveAs { then_quit } => {
            if text.is_empty() {
                state.problem_of_prompt("enter a file name".to_owned());
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
        Purpose::KeepVehicle => {
            if text.is_empty() {
                state.problem_of_prompt("enter a name".to_owned());
                return None;
            }
            let over = prompt.problem.as_deref() == Some(ON_SHELF);
            state.save_to = Some(super::file_name(&text));
            Some(Effect::KeepVehicle { over })
        }
        Purpose::SaveWhatIf => {
            let kept = sliders::keep_as(state, &text);
            close_prompt(state, kept, Mode::Sliders);
            None
        }
        Purpose::Find => {
            find::go(state, &text);
            None
        }
        Purpose::FindField => {
            find::go_to_field(state, &text);
            None
        }
        Purpose::SplitAt { .. } => {
            let entry = kilometres(state)?;
            let parsed = entry.parse(&text).map_err(Refused::Value);
            let leg = state.leg() - 1;
            let place = format!(
                "{}, {text} {} before",
                state.trip().legs[leg].to,
                entry.unit()
            );
            let made = parsed.and_then(|value| {
                let km = value.and_then(|value| value.as_f64()).unwrap_or(0.0);
                let change = Change::split_leg(state.trip(), leg, Kilometres::new(km), &place)?;
                Ok(state.make(&change)?)
            });
            close_prompt(state, made, Mode::Sheet);
            None
        }
    }
}

/// Objection to the name of a vehicle that is on the shelf already.
pub(in crate::tui) const ON_SHELF: &str =
    "a vehicle of that name is on the shelf; Enter replaces it";

/// Goes back to a layer if the answer was taken; else shows what is wrong with it.
fn close_prompt(state: &mut State, taken: Result<(), Refused>, to: Mode) {
    match taken {
        Ok(()) => {
            state.prompt = None;
            state.mode = to;
        }
        Err(refused) => state.problem_of_prompt(refused.to_string()),
    }
}
