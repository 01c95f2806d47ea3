//! The route without the fuel of some of its stops.

use std::collections::BTreeMap;

use super::route::{CheckRoute, Course};
use crate::consumption::usage::Usage;
use crate::doubt::Lane;
use crate::doubt::scaled::Scaled;
use crate::doubt::world::{Block, LegDoubt};
use crate::quantity::{Litres, Share};
use crate::solver::fuel::{Need, Problem};

/// A route on which some places have no fuel.
pub(super) struct Dry {
    pub(crate) problem: Problem,
    pub(crate) need: Need,
    pub(crate) route: CheckRoute,
}

impl Dry {
    /// The route with no fuel at the places `dry`.
    pub(crate) fn new(problem: &Problem, need: &Need, route: &CheckRoute, dry: &[usize]) -> Self {
        let (mut problem, mut need, mut route) = (problem.clone(), need.clone(), route.clone());
        for &place_number in dry {
            problem.fuel_stops[place_number] = None;
            need.at_fuel_stop[place_number] = None;
            route.refuge[place_number] = false;
        }
        Self {
            problem,
            need,
            route,
        }
    }

    /// The driving over it.
    pub(crate) fn course<'a>(&'a self, legs: &'a [LegDoubt]) -> Course<'a> {
        Course {
            problem: &self.problem,
            need: &self.need,
            legs,
            route: &self.route,
        }
    }
}

/// A fuel stop that is met again: without fuel at one visit, it has none at later ones either.
pub(super) struct DryMetAgain {
    /// The checks at its visits but the last, each with its place and one way to the stop, in driving order.
    visits: Vec<(usize, usize, Usage)>,
    dry: Dry,
}

impl DryMetAgain {
    /// Every one of them on a route.
    pub(crate) fn all(course: &Course<'_>) -> Vec<Self> {
        let mut met: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for place_number in course.route.from + 1..course.n() {
            if let Some(stop) = course.stop(place_number) {
                met.entry(stop.number).or_default().push(place_number);
            }
        }
        let mut found: BTreeMap<usize, Self> = BTreeMap::new();
        for (check, (leg, part)) in course.route.points.iter().enumerate() {
            let place_number = leg + 1;
            let stop = course
                .stop(place_number)
                .filter(|_| *part >= Share::new(1.0));
            let Some((stop, place_numbers)) =
                stop.and_then(|stop| Some((stop, met.get(&stop.number)?)))
            else {
                continue;
            };
            if place_numbers.last() != Some(&place_number) {
                let new = || Self {
                    visits: Vec::new(),
                    dry: Dry::new(course.problem, course.need, course.route, place_numbers),
                };
                let found = found.entry(stop.number).or_insert_with(new);
                found.visits.push((check, place_number, stop.detour));
            }
        }
        found.into_values().collect()
    }

    /// Litres at the stop to reach the next refuge, with the number of the check, for each visit but the last. What
    /// later visits lack, those before need: one pass from the finish finds all.
    pub(crate) fn needed(
        &self,
        legs: &[LegDoubt],
        block: &Block,
        mut show: impl FnMut(usize, &Lane),
    ) {
        let mut visits = self.visits.iter().rev().peekable();
        let first = self.visits.first().map_or(0, |visit| visit.1);
        let course = self.dry.course(legs);
        course.needed_on_leaving(first, block, |place, departure| {
            let Some((check, _, detour)) =
                visits.next_if(|(_, place_number, _)| *place_number == place)
            else {
                return;
            };
            let mut lane = *departure;
            if *detour != Usage::NONE {
                let factor = &block.driving[place.saturating_sub(1)];
                let detour = Scaled::new(*detour, Litres::ZERO);
                detour.needed_for(&mut lane, factor, &block.idling);
            }
            show(*check, &lane);
        });
    }
}
