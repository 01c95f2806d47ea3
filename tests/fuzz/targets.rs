//! What is done with bytes that may be anything, one function for each kind of file: read them, and whatever was
//! read has to keep what is promised of it. The fuzz targets and the ordinary tests both call these.

use std::cell::RefCell;
use std::fs;
use std::path::PathBuf;

use drystage::calibrate::FillCalibration;
use drystage::io::heights::Tiles;
use drystage::io::import::{self, Options, Split};
use drystage::io::osm::{self, Corridor};
use drystage::io::reading::Reading;
use drystage::io::{csv, geojson, gpx, json, text};
use drystage::model::check;
use drystage::model::route::Position;
use drystage::model::track::Point;
use drystage::model::{Trip, starter};
use drystage::plan::Plan;
use drystage::quantity::{Degrees, Kilometres, Metres};
use drystage::roads::{Along, matching};

/// A function that takes any bytes, and its name.
pub type Target = (&'static str, fn(&[u8]));

/// All of them.
pub const TARGETS: [Target; 8] = [
    ("trip_file", trip_file),
    ("patches", patches),
    ("leg_table", leg_table),
    ("fill_ups", fill_ups),
    ("gpx_file", gpx_file),
    ("geojson_file", geojson_file),
    ("map_extract", map_extract),
    ("elevation_tile", elevation_tile),
];

/// Trips of more legs are read but not planned.
const MOST_LEGS: usize = 12;

/// A trip comes back from its own file, and can be planned.
pub fn trip_file(bytes: &[u8]) {
    if let Ok(trip) = json::parse(bytes) {
        comes_back(&trip);
        is_planned(trip);
    }
}

/// Whatever changes a trip leaves a sound one, or leaves it alone.
pub fn patches(bytes: &[u8]) {
    let Ok(operations) = serde_json::from_slice::<Vec<_>>(bytes) else {
        return;
    };
    let before = example();
    if let Ok(changed) = before.with_operations(&operations) {
        assert!(check::read(changed.to_document()).is_ok());
        comes_back(&changed);
        is_planned(changed);
    }
}

/// A table becomes a trip or is refused with a line.
pub fn leg_table(bytes: &[u8]) {
    let Ok((text, _)) = text::read_table(bytes) else {
        return;
    };
    match csv::read(&text) {
        Ok(table) => assert!(!table.rows.is_empty()),
        Err(problems) => assert!(problems.iter().all(|problem| problem.line >= 1)),
    }
    imported(bytes);
}

/// A log is fitted or refused with a line.
pub fn fill_ups(bytes: &[u8]) {
    match csv::fills::read(bytes) {
        Ok(Ok(fills)) => {
            let fitted = FillCalibration::from_fills(&example().vehicle, &fills, &[]);
            assert!(fitted.intervals.len() <= fills.len());
        }
        Ok(Err(problems)) => assert!(problems.iter().all(|problem| problem.line >= 1)),
        Err(_) => {}
    }
}

/// Tracks are points on the Earth, and become a trip or are refused with a line.
pub fn gpx_file(bytes: &[u8]) {
    match gpx::read(bytes, false) {
        Ok(reading) => is_on_earth(&reading),
        Err(damage) => assert!(damage.iter().all(|damage| damage.line >= 1)),
    }
    if let Ok(reading) = gpx::read(bytes, true) {
        is_on_earth(&reading);
    }
    imported(bytes);
}

/// Features are points on the Earth, and become a trip or are refused with a reason.
pub fn geojson_file(bytes: &[u8]) {
    match geojson::read(bytes, false) {
        Ok(reading) => is_on_earth(&reading),
        Err(faults) => assert!(!faults.is_empty()),
    }
    if let Ok(reading) = geojson::read(bytes, true) {
        is_on_earth(&reading);
    }
    imported(bytes);
}

/// An extract is read or refused; what is read can be matched.
pub fn map_extract(bytes: &[u8]) {
    let path = written(bytes);
    let point = |n: i32| Point {
        lon: Degrees::new(-105.0 + 0.002 * f64::from(n)),
        lat: Degrees::new(-38.0),
        height: None,
    };
    let track: Vec<Point> = (0..40).map(point).collect();
    let corridor = Corridor::new([track.as_slice()], Kilometres::new(5.0));
    if let Ok(extract) = osm::read(&[path], &corridor, &|_| true) {
        let matched = matching::matched(&extract.network, &track);
        let along = Along::new(&extract.network, &matched);
        let summary = along.summary(Metres::ZERO, Metres::new(1e9));
        assert!((0.0..=1.0).contains(&summary.known.get()));
    }
}

/// A tile is read or refused; its heights are those of the Earth.
pub fn elevation_tile(bytes: &[u8]) {
    let path = written(bytes).with_extension("tif");
    fs::write(&path, bytes).expect("the folder takes a file");
    let Ok(mut tiles) = Tiles::in_folder(&path) else {
        return;
    };
    for n in 0..40 {
        let at = Position {
            lat: Degrees::new(-38.0),
            lon: Degrees::new(-105.0 + 0.01 * f64::from(n)),
        };
        let height = tiles.height(at).map_or(0.0, Metres::get);
        assert!((-1000.0..=10_000.0).contains(&height));
    }
}

fn example() -> Trip {
    starter::trip()
}

fn comes_back(trip: &Trip) {
    let mut written = Vec::new();
    json::write(trip, &mut written).expect("memory takes all that is written");
    let back = json::parse(&written).expect("what was written can be read");
    assert_eq!(back, *trip);
}

fn is_planned(trip: Trip) {
    if trip.legs.len() <= MOST_LEGS {
        let plan = Plan::best_estimate(trip);
        assert!(plan.legs.iter().all(|leg| leg.fuel.get().is_finite()));
    }
}

fn is_on_earth(reading: &Reading) {
    let points = reading.lines.iter().flat_map(|line| &line.points);
    for point in points.chain(reading.waypoints.iter().map(|waypoint| &waypoint.point)) {
        assert!(point.lat.get().abs() <= 90.0 && point.lon.get().abs() <= 180.0);
    }
    for line in &reading.lines {
        assert!(line.times.len() <= line.points.len());
    }
}

thread_local! {
    static FILE: RefCell<Option<(tempfile::TempDir, PathBuf)>> = const { RefCell::new(None) };
}

/// A file of these bytes.
fn written(bytes: &[u8]) -> PathBuf {
    let path = FILE.with_borrow_mut(|file| {
        let (_, path) = file.get_or_insert_with(|| {
            let folder = tempfile::tempdir().expect("a folder for the file");
            let path = folder.path().join("file");
            (folder, path)
        });
        path.clone()
    });
    fs::write(&path, bytes).expect("the folder takes a file");
    path
}

/// Imports the bytes in several ways; a trip that comes of them is sound.
fn imported(bytes: &[u8]) {
    let path = written(bytes);
    for split in [None, Some(Split::Every(Kilometres::new(100.0)))] {
        let options = Options {
            split,
            salvage: true,
            ..Options::default()
        };
        if let Ok(imported) = import::import(&[path.clone(), path.clone()], &options) {
            comes_back(&imported.trip);
            let acts = |note: &String| note.chars().any(char::is_control);
            assert!(!imported.notes.iter().any(acts), "{:?}", imported.notes);
            is_planned(imported.trip);
        }
    }
}
