//! `GeoJSON` (RFC 7946) into trips: what is taken, what is refused and where, and this program's own files back.
//! All lines are invented and lie in mid-ocean.

use crate::imported;
use crate::kept;

use drystage::io::geojson;
use drystage::io::import::Options;
use drystage::io::reading::Reading;
use drystage::model::Trip;
use drystage::quantity::Metres;
use imported::{import, note, places, refusal, trip_of};
use proptest::prelude::*;
use serde_json::{Value, json};

fn read(text: &str) -> Reading {
    geojson::read(text.as_bytes(), false).unwrap()
}

/// What is wrong with a file, a problem a line.
fn refused(text: &str) -> String {
    let faults = geojson::read(text.as_bytes(), false).expect_err("refused");
    let messages: Vec<String> = faults
        .iter()
        .map(|fault| {
            let line = fault
                .line
                .map_or_else(String::new, |line| format!("line {line}: "));
            format!("{line}{}: {}", fault.at, fault.cause)
        })
        .collect();
    messages.join("\n")
}

fn line(coordinates: &Value) -> Value {
    json!({ "type": "LineString", "coordinates": coordinates })
}

fn feature(geometry: &Value, properties: &Value) -> Value {
    json!({ "type": "Feature", "geometry": geometry, "properties": properties })
}

fn collection(features: &[Value]) -> String {
    json!({ "type": "FeatureCollection", "features": features }).to_string()
}

fn trip(text: &str) -> Trip {
    trip_of("a.geojson", text)
}

/// The lengths of a meridian arc and of its parts do not hang on how the file wraps them.
#[test]
fn a_collection_a_feature_and_a_bare_geometry_are_taken_alike() {
    let way = line(&json!([
        [-130, -48, 100],
        [-130, -48.1, 140],
        [-130, -48.2]
    ]));
    let named = feature(&way, &json!({ "name": "Day" }));
    let forms = [
        way.to_string(),
        named.to_string(),
        collection(std::slice::from_ref(&named)),
        json!({ "type": "GeometryCollection", "geometries": [way] }).to_string(),
        // Members in any order, and a byte-order mark.
        format!(
            "\u{feff} {{\"coordinates\": {}, \"type\": \"LineString\"}}",
            way["coordinates"]
        ),
        format!(
            "{{\"features\": [{{\"properties\": null, \"geometry\": {way}, \"type\": \"Feature\"}}], \"type\": \"FeatureCollection\"}}"
        ),
    ];
    for form in &forms {
        let trip = trip(form);
        assert_eq!(trip.legs.len(), 1, "{form}");
        let leg = &trip.legs[0];
        assert!(
            (leg.distance_km.unwrap().get() - 22.239).abs() < 0.01,
            "{form}"
        );
        assert_eq!(leg.ascent_m, Some(Metres::new(40.0)));
    }
    assert_eq!(trip(&forms[1]).legs[0].to, "end of Day");
}

#[test]
fn points_are_places_with_their_words_and_lines_are_tracks_with_their_times() {
    let points = [
        feature(
            &json!({ "type": "Point", "coordinates": [-130, -48.2, 12] }),
            &json!({ "title": "Pump", "marker-symbol": "fuel", "description": "open\u{1b}[31m late" }),
        ),
        feature(
            &json!({ "type": "MultiPoint", "coordinates": [[-130, -48.1], [-130, -48.3]] }),
            &json!({ "name": 7, "type": "hut" }),
        ),
    ];
    let way = feature(
        &line(&json!([[-130, -48], [-130, -48.2], [-130, -48.4]])),
        &json!({ "name": "Day", "coordTimes": ["2020-02-01T00:00:00Z", "2020-02-01T00:05:00Z", null], "colour": "red" }),
    );
    let text = collection(&[points[0].clone(), points[1].clone(), way]);
    let reading = read(&text);
    assert_eq!(reading.waypoints.len(), 3);
    assert_eq!(
        reading.waypoints[0].words.description.as_deref(),
        Some("open late")
    );
    assert_eq!(reading.lines[0].times.iter().flatten().count(), 2);
    assert_eq!(reading.passed_over, [("colour".to_owned(), 1)]);
    let trip = trip(&text);
    assert_eq!(places(&trip), ["7", "Pump", "7 (2)", "end of Day"]);
    assert!(trip.legs[1].fuel.is_some() && trip.legs[0].fuel.is_none());
}

