//! The ways of a corridor as a graph: nodes, segments between them, and an index to find segments near a point.
//!
//! Longitudes count on past ±180° from the first node, so that the date line is no wall. Lengths are those of a plane at
//! the segment; a track beside it is measured on the same plane.

use std::collections::{HashMap, HashSet};

use rstar::primitives::{GeomWithData, Line as Side};
use rstar::{AABB, RTree};

use super::tags::{Hazards, WayTags};
use crate::model::geodesic::longitude_between;
use crate::model::route::Position;
use crate::model::vocabulary::Hazard;
use crate::quantity::{Degrees, Metres};

/// Metres in a degree of latitude, on a sphere; wrong by at most 0.6 %.
pub const METRES_PER_DEGREE: f64 = 111_194.93;

/// A way as it is read.
#[derive(Clone, Debug)]
pub struct RawWay {
    /// Its number on the map.
    pub id: i64,
    /// What its tags mean.
    pub tags: WayTags,
    /// Numbers of its nodes.
    pub nodes: Vec<i64>,
}

/// A place that sells fuel.
#[derive(Clone, Debug, PartialEq)]
pub struct FuelObject {
    /// Where it is on the map.
    pub position: Position,
    /// Name on the map; `None` if it has none.
    pub name: Option<String>,
    /// Other tags of interest, as `key=value`.
    pub tags: Vec<String>,
}

/// The ways near a track.
pub struct Network {
    origin: Degrees,
    pub(super) nodes: Vec<[f64; 2]>,
    pub(super) segments: Vec<Segment>,
    ways: Vec<(i64, WayTags)>,
    /// For each node where its edges begin in `edges`; one more at the end.
    first_edge: Vec<u32>,
    edges: Vec<Edge>,
    index: RTree<GeomWithData<Side<[f64; 2]>, u32>>,
}

/// A straight part of a way.
#[derive(Clone, Copy, Debug)]
pub(super) struct Segment {
    pub(super) from: u32,
    pub(super) to: u32,
    pub(super) way: u32,
    pub(super) length: f32,
    /// Whether one of its ends is a ford.
    is_ford: bool,
}

/// From a node along a segment to its other end.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    pub(super) to: u32,
    pub(super) segment: u32,
}

/// A place on a segment near a point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Near {
    pub(super) segment: u32,
    /// How far along the segment, 0 to 1.
    pub(super) share: f64,
    /// Distance from the point in metres.
    pub(super) off: f64,
}

impl Network {
    /// The graph of ways whose nodes have positions. Segments of which one end has none are left out.
    pub fn new(
        ways: Vec<RawWay>,
        positions: &HashMap<i64, Position>,
        fords: &HashSet<i64>,
    ) -> Self {
        let mut nodes = ways.iter().flat_map(|way| &way.nodes);
        let first = nodes.find_map(|node| positions.get(node));
        let origin = first.map_or(Degrees::ZERO, |first| first.lon);
        let mut network = Self {
            origin,
            nodes: Vec::new(),
            segments: Vec::new(),
            ways: Vec::with_capacity(ways.len()),
            first_edge: Vec::new(),
            edges: Vec::new(),
            index: RTree::new(),
        };
        let mut known: HashMap<i64, u32> = HashMap::new();
        for way in ways {
            let number = index_of(network.ways.len());
            let mut before: Option<u32> = None;
            let mut was_ford = false;
            for id in &way.nodes {
                let is_ford = fords.contains(id);
                let node = positions.get(id).map(|position| {
                    *known.entry(*id).or_insert_with(|| {
                        network.nodes.push(place(origin, *position));
                        index_of(network.nodes.len() - 1)
                    })
                });
                if let (Some(from), Some(to)) = (before, node)
                    && from != to
                {
                    network.segments.push(Segment {
                        from,
                        to,
                        way: number,
                        length: 0.0,
                        is_ford: is_ford || was_ford,
                    });
                }
                (before, was_ford) = (node, is_ford);
            }
            network.ways.push((way.id, way.tags));
        }
        network.finish();
        network
    }

