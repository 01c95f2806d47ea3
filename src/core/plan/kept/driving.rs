//! What is kept of the simulated trips of a plan, to drive them again.

use std::num::NonZeroUsize;
use std::sync::Arc;

use crate::doubt::checks::{FuelChecks, Trouble};
use crate::doubt::driven::{Dryness, Instructions, Luck, Passing};
use crate::doubt::study::{Drawn, Effort, FEW_BLOCKS, FirstDriven};
use crate::doubt::world::World;
use crate::quantity::{Kilometres, Litres, Share};
use crate::solver::cans::Can;
use crate::solver::drive::Conditions;
use crate::solver::fuel::{Need, Problem};

use crate::plan::answers::dry::Choices;

/// Blocks of simulated trips that a question about trouble is worth: shares to about one percentage point.
pub(in crate::plan) const TROUBLE_BLOCKS: usize = FEW_BLOCKS;

/// The instructions of a plan and what its simulated trips are drawn from.
#[derive(Clone, Debug)]
pub(in crate::plan) struct Driving {
    pub(crate) world: Arc<World>,
    pub(crate) problem: Problem,
    pub(crate) need: Need,
    pub(crate) passing: Vec<Option<Passing>>,
    pub(crate) cans: Vec<Can>,
    pub(crate) start_tank: Litres,
    pub(crate) start_cans: Litres,
    pub(crate) distances: Vec<Kilometres>,
    pub(crate) rough: Vec<bool>,
    /// How many legs were driven.
    pub(crate) driven: usize,
    pub(crate) checks: Arc<FuelChecks>,
    pub(crate) threads: NonZeroUsize,
}

impl Driving {
    /// The instructions as simulated trips follow them, with no luck.
    pub(crate) fn instructions(&self) -> Instructions<'_> {
        Instructions {
            problem: &self.problem,
            need: &self.need,
            conditions: Conditions {
                start_tank: self.start_tank,
                start_cans: self.start_cans,
                cans: &self.cans,
                distances: &self.distances,
                rough: &self.rough,
                driven: self.driven,
            },
            legs: &self.world.legs,
            passing: &self.passing,
            dryness: Dryness::AsDrawn,
            luck: Luck::None,
        }
    }

    /// The first simulated trips once more, with fuel at every stop that is relied on.
    pub(crate) fn again(&self) -> (Drawn, FirstDriven) {
        let effort = Effort {
            blocks: TROUBLE_BLOCKS,
            threads: self.threads,
        };
        let drawn = Drawn::new(Arc::clone(&self.world), effort);
        let driven = drawn.few_driven(
            TROUBLE_BLOCKS,
            self.instructions().with_all_fuel(),
            &self.checks,
        );
        (drawn, driven)
    }

    /// How the trips that were driven `again` end in trouble, and where they go.
    pub(crate) fn choices(
        &self,
        (drawn, first): (&Drawn, &FirstDriven),
        trouble: &Trouble,
        target: Share,
    ) -> Choices {
        let (leg, _) = trouble.at;
        Choices {
            on_to: self.refuge_ahead(leg, &trouble.dry),
            back_to: self.refuge_behind(leg, &trouble.dry),
            shares: drawn.in_trouble(first, self.instructions().with_all_fuel(), trouble),
            target,
        }
    }

    /// Continuing and returning on arrival at a fuel stop that has no fuel, on none of its visits.
    pub(crate) fn choices_if_dry(
        &self,
        simulated: (&Drawn, &FirstDriven),
        place_numbers: &[usize],
        target: Share,
    ) -> Choices {
        let trouble = Trouble {
            at: (place_numbers[0] - 1, Share::new(1.0)),
            dry: place_numbers.to_vec(),
            lost: Litres::ZERO,
        };
        self.choices(simulated, &trouble, target)
    }

    /// The places at which each fuel stop is met that the plan uses after it begins, stop by stop in driving order.
    pub(crate) fn stops(&self) -> Vec<Vec<usize>> {
        let n = self.problem.legs.len();
        let mut met: Vec<(usize, Vec<usize>)> = Vec::new();
        for place_number in self.driven + 1..n {
            let Some(stop) = self.problem.fuel_stops[place_number]
                .filter(|_| self.need.at_fuel_stop[place_number].is_some())
            else {
                continue;
            };
            match met.iter_mut().find(|(number, _)| *number == stop.number) {
                Some((_, place_numbers)) => place_numbers.push(place_number),
                None => met.push((stop.number, vec![place_number])),
            }
        }
        met.into_iter()
            .map(|(_, place_numbers)| place_numbers)
            .collect()
    }

    /// The refuge ahead of a place, those without fuel left out.
    pub(crate) fn refuge_ahead(&self, place_number: usize, dry: &[usize]) -> usize {
        let refuge = &self.checks.route().refuge;
        let n = self.problem.legs.len();
        (place_number + 1..n)
            .find(|place| {
                refuge[*place] && self.need.at_fuel_stop[*place].is_some() && !dry.contains(place)
            })
            .unwrap_or(n)
    }

    /// The refuge to which a return is possible from where the plan begins.
    pub(crate) fn refuge_for_return(&self) -> Option<usize> {
        let route = self.checks.route();
        if route.aside.is_some() && route.refuge[self.driven] {
            return Some(self.driven);
        }
        self.refuge_behind(self.driven.checked_sub(1)?, &[])
    }

    /// The refuge behind a point of a leg to which a return is possible, those without fuel left out.
    pub(crate) fn refuge_behind(&self, leg: usize, dry: &[usize]) -> Option<usize> {
        let route = self.checks.route();
        for place in (0..=leg).rev() {
            route.back[place]?;
            if route.refuge[place] && !dry.contains(&place) {
                return Some(place);
            }
        }
        None
    }
}
