//! GPX files against two Python libraries: gpxpy reads the same points, `GeographicLib` measures the same length.
//!
//! Needs `python3` with `gpxpy` and `geographiclib` on the path; `.ci/run` sets them up. The test of files of
//! several origins fetches them and runs only when asked for (`--ignored`).

use std::fs::File;
use std::path::{Path, PathBuf};
use std::process::Command;

use drystage::io::gpx;
use drystage::io::import::{self, Options};
use drystage::io::reading::LineKind;
use drystage::model::climb::THRESHOLD;
use drystage::model::survey::Profile;
use serde_json::Value;

/// Prints the waypoints and, for each segment, its points, gpxpy's own length and the geodesic one.
const SCRIPT: &str = r#"
import json, sys, gpxpy
from geographiclib.geodesic import Geodesic
def row(p): return [p.longitude, p.latitude, p.elevation]
def geodesic(points):
    pairs = zip(points, points[1:])
    return sum(Geodesic.WGS84.Inverse(a.latitude, a.longitude, b.latitude, b.longitude)["s12"] for a, b in pairs)
gpx = gpxpy.parse(open(sys.argv[1], encoding="utf-8"))
segments = [s for t in gpx.tracks for s in t.segments]
def heights(s): return [p.elevation for p in s.points if p.elevation is not None]
def rises(s): return sum(max(b - a, 0) for a, b in zip(heights(s), heights(s)[1:]))
def kmh(s):
    moving = s.get_moving_data()
    return moving.moving_distance / moving.moving_time * 3.6 if moving and moving.moving_time else None
print(json.dumps({
    "waypoints": [[w.name] + row(w) for w in gpx.waypoints],
    "segments": [{"points": [row(p) for p in s.points], "length_2d": s.length_2d(), "geodesic": geodesic(s.points),
        "rises": rises(s), "uphill": s.get_uphill_downhill().uphill, "kmh": kmh(s)} for s in segments],
}))
"#;

fn sample(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("sample-routes")
        .join(name)
}

fn by_python(path: &Path) -> Value {
    let output = Command::new("python3")
        .args(["-c", SCRIPT])
        .arg(path)
        .output()
        .expect("python3 is on the path");
    let complaint = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{complaint}");
    serde_json::from_slice(&output.stdout).expect("the script prints JSON")
}

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

fn same(point: &drystage::model::track::Point, row: &[Value]) -> bool {
    let [lon, lat, height] = row else {
        return false;
    };
    let theirs = [lon, lat, height].map(Value::as_f64);
    theirs
        == [
            Some(point.lon.get()),
            Some(point.lat.get()),
            point.height.map(drystage::quantity::Metres::get),
        ]
}

/// gpxpy measures on a sphere of 111.12 km a degree. At 42° of latitude a degree of the ellipsoid's meridian is
/// 111.07 km and one of its parallel 111.48 km · cos 42°, so its lengths may differ by 0.33 %. `GeographicLib` is the
/// reference for geodesics (Karney, Algorithms for geodesics, 2013).
#[test]
fn a_track_has_the_points_and_the_length_that_others_find() {
    for name in ["plateau-loop.gpx", "plateau-loop-pass.gpx"] {
        let path = sample(name);
        let theirs = by_python(&path);
        let ours = gpx::read(File::open(&path).expect("the sample is there"), false)
            .expect("the sample is sound");
        let measured = import::measure(&[path], &Options::default()).expect("it can be measured");
        let lines: Vec<_> = ours
            .lines
            .iter()
            .filter(|l| l.kind == LineKind::Track)
            .collect();
        let lengths = measured.files[0]
            .lines
            .iter()
            .map(|line| line.length_m.get());
        let segments = theirs["segments"].as_array().expect("segments");
        assert_eq!(lines.len(), segments.len(), "{name}");
        for ((line, length), segment) in lines.iter().zip(lengths).zip(segments) {
            let points = segment["points"].as_array().expect("points");
            assert_eq!(line.points.len(), points.len(), "{name}");
            for (point, row) in line.points.iter().zip(points) {
                assert!(
                    same(point, row.as_array().expect("a row")),
                    "{point:?}, gpxpy {row}"
                );
            }
            let spherical = number(&segment["length_2d"]);
            assert!(
                (length / spherical - 1.0).abs() < 3.3e-3,
                "{length}, gpxpy {spherical}"
            );
            let geodesic = number(&segment["geodesic"]);
            assert!(
                (length / geodesic - 1.0).abs() < 1e-9,
                "{length}, GeographicLib {geodesic}"
            );
        }
    }
}

