//! Routes drawn at random on a map, as a receiver would record them, and how much of their surfaces a matching gets right.

use std::collections::{BinaryHeap, HashMap, HashSet};

use drystage::model::route::Position;
use drystage::model::track::Point;
use drystage::model::vocabulary::Surface;
use drystage::quantity::Degrees;
use drystage::roads::matching::Matched;
use drystage::roads::network::RawWay;
use drystage::roads::{Ground, Network};
use rand::{Rng, RngExt, SeedableRng};
use rand_distr::{Distribution, Normal};
use rand_xoshiro::Xoshiro256PlusPlus;

/// Metres in a degree of latitude, on a sphere.
pub const DEGREE: f64 = 111_194.93;

/// A map: its ways and the positions of their nodes.
pub struct Map {
    pub ways: Vec<RawWay>,
    pub positions: HashMap<i64, Position>,
}

/// How routes are drawn.
#[derive(Clone, Copy)]
pub struct Drawing {
    pub routes: usize,
    /// Metres from point to point, at least and at most.
    pub spacing: (f64, f64),
    /// Standard deviation of each coordinate in metres.
    pub noise: f64,
    /// Share of the unsealed ways that are then removed from the map.
    pub removed: f64,
    /// Kilometres of a route, at least.
    pub shortest_km: f64,
    pub seed: u64,
}

/// A route as it was recorded, and what it was really driven on.
struct Drawn {
    points: Vec<Point>,
    /// Metres along the true line for each point.
    along: Vec<f64>,
    /// Ends of the true segments in metres along the line, their ways.
    truth: Vec<(f64, usize)>,
}

/// Kilometres by outcome.
#[derive(Clone, Debug, Default)]
pub struct Score {
    pub km: f64,
    pub right: f64,
    pub wrong: f64,
    pub open: f64,
    /// On ways that were removed from the map, and of these those that got a surface.
    pub missing: f64,
    pub filled: f64,
    /// Kilometres by stated probability in tenths: km, km right, sum of the probabilities.
    pub bins: [(f64, f64, f64); 10],
}

impl Score {
    pub fn percent(&self, of: f64) -> f64 {
        100.0 * of / self.km
    }

    /// Largest difference of stated probability and share right, in bins of over 20 km.
    pub fn largest_error(&self) -> f64 {
        let bins = self.bins.iter().filter(|bin| bin.0 > 20.0);
        bins.map(|(km, right, stated)| (right - stated).abs() / km)
            .fold(0.0, f64::max)
    }
}

type Matching = fn(&Network, &[Point]) -> Matched;

/// Draws routes, matches them, and adds up what is right.
pub fn score(map: &Map, drawing: Drawing, matching: Matching) -> Score {
    let mut random = Xoshiro256PlusPlus::seed_from_u64(drawing.seed);
    let unsealed = |way: &RawWay| !matches!(way.tags.ground, Ground::Known(Surface::Sealed));
    let removed: HashSet<usize> = (0..map.ways.len())
        .filter(|way| unsealed(&map.ways[*way]) && random.random::<f64>() < drawing.removed)
        .collect();
    let kept = map.ways.iter().enumerate();
    let kept = kept.filter(|(n, _)| !removed.contains(n));
    let network = Network::new(
        kept.map(|(_, way)| way.clone()).collect(),
        &map.positions,
        &HashSet::new(),
    );
    let graph = Graph::new(map);
    let mut score = Score::default();
    for _ in 0..drawing.routes {
        let drawn = graph.draw(&mut random, drawing);
        add(
            &mut score,
            map,
            &drawn,
            &removed,
            &matching(&network, &drawn.points),
        );
    }
    score
}

fn add(score: &mut Score, map: &Map, drawn: &Drawn, removed: &HashSet<usize>, matched: &Matched) {
    // Distances along the recorded track are longer than those along the true line.
    let mut recorded = vec![0.0];
    for pair in drawn.points.windows(2) {
        let step = drystage::model::geodesic::distance(position(&pair[0]), position(&pair[1]));
        recorded.push(recorded[recorded.len() - 1] + step.get());
    }
    let true_along = |at: f64| {
        let after = recorded
            .partition_point(|along| *along < at)
            .clamp(1, recorded.len() - 1);
        let (from, to) = (recorded[after - 1], recorded[after]);
        let share = ((at - from) / (to - from).max(1e-9)).clamp(0.0, 1.0);
        drawn.along[after - 1] + share * (drawn.along[after] - drawn.along[after - 1])
    };
    for step in &matched.steps {
        let taken = Ground::all()
            .max_by(|a, b| {
                step.probability(*a)
                    .get()
                    .total_cmp(&step.probability(*b).get())
            })
            .unwrap();
        let probability = step.probability(taken).get();
        let (from, to) = (true_along(step.from.get()), true_along(step.to.get()));
        let parts = ((to - from) / 5.0).ceil().max(1.0);
        let km = (to - from) / parts / 1000.0;
        let mut part = 0.5;
        while part < parts {
            let at = from + (to - from) * part / parts;
            part += 1.0;
            let segment = drawn
                .truth
                .partition_point(|(end, _)| *end < at)
                .min(drawn.truth.len() - 1);
            let way = drawn.truth[segment].1;
            let is_missing = removed.contains(&way);
            let truth = map.ways[way].tags.ground;
            score.km += km;
            let is_open = matches!(taken, Ground::Unmapped | Ground::Untagged);
            let is_right = taken == truth;
            if is_right {
                score.right += km;
            } else if is_open {
                score.open += km;
            } else {
                score.wrong += km;
            }
            if is_missing {
                score.missing += km;
                score.filled += if is_open { 0.0 } else { km };
            }
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "0 to 9"
            )]
            let bin = &mut score.bins[((probability * 10.0) as usize).min(9)];
            bin.0 += km;
            bin.1 += if is_right || is_missing && taken == Ground::Unmapped {
                km
            } else {
                0.0
            };
            bin.2 += km * probability;
        }
    }
}

