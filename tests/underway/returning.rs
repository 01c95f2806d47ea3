//! The plan of the return: from the last fuel reading over the driven legs to the refuge, in every format.

use drystage::model::vocabulary::UnitSystem;
use drystage::model::{Trip, check};
use drystage::plan::progress::Advice;
use drystage::plan::{Effort, Plan};
use drystage::present::number::Units;
use drystage::quantity::{Kilometres, Litres, Share};
use drystage::report::{Case, csv, geojson, gpx, html, json as json_report, text};
use serde_json::{Value, json};

const METRIC: Units = Units(UnitSystem::Metric);

/// Gravel, sand and hills, fuel at the start alone; 45 L and a can of 10 L.
fn document(log: &Value) -> Value {
    json!({
        "drystage": 1,
        "vehicle": {
            "fuel": "petrol", "engine_l": 1.8, "baseline_l_per_100km": 9, "baseline_from": "label", "tank_l": 50, "unusable_l": 2,
            "kerb_mass_kg": 1300
        },
        "load": { "cans": [{ "size_l": 10, "empty_kg": 2, "owned": 1 }] },
        "rules": { "reserve": { "litres": 4 }, "contingency_percent": 0 },
        "start": { "name": "Ford", "lat": -48.0, "lon": -130.0, "odometer_km": 1000, "fuel": {} },
        "legs": [
            { "to": "Ridge", "lat": -48.4, "lon": -130.3, "distance_km": 60, "surface": "gravel", "ascent_m": 900, "headwind_kmh": 12 },
            { "to": "Dunes", "lat": -48.8, "lon": -130.5, "distance_km": 50, "surface": "earth", "sand_share": 0.4, "descent_m": 300,
              "idle_h": 1, "day": 2 },
            { "to": "Pan", "lat": -49.2, "lon": -130.9, "distance_km": 90, "surface": "earth" },
            { "to": "Quay", "lat": -49.8, "lon": -131.2, "distance_km": 260, "surface": "earth", "fuel": {} }
        ],
        "log": log
    })
}

fn planned(document: Value) -> Plan {
    let trip: Trip = check::read(document).unwrap_or_else(|problems| panic!("{problems:?}"));
    Plan::at_target(trip, Effort::FIRST.on_all_threads())
}

/// At the dunes with 34 L where 40 L were planned.
fn turned_back() -> Plan {
    planned(document(&json!([
        { "place_number": 0, "odometer_km": 1000, "tank_left_l": 50, "cans_left_l": 9.5, "how": "brim" },
        { "place_number": 2, "odometer_km": 1111, "tank_left_l": 26.5, "cans_left_l": 9.5, "how": "dip" }
    ])))
}

fn near(value: Litres, wanted: Litres, share: f64) {
    assert!(
        (value - wanted).abs() <= wanted * share,
        "{value:?}, wanted {wanted:?}"
    );
}