    fn finish(&mut self) {
        let mut degree = vec![0_u32; self.nodes.len() + 1];
        for segment in &mut self.segments {
            let (from, to) = (
                self.nodes[segment.from as usize],
                self.nodes[segment.to as usize],
            );
            #[expect(clippy::cast_possible_truncation, reason = "to a centimetre in 100 km")]
            let length = Plane::at(from).of(to).length() as f32;
            segment.length = length;
            degree[segment.from as usize + 1] += 1;
            degree[segment.to as usize + 1] += 1;
        }
        for node in 1..degree.len() {
            degree[node] += degree[node - 1];
        }
        let mut next = degree.clone();
        self.edges = vec![Edge { to: 0, segment: 0 }; self.segments.len() * 2];
        for (n, segment) in self.segments.iter().enumerate() {
            for (from, to) in [(segment.from, segment.to), (segment.to, segment.from)] {
                let at = &mut next[from as usize];
                self.edges[*at as usize] = Edge {
                    to,
                    segment: index_of(n),
                };
                *at += 1;
            }
        }
        self.first_edge = degree;
        let sides = self.segments.iter().enumerate().map(|(n, segment)| {
            let side = Side::new(
                self.nodes[segment.from as usize],
                self.nodes[segment.to as usize],
            );
            GeomWithData::new(side, index_of(n))
        });
        self.index = RTree::bulk_load(sides.collect());
    }

    /// Whether it has no way.
    pub fn is_empty(&self) -> bool {
        self.segments.is_empty()
    }

    /// Number of straight parts of ways.
    pub fn len(&self) -> usize {
        self.segments.len()
    }

    pub(super) fn edges(&self, node: u32) -> &[Edge] {
        let node = node as usize;
        &self.edges[self.first_edge[node] as usize..self.first_edge[node + 1] as usize]
    }

    pub(super) fn tags(&self, segment: u32) -> &WayTags {
        &self.ways[self.segments[segment as usize].way as usize].1
    }

    /// The number on the map of a segment's way.
    pub(super) fn way_id(&self, segment: u32) -> i64 {
        self.ways[self.segments[segment as usize].way as usize].0
    }

    /// A position as longitude and latitude in the network's own count.
    pub(super) fn place(&self, at: Position) -> [f64; 2] {
        place(self.origin, at)
    }

    /// Places on segments within a radius of a point, in no order.
    pub(super) fn near(&self, at: [f64; 2], radius: Metres) -> Vec<Near> {
        let plane = Plane::at(at);
        let north = radius.get() / METRES_PER_DEGREE;
        let east = radius.get() / plane.east;
        let envelope =
            AABB::from_corners([at[0] - east, at[1] - north], [at[0] + east, at[1] + north]);
        let around = self.index.locate_in_envelope_intersecting(&envelope);
        around
            .filter_map(|side| {
                let segment = side.data;
                let ends = &self.segments[segment as usize];
                let from = plane.of(self.nodes[ends.from as usize]);
                let to = plane.of(self.nodes[ends.to as usize]);
                let (share, off) = from.nearest_to(to);
                (off <= radius.get()).then_some(Near {
                    segment,
                    share,
                    off,
                })
            })
            .collect()
    }

    /// Hazards of a segment: those of its way, and a ford at its end.
    pub(super) fn hazards(&self, segment: u32) -> Hazards {
        let of_way = self.tags(segment).hazards;
        if self.segments[segment as usize].is_ford {
            of_way.with(Hazard::Ford)
        } else {
            of_way
        }
    }
}

fn place(origin: Degrees, at: Position) -> [f64; 2] {
    let east = longitude_between(origin, at.lon);
    [(origin + east).get(), at.lat.get()]
}

fn index_of(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

/// A plane that touches the Earth at a place.
#[derive(Clone, Copy)]
pub(super) struct Plane {
    origin: [f64; 2],
    /// Metres in a degree of longitude.
    east: f64,
}

impl Plane {
    pub(super) fn at(origin: [f64; 2]) -> Self {
        // At a pole every longitude is near.
        let east = METRES_PER_DEGREE * origin[1].to_radians().cos().max(1e-6);
        Self { origin, east }
    }

    pub(super) fn of(&self, place: [f64; 2]) -> Metre2 {
        Metre2 {
            x: (place[0] - self.origin[0]) * self.east,
            y: (place[1] - self.origin[1]) * METRES_PER_DEGREE,
        }
    }
}

/// A place on a plane, in metres from its origin.
#[derive(Clone, Copy)]
pub(super) struct Metre2 {
    x: f64,
    y: f64,
}

impl Metre2 {
    pub(super) fn length(self) -> f64 {
        self.x.hypot(self.y)
    }

    /// Where the line to another place is nearest to the origin, 0 to 1, and how far it is from there.
    fn nearest_to(self, to: Self) -> (f64, f64) {
        let (dx, dy) = (to.x - self.x, to.y - self.y);
        let square = dx * dx + dy * dy;
        let share = if square > 0.0 {
            (-(self.x * dx + self.y * dy) / square).clamp(0.0, 1.0)
        } else {
            0.0
        };
        (share, (self.x + share * dx).hypot(self.y + share * dy))
    }
}
