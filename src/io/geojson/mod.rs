//! Reads `GeoJSON` (RFC 7946) in one pass: a collection, a feature or a bare geometry.
//!
//! Taken: lines as tracks, each part of a `MultiLineString` a segment, points as waypoints; of a feature's
//! properties its name (or title), description, symbol and type, and the times of a line's points where they
//! stand in `coordTimes` or `coordinateProperties.times` (common practice, no source). Positions are longitude,
//! latitude and height; a longitude up to 360 is turned back into −180 to 180, and a line that was cut at the
//! antimeridian, as the RFC asks, is one line again. Areas, other members and other properties are passed over
//! and listed.
//!
//! A leg as this program's own reports state it (`trip_leg`) comes back as it was.
//!
//! No part of the file is held but the points and the words that are taken, so nothing can grow; nesting is
//! bounded by the JSON reader. Damage is told with its line, a wrong position with its path (RFC 6901).

mod coordinates;
mod features;
mod properties;

use std::fmt::Write as _;
use std::io::{BufReader, Read};

use serde::de::DeserializeSeed;

use super::reading::Reading;
use super::text::plain;
use features::Node;

/// Problems that are told before reading stops.
const MOST_PROBLEMS: usize = 20;
/// A file larger than this is refused.
const LARGEST: u64 = 512 << 20;
/// Steps from the file's object to the innermost; a collection of areas in a feature has nine.
const DEEPEST: usize = 32;
/// What the JSON reader says of nesting that it does not follow.
const TOO_DEEP: &str = "recursion limit exceeded";
/// A number of a file that is wrong, as it is told.
const LONGEST_VALUE: usize = 40;

/// Something wrong with a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The line, from 1, where the file is no JSON from there on.
    pub line: Option<u64>,
    /// Path of the value (RFC 6901).
    pub at: String,
    /// What would be right, then what was found.
    pub says: String,
}

/// Reads a file. With `salvage`, damage is no error: what precedes it is taken, and
/// [`Reading::salvaged_before`] tells where it stopped.
///
/// # Errors
/// Every wrong position up to twenty, or whatever made it impossible to read on.
pub fn read(mut bytes: impl Read, salvage: bool) -> Result<Reading, Vec<Fault>> {
    read_from(&mut bytes, salvage)
}

/// The same, once for every kind of file.
fn read_from(bytes: &mut dyn Read, salvage: bool) -> Result<Reading, Vec<Fault>> {
    let mut reader = Reader {
        salvage,
        ..Reader::default()
    };
    reader.reading.encoding = "UTF-8";
    let mut bytes = bytes.take(LARGEST);
    let mut json = serde_json::Deserializer::from_reader(BufReader::new(&mut bytes));
    let done = Node {
        reader: &mut reader,
        is_root: true,
    }
    .deserialize(&mut json)
    .and_then(|_| json.end());
    if let Err(error) = done {
        let mut fault = reader.fault(&error);
        if error.is_eof() && bytes.limit() == 0 {
            fault.says = format!(
                "a file must be at most {LARGEST} bytes, got more; thin the lines, or save them as GPX"
            );
        }
        if salvage {
            reader.reading.salvaged_before = Some(super::text::TextError {
                line: error.line() as u64,
                says: fault.says,
            });
        } else if reader.problems.len() < MOST_PROBLEMS {
            reader.problems.push(fault);
        }
    }
    if reader.problems.is_empty() {
        Ok(reader.reading)
    } else {
        Err(reader.problems)
    }
}

/// What has been read, and where reading stands.
#[derive(Default)]
struct Reader {
    salvage: bool,
    reading: Reading,
    problems: Vec<Fault>,
    path: Vec<Step>,
    /// Positions of all lines so far.
    points: usize,
    /// Times so far.
    times: usize,
}

/// A step from a value to one within it.
enum Step {
    Key(String),
    Index(usize),
}

impl Reader {
    /// Where reading stands (RFC 6901).
    fn at(&self) -> String {
        let mut at = String::new();
        for step in &self.path {
            match step {
                Step::Key(key) => {
                    let _ = write!(at, "/{}", key.replace('~', "~0").replace('/', "~1"));
                }
                Step::Index(index) => {
                    let _ = write!(at, "/{index}");
                }
            }
        }
        at
    }

    /// Refuses what no file of maps nests; the stack is finite.
    fn check_depth<E: serde::de::Error>(&self) -> Result<(), E> {
        if self.path.len() > DEEPEST {
            return Err(E::custom(format!(
                "lists and objects must be nested at most {DEEPEST} deep, got more"
            )));
        }
        Ok(())
    }

    /// Goes on to the element of a list, whose step is the last.
    fn at_element(&mut self, element: usize) {
        if let Some(step) = self.path.last_mut() {
            *step = Step::Index(element);
        }
    }

    /// Notes a problem that does not keep the rest from being read; an error where it has to.
    fn problem<E: serde::de::Error>(&mut self, says: String) -> Result<(), E> {
        if self.salvage || self.problems.len() + 1 >= MOST_PROBLEMS {
            return Err(E::custom(says));
        }
        let at = self.at();
        self.problems.push(Fault {
            line: None,
            at,
            says,
        });
        Ok(())
    }

    fn fault(&self, error: &serde_json::Error) -> Fault {
        let place = format!(" at line {} column {}", error.line(), error.column());
        let text = error.to_string();
        let says = text.strip_suffix(&place).unwrap_or(&text);
        let says = plain(says, 400);
        Fault {
            line: Some(error.line() as u64),
            at: self.at(),
            says: match error.classify() {
                serde_json::error::Category::Data => says,
                _ if says == TOO_DEEP => {
                    "lists and objects must be nested at most 127 deep, got more".to_owned()
                }
                serde_json::error::Category::Io => format!("reading failed: {says}"),
                _ => format!(
                    "must be JSON, got damage in column {}: {says}",
                    error.column()
                ),
            },
        }
    }
}
