//! Solutions raised to what the confidence asks for: the least of the ways of relying on pumps, from samples until they are
//! sure enough.

mod reliance;
pub(in crate::plan) mod simulation;

use std::cell::Cell;

use crate::consumption::leg::LegFormula;
use crate::doubt::BLOCK;
use crate::doubt::homeward;
use crate::doubt::required::Homeward;
use crate::doubt::study::{Drawn, Effort, FIRST_BLOCKS, MOST_BLOCKS, Policy};
use crate::doubt::tally::{Quantile, Sorted};
use crate::doubt::vehicle::VehicleDoubt;
use crate::doubt::world::{Held, LegDoubt, World};
use crate::plan::facts::{Groundwork, Solution};
use crate::quantity::{Litres, Share};
use crate::solver::cans::{self, CanSet};
use crate::solver::fuel::{Need, Problem, ROUNDING};

use crate::plan::parts::doubt::CONFIDENCES;
use crate::plan::policy::target::reliance::{Reliance, chances, passing, refuges, reliances};
use crate::plan::policy::target::simulation::{Samples, Studied};

/// Samples are added until the spare litres are this sure.
const SURE_ENOUGH: Litres = Litres::new(0.1);

/// Blocks of a first look at cans that may not hold enough by far.
const FIRST_LOOK: usize = FIRST_BLOCKS / 4;
/// By so many standard errors more samples will hardly ask for less: once in a thousand times.
const SURELY: f64 = 3.0;

/// How what is not known is dealt with.
pub(in crate::plan) struct Doubts {
    confidence: Share,
    effort: Effort,
    /// Blocks that the spare litres were found to need.
    blocks: Cell<usize>,
    reliances: Vec<Reliance>,
}

impl Doubts {
    pub(in crate::plan) fn of(ground: &Groundwork<'_>, effort: Effort) -> Self {
        Self {
            confidence: ground.trip.rules().confidence(),
            effort,
            blocks: Cell::new(effort.blocks.min(FIRST_BLOCKS)),
            reliances: reliances(ground),
        }
    }

    /// The solution with its cans raised to what the confidence asks for. Where the cans do not hold that, `only_if_held`
    /// spares the instructions, and most samples where the first of them already say so: what is asked for is then the
    /// least that it can be, by the likely values, and nothing is kept to be asked.
    pub(in crate::plan) fn confirmed(
        &self,
        ground: &Groundwork<'_>,
        solution: Solution,
        only_if_held: bool,
    ) -> Solution {
        let Solution {
            set,
            full,
            legs,
            problem,
            ..
        } = solution;
        let policies = self.policies(ground, &legs, full, &problem);
        let world = world(ground, &legs, full, &self.reliances);
        let effort = |blocks| Effort {
            blocks,
            ..self.effort
        };
        let held = cans::fill(&set) + ROUNDING;
        let mut drawn = Drawn::of(world, effort(self.blocks.get().min(FIRST_LOOK)));
        if only_if_held {
            let (at, surely) = self.surely(&policies, &drawn.spare(&policies));
            if surely > held {
                return asking(ground, set, legs, policies[at].clone(), surely);
            }
        }
        loop {
            drawn = drawn.up_to(effort(self.blocks.get()));
            let spare = drawn.spare(&policies);
            let (at, quantile) = self.least(&policies, &spare, self.confidence);
            if let Some(more) = self.more(quantile.error, drawn.samples()) {
                self.blocks.set(more);
                continue;
            }
            let (policy, reliance) = (policies[at].clone(), &self.reliances[at]);
            let wanted = policy.need.spare.max(quantile.litres);
            if only_if_held && wanted > held {
                return asking(ground, set, legs, policy, wanted);
            }
            let samples = Samples {
                spare: quantile,
                by_confidence: CONFIDENCES
                    .map(|share| (share, self.least_at(&spare, share).1))
                    .to_vec(),
                counted: reliance.counted.clone(),
                passing: passing(ground, &reliance.counted),
                drawn,
                policy,
                share: self.share(at),
            };
            let each = cans::each(&set);
            let not_least = Cell::new(None);
            let (mut need, driven) =
                samples.instructions(ground.conditions(&set, &each), cans::fill(&set), |need| {
                    let (need, why) = ground.bought(&set, &samples.policy.problem, need);
                    not_least.set(why);
                    need
                });
            need.spare = wanted;
            let policy_problem = samples.policy.problem.clone();
            let solution = ground.driven(set, legs, policy_problem, need);
            return Solution {
                studied: Some(Studied { samples, driven }),
                not_least: not_least.get(),
                ..solution
            };
        }
    }