#[test]
fn parts_are_segments_but_a_cut_at_the_antimeridian_is_none() {
    let parts = json!({ "type": "MultiLineString", "coordinates": [
        [[179.8, -48], [180, -48.1]],
        [[-180, -48.1], [-179.8, -48.2]],
        [[-179.0, -48.2], [-178.9, -48.2]],
    ]});
    let reading = read(&feature(&parts, &json!({ "coordinateProperties": { "times": [
        ["2020-02-01T00:00:00Z", "2020-02-01T00:10:00Z"], ["2020-02-01T00:10:00Z", "2020-02-01T00:20:00Z"], []] } })).to_string());
    assert_eq!(reading.lines.len(), 2);
    let segments: Vec<usize> = reading.lines.iter().map(|line| line.segment).collect();
    assert_eq!(segments, [1, 2]);
    let points = reading.lines[0].points.iter();
    let lons: Vec<f64> = points.map(|point| point.lon.get()).collect();
    assert_eq!(lons, [179.8, 180.0, -179.8]);
    assert_eq!(reading.lines[0].times.len(), 3);
    // Some programs count on past 180 instead.
    let unrolled = read(&line(&json!([[179.9, -48], [180.1, -48]])).to_string());
    assert!((unrolled.lines[0].points[1].lon.get() + 179.9).abs() < 1e-9);
}

#[test]
fn what_has_no_use_is_passed_over_and_listed() {
    let area = json!({ "type": "Polygon", "coordinates": [[[0, 0], [1, 0], [1, 1], [0, 0]]] });
    let text = collection(&[
        feature(&area, &json!({})),
        feature(&Value::Null, &json!({ "name": "nowhere" })),
        feature(&line(&json!([])), &Value::Null),
        feature(
            &line(&json!([[-130, -48], [-130, -48.1]])),
            &json!({ "deep": { "er": [1, { "x": null }] } }),
        ),
    ]);
    let text = text.replacen('{', "{\"crs\": {\"a\": 1}, \"bbox\": [0, 0, 1, 1], ", 1);
    let mut names: Vec<String> = read(&text)
        .passed_over
        .into_iter()
        .map(|(name, _)| name)
        .collect();
    names.sort();
    assert_eq!(
        names,
        [
            "LineString without coordinates",
            "Polygon",
            "crs",
            "deep",
            "feature without a geometry"
        ]
    );
    assert_eq!(trip(&text).legs.len(), 1);
}

#[test]
fn what_is_wrong_is_reported_with_its_path() {
    let way = |coordinates: &str| {
        format!(
            "{{\"type\": \"FeatureCollection\", \"features\": [{{\"type\": \"Feature\", \"properties\": {{}},\n\"geometry\": {{\"type\": \"LineString\",\n\"coordinates\": {coordinates}}}}}]}}"
        )
    };
    let deep = |depth: usize| format!("{}{}", "[".repeat(depth), "]".repeat(depth));
    let broken = [
        (
            "latitude over 90, as if it came first",
            way("[[-48, -130], [1, 2]]"),
        ),
        (
            "every wrong position",
            way("[[0, 95], [400, 1], [1], [\"1\", 2], [null, 2], [1, 2]]"),
        ),
        ("NaN", way("[[NaN, 1], [1, 2]]")),
        ("NaN as text", way("[[\"NaN\", 1], [1, 2]]")),
        ("a number too large", way("[[1e999, 1], [1, 2]]")),
        ("a number among positions", way("[[1, 2], 3]")),
        ("lists of another depth", way("[[[1, 2], [3, 4]]]")),
        ("a position and a list", way("[[1, 2], [[3, 4]]]")),
        ("text for coordinates", way("\"1 2\"")),
        ("deep nesting", way(&deep(100_000))),
        ("truncated", way("[[1, 2], [3, 4]]")[..150].to_owned()),
        (
            "more behind it",
            format!("{} {{}}", line(&json!([[1, 2], [3, 4]]))),
        ),
        ("a list", "[1, 2]".to_owned()),
        (
            "another type",
            "{\"type\": \"Topology\", \"objects\": {}}".to_owned(),
        ),
        ("no type", "{\"coordinates\": [1, 2]}".to_owned()),
        (
            "no features",
            "{\"type\": \"FeatureCollection\"}".to_owned(),
        ),
        (
            "a collection in a collection",
            collection(&[json!({ "type": "FeatureCollection", "features": [] })]),
        ),
        (
            "a member twice",
            "{\"type\": \"Point\", \"type\": \"Point\", \"coordinates\": [1, 2]}".to_owned(),
        ),
        ("a trip", "{\"drystage\": 1, \"legs\": []}".to_owned()),
        (
            "properties that are none",
            "{\"type\": \"Feature\", \"geometry\": null, \"properties\": 3}".to_owned(),
        ),
        (
            "a control character",
            "{\"type\": \"Po\u{1}int\"}".to_owned(),
        ),
        (
            "a stated leg of another shape",
            collection(&[feature(
                &Value::Null,
                &json!({ "trip_leg": { "to": "A", "sand": 1 } }),
            )]),
        ),
    ];
    let table: Vec<String> = broken
        .iter()
        .map(|(name, text)| format!("{name}:\n  {}", refused(text).replace('\n', "\n  ")))
        .collect();
    insta::assert_snapshot!(table.join("\n"));
}

