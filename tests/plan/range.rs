//! How far the vehicle goes: against the plan of a trip that is just as long, against simulated trips, and laws.

use std::num::NonZeroUsize;

use drystage::model::{Trip, check};
use drystage::plan::range::{Range, Ranges, TypicalSurface};
use drystage::plan::{Effort, Plan, Verdict};
use drystage::quantity::{Kilometres, Litres};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::kept::cases;

const SAMPLES: [&str; 3] = [
    include_str!("../data/example-trip.json"),
    include_str!("../../sample-routes/forest-weekend.json"),
    include_str!("../../sample-routes/long-dry-stage.json"),
];

fn samples() -> impl Iterator<Item = Value> {
    SAMPLES
        .into_iter()
        .map(|text| serde_json::from_str(text).unwrap())
}

fn trip(document: Value) -> Trip {
    check::read(document).unwrap()
}

fn ranges(document: &Value) -> Ranges {
    Ranges::of(&trip(document.clone()), NonZeroUsize::MIN)
}

/// A leg of so many kilometres of one surface, as a trip file states it.
fn leg(surface: TypicalSurface, distance: Kilometres) -> Value {
    let mut leg = json!({ "to": "there", "distance_km": distance.get() });
    let stated = match surface {
        TypicalSurface::Sealed => json!({ "surface": "sealed" }),
        TypicalSurface::Gravel => json!({ "surface": "gravel" }),
        TypicalSurface::Corrugated => json!({ "surface": "corrugated" }),
        TypicalSurface::SandyTrack => json!({ "surface": "earth", "sand_share": 1 }),
        TypicalSurface::Dunes => json!({ "surface": "earth", "dune_share": 1 }),
        TypicalSurface::RockInLowRange => json!({ "surface": "rock", "low_range_share": 1 }),
    };
    leg.as_object_mut()
        .unwrap()
        .extend(stated.as_object().unwrap().clone());
    leg
}

/// The trip with one leg only, from a full tank, without fuel stops and cans.
fn from_the_tank(document: &Value, leg: &Value) -> Trip {
    let mut document = document.clone();
    let altitude = document["start"]["altitude_m"].clone();
    document["start"] = json!({ "name": "here" });
    if altitude.is_number() {
        document["start"]["altitude_m"] = altitude;
    }
    document["load"].as_object_mut().unwrap().remove("cans");
    document["rules"]["start_l"] = document["vehicle"]["tank_l"].clone();
    document["legs"] = json!([leg]);
    for key in ["what_ifs", "log"] {
        document.as_object_mut().unwrap().remove(key);
    }
    trip(document)
}

fn each(ranges: &[Range; 6]) -> impl Iterator<Item = (TypicalSurface, &Range)> {
    TypicalSurface::ALL.into_iter().zip(ranges)
}

/// Driving that many kilometres of that surface uses exactly that fuel, and to the minimum just the minimum is left.
#[test]
fn the_leg_formula_burns_the_tank_in_just_that_range() {
    for document in samples() {
        let found = ranges(&document);
        for (surface, range) in each(&found.as_stated.by_surface) {
            let plan =
                |distance| Plan::best_estimate(from_the_tank(&document, &leg(surface, distance)));
            let to_empty = plan(range.until_empty.best_estimate);
            let burnt = to_empty.legs[0].fuel;
            assert!(
                (burnt - found.as_stated.fuel).abs() < Litres::new(1e-6),
                "{surface:?}: {burnt:?} of {:?}",
                found.as_stated.fuel
            );
            if range.to_minimum.best_estimate == Kilometres::ZERO {
                // The tank holds less than the reserve takes on that surface.
                continue;
            }
            let to_minimum = plan(range.to_minimum.best_estimate);
            let leg = &to_minimum.legs[0];
            let percent = document["rules"]["contingency_percent"].as_f64().unwrap();
            let contingency = leg.fuel * (percent / 100.0);
            let left = leg.end - leg.reserve - contingency;
            // Kilometres of the reserve are valued at the mean rate of the leg, which changes a little with its length.
            let slack = leg.reserve * 0.01 + Litres::new(1e-3);
            assert!(left.abs() < slack, "{surface:?}: {left:?}");
        }
    }
}

