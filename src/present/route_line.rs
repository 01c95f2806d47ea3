//! The route on the map: the line of each leg and the position at a kilometre.
//!
//! A leg's line is its track where it has one, else the straight line between its two places. A kilometre of
//! the leg is at the same share of its line as of its stated length; the gaps between the lines
//! of a track take no kilometres. Where neither is known there is no position.

use std::borrow::Cow;

use crate::model::geodesic;
use crate::model::line::Polyline;
use crate::model::route::Position;
use crate::model::track::Point;
use crate::plan::Plan;
use crate::quantity::{Kilometres, Metres, Share};

/// The way of a plan over the ground.
#[derive(Clone, Copy, Debug)]
pub(crate) struct RouteLine<'a> {
    plan: &'a Plan,
}

/// The line of one leg.
#[derive(Clone, Debug)]
pub(crate) struct LegLine<'a> {
    /// Unbroken runs of points, in driving order; never none, and none of them without a point.
    pub(crate) lines: Cow<'a, [Polyline]>,
    /// Whether it is a track; otherwise only its two ends are known.
    pub(crate) is_track: bool,
}

impl<'a> RouteLine<'a> {
    /// The way of a plan.
    pub(crate) const fn new(plan: &'a Plan) -> Self {
        Self { plan }
    }

    /// The line of leg number `n`, from 1; `None` if unknown.
    ///
    /// # Panics
    /// When there is no such leg.
    pub(crate) fn leg(self, n: usize) -> Option<LegLine<'a>> {
        if let Some(lines) = self.track(n) {
            return Some(LegLine {
                lines: Cow::Borrowed(lines),
                is_track: true,
            });
        }
        let ends = [self.place(n - 1)?, self.place(n)?].map(|at| Point::new(at, None));
        Some(LegLine {
            lines: Cow::Owned(vec![Polyline::new(ends.to_vec())]),
            is_track: false,
        })
    }

    /// The position of place number `place_number`: as in the trip, else where a track ends or begins there.
    ///
    /// # Panics
    /// When there is no such place.
    pub(crate) fn place(self, place_number: usize) -> Option<Position> {
        let end = |lines: &[Polyline]| lines.last()?.points().last().map(Point::position);
        let begin = |lines: &[Polyline]| lines.first()?.points().first().map(Point::position);
        let stated = self.plan.trip.place(place_number).position;
        stated
            .or_else(|| end(self.track(place_number)?))
            .or_else(|| begin(self.track(place_number + 1)?))
    }

    /// The position at a kilometre of the trip.
    pub(crate) fn at(self, km: Kilometres) -> Option<Position> {
        let legs = &self.plan.legs;
        let n = legs.partition_point(|leg| leg.from_km <= km).max(1);
        let leg = legs.get(n - 1)?;
        let along = km - leg.from_km;
        if along <= Kilometres::ZERO || leg.distance <= Kilometres::ZERO {
            return self.place(n - 1);
        }
        if along >= leg.distance {
            return self.place(n);
        }
        at_share(&self.leg(n)?.lines, Share::new(along / leg.distance))
    }

    /// The lines of a leg's track that hold a point; `None` without any, or if there is no such leg.
    fn track(self, n: usize) -> Option<&'a [Polyline]> {
        let lines = self.plan.trip.legs.get(n.checked_sub(1)?)?.track.as_ref()?;
        let lines = lines.lines();
        let usable = !lines.is_empty() && lines.iter().all(|line| !line.points().is_empty());
        usable.then_some(lines)
    }
}

/// The point at a share of the length of some lines.
fn at_share(lines: &[Polyline], share: Share) -> Option<Position> {
    let whole: Metres = lines.iter().map(|line| line.profile().length).sum();
    let mut left = whole * share.get();
    for line in lines {
        let length = line.profile().length;
        if left > length {
            left -= length;
            continue;
        }
        let mut points = line.points().iter().map(Point::position);
        let mut from = points.next()?;
        for to in points {
            let step = geodesic::distance(from, to);
            if step >= left && step > Metres::ZERO {
                let share = Share::new(left / step);
                return Some(geodesic::between(from, to, share));
            }
            left -= step;
            from = to;
        }
        return Some(from);
    }
    Some(lines.last()?.points().last()?.position())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::check;
    use serde_json::json;

    fn plan(legs: serde_json::Value) -> Plan {
        let mut document: serde_json::Value =
            serde_json::from_str(include_str!("../../tests/data/example-trip.json")).unwrap();
        document["legs"] = legs;
        document["what_ifs"] = json!([]);
        Plan::best_estimate(check::read(document).unwrap())
    }

    /// A degree of the meridian at 48.5 to 49.5 south is 111.2 km.
    #[test]
    fn a_kilometre_lies_at_its_share_of_the_line() {
        let plan = plan(json!([
            { "to": "A", "lat": -49.2, "lon": -130.4, "distance_km": 200 },
            { "to": "B", "distance_km": 100,
              "track": [[-130.4, -49.2], [-130.4, -49.7], [-130.4, -49.2]] },
            { "to": "C", "distance_km": 10 },
        ]));
        let route = RouteLine::new(&plan);
        let lat = |km: f64| route.at(Kilometres::new(km)).map(|at| at.lat.get());
        assert!((lat(100.0).unwrap() + 48.7).abs() < 1e-3);
        assert!((lat(225.0).unwrap() + 49.45).abs() < 1e-3);
        assert!((lat(275.0).unwrap() + 49.45).abs() < 1e-3);
        assert_eq!(lat(0.0), Some(-48.2));
        assert_eq!(lat(200.0), Some(-49.2));
        // The track shows where B is; it is unknown where C is.
        assert_eq!(lat(300.0), Some(-49.2));
        assert_eq!((lat(305.0), lat(310.0)), (None, None));
        assert!(route.leg(2).unwrap().is_track && !route.leg(1).unwrap().is_track);
        assert!(route.leg(3).is_none());
    }
}
