//! Fuel readings under way: a form that is filled in at a place, and readings that are moved to another place.

use super::super::editor::{Editor, Refused};
use super::super::form::{Form, FormField, Objection, Purpose};
use super::super::state::{Mode, Panel, State};
use crate::model::Trip;
use crate::model::change::{Change, ChangeError};
use crate::model::field;
use crate::model::log::{MEASURED, Reading};
use crate::model::vocabulary::Measured;
use crate::plan::Plan;
use crate::present::entry::Entry;
use crate::present::name::plain;
use crate::present::number::{Toward, Units};
use crate::present::under_way;
use crate::quantity::{Kilometres, Litres};

const PLACE: &str = "place_number";
const NAME: &str = "place";
const TO_NEXT: &str = "to_next_km";
const ODOMETER: &str = "odometer_km";
const TANK: &str = "tank_left_l";
const CANS: &str = "cans_left_l";
const HOW: &str = "how";
const FILLED: &str = "filled_l";
const DRY: &str = "dry";

/// The word for a place that is not in the trip.
const ELSEWHERE: &str = "elsewhere, between two places";

/// Opens the form of the reading that comes next: the departure where none was entered, else the arrival at the next place;
/// at the finish the last reading is corrected.
pub(super) fn ask(state: &mut State) {
    let trip = state.trip();
    let departed = |first: &Reading| first.place_number == 0 && first.to_next_km.is_none();
    let next = match (trip.log().first(), trip.log().last()) {
        (Some(first), Some(last)) if departed(first) => last.place_number as usize + 1,
        _ => 0,
    };
    state.form = Some(form(state, next.min(trip.legs.len()), None));
    state.mode = Mode::Form;
}

/// The form as it is once another word was chosen: another place has other plans.
pub(super) fn followed(state: &State, form: Form, before: &Form) -> Form {
    let place = chosen_place(&form);
    if place == chosen_place(before) {
        form
    } else {
        self::form(state, place, Some(&form))
    }
}

fn chosen_place(form: &Form) -> usize {
    let field = form.fields.iter().find(|field| field.key == PLACE);
    field.and_then(FormField::word).unwrap_or_default()
}

