//! The success target that the rules set: the least of the ways to rely on fuel stops, from simulated trips until
//! they are sure enough, and the instructions by which enough of those trips succeed.
//!
//! Nothing is decided with knowledge of what comes later. A fuel stop that may be dry is relied on only while all of
//! those relied on have fuel together with at least the target; of the ways to rely on fuel stops the one that needs
//! the least fuel in cans is taken. Where the rules count on turning back, an unconfirmed fuel stop is relied on if one
//! can turn back from it, and its outcomes are counted separately for trips that arrive and trips that run out of fuel.
//! The instructions are raised, from quantiles of what is required, until the simulated trips that follow them end well
//! often enough.

pub(in crate::plan) mod aim;
pub(in crate::plan) mod check_route;
pub(in crate::plan) mod reliance;
pub(in crate::plan) mod simulation;
mod sketch;

use std::sync::Arc;

use crate::doubt::BLOCK;
use crate::doubt::checks::FuelChecks;
use crate::doubt::required::Homeward;
use crate::doubt::returns::Point;
use crate::doubt::study::{self, Drawn, Effort, MOST_BLOCKS};
use crate::doubt::tally::{Quantile, SURELY, Sorted};
use crate::quantity::{Litres, Share};

use super::Basis;
use crate::plan::facts::TripFacts;
use crate::plan::loadout::Loadout;
use reliance::{Reliance, chances, doubted, passing, refuges, reliances};
use simulation::SimulatedNeed;

/// The targets at which fuel in cans is reported, besides the one that the rules set.
pub const TARGETS: [Share; 5] = [
    Share::new(0.5),
    Share::new(0.8),
    Share::new(0.9),
    Share::new(0.95),
    Share::new(0.99),
];
/// Trips of more legs are not simulated: what a block requires everywhere would not fit into memory.
pub const MOST_LEGS: usize = 5_000;

/// Trips are simulated until the fuel in cans is this sure.
const SURE_ENOUGH: Litres = Litres::new(0.2);

/// The success target of a trip, and the ways to reach it.
pub(in crate::plan) struct Target {
    success: Share,
    effort: Effort,
    basis: Basis,
    reliances: Vec<Reliance>,
}

impl Target {
    pub(crate) fn new(facts: &TripFacts<'_>, effort: Effort) -> Self {
        let basis = Basis::new(facts);
        Self {
            success: facts.trip.rules().success_target(),
            effort,
            reliances: reliances(facts, &basis.relied_on),
            basis,
        }
    }