#[test]
fn no_more_than_twenty_problems_are_reported_and_bytes_that_are_no_text_are_refused() {
    let text = line(&json!(vec![[0, 99]; 1000])).to_string();
    assert_eq!(refused(&text).lines().count(), 20);
    let latin =
        b"{\"type\": \"Feature\", \"properties\": {\"name\": \"caf\xE9\"}, \"geometry\": null}";
    assert!(geojson::read(latin.as_slice(), false).is_err());
    let wide = imported::utf_16("{\"type\": \"Point\"}", u16::to_le_bytes);
    let message = refusal("wide.geojson", &wide);
    assert!(message.contains("must be UTF-8 (RFC 8259)"), "{message}");
}

#[test]
fn salvage_takes_what_precedes_the_damage() {
    let ways = [[-48.0, -48.1], [-48.1, -48.2]]
        .map(|[from, to]| feature(&line(&json!([[-130, from], [-130, to]])), &json!({})));
    let text = collection(&ways);
    let cut = text.rfind("-48.2").unwrap();
    let options = Options {
        salvage: true,
        ..Options::default()
    };
    let damaged = &text[..cut];
    let imported = import(&[("a.geojson", damaged.as_bytes())], &options).unwrap();
    assert_eq!(imported.trip.legs.len(), 1);
    note(&imported, "damaged at line 1");
    refusal("a.geojson", damaged);
}

/// Whether a trip or only its measures are asked for.
#[test]
fn a_file_without_a_way_is_refused_in_every_form() {
    let point = json!({ "type": "Point", "coordinates": [-130, -48] });
    for text in [
        collection(&[]),
        collection(&[feature(&point, &Value::Null)]),
    ] {
        let run = |arguments: &[&str]| {
            let mut command = assert_cmd::Command::cargo_bin("drystage").unwrap();
            let input = command
                .arg("import")
                .args(arguments)
                .write_stdin(text.clone());
            let output = input.output().unwrap();
            assert_eq!(output.status.code(), Some(2), "{output:?}");
            String::from_utf8(output.stderr).unwrap()
        };
        let text = run(&["-"]);
        assert!(
            text.contains("An import needs a track or route with a length"),
            "{text}"
        );
        assert_eq!(run(&["-", "--format", "json"]), text);
        assert_eq!(run(&["-", "--format", "text"]), text);
    }
}

/// The file and the path stand in the message of the whole import, too, with what a trip does not allow.
#[test]
fn what_no_trip_allows_is_reported_at_its_path() {
    let stated = |leg: Value| collection(&[feature(&Value::Null, &json!({ "trip_leg": leg }))]);
    let leg = json!({ "to": "A", "distance_km": 5, "sand_share": 1.4 });
    let message = refusal("a.geojson", &stated(leg));
    let reason = "a.geojson: /features/0/properties/trip_leg/sand_share: must be 0 to 1, got 1.4 (for 1.4 % write 0.014)";
    assert!(message.ends_with(reason), "{message}");
    let way = line(&json!([[-48, -130], [-48, -131]])).to_string();
    let message = refusal("a.geojson", &way);
    let reason = "a.geojson: /coordinates/0: a position must be [lon, lat]";
    assert!(message.contains(reason), "{message}");
}

