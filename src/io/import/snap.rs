//! Where waypoints are along a line.
//!
//! The line is walked once. A waypoint is on it wherever the line comes near enough; each time it does is
//! a pass, cut at the nearest point, so that a way out and back meets the same place twice. The line
//! has to move away by four times the distance before it can pass again, or wandering about a camp
//! would make many places of one.

use std::cell::Cell;
use std::collections::HashMap;

use super::legs::MOST_LEGS;
use super::plane::{METRES_PER_DEGREE, Plane};
use crate::model::geodesic;
use crate::model::route::Position;
use crate::model::track::Point;
use crate::quantity::Metres;

/// Steps held against waypoints before the search is given up; about a second's work.
const MOST_COMPARED: u64 = 50_000_000;
/// Passes of one line before the search is given up: ten times the legs of a trip, since waypoints of one place are
/// one pass each.
const MOST_PASSES: usize = 10 * MOST_LEGS;

/// A waypoint met on the route.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Pass {
    /// Index of the waypoint.
    pub(super) waypoint: usize,
    /// Index of the point before the nearest place on the line.
    pub(super) after: usize,
    /// How far on between that point and the next, 0 to 1.
    pub(super) share: f64,
    /// Distance from the line's first point.
    pub(super) along: Metres,
    /// Distance from the waypoint.
    pub(super) off: Metres,
}

/// Waypoints, to be looked for along lines.
pub(super) struct Waypoints {
    positions: Vec<Position>,
    /// In the order of their latitudes.
    order: Vec<usize>,
    latitudes: Vec<f64>,
    /// Steps that were held against waypoints so far.
    compared: Cell<u64>,
}

impl Waypoints {
    pub(super) fn new(positions: Vec<Position>) -> Self {
        let mut order: Vec<usize> = (0..positions.len()).collect();
        order.sort_by(|&a, &b| positions[a].lat.get().total_cmp(&positions[b].lat.get()));
        let latitudes = order.iter().map(|&n| positions[n].lat.get()).collect();
        Self {
            positions,
            order,
            latitudes,
            compared: Cell::new(0),
        }
    }

    fn between(&self, south: f64, north: f64) -> impl Iterator<Item = usize> + '_ {
        let first = self.latitudes.partition_point(|&lat| lat < south);
        let near = self.latitudes[first..]
            .iter()
            .take_while(move |&&lat| lat <= north);
        self.order[first..].iter().zip(near).map(|(&n, _)| n)
    }

    /// Whether there is time to hold one more step against a waypoint.
    fn may_compare(&self) -> bool {
        self.compared.set(self.compared.get() + 1);
        self.compared.get() <= MOST_COMPARED
    }

    /// Every pass of the line by any of them, in driving order; `None` when so many are about the lines that
    /// it would take too long to find them.
    pub(super) fn passes(&self, points: &[Point], within: Metres) -> Option<Vec<Pass>> {
        let margin = margin(within);
        let mut found = Vec::new();
        // The pass that a waypoint is in, and how far along it was last near.
        let mut open: HashMap<usize, (Pass, Metres)> = HashMap::new();
        let mut along = Metres::ZERO;
        for (n, (from, to)) in points.iter().zip(points.iter().skip(1)).enumerate() {
            let step = geodesic::distance(from.position(), to.position());
            let south = from.lat.min(to.lat).get() - margin;
            let north = from.lat.max(to.lat).get() + margin;
            for waypoint in self.between(south, north) {
                if !self.may_compare() || found.len() + open.len() > MOST_PASSES {
                    return None;
                }
                let (off, share) = nearest(self.positions[waypoint], from, to);
                if off > within {
                    continue;
                }
                let here = Pass {
                    waypoint,
                    after: n,
                    share,
                    along: along + step * share,
                    off,
                };
                let now = match open.remove(&waypoint) {
                    Some((best, near)) if here.along - near <= within * 4.0 => {
                        (if here.off < best.off { here } else { best }, here.along)
                    }
                    Some((done, _)) => {
                        found.push(done);
                        (here, here.along)
                    }
                    None => (here, here.along),
                };
                open.insert(waypoint, now);
            }
            along += step;
        }
        found.extend(open.into_values().map(|(pass, _)| pass));
        // Those at the same place are in the order of the file.
        found.sort_by(|a, b| {
            let order = a.along.get().total_cmp(&b.along.get());
            order.then(a.waypoint.cmp(&b.waypoint))
        });
        Some(found)
    }

    /// The waypoint nearest to each of some points, where one is near enough; all nothing from where on it
    /// would take too long to find them.
    pub(super) fn nearest_to_each(&self, points: &[Point], within: Metres) -> Vec<Option<usize>> {
        let margin = margin(within);
        let nearest_to = |point: &Point| {
            let lat = point.lat.get();
            self.between(lat - margin, lat + margin)
                .take_while(|_| self.may_compare())
                .map(|n| (nearest(self.positions[n], point, point).0, n))
                .filter(|(off, _)| *off <= within)
                .min_by(|(a, _), (b, _)| a.get().total_cmp(&b.get()))
                .map(|(_, n)| n)
        };
        points.iter().map(nearest_to).collect()
    }
}

