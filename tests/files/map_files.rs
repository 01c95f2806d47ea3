//! Files to take along: GPX and `GeoJSON` read by second implementations and by our own import, and the leg
//! table through a spreadsheet's hands.

use crate::imported;
use crate::kept;
use crate::legal;

use std::fs;
use std::path::Path;

use drystage::io::import::Options;
use drystage::io::{gpx as reader, json as trip_file, tracks};
use drystage::model::line::Polyline;
use drystage::model::track::Track;
use drystage::model::vocabulary::UnitSystem;
use drystage::model::{Trip, check};
use drystage::plan::Plan;
use drystage::present::number::Units;
use drystage::present::strip::Strip;
use drystage::report::csv::{Dialect, table};
use drystage::report::{Case, geojson as geojson_report, gpx};
use geojson::GeometryValue;
use imported::{import, trip_of};
use proptest::prelude::*;
use serde_json::{Value, json};

const METRIC: Units = Units(UnitSystem::Metric);

/// The sample trips.
const SAMPLES: [&str; 4] = [
    "plateau-loop.json",
    "long-dry-stage.json",
    "dune-coast.json",
    "forest-weekend.json",
];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn sample(name: &str) -> Plan {
    let path = root().join("sample-routes").join(name);
    let mut trip = trip_file::read(&path).unwrap();
    tracks::read(&mut trip, path.parent().unwrap()).unwrap();
    Plan::best_estimate(trip)
}

fn example() -> Value {
    let text = fs::read_to_string(root().join("tests/data/example-trip.json")).unwrap();
    serde_json::from_str(&text).unwrap()
}

fn plan(document: Value) -> Plan {
    Plan::best_estimate(check::read(document).unwrap())
}

fn as_gpx(plan: &Plan) -> String {
    gpx::file(Case::as_stated(plan), METRIC).unwrap().text
}

fn as_geojson(plan: &Plan) -> geojson::FeatureCollection {
    let text = geojson_report::file(Case::as_stated(plan), METRIC)
        .unwrap()
        .text;
    geojson::FeatureCollection::try_from(text.parse::<geojson::GeoJson>().unwrap()).unwrap()
}

#[test]
fn files_as_they_are_written() {
    let plan = plan(example());
    insta::assert_snapshot!("example-trip-gpx", as_gpx(&plan));
    let text = geojson_report::file(Case::as_stated(&plan), METRIC)
        .unwrap()
        .text;
    let document: Value = serde_json::from_str(&text).unwrap();
    let features = document["features"].as_array().unwrap();
    insta::assert_snapshot!(
        "example-trip-geojson",
        [&features[1], &features[8]]
            .map(|feature| serde_json::to_string_pretty(feature).unwrap())
            .join("\n")
    );
    insta::assert_snapshot!("example-trip-csv", table(&plan, Dialect::default()));
}

/// A second implementation reads the same points, and everything that the strip marks is there.
#[test]
fn a_second_reader_finds_every_place_mark_and_track_point() {
    for name in [
        "plateau-loop.json",
        "long-dry-stage.json",
        "dune-coast.json",
    ] {
        let plan = sample(name);
        let text = as_gpx(&plan);
        let read = ::gpx::read(text.as_bytes()).unwrap();
        let marks = Strip::from_plan(plan.clone()).all_marks().len();
        let mut places: Vec<&str> = (0..=plan.legs.len())
            .map(|place_number| plan.trip.place(place_number).name)
            .collect();
        assert_eq!(read.routes[0].points.len(), places.len());
        places.sort_unstable();
        places.dedup();
        assert_eq!(read.waypoints.len(), places.len() + marks, "{name}");
        for point in &read.waypoints {
            for text in [&point.name, &point.description, &point.symbol, &point.type_] {
                assert!(
                    text.as_ref().is_some_and(|text| !text.is_empty()),
                    "{name}: {point:?}"
                );
            }
        }
        let start = &read.waypoints[0];
        assert_eq!(
            start.point().y().to_bits(),
            plan.trip.start.lat.unwrap().get().to_bits()
        );
        let own = reader::read(text.as_bytes(), false).unwrap();
        assert_eq!(own.waypoints.len(), read.waypoints.len());
        assert!(
            own.passed_over.iter().all(|(element, _)| element == "desc"),
            "{:?}",
            own.passed_over
        );
        let points: usize = plan
            .trip
            .legs
            .iter()
            .filter_map(|leg| leg.track.as_ref())
            .flat_map(|track| track.lines().iter().map(|line| line.points().len()))
            .sum();
        let written: usize = read
            .tracks
            .iter()
            .flat_map(|track| &track.segments)
            .map(|segment| segment.points.len())
            .sum();
        assert_eq!(written, points, "{name}");
    }
}