proptest! {
    #![proptest_config(kept::cases("import_geojson", 256))]

    /// Whatever is done to a file, it is read to points on the Earth or refused.
    #[test]
    fn spoilt_files_are_no_trouble(changes in prop::collection::vec((0_usize..4000, any::<u8>(), 0_u8..4), 1..8), salvage: bool) {
        let way = line(&json!([[-130, -48, 100], [179.9, -48.1, 140], [-180, -48.2]]));
        let whole = collection(&[
            feature(&way, &json!({ "name": "x", "coordTimes": ["2020-02-01T00:00:00Z"], "is_track": true, "trip_leg": { "to": "B" } })),
            feature(&json!({ "type": "MultiLineString", "coordinates": [[[1, 2], [180, 3]], [[-180, 3], [-179, 4]]] }), &Value::Null),
            feature(&json!({ "type": "MultiPoint", "coordinates": [[1, 2]] }), &json!({ "sym": "Fuel" })),
        ]);
        let mut bytes = whole.into_bytes();
        for (at, byte, how) in changes {
            let at = at % bytes.len();
            match how {
                0 => bytes[at] = byte,
                1 => bytes.insert(at, byte),
                2 => bytes.insert(at, b"[]{},:\"0-"[usize::from(byte) % 9]),
                _ => { bytes.remove(at); }
            }
        }
        match geojson::read(bytes.as_slice(), salvage) {
            Ok(reading) => {
                for point in reading.lines.iter().flat_map(|line| &line.points) {
                    prop_assert!(point.lat.get().abs() <= 90.0 && point.lon.get().abs() <= 180.0);
                }
            }
            Err(faults) => prop_assert!(!salvage && !faults.is_empty()),
        }
    }
}

/// As a reader of the command line sees it: what is there before anything is written, from a stream, and the trip.
#[test]
fn a_file_is_shown_before_it_is_written() {
    let text = collection(&[
        feature(
            &json!({ "type": "Point", "coordinates": [-129.99, -48.1] }),
            &json!({ "name": "Pump", "sym": "Fuel" }),
        ),
        feature(
            &line(&json!([[-130, -48], [-130, -48.1], [-130, -48.2]])),
            &json!({ "name": "Day" }),
        ),
    ]);
    let run = |arguments: &[&str]| {
        let mut command = assert_cmd::Command::cargo_bin("drystage").unwrap();
        let output = command
            .args(arguments)
            .write_stdin(text.clone())
            .output()
            .unwrap();
        assert!(output.status.success(), "{output:?}");
        String::from_utf8(output.stdout).unwrap()
    };
    let shown = run(&["import", "-"]);
    let (head, rest) = shown.split_once('\n').unwrap();
    assert_eq!(head, "-: 1 waypoint, 1 track or route");
    let leg = "  1 Pump: 11 km, no surface, fuel (2.0 km detour)\n";
    assert!(rest.contains(leg), "{shown}");
    let end = "Preview only. To save this trip, add --output TRIP\n";
    assert!(rest.ends_with(end), "{shown}");
    let shown = run(&["import", "-", "--units", "us"]);
    let leg = "  1 Pump: 6.9 mi, no surface, fuel (1.3 mi detour)\n";
    assert!(shown.contains(leg), "{shown}");
    assert!(run(&["import", "-", "--detour-within", "0"]).contains("1 leg from start of Day\n"));
    let document: Value = serde_json::from_str(&run(&["import", "-", "-o", "-"])).unwrap();
    assert_eq!(document["legs"][0]["fuel"]["detour_km"], json!(2));
    let measured: Value = serde_json::from_str(&run(&["import", "-", "--format", "json"])).unwrap();
    assert_eq!(measured["files"][0]["lines"][0]["points"], json!(3));
}
