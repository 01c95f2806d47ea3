//! The sample trips: sound, plainly invented, and each showing what it is there to show.

#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use std::path::Path;

use drystage::consumption::terrain::geodesic;
use drystage::model::{Trip, check};
use drystage::plan::{Finding, Plan, Severity, Verdict, What};

/// Each sample with a stretch of open ocean, in degrees south, north, west, east, that holds its
/// places: no coast lies within 500 km, so nobody can take an invented pump for a real one.
const SAMPLES: [(&str, [f64; 4]); 4] = [
    ("plateau-loop", [-44.0, -40.0, -122.0, -118.0]),
    ("dune-coast", [-42.0, -39.0, 94.0, 98.0]),
    ("forest-weekend", [40.0, 43.0, -162.0, -158.0]),
    ("long-dry-stage", [-33.0, -29.0, -22.0, -16.0]),
];

fn sample(name: &str) -> Trip {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("sample-routes")
        .join(name)
        .with_extension("json");
    let document = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    check::read(document).unwrap_or_else(|problems| panic!("{name}: {problems:?}"))
}

#[test]
fn every_sample_says_that_it_is_invented_and_lies_in_the_ocean() {
    for (name, [south, north, west, east]) in SAMPLES {
        let trip = sample(name);
        assert!(
            trip.name.as_ref().unwrap().ends_with("(invented)"),
            "{name}"
        );
        for place in trip.places() {
            let at = place.position.unwrap();
            assert!(
                (south..=north).contains(&at.lat.get()),
                "{name} {}",
                place.name
            );
            assert!(
                (west..=east).contains(&at.lon.get()),
                "{name} {}",
                place.name
            );
        }
    }
}

#[test]
fn every_what_if_of_a_sample_fits_and_changes_its_trip() {
    for (name, _) in SAMPLES {
        let trip = sample(name);
        assert!(trip.what_ifs().len() >= 3, "{name}");
        for what_if in trip.what_ifs() {
            let changed = trip.with_what_if(&what_if.name).unwrap();
            assert_ne!(changed, trip, "{name}: {}", what_if.name);
        }
    }
}

/// Nobody drives a leg that is shorter than the straight line.
#[test]
fn no_leg_of_a_sample_is_shorter_than_the_straight_line() {
    for (name, _) in SAMPLES {
        let trip = sample(name);
        for (leg, node) in trip.legs.iter().zip(1..) {
            let from = trip.place(node - 1).position.unwrap();
            let to = trip.place(node).position.unwrap();
            if let Some(distance) = leg.distance_km {
                assert!(distance >= geodesic(from, to), "{name} {}", leg.to);
            }
        }
    }
}

#[test]
fn the_forest_weekend_needs_no_spare_fuel() {
    let plan = Plan::of(sample("forest-weekend"));
    assert_eq!(plan.verdict(), Verdict::TankDoes);
}

#[test]
fn the_plateau_and_the_dunes_need_a_can_or_two_and_nothing_forbids_them() {
    for name in ["plateau-loop", "dune-coast"] {
        let plan = Plan::of(sample(name));
        assert_eq!(plan.verdict(), Verdict::CansDo, "{name}");
        let cans: u32 = plan.spare.cans.iter().map(|cans| cans.count).sum();
        assert!((1..=2).contains(&cans), "{name}: {cans}");
        let grave = plan
            .findings
            .iter()
            .filter(|f| f.severity() == Severity::Stop);
        assert_eq!(grave.count(), 0, "{name}: {:?}", plan.findings);
    }
}

#[test]
fn the_spare_fuel_of_the_long_dry_stage_breaks_the_roof_rating() {
    let plan = Plan::of(sample("long-dry-stage"));
    assert_eq!(plan.verdict(), Verdict::Overloaded);
    let broken = |finding: &Finding| matches!(finding.what, What::OverRoof { off_road: true, .. });
    assert!(plan.findings.iter().any(broken), "{:?}", plan.findings);
    let on_a_carrier = plan.trip.with_what_if("cans on a rear carrier").unwrap();
    assert_eq!(Plan::of(on_a_carrier).verdict(), Verdict::CansDo);
}