/// What the import sees of a way: names, positions and the length of what was measured.
fn way(trip: &Trip) -> Vec<impl PartialEq + std::fmt::Debug> {
    trip.legs
        .iter()
        .map(|leg| {
            let at = leg
                .lat
                .zip(leg.lon)
                .map(|(lat, lon)| (lat.get(), lon.get()));
            (leg.to.clone(), at, leg.track.is_some())
        })
        .collect()
}

/// The places come back with name and position, the legs' tracks as tracks, fuel stops as fuel stops; marks are no
/// places.
#[test]
fn import_reads_what_was_written() {
    for name in SAMPLES {
        let plan = sample(name);
        let text = as_gpx(&plan);
        let back = trip_of("back.gpx", &text);
        assert_eq!(way(&back), way(&plan.trip), "{name}");
        assert_eq!(back.start.name, plan.trip.start.name);
        assert_eq!(back.name, plan.trip.name);
        let fuel_stops = |trip: &Trip| {
            (0..=trip.legs.len())
                .map(|place_number| trip.place(place_number).fuel.is_some())
                .collect::<Vec<_>>()
        };
        // A place that is met twice has its fuel stop both times.
        let named: Vec<bool> = (0..=plan.legs.len())
            .map(|place_number| {
                let name = plan.trip.place(place_number).name;
                (0..=plan.legs.len()).any(|other| {
                    plan.trip.place(other).name == name && plan.trip.place(other).fuel.is_some()
                })
            })
            .collect();
        assert_eq!(fuel_stops(&back), named, "{name}");
        for (back, leg) in back.legs.iter().zip(&plan.trip.legs) {
            let Some(track) = &leg.track else { continue };
            let length = track.profile().unwrap().length.get();
            let measured = back.distance_km.unwrap().get() * 1000.0;
            assert!((measured - length).abs() < 1.0, "{measured} {length}");
        }
    }
}

/// Start and legs come back through `GeoJSON` as they were stated, tracks and all; where a leg's track lies in a
/// file of its own, its points come back.
#[test]
fn import_reads_every_leg_of_a_collection() {
    for name in SAMPLES {
        let plan = sample(name);
        let text = geojson_report::file(Case::as_stated(&plan), METRIC)
            .unwrap()
            .text;
        let back = import(&[("back.geojson", text.as_bytes())], &Options::default()).unwrap();
        assert_eq!(back.trip.start, plan.trip.start, "{name}");
        assert_eq!(
            back.trip.legs,
            with_inline_tracks(&plan.trip).legs,
            "{name}"
        );
        assert_eq!(back.trip.name, plan.trip.name);
        assert!(
            back.notes.iter().all(|note| note.contains("placeholder")),
            "{:?}",
            back.notes
        );
    }
}

fn with_inline_tracks(trip: &Trip) -> Trip {
    let mut trip = trip.clone();
    for leg in &mut trip.legs {
        let lines = leg.track.as_ref().map(|track| track.lines().to_vec());
        leg.track = lines.map(Track::of_lines);
    }
    trip
}

