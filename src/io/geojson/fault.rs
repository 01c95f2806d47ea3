//! What is wrong with a `GeoJSON` file, and where.

use std::fmt::Write as _;
use std::io;

use serde_json::error::Category;
use serde_path_to_error::{Path, Segment};

use super::{LARGEST, MOST_VALUES};
use crate::io::reading::{MOST_LINES, MOST_WAYPOINTS};
use crate::io::text::plain;
use crate::model::field::MOST_ITEMS;

/// The message of the JSON reader about nesting that it does not follow.
const TOO_DEEP: &str = "recursion limit exceeded";

/// Something wrong with a file.
#[derive(Debug, thiserror::Error)]
#[error("{at}: {cause}")]
pub struct Fault {
    /// The line, from 1, where the file cannot be read on from there.
    pub line: Option<u64>,
    /// Path of the value (RFC 6901).
    pub at: String,
    /// What would be right, then what was found.
    pub cause: Cause,
}

/// What is wrong. Texts from the file are as [`plain`] leaves them.
#[derive(Debug, thiserror::Error)]
pub enum Cause {
    #[error("cannot be read: {0}")]
    Unreadable(String),
    #[error("the file has more than {LARGEST} bytes; thin the lines, or save them as GPX")]
    Large,
    #[error("the file has more than {MOST_VALUES} values; thin the lines, or save them as GPX")]
    ManyValues,
    #[error("lists and objects are nested more than 127 deep")]
    TooDeep,
    #[error("is not JSON in column {column}: {message}")]
    NotJson { column: usize, message: String },
    #[error("column {column}: {message}")]
    Unfit { column: usize, message: String },
    #[error("{0}")]
    UnfitProperty(String),
    #[error("is already a trip file; open it with drystage FILE")]
    IsTrip,
    #[error("a FeatureCollection cannot contain another one")]
    NestedCollection,
    #[error("a position must be [lon, lat] or [lon, lat, altitude], got {0} number")]
    ShortPosition(usize),
    #[error("a position must be [lon, lat] with a {name} of -{most} to {most} degrees, got {got}")]
    NoPosition {
        name: &'static str,
        most: u8,
        got: String,
    },
    #[error("the file has more than {MOST_WAYPOINTS} points")]
    ManyWaypoints,
    #[error("the file has more than {MOST_LINES} lines")]
    ManyLines,
    #[error("the file has more than {MOST_ITEMS} legs")]
    ManyLegs,
}

impl Cause {
    /// The character of the line, where the text is at fault.
    pub(crate) fn column(&self) -> Option<u64> {
        match self {
            Self::NotJson { column, .. } | Self::Unfit { column, .. } => Some(*column as u64),
            _ => None,
        }
    }

    /// The message without the place.
    pub(crate) fn message(&self) -> String {
        match self {
            Self::NotJson { message, .. } => {
                let message =
                    message.replacen("EOF while parsing", "the file ends too early, in", 1);
                format!("is not JSON: {message}")
            }
            Self::Unfit { message, .. } => message.clone(),
            whole => whole.to_string(),
        }
    }
}

impl Fault {
    /// What is wrong with the value at a path.
    pub(super) fn at(at: impl Into<String>, cause: Cause) -> Self {
        let at = at.into();
        Self {
            line: None,
            at,
            cause,
        }
    }

    /// What keeps the file from being read on.
    pub(super) fn new(error: serde_json::Error, path: &Path) -> Self {
        let (line, column) = (error.line(), error.column());
        let text = error.to_string();
        let place = format!(" at line {line} column {column}");
        let message = plain(text.strip_suffix(&place).unwrap_or(&text), 400);
        let cause = match error.classify() {
            Category::Data => Cause::Unfit { column, message },
            _ if message == TOO_DEEP => Cause::TooDeep,
            Category::Io => match io::Error::from(error).downcast() {
                Ok(cause) => cause,
                Err(_) => Cause::Unreadable(message),
            },
            Category::Syntax | Category::Eof => Cause::NotJson { column, message },
        };
        Self {
            line: Some(line as u64),
            at: pointer(path),
            cause,
        }
    }
}

/// A path as JSON Pointer (RFC 6901).
pub(super) fn pointer(path: &Path) -> String {
    let mut at = String::new();
    for segment in path {
        let step = match segment {
            Segment::Seq { index } => index.to_string(),
            Segment::Map { key } | Segment::Enum { variant: key } => {
                plain(key, 120).replace('~', "~0").replace('/', "~1")
            }
            Segment::Unknown => continue,
        };
        let _ = write!(at, "/{step}");
    }
    at
}
