//! Bounds of the readers of tracks and tables: whatever a file asks for, memory and work stay in proportion to
//! what a trip can use. Sizes are small enough to be ordinary tests; a file of 200 MB is read when asked for.

use std::io::Read;

use drystage::io::import::{self, ImportError, Imported, Options, Split};
use drystage::io::{csv, geojson, gpx, tracks};
use drystage::model::route::Leg;
use drystage::model::track::Track;
use drystage::quantity::Kilometres;

/// A text between a head and a foot, over and over, made as it is read.
struct Endless {
    head: Vec<u8>,
    piece: Vec<u8>,
    pieces: usize,
    foot: Vec<u8>,
    at: usize,
}

impl Endless {
    fn new(head: &str, piece: &str, pieces: usize, foot: &str) -> Self {
        Self {
            head: head.into(),
            piece: piece.into(),
            pieces,
            foot: foot.into(),
            at: 0,
        }
    }

    fn len(&self) -> usize {
        self.head.len() + self.piece.len() * self.pieces + self.foot.len()
    }

    fn byte(&self, at: usize) -> u8 {
        let Some(at) = at.checked_sub(self.head.len()) else {
            return self.head[at];
        };
        let body = self.piece.len() * self.pieces;
        match at.checked_sub(body) {
            None => self.piece[at % self.piece.len()],
            Some(at) => self.foot[at],
        }
    }
}

impl Read for Endless {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        let length = into.len().min(self.len() - self.at);
        for (n, place) in into[..length].iter_mut().enumerate() {
            *place = self.byte(self.at + n);
        }
        self.at += length;
        Ok(length)
    }
}

/// Damage of a GPX file.
fn gpx_says(file: Endless) -> String {
    gpx::read(file, false).expect_err("refused")[0].to_string()
}

fn geojson_says(file: Endless) -> String {
    let fault = geojson::read(file, false).expect_err("refused").remove(0);
    fault.cause.to_string()
}

fn table_says(text: &str) -> String {
    let problem = csv::read(text).expect_err("refused").remove(0);
    format!("line {}: {}", problem.line, problem.message)
}

#[test]
fn gpx_assert_bounded_in_what_it_may_hold() {
    let cases = [
        (
            "<wpt lat='1' lon='2'/>",
            100_001,
            "more than 100000 waypoints",
        ),
        (
            "<rte><rtept lat='1' lon='2'/></rte>",
            10_001,
            "more than 10000 track segments and routes",
        ),
    ];
    for (piece, pieces, reason) in cases {
        let message = gpx_says(Endless::new("<gpx>", piece, pieces, "</gpx>"));
        assert!(message.contains(reason), "{message}");
    }
    // A name of megabytes is cut, one of more is refused.
    let named = |words: usize| {
        let (head, foot) = ("<gpx><wpt lat='1' lon='2'><name>", "</name></wpt></gpx>");
        Endless::new(head, "long ", words, foot)
    };
    let reading = gpx::read(named(600_000), false).unwrap();
    let name = reading.waypoints[0].words.name.as_ref();
    assert!(name.is_none_or(|name| name.len() < 200));
    assert!(gpx_says(named(1_000_000)).contains("longer than 4194304 bytes"));
    let attribute = Endless::new("<gpx><x a='", "long ", 1_000_000, "'/></gpx>");
    assert!(gpx_says(attribute).contains("longer than 4194304 bytes"));
    let deep = Endless::new("<gpx>", "<trk>", 1_000_000, "");
    assert!(gpx_says(deep).contains("nested more than 256 deep"));
}

