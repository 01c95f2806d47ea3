//! The simulated trips of one set of cans: what they need, the instructions that they ask for, and how they end under those.

use crate::doubt::driven::{Instructions, Passing};
use crate::doubt::study::{Drawn, FirstDriven, Policy};
use crate::doubt::tally::Quantile;
use crate::quantity::{Litres, Share};
use crate::solver::drive::Conditions;
use crate::solver::fuel::Need;

/// How often the instructions are raised, each time halving what is left to certainty.
const RAISES: i32 = 6;

/// What simulated trips need, and how the first of them end.
pub(in crate::plan) struct Simulation {
    pub needed: SimulatedNeed,
    pub driven: FirstDriven,
}

/// What simulated trips need with one way to rely on fuel stops.
pub(in crate::plan) struct SimulatedNeed {
    pub drawn: Drawn,
    pub policy: Policy,
    /// Whether the fuel stop of each place is relied on.
    pub relied_on: Vec<bool>,
    pub passing: Vec<Option<Passing>>,
    /// The share of the simulated trips in which the fuel in cans is enough.
    pub share: Share,
    pub spare: Quantile,
    pub by_confidence: Vec<(Share, Quantile)>,
}

impl SimulatedNeed {
    /// What is to be on board where, raised until the simulated trips end well often enough, and the first of them driven
    /// by it.
    pub(super) fn instructions(
        &self,
        conditions: Conditions<'_>,
        held: Litres,
        mut bought: impl FnMut(Need) -> Need,
    ) -> (Need, FirstDriven) {
        let share = self.share;
        let mut levels = self.drawn.levels(&self.policy);
        let mut told = |share: Share| {
            let need = bought(levels.raised(&self.policy.need, share));
            let driven = self.drawn.first_driven(self.told_with(&need, conditions));
            (need, driven)
        };
        let first = told(share);
        let does = |(_, driven): &(Need, FirstDriven)| driven.outcomes().as_wanted() >= share;
        // Where the cans do not hold what is wanted, no instruction makes up for it.
        if does(&first) || self.spare.litres > held {
            return first;
        }
        let mut raised = (1..=RAISES).map(|raise| {
            let left = (1.0 - share.get()) * 0.5_f64.powi(raise);
            told(Share::new(1.0 - left))
        });
        // Nor where what is on board at the start is not enough.
        raised.find(does).unwrap_or(first)
    }

    /// The instructions as simulated trips follow them.
    pub fn told_with<'b>(&'b self, need: &'b Need, conditions: Conditions<'b>) -> Instructions<'b> {
        Instructions {
            problem: &self.policy.problem,
            need,
            conditions,
            legs: &self.drawn.world().legs,
            homeward: self.policy.homeward.as_ref(),
            passing: &self.passing,
        }
    }
}