#[test]
fn a_trip_without_positions_gives_no_map_file() {
    let mut trip = example();
    trip["start"]
        .as_object_mut()
        .unwrap()
        .retain(|key, _| key != "lat" && key != "lon");
    for leg in trip["legs"].as_array_mut().unwrap() {
        leg.as_object_mut()
            .unwrap()
            .retain(|key, _| key != "lat" && key != "lon");
    }
    let plan = plan(trip);
    assert!(gpx::file(Case::as_stated(&plan), METRIC).is_none());
    assert!(geojson_report::file(Case::as_stated(&plan), METRIC).is_none());
}

#[test]
fn places_without_a_position_are_reported() {
    let mut trip = example();
    trip["legs"][2]
        .as_object_mut()
        .unwrap()
        .retain(|key, _| key != "lat" && key != "lon");
    let plan = plan(trip);
    let file = gpx::file(Case::as_stated(&plan), METRIC).unwrap();
    assert!(
        file.unplaced.contains(&"Broken Stair".to_owned()),
        "{:?}",
        file.unplaced
    );
    assert!(!file.text.contains("<name>Broken Stair</name>"));
}

/// A way over the antimeridian is cut there and never goes round the Earth.
#[test]
fn lines_are_cut_at_the_antimeridian() {
    let mut trip = example();
    trip["start"]["lon"] = json!(179.5);
    for (leg, lon) in trip["legs"]
        .as_array_mut()
        .unwrap()
        .iter_mut()
        .zip([179.9, -179.7, 180.0, -180.0, 179.8, 179.5])
    {
        leg["lon"] = json!(lon);
    }
    let plan = plan(trip);
    let features = as_geojson(&plan).features;
    let mut cuts = 0;
    for feature in &features {
        let lines: Vec<&Vec<geojson::Position>> = match &feature.geometry.as_ref().unwrap().value {
            GeometryValue::LineString { coordinates } => vec![coordinates],
            GeometryValue::MultiLineString { coordinates } => {
                cuts += 1;
                coordinates.iter().collect()
            }
            _ => continue,
        };
        for pair in lines.iter().flat_map(|line| line.windows(2)) {
            assert!(
                (pair[0].as_slice()[0] - pair[1].as_slice()[0]).abs() <= 180.0,
                "{pair:?}"
            );
        }
    }
    assert!(cuts >= 2, "{cuts}");
    let read = ::gpx::read(as_gpx(&plan).as_bytes()).unwrap();
    for point in &read.routes[0].points {
        assert!(
            (-180.0..180.0).contains(&point.point().x()),
            "{:?}",
            point.point()
        );
    }
}

#[test]
fn a_collection_has_every_leg_and_every_point() {
    let plan = sample("plateau-loop.json");
    let features = as_geojson(&plan).features;
    let kind = |kind: &str| {
        features
            .iter()
            .filter(|feature| feature.property("kind").and_then(Value::as_str) == Some(kind))
            .count()
    };
    assert_eq!(kind("leg"), plan.legs.len());
    assert_eq!(kind("decant"), plan.decants.len());
    assert_eq!(kind("fuel stop"), 3);
    assert_eq!(kind("place"), 4);
    for feature in &features {
        let description = feature
            .property("description")
            .or_else(|| feature.property("fuel_l"));
        assert!(description.is_some(), "{feature:?}");
    }
}