    /// Blocks that would make the spare litres sure enough, where there are to be more.
    fn more(&self, error: Litres, samples: usize) -> Option<usize> {
        let had = samples / BLOCK;
        let most = self.effort.blocks.min(MOST_BLOCKS);
        if error <= SURE_ENOUGH || had < self.blocks.get() || had >= most {
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

    /// The share of the samples in which what a reliance requires must be enough, so that with the chance of its pumps
    /// it comes to the confidence.
    fn share(&self, reliance: usize) -> Share {
        self.share_for(reliance, self.confidence)
    }

    fn share_for(&self, reliance: usize, confidence: Share) -> Share {
        Share::new((confidence / self.reliances[reliance].chance).min(1.0))
    }

    /// The reliance that needs the least at a confidence, the plain reserve counted.
    fn least(&self, policies: &[Policy], spare: &[Sorted], confidence: Share) -> (usize, Quantile) {
        self.least_by(spare, confidence, |at, spare| {
            spare.litres.max(policies[at].need.spare)
        })
    }

    fn least_at(&self, spare: &[Sorted], confidence: Share) -> (usize, Quantile) {
        self.least_by(spare, confidence, |_, spare| spare.litres)
    }

    /// What is needed at least, whatever more samples will say; and with which reliance.
    fn surely(&self, policies: &[Policy], spare: &[Sorted]) -> (usize, Litres) {
        let surely = |at: usize, spare: Quantile| {
            (spare.litres - spare.error * SURELY).max(policies[at].need.spare)
        };
        let (at, least) = self.least_by(spare, self.confidence, surely);
        (at, surely(at, least))
    }

    fn least_by(
        &self,
        spare: &[Sorted],
        confidence: Share,
        wanted: impl Fn(usize, Quantile) -> Litres,
    ) -> (usize, Quantile) {
        let mut least: Option<(usize, Quantile, Litres)> = None;
        for (at, reliance) in self.reliances.iter().enumerate() {
            if reliance.chance < confidence {
                continue;
            }
            let quantile = spare[at].quantile_with_error(self.share_for(at, confidence));
            let litres = wanted(at, quantile);
            if least.is_none_or(|(_, _, least)| litres < least) {
                least = Some((at, quantile, litres));
            }
        }
        least.map_or((0, Quantile::default()), |(at, quantile, _)| (at, quantile))
    }

    fn policies(
        &self,
        ground: &Groundwork<'_>,
        legs: &[LegFormula],
        full: Litres,
        problem: &Problem,
    ) -> Vec<Policy> {
        self.reliances
            .iter()
            .map(|reliance| {
                let problem = Problem {
                    pumps: ground.pumps_counted(&reliance.counted, legs, full),
                    ..problem.clone()
                };
                let homeward = reliance.turn_back.as_ref().map(|wanted| Homeward {
                    back: ground.ways_back(legs, full),
                    refuge: refuges(ground, &reliance.counted, wanted),
                    wanted: wanted.clone(),
                });
                Policy {
                    need: problem.need(),
                    problem,
                    homeward,
                }
            })
            .collect()
    }
}

/// A solution that asks for more than its cans hold; its instructions are those of the likely values.
fn asking(
    ground: &Groundwork<'_>,
    set: CanSet,
    legs: Vec<LegFormula>,
    policy: Policy,
    wanted: Litres,
) -> Solution {
    let need = Need {
        spare: wanted,
        ..policy.need
    };
    ground.driven(set, legs, policy.problem, need)
}

fn world(
    ground: &Groundwork<'_>,
    legs: &[LegFormula],
    full: Litres,
    reliances: &[Reliance],
) -> World {
    let trip = ground.trip;
    let legs = legs.iter().zip(&trip.legs).zip(&ground.days);
    World {
        seed: trip.rules().seed(),
        vehicle: trip.vehicle.fitted.as_ref().map_or(
            VehicleDoubt::Prior(trip.vehicle.base_from()),
            VehicleDoubt::fitted,
        ),
        legs: legs
            .enumerate()
            .map(|(at, ((formula, leg), &day))| {
                let doubt = LegDoubt::of(&formula.response(full), leg.surface(), day);
                if at < ground.from() {
                    doubt.behind()
                } else {
                    doubt
                }
            })
            .collect(),
        chances: chances(ground),
        held: Held::default(),
        both_ways: if reliances
            .iter()
            .any(|reliance| reliance.turn_back.is_some())
        {
            MOST_BLOCKS
        } else {
            homeward::BLOCKS
        },
    }
}
