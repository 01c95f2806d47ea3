//! The map: the lines of the legs, the places and the marks, in metres on a plane.
//!
//! One description that a terminal and an SVG both draw; it knows no cells and no pixels. The plane is
//! an equirectangular one about the middle of the trip: exact along the middle parallel, wrong by a
//! few per cent across some hundred kilometres, which is enough to see where the way runs and far too
//! little to navigate by. Points that would not show apart are left out.

use super::mark::Mark;
use super::route_line::RouteLine;
use super::strip::{PlaceMark, Strip};
use crate::model::geodesic::longitude_between;
use crate::model::route::Position;
use crate::model::track::Point;
use crate::quantity::{Degrees, Metres};

/// Metres in a degree of latitude, on a sphere.
const METRES_PER_DEGREE: f64 = 111_194.93;
/// A point is drawn when it is farther than this part of the map's larger side from the last one drawn.
const FINEST: f64 = 1.0 / 1500.0;

/// A point of the map, from its south-west corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Spot {
    pub(crate) east: Metres,
    pub(crate) north: Metres,
}

/// An unbroken line of a leg.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct MapLine {
    /// Leg number, from 1.
    pub(crate) leg: usize,
    /// Whether it is a track; otherwise only its ends are known.
    pub(crate) is_track: bool,
    /// Its points in driving order.
    pub(crate) spots: Vec<Spot>,
}

#[derive(Clone, Debug)]
pub(crate) struct Map<'a> {
    /// From the western to the eastern edge.
    pub(crate) width: Metres,
    /// From the southern to the northern edge.
    pub(crate) height: Metres,
    /// The lines of the legs, in driving order.
    pub(crate) lines: Vec<MapLine>,
    /// Each place once, where its position is known; of one that is met again, the first meeting.
    pub(crate) places: Vec<(Spot, PlaceMark<'a>)>,
    /// The marks of the strip whose position is known.
    pub(crate) marks: Vec<(Spot, Mark)>,
}

impl<'a> Map<'a> {
    /// The map of a plan; `None` if fewer than two positions are known or all are the same.
    pub(crate) fn from_strip(strip: &'a Strip) -> Option<Self> {
        let plan = strip.plan();
        let route = RouteLine::new(plan);
        let mut lines: Vec<(usize, bool, Vec<Position>)> = Vec::new();
        for leg in 1..=plan.legs.len() {
            let Some(line) = route.leg(leg) else { continue };
            lines.extend(line.lines.iter().map(|run| {
                let points = run.points().iter().map(Point::position).collect();
                (leg, line.is_track, points)
            }));
        }
        let mut names = std::collections::HashSet::new();
        let places: Vec<(Position, PlaceMark<'a>)> = (0..=plan.legs.len())
            .filter_map(|place_number| {
                Some((route.place(place_number)?, strip.place(place_number)))
            })
            .filter(|(_, place)| names.insert(place.name))
            .collect();
        let plane = Plane::about(
            lines
                .iter()
                .flat_map(|(_, _, points)| points)
                .chain(places.iter().map(|(at, _)| at)),
        )?;
        let finest = plane.width.max(plane.height) * FINEST;
        let lines = lines.into_iter().map(|(leg, is_track, points)| MapLine {
            leg,
            is_track,
            spots: thinned(points.iter().map(|&at| plane.spot(at)), finest),
        });
        let marks = strip
            .all_marks()
            .iter()
            .filter_map(|&mark| Some((plane.spot(route.at(mark.at)?), mark)));
        Some(Self {
            width: plane.width,
            height: plane.height,
            lines: lines.collect(),
            places: places
                .into_iter()
                .map(|(at, place)| (plane.spot(at), place))
                .collect(),
            marks: marks.collect(),
        })
    }
}

/// The plane that the map is drawn on.
struct Plane {
    /// The western edge; longitudes count from here, so that the antimeridian is no edge.
    west: Degrees,
    south: Degrees,
    /// Metres in a degree of longitude at the middle parallel.
    east_per_degree: f64,
    width: Metres,
    height: Metres,
}

impl Plane {
    /// The plane that holds all the positions; `None` if they are one point or none.
    fn about<'p>(positions: impl Iterator<Item = &'p Position>) -> Option<Self> {
        let mut positions = positions.peekable();
        let first = **positions.peek()?;
        let (mut south, mut north) = (first.lat, first.lat);
        let (mut west, mut east) = (Degrees::ZERO, Degrees::ZERO);
        for at in positions {
            (south, north) = (south.min(at.lat), north.max(at.lat));
            let turn = longitude_between(first.lon, at.lon);
            (west, east) = (west.min(turn), east.max(turn));
        }
        let middle = (south + north) / 2.0;
        let east_per_degree = METRES_PER_DEGREE * middle.get().to_radians().cos();
        let plane = Self {
            west: first.lon + west,
            south,
            east_per_degree,
            width: Metres::new((east - west).get() * east_per_degree),
            height: Metres::new((north - south).get() * METRES_PER_DEGREE),
        };
        (plane.width.max(plane.height) > Metres::ZERO).then_some(plane)
    }

