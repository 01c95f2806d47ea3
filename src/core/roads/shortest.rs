//! Ways between two places on a network, by Dijkstra's method, no longer than a limit.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::network::{Near, Network};

/// Nodes that one search looks at: a dense town within the longest step has fewer.
const MOST_NODES: usize = 20_000;

/// Room for searches, used again for each.
pub(super) struct Search {
    /// For each node the search that reached it, and in it the distance and the edge that led there.
    reached: Vec<Reached>,
    number: u32,
    heap: BinaryHeap<(Reverse<u64>, u32)>,
}

#[derive(Clone, Copy)]
struct Reached {
    search: u32,
    distance: f32,
    /// The node before, and the segment from it; the node itself where the search begins.
    before: u32,
    segment: u32,
}

/// A part of a way: a segment and metres on it.
pub(super) type Piece = (u32, f64);

impl Search {
    pub(super) fn new(network: &Network) -> Self {
        let unseen = Reached {
            search: 0,
            distance: 0.0,
            before: 0,
            segment: 0,
        };
        Self {
            reached: vec![unseen; network.nodes.len()],
            number: 0,
            heap: BinaryHeap::new(),
        }
    }

    /// Reaches all nodes within `limit` metres of a place.
    pub(super) fn run(&mut self, network: &Network, from: &Near, limit: f64) {
        self.number += 1;
        self.heap.clear();
        let segment = &network.segments[from.segment as usize];
        let length = f64::from(segment.length);
        for (node, distance) in [
            (segment.from, from.share * length),
            (segment.to, (1.0 - from.share) * length),
        ] {
            self.reach(node, distance, node, from.segment, limit);
        }
        let mut seen = 0;
        while let Some((Reverse(distance), node)) = self.heap.pop() {
            let here = self.reached[node as usize];
            if f64::from_bits(distance) > f64::from(here.distance) {
                continue;
            }
            seen += 1;
            if seen > MOST_NODES {
                break;
            }
            for edge in network.edges(node) {
                let step = f64::from(network.segments[edge.segment as usize].length);
                let distance = f64::from(here.distance) + step;
                self.reach(edge.to, distance, node, edge.segment, limit);
            }
        }
    }

    fn reach(&mut self, node: u32, distance: f64, before: u32, segment: u32, limit: f64) {
        let known = &mut self.reached[node as usize];
        #[expect(clippy::cast_possible_truncation, reason = "to a millimetre in 10 km")]
        let short = distance as f32;
        if distance <= limit && (known.search != self.number || short < known.distance) {
            *known = Reached {
                search: self.number,
                distance: short,
                before,
                segment,
            };
            // The bits of positive numbers are in the order of the numbers.
            let bits = f64::from(short).to_bits();
            self.heap.push((Reverse(bits), node));
        }
    }

    /// Metres along the ways from where the search began to a place; `None` if it is farther than the limit.
    pub(super) fn distance(&self, network: &Network, from: &Near, to: &Near) -> Option<f64> {
        self.last(network, from, to).map(|(distance, _)| distance)
    }

    /// The distance, and the node from which the last segment is entered; no node within one segment.
    fn last(&self, network: &Network, from: &Near, to: &Near) -> Option<(f64, Option<u32>)> {
        let segment = &network.segments[to.segment as usize];
        let length = f64::from(segment.length);
        let direct =
            (from.segment == to.segment).then_some(((to.share - from.share).abs() * length, None));
        let over = |node: u32, rest: f64| {
            let reached = &self.reached[node as usize];
            (reached.search == self.number)
                .then_some((f64::from(reached.distance) + rest, Some(node)))
        };
        [
            direct,
            over(segment.from, to.share * length),
            over(segment.to, (1.0 - to.share) * length),
        ]
        .into_iter()
        .flatten()
        .min_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// The segments from where the search began to a place, the last first.
    pub(super) fn pieces(&self, network: &Network, from: &Near, to: &Near) -> Vec<Piece> {
        let mut pieces = Vec::new();
        let length = |segment: u32| f64::from(network.segments[segment as usize].length);
        let Some((_, node)) = self.last(network, from, to) else {
            return pieces;
        };
        let Some(mut node) = node else {
            let metres = (to.share - from.share).abs() * length(to.segment);
            return vec![(to.segment, metres)];
        };
        let is_from = network.segments[to.segment as usize].from == node;
        let share = if is_from { to.share } else { 1.0 - to.share };
        pieces.push((to.segment, share * length(to.segment)));
        loop {
            let reached = &self.reached[node as usize];
            if reached.before == node {
                pieces.push((from.segment, f64::from(reached.distance)));
                return pieces;
            }
            pieces.push((reached.segment, length(reached.segment)));
            node = reached.before;
        }
    }
}
