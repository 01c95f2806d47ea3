//! Every finding: what brings it about in a trip that is sound otherwise, how grave it is, and what it says.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs;
use std::num::NonZeroUsize;
use std::path::Path;

use drystage::model::vocabulary::UnitSystem;
use drystage::model::{Trip, check};
use drystage::plan::{Effort, Plan, Severity, What};
use drystage::present::answers::{Answers, Sign};
use drystage::present::finding;
use drystage::present::number::Units;
use drystage::quantity::KilometresPerHour;
use serde_json::{Value, json};

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
fn with(changes: &[(&str, Value)]) -> Plan {
    Plan::best_estimate(changed(changes))
}

/// The plan of the changed trip at the success target, on 2,048 simulated trips.
fn with_at_target(changes: &[(&str, Value)]) -> Plan {
    let effort = Effort {
        blocks: 8,
        threads: NonZeroUsize::MIN,
    };
    Plan::at_target(changed(changes), effort)
}

fn changed(changes: &[(&str, Value)]) -> Trip {
    let mut trip = sound();
    for (pointer, value) in changes {
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

/// Code, and the values that bring it about.
#[expect(clippy::too_many_lines, reason = "one table, an entry a finding")]
fn causes() -> Vec<(&'static str, Vec<(&'static str, Value)>)> {
    let one = |pointer, value| vec![(pointer, value)];
    let many_cans: Vec<Value> = (0..5)
        .map(|n| json!({ "size_l": 10.0 - f64::from(n) / 2.0, "empty_kg": 2, "owned": 9 }))
        .collect();
    let to_and_fro: Vec<Value> = (0..24)
        .map(|n| json!({ "to": if n % 2 == 0 { "camp" } else { "a" }, "distance_km": 150, "fuel": { "litres": 200 } }))
        .collect();
    vec![
        (
            "day-after-dark",
            vec![
                ("/start/date", json!("2026-03-20")),
                ("/start/utc_offset", json!("-09:00")),
                ("/legs/0/depart", json!("17:00")),
            ],
        ),
        (
            "camp-search",
            vec![
                ("/start/date", json!("2026-03-20")),
                ("/start/utc_offset", json!("-09:00")),
                ("/legs/0/depart", json!("14:00")),
            ],
        ),
        (
            "sleep-altitude",
            vec![
                ("/start/altitude_m", json!(2900)),
                ("/legs/0/ascent_m", json!(1500)),
            ],
        ),
        (
            "start-short",
            vec![("/rules/start_l", json!(9)), ("/start/fuel", Value::Null)],
        ),
        (
            "target-missed",
            vec![
                ("/legs/1/fuel/chance", json!(0.75)),
                ("/legs/1/fuel/rely", json!("always")),
            ],
        ),
        ("cans-short", one("/load/cans", json!([]))),
        ("reserve-over-tank", one("/rules/reserve/litres", json!(60))),
        (
            "reserve-broken",
            vec![
                ("/load/cans", json!([])),
                ("/vehicle/tank_l", json!(70)),
                ("/rules/start_l", json!(70)),
                ("/rules/reserve/litres", json!(20)),
            ],
        ),
        ("reserve-runs-dry", one("/load/cans", json!([]))),
        (
            "reserve-tank-on-rough",
            vec![
                ("/vehicle/tank_l", json!(80)),
                ("/rules/start_l", json!(55)),
                ("/rules/reserve", json!({ "litres": 1 })),
                ("/rules/contingency_percent", json!(0)),
                ("/load/cans", json!([])),
                ("/legs/1/fuel", Value::Null),
                ("/legs/2/surface", json!("mud")),
                ("/start/fuel", Value::Null),
                ("/legs/2/fuel", json!({})),
            ],
        ),
        ("turn-back-none", one("/start/fuel", Value::Null)),
        ("gvm-over", one("/vehicle/gvm_kg", json!(1500))),
        ("gvm-unknown", one("/vehicle/gvm_kg", Value::Null)),
        ("axle-over", one("/vehicle/axles/rear_limit_kg", json!(800))),
        (
            "axle-load-unknown",
            one("/vehicle/axles/front_kerb_kg", Value::Null),
        ),
        (
            "roof-over",
            one("/vehicle/roof_rating_offroad_kg", json!(20)),
        ),
        (
            "roof-rating-unknown",
            vec![
                ("/vehicle/roof_rating_kg", Value::Null),
                ("/vehicle/roof_rating_offroad_kg", Value::Null),
                ("/load/roof/rating_kg", Value::Null),
            ],
        ),
        ("place-over", one("/load/gear/2/mass_kg", json!(90))),
        (
            "roof-fuel",
            vec![
                ("/load/cans/0/places", json!(["roof"])),
                ("/load/cans/1/places", json!(["roof"])),
                ("/load/cans/2/may_buy", json!(0)),
                ("/vehicle/roof_rating_offroad_kg", json!(90)),
                ("/vehicle/roof_rating_kg", json!(90)),
                ("/load/roof/rating_kg", json!(90)),
            ],
        ),
        ("cabin-fuel", one("/load/cans/0/places", json!(["cabin"]))),
        ("cans-over-limit", one("/rules/most_in_cans_l", json!(20))),
        (
            "kerb-from-book",
            vec![
                ("/vehicle/kerb_from", json!("book")),
                ("/load/roof/mass_kg", json!(0)),
            ],
        ),
        (
            "cans-elsewhere",
            one("/load/cans/0/places", json!(["roof", "rear"])),
        ),
        (
            "engine-limit",
            vec![
                ("/legs/0/ascent_grade", json!(0.2)),
                ("/vehicle/engine_l", json!(1.0)),
            ],
        ),
        (
            "tyres-soft-and-fast",
            one("/legs/0/aired_down", json!(true)),
        ),
        (
            "tyres-not-softer",
            vec![
                ("/legs/3/aired_down", json!(true)),
                ("/vehicle/tyres/soft_bar", json!(2.0)),
            ],
        ),
        (
            "tyres-pressure-low",
            vec![
                ("/vehicle/tyres/load_rating_kg", json!(500)),
                ("/vehicle/tyres/load_rating_bar", json!(2.5)),
            ],
        ),
        (
            "wind-ignored",
            vec![
                ("/legs/0/wind_kmh", json!(30)),
                ("/legs/0/wind_from_deg", json!(270)),
                ("/legs/0/lat", Value::Null),
                ("/legs/0/lon", Value::Null),
            ],
        ),
        ("cold", one("/legs/0/temperature_c", json!(-12))),
        ("start-cans-over", one("/rules/start_cans_l", json!(70))),
        (
            "baseline-speed-not-reached",
            vec![
                ("/vehicle/engine_l", json!(0.7)),
                ("/vehicle/baseline_speed_kmh", json!(130)),
                ("/vehicle/baseline_conditions/altitude_m", json!(4000)),
            ],
        ),
        (
            "baseline-factor-odd",
            one("/vehicle/baseline_l_per_100km", json!(25)),
        ),
        (
            "baseline-conditions-missing",
            one("/vehicle/baseline_conditions", Value::Null),
        ),
        (
            "baseline-guessed",
            one("/vehicle/baseline_from", json!("guess")),
        ),
        ("distance-guessed", one("/legs/2/distance_km", Value::Null)),
        (
            "track-differs",
            one(
                "/legs/0/track",
                json!([[-130.4, -48.2, 1850.0], [-129.2, -48.9, 2400.0]]),
            ),
        ),
        (
            "surface-unknown",
            one("/legs/0/surface_known_share", json!(0.79)),
        ),
        (
            "hazard-4wd-only",
            one("/legs/0/hazards", json!(["4wd-only"])),
        ),
        ("hazard-ford", one("/legs/0/hazards", json!(["ford"]))),
        (
            "hazard-seasonal",
            one("/legs/0/hazards", json!(["seasonal"])),
        ),
        (
            "hazard-no-access",
            one("/legs/0/hazards", json!(["no-access"])),
        ),
        ("hazard-private", one("/legs/0/hazards", json!(["private"]))),
        ("hazard-toll", one("/legs/0/hazards", json!(["toll"]))),
        ("hazard-ferry", one("/legs/0/hazards", json!(["ferry"]))),
        ("hazard-rough", one("/legs/0/hazards", json!(["rough"]))),
        (
            "hazard-very-rough",
            one("/legs/0/hazards", json!(["very-rough"])),
        ),
        ("hazard-extreme", one("/legs/0/hazards", json!(["extreme"]))),
        (
            "hazard-impassable",
            one("/legs/0/hazards", json!(["impassable"])),
        ),
        ("track-unread", one("/legs/0/track", json!("not-there.gpx"))),
        ("day-long", one("/rules/longest_day_h", json!(2))),
        ("water-short", one("/load/gear/0/mass_kg", json!(20))),
        (
            "water-traded-for-fuel",
            one("/load/gear/0/mass_kg", json!(20)),
        ),
        (
            "water-short-at-turn-back",
            vec![
                ("/load/gear/0/mass_kg", json!(24)),
                ("/legs/2/day", json!(3)),
                ("/legs/3/day", json!(3)),
                ("/legs/5/day", json!(3)),
            ],
        ),
        (
            "water-need-in-heat",
            one("/legs/0/temperature_c", json!(35)),
        ),
        (
            "supplies-short",
            one("/load/gear/1/use_per_day_kg", json!(9)),
        ),
        (
            "carriage-over",
            vec![
                ("/load/cans", json!([{ "size_l": 30, "empty_kg": 6 }])),
                ("/load/place_ratings_kg/rear", json!(90)),
            ],
        ),
        (
            "cans-fill-in-heat",
            vec![
                ("/legs/0/temperature_c", json!(38)),
                ("/rules/water_l_per_person_day", json!(7)),
                ("/load/gear/0/mass_kg", json!(60)),
            ],
        ),
        ("water-unstated", one("/load/gear/0/water", json!(false))),
        (
            "stop-strands",
            vec![
                ("/legs/1/fuel/chance", json!(0.96)),
                ("/rules/success_target", json!(0.9)),
                ("/legs/1/return", json!({ "possible": false })),
            ],
        ),
        (
            "stop-not-relied-on",
            vec![
                ("/legs/1/fuel/chance", json!(0.95)),
                ("/legs/0/distance_km", json!(30)),
                ("/legs/1/distance_km", json!(30)),
                ("/rules/most_in_cans_l", Value::Null),
            ],
        ),
        ("stop-unconfirmed", one("/legs/1/fuel/chance", json!(0.8))),
        (
            "what-if-stale",
            one(
                "/what_ifs",
                json!([{ "name": "soft", "change": [
                    { "op": "test", "path": "/legs/3/to", "value": "Elsewhere" },
                    { "op": "replace", "path": "/legs/3/sand_share", "value": 0.8 }
                ] }]),
            ),
        ),
        (
            "log-contradicts",
            one(
                "/log",
                json!([
                    { "place_number": 0, "odometer_km": 48064, "tank_left_l": 50, "how": "brim" },
                    { "place_number": 1, "odometer_km": 48199, "tank_left_l": 54, "how": "brim" }
                ]),
            ),
        ),
        (
            "log-no-departure",
            one(
                "/log",
                json!([{ "place_number": 1, "odometer_km": 48199, "tank_left_l": 54, "how": "brim" }]),
            ),
        ),
        (
            "cost-not-least",
            vec![
                ("/rules/objective", json!("least-cost")),
                ("/start/fuel", json!({})),
                ("/legs/1/fuel", json!({})),
            ],
        ),
        (
            "cost-price-missing",
            vec![
                ("/rules/objective", json!("least-cost")),
                ("/legs/1/fuel", json!({ "litres": 60 })),
            ],
        ),
        (
            "stop-shares-not-all-tried",
            vec![
                ("/start/name", json!("a")),
                ("/start/fuel", json!({ "litres": 200 })),
                ("/legs", json!(to_and_fro)),
            ],
        ),
        (
            "cans-not-all-tried",
            vec![
                ("/load/cans", json!(many_cans)),
                ("/load/place_ratings_kg/rear", json!(40)),
                ("/rules/reserve/litres", json!(40)),
                ("/rules/most_in_cans_l", Value::Null),
            ],
        ),
    ]
}

fn codes(plan: &Plan) -> BTreeSet<&'static str> {
    plan.findings
        .iter()
        .map(drystage::plan::Finding::code)
        .collect()
}

