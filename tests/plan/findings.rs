//! Every finding: what brings it about in a trip that is sound otherwise, how grave it is, and what it says.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use drystage::model::vocabulary::UnitSystem;
use drystage::model::{Trip, check};
use drystage::plan::{Finding, Plan, Severity, What};
use drystage::present::answers::{Answers, Sign};
use drystage::present::finding;
use drystage::present::number::Units;
use drystage::quantity::KilometresPerHour;
use serde_json::{Map, Value, json};

use crate::EFFORT;

/// The example trip with the log, the what-ifs and everything else that could tell something by itself left out.
fn sound() -> Value {
    let text = include_str!("../data/example-trip.json");
    let mut trip: Value = serde_json::from_str(text).unwrap();
    trip["legs"][1]["fuel"]["chance"] = json!(1);
    trip["what_ifs"] = json!([]);
    trip["start"]["altitude_m"] = json!(1000);
    trip
}

/// The sound trip with values put in; null takes a value away.
fn with(changes: &Value) -> Plan {
    Plan::best_estimate(changed(changes))
}

/// The plan of the changed trip at the success target, on 2,048 simulated trips.
fn with_at_target(changes: &Value) -> Plan {
    Plan::at_target(changed(changes), EFFORT)
}

fn changed(changes: &Value) -> Trip {
    let mut trip = sound();
    for (pointer, value) in changes.as_object().unwrap() {
        let (parent, key) = pointer.rsplit_once('/').unwrap();
        let parent = trip.pointer_mut(parent).unwrap();
        match (parent, value) {
            (Value::Object(object), Value::Null) => {
                object.remove(key).unwrap();
            }
            (Value::Object(object), value) => {
                object.insert(key.to_owned(), value.clone());
            }
            (parent, value) => parent[key.parse::<usize>().unwrap()] = value.clone(),
        }
    }
    check::read(trip).unwrap()
}