#[test]
fn geojson_assert_bounded_in_what_it_may_hold() {
    let geometry = |kind: &str, first: &str, piece: &str, pieces: usize| {
        let head = format!("{{\"type\":\"{kind}\",\"coordinates\":[{first}");
        Endless::new(&head, piece, pieces, "]}")
    };
    let points = geometry("MultiPoint", "[1,2]", ",[1,2]", 100_001);
    assert!(geojson_says(points).contains("more than 100000 points"));
    let lines = geometry("MultiLineString", "[[1,2],[3,4]]", ",[[1,2],[3,4]]", 10_001);
    assert!(geojson_says(lines).contains("more than 10000 lines"));
    for open in [
        "[",
        "{\"a\":",
        "{\"features\":[",
        "{\"geometry\":",
        "{\"geometries\":[",
    ] {
        let deep = Endless::new("{\"coordinates\":0,\"properties\":", open, 100_000, "");
        assert!(geojson::read(deep, false).is_err(), "{open}");
        let deep = Endless::new("", open, 100_000, "");
        assert!(geojson::read(deep, false).is_err(), "{open}");
    }
    for (piece, reason) in [
        (",0", "more than 5000000 values"),
        (
            "                                ",
            "more than 134217728 bytes",
        ),
    ] {
        let many = Endless::new("{\"a\":[0", piece, 8_000_001, "]}");
        assert!(geojson_says(many).contains(reason));
    }
    // Names, members and numbers without end are cut or passed over.
    let head = "{\"type\":\"Feature\",\"geometry\":{\"type\":\"Point\",\"coordinates\":[1,2]},\"properties\":{";
    let name = Endless::new(&format!("{head}\"name\":\""), "long ", 1_000_000, "\"}}");
    let reading = geojson::read(name, false).unwrap();
    let name = reading.waypoints[0].words.name.as_ref().unwrap();
    assert_eq!(name.chars().count(), 120);
    let many = Endless::new(&format!("{head}\"a\":[0"), ",0", 1_000_000, "]}}");
    let passed_over = geojson::read(many, false).unwrap().passed_over;
    assert_eq!(passed_over, [("a".to_owned(), 1)]);
    for (first, piece) in [("1,2", ",0"), ("1,2.", "0")] {
        let long = geometry("Point", first, piece, 1_000_000);
        assert_eq!(geojson::read(long, false).unwrap().waypoints.len(), 1);
    }
}

const TOO_MANY_ROWS: &str = "line 10002: the table has more than 10000 rows";
const TOO_MANY_CELLS: &str = "line 2: this row has more than 1000 cells";

#[test]
fn tables_are_bounded_in_rows_and_cells() {
    let rows = format!("to,distance_km\n{}", "A,1\n".repeat(10_001));
    assert_eq!(table_says(&rows), TOO_MANY_ROWS);
    let cells = format!("to,note\nA{}\n", ",".repeat(2_000_000));
    assert_eq!(table_says(&cells), TOO_MANY_CELLS);
    let name = format!("to,note\n{},\n", "long ".repeat(500_000));
    let read = csv::read(&name).unwrap();
    assert!(read.rows[0].leg.to.len() <= 410);
    let quotes = format!("to\n{}", "\"".repeat(1_000_001));
    assert!(table_says(&quotes).contains("a quote is not closed"));
}

#[test]
fn fill_ups_are_bounded_in_rows_and_cells() {
    let refusal = |text: &str| {
        let problems = csv::fills::read(text.as_bytes()).unwrap();
        let problem = problems.expect_err("refused").remove(0);
        format!("line {}: {}", problem.line, problem.message)
    };
    let head = "date,odometer_km,litres,to_brim\n";
    let rows = format!("{head}{}", "2020-01-01,1,1,yes\n".repeat(10_001));
    assert_eq!(refusal(&rows), TOO_MANY_ROWS);
    let cells = format!("{head}2020-01-01{}\n", ",".repeat(2_000_000));
    assert_eq!(refusal(&cells), TOO_MANY_CELLS);
    // A table without end is one of too many bytes.
    let endless = head.as_bytes().chain(std::io::repeat(b','));
    let message = csv::fills::read(endless).unwrap_err().to_string();
    let reason = "the table has more than 67108864 bytes";
    assert!(message.ends_with(reason), "{message}");
}