#[test]
fn waypoints_are_those_that_others_find() {
    let path = sample("plateau-loop.gpx");
    let theirs = by_python(&path);
    let ours = gpx::read(File::open(&path).expect("the sample is there"), false)
        .expect("the sample is sound");
    let rows = theirs["waypoints"].as_array().expect("waypoints");
    assert_eq!(ours.waypoints.len(), rows.len());
    for (waypoint, row) in ours.waypoints.iter().zip(rows) {
        let row = row.as_array().expect("a row");
        assert_eq!(waypoint.words.name.as_deref(), row[0].as_str());
        assert!(
            same(&waypoint.point, &row[1..]),
            "{waypoint:?}, gpxpy {row:?}"
        );
    }
}

/// Runs a program and gives what it prints.
fn printed(program: &str, arguments: &[&std::ffi::OsStr]) -> Vec<u8> {
    let output = Command::new(program)
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output();
    let output = output.unwrap_or_else(|error| panic!("{program}: {error}"));
    let complaint = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{program}: {complaint}");
    output.stdout
}

/// The folder with the files that come with the source of gpxpy, fetched into `folder`, and that of those that
/// come with the crate `gpx`.
fn folders(folder: &Path) -> [PathBuf; 2] {
    let mut fetch: Vec<&std::ffi::OsStr> =
        "-m pip download --quiet --no-deps --no-binary :all: gpxpy==1.6.2 --dest"
            .split(' ')
            .map(AsRef::as_ref)
            .collect();
    fetch.push(folder.as_os_str());
    printed("python3", &fetch);
    let archive = folder.join("gpxpy-1.6.2.tar.gz");
    let unpack = [
        "-xzf".as_ref(),
        archive.as_os_str(),
        "-C".as_ref(),
        folder.as_os_str(),
    ];
    printed("tar", &unpack);
    let ask = [
        "metadata".as_ref(),
        "--format-version=1".as_ref(),
        "--locked".as_ref(),
    ];
    let metadata: Value =
        serde_json::from_slice(&printed("cargo", &ask)).expect("cargo prints JSON");
    let packages = metadata["packages"].as_array().expect("packages");
    let package = packages.iter().find(|package| package["name"] == "gpx");
    let manifest = package.and_then(|package| package["manifest_path"].as_str());
    let of_crate = Path::new(manifest.expect("the crate is among them")).parent();
    [
        folder.join("gpxpy-1.6.2/test_files"),
        of_crate.expect("a folder").join("tests/fixtures"),
    ]
}

/// Holds each line to the segment that gpxpy found, and tells what both measure.
fn compare(lines: &[&drystage::io::reading::Line], segments: &[&Value], file: &str) -> Vec<String> {
    assert_eq!(lines.len(), segments.len(), "{file}");
    let mut told = Vec::new();
    for (line, segment) in lines.iter().zip(segments) {
        let points = segment["points"].as_array().expect("points");
        assert_eq!(line.points.len(), points.len(), "{file}");
        let geodesic = number(&segment["geodesic"]);
        let profile = Profile::from_points(&line.points, THRESHOLD);
        let length = profile.length.get();
        assert!(
            (length - geodesic).abs() <= 1e-9 * geodesic + 1e-6,
            "{file}: {length} {geodesic}"
        );
        let rises = number(&segment["rises"]);
        if let Some(climbed) = profile.climbed {
            let raw = climbed.ascent_raw.get();
            assert!(
                (raw - rises).abs() < 1e-6 * (1.0 + rises),
                "{file}: {raw} {rises}"
            );
            assert!(climbed.ascent <= climbed.ascent_raw);
        }
        told.push(format!(
            "  {length:.0} m, gpxpy {:.0} m; climb {:.0?} m, every rise {rises:.0} m, gpxpy {:.0} m; gpxpy moving {:.1?} km/h",
            number(&segment["length_2d"]),
            profile.climbed.map(|climbed| climbed.ascent.get()),
            number(&segment["uphill"]),
            segment["kmh"].as_f64()
        ));
    }
    told
}

