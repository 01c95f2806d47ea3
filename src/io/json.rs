//! Trip files: read with every problem at once, written in the order of the documentation.
//!
//! Reading is strict: UTF-8 (a byte order mark is ignored), every key once, nothing after the
//! document, at most `MOST_BYTES` bytes and `MOST_VALUES` values, nesting as deep as `serde_json`
//! goes (128). Numbers keep their last bit. Points of a track's GPX file are not read here.

use std::fs::File;
use std::io::{self, BufWriter, Read, Write};
use std::path::Path;

use serde_json::Value;

use super::disk::System;
use super::layout;
use super::places::locate;
use super::reason::plain_reason;
use super::save::{self, Existing, SaveError};
use crate::model::Trip;
use crate::model::check::{self, Problem};

/// The largest file that is read.
pub(crate) const MOST_BYTES: u64 = 256 * 1024 * 1024;

/// Most values of a document. In memory each needs up to a few hundred bytes, however short it is written; a million
/// points of tracks are fewer.
pub(crate) const MOST_VALUES: usize = 5_000_000;

/// How much of a written trip goes to its stream at once.
const GATHERED_BYTES: usize = 64 * 1024;

/// Why a file is no trip; the caller adds its name.
#[derive(Debug, thiserror::Error)]
pub enum ReadError {
    /// The system refused.
    #[error("{}", plain_reason(.0))]
    System(#[from] io::Error),
    /// The file is too large.
    #[error("the file is too large: {}at most {MOST_BYTES} bytes are read", .0.map_or(String::new(), |bytes| format!("it has {bytes} bytes, and ")))]
    TooLarge(
        /// Its size, where it is known.
        Option<u64>,
    ),
    /// It holds too many values.
    #[error(
        "the file has more than {MOST_VALUES} values; put long tracks into GPX files beside the trip"
    )]
    TooMany,
    /// The file is no text.
    #[error("line {line}, column {column}: not UTF-8 text, byte 0x{byte:02x}")]
    NotUtf8 {
        /// Line from 1.
        line: usize,
        /// Character of the line from 1.
        column: usize,
        /// The byte that is no part of a character.
        byte: u8,
    },
    /// The file is of another kind.
    #[error("not a trip file: {0}")]
    Foreign(
        /// The format that it has instead.
        Foreign,
    ),
    /// The text is no JSON.
    #[error("line {line}, column {column}: {message}")]
    Syntax {
        /// Line from 1.
        line: usize,
        /// Character of the line from 1.
        column: usize,
        /// What was expected, and what was found.
        message: String,
    },
    /// The document is no trip.
    #[error("{}", listed(.0))]
    Problems(
        /// Everything that is wrong.
        Vec<Problem>,
    ),
}

/// A kind of file that another command reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Foreign {
    /// GPX, or other XML.
    #[error("it begins with <, as GPX does")]
    Xml,
    /// An object whose type is one of `GeoJSON`.
    #[error("it is GeoJSON")]
    GeoJson,
    /// A table of legs.
    #[error("it is a table")]
    Table,
    /// A table of fill-ups.
    #[error("it is a fill-up log")]
    FillUpLog,
}

/// The types of `GeoJSON` objects (RFC 7946, section 1.4).
const GEOJSON: [&str; 9] = [
    "FeatureCollection",
    "Feature",
    "GeometryCollection",
    "Point",
    "MultiPoint",
    "LineString",
    "MultiLineString",
    "Polygon",
    "MultiPolygon",
];

impl Foreign {
    /// The kind of a text that is no JSON; `None` if it is none that another command reads.
    fn of_text(text: &str) -> Option<Self> {
        let text = text.trim_start();
        if text.starts_with('<') {
            return Some(Self::Xml);
        }
        let header = text.lines().next()?;
        let is_header = header.contains([',', ';', '\t'])
            && header
                .chars()
                .all(|c| c.is_alphanumeric() || " _,;\t%\"()".contains(c));
        if !is_header {
            return None;
        }
        Some(
            if header.contains("odometer") || header.contains("to_brim") {
                Self::FillUpLog
            } else {
                Self::Table
            },
        )
    }

    /// Whether a document is of another kind.
    fn of_document(document: &Value) -> Option<Self> {
        let kind = document.get("type")?.as_str()?;
        let is_trip = document.get("drystage").is_some();
        (!is_trip && GEOJSON.contains(&kind)).then_some(Self::GeoJson)
    }

    /// What to do with the file at `path`.
    pub(crate) fn advice(self, path: &str) -> String {
        let make = match self {
            Self::Xml => "To make a trip from a GPX track",
            Self::GeoJson => "To make a trip from it",
            Self::Table => "To make a trip from a leg table",
            Self::FillUpLog => {
                return format!(
                    "To calibrate the vehicle of a trip: drystage calibrate TRIP {path}"
                );
            }
        };
        format!("{make}: drystage import {path} -o trip.json")
    }
}

fn listed(problems: &[Problem]) -> String {
    let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
    lines.join("\n")
}