/// Degrees of latitude within which everything so near is.
fn margin(within: Metres) -> f64 {
    within.get() / METRES_PER_DEGREE * 1.01
}

/// How far a waypoint is off the step from one point to the next, and where the nearest place is.
fn nearest(waypoint: Position, from: &Point, to: &Point) -> (Metres, f64) {
    let plane = Plane::at(waypoint);
    let ((x1, y1), (x2, y2)) = (plane.project(from), plane.project(to));
    let (dx, dy) = (x2 - x1, y2 - y1);
    let square = dx * dx + dy * dy;
    let share = if square > 0.0 {
        (-(x1 * dx + y1 * dy) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (Metres::new((x1 + share * dx).hypot(y1 + share * dy)), share)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Degrees;

    fn line(positions: &[(f64, f64)]) -> Vec<Point> {
        let point = |&(lat, lon)| Point {
            lat: Degrees::new(lat),
            lon: Degrees::new(lon),
            height: None,
        };
        positions.iter().map(point).collect()
    }

    fn at(lat: f64, lon: f64) -> Position {
        Position {
            lat: Degrees::new(lat),
            lon: Degrees::new(lon),
        }
    }

    fn passes(points: &[Point], waypoints: &[Position]) -> Vec<Pass> {
        let waypoints = Waypoints::new(waypoints.to_vec());
        waypoints.passes(points, Metres::new(250.0)).unwrap()
    }

    #[test]
    fn a_way_out_and_back_meets_a_place_twice() {
        let points = line(&[
            (-48.0, -130.0),
            (-48.1, -130.0),
            (-48.2, -130.0),
            (-48.1, -130.0),
            (-48.0, -130.0),
        ]);
        let found = passes(&points, &[at(-48.05, -130.001), at(-48.2, -130.0)]);
        let order: Vec<usize> = found.iter().map(|pass| pass.waypoint).collect();
        assert_eq!(order, [0, 1, 0]);
        assert!((found[0].share - 0.5).abs() < 1e-6);
        assert!((found[0].off.get() - 74.4).abs() < 0.5, "{found:?}");
    }

    #[test]
    fn a_place_too_far_off_is_not_on_the_line() {
        let points = line(&[(-48.0, 179.99), (-48.0, -179.99)]);
        let near = at(-48.002, 180.0);
        let far = at(-48.003, 180.0);
        let found = passes(&points, &[near, far]);
        assert_eq!(
            found.iter().map(|pass| pass.waypoint).collect::<Vec<_>>(),
            [0]
        );
    }

    #[test]
    fn wandering_about_a_place_is_one_pass() {
        let points = line(&[
            (-48.0, -130.1),
            (-48.0, -130.0),
            (-48.004, -130.0),
            (-48.0, -130.0),
            (-48.0, -129.9),
        ]);
        assert_eq!(passes(&points, &[at(-48.0, -130.0)]).len(), 1);
    }
}