/// Text that a spreadsheet would run begins no cell; it comes back as it was.
#[test]
fn no_cell_is_a_formula() {
    let mut trip = example();
    let names = [
        "=cmd|' /C calc'!A0",
        "+1+1",
        "-2+3",
        "@sum(1)",
        "'quoted",
        "=\"a\",\"b\";c",
    ];
    for (leg, name) in trip["legs"].as_array_mut().unwrap().iter_mut().zip(names) {
        leg["to"] = json!(name);
        leg["note"] = json!(name);
    }
    trip["start"]["name"] = json!("=1");
    trip["what_ifs"] = json!([]);
    let plan = plan(trip);
    for delimiter in [b',', b';', b'\t'] {
        let text = table(
            &plan,
            Dialect {
                delimiter,
                byte_order_mark: true,
            },
        );
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(delimiter)
            .from_reader(text.trim_start_matches('\u{feff}').as_bytes());
        for cell in reader.records().flat_map(|record| {
            record
                .unwrap()
                .iter()
                .map(str::to_owned)
                .collect::<Vec<_>>()
        }) {
            let harmless = !cell.starts_with(['=', '+', '-', '@']) || cell.parse::<f64>().is_ok();
            assert!(harmless, "{cell}");
        }
        let back = trip_of("t.csv", &text);
        assert_eq!(back.legs, without_tracks(&plan.trip).legs);
        assert_eq!(back.start, plan.trip.start);
    }
}

fn without_tracks(trip: &Trip) -> Trip {
    let mut trip = trip.clone();
    for leg in &mut trip.legs {
        leg.track = None;
    }
    trip
}

#[test]
fn every_sample_comes_back_through_a_table() {
    for name in SAMPLES {
        let plan = sample(name);
        let text = table(&plan, Dialect::default());
        assert!(
            text.ends_with("\r\n") && !text.replace("\r\n", "").contains(['\r', '\n']),
            "{name}"
        );
        let back = trip_of("t.csv", &text);
        assert_eq!(back.start, plan.trip.start, "{name}");
        assert_eq!(back.legs, without_tracks(&plan.trip).legs, "{name}");
    }
}

