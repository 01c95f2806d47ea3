//! Random edits: what a user may ask for, as changes of a trip.

use drystage::model::Trip;
use drystage::model::change::{Change, ChangeError, NewRoute, guarded};
use drystage::model::route::Leg;
use drystage::plan::Plan;
use drystage::quantity::Kilometres;
use proptest::prelude::*;
use proptest::sample::Index;
use serde_json::{Value, json};

/// What a user may ask for, with numbers that are brought into the trip's range.
#[derive(Clone, Debug)]
pub enum Wish {
    Set(Index, Value),
    Clear(Index),
    InsertLeg(Index),
    DuplicateLeg(Index),
    DeleteLegs(Index, usize),
    MoveLegs(Index, usize, Index),
    SetDay(Index, u32),
    ShiftDays(Index, i32),
    Split(Index, f64),
    Join(Index),
    ReverseLeg(Index),
    ReverseTrip,
    OutAndBack,
    ReplaceRoute(Index, Index),
    InsertItem,
    RemoveItem(Index),
    MoveItem(Index, Index),
    KeepWhatIf(Index),
    ForgetWhatIf(Index),
}

/// Any of them.
pub fn wishes() -> impl Strategy<Value = Wish> {
    let at = any::<Index>;
    prop_oneof![
        4 => (at(), values()).prop_map(|(field, value)| Wish::Set(field, value)),
        2 => at().prop_map(Wish::Clear),
        1 => at().prop_map(Wish::InsertLeg),
        1 => at().prop_map(Wish::DuplicateLeg),
        1 => (at(), 1_usize..3).prop_map(|(at, count)| Wish::DeleteLegs(at, count)),
        2 => (at(), 1_usize..3, at()).prop_map(|(from, count, to)| Wish::MoveLegs(from, count, to)),
        1 => (at(), 1_u32..400).prop_map(|(at, day)| Wish::SetDay(at, day)),
        1 => (at(), -2..3).prop_map(|(at, by)| Wish::ShiftDays(at, by)),
        2 => (at(), 0.0..1.0).prop_map(|(at, share)| Wish::Split(at, share)),
        2 => at().prop_map(Wish::Join),
        1 => at().prop_map(Wish::ReverseLeg),
        1 => Just(Wish::ReverseTrip),
        1 => Just(Wish::OutAndBack),
        1 => (at(), at()).prop_map(|(first, second)| Wish::ReplaceRoute(first, second)),
        1 => Just(Wish::InsertItem),
        1 => at().prop_map(Wish::RemoveItem),
        1 => (at(), at()).prop_map(|(from, to)| Wish::MoveItem(from, to)),
        1 => at().prop_map(Wish::KeepWhatIf),
        1 => at().prop_map(Wish::ForgetWhatIf),
    ]
}

fn values() -> impl Strategy<Value = Value> {
    prop_oneof![
        (0.0..100.0).prop_map(Value::from),
        (0_u64..5).prop_map(Value::from),
        any::<bool>().prop_map(Value::from),
        "[a-z]{1,6}".prop_map(Value::from),
        prop::sample::select(&["gravel", "mud", "rear", "roof", "brim"][..]).prop_map(Value::from),
        Just(json!({})),
    ]
}

/// Pointers to every value that a document states, and to some that it does not.
fn pointers(value: &Value, at: &str, into: &mut Vec<String>) {
    match value {
        Value::Object(object) => {
            for (key, value) in object {
                let at = format!("{at}/{}", key.replace('~', "~0").replace('/', "~1"));
                into.push(at.clone());
                pointers(value, &at, into);
            }
        }
        Value::Array(list) => {
            for (number, value) in list.iter().enumerate() {
                let at = format!("{at}/{number}");
                into.push(at.clone());
                pointers(value, &at, into);
            }
        }
        _ => {}
    }
    if at.starts_with("/legs/") && at.matches('/').count() == 2 {
        for key in [
            "headwind_kmh",
            "return/factor",
            "fuel/chance",
            "aircon",
            "day",
        ] {
            into.push(format!("{at}/{key}"));
        }
    }
    if at.is_empty() {
        into.extend(
            [
                "/rules/reserve/km",
                "/load/roof/mass_kg",
                "/vehicle/axles/wheelbase_m",
                "/nowhere",
            ]
            .map(str::to_owned),
        );
    }
}

