//! What each intention does while the trip is edited: rows, the field that is typed, undo, saving.

mod form;
mod from_files;
mod fuel_stop;
mod question;
mod reading;
mod table;
mod things;
mod typing;

use super::editor::{Editor, Prompt, Purpose};
use super::find;
use super::line::TypedLine;
use super::message::{Effect, Message};
use super::sheet::{FieldRow, Topic};
use super::state::{Mode, Panel, Question, State};
use super::update::terminal_effect;
use crate::model::Trip;
use crate::model::change::{Change, ChangeError};
use crate::model::field::Kind;
pub(super) use form::of_form;
pub(super) use question::of_question;
pub(super) use table::of_table;
use things::{add, delete, displace, duplicate};
use typing::ask_where_to_split;
pub(super) use typing::{ON_SHELF, line_typed, of_typing, try_what_is_typed};

/// Rows of a page.
const PAGE_ROWS: usize = 8;

/// Whether a message is one of those that can be meant over the strip and over the rows alike.
pub(super) const fn is_of_trip(message: Message) -> bool {
    matches!(
        message,
        Message::Edit
            | Message::Arrive
            | Message::FuelStop
            | Message::FillFromMap
            | Message::Calibrate
            | Message::TakeVehicle
            | Message::TakeRoute
            | Message::KeepVehicle
            | Message::Undo
            | Message::Redo
            | Message::Save
            | Message::SaveAs
            | Message::Quit
    )
}

/// Undo, redo, save, quit.
pub(super) fn of_trip(state: &mut State, message: Message) -> Option<Effect> {
    match message {
        Message::Edit if state.focus == Panel::Legs => state.open_table(true),
        Message::Edit => open(state),
        Message::Arrive => reading::ask(state),
        Message::FuelStop => fuel_stop::ask(state),
        Message::FillFromMap => from_files::ask_for_map(state),
        Message::Calibrate => from_files::ask_for_log(state),
        Message::TakeVehicle => from_files::ask_for_vehicle(state),
        Message::TakeRoute => from_files::ask_for_route(state),
        Message::KeepVehicle => ask_for_vehicle_name(state),
        Message::Undo => turn(state, ["undone", "undo"], |state| state.history.undo()),
        Message::Redo => turn(state, ["redone", "redo"], |state| state.history.redo()),
        Message::Save if state.file.is_some() => {
            return Some(Effect::Save {
                over: false,
                then_quit: false,
            });
        }
        Message::Save | Message::SaveAs => ask_where(state, false),
        Message::Quit if state.history.is_changed() => state.mode = Mode::Ask(Question::Quit),
        Message::Quit => return Some(Effect::Quit),
        _ => {}
    }
    None
}

fn open(state: &mut State) {
    let topic = Topic::of_panel(state.focus);
    if topic != state.topic {
        (state.topic, state.row) = (topic, 0);
    }
    state.open_sheet(true);
}

fn turn(state: &mut State, [did, to]: [&str; 2], what: fn(&mut State) -> Option<String>) {
    match what(state) {
        Some(name) => {
            state.settle();
            state.status = Some(format!("{did}: {name}").into());
        }
        None => state.status = Some(format!("nothing to {to}").into()),
    }
}

fn ask_where(state: &mut State, then_quit: bool) {
    let named = || file_name(state.trip().name.as_deref().unwrap_or("trip"));
    let proposed = state.file.clone().unwrap_or_else(named);
    state.prompt = Some(Prompt::new(Purpose::SaveAs { then_quit }, proposed));
    state.mode = Mode::Prompt;
}

fn ask_for_vehicle_name(state: &mut State) {
    let vehicle = state.trip().vehicle.name.clone().unwrap_or_default();
    state.prompt = Some(Prompt::new(Purpose::KeepVehicle, vehicle));
    state.mode = Mode::Prompt;
}

/// A file name made of the name of a trip: its letters and digits. It is one on every system, since trips travel.
fn file_name(name: &str) -> String {
    let words = name.split(|c: char| !c.is_alphanumeric());
    let words: Vec<String> = words
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
        .collect();
    let name: String = words.join("-").chars().take(60).collect();
    match name.as_str() {
        "" => "trip.json".to_owned(),
        device if is_device(device) => format!("{device}-trip.json"),
        name => format!("{name}.json"),
    }
}

/// Whether a name in small letters is that of a device on Windows, whatever its ending (Microsoft, *Naming files, paths,
/// and namespaces*).
fn is_device(name: &str) -> bool {
    let port = name.strip_prefix("com").or(name.strip_prefix("lpt"));
    let numbered = |port: &str| port.chars().count() == 1 && "0123456789¹²³".contains(port);
    matches!(name, "con" | "prn" | "aux" | "nul") || port.is_some_and(numbered)
}

