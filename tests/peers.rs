//! How long the work takes beside general-purpose peers that do the same, as ratios within one run: each test prints
//! a row of a table. Nothing here decides whether the checks pass; `tests/peers.sh` sets up what it needs, runs all
//! of it and prints the table.
//!
//! The time is that on the processor, where the system tells it: a busy machine counts little.

#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]
#![expect(clippy::print_stdout, reason = "its rows are what it is for")]

#[path = "common/linear_program.rs"]
mod linear_program;
#[path = "common/tracks.rs"]
mod tracks;

use std::fs::{self, File};
use std::hint::black_box;
use std::io::BufReader;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use drystage::consumption::usage::Usage;
use drystage::io::{gpx, json};
use drystage::model::Trip;
use drystage::model::climb::THRESHOLD;
use drystage::model::route::Leg;
use drystage::model::survey::Profile;
use drystage::quantity::{Litres, Share};
use drystage::solver::fuel::{FuelStopVisit, Problem};
use quick_xml::events::Event;

/// How often each is timed, in turns, so that a machine that slows down slows both.
const TURNS: usize = 7;

/// A row: the work, the peer, median times, and how many times as quick as the peer it is.
fn row<A, B>(work: &str, peer: &str, ours: impl Fn() -> A, theirs: impl Fn() -> B) {
    let mut turns: Vec<[Duration; 2]> =
        (0..TURNS).map(|_| [timed(&ours), timed(&theirs)]).collect();
    let ratio = |[ours, theirs]: &[Duration; 2]| theirs.as_secs_f64() / ours.as_secs_f64();
    turns.sort_by(|a, b| ratio(a).total_cmp(&ratio(b)));
    let [ours, theirs] = turns[TURNS / 2];
    println!(
        "| {work} | {ours:.3?} | {peer} | {theirs:.3?} | {:.2} ({:.2} to {:.2}) |",
        ratio(&turns[TURNS / 2]),
        ratio(&turns[0]),
        ratio(&turns[TURNS - 1]),
    );
}

/// The time of one run: the mean of as many as take a while together, since the system counts in ticks.
fn timed<A>(run: impl Fn() -> A) -> Duration {
    const A_WHILE: Duration = Duration::from_millis(100);
    let (start, before) = (Instant::now(), processor_time());
    let mut runs = 0;
    while start.elapsed() < A_WHILE {
        drop(black_box(run()));
        runs += 1;
    }
    let spent = processor_time()
        .zip(before)
        .map(|(after, before)| after.saturating_sub(before));
    spent.unwrap_or_else(|| start.elapsed()) / runs
}

/// Time that this thread was on a processor.
fn processor_time() -> Option<Duration> {
    let text = fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    let nanoseconds = text.split_whitespace().next()?.parse().ok()?;
    Some(Duration::from_nanos(nanoseconds))
}

/// What a loop without any check costs: the same fields, and haversine lengths on a sphere.
fn bare_loop(path: &Path) -> (usize, f64) {
    let mut xml = quick_xml::Reader::from_reader(BufReader::new(File::open(path).unwrap()));
    let (mut buffer, mut points, mut length, mut last) = (Vec::new(), Vec::new(), 0.0, None);
    let (mut lat, mut lon, mut height, mut time) = (0.0_f64, 0.0_f64, None::<f64>, None::<u64>);
    let mut within = "";
    loop {
        buffer.clear();
        match xml.read_event_into(&mut buffer).unwrap() {
            Event::Start(tag) if tag.name().as_ref() == "trkpt" => {
                for attribute in tag.attributes() {
                    let attribute = attribute.unwrap();
                    match attribute.key.as_ref() {
                        "lat" => lat = attribute.value.parse().unwrap(),
                        "lon" => lon = attribute.value.parse().unwrap(),
                        _ => {}
                    }
                }
                (height, time) = (None, None);
            }
            Event::Start(tag) => {
                within = match tag.name().as_ref() {
                    "ele" => "ele",
                    "time" => "time",
                    _ => "",
                }
            }
            Event::Text(text) if within == "ele" => height = text.parse().ok(),
            Event::Text(text) if within == "time" => time = seconds_of_day(&text),
            Event::End(tag) if tag.name().as_ref() == "trkpt" => {
                if let Some((from_lat, from_lon)) = last {
                    length += haversine(from_lat, from_lon, lat, lon);
                }
                last = Some((lat, lon));
                points.push((lat, lon, height, time));
            }
            Event::End(_) => within = "",
            Event::Eof => return (points.len(), length),
            _ => {}
        }
    }
}

/// The seconds of `2020-01-01T12:34:56Z` since its midnight.
fn seconds_of_day(text: &str) -> Option<u64> {
    let number = |from: usize, to: usize| text.get(from..to)?.parse::<u64>().ok();
    Some(number(11, 13)? * 3600 + number(14, 16)? * 60 + number(17, 19)?)
}

fn haversine(lat1: f64, lon1: f64, lat2: f64, lon2: f64) -> f64 {
    let (phi1, phi2) = (lat1.to_radians(), lat2.to_radians());
    let rise = ((phi2 - phi1) / 2.0).sin();
    let turn = ((lon2 - lon1).to_radians() / 2.0).sin();
    let h = rise * rise + phi1.cos() * phi2.cos() * turn * turn;
    2.0 * 6_371_008.8 * h.sqrt().asin()
}

fn imported(path: &Path) -> (usize, f64) {
    let reading = gpx::read(File::open(path).unwrap(), false).unwrap();
    let profile = Profile::from_points(&reading.lines[0].points, THRESHOLD);
    assert!(profile.climbed.unwrap().ascent.get() > 100.0);
    (profile.points, profile.length.get())
}