/// The form for a place, with what was typed for another one, or with the reading that was entered there.
fn form(state: &State, place_number: usize, typed: Option<&Form>) -> Form {
    let (trip, units) = (state.trip(), state.units());
    let plan = &state.settled_picture().plan;
    let there = trip.log().iter().find(|reading| {
        reading.place_number as usize == place_number && reading.to_next_km.is_none()
    });
    let is_elsewhere = place_number > trip.legs.len();
    let planned = (!is_elsewhere).then(|| planned(plan, trip, place_number));
    let number = |key: &'static str, label, hint: String| {
        let field = field::at_pointer(&format!("/log/0/{key}"))?;
        let mut typed = FormField::typed(key, label, Entry::new(field, units));
        if let (Some(entry), Some(there)) = (typed.entry, there) {
            let stated = serde_json::to_value(there).unwrap_or_default();
            typed.line = super::TypedLine::new(entry.shown(stated.get(key)));
        }
        Some(typed.with_hint(hint))
    };
    let as_planned =
        |text: Option<String>| text.map_or_else(String::new, |text| format!("planned {text}"));
    let planned = planned.as_ref();
    let odometer = planned.and_then(|planned| planned.odometer);
    let odometer = odometer.map(|km| units.distance(km, Toward::Nearest).to_string());
    let litres = |litres: Option<Litres>| {
        as_planned(litres.map(|litres| units.fuel_tenths(litres, Toward::Nearest).to_string()))
    };
    let last_cans = trip.log().last().map_or(Litres::ZERO, Reading::cans_left);
    let planned_cans = planned.map(|planned| planned.cans);
    let has_cans = planned_cans.unwrap_or_default().max(last_cans) > Litres::ZERO;
    let is_stop = !is_elsewhere && trip.place(place_number).fuel.is_some();
    let how = there.map_or(MEASURED, Reading::how).word();
    let is_dry = there.is_some_and(Reading::found_dry);
    let words = |words: &[&str]| words.iter().map(|&word| word.to_owned()).collect();
    let fields = [
        Some(FormField::chosen(
            PLACE,
            "place",
            names(plan, trip, units),
            place_number,
        )),
        is_elsewhere
            .then(|| number(NAME, "called", "may be left empty".to_owned()))
            .flatten(),
        is_elsewhere
            .then(|| number(TO_NEXT, "to next place", String::new()))
            .flatten(),
        number(ODOMETER, "odometer", as_planned(odometer)),
        number(
            TANK,
            "in the tank",
            litres(planned.map(|planned| planned.tank)),
        ),
        has_cans
            .then(|| number(CANS, "in cans", litres(planned_cans)))
            .flatten(),
        Some(FormField::chosen(
            HOW,
            "measured by",
            words(Measured::WORDS),
            Measured::WORDS
                .iter()
                .position(|&word| word == how)
                .unwrap_or_default(),
        )),
        number(FILLED, "filled here", "empty: nothing".to_owned()),
        is_stop.then(|| {
            FormField::no_or_yes(DRY, "no fuel here", is_dry)
                .with_hint("yes: the fuel stop had none")
        }),
    ];
    let mut fields: Vec<FormField> = fields.into_iter().flatten().collect();
    // What the user typed for another place stays; the place with the letters that chose it.
    let typed_before = typed.iter().flat_map(|form| &form.fields);
    for before in typed_before.filter(|field| field.is_typed) {
        let same = fields.iter_mut().find(|field| field.key == before.key);
        if let Some(field) = same {
            let hint = std::mem::take(&mut field.hint);
            *field = before.clone().with_hint(hint);
        }
    }
    let title = match (there, place_number) {
        (Some(_), _) => "correct the fuel reading",
        (None, 0) => "fuel reading at the start: enter it before the others",
        (None, _) => "fuel reading",
    };
    let mut form = Form::new(Purpose::Reading, title, fields);
    if typed.is_some() {
        form.at = 0;
    }
    form
}

/// The places by name, with their kilometre where the route passes one again.
fn names(plan: &Plan, trip: &Trip, units: Units) -> Vec<String> {
    let all: Vec<&str> = trip.places().map(|place| place.name).collect();
    let at = |number: usize| {
        let leg = number.checked_sub(1).and_then(|leg| plan.legs.get(leg));
        leg.map_or(Kilometres::ZERO, |leg| leg.from_km + leg.distance)
    };
    all.iter()
        .enumerate()
        .map(|(number, name)| {
            let is_again = all.iter().filter(|other| *other == name).count() > 1;
            if is_again {
                format!("{}, {}", plain(name), units.at(at(number), Toward::Nearest))
            } else {
                plain(name).into_owned()
            }
        })
        .chain([ELSEWHERE.to_owned()])
        .collect()
}

/// What the plan has at a place.
struct Planned {
    odometer: Option<Kilometres>,
    tank: Litres,
    cans: Litres,
}

fn planned(plan: &Plan, trip: &Trip, place_number: usize) -> Planned {
    let arriving = place_number
        .checked_sub(1)
        .and_then(|leg| plan.legs.get(leg));
    let at = arriving.map_or(Kilometres::ZERO, |leg| leg.from_km + leg.distance);
    let [tank, cans] = arriving.map_or_else(
        || {
            let set_out = plan.as_planned().map_or(plan, AsRef::as_ref);
            let leaving = set_out.on_board_at(at);
            [leaving.tank + trip.vehicle.unusable(), leaving.cans]
        },
        |leg| [leg.end_tank_gauge, leg.end_cans],
    );
    Planned {
        odometer: plan.odometer_at(at),
        tank: tank.max(Litres::ZERO).min(trip.vehicle.tank_l),
        cans: cans.max(Litres::ZERO),
    }
}

