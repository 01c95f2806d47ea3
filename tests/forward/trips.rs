//! Random trips as people drive them: a small tank, a few days, mixed surfaces, some fuel stops that may have none.

use drystage::model::{Trip, check};
use proptest::prelude::*;
use proptest::sample::select;
use proptest::strategy::ValueTree as _;
use proptest::test_runner::TestRunner;
use serde_json::{Value, json};

/// A fuel stop: limited or not, confirmed or not, on the route or off it.
fn fuel_stops() -> impl Strategy<Value = Value> {
    (
        prop::option::weighted(0.4, 10.0..60.0_f64),
        prop::option::weighted(0.6, 0.3..0.99_f64),
        prop::option::weighted(0.15, 1.0..15.0_f64),
    )
        .prop_map(|(litres, chance, detour)| {
            let mut stop = json!({});
            for (key, value) in [
                ("litres", litres),
                ("chance", chance),
                ("detour_km", detour),
            ] {
                if let Some(value) = value {
                    stop[key] = json!(value);
                }
            }
            stop
        })
}

fn legs() -> impl Strategy<Value = Value> {
    let ground = (
        select(
            &[
                "sealed",
                "sealed",
                "gravel",
                "corrugated",
                "earth",
                "rock",
                "salt",
            ][..],
        ),
        prop::option::weighted(0.4, 0.05..0.6_f64),
        prop::option::weighted(0.25, 0.05..0.3_f64),
    );
    (
        20.0..160.0_f64,
        ground,
        (0.0..0.015_f64, 0.0..1.0_f64),
        (0.0..2500.0_f64, -10.0..20.0_f64, any::<bool>()),
        prop::option::weighted(0.3, fuel_stops()),
        prop::option::weighted(0.08, Just(json!({ "possible": false }))),
    )
        .prop_map(
            |(km, (surface, sand, low), (climb, fall), (height, wind, aircon), fuel, back)| {
                let ascent = km * 1000.0 * climb;
                let mut leg = json!({
                    "distance_km": km, "surface": surface, "ascent_m": ascent, "descent_m": ascent * fall,
                    "mean_altitude_m": height, "headwind_kmh": wind, "aircon": aircon
                });
                let options = [
                    ("sand_share", sand.map(Value::from)),
                    ("low_range_share", low.map(Value::from)),
                    ("fuel", fuel),
                    ("return", back),
                ];
                for (key, value) in options {
                    if let Some(value) = value {
                        leg[key] = value;
                    }
                }
                leg
            },
        )
}

/// Trips of two to nine legs from a confirmed, unlimited fuel stop; some go out and back past the same fuel stops.
fn trips() -> impl Strategy<Value = Trip> {
    let vehicle = (
        (35.0..75.0_f64, 6.0..11.0_f64, 1000.0..1900.0_f64),
        select(&["fills", "label", "guess"][..]),
        select(&["petrol", "diesel"][..]),
    );
    let rules = (
        select(&[0.8, 0.9, 0.95, 0.95, 0.95, 0.99][..]),
        select(&["skip", "skip", "turn-back"][..]),
        (0.0..8.0_f64, 0.0..50.0_f64, select(&[0.0, 5.0, 10.0][..])),
        1..1000_u64,
    );
    (
        vehicle,
        rules,
        prop::collection::vec(legs(), 2..7),
        prop::bool::weighted(0.25),
        0..5_u32,
    )
        .prop_map(|(vehicle, rules, legs, and_back, cans)| {
            let document = document(vehicle, rules, &legs, and_back, cans);
            check::read(document).unwrap_or_else(|problems| panic!("{problems:?}"))
        })
}

type Vehicle = ((f64, f64, f64), &'static str, &'static str);
type Rules = (f64, &'static str, (f64, f64, f64), u64);

fn document(vehicle: Vehicle, rules: Rules, legs: &[Value], and_back: bool, cans: u32) -> Value {
    let ((tank, base, kerb), from, fuel) = vehicle;
    let (target, unconfirmed, (litres, km, percent), seed) = rules;
    let mut route: Vec<Value> = legs.to_vec();
    for (n, leg) in route.iter_mut().enumerate() {
        leg["to"] = json!(format!("Place {}", n + 1));
        leg["day"] = json!(n / 2 + 1);
    }
    if and_back {
        let back: Vec<Value> = (0..route.len())
            .rev()
            .map(|n| returning(&route, n))
            .collect();
        route.extend(back);
    } else {
        route.last_mut().unwrap()["fuel"] = json!({});
    }
    json!({
        "drystage": 1,
        "vehicle": {
            "fuel": fuel, "engine_l": kerb / 1000.0 * 1.4, "baseline_l_per_100km": base, "baseline_from": from, "tank_l": tank,
            "kerb_mass_kg": kerb, "gvm_kg": kerb * 1.6
        },
        "load": {
            "people": [{ "name": "driver", "mass_kg": 80 }],
            "cans": [{ "size_l": 20, "empty_kg": 4, "owned": cans, "may_buy": 3, "places": ["rear", "cargo"] },
                     { "size_l": 10, "empty_kg": 2, "owned": 1, "places": ["rear"] }]
        },
        "rules": {
            "reserve": { "litres": litres, "km": km }, "contingency_percent": percent, "success_target": target,
            "unconfirmed_stops": unconfirmed, "start_l": tank, "seed": seed
        },
        "start": { "name": "Start", "fuel": {} },
        "legs": route
    })
}

/// A leg driven the other way, days later, to the place from which it was driven.
fn returning(route: &[Value], n: usize) -> Value {
    let mut leg = route[n].clone();
    let (ascent, descent) = (leg["ascent_m"].clone(), leg["descent_m"].clone());
    (leg["ascent_m"], leg["descent_m"]) = (descent, ascent);
    let behind = n.checked_sub(1).map(|before| &route[before]);
    leg["to"] = behind.map_or(json!("Start"), |behind| behind["to"].clone());
    leg["day"] = json!((2 * route.len() - 1 - n) / 2 + 1);
    match behind.map_or(Some(&json!({})), |behind| behind.get("fuel")) {
        Some(fuel) => leg["fuel"] = fuel.clone(),
        None => drop(leg.as_object_mut().unwrap().shift_remove("fuel")),
    }
    leg
}

/// Trips of a series that is the same each time, by their numbers.
pub fn random(first: usize, count: usize) -> impl Iterator<Item = (String, Trip)> {
    let mut runner = TestRunner::deterministic();
    (0..first + count)
        .map(move |n| {
            let trip = trips().new_tree(&mut runner).unwrap().current();
            (format!("random trip {n}"), trip)
        })
        .skip(first)
}