#[test]
fn a_sound_trip_has_no_findings() {
    assert_eq!(codes(&with(&[])), BTreeSet::new());
}

/// Every sentence ends as one and holds no stray number of digits.
#[test]
fn each_is_reported_with_its_cause() {
    let mut sentences = String::new();
    for (code, changes) in causes() {
        // The best-estimate plan relies on stops whatever the target, and simulates nothing.
        let plan = if [
            "stop-not-relied-on",
            "stop-strands",
            "stop-shares-not-all-tried",
        ]
        .contains(&code)
        {
            with_at_target(&changes)
        } else {
            with(&changes)
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
    let tried: BTreeSet<&str> = causes().iter().map(|(code, _)| *code).collect();
    assert!(known.len() > 30);
    assert_eq!(known, tried);
}

/// On a leg that is all sand or all low range nobody drives fast, whatever the surface between would allow.
#[test]
fn soft_tyres_are_not_fast_where_the_whole_leg_is_slow() {
    let soft = |more: &[(&str, Value)]| {
        let changes = [&[("/legs/0/aired_down", json!(true))], more].concat();
        codes(&with(&changes)).contains("tyres-soft-and-fast")
    };
    assert!(soft(&[]));
    assert!(soft(&[("/legs/0/sand_share", json!(0.9))]));
    assert!(!soft(&[("/legs/0/sand_share", json!(1))]));
    assert!(!soft(&[("/legs/0/low_range_share", json!(1))]));
    assert!(!soft(&[("/legs/0/speed_kmh", json!(60))]));
    assert!(soft(&[("/legs/0/speed_kmh", json!(61))]));
}

/// One finding for all legs on which the engine does not manage the speed, with the lowest speed.
#[test]
fn legs_that_the_engine_cannot_hold_are_one_finding() {
    let plan = with(&[
        ("/legs/0/ascent_grade", json!(0.15)),
        ("/legs/1/ascent_grade", json!(0.25)),
        ("/vehicle/engine_l", json!(1.0)),
    ]);
    let held: Vec<_> = plan.legs.iter().filter(|leg| leg.held.is_some()).collect();
    assert!(held.len() > 1);
    let found = || {
        plan.findings
            .iter()
            .filter(|found| found.code() == "engine-limit")
    };
    assert_eq!(found().count(), 1);
    let What::EngineLimit {
        legs,
        slowest,
        speed,
        ..
    } = &found().next().unwrap().what
    else {
        panic!("an engine limit");
    };
    let numbers: Vec<usize> = held.iter().map(|leg| leg.n).collect();
    assert_eq!(*legs, numbers);
    let lowest = held.iter().map(|leg| leg.held.unwrap().0);
    assert_eq!(*speed, lowest.reduce(KilometresPerHour::min).unwrap());
    assert_eq!(plan.legs[slowest - 1].held.unwrap().0, *speed);
}
