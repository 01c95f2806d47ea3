//! Files that may hold anything: what fuzzing found once, and samples spoilt at random, go through what the fuzz
//! targets do with them.
//!
//! `cargo test --release --test files odd_inputs -- --ignored` spoils on for ten minutes; `DEVELOPERS.md` tells how to
//! run the fuzz targets themselves, which choose their input by what it reaches.

#[path = "../fuzz/targets.rs"]
mod targets;

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

use rand::{Rng, RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use targets::TARGETS;

/// Pieces that a format gives a meaning to.
const PIECES: [&str; 40] = [
    "0",
    "-1",
    "1e308",
    "-0.0",
    "NaN",
    "null",
    "true",
    "[]",
    "{}",
    "[[",
    "]]",
    ",",
    ";",
    "\t",
    "\"",
    "\\u0000",
    "\r\n",
    "\u{feff}",
    "\u{202e}",
    "\u{1b}[2J",
    "é",
    "<trkseg>",
    "</trkseg>",
    "<trkpt lat='-48' lon='180'>",
    "<ele>8000</ele>",
    "<time>2020-01-01T00:00:00Z</time>",
    "&#65;",
    "<!--",
    "-->",
    "<![CDATA[",
    "]]>",
    "180",
    "-180",
    "90",
    "9999999999999999999",
    "\"op\":\"remove\"",
    "/legs/-",
    "\"track\":[[1,2],[3,4]]",
    "\"fuel\":{}",
    "yes",
];

/// Files of every kind to begin with, by the names of their targets.
fn samples() -> Vec<(&'static str, Vec<u8>)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let read = |path: &str| fs::read(root.join(path)).expect("the sample is there");
    let short = |path: &str, length: usize| {
        let mut bytes = read(path);
        bytes.truncate(length);
        bytes
    };
    let gpx = r#"<?xml version="1.0"?><gpx version="1.1" xmlns="x"><metadata><name>a</name></metadata>
<wpt lat="-48.1" lon="-130.02"><ele>3</ele><name>Pump</name><sym>Fuel</sym></wpt><wpt lat="-48" lon="-130"><name>A</name></wpt>
<trk><name>Day</name><trkseg><trkpt lat="-48.0" lon="-130"><ele>100</ele><time>2020-01-01T00:00:00Z</time></trkpt>
<trkpt lat="-48.1" lon="-130"><ele>140</ele><time>2020-01-01T00:10:00Z</time></trkpt><trkpt lat="-48.1" lon="-130"><time>2020-01-01T01:00:00Z</time></trkpt>
<trkpt lat="-48.2" lon="-130.1"/></trkseg><trkseg><trkpt lat="-49" lon="179.9"/><trkpt lat="-49" lon="-179.9"/></trkseg></trk>
<rte><rtept lat="1" lon="2"><name>R</name></rtept><rtept lat="1.1" lon="2"/></rte></gpx>"#;
    let geojson = r#"{"type":"FeatureCollection","name":"a","features":[
{"type":"Feature","properties":{"name":"Day","coordTimes":["2020-01-01T00:00:00Z","2020-01-01T00:10:00Z"]},
"geometry":{"type":"LineString","coordinates":[[-130,-48,100],[-130,-48.1,140],[-130.1,-48.2]]}},
{"type":"Feature","properties":{"name":"Pump","sym":"Fuel"},"geometry":{"type":"Point","coordinates":[-130.02,-48.1]}},
{"type":"Feature","properties":null,"geometry":{"type":"MultiLineString","coordinates":[[[179,1],[180,1]],[[-180,1],[-179,1]]]}},
{"type":"Feature","properties":{"is_track":true,"trip_leg":{"to":"B","fuel":{}}},"geometry":{"type":"LineString","coordinates":[[1,2],[3,4]]}}]}"#;
    let patch = r#"[{"op":"test","path":"/legs/0/to","value":"A"},{"op":"replace","path":"/legs/0/distance_km","value":5},
{"op":"add","path":"/legs/1","value":{"to":"B","distance_km":3,"surface":"rock"}},{"op":"remove","path":"/legs/0/fuel"},
{"op":"move","from":"/legs/0","path":"/legs/1"},{"op":"copy","from":"/legs/0","path":"/legs/-"}]"#;
    vec![
        ("trip_file", read("tests/data/example-trip.json")),
        ("trip_file", read("sample-routes/dune-coast.json")),
        ("patches", patch.into()),
        (
            "patches",
            r#"[{"op":"add","path":"/rules","value":{"reserve":{"litres":5}}}]"#.into(),
        ),
        ("leg_table", read("sample-routes/dune-coast-legs.csv")),
        ("fill_ups", read("sample-routes/plateau-loop-fills.csv")),
        ("gpx_file", gpx.into()),
        ("gpx_file", short("sample-routes/plateau-loop.gpx", 4000)),
        ("geojson_file", geojson.into()),
        ("map_extract", read("sample-routes/salt-basin.osm.pbf")),
        ("elevation_tile", read("sample-routes/salt-basin.tif")),
    ]
}

