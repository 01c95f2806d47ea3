//! The route without the fuel of some of its stops.

use super::route::{CheckRoute, Course, Reserve};
use crate::consumption::usage::Usage;
use crate::doubt::Lane;
use crate::doubt::scaled::Scaled;
use crate::doubt::world::{Block, LegDoubt};
use crate::quantity::{Litres, Share};
use crate::solver::fuel::{Need, Problem};

/// A route on which some places have no fuel.
pub(super) struct Dry {
    pub problem: Problem,
    pub need: Need,
    pub route: CheckRoute,
}

impl Dry {
    /// The same route with no fuel at the places `dry`.
    pub fn new(problem: &Problem, need: &Need, route: &CheckRoute, dry: &[usize]) -> Self {
        let (mut problem, mut need, mut route) = (problem.clone(), need.clone(), route.clone());
        for &node in dry {
            problem.pumps[node] = None;
            need.at_pump[node] = None;
            route.refuge[node] = false;
        }
        Self {
            problem,
            need,
            route,
        }
    }

    /// The driving over it.
    pub fn course<'a>(&'a self, legs: &'a [LegDoubt]) -> Course<'a> {
        Course {
            problem: &self.problem,
            need: &self.need,
            legs,
            route: &self.route,
        }
    }
}

/// A fuel stop that is met again: without fuel now, it has none then either.
pub(super) struct DryMetAgain {
    node: usize,
    /// One way to it.
    detour: Usage,
    dry: Dry,
}

impl DryMetAgain {
    /// The stop at a check; `None` where none is used or where it is not met again.
    pub fn at(course: &Course<'_>, check: usize) -> Option<Self> {
        let (leg, part) = course.route.points[check];
        let node = leg + 1;
        let stop = course.stop(node).filter(|_| part >= Share::new(1.0))?;
        let is_met = |at: &usize| {
            let met = course.stop(*at);
            met.is_some_and(|met| met.number == stop.number)
        };
        let visits: Vec<usize> = (node..course.n()).filter(is_met).collect();
        (visits.len() > 1).then(|| Self {
            node,
            detour: stop.detour,
            dry: Dry::new(course.problem, course.need, course.route, &visits),
        })
    }

    /// Litres at the stop to reach the next refuge.
    pub fn needed(&self, legs: &[LegDoubt], block: &Block) -> Lane {
        let course = self.dry.course(legs);
        let mut lane = course.needed_at((self.node, Share::ZERO), block, Reserve::Used);
        if self.detour != Usage::NONE {
            let factor = &block.driving[self.node.saturating_sub(1)];
            let detour = Scaled::of(self.detour, Litres::ZERO);
            detour.needed_for(&mut lane, factor, &block.idling);
        }
        lane
    }
}