/// The rows are in front.
pub(super) fn of_sheet(state: &mut State, message: Message) -> Option<Effect> {
    if is_of_trip(message) {
        return of_trip(state, message);
    }
    let last = state.rows().len().saturating_sub(1);
    let of_legs = state.topic == Topic::Leg;
    if let Some(row) = message.scrolled(state.row, PAGE_ROWS, last) {
        state.row = row;
        return None;
    }
    match message {
        Message::Close if state.stop_reading() => {}
        Message::Close => state.open_sheet(false),
        Message::NextPanel => (state.topic, state.row) = (state.topic.moved(1), 0),
        Message::PreviousPanel => {
            (state.topic, state.row) = (state.topic.moved(Topic::ALL.len() - 1), 0);
        }
        Message::PreviousLeg => state.choose(state.leg().saturating_sub(1)),
        Message::NextLeg => state.choose(state.leg() + 1),
        Message::PreviousDay | Message::NextDay => {
            state.choose_day(message == Message::NextDay);
        }
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
            with_leg(state, |trip, leg| Change::shift_days(trip, leg, 1));
        }
        Message::DayEarlier if of_legs => {
            with_leg(state, |trip, leg| Change::shift_days(trip, leg, -1));
        }
        Message::ReverseTrip => with_leg(state, |trip, _| Change::reverse_trip(trip)),
        Message::OutAndBack => with_leg(state, |trip, _| Change::out_and_back(trip)),
        Message::Find => find::ask(state),
        Message::Help => state.open_help(),
        _ => return terminal_effect(state, message),
    }
    None
}

fn chosen_row(state: &State) -> Option<FieldRow> {
    state.rows().into_iter().nth(state.row)
}

/// Whether the chosen row can be taken out with what it is about.
pub(super) fn can_delete(state: &State) -> bool {
    match state.topic {
        Topic::Leg => state.trip().legs.len() > 1,
        topic => topic.list().is_some() && chosen_row(state).is_some(),
    }
}

/// Whether the chosen row states something that need not be stated.
pub(super) fn can_clear(state: &State) -> bool {
    chosen_row(state)
        .is_some_and(|row| !row.field.is_required() && row.stated(state.trip()).is_some())
}

/// Whether the chosen row can be typed or chosen.
pub(super) fn can_begin(state: &State) -> bool {
    chosen_row(state).is_some_and(|row| row.field.kind != Kind::Patch)
}

fn begin(state: &mut State, typed: Option<char>) {
    let Some(row) = chosen_row(state) else {
        state.status = Some("nothing here yet: press i to insert".into());
        return;
    };
    let numbers = matches!(row.field.kind, Kind::Number { .. } | Kind::Whole { .. });
    let typed = typed.filter(|_| numbers);
    if row.field.kind == Kind::Patch {
        state.status = Some("make a what-if with the sliders; here you rename or delete it".into());
        return;
    }
    let mut editor = Editor::new(row, state.trip(), state.units(), typed);
    // The points of a track are not text.
    if editor.row.field.kind == Kind::Track && editor.line.text().ends_with(" points") {
        editor.line = TypedLine::default();
    }
    state.editor = Some(editor);
    state.mode = Mode::Field;
}

/// Forgets the letters that were typed at a choice.
pub(super) fn choose_anew(state: &mut State) {
    if let Some(editor) = &mut state.editor {
        editor.choose_anew();
    }
    if let Some(form) = &mut state.form {
        form.choose_anew();
    }
}

/// Makes a change; what is wrong with it becomes the notice.
fn made(state: &mut State, change: Result<Change, ChangeError>) -> bool {
    let made = change.and_then(|change| state.make(&change));
    if let Err(error) = &made {
        state.status = Some(error.to_string().into());
    }
    made.is_ok()
}

fn with_leg(state: &mut State, change: impl Fn(&Trip, usize) -> Result<Change, ChangeError>) {
    let change = change(state.trip(), state.leg() - 1);
    made(state, change);
}

fn clear(state: &mut State) {
    if let Some(row) = chosen_row(state) {
        let change = Change::set(state.trip(), &row.at, None);
        made(state, Ok(change));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_name_of_a_trip_makes_a_name_of_a_file() {
        for (trip, file) in [
            (
                "Out to the cairn (invented)",
                "out-to-the-cairn-invented.json",
            ),
            ("…", "trip.json"),
            ("Con", "con-trip.json"),
            ("LPT¹", "lpt¹-trip.json"),
            ("com 1", "com-1.json"),
            ("com10", "com10.json"),
            ("Comb", "comb.json"),
            ("nul & void", "nul-void.json"),
        ] {
            assert_eq!(file_name(trip), file);
        }
    }
}