fn run(target: &str, bytes: &[u8]) {
    let (_, run) = TARGETS
        .iter()
        .find(|(name, _)| *name == target)
        .expect("a target of that name");
    run(bytes);
}

/// The bytes with a few things changed.
fn spoilt(bytes: &[u8], draw: &mut impl Rng) -> Vec<u8> {
    let mut bytes = bytes.to_vec();
    for _ in 0..draw.random_range(1..6) {
        let at = draw.random_range(0..=bytes.len());
        let length = draw.random_range(0..40).min(bytes.len() - at);
        match draw.random_range(0..6) {
            0 if at < bytes.len() => bytes[at] ^= 1 << draw.random_range(0..8),
            1 => {
                bytes.drain(at..at + length);
            }
            2 => {
                let piece = bytes[at..at + length].to_vec();
                let to = draw.random_range(0..=bytes.len());
                bytes.splice(to..to, piece);
            }
            3 if at < bytes.len() && bytes[at].is_ascii_digit() => {
                bytes[at] = b'0' + draw.random_range(0..10_u8);
            }
            4 => {
                let piece = PIECES[draw.random_range(0..PIECES.len())];
                bytes.splice(at..at + length, piece.bytes());
            }
            _ => {
                let piece = PIECES[draw.random_range(0..PIECES.len())];
                bytes.splice(at..at, piece.bytes());
            }
        }
    }
    bytes
}

#[test]
fn what_once_was_odd_is_no_trouble() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/odd");
    for entry in fs::read_dir(folder).expect("the folder is there") {
        let path = entry.expect("an entry").path();
        let bytes = fs::read(&path).expect("a file");
        // Whatever kind it was, every reader has to bear it.
        for (_, run) in TARGETS {
            run(&bytes);
        }
    }
}

/// Small files with which fuzzing reached code that nothing before had: 40 of each kind, drawn by lot from a least set
/// that reaches all it found.
fn reached() -> BTreeMap<String, Vec<String>> {
    serde_json::from_str(include_str!("../data/reached.json")).expect("texts by target")
}

/// A corpus for the fuzz targets: some kilobytes each, so that most runs are short.
#[test]
#[ignore = "writes tests/fuzz/corpus"]
fn corpus_for_fuzzing() {
    let corpus = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/corpus");
    for (target, texts) in reached() {
        let folder = corpus.join(target);
        fs::create_dir_all(&folder).expect("a folder");
        for (nth, text) in texts.iter().enumerate() {
            fs::write(folder.join(format!("{nth:02}")), text).expect("a file");
        }
    }
}

#[test]
fn what_fuzzing_found_worth_keeping_is_no_trouble() {
    let reached = reached();
    assert_eq!(reached.len(), TARGETS.len());
    for (target, texts) in &reached {
        for text in texts {
            run(target, text.as_bytes());
        }
    }
}

#[test]
fn samples_and_what_random_changes_make_of_them_are_no_trouble() {
    let mut draw = Xoshiro256PlusPlus::seed_from_u64(7);
    for (target, sample) in samples() {
        run(target, &sample);
        for _ in 0..60 {
            run(target, &spoilt(&sample, &mut draw));
        }
    }
}

#[test]
#[ignore = "takes ten minutes and wants a release build"]
fn samples_are_spoilt_for_ten_minutes() {
    let end = Instant::now() + Duration::from_secs(600);
    let mut draw = Xoshiro256PlusPlus::seed_from_u64(std::process::id().into());
    let mut corpus = samples();
    let mut runs = 0_u64;
    while Instant::now() < end {
        let n = draw.random_range(0..corpus.len());
        let (target, sample) = &corpus[n];
        let bytes = spoilt(sample, &mut draw);
        let target = *target;
        let failed = std::panic::catch_unwind(|| run(target, &bytes)).is_err();
        if failed {
            let text = String::from_utf8_lossy(&bytes);
            panic!("{target} fails after {runs} runs on\n{text}");
        }
        runs += 1;
        // Some changes on top of others.
        if corpus.len() < 1000 && runs.is_multiple_of(50) {
            corpus.push((target, bytes));
        }
    }
    println!("{runs} runs");
}