/// Reads the trip in a file.
///
/// # Errors
/// When the file cannot be read, is no JSON, or is no trip.
pub fn read(path: &Path) -> Result<Trip, ReadError> {
    let file = File::open(path)?;
    let about = file.metadata()?;
    if about.is_file() && about.len() > MOST_BYTES {
        return Err(ReadError::TooLarge(Some(about.len())));
    }
    let expected = usize::try_from(about.len()).unwrap_or_default();
    read_into(Vec::with_capacity(expected), file)
}

/// Reads a trip from a stream.
///
/// # Errors
/// As [`read`].
pub(crate) fn read_from(stream: impl Read) -> Result<Trip, ReadError> {
    read_into(Vec::new(), stream)
}

fn read_into(mut bytes: Vec<u8>, stream: impl Read) -> Result<Trip, ReadError> {
    stream.take(MOST_BYTES + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(ReadError::TooLarge(None));
    }
    parse(&bytes)
}

/// Reads a trip from the bytes of a file.
///
/// # Errors
/// When they are no JSON or no trip.
pub fn parse(bytes: &[u8]) -> Result<Trip, ReadError> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let good = error.valid_up_to();
        let (line, column) = place(&bytes[..good]);
        ReadError::NotUtf8 {
            line,
            column,
            byte: bytes[good],
        }
    })?;
    // Every value but the first follows one of these; in texts they are few.
    let marks = bytes
        .iter()
        .filter(|byte| matches!(byte, b',' | b'[' | b'{'));
    if marks.count() > MOST_VALUES {
        return Err(ReadError::TooMany);
    }
    let mut deserializer = serde_json::Deserializer::from_str(text);
    let (document, mut twice) = check::document(&mut deserializer)
        .and_then(|read| deserializer.end().map(|()| read))
        .map_err(|error| match Foreign::of_text(text) {
            Some(foreign) => ReadError::Foreign(foreign),
            None => syntax(text, &error),
        })?;
    if let Some(foreign) = Foreign::of_document(&document) {
        return Err(ReadError::Foreign(foreign));
    }
    let problems = match check::read(document) {
        Ok(trip) if twice.is_empty() => return Ok(trip),
        read => read.err().unwrap_or_default(),
    };
    twice.extend(problems);
    locate(text, &mut twice);
    Err(ReadError::Problems(twice))
}

/// Writes a trip as JSON, its keys in the order of the documentation.
///
/// # Errors
/// When the stream refuses.
pub fn write(trip: &Trip, stream: &mut dyn Write) -> io::Result<()> {
    // A trip is written by the word, so the words are gathered before they go to a stream of whatever kind.
    let mut gathered = BufWriter::with_capacity(GATHERED_BYTES, stream);
    layout::write(&trip.to_document(), &mut gathered)?;
    gathered.write_all(b"\n")?;
    gathered.flush()
}

/// Saves a trip as a file, whole or not at all.
///
/// # Errors
/// When the file exists and is to be kept, or the system refuses.
pub(crate) fn save(trip: &Trip, path: &Path, existing: Existing) -> Result<(), SaveError> {
    save::save(&System, path, existing, |stream| write(trip, stream))
}

/// Line and column, from 1, of what comes after `before`.
fn place(before: &[u8]) -> (usize, usize) {
    let line = before.split(|&byte| byte == b'\n').count();
    let start = before
        .iter()
        .rposition(|&byte| byte == b'\n')
        .map_or(0, |at| at + 1);
    (
        line,
        String::from_utf8_lossy(&before[start..]).chars().count() + 1,
    )
}