/// Codes, and the values that bring each about.
const CAUSES: &str = r#"{
    "day-after-dark": { "/start/date": "2026-03-20", "/start/utc_offset": "-09:00", "/legs/0/depart": "17:00" },
    "camp-search": { "/start/date": "2026-03-20", "/start/utc_offset": "-09:00", "/legs/0/depart": "14:00" },
    "sleep-altitude": { "/start/altitude_m": 2900, "/legs/0/ascent_m": 1500 },
    "start-short": { "/rules/start_l": 9, "/start/fuel": null },
    "target-missed": { "/legs/1/fuel/chance": 0.75, "/legs/1/fuel/rely": "always" },
    "cans-short": { "/load/cans": [] },
    "reserve-over-tank": { "/rules/reserve/litres": 60 },
    "reserve-broken": { "/load/cans": [], "/vehicle/tank_l": 70, "/rules/start_l": 70, "/rules/reserve/litres": 20 },
    "reserve-runs-dry": { "/load/cans": [] },
    "reserve-tank-on-rough": {
        "/vehicle/tank_l": 80, "/rules/start_l": 55, "/rules/reserve": {"litres": 1}, "/rules/contingency_percent": 0,
        "/load/cans": [], "/legs/1/fuel": null, "/legs/2/surface": "mud", "/start/fuel": null, "/legs/2/fuel": {}
    },
    "turn-back-none": { "/start/fuel": null },
    "gvm-over": { "/vehicle/gvm_kg": 1500 },
    "gvm-unknown": { "/vehicle/gvm_kg": null },
    "axle-over": { "/vehicle/axles/rear_limit_kg": 800 },
    "axle-load-unknown": { "/vehicle/axles/front_kerb_kg": null },
    "roof-over": { "/vehicle/roof_rating_offroad_kg": 20 },
    "roof-rating-unknown": {
        "/vehicle/roof_rating_kg": null, "/vehicle/roof_rating_offroad_kg": null, "/load/roof/rating_kg": null
    },
    "place-over": { "/load/gear/2/mass_kg": 90 },
    "roof-fuel": {
        "/load/cans/0/places": ["roof"], "/load/cans/1/places": ["roof"], "/load/cans/2/may_buy": 0,
        "/vehicle/roof_rating_offroad_kg": 90, "/vehicle/roof_rating_kg": 90, "/load/roof/rating_kg": 90
    },
    "cabin-fuel": { "/load/cans/0/places": ["cabin"] },
    "cans-over-limit": { "/rules/most_in_cans_l": 20 },
    "kerb-from-book": { "/vehicle/kerb_from": "book", "/load/roof/mass_kg": 0 },
    "cans-elsewhere": { "/load/cans/0/places": ["roof", "rear"] },
    "engine-limit": { "/legs/0/ascent_grade": 0.2, "/vehicle/engine_l": 1.0 },
    "tyres-soft-and-fast": { "/legs/0/aired_down": true },
    "tyres-not-softer": { "/legs/3/aired_down": true, "/vehicle/tyres/soft_bar": 2.0 },
    "tyres-pressure-low": { "/vehicle/tyres/load_rating_kg": 500, "/vehicle/tyres/load_rating_bar": 2.5 },
    "wind-ignored": { "/legs/0/wind_kmh": 30, "/legs/0/wind_from_deg": 270, "/legs/0/lat": null, "/legs/0/lon": null },
    "cold": { "/legs/0/temperature_c": -12 },
    "start-cans-over": { "/rules/start_cans_l": 70 },
    "baseline-speed-not-reached": {
        "/vehicle/engine_l": 0.7, "/vehicle/baseline_speed_kmh": 130, "/vehicle/baseline_conditions/altitude_m": 4000
    },
    "baseline-factor-odd": { "/vehicle/baseline_l_per_100km": 25 },
    "baseline-conditions-missing": { "/vehicle/baseline_conditions": null },
    "baseline-guessed": { "/vehicle/baseline_from": "guess" },
    "distance-guessed": { "/legs/2/distance_km": null },
    "track-differs": { "/legs/0/track": [[-130.4, -48.2, 1850.0], [-129.2, -48.9, 2400.0]] },
    "surface-unknown": { "/legs/0/surface_known_share": 0.79 },
    "hazard-4wd-only": { "/legs/0/hazards": ["4wd-only"] },
    "hazard-ford": { "/legs/0/hazards": ["ford"] },
    "hazard-seasonal": { "/legs/0/hazards": ["seasonal"] },
    "hazard-no-access": { "/legs/0/hazards": ["no-access"] },
    "hazard-private": { "/legs/0/hazards": ["private"] },
    "hazard-toll": { "/legs/0/hazards": ["toll"] },
    "hazard-ferry": { "/legs/0/hazards": ["ferry"] },
    "hazard-rough": { "/legs/0/hazards": ["rough"] },
    "hazard-very-rough": { "/legs/0/hazards": ["very-rough"] },
    "hazard-extreme": { "/legs/0/hazards": ["extreme"] },
    "hazard-impassable": { "/legs/0/hazards": ["impassable"] },
    "track-unread": { "/legs/0/track": "not-there.gpx" },
    "day-long": { "/rules/longest_day_h": 2 },
    "water-short": { "/load/gear/0/mass_kg": 20 },
    "water-traded-for-fuel": { "/load/gear/0/mass_kg": 20 },
    "water-short-at-turn-back": { "/load/gear/0/mass_kg": 24, "/legs/2/day": 3, "/legs/3/day": 3, "/legs/5/day": 3 },
    "water-need-in-heat": { "/legs/0/temperature_c": 35 },
    "supplies-short": { "/load/gear/1/use_per_day_kg": 9 },
    "carriage-over": { "/load/cans": [{"size_l": 30, "empty_kg": 6}], "/load/place_ratings_kg/rear": 90 },
    "cans-fill-in-heat": {
        "/legs/0/temperature_c": 38, "/rules/water_l_per_person_day": 7, "/load/gear/0/mass_kg": 60
    },
    "water-unstated": { "/load/gear/0/water": false },
    "stop-strands": {
        "/legs/1/fuel/chance": 0.96, "/rules/success_target": 0.9, "/legs/1/return": {"possible": false}
    },
    "stop-not-relied-on": {
        "/legs/1/fuel/chance": 0.95, "/legs/0/distance_km": 30, "/legs/1/distance_km": 30,
        "/rules/most_in_cans_l": null
    },
    "stop-unconfirmed": { "/legs/1/fuel/chance": 0.8 },
    "what-if-stale": {
        "/what_ifs": [{ "name": "soft", "change": [
            {"op": "test", "path": "/legs/3/to", "value": "Elsewhere"},
            {"op": "replace", "path": "/legs/3/sand_share", "value": 0.8}
        ] }]
    },
    "log-contradicts": {
        "/log": [
            {"place_number": 0, "odometer_km": 48064, "tank_left_l": 50, "how": "brim"},
            {"place_number": 1, "odometer_km": 48199, "tank_left_l": 54, "how": "brim"}
        ]
    },
    "log-no-departure": { "/log": [{"place_number": 1, "odometer_km": 48199, "tank_left_l": 54, "how": "brim"}] },
    "cost-not-least": { "/rules/objective": "least-cost", "/start/fuel": {}, "/legs/1/fuel": {} },
    "cost-price-missing": { "/rules/objective": "least-cost", "/legs/1/fuel": {"litres": 60} },
    "stop-shares-not-all-tried": { "/start/name": "a", "/start/fuel": {"litres": 200} },
    "cans-not-all-tried": {
        "/load/place_ratings_kg/rear": 40, "/rules/reserve/litres": 40, "/rules/most_in_cans_l": null
    }
}"#;

/// Codes and their causes, with the lists that are too long for the table.
fn causes() -> Map<String, Value> {
    let mut causes: Map<String, Value> = serde_json::from_str(CAUSES).unwrap();
    let can = |n: u32| json!({ "size_l": 10.0 - f64::from(n) / 2.0, "empty_kg": 2, "owned": 9 });
    causes["cans-not-all-tried"]["/load/cans"] = (0..5).map(can).collect();
    let leg = |n: u32| {
        let to = if n % 2 == 1 { "a" } else { "camp" };
        json!({ "to": to, "distance_km": 150, "fuel": { "litres": 200 } })
    };
    causes["stop-shares-not-all-tried"]["/legs"] = (0..24).map(leg).collect();
    causes
}