/// Each leg from its other end, the last one first; it starts with what was read, conserves fuel, and takes what the return
/// figure rests on: the driven legs by the formula for the return.
#[test]
fn the_return_takes_what_its_figure_rests_on() {
    let plan = turned_back();
    let now = plan.now().unwrap();
    assert_eq!(
        (now.advice, now.back.map(|(refuge, _)| refuge)),
        (Advice::TurnBack, Some(0))
    );
    let back = plan.return_plan().unwrap();
    let names: Vec<[&str; 2]> = back
        .legs
        .iter()
        .map(|leg| [leg.from.as_str(), leg.to.as_str()])
        .collect();
    assert_eq!(names, [["Dunes", "Ridge"], ["Ridge", "Ford"]]);
    assert_eq!(back.trip.vehicle, *plan.vehicle());
    assert_eq!(
        back.odometer_at(Kilometres::ZERO),
        Some(Kilometres::new(1111.0))
    );
    let lost_on = |n: usize| -> Litres {
        let decants = back.decants.iter().filter(|decant| decant.leg == n);
        decants.map(|decant| decant.lost).sum()
    };
    // The can is decanted at once.
    near(back.legs[0].start + lost_on(1), now.on_board, 1e-9);
    let mut left = back.legs[0].start;
    for (leg, n) in back.legs.iter().zip([2, 1]) {
        let outward = &plan.trip.legs[n - 1];
        let usage = plan
            .formula(n)
            .reversed(outward.return_factor())
            .usage(Litres::new(57.5));
        near(leg.fuel, usage.litres(left), 0.01);
        let lost = if leg.n == 1 {
            Litres::ZERO
        } else {
            lost_on(leg.n)
        };
        near(leg.start - leg.fuel - lost, leg.end, 1e-9);
        left = leg.end;
    }
    // What is enough in 95 of 100 at the figure leaves the reserve, and what was read leaves it more surely.
    let needed = [2, 1].iter().rev().fold(Litres::new(4.0), |left, &n| {
        let usage = plan
            .formula(n)
            .reversed(plan.trip.legs[n - 1].return_factor())
            .usage(Litres::new(57.5));
        usage.needed_for(left, Share::ZERO)
    });
    assert!(
        now.back.unwrap().1 > needed && left >= Litres::new(4.0),
        "{needed:?} {left:?}"
    );
    let intact = back
        .doubt
        .as_ref()
        .unwrap()
        .outcomes_without_luck
        .finish_reserve_intact;
    assert!(intact.share >= Share::new(0.95), "{intact:?}");
    assert!(!back.fuel_checks.is_empty() && back.fixes().found.is_empty());
    let codes: Vec<&str> = back
        .findings
        .iter()
        .map(drystage::plan::Finding::code)
        .collect();
    assert!(!codes.contains(&"turn-back-none"), "{codes:?}");
}

/// The figure is what the return plan needs: with just that read off, 95 of 100 simulated returns keep the reserve.
#[test]
fn with_the_return_figure_95_of_100_return() {
    // 24 L were used, whatever was on board, and the cans are empty.
    let with = |usable: f64| {
        planned(document(&json!([
            { "place_number": 0, "odometer_km": 1000, "tank_left_l": 40, "cans_left_l": usable - 14.0, "how": "brim" },
            { "place_number": 2, "odometer_km": 1111, "tank_left_l": usable + 2.0, "how": "dip" }
        ])))
    };
    let (_, needed) = with(26.0).now().unwrap().back.unwrap();
    let plan = with(needed.get() + 0.05);
    assert_eq!(
        plan.now().unwrap().advice,
        Advice::TurnBack,
        "{:?}",
        plan.now()
    );
    let back = plan.return_plan().unwrap();
    let intact = back
        .doubt
        .as_ref()
        .unwrap()
        .outcomes_without_luck
        .finish_reserve_intact;
    assert!((intact.share.get() - 0.95).abs() < 0.02, "{intact:?}");
}

/// A reading past a place first returns to it; a fuel stop off the route is driven to.
#[test]
fn the_return_begins_aside_and_ends_at_the_pump() {
    let mut stated = document(&json!([
        { "place_number": 0, "odometer_km": 1000, "tank_left_l": 50, "cans_left_l": 9.5, "how": "brim" },
        { "place_number": 2, "odometer_km": 1111, "tank_left_l": 29, "cans_left_l": 9.5, "how": "brim" },
        { "place_number": 2, "odometer_km": 1131, "tank_left_l": 26, "cans_left_l": 9.5, "how": "brim", "to_next_km": 75,
          "place": "a fork" }
    ]));
    stated["start"]["fuel"]["detour_km"] = json!(6);
    let plan = planned(stated);
    let back = plan.return_plan().unwrap();
    let legs: Vec<(&str, f64)> = back
        .legs
        .iter()
        .map(|leg| (leg.to.as_str(), leg.distance.get()))
        .collect();
    assert_eq!(
        legs,
        [
            ("Dunes", 20.0),
            ("Ridge", 50.0),
            ("Ford", 60.0),
            ("fuel at Ford", 3.0)
        ]
    );
    assert_eq!(back.legs[0].from, "a fork");
    assert_eq!(
        back.stops
            .iter()
            .map(|stop| stop.place_number)
            .collect::<Vec<_>>(),
        [4]
    );
}

