//! The sample trips: sound, plainly invented, and each showing what it is there to show.

use std::path::{Path, PathBuf};

use drystage::consumption::terrain;
use drystage::io::import::{Options, import};
use drystage::io::{json, tracks};
use drystage::model::Trip;
use drystage::model::geodesic::distance;
use drystage::model::route::WayBack;
use drystage::plan::{Finding, Plan, Severity, Verdict, What};
use drystage::quantity::{Kilometres, Metres};

/// Each sample with a stage of open ocean, in degrees south, north, west, east, that holds its
/// places: no coast lies within 500 km, so nobody can take an invented pump for a real one.
const SAMPLES: [(&str, [f64; 4]); 4] = [
    ("plateau-loop", [-44.0, -40.0, -122.0, -118.0]),
    ("dune-coast", [-42.0, -39.0, 94.0, 98.0]),
    ("forest-weekend", [40.0, 43.0, -162.0, -158.0]),
    ("long-dry-stage", [-33.0, -29.0, -22.0, -16.0]),
];

fn path(file: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("sample-routes")
        .join(file)
}

fn sample(name: &str) -> Trip {
    let mut trip = json::read(&path(&format!("{name}.json"))).unwrap();
    tracks::read(&mut trip, &path("")).unwrap();
    trip
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
        for (leg, place_number) in trip.legs.iter().zip(1..) {
            let from = trip.place(place_number - 1).position.unwrap();
            let to = trip.place(place_number).position.unwrap();
            if let Some(stated) = leg.distance_km {
                assert!(
                    stated >= Kilometres::from(distance(from, to)),
                    "{name} {}",
                    leg.to
                );
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
        let cans: u32 = plan.in_cans.cans.iter().map(|cans| cans.count).sum();
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

/// The stated lengths and climbs of the plateau are rounded from its track, and one leg takes them from a track of
/// its own, so the imported legs must be those of the trip.
#[test]
fn the_track_of_the_plateau_imports_as_the_legs_of_its_trip() {
    let imported = import(&[path("plateau-loop.gpx")], &Options::default()).unwrap();
    let trip = sample("plateau-loop");
    let names =
        |trip: &Trip| -> Vec<String> { trip.places().map(|place| place.name.to_owned()).collect() };
    assert_eq!(names(&imported.trip), names(&trip));
    let measured = terrain::of(&imported.trip);
    for (ours, stated) in measured.iter().zip(terrain::of(&trip)) {
        assert!((ours.distance - stated.distance).abs() < Kilometres::new(0.5));
        assert!(
            (ours.ascent - stated.ascent).abs() < Metres::new(10.0),
            "{ours:?}, {stated:?}"
        );
        assert!(
            (ours.descent - stated.descent).abs() < Metres::new(10.0),
            "{ours:?}, {stated:?}"
        );
    }
}

#[test]
fn the_leg_table_of_the_dunes_imports_as_the_legs_of_its_trip() {
    let imported = import(&[path("dune-coast-legs.csv")], &Options::default()).unwrap();
    let mut trip = sample("dune-coast");
    for leg in &mut trip.legs {
        // The table leaves out what the trip only states again, and what a sentence says.
        leg.way_back = leg.way_back.take().map(|back| WayBack {
            possible: None,
            ..back
        });
        if let Some(fuel) = &mut leg.fuel {
            fuel.note = None;
        }
    }
    assert_eq!(imported.trip.legs, trip.legs);
}