/// The range at the target is the longest trip that the target plan drives without cans.
#[test]
fn the_target_plan_goes_just_as_far() {
    for document in samples().take(2) {
        let found = ranges(&document);
        for (surface, range) in each(&found.as_stated.by_surface) {
            let tank_does = |times: f64| {
                let distance = range.to_minimum.at_target * times;
                let trip = from_the_tank(&document, &leg(surface, distance));
                Plan::at_target(trip, Effort::FIRST).verdict() == Verdict::TankDoes
            };
            assert!(tank_does(0.985), "{surface:?} {range:?}");
            assert!(!tank_does(1.015), "{surface:?} {range:?}");
        }
    }
}

/// The legs of a trip change nothing about the range of its vehicle, and there need be none.
#[test]
fn a_trip_without_legs_has_the_same_range() {
    for mut document in samples() {
        let with_legs = ranges(&document);
        document["legs"] = json!([]);
        for key in ["what_ifs", "log"] {
            document.as_object_mut().unwrap().remove(key);
        }
        let without = ranges(&document);
        assert_eq!(without.as_stated, with_legs.as_stated);
        assert_eq!(without.empty, with_legs.empty);
    }
}

/// With more cans than a limit allows there is no row, and the limit is named.
#[test]
fn cans_end_where_a_limit_does() {
    let mut document: Value = serde_json::from_str(SAMPLES[0]).unwrap();
    let all = ranges(&document).with_cans.len();
    document["vehicle"]["gvm_kg"] = json!(1590);
    let found = ranges(&document);
    assert_eq!((all, found.with_cans.len()), (3, 1));
    let shown = format!("{:?}", found.end_of_cans);
    assert!(shown.starts_with("Limit(Gvm"), "{shown}");
}

/// From one fuel check to the next the same fuel leads to the same kilometre where nothing is filled between, and what
/// decides never leads farther than the best estimate. Without its cans a trip runs dry before the finish.
#[test]
fn what_is_left_leads_to_one_place() {
    let without_cans = samples().map(|mut document| {
        document["load"].as_object_mut().unwrap().remove("cans");
        document
    });
    let mut compared = 0;
    for document in samples().chain(without_cans) {
        let plan = Plan::at_target(trip(document), Effort::FIRST);
        let left = plan.range_left();
        assert_eq!(left.len(), plan.fuel_checks.len());
        let known = |km: Option<Kilometres>| km.map_or(f64::INFINITY, Kilometres::get);
        for left in left {
            assert!(known(left.to_minimum) <= known(left.to_minimum_best_estimate));
            assert!(known(left.until_empty) <= known(left.until_empty_best_estimate));
            assert!(known(left.to_minimum) <= known(left.until_empty));
        }
        for (pair, left) in plan.fuel_checks.windows(2).zip(left.windows(2)) {
            let is_filled = plan.stops.iter().any(|stop| {
                (pair[0].at_km..pair[1].at_km).contains(&stop.at_km) && stop.leave_with.is_some()
            });
            let lost = plan
                .decants
                .iter()
                .any(|decant| (pair[0].at_km..=pair[1].at_km).contains(&decant.at_km));
            let ends = [0, 1].map(|n| {
                let left = left[n].until_empty_best_estimate?;
                Some((pair[n].at_km + left).get())
            });
            let is_dry = pair[1].expected <= Litres::ZERO;
            if let ([Some(a), Some(b)], false) = (ends, is_filled || lost || is_dry) {
                assert!((a - b).abs() < 0.01, "{a} {b}");
                compared += 1;
            }
        }
    }
    assert!(compared > 10, "{compared}");
}