fn codes(plan: &Plan) -> BTreeSet<&'static str> {
    plan.findings.iter().map(Finding::code).collect()
}

#[test]
fn a_sound_trip_has_no_findings() {
    assert_eq!(codes(&with(&json!({}))), BTreeSet::new());
}

/// Every sentence ends as one and holds no stray number of digits.
#[test]
fn each_is_reported_with_its_cause() {
    let mut sentences = String::new();
    for (code, changes) in causes() {
        // The best-estimate plan relies on stops whatever the target, and simulates nothing.
        let plan = match code.as_str() {
            "stop-not-relied-on" | "stop-strands" | "stop-shares-not-all-tried" => {
                with_at_target(&changes)
            }
            _ => with(&changes),
        };
        let Some(found) = plan.findings.iter().find(|found| found.code() == code) else {
            panic!("{code}: told instead: {:?}", codes(&plan));
        };
        let severity = match found.severity() {
            Severity::Stop => "no-go",
            Severity::Caution => "caution",
            Severity::Note => "note",
        };
        let at = finding::place(found.at, &plan);
        let sentence = finding::sentence(found, &plan, Units(UnitSystem::Metric));
        assert!(sentence.ends_with('.'), "{sentence}");
        let digits = sentence.split(|c: char| !c.is_ascii_digit()).map(str::len);
        assert!(digits.max() <= Some(4), "{sentence}");
        writeln!(sentences, "{code} ({severity}, {at})\n    {sentence}").unwrap();
    }
    insta::assert_snapshot!(sentences);
}

/// Whatever forbids setting out is in the head of the screen: an answer is missed, or the reason comes before the cans.
#[test]
fn the_answers_show_what_forbids_setting_out() {
    let mut reasons = String::new();
    for (code, changes) in causes() {
        let plan = with(&changes);
        let mut findings = plan.findings.iter();
        if !findings.any(|found| found.severity() == Severity::Stop) {
            continue;
        }
        let answers = Answers::new(&plan, Units(UnitSystem::Metric));
        let missed = answers.four.iter().find(|one| one.sign == Sign::Missed);
        let reason = missed.map_or(answers.fuel_in_cans[2].as_str(), |answer| answer.name);
        writeln!(reasons, "{code}: {reason}").unwrap();
    }
    insta::assert_snapshot!(reasons);
}

/// The codes as they stand in the program's own source.
#[test]
fn none_is_left_out() {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/core/plan/parts/finding.rs");
    let source = fs::read_to_string(source).unwrap();
    let (_, table) = source.split_once("pub fn code").unwrap();
    let known: BTreeSet<&str> = table
        .lines()
        .filter_map(|line| line.split_once("=> \"")?.1.split_once('"'))
        .map(|(code, _)| code)
        .collect();
    let causes = causes();
    let tried: BTreeSet<&str> = causes.keys().map(String::as_str).collect();
    assert!(known.len() > 30);
    assert_eq!(known, tried);
}

/// On a leg that is all sand or all low range nobody drives fast, whatever the surface between would allow.
#[test]
fn soft_tyres_are_not_fast_where_the_whole_leg_is_slow() {
    let soft = |mut changes: Value| {
        changes["/legs/0/aired_down"] = json!(true);
        codes(&with(&changes)).contains("tyres-soft-and-fast")
    };
    assert!(soft(json!({})));
    assert!(soft(json!({ "/legs/0/sand_share": 0.9 })));
    assert!(!soft(json!({ "/legs/0/sand_share": 1 })));
    assert!(!soft(json!({ "/legs/0/low_range_share": 1 })));
    assert!(!soft(json!({ "/legs/0/speed_kmh": 60 })));
    assert!(soft(json!({ "/legs/0/speed_kmh": 61 })));
}

/// One finding for all legs on which the engine does not manage the speed, with the lowest speed.
#[test]
fn legs_that_the_engine_cannot_hold_are_one_finding() {
    let plan = with(&json!({
        "/legs/0/ascent_grade": 0.15, "/legs/1/ascent_grade": 0.25, "/vehicle/engine_l": 1.0
    }));
    let held: Vec<_> = plan.legs.iter().filter(|leg| leg.held.is_some()).collect();
    assert!(held.len() > 1);
    let limits = plan.findings.iter().filter_map(|found| match &found.what {
        What::EngineLimit {
            legs,
            slowest,
            speed,
            ..
        } => Some((legs, slowest, speed)),
        _ => None,
    });
    let [(legs, slowest, speed)] = limits.collect::<Vec<_>>()[..] else {
        panic!("one engine limit");
    };
    let numbers: Vec<usize> = held.iter().map(|leg| leg.n).collect();
    assert_eq!(*legs, numbers);
    let lowest = held.iter().map(|leg| leg.held.unwrap().0);
    assert_eq!(*speed, lowest.reduce(KilometresPerHour::min).unwrap());
    assert_eq!(plan.legs[slowest - 1].held.unwrap().0, *speed);
}