/// A trip that continues has no return plan, and its reports say nothing of one.
#[test]
fn who_continues_has_no_return_plan() {
    let plan = planned(document(&json!([
        { "place_number": 0, "odometer_km": 1000, "tank_left_l": 50, "cans_left_l": 9.5, "how": "brim" },
        { "place_number": 1, "odometer_km": 1060, "tank_left_l": 43, "cans_left_l": 9.5, "how": "dip" }
    ])));
    assert_eq!(
        plan.now().unwrap().advice,
        Advice::Continue,
        "{:?}",
        plan.now()
    );
    assert!(plan.return_plan().is_none());
    let report: Value = serde_json::from_str(&json_report::report(Case::as_stated(&plan))).unwrap();
    assert!(report.get("return_plan").is_none());
    assert!(!text::report(Case::as_stated(&plan), METRIC).contains("TURN BACK NOW"));
}

#[test]
fn every_format_shows_the_return() {
    let plan = turned_back();
    let case = Case::as_stated(&plan);
    let title = "TURN BACK NOW: plan of the return to Ford";
    let shown = text::report(case, METRIC);
    let words = shown.split_whitespace().collect::<Vec<_>>().join(" ");
    let returns = "This is the plan of the return to Ford.";
    for wanted in ["TURN BACK NOW. ", returns, "UNDER WAY"] {
        assert!(words.contains(wanted), "{wanted}: {shown}");
    }
    assert!(
        !shown.contains("Quay") && shown.contains("leg 2"),
        "{shown}"
    );
    let page = html::report(case, METRIC).replace('\u{a0}', " ");
    assert!(page.contains("TURN BACK NOW. ") && page.contains(returns));
    assert!(!page.contains("Quay"));
    let track = gpx::file(case, METRIC).unwrap().text;
    assert!(track.contains(title) && !track.contains("Quay"), "{track}");
    let map: Value = serde_json::from_str(&geojson::file(case, METRIC).unwrap().text).unwrap();
    assert_eq!(map["returns"], title);
    let table = csv::table(&plan, csv::Dialect::default());
    assert!(table.contains("Ford") && !table.contains("Quay"), "{table}");
    let report: Value = serde_json::from_str(&json_report::report(case)).unwrap();
    assert_eq!(report["log"]["advice"], "turn-back");
    let back = &report["return_plan"];
    assert_eq!(back["drystage_report"], 2);
    assert_eq!(back["legs"][1]["to"], "Ford");
    assert_eq!(back["legs"][0]["from"], "Dunes");
    assert!(
        back["outcomes"]["finish_reserve_intact"]["share"]
            .as_f64()
            .unwrap()
            > 0.95
    );
}

/// Fuel off the route that was passed: the figure for the return counts the detour to it.
#[test]
fn the_return_figure_counts_the_detour_to_the_fuel() {
    let needed = |detour_km: f64| {
        let mut document = document(&json!([
            { "place_number": 0, "odometer_km": 1000, "tank_left_l": 50, "cans_left_l": 9.5, "how": "brim" },
            { "place_number": 2, "odometer_km": 1111, "tank_left_l": 26.5, "cans_left_l": 9.5, "how": "dip" }
        ]));
        document["start"]["fuel"]["detour_km"] = json!(detour_km);
        planned(document).now().unwrap().back.unwrap().1
    };
    let more = (needed(40.0) - needed(0.0)).get();
    // One way is 20 km: at 9 to 15 L/100 km on the level gravel of the first leg.
    assert!((1.8..3.0).contains(&more), "{more}");
}