/// The change that does it to a trip.
pub fn change(trip: &Trip, wish: &Wish) -> Result<Change, ChangeError> {
    let legs = trip.legs.len();
    let items = trip.load().gear().len();
    let any_pointer = |index: &Index| {
        let mut all = Vec::new();
        pointers(&trip.to_document(), "", &mut all);
        all[index.index(all.len())].clone()
    };
    match wish {
        Wish::Set(field, value) => Ok(Change::set(trip, &any_pointer(field), Some(value.clone()))),
        Wish::Clear(field) => Ok(Change::set(trip, &any_pointer(field), None)),
        Wish::InsertLeg(at) => {
            let mut leg = Leg::to("a new place");
            leg.distance_km = Some(Kilometres::new(12.5));
            Ok(Change::insert_leg(trip, at.index(legs + 1), leg))
        }
        Wish::DuplicateLeg(at) => Change::duplicate_leg(trip, at.index(legs)),
        Wish::DeleteLegs(at, count) => Change::delete_legs(trip, at.index(legs), *count),
        Wish::MoveLegs(from, count, to) => {
            Change::move_legs(trip, from.index(legs), *count, to.index(legs))
        }
        Wish::SetDay(at, day) => Change::set_day(trip, at.index(legs), *day),
        Wish::ShiftDays(at, by) => Change::shift_days(trip, at.index(legs), *by),
        Wish::Split(at, share) => {
            let at = at.index(legs);
            let length = Plan::best_estimate(trip.clone()).legs[at].distance;
            Change::split_leg(trip, at, length * *share, "a new place")
        }
        Wish::Join(at) => Change::join_legs(trip, at.index(legs)),
        Wish::ReverseLeg(at) => Change::reverse_leg(trip, at.index(legs)),
        Wish::ReverseTrip => Change::reverse_trip(trip),
        Wish::OutAndBack => Change::out_and_back(trip),
        Wish::ReplaceRoute(first, second) => {
            let mut other = trip.legs.clone();
            let mut start = trip.start.clone();
            let first = first.index(legs);
            "a new place".clone_into(&mut other[first].to);
            other.rotate_left(first);
            other.remove(second.index(legs));
            other.push(Leg {
                distance_km: Some(Kilometres::new(12.5)),
                ..Leg::to("another place")
            });
            start.date = None;
            Ok(NewRoute::new(trip, start, other).change(trip, "import a route"))
        }
        Wish::InsertItem => Ok(Change::insert_item(
            "/load/gear",
            items,
            json!({ "name": "a new thing", "mass_kg": 3 }),
        )),
        Wish::RemoveItem(at) => Ok(Change::remove_item(trip, "/load/gear", at.index(items + 1))),
        Wish::MoveItem(from, to) => Ok(Change::move_item(
            trip,
            "/load/gear",
            from.index(items + 1),
            to.index(items + 1),
        )),
        Wish::KeepWhatIf(field) => {
            let at = any_pointer(field);
            let operation = json!({ "op": "replace", "path": at, "value": 1 });
            let what_if = serde_json::from_value(json!({ "name": "mine", "change": guarded(
                trip, vec![serde_json::from_value(operation).unwrap()],
            ) }));
            Ok(Change::keep_what_if(trip, &what_if.unwrap()))
        }
        Wish::ForgetWhatIf(at) => {
            let at = at.index(trip.what_ifs().len() + 1);
            Ok(Change::remove_item(trip, "/what_ifs", at))
        }
    }
}
