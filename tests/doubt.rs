//! What is said of chances: the samples against the exact recursion and run, against closed forms, and their laws.
//!
//! Seeds are fixed. Bounds of counted odds are those of the binomial at one in a million (4.9 standard deviations).

mod common;
mod legal;

use std::num::NonZeroUsize;
use std::sync::Arc;

use drystage::model::Trip;
use drystage::plan::{Effort, Plan};
use drystage::quantity::{Litres, Share};
use serde_json::{Value, json};

/// Standard deviations of a normal that are passed once in a million, both ways together.
const ONE_IN_A_MILLION: f64 = 4.9;

fn planned(trip: Value) -> Plan {
    planned_with(trip, Effort::FIRST)
}

fn planned_with(trip: Value, effort: Effort) -> Plan {
    let trip: Trip = serde_json::from_value(trip).unwrap();
    Plan::at_confidence(trip, effort)
}

/// One leg of sealed road by a vehicle with a small tank, cans of 5 L without end, and no reserve.
fn one_leg(km: f64) -> Value {
    json!({
        "drystage": 1,
        "vehicle": { "fuel": "petrol", "engine_l": 1.8, "base_l_per_100km": 9, "base_from": "label", "tank_l": 40,
                     "unusable_l": 0, "kerb_mass_kg": 1300 },
        "load": { "cans": [{ "size_l": 5, "empty_kg": 1, "owned": 0, "may_buy": 12, "places": ["rear"] }] },
        "rules": { "reserve": { "litres": 0, "km": 0, "percent": 0 } },
        "start": { "name": "a", "fuel": {} },
        "legs": [{ "to": "b", "distance_km": km, "surface": "sealed" }]
    })
}
