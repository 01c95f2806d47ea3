//! A track without the points that do not show.

use geo::{Coord, LineString, SimplifyIdx};

use super::line::rounded;
use crate::model::geodesic;
use crate::model::line::Line;
use crate::model::track::{Point, Track};
use crate::quantity::Degrees;

/// How far the track that a leg keeps may stray from the one that was read.
const STRAY: f64 = 10.0;
/// Points simplified at a time: it bounds the work on a line made to be hard, and the memory.
const CHUNK: usize = 1000;
/// Metres in a degree of latitude, on a sphere.
const METRES_PER_DEGREE: f64 = 111_194.93;

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
    Track::Inline(Line::new(kept))
}

fn thinned(points: &[Point]) -> Vec<Point> {
    let first = points[0];
    let east = METRES_PER_DEGREE * first.lat.get().to_radians().cos();
    let line: LineString = points
        .iter()
        .map(|point| Coord {
            x: geodesic::longitude_between(first.lon, point.lon).get() * east,
            y: (point.lat - first.lat).get() * METRES_PER_DEGREE,
        })
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