/// Most memory that this process ever held, in bytes.
fn peak_memory() -> Option<u64> {
    let status = fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM"))?;
    let kibibytes: u64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kibibytes * 1024)
}

/// Points, geodesic length and climb of a million points, with what they hold in memory at most.
#[test]
#[ignore = "writes a file of 115 MB and wants a release build"]
fn a_million_points() {
    const POINTS: u32 = 1_000_000;
    let directory = tempfile::tempdir().unwrap();
    let path = directory.path().join("million.gpx");
    tracks::write_track(File::create(&path).unwrap(), POINTS).unwrap();
    let before = peak_memory();
    let (points, length) = imported(&path);
    if let (Some(before), Some(after)) = (before, peak_memory()) {
        let held = after - before;
        println!(
            "peak memory {:.1} MiB more than before",
            held as f64 / f64::from(1 << 20)
        );
        assert!(held < (16 << 20) + 48 * u64::from(POINTS), "{held}");
    }
    let (bare_points, bare_length) = bare_loop(&path);
    assert_eq!(points, bare_points);
    assert!(
        (length / bare_length - 1.0).abs() < 0.005,
        "{length} {bare_length}"
    );
    row(
        "GPX, 1,000,000 points, geodesic length and climb",
        "a bare quick-xml loop, haversine",
        || imported(&path),
        || bare_loop(&path),
    );
}

/// Times a track of fewer points in Python, without the start of Python itself.
#[test]
#[ignore = "wants a release build, and python3 with gpxpy"]
fn a_track_in_python() {
    const SCRIPT: &str = "
import gpxpy, sys, time
text = open(sys.argv[1], encoding='utf-8').read()
begun = time.process_time()
segment = gpxpy.parse(text).tracks[0].segments[0]
length, rise = segment.length_2d(), segment.get_uphill_downhill().uphill
print(time.process_time() - begun, length)
";
    let directory = tempfile::tempdir().unwrap();
    let path = directory.path().join("track.gpx");
    tracks::write_track(File::create(&path).unwrap(), 50_000).unwrap();
    let output = Command::new("python3")
        .args(["-c", SCRIPT])
        .arg(&path)
        .output()
        .unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    let numbers: Vec<f64> = text
        .split_whitespace()
        .map(|n| n.parse().unwrap())
        .collect();
    let (theirs, length) = (Duration::from_secs_f64(numbers[0]), numbers[1]);
    assert!((imported(&path).1 / length - 1.0).abs() < 0.005);
    let ours = (0..TURNS).map(|_| timed(|| imported(&path))).min();
    let ours = ours.unwrap();
    println!(
        "| GPX, 50,000 points, length and climb | {ours:.3?} | gpxpy, on a sphere | {theirs:.3?} | {:.0} |",
        theirs.as_secs_f64() / ours.as_secs_f64()
    );
}

/// A trip of so many legs with a fuel stop at every fifth place, as the solver sees it.
fn problem(legs: usize) -> Problem {
    let leg = |nth: usize| {
        let empty = 3.0 + (nth * 7 % 11) as f64 / 2.0;
        let full = 100.0;
        Usage::between(
            Litres::new(empty),
            Litres::new(empty * 1.1),
            Litres::new(full),
        )
    };
    let fuel_stop = |place: usize| {
        (place > 0 && place.is_multiple_of(5)).then_some(FuelStopVisit {
            supply: (place.is_multiple_of(3)).then_some(Litres::new(20.0)),
            number: place,
            detour: Usage::NONE,
        })
    };
    Problem {
        tank: Litres::new(45.0),
        legs: (0..legs).map(leg).collect(),
        reserve: vec![Litres::new(6.0); legs + 1],
        extra: Share::new(0.1),
        fuel_stops: (0..=legs).map(fuel_stop).collect(),
        cans: Vec::new(),
    }
}

/// The least spare fuel.
#[test]
#[ignore = "wants a release build"]
fn the_fuel_plan() {
    for legs in [40, 200, 2_000] {
        let problem = problem(legs);
        let (ours, theirs) = (
            problem.need().in_cans.get(),
            linear_program::in_cans(&problem),
        );
        assert!((ours - theirs).abs() < 1e-4, "{ours} {theirs}");
        row(
            &format!("the least spare fuel, {legs} legs"),
            "a linear-program solver (microlp)",
            || black_box(&problem).need(),
            || linear_program::in_cans(black_box(&problem)),
        );
    }
}

/// A trip of a hundred thousand legs, read with all its checks and written, beside the same types by the library alone.
#[test]
#[ignore = "wants a release build"]
fn trip_files_read_and_written() {
    let example = json::parse(include_bytes!("data/example-trip.json")).unwrap();
    let legs = example.legs.iter().cycle().take(10_000);
    let legs = legs.map(|leg| Leg {
        day: None,
        ..leg.clone()
    });
    let trip = Trip {
        legs: legs.collect(),
        ..example
    };
    let mut text = Vec::new();
    json::write(&trip, &mut text).unwrap();
    row(
        "a trip of 10,000 legs read and checked",
        "serde_json into the same types",
        || json::parse(&text).unwrap(),
        || serde_json::from_slice::<Trip>(&text).unwrap(),
    );
    row(
        "the same written",
        "serde_json, indented",
        || {
            let mut text = Vec::with_capacity(text.len());
            json::write(&trip, &mut text).unwrap();
            text
        },
        || serde_json::to_vec_pretty(&trip).unwrap(),
    );
}