    /// Blocks that would make the fuel in cans sure enough, where there are to be more than `blocks`.
    fn more(&self, error: Litres, simulated: usize, blocks: usize) -> Option<usize> {
        let had = simulated / BLOCK;
        let most = self.effort.blocks.min(MOST_BLOCKS);
        if error <= SURE_ENOUGH || had < blocks || had >= most {
            return None;
        }
        let times = (error / SURE_ENOUGH).powi(2) * 1.1;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a small positive number"
        )]
        let wanted = (had as f64 * times).ceil().min(most as f64) as usize;
        Some(wanted.max(had + 1))
    }

    /// The share of the simulated trips in which what a reliance requires must be enough, so that with the chance of
    /// its fuel stops it comes to the target.
    fn share(&self, reliance: usize, target: Share) -> Share {
        let target = self.within_reach(target);
        Share::new((target / self.reliances[reliance].chance).min(1.0))
    }

    /// The largest share of trips to which a plan can promise success: the chance of the stops that must be relied on.
    fn can_promise(&self) -> Share {
        let chances = self.reliances.iter().map(|reliance| reliance.chance);
        chances.fold(Share::ZERO, Share::max)
    }

    /// The share of trips that a plan is laid out for: the target, or that part of the trips that can be promised
    /// success, where those are too few.
    fn within_reach(&self, target: Share) -> Share {
        let most = self.can_promise();
        if most < target {
            Share::new(target.get() * most.get())
        } else {
            target
        }
    }

    /// The reliance that needs the least at the target, the contingency of the best estimate counted.
    fn least(&self, policies: &[study::Policy], in_cans: &[Sorted]) -> (usize, Quantile) {
        self.least_by(in_cans, self.success, |at, in_cans| {
            in_cans.litres.max(policies[at].need.in_cans)
        })
    }

    fn least_at(&self, in_cans: &[Sorted], target: Share) -> Quantile {
        self.least_by(in_cans, target, |_, in_cans| in_cans.litres)
            .1
    }

    /// What is needed at each of the targets that a plan can promise.
    fn by_target(&self, in_cans: &[Sorted]) -> Vec<(Share, Quantile)> {
        let within_reach = TARGETS
            .into_iter()
            .filter(|&share| self.can_promise() >= share);
        within_reach
            .map(|share| (share, self.least_at(in_cans, share)))
            .collect()
    }

    /// What is needed at least, whatever more simulated trips will show; and with which reliance.
    fn surely(&self, policies: &[study::Policy], in_cans: &[Sorted]) -> (usize, Litres) {
        let surely = |at: usize, in_cans: Quantile| {
            (in_cans.litres - in_cans.error * SURELY).max(policies[at].need.in_cans)
        };
        let (at, least) = self.least_by(in_cans, self.success, surely);
        (at, surely(at, least))
    }

    fn least_by(
        &self,
        in_cans: &[Sorted],
        target: Share,
        wanted: impl Fn(usize, Quantile) -> Litres,
    ) -> (usize, Quantile) {
        let within_reach = self.within_reach(target);
        let mut least: Option<(usize, Quantile, Litres)> = None;
        for (at, reliance) in self.reliances.iter().enumerate() {
            if reliance.chance < within_reach {
                continue;
            }
            let quantile = in_cans[at].quantile_with_error(self.share(at, target));
            let litres = wanted(at, quantile);
            if least.is_none_or(|(_, _, least)| litres < least) {
                least = Some((at, quantile, litres));
            }
        }
        least.map_or((0, Quantile::default()), |(at, quantile, _)| (at, quantile))
    }

    /// Fits the fuel checks of each policy, at these points, to the first blocks of its simulated trips.
    fn fit_checks(
        &self,
        facts: &TripFacts<'_>,
        loadout: &Loadout,
        (drawn, blocks): (&Drawn, usize),
        points: &[Point],
        policies: &mut [study::Policy],
    ) {
        for (policy, reliance) in policies.iter_mut().zip(&self.reliances) {
            let route = check_route::route(facts, loadout, &reliance.relied_on, points.to_vec());
            let driving = (&policy.problem, &policy.need);
            let checks = FuelChecks::fitted(drawn, driving, route, blocks);
            policy.checks = Some(Arc::new(checks));
        }
    }

    /// What the simulated trips need that were drawn, with one way to rely on fuel stops; `None` if it has no fuel
    /// checks.
    fn simulated(
        &self,
        facts: &TripFacts<'_>,
        policies: &[study::Policy],
        (at, in_cans): (usize, &[Sorted]),
        drawn: Drawn,
    ) -> Option<SimulatedNeed> {
        let policy = policies[at].clone();
        let relied_on = &self.reliances[at].relied_on;
        let share = self.share(at, self.success);
        Some(SimulatedNeed {
            in_cans: in_cans[at].quantile_with_error(share),
            by_target: self.by_target(in_cans),
            relied_on: relied_on.clone(),
            passing: passing(facts, relied_on),
            drawn,
            checks: Arc::clone(policy.checks.as_ref()?),
            policy,
            target: self.success,
            share,
        })
    }

    /// Each way to rely on fuel stops with these cans.
    fn policies(&self, facts: &TripFacts<'_>, loadout: &Loadout) -> Vec<study::Policy> {
        self.reliances
            .iter()
            .map(|reliance| {
                let relied_on = &reliance.relied_on;
                let problem = loadout.problem(facts, relied_on, self.basis.contingency);
                let unsure = || doubted(facts, relied_on, &chances(facts));
                let homeward = reliance.turn_back.as_ref().map(|wanted| Homeward {
                    back: loadout.return_legs(facts),
                    to_fuel: loadout.detours(facts),
                    refuge: refuges(facts, relied_on, &unsure(), self.success),
                    wanted: wanted.clone(),
                });
                study::Policy {
                    need: problem.need(),
                    problem,
                    homeward,
                    checks: None,
                }
            })
            .collect()
    }
}
