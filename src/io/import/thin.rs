//! A track without the points that do not show.

use geo::{Coord, LineString, SimplifyIdx};

use super::line::rounded;
use super::plane::Plane;
use crate::model::line::Polyline;
use crate::model::track::{Point, Track};
use crate::quantity::Degrees;

/// How far the track that a leg keeps may stray from the one that was read.
const STRAY: f64 = 10.0;
/// Points simplified at a time: it bounds the work on a line made to be hard, and the memory.
const CHUNK: usize = 1000;

/// The track of a leg without what does not show: straight parts are thinned to their ends, so that
/// no point is farther than [`STRAY`] from the line that is kept. Heights are in the leg already.
pub(super) fn simplified(first: Point, between: &[Point], last: Point) -> Track {
    let mut kept = vec![flat(&first)];
    let mut chunk = vec![first];
    let mut points = between
        .iter()
        .skip_while(|point| **point == first)
        .chain([&last])
        .peekable();
    while let Some(point) = points.next() {
        chunk.push(*point);
        if chunk.len() == CHUNK || points.peek().is_none() {
            kept.extend(thinned(&chunk).into_iter().skip(1));
            chunk = vec![*point];
        }
    }
    kept.dedup();
    if kept.len() == 1 {
        kept.push(kept[0]);
    }
    Track::Inline(Polyline::new(kept))
}

fn thinned(points: &[Point]) -> Vec<Point> {
    let plane = Plane::at(points[0].position());
    let line: LineString = points
        .iter()
        .map(|point| plane.project(point))
        .map(|(x, y)| Coord { x, y })
        .collect();
    line.simplify_idx(STRAY)
        .into_iter()
        .map(|index| flat(&points[index]))
        .collect()
}

/// A point without its height, to 0.1 m.
pub(super) fn flat(point: &Point) -> Point {
    Point {
        lon: Degrees::new(rounded(point.lon.get(), 1e6)),
        lat: Degrees::new(rounded(point.lat.get(), 1e6)),
        height: None,
    }
}