proptest! {
    #![proptest_config(kept::cases("map_files", 40))]

    /// Whatever the names: the files are read by a second implementation, and the names come back.
    #[test]
    fn names_survive(names in prop::collection::vec("[A-Z][<>&\"'a-zé漢\\]]{0,10}[a-z]", 6)) {
        let mut trip = example();
        for (leg, name) in trip["legs"].as_array_mut().unwrap().iter_mut().zip(&names) {
            leg["to"] = json!(name);
        }
        trip["what_ifs"] = json!([]);
        prop_assume!(check::read(trip.clone()).is_ok());
        let plan = plan(trip);
        let read = ::gpx::read(as_gpx(&plan).as_bytes()).unwrap();
        let found: Vec<&str> = read.routes[0].points[1..].iter().filter_map(|point| point.name.as_deref()).collect();
        prop_assert_eq!(found, names.iter().map(String::as_str).collect::<Vec<_>>());
        let features = as_geojson(&plan).features;
        let found: Vec<&str> = features.iter().take(6).filter_map(|feature| feature.property("to")?.as_str()).collect();
        prop_assert_eq!(found, names.iter().map(String::as_str).collect::<Vec<_>>());
        let text = table(&plan, Dialect::default());
        let back = trip_of("t.csv", &text);
        prop_assert_eq!(back.legs, plan.trip.legs.clone());
    }

    /// Whatever the format allows comes back through `GeoJSON` as it was stated.
    #[test]
    fn any_trip_comes_back_through_a_collection(document in legal::documents()) {
        // A file of points that is not there cannot come back.
        let is_file = |leg: &Value| leg["track"].is_string();
        prop_assume!(!document["legs"].as_array().unwrap().iter().any(is_file));
        let plan = plan(document);
        let Some(file) = geojson_report::file(Case::as_stated(&plan), METRIC) else { return Ok(()) };
        let back = import(&[("back.geojson", file.text.as_bytes())], &Options::default());
        let back = back.map_err(|error| TestCaseError::fail(error.to_string()))?.trip;
        prop_assert_eq!(&back.start, &plan.trip.start);
        let mut expected = with_inline_tracks(&plan.trip).legs;
        for leg in &mut expected {
            // A line has two positions at least.
            let Some(track) = &leg.track else { continue };
            let twice = |line: &Polyline| match line.points() {
                [one] => Polyline::new(vec![*one, *one]),
                _ => line.clone(),
            };
            leg.track = Some(Track::of_lines(track.lines().iter().map(twice).collect()));
        }
        prop_assert_eq!(back.legs, expected);
    }

    /// Places and the lengths of the tracks between them come back through GPX.
    #[test]
    fn any_way_comes_back_through_gpx(
        names in prop::collection::hash_set("[A-Z][<>&\"'a-zé漢]{0,10}[a-z]", 3..7),
        steps in prop::collection::vec((0.02_f64..0.2, -0.2_f64..0.2, -400.0_f64..4000.0), 60),
        lon in -180.0_f64..180.0,
    ) {
        let mut steps = steps.into_iter();
        let mut names = names.into_iter();
        let mut at = [lon, -48.0];
        let mut trip = example();
        trip["what_ifs"] = json!([]);
        trip["start"] = json!({ "name": names.next(), "lon": at[0], "lat": at[1], "fuel": {} });
        let legs = names.map(|name| {
            let mut track = vec![json!([at[0], at[1], 100])];
            for (north, east, height) in steps.by_ref().take(8) {
                at = [(at[0] + east + 540.0).rem_euclid(360.0) - 180.0, at[1] + north];
                track.push(json!([at[0], at[1], height]));
            }
            json!({ "to": name, "lon": at[0], "lat": at[1], "track": track })
        });
        trip["legs"] = legs.collect();
        prop_assume!(check::read(trip.clone()).is_ok());
        let plan = plan(trip);
        let back = trip_of("back.gpx", &as_gpx(&plan));
        prop_assert_eq!(back.start.name.as_str(), plan.trip.start.name.as_str());
        prop_assert_eq!(back.legs.len(), plan.trip.legs.len());
        for (back, leg) in back.legs.iter().zip(&plan.trip.legs) {
            prop_assert_eq!(&back.to, &leg.to);
            prop_assert!((back.lat.unwrap() - leg.lat.unwrap()).get().abs() < 1e-6);
            let length = leg.track.as_ref().unwrap().profile().unwrap().length.get();
            prop_assert!((back.distance_km.unwrap().get() * 1000.0 - length).abs() < 1.0);
        }
    }

    /// Positions survive to the last bit in both, wherever the place lies.
    #[test]
    fn positions_survive(lat in -90.0_f64..=90.0, lon in -180.0_f64..180.0) {
        let mut trip = example();
        trip["legs"][0]["lat"] = json!(lat);
        trip["legs"][0]["lon"] = json!(lon);
        let plan = plan(trip);
        let own = reader::read(as_gpx(&plan).as_bytes(), false).unwrap();
        let line = own.lines.iter().find(|line| line.kind == drystage::io::reading::LineKind::Route).unwrap();
        prop_assert_eq!(line.points[1].lat.get().to_bits(), lat.to_bits());
        prop_assert_eq!(line.points[1].lon.get().to_bits(), lon.to_bits());
        let features = as_geojson(&plan).features;
        let place = features.iter().find(|feature| feature.property("name").and_then(Value::as_str) == Some("Cold Spring")).unwrap();
        let GeometryValue::Point { coordinates } = &place.geometry.as_ref().unwrap().value else { panic!() };
        prop_assert_eq!(coordinates.as_slice(), [lon, lat]);
    }
}

#[test]
fn a_leg_is_the_same_leg() {
    // The comparison above is of whole legs: a difference in any key would show.
    let plan = plan(example());
    let text = table(&plan, Dialect::default());
    let changed = text.replace("corrugated", "gravel");
    let back = trip_of("t.csv", &changed);
    let pairs = back.legs.iter().zip(&plan.trip.legs);
    assert_eq!(pairs.filter(|(back, leg)| back != leg).count(), 1);
}