/// Legs of the trip that a file becomes, which are never longer than what was measured, and what its time
/// stamps say.
fn imported_legs(path: &Path) -> (usize, Vec<String>) {
    let Ok(imported) = import::import(&[path.to_owned()], &Options::default()) else {
        return (0, Vec::new());
    };
    let legs = &imported.trip.legs;
    let lines = &imported.measurement.files[0].lines;
    let measured: f64 = lines.iter().map(|line| line.length_m.get()).sum();
    let stated = legs.iter().filter_map(|leg| leg.distance_km);
    let stated: f64 = stated.map(|way| way.get() * 1000.0).sum();
    assert!(
        stated <= measured + legs.len() as f64,
        "{}: {stated} {measured}",
        path.display()
    );
    let paces = lines.iter().filter_map(|line| line.pace.as_ref());
    let told =
        paces.map(|pace| format!("  moving {:?}, {} halts", pace.moving_kmh, pace.halts.len()));
    (legs.len(), told.collect())
}

/// Files of several receivers and programs, as they come with the source of gpxpy and of the crate `gpx`: whatever
/// gpxpy reads, we read, with the same points, lengths and rises; what we refuse, we refuse with a line.
#[test]
#[ignore = "fetches its files"]
fn real_files_of_several_origins_are_read_alike() {
    let folder = tempfile::tempdir().expect("a folder");
    let (mut alike, mut refused, mut legs) = (0, Vec::new(), 0);
    let files = folders(folder.path())
        .into_iter()
        .flat_map(|folder| std::fs::read_dir(folder).expect("it is there"))
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|ext| ext == "gpx"));
    for path in files {
        let file = path.display().to_string();
        let ours = match gpx::read(File::open(&path).expect("a file"), false) {
            Ok(ours) => ours,
            Err(damage) => {
                assert!(damage.iter().all(|damage| damage.line > 0), "{damage:?}");
                refused.push(format!("{file}: {}", damage[0].cause));
                continue;
            }
        };
        let output = Command::new("python3")
            .args(["-c", SCRIPT])
            .arg(&path)
            .output();
        let output = output.expect("python3 is on the path");
        if !output.status.success() {
            continue;
        }
        let theirs: Value = serde_json::from_slice(&output.stdout).expect("the script prints JSON");
        // We keep no segment without points.
        let segments: Vec<&Value> = theirs["segments"]
            .as_array()
            .expect("segments")
            .iter()
            .filter(|segment| !segment["points"].as_array().expect("points").is_empty())
            .collect();
        let lines = ours.lines.iter();
        let lines: Vec<_> = lines.filter(|l| l.kind == LineKind::Track).collect();
        let mut told = compare(&lines, &segments, &file);
        let waypoints = theirs["waypoints"].as_array().expect("waypoints");
        assert_eq!(ours.waypoints.len(), waypoints.len());
        alike += 1;
        let (of_file, paces) = imported_legs(&path);
        legs += of_file;
        told.extend(paces);
        eprintln!("{file}\n{}", told.join("\n"));
    }
    eprintln!("{alike} files read alike, {legs} legs; refused: {refused:#?}");
    assert!(alike >= 40 && refused.is_empty(), "{alike} {refused:?}");
}