/// What `serde_json` found, with the column counted in characters and what is there.
fn syntax(text: &str, error: &serde_json::Error) -> ReadError {
    let message = error.to_string();
    let expected = message
        .rsplit_once(" at line ")
        .map_or(message.as_str(), |(message, _)| message);
    if error.is_eof() {
        let (line, column) = place(text.as_bytes());
        let message = if text.trim().is_empty() {
            "the file is empty".to_owned()
        } else {
            expected.replacen("EOF while parsing", "the file ends too early, in", 1)
        };
        return ReadError::Syntax {
            line,
            column,
            message,
        };
    }
    let of_line = text
        .split('\n')
        .nth(error.line().saturating_sub(1))
        .unwrap_or("");
    // The column is that of the byte last looked at, from 1, and 0 at the very start of a line.
    let mut end = error.column().saturating_sub(1).min(of_line.len());
    while !of_line.is_char_boundary(end) {
        end -= 1;
    }
    let message = match of_line[end..].chars().next() {
        Some(found) => format!("{expected}, got `{}`", found.escape_default()),
        None => format!("{expected}, got the end of the line"),
    };
    ReadError::Syntax {
        line: error.line(),
        column: of_line[..end].chars().count() + 1,
        message,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const EXAMPLE: &str = include_str!("../../tests/data/example-trip.json");

    fn error_of(bytes: &[u8]) -> String {
        parse(bytes).unwrap_err().to_string()
    }

    #[test]
    fn a_byte_order_mark_is_passed_over() {
        let marked = format!("\u{feff}{EXAMPLE}");
        assert_eq!(
            parse(marked.as_bytes()).unwrap(),
            parse(EXAMPLE.as_bytes()).unwrap()
        );
    }

    #[test]
    fn what_is_no_text_is_reported_with_its_place() {
        assert_eq!(
            error_of(b"{\n  \"n\xc3\xa4me\": \"\xff\"}"),
            "line 2, column 12: not UTF-8 text, byte 0xff"
        );
        assert_eq!(
            error_of(b"\xff\xfe{\0}\0"),
            "line 1, column 1: not UTF-8 text, byte 0xff"
        );
        // A character that the end of the file cuts.
        assert_eq!(
            error_of(b"{\"\xe2\x82"),
            "line 1, column 3: not UTF-8 text, byte 0xe2"
        );
    }

    #[test]
    fn what_is_no_json_is_reported_with_its_place() {
        let cases = [
            ("", "line 1, column 1: the file is empty"),
            ("{\"a\": 1,}", "line 1, column 9: trailing comma, got `}`"),
            (
                "{\n \"ä\": NaN\n}",
                "line 2, column 7: expected value, got `N`",
            ),
            (
                "{\"a\": 1 \"b\": 2}",
                "line 1, column 9: expected `,` or `}`, got `\\\"`",
            ),
            (
                "{\"a\": [1, 2",
                "line 1, column 12: the file ends too early, in a list",
            ),
            ("{} x", "line 1, column 4: trailing characters, got `x`"),
            (
                "{\"a\": 1e999}",
                "line 1, column 11: number out of range, got `9`",
            ),
        ];
        for (text, message) in cases {
            assert_eq!(error_of(text.as_bytes()), message, "{text}");
        }
    }

    #[test]
    fn a_key_that_stands_twice_is_reported_with_all_else() {
        let twice = EXAMPLE
            .replace("\"tank_l\": 55,", "\"tank_l\": 55, \"tank_l\": 5,")
            .replace("\"day\": 3,", "\"day\": 3, \"a/b\": 1, \"a/b\": 2,");
        assert_eq!(
            error_of(twice.as_bytes()),
            "/vehicle/tank_l: this key appears twice; delete one of the two\n\
             /legs/4/a~1b, leg 5 to Salt Edge: this key appears twice; delete one of the two\n\
             /legs/4/a~1b, leg 5 to Salt Edge: unknown key; the keys here are to, lat, lon, day, distance_km, surface, \
             surface_known_share, surface_from, hazards, sand_share, dune_share, low_range_share, both_share, aired_down, speed_kmh, ascent_m, \
             descent_m, ascent_grade, descent_grade, mean_altitude_m, temperature_c, headwind_kmh, \
             wind_kmh, wind_from_deg, idle_h, camp_l_per_day, aircon, depart, return, fuel, track, note"
        );
    }

    #[test]
    fn deep_nesting_is_refused() {
        let deep = "[".repeat(100_000);
        assert!(
            error_of(deep.as_bytes()).contains("recursion limit"),
            "{}",
            error_of(deep.as_bytes())
        );
    }

    /// Two bytes of text make a value of dozens, so the size of a file is no bound of memory.
    #[test]
    fn values_are_counted() {
        let message = |values: usize| {
            let document = format!("[{}", "0,".repeat(values));
            error_of(document.as_bytes())
        };
        assert_eq!(
            message(MOST_VALUES),
            "the file has more than 5000000 values; put long tracks into GPX files beside the trip"
        );
        assert_eq!(
            message(1),
            "line 1, column 4: the file ends too early, in a value"
        );
    }

    #[test]
    fn a_file_that_is_too_large_is_refused_unread() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("large.json");
        let large = File::create(&path).unwrap();
        large.set_len(MOST_BYTES + 1).unwrap();
        assert_eq!(
            read(&path).unwrap_err().to_string(),
            "the file is too large: it has 268435457 bytes, and at most 268435456 bytes are read"
        );
        let missing = read(&folder.path().join("none.json")).unwrap_err();
        assert_eq!(missing.to_string(), "file not found");
    }

    #[test]
    fn every_point_of_a_track_is_a_line() {
        let mut document: Value = serde_json::from_str(EXAMPLE).unwrap();
        document["legs"][0]["track"] = serde_json::json!([[-130.4, -48.2, 1850], [-130.25, -48.3]]);
        let trip = check::read(document).unwrap();
        let mut text = Vec::new();
        write(&trip, &mut text).unwrap();
        let text = String::from_utf8(text).unwrap();
        let points =
            "      \"track\": [\n        [-130.4, -48.2, 1850],\n        [-130.25, -48.3]\n      ]";
        assert!(text.contains(points), "{text}");
        assert_eq!(parse(text.as_bytes()).unwrap(), trip);
    }

    #[test]
    fn what_is_saved_is_what_is_read() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("trip.json");
        let trip = parse(EXAMPLE.as_bytes()).unwrap();
        save(&trip, &path, Existing::Keep).unwrap();
        assert_eq!(read(&path).unwrap(), trip);
    }
}