/// Enters the reading if it is right and shows that; else the form shows what is wrong, or asks about an odd odometer.
pub(super) fn entered(state: &mut State, form: &mut Form) -> Option<String> {
    let reading = match reading(form, state.trip()) {
        Ok(reading) => reading,
        Err((key, refused)) => {
            form.object(key, Objection::Wrong(refused.to_string()));
            return None;
        }
    };
    let units = state.units();
    if let Some(odd) = state.settled_picture().plan.odd_odometer(&reading, false)
        && (odd.is_impossible() || !form.is_unlikely())
    {
        let message = under_way::odd_odometer(&odd, units);
        let objection = if odd.is_impossible() {
            Objection::Wrong(message)
        } else {
            Objection::Unlikely(format!("{message}; Enter again accepts it"))
        };
        form.object(ODOMETER, objection);
        return None;
    }
    let change = Change::read_off(state.trip(), &reading, false);
    match state.make(&change) {
        Ok(()) => {
            state.focus = Panel::Log;
            Some(format!("{}; u undoes it", change.name))
        }
        Err(error) => {
            form.objection = Some(Objection::Wrong(error.to_string()));
            None
        }
    }
}

/// What was typed, as a reading.
///
/// # Errors
/// The key of the field that is wrong, and what would be right.
fn reading(form: &Form, trip: &Trip) -> Result<Reading, (&'static str, Refused)> {
    let number = |key: &'static str| {
        let field = form.fields.iter().find(|field| field.key == key);
        let Some(entry) = field.and_then(|field| field.entry) else {
            return Ok(None);
        };
        let parsed = entry.parse(form.text(key));
        let parsed = parsed.map_err(|message| (key, Refused::Value(message)))?;
        Ok(parsed.and_then(|value| value.as_f64()))
    };
    let needed = |key: &'static str, what: &str| {
        number(key)?.ok_or_else(|| (key, Refused::Value(format!("enter {what}"))))
    };
    let has = |key: &str| form.fields.iter().any(|field| field.key == key);
    let passed = trip.log().last().map_or(0, |last| last.place_number);
    let to_next_km = if has(TO_NEXT) {
        let km = needed(TO_NEXT, "the distance to the next place")?;
        Some(Kilometres::new(km))
    } else {
        None
    };
    Ok(Reading {
        place_number: if has(TO_NEXT) {
            passed
        } else {
            u32::try_from(chosen_place(form)).unwrap_or(u32::MAX)
        },
        odometer_km: Kilometres::new(needed(ODOMETER, "the odometer reading")?),
        tank_left_l: Litres::new(needed(TANK, "the fuel in the tank before filling")?),
        cans_left_l: if has(CANS) {
            let litres = needed(CANS, "the fuel in cans before filling, 0 for none")?;
            Some(Litres::new(litres))
        } else {
            None
        },
        how: Measured::ALL
            .iter()
            .copied()
            .find(|how| how.word() == form.text(HOW)),
        filled_l: number(FILLED)?.map(Litres::new),
        dry: (form.is_yes(DRY)).then_some(true),
        to_next_km,
        place: Some(form.text(NAME))
            .filter(|name| !name.is_empty())
            .map(str::to_owned),
    })
}

/// The change that moves a reading of the log to another place of the trip, where that is what is typed.
pub(super) fn moved(trip: &Trip, editor: &Editor) -> Option<Result<Change, ChangeError>> {
    let at = editor.row.item("/log")?;
    let is_place = editor.row.field.key() == PLACE && editor.is_changed();
    let place_number = editor.parsed().ok()??.as_u64()?;
    let place_number = u32::try_from(place_number).ok()?;
    let stated = trip.log().get(at)?;
    (is_place && place_number as usize <= trip.legs.len()).then(|| {
        let reading = Reading {
            place_number,
            ..stated.clone()
        };
        Change::read_off_instead(trip, at, &reading)
    })
}