/// Points at which a line stands by turns, 1 km apart along a meridian.
fn to_and_fro(points: usize) -> String {
    let point = |n: usize| format!("<trkpt lat='{}' lon='0'/>", 48.0 + (n % 2) as f64 * 0.01);
    let points: String = (0..points).map(point).collect();
    format!("<trk><trkseg>{points}</trkseg></trk>")
}

/// Imports a GPX file; also says by how much the process has grown at its largest.
fn imported(inside: &str, split: Option<Split>) -> (Result<Imported, ImportError>, u64) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("hostile.gpx");
    std::fs::write(&path, format!("<gpx>{inside}</gpx>")).expect("a file");
    let before = peak_memory().unwrap_or_default();
    let options = Options {
        split,
        ..Options::default()
    };
    let found = import::import(&[path], &options);
    // The system counts in hundreds of pages, and what another thread has counted may be missing for a moment.
    let after = peak_memory().unwrap_or_default();
    (found, after.saturating_sub(before))
}

/// Memory that an import of a small file may take.
const LITTLE: u64 = 200 << 20;

/// Each of the waypoints is passed at each of the steps: 40 million passes.
#[test]
fn waypoints_of_one_place_are_not_passed_without_end() {
    let waypoints = "<wpt lat='48.005' lon='0'><name>A</name></wpt>".repeat(10_000);
    let (found, grown) = imported(&(waypoints + &to_and_fro(4_000)), None);
    let notes = found.expect("a trip").notes;
    let is_expected =
        |note: &String| note.contains("too many waypoints near track 1, so none became a place");
    assert!(notes.iter().any(is_expected), "{notes:?}");
    assert!(grown < LITTLE, "{grown}");
}

/// A hundred leaps across half the Earth, cut each kilometre, would be two million legs.
#[test]
fn the_number_of_legs_is_looked_at_before_a_line_is_cut() {
    let points: Vec<String> = (0..100)
        .map(|n| format!("<trkpt lat='0.{n}' lon='{}'/>", n % 2 * 179))
        .collect();
    let points = points.concat();
    let leaps = format!("<trk><trkseg>{points}</trkseg></trk>");
    let (found, grown) = imported(&leaps, Some(Split::Every(Kilometres::new(1.0))));
    let message = found.expect_err("refused").to_string();
    assert!(message.contains("the files make 19"), "{message}");
    assert!(message.contains("--split 100km"), "{message}");
    assert!(grown < LITTLE, "{grown}");
    // One place that is passed at each step, and more places than a trip has legs.
    let place = "<wpt lat='48.005' lon='0'><name>A</name></wpt>";
    let (found, _) = imported(&(place.to_owned() + &to_and_fro(12_000)), None);
    assert!(found.is_err(), "{found:?}");
    let places: Vec<String> = (0..12_000)
        .map(|n| format!("<wpt lat='{}' lon='0'/>", f64::from(n) * 0.005))
        .collect();
    let places = places.concat();
    let route = format!("<rte>{}</rte>", places.replace("wpt", "rtept"));
    for (kind, inside) in [("waypoints", places), ("a route", route)] {
        let (found, _) = imported(&inside, None);
        let message = found.expect_err(kind).to_string();
        assert!(message.contains("a trip can have 10000"), "{message}");
    }
}

/// What an import writes can be read again.
#[test]
#[ignore = "imports 40 MB and wants a release build"]
fn a_trip_keeps_no_more_points_than_its_file_may_hold() {
    let point = |n: i32| {
        let (lat, lon) = (f64::from(n) * 1e-5, f64::from(n % 2) * 1e-3);
        format!("<trkpt lat='{lat:.5}' lon='{lon:.3}'/>")
    };
    let points: String = (0..1_000_100).map(point).collect();
    let (found, _) = imported(&format!("<trk><trkseg>{points}</trkseg></trk>"), None);
    let message = found.expect_err("refused").to_string();
    let reason = "at most 1000000 points when their straight parts";
    assert!(message.contains(reason), "{message}");
}

