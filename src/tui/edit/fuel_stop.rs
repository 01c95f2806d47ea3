//! The fuel stop of a place, in one form that shows what the plan makes of it.

use serde_json::{Map, Value};

use super::super::editor::Refused;
use super::super::form::{Form, FormField, Objection, Purpose};
use super::super::line::TypedLine;
use super::super::state::{Mode, State};
use crate::model::Trip;
use crate::model::change::{Change, stated};
use crate::model::field;
use crate::model::route::RELY;
use crate::model::vocabulary::{Rely, UnconfirmedStops};
use crate::present::entry::Entry;
use crate::present::name::plain;
use crate::present::number::odds;
use crate::quantity::Share;

const IS_STOP: &str = "fuel";
const RELIANCE: &str = "rely";
/// The numbers and the text of the form: key, label, and what an empty one means.
const TYPED: [(&str, &str, &str); 5] = [
    ("chance", "chance of fuel", "empty: 100, it is confirmed"),
    ("litres", "stock", "empty: as much as is wanted"),
    ("price_per_l", "price", "empty: unknown"),
    ("detour_km", "detour", "there and back; empty: none"),
    ("note", "note", "opening hours, telephone, who said so"),
];

/// Opens the form of the place where the chosen leg ends; on the page of the start, of the start.
pub(super) fn ask(state: &mut State) {
    use super::super::sheet::Topic;
    let is_start = state.mode == Mode::Sheet && state.topic == Topic::Start;
    let place = if is_start { 0 } else { state.leg() };
    let units = state.units();
    let fuel = stated(state.trip(), &pointer(place));
    let value = |key: &str| fuel.as_ref().and_then(|fuel| fuel.get(key));
    let words = |words: &[&str]| words.iter().map(|&word| word.to_owned()).collect();
    let rely = value(RELIANCE)
        .and_then(Value::as_str)
        .unwrap_or(RELY.word());
    let at = Rely::WORDS.iter().position(|&word| word == rely);
    let mut fields = vec![
        FormField::no_or_yes(IS_STOP, "fuel stop here", true)
            .with_hint("no: takes the fuel stop away"),
    ];
    for (key, label, hint) in TYPED {
        if let Some(field) = field::at_pointer(&format!("/legs/0/fuel/{key}")) {
            let entry = Entry::new(field, units);
            let mut typed = FormField::typed(key, label, entry).with_hint(hint);
            typed.line = TypedLine::new(entry.shown(value(key)));
            fields.push(typed);
        }
    }
    let target = odds(state.trip().rules().success_target());
    let reliance = FormField::chosen(
        RELIANCE,
        "reliance",
        words(Rely::WORDS),
        at.unwrap_or_default(),
    )
    .with_hint(format!(
        "auto: relied on only if more certain than the target, {target}"
    ));
    fields.insert(2, reliance);
    let name = plain(state.trip().place(place).name).into_owned();
    let mut form = Form::new(
        Purpose::FuelStop(place),
        format!("fuel stop at {name}"),
        fields,
    );
    form.at = 1;
    state.form = Some(form);
    state.mode = Mode::Form;
}

/// Where the fuel stop of a place is in the trip.
fn pointer(place: usize) -> String {
    place.checked_sub(1).map_or_else(
        || "/start/fuel".to_owned(),
        |leg| format!("/legs/{leg}/fuel"),
    )
}

/// Sets the fuel stop if all of it is right, and shows what the plan makes of it.
pub(super) fn set(state: &mut State, form: &mut Form, place: usize) -> Option<String> {
    let to = match fuel(form) {
        Ok(fuel) => fuel,
        Err((key, refused)) => {
            form.object(key, Objection::Wrong(refused.to_string()));
            return None;
        }
    };
    let is_stop = to.is_some();
    let change = Change::set(state.trip(), &pointer(place), to);
    if let Err(error) = state.make(&change) {
        form.objection = Some(Objection::Wrong(error.to_string()));
        return None;
    }
    let name = plain(state.trip().place(place).name).into_owned();
    Some(if is_stop {
        format!("{name}: {}; u undoes it", reliance(state.trip(), place))
    } else {
        format!("{name} is no fuel stop; u undoes it")
    })
}

/// What the plan makes of the fuel stop of a place, by its chance, its reliance and the rules.
fn reliance(trip: &Trip, place: usize) -> String {
    let Some(fuel) = trip.place(place).fuel else {
        return "no fuel stop".to_owned();
    };
    let (chance, target) = (fuel.chance(), trip.rules().success_target());
    let may_return = trip.rules().unconfirmed_stops() == UnconfirmedStops::TurnBack;
    let [says_chance, says_target] = [chance, target].map(odds);
    match fuel.rely() {
        _ if !fuel.may_have_fuel() => "not relied on, since it has no fuel".to_owned(),
        Rely::Always => "relied on, as set".to_owned(),
        Rely::Never => "not relied on, as set".to_owned(),
        Rely::Auto if chance >= Share::new(1.0) => "confirmed, relied on".to_owned(),
        Rely::Auto if chance > target => {
            format!(
                "{says_chance}: relied on, unless the findings say that too few trips would succeed"
            )
        }
        Rely::Auto if may_return => {
            format!("{says_chance}: relied on where a return from it is possible")
        }
        Rely::Auto => format!(
            "{says_chance}: not relied on at a target of {says_target}; set always to rely on it"
        ),
    }
}

/// The fuel stop that was typed; `None` for a place without one.
///
/// # Errors
/// The key of the field that is wrong, and what would be right.
fn fuel(form: &Form) -> Result<Option<Value>, (&'static str, Refused)> {
    if !form.is_yes(IS_STOP) {
        return Ok(None);
    }
    let mut fuel = Map::new();
    for (key, ..) in TYPED {
        let entry = form.fields.iter().find(|field| field.key == key);
        let Some(entry) = entry.and_then(|field| field.entry) else {
            continue;
        };
        let parsed = entry.parse(form.text(key));
        if let Some(value) = parsed.map_err(|message| (key, Refused::Value(message)))? {
            fuel.insert(key.to_owned(), value);
        }
    }
    let rely = form.text(RELIANCE);
    if rely != RELY.word() {
        fuel.insert(RELIANCE.to_owned(), rely.into());
    }
    Ok(Some(fuel.into()))
}