fn monotone(more: &Ranges, less: &Ranges, case: &str) -> Result<(), TestCaseError> {
    let pairs = more
        .as_stated
        .by_surface
        .iter()
        .zip(&less.as_stated.by_surface);
    for (more, less) in pairs {
        for (more, less) in [
            (more.to_minimum, less.to_minimum),
            (more.until_empty, less.until_empty),
        ] {
            // The curves of the simulation are fitted at half of what can be on board.
            let slack = 1.0 + 1e-3;
            prop_assert!(more.best_estimate * slack >= less.best_estimate, "{case}");
            prop_assert!(more.at_target * slack >= less.at_target, "{case}");
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(cases("range", 12))]

    /// More fuel goes farther; more mass, more reserve, more contingency and a higher target do not.
    #[test]
    fn ranges_are_monotone(
        tank in 30.0..90.0_f64, gear in 0.0..200.0_f64, reserve in 0.0..12.0_f64,
        contingency in 0.0..30.0_f64, target in 0.6..0.95_f64, base in 6.0..14.0_f64, more in 1.0..20.0_f64,
    ) {
        let with = |change: &dyn Fn(&mut Value)| {
            let mut document: Value = serde_json::from_str(SAMPLES[0]).unwrap();
            document["legs"] = json!([]);
            document.as_object_mut().unwrap().remove("what_ifs");
            document["vehicle"]["tank_l"] = json!(tank);
            document["vehicle"]["baseline_l_per_100km"] = json!(base);
            document["rules"]["start_l"] = json!(tank);
            document["load"]["gear"] = json!([{ "name": "all", "mass_kg": gear }]);
            document["rules"]["reserve"] = json!({ "litres": reserve, "km": 20 });
            document["rules"]["contingency_percent"] = json!(contingency);
            document["rules"]["success_target"] = json!(target);
            change(&mut document);
            ranges(&document)
        };
        let plain = with(&|_| {});
        monotone(&with(&|trip| trip["vehicle"]["tank_l"] = json!(tank + more)), &plain, "tank")?;
        monotone(&plain, &with(&|trip| trip["load"]["gear"][0]["mass_kg"] = json!(gear + more)), "gear")?;
        monotone(&plain, &with(&|trip| trip["rules"]["reserve"]["litres"] = json!(reserve + more)), "reserve")?;
        monotone(&plain, &with(&|trip| trip["rules"]["contingency_percent"] = json!(contingency + more)), "contingency")?;
        monotone(&plain, &with(&|trip| trip["rules"]["success_target"] = json!(target + 0.04)), "target")?;
        monotone(&plain, &with(&|trip| trip["vehicle"]["baseline_l_per_100km"] = json!(base + 1.0)), "baseline")?;
        for row in [&plain.empty, &plain.without_roof, &plain.as_stated] {
            for range in &row.by_surface {
                prop_assert!(range.to_minimum.best_estimate <= range.until_empty.best_estimate);
                prop_assert!(range.to_minimum.at_target <= range.until_empty.at_target);
                prop_assert!(range.to_minimum.at_target <= range.to_minimum.best_estimate);
            }
        }
        let mut fewer = &plain.as_stated;
        for more in &plain.with_cans {
            for (more, fewer) in more.loaded.by_surface.iter().zip(&fewer.by_surface) {
                // The first can on a roof brings its drag along: on 2,000 km that costs what it holds.
                let slack = 1.0 + 5e-3;
                prop_assert!(more.to_minimum.at_target * slack > fewer.to_minimum.at_target, "{more:?} {fewer:?}");
            }
            fewer = &more.loaded;
        }
        for (loaded, bare) in [(&plain.without_roof, &plain.empty), (&plain.as_stated, &plain.without_roof)] {
            for (loaded, bare) in loaded.by_surface.iter().zip(&bare.by_surface) {
                prop_assert!(loaded.until_empty.best_estimate <= bare.until_empty.best_estimate);
            }
        }
    }
}