fn position(point: &Point) -> Position {
    Position {
        lat: point.lat,
        lon: point.lon,
    }
}

/// Cost of a node, and the step to it: the node before, metres, the way.
type Reached = (f64, Option<(i64, f64, usize)>);

/// The map as a graph.
struct Graph<'a> {
    map: &'a Map,
    /// For each node its neighbours, with metres and the way.
    edges: HashMap<i64, Vec<(i64, f64, usize)>>,
    nodes: Vec<i64>,
}

impl<'a> Graph<'a> {
    fn new(map: &'a Map) -> Self {
        let mut edges: HashMap<i64, Vec<(i64, f64, usize)>> = HashMap::new();
        for (n, way) in map.ways.iter().enumerate() {
            for pair in way.nodes.windows(2) {
                let (Some(a), Some(b)) = (map.positions.get(&pair[0]), map.positions.get(&pair[1]))
                else {
                    continue;
                };
                let metres = drystage::model::geodesic::distance(*a, *b).get();
                edges.entry(pair[0]).or_default().push((pair[1], metres, n));
                edges.entry(pair[1]).or_default().push((pair[0], metres, n));
            }
        }
        let mut nodes: Vec<i64> = edges.keys().copied().collect();
        nodes.sort_unstable();
        Self { map, edges, nodes }
    }

    /// A route between two nodes that are far enough apart, by ways of a random appeal, unsealed ones preferred. On a
    /// small map routes are shorter than wanted.
    fn draw(&self, random: &mut impl Rng, drawing: Drawing) -> Drawn {
        for tries in 1.. {
            let from = self.nodes[random.random_range(0..self.nodes.len())];
            let to = self.nodes[random.random_range(0..self.nodes.len())];
            let seed: u64 = random.random();
            let Some(path) = self.path(from, to, seed) else {
                continue;
            };
            let metres: f64 = path.iter().map(|step| step.2).sum();
            if metres >= drawing.shortest_km * 1000.0 / (f64::from(tries) / 10.0).max(1.0) {
                return self.record(random, drawing, &path);
            }
        }
        unreachable!("any two nodes are far enough apart in the end")
    }

    /// Nodes from which to which, metres and way of each step.
    fn path(&self, from: i64, to: i64, seed: u64) -> Option<Vec<(i64, i64, f64, usize)>> {
        let appeal = |way: usize| {
            let mut random =
                Xoshiro256PlusPlus::seed_from_u64(seed ^ (way as u64).wrapping_mul(0x9e37_79b9));
            let own = random.random_range(0.5..2.0);
            let is_sealed = self.map.ways[way].tags.ground == Ground::Known(Surface::Sealed);
            own * if is_sealed { 2.5 } else { 1.0 }
        };
        let mut best: HashMap<i64, Reached> = HashMap::from([(from, (0.0, None))]);
        let mut heap = BinaryHeap::from([(std::cmp::Reverse(0_u64), from)]);
        while let Some((std::cmp::Reverse(bits), node)) = heap.pop() {
            let cost = f64::from_bits(bits);
            if node == to {
                break;
            }
            if cost > best[&node].0 {
                continue;
            }
            for &(next, metres, way) in &self.edges[&node] {
                let cost = cost + metres * appeal(way);
                if best.get(&next).is_none_or(|known| cost < known.0) {
                    best.insert(next, (cost, Some((node, metres, way))));
                    heap.push((std::cmp::Reverse(cost.to_bits()), next));
                }
            }
        }
        let mut path = Vec::new();
        let mut node = to;
        while let Some((before, metres, way)) = best.get(&node)?.1 {
            path.push((before, node, metres, way));
            node = before;
        }
        path.reverse();
        (!path.is_empty()).then_some(path)
    }

    fn record(
        &self,
        random: &mut impl Rng,
        drawing: Drawing,
        path: &[(i64, i64, f64, usize)],
    ) -> Drawn {
        let noise = Normal::new(0.0, drawing.noise).unwrap();
        let mut drawn = Drawn {
            points: Vec::new(),
            along: Vec::new(),
            truth: Vec::new(),
        };
        let mut end = 0.0;
        let mut next = 0.0;
        for &(from, to, metres, way) in path {
            let (a, b) = (self.map.positions[&from], self.map.positions[&to]);
            let begin = end;
            end += metres;
            drawn.truth.push((end, way));
            while next <= end {
                let share = if metres > 0.0 {
                    (next - begin) / metres
                } else {
                    0.0
                };
                let lat =
                    a.lat.get() + (b.lat - a.lat).get() * share + noise.sample(random) / DEGREE;
                let east = DEGREE * lat.to_radians().cos();
                let lon = a.lon.get() + (b.lon - a.lon).get() * share + noise.sample(random) / east;
                drawn.points.push(Point {
                    lat: Degrees::new(lat),
                    lon: Degrees::new(lon),
                    height: None,
                });
                drawn.along.push(next);
                next += random.random_range(drawing.spacing.0..=drawing.spacing.1);
            }
        }
        drawn
    }
}
