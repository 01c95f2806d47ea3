//! What a file of tracks, routes and waypoints holds, whatever it is written in.

use std::sync::Arc;

use super::import::Altitudes;
use super::moment::Moment;
use super::text::TextError;
use crate::model::route::{Leg, Start};
use crate::model::track::Point;

/// Longest name that is kept, in characters; a longer one is cut.
pub const LONGEST_NAME: usize = 120;
/// Longest description that is kept, likewise.
pub(super) const LONGEST_NOTE: usize = 400;
/// Waypoints of one file.
pub(super) const MOST_WAYPOINTS: usize = 100_000;
/// Track segments and routes of one file.
pub(super) const MOST_LINES: usize = 10_000;
/// Points of all lines of one file: a point a second for four months. A point is held in 40 bytes.
pub(super) const MOST_POINTS: usize = 10_000_000;
/// The most names that are listed of what is ignored.
const MOST_PASSED_OVER: usize = 100;

/// Lines, waypoints and stated legs of a file.
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
    /// Start and legs, where a report of this program stated them.
    pub stated: Stated,
    /// What was not read, by name, with how often each was met.
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
    /// The points, in driving order.
    pub points: Vec<Point>,
    /// When each point was passed, where it is known; shorter than the points where the last are not.
    pub times: Vec<Option<Moment>>,
    /// Words about points of a route, by the point's index.
    pub words: Vec<(usize, Words)>,
    /// Where the altitudes come from, where there was a choice.
    pub(crate) altitudes: Option<Altitudes>,
}

/// Track or route.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
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
    /// Position of the waypoint.
    pub point: Point,
    /// Its words in the file.
    pub words: Words,
}

/// The words of a file about a point.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Words {
    /// Name of the point or line.
    pub name: Option<String>,
    /// Symbol to draw it with.
    pub symbol: Option<String>,
    /// Type, in the words of its writer.
    pub kind: Option<String>,
    /// Description, without what is over the greatest length.
    pub description: Option<String>,
    /// Whether it is a fuel stop of a map that nobody has confirmed.
    pub(crate) is_proposed: bool,
}

/// The start and the legs of a trip as its file states them.
#[derive(Clone, Debug, Default)]
pub struct Stated {
    /// The start, where one was stated.
    pub(crate) start: Option<Start>,
    /// The legs in driving order.
    pub(crate) legs: Vec<StatedLeg>,
}

/// A leg as the trip file states it, but for its track.
#[derive(Clone, Debug)]
pub(crate) struct StatedLeg {
    /// Where it is in the file (RFC 6901).
    pub(crate) at: String,
    pub(crate) leg: Leg,
    /// The lines of its track; none where it has none.
    pub(crate) track: Vec<Vec<Point>>,
}

impl Reading {
    /// Counts something that is not read.
    pub(super) fn pass_over(&mut self, name: &str, plain: impl FnOnce(&str) -> String) {
        let list = &mut self.passed_over;
        if let Some((_, times)) = list.iter_mut().find(|(known, _)| known == name) {
            *times += 1;
        } else if list.len() < MOST_PASSED_OVER {
            list.push((plain(name), 1));
        }
    }
}

impl Line {
    /// A line without a point.
    pub(super) fn new(kind: LineKind, segment: usize) -> Self {
        Self {
            kind,
            name: None,
            segment,
            points: Vec::new(),
            times: Vec::new(),
            words: Vec::new(),
            altitudes: None,
        }
    }

    /// Takes the next point, and when it was passed.
    #[inline]
    pub(super) fn push(&mut self, point: Point, time: Option<Moment>) {
        if time.is_some() {
            self.times.resize(self.points.len(), None);
            self.times.push(time);
        }
        self.points.push(point);
    }

    /// When a point was passed.
    pub(crate) fn time(&self, point: usize) -> Option<Moment> {
        self.times.get(point).copied().flatten()
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
