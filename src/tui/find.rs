//! Going to what is named: a place by a part of its name, the leg or place of a finding.

use super::editor::{Prompt, Purpose};
use super::sheet::FieldRow;
use super::state::{Basis, Mode, Panel, State};
use crate::plan::Where;
use crate::quantity::Kilometres;

/// The places that are looked for.
#[derive(Clone, Debug, Default)]
pub(super) struct Finding {
    /// What was last asked for as a part of a name.
    sought: String,
    /// Whether the keys for marks go to the places that have it.
    pub(super) is_on: bool,
}

/// Asks for a part of a name; what was asked for last is proposed, so that Enter goes to the next one.
pub(super) fn ask(state: &mut State) {
    let proposed = state.finding.sought.clone();
    let purpose = if state.mode == Mode::Sheet {
        Purpose::FindField
    } else {
        Purpose::Find
    };
    state.prompt = Some(Prompt::new(purpose, proposed));
    state.mode = Mode::Prompt;
}

/// Goes to the next place whose name has the text in it; from then on the keys for marks go to such places.
pub(super) fn go(state: &mut State, text: &str) {
    if text.is_empty() {
        state.problem_of_prompt("enter part of a name".to_owned());
        return;
    }
    if named_like(state, text).is_empty() {
        state.problem_of_prompt(format!("no place matches `{text}`"));
        return;
    }
    text.clone_into(&mut state.finding.sought);
    state.finding.is_on = true;
    state.prompt = None;
    state.mode = state.resting();
    go_on(state, true);
}

/// Chooses the next field whose name, or the name of what it belongs to, has the text in it.
pub(super) fn go_to_field(state: &mut State, text: &str) {
    let wanted = text.to_lowercase();
    let rows = state.rows();
    let is_like = |row: &FieldRow| {
        let heading = row.heading.as_deref().unwrap_or_default();
        format!("{heading} {}", row.label)
            .to_lowercase()
            .contains(&wanted)
    };
    let next = (1..=rows.len())
        .map(|step| (state.row + step) % rows.len().max(1))
        .find(|&at| !text.is_empty() && is_like(&rows[at]));
    match next {
        Some(row) => {
            text.clone_into(&mut state.finding.sought);
            state.row = row;
            state.prompt = None;
            state.mode = state.resting();
        }
        None => state.problem_of_prompt(format!("no field here matches `{text}`")),
    }
}

/// Goes to the next of the places that were found, or to the one before, round and round.
pub(super) fn go_on(state: &mut State, on: bool) {
    let places = named_like(state, &state.finding.sought);
    let here = state.at();
    let next = if on {
        places.iter().position(|&(_, at)| at > here).unwrap_or(0)
    } else {
        let before = places.iter().rposition(|&(_, at)| at < here);
        before.unwrap_or(places.len().saturating_sub(1))
    };
    let Some(&(place_number, _)) = places.get(next) else {
        state.finding.is_on = false;
        state.status = Some(format!("no place matches `{}` any more", state.finding.sought).into());
        return;
    };
    state.go_to_place(place_number);
    let name = crate::present::name::plain(state.strip().place(place_number).name).into_owned();
    let (number, count) = (next + 1, places.len());
    state.status = Some(
        format!("{name}: match {number} of {count}; n next, N previous, Esc ends the search")
            .into(),
    );
}

/// Number and kilometre of each place whose name has the text in it, in whatever case.
fn named_like(state: &State, text: &str) -> Vec<(usize, Kilometres)> {
    let wanted = text.to_lowercase();
    (0..=state.plan().legs.len())
        .map(|place_number| state.strip().place(place_number))
        .filter(|place| place.name.to_lowercase().contains(&wanted))
        .map(|place| (place.place_number, place.at))
        .collect()
}

/// Goes to where the chosen finding is; with another panel in front, shows the chosen leg alone.
pub(super) fn look(state: &mut State) {
    match state.focus {
        Panel::Findings => {}
        Panel::Legs => return state.open_table(true),
        _ => return state.zoom_to_leg(),
    }
    let chosen = state.scroll_of(Panel::Findings);
    if state.basis() == Basis::Calculating {
        state.status = Some("the findings are still being calculated".into());
        return;
    }
    match state
        .judged_or_shown()
        .plan()
        .findings
        .get(chosen)
        .map(|finding| finding.at)
    {
        Some(Where::Leg(leg)) => state.choose(leg),
        Some(Where::Place(place_number)) => state.go_to_place(place_number),
        Some(_) => state.status = Some("this finding is not tied to a place".into()),
        None => state.status = Some("no findings".into()),
    }
}