/// Places of one name, whose numbers are taken already.
#[test]
fn names_are_given_in_a_time_that_grows_with_their_number() {
    let waypoint = |name: &str, n: i32| {
        let (lat, lon) = (f64::from(n % 100) * 0.05, f64::from(n / 100) * 0.05);
        format!("<wpt lat='{lat}' lon='{lon}'><name>{name}</name></wpt>")
    };
    let numbered: String = (0..4900)
        .map(|n| waypoint(&format!("A ({})", n + 2), n))
        .collect();
    let same: String = (5000..9900).map(|n| waypoint("A", n)).collect();
    let (found, _) = imported(&(numbered + &same), None);
    let trip = found.expect("a trip").trip;
    assert_eq!(trip.legs.last().expect("legs").to, "A (9800)");
}

/// A file is read once however its path is spelt, and all files of a trip have points within one bound.
#[test]
fn the_tracks_of_a_trip_are_read_once() {
    let folder = tempfile::tempdir().expect("a folder");
    let (path, gpx) = (folder.path().join("a.gpx"), to_and_fro(50_000));
    std::fs::write(&path, format!("<gpx>{gpx}</gpx>")).expect("a file");
    let mut trip = drystage::model::starter::trip();
    trip.legs = (0..400)
        .map(|n| Leg {
            track: Some(Track::File {
                path: "./".repeat(n) + "a.gpx",
                lines: None,
            }),
            ..Leg::to("end")
        })
        .collect();
    let before = peak_memory().unwrap_or_default();
    tracks::read(&mut trip, folder.path()).expect("all are one file");
    let grown = peak_memory().unwrap_or_default() - before;
    assert!(grown < LITTLE, "{grown}");
    let lines = |leg: &Leg| leg.track.as_ref().map(|track| track.lines().as_ptr());
    let first = lines(&trip.legs[0]);
    assert!(trip.legs.iter().all(|leg| lines(leg) == first));
    // A file that is not there is reported once.
    std::fs::remove_file(path).expect("it was there");
    for leg in &mut trip.legs {
        leg.track = Some(Track::File {
            path: "a.gpx".to_owned(),
            lines: None,
        });
    }
    let problems = tracks::read(&mut trip, folder.path()).expect_err("it is gone");
    assert_eq!(problems.len(), 1, "{problems:?}");
}

/// Most memory that this process ever held, in bytes.
fn peak_memory() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM"))?;
    let kibibytes: u64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kibibytes * 1024)
}

#[test]
#[ignore = "reads 200 MB and 42 MB and wants a release build"]
fn large_files_are_held_in_proportion_to_their_points() {
    let point = "<trkpt lat='-48.1234567' lon='-130.1234567'><ele>123.4</ele><time>2020-01-01T00:00:00Z</time></trkpt>\n";
    let points = 200_000_000 / point.len();
    let before = peak_memory();
    let file = Endless::new("<gpx><trk><trkseg>", point, points, "</trkseg></trk></gpx>");
    let reading = gpx::read(file, false).unwrap();
    assert_eq!(reading.lines[0].points.len(), points);
    drop(reading);
    let assert_bounded = |kind: &str, points: usize, bytes_each: u64| {
        if let (Some(before), Some(after)) = (before, peak_memory()) {
            let grown = after - before;
            println!("{kind}: {points} points, {} MiB", grown >> 20);
            assert!(grown < (16 << 20) + bytes_each * points as u64, "{grown}");
        }
    };
    assert_bounded("GPX", points, 48);
    // As many as a file may hold.
    let point = ",[-130.1234567,-48.1234567,123.4]";
    let points = 1_249_998;
    let file = Endless::new(
        "{\"type\":\"LineString\",\"coordinates\":[[1,2]",
        point,
        points,
        "]}",
    );
    let reading = geojson::read(file, false).unwrap();
    assert_eq!(reading.lines[0].points.len(), points + 1);
    assert_bounded("GeoJSON", points, 200);
}