    fn spot(&self, at: Position) -> Spot {
        // The western edge itself may come out a hair west of it.
        let turn = longitude_between(self.west, at.lon).get().rem_euclid(360.0);
        let turn = if turn > 359.999 { 0.0 } else { turn };
        Spot {
            east: Metres::new(turn * self.east_per_degree),
            north: Metres::new((at.lat - self.south).get() * METRES_PER_DEGREE),
        }
    }
}

/// The spots without those nearer than `finest` to the one before; the last is always kept.
fn thinned(spots: impl Iterator<Item = Spot>, finest: Metres) -> Vec<Spot> {
    let mut kept: Vec<Spot> = Vec::new();
    let mut last_left_out = None;
    for spot in spots {
        let is_near = kept.last().is_some_and(|last| {
            let (east, north) = (spot.east - last.east, spot.north - last.north);
            east.get().hypot(north.get()) < finest.get()
        });
        if is_near {
            last_left_out = Some(spot);
        } else {
            kept.push(spot);
            last_left_out = None;
        }
    }
    kept.extend(last_left_out);
    kept
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::check;
    use crate::plan::Plan;
    use serde_json::json;

    fn strip(start: (f64, f64), legs: serde_json::Value) -> Strip {
        let mut document: serde_json::Value =
            serde_json::from_str(include_str!("../../tests/data/example-trip.json")).unwrap();
        document["start"]["lat"] = json!(start.0);
        document["start"]["lon"] = json!(start.1);
        document["legs"] = legs;
        document["what_ifs"] = json!([]);
        Strip::from_plan(Plan::best_estimate(check::read(document).unwrap()))
    }

    /// Over the antimeridian: 0.4° of longitude at 48.25° south are 29.6 km.
    #[test]
    fn the_plane_is_to_scale_and_has_no_edge_at_the_antimeridian() {
        let strip = strip(
            (-48.0, 179.9),
            json!([
                { "to": "A", "lat": -48.5, "lon": -179.7, "distance_km": 80 },
                { "to": "Harrow Cross", "lat": -48.0, "lon": 179.9, "distance_km": 80 },
            ]),
        );
        let map = Map::from_strip(&strip).unwrap();
        assert!((map.width.get() - 29_617.0).abs() < 30.0, "{:?}", map.width);
        assert!((map.height.get() - 55_597.0).abs() < 1.0);
        assert_eq!(map.places.len(), 2);
        assert_eq!(map.lines.len(), 2);
        let first = map.lines[0].spots[0];
        assert!(first.east.get().abs() < 1.0 && (first.north - map.height).get().abs() < 1.0);
        assert!((map.lines[0].spots[1].east - map.width).get().abs() < 1.0);
    }

    #[test]
    fn without_two_positions_there_is_no_map() {
        let strip = strip((-48.0, 10.0), json!([{ "to": "A", "distance_km": 80 }]));
        assert!(Map::from_strip(&strip).is_none());
    }

    #[test]
    fn points_that_do_not_show_apart_are_left_out_and_the_end_is_kept() {
        let spot = |east: f64| Spot {
            east: Metres::new(east),
            north: Metres::ZERO,
        };
        let kept = thinned(
            [0.0, 0.4, 1.2, 1.3, 1.4].map(spot).into_iter(),
            Metres::new(1.0),
        );
        assert_eq!(kept, [0.0, 1.2, 1.4].map(spot));
    }
}
