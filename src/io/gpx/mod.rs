//! Reads GPX 1.0 and 1.1, point by point and in one pass.
//!
//! Taken: the title; waypoints with name, symbol, type and description; routes; tracks, whose segments
//! stay separate lines. Of points the position and the height; time stamps are passed over in silence,
//! every other element is passed over and listed. A missing version is no error, and the prefix of
//! the namespace is free.
//!
//! A height that is empty, `NaN`, infinite or not from −1,000 to 10,000 m is unknown, and counted.
//! A point without a valid position is an error, as is everything that makes the document not
//! well-formed XML. A document type is passed over: of entities only XML's own five and references
//! to characters are known, so nothing can grow.

mod markup;
mod parser;

use std::io::Read;
use std::sync::Arc;

use super::text::{TextError, XmlText};
use crate::model::track::Point;
use parser::{Parser, io_fault};

/// Longest name that is kept, in characters; a longer one is cut.
pub const LONGEST_NAME: usize = 120;

/// What a file holds.
#[derive(Clone, Debug, Default)]
pub struct Reading {
    /// The program that wrote it.
    pub creator: Option<String>,
    /// The file's own title.
    pub title: Option<Arc<str>>,
    /// Waypoints in the order of the file.
    pub waypoints: Vec<Waypoint>,
    /// Track segments and routes in the order of the file, those without a point left out.
    pub lines: Vec<Line>,
    /// Elements that were not read, by name, with how often each was met.
    pub passed_over: Vec<(String, u64)>,
    /// Heights that were stated and are none.
    pub unusable_heights: u64,
    /// Name of the encoding.
    pub encoding: &'static str,
    /// Where reading stopped, when damage was to be salvaged.
    pub salvaged_before: Option<TextError>,
}

/// A line of the file: a track's segment or a route.
#[derive(Clone, Debug)]
pub struct Line {
    /// Which of the two.
    pub kind: LineKind,
    /// Name of the track or route.
    pub name: Option<Arc<str>>,
    /// Number of the segment within its track, from 1; a route is its own first.
    pub segment: usize,
    /// The points.
    pub points: Vec<Point>,
    /// Words about points of a route, by the point's index.
    pub words: Vec<(usize, Words)>,
}

/// Track or route.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum LineKind {
    /// A track: where somebody was.
    Track,
    /// A route: places to go to.
    Route,
}

/// A named position.
#[derive(Clone, Debug)]
pub struct Waypoint {
    /// Where.
    pub point: Point,
    /// What is said about it.
    pub words: Words,
}

/// What a file says about a point.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Words {
    /// Its name.
    pub name: Option<String>,
    /// Its symbol.
    pub symbol: Option<String>,
    /// Its type.
    pub kind: Option<String>,
    /// Its description.
    pub description: Option<String>,
}

/// Reads a file. With `salvage`, damage is no error: what precedes it is taken, and
/// [`Reading::salvaged_before`] tells where it stopped.
///
/// # Errors
/// The damage, each with its line: points without a valid position up to twenty, or whatever
/// made it impossible to read on.
pub fn read(bytes: impl Read, salvage: bool) -> Result<Reading, Vec<TextError>> {
    let mut parser = Parser::new(salvage);
    let end = match XmlText::new(bytes) {
        Ok(text) => {
            parser.reading.encoding = text.encoding();
            parser.run(text)
        }
        Err(error) => Err(io_fault(1, &error)),
    };
    if let Err(fault) = end {
        if salvage {
            parser.close_line();
            parser.close_track();
            parser.reading.salvaged_before = Some(fault);
        } else {
            parser.damage.push(fault);
        }
    }
    if parser.damage.is_empty() {
        Ok(parser.reading)
    } else {
        Err(parser.damage)
    }
}

impl Words {
    /// Everything but the name, on one line; `kind_too` is false where symbol and type were understood.
    pub(super) fn note(&self, kind_too: bool) -> Option<String> {
        let kind = self.kind.as_ref().filter(|_| kind_too);
        let symbol = self.symbol.as_ref().filter(|_| kind_too);
        let parts = [
            self.description.clone(),
            kind.map(|kind| format!("type: {kind}")),
            symbol.map(|symbol| format!("symbol: {symbol}")),
        ];
        let parts: Vec<String> = parts.into_iter().flatten().collect();
        (!parts.is_empty()).then(|| parts.join("; "))
    }
}
