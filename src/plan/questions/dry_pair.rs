//! The two stops that cost most when both are dry.

use std::collections::BTreeSet;

use crate::quantity::Litres;

use super::dry::MOST_STEPS;
use crate::plan::answers::dry::{DryPair, DryStop, WayOut};
use crate::plan::kept::what_if_dry::WhatIfDry;

/// All pairs are tried of up to so many stops. Chosen, no source: the work grows with the square.
pub const PAIRS_OF: usize = 50;

impl WhatIfDry {
    /// The pair that costs most.
    ///
    /// Where every pump has as much as one likes, only neighbours among the pumps that are used need be tried. What a
    /// used pump requires on arrival is then its reserve and the way to it, whatever lies behind it is dry or
    /// not: more required on departure can only make it more worth coming to. So what is required between two
    /// pumps that have fuel depends on nothing else, and the spare is the most over such runs. If the two dry
    /// ones are nowhere neighbours, no run holds both, and the pair costs what the dearer of them costs alone;
    /// which, with a neighbour dry too, costs no less. Where a pump is limited a run reaches past it, and all pairs count.
    pub(super) fn worst_pair(&self, stops: &[DryStop]) -> Option<DryPair> {
        let limited = self
            .problem()
            .pumps
            .iter()
            .flatten()
            .any(|pump| pump.supply.is_some());
        let all =
            limited && stops.len() <= PAIRS_OF && !(self.plain.is_shared() && stops.len() > 8);
        let pairs: Vec<[usize; 2]> = if all {
            let after = |one| (one + 1..stops.len()).map(move |other| [one, other]);
            (0..stops.len()).flat_map(after).collect()
        } else {
            neighbours(stops)
        };
        let (mut worst, mut steps): (Option<DryPair>, usize) = (None, 0);
        let mut of_all = all || !limited;
        for pair in pairs {
            if steps > MOST_STEPS {
                of_all = false;
                break;
            }
            let [one, other] = pair.map(|stop| &stops[stop].at);
            let mut dry = [one.nodes.as_slice(), other.nodes.as_slice()].concat();
            dry.sort_unstable();
            let (spare, plain) = self.plain.spare_without(&dry);
            steps += plain;
            // The one law that a search for shares may miss: two never need less than one.
            let spare = pair
                .map(|stop| stops[stop].spare)
                .into_iter()
                .fold(spare, Litres::max);
            if worst.as_ref().is_none_or(|worst| worst.spare < spare) {
                worst = Some(DryPair {
                    nodes: [one.node(), other.node()],
                    spare,
                    more: self.more_cans(self.poured.spare_as_shared(&dry).0.max(spare)),
                    of_all: true,
                    at_second: None,
                });
            }
        }
        let worst = worst?;
        let [one, other] = worst.nodes.map(|node| {
            let stop = stops.iter().find(|stop| stop.at.node() == node);
            stop.map_or(&[][..], |stop| &stop.at.nodes)
        });
        Some(DryPair {
            of_all,
            at_second: self.at_second(one, other),
            ..worst
        })
    }

    /// Both ways on arrival at the second of two pumps, the first of which was found dry; each by the places at which it is
    /// met. Pumps between them fill up to what the plan has aboard there, as far as they can.
    fn at_second(&self, one: &[usize], other: &[usize]) -> Option<(WayOut, Option<WayOut>)> {
        let (&first, &second) = (one.first()?, other.first()?);
        let problem = self.problem();
        let need = self.plain.need();
        let mut aboard = self.arriving[first].into_iter().sum::<Litres>();
        for leg in first..second {
            let detour = self.detour(leg);
            if need.at_pump[leg].is_some() {
                aboard -= detour.litres(aboard);
                if !one.contains(&leg) {
                    let supply = need.allowance[leg];
                    let most = self.leaving[leg];
                    let filled = supply.map_or(most, |supply| most.min(aboard + supply));
                    aboard = aboard.max(filled);
                }
                aboard -= detour.litres(aboard);
            }
            aboard -= problem.legs[leg].litres(aboard);
            if aboard <= Litres::ZERO {
                return None;
            }
        }
        let in_cans = self.arriving[second][1].min(aboard);
        let mut dry: Vec<usize> = one.iter().chain(other).copied().collect();
        dry.retain(|&node| node >= second);
        dry.sort_unstable();
        let aboard = self.usable(aboard - in_cans, in_cans);
        Some(self.ways_out(&dry, &self.numbers(&[first, second]), aboard))
    }
}

/// Pairs of stops of which some meetings follow one another with no other stop between.
fn neighbours(stops: &[DryStop]) -> Vec<[usize; 2]> {
    let mut met: Vec<(usize, usize)> = stops
        .iter()
        .enumerate()
        .flat_map(|(stop, dry)| dry.at.nodes.iter().map(move |&node| (node, stop)))
        .collect();
    met.sort_unstable();
    let pairs: BTreeSet<[usize; 2]> = met
        .windows(2)
        .map(|two| [two[0].1.min(two[1].1), two[0].1.max(two[1].1)])
        .filter(|[one, other]| one != other)
        .collect();
    pairs.into_iter().collect()
}
