//! Time and memory of reading a million points, as a ratio to a bare loop over the same file. The
//! time is that on the processor, where the system tells it: a busy machine does not count.
//!
//! `cargo test --release --test import_speed -- --ignored --nocapture`

#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

mod common;

use std::fs::File;
use std::io::BufReader;
use std::path::Path;
use std::time::{Duration, Instant};

use drystage::io::gpx;
use drystage::model::climb::THRESHOLD;
use drystage::model::survey::Profile;
use quick_xml::events::Event;

const POINTS: u32 = 1_000_000;

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

fn product(path: &Path) -> (usize, f64) {
    let reading = gpx::read(File::open(path).unwrap(), false).unwrap();
    let profile = Profile::of(&reading.lines[0].points, THRESHOLD);
    assert!(profile.climbed.unwrap().ascent.get() > 1000.0);
    (profile.points, profile.length.get())
}

/// Most memory that this process ever held, in bytes.
fn peak_memory() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM"))?;
    let kibibytes: u64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kibibytes * 1024)
}

fn timed(run: impl Fn() -> (usize, f64)) -> (Duration, (usize, f64)) {
    let (start, before) = (Instant::now(), processor_time());
    let found = run();
    let spent = processor_time()
        .zip(before)
        .map(|(after, before)| after.saturating_sub(before));
    (spent.unwrap_or_else(|| start.elapsed()), found)
}

/// Time that this thread was on a processor.
fn processor_time() -> Option<Duration> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    let nanoseconds = text.split_whitespace().next()?.parse().ok()?;
    Some(Duration::from_nanos(nanoseconds))
}

#[test]
#[ignore = "writes a file of 115 MB and wants a release build"]
fn a_million_points() {
    let directory = tempfile::tempdir().unwrap();
    let path = directory.path().join("million.gpx");
    common::write_track(File::create(&path).unwrap(), POINTS).unwrap();

    let before = peak_memory();
    product(&path);
    if let (Some(before), Some(after)) = (before, peak_memory()) {
        let held = after - before;
        println!(
            "peak memory {:.1} MiB more than before",
            held as f64 / f64::from(1 << 20)
        );
        assert!(held < (16 << 20) + 48 * u64::from(POINTS), "{held}");
    }

    let mut ratios = Vec::new();
    for _ in 0..7 {
        let (bare, (bare_points, bare_length)) = timed(|| bare_loop(&path));
        let (ours, (points, length)) = timed(|| product(&path));
        assert_eq!(points, bare_points);
        assert!(
            (length / bare_length - 1.0).abs() < 0.005,
            "{length} {bare_length}"
        );
        println!("bare loop {bare:.3?}, import {ours:.3?}");
        ratios.push(ours.as_secs_f64() / bare.as_secs_f64());
    }
    ratios.sort_by(f64::total_cmp);
    println!(
        "import / bare loop: median {:.3}, from {:.3} to {:.3}",
        ratios[3], ratios[0], ratios[6]
    );
    assert!(ratios[3] <= 1.15, "{ratios:?}");
}
