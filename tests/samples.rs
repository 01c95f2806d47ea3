//! The sample trips: sound, plainly invented, and each showing what it is there to show.

#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use std::path::Path;

use drystage::model::{Trip, check};

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
