//! The samples of a solution: the instructions that they ask for, how they end under those, and going back.

use std::sync::{Arc, OnceLock};

use crate::doubt::driven::{Instructions, Outcome, Passing};
use crate::doubt::study::{Band, Drawn, FirstDriven, MOST_BLOCKS, Policy, Spread};
use crate::doubt::tally::Quantile;
use crate::doubt::ways_back::{Point, WaysBack};
use crate::plan::facts::{Groundwork, Solution};
use crate::plan::{Decision, Plan, WayBack};
use crate::quantity::{Kilometres, Litres, Share};
use crate::solver::cans;
use crate::solver::drive::Conditions;
use crate::solver::fuel::Need;

use crate::plan::parts::doubt::{Doubt, Study};
use crate::plan::policy::target::reliance::{doubtful, refuges};

/// How often the instructions are raised, each time halving what is left to certainty.
const RAISES: i32 = 6;

/// A solution's samples, and how the first of them end.
pub(in crate::plan) struct Studied {
    pub(in crate::plan) samples: Samples,
    pub(in crate::plan) driven: FirstDriven,
}

/// The samples of a solution, and what they ask for.
pub(in crate::plan) struct Samples {
    pub(in crate::plan) drawn: Drawn,
    pub(in crate::plan) policy: Policy,
    pub(in crate::plan) counted: Vec<bool>,
    pub(in crate::plan) passing: Vec<Option<Passing>>,
    /// The share of the draws in which the spare litres are enough.
    pub(in crate::plan) share: Share,
    pub(in crate::plan) spare: Quantile,
    pub(in crate::plan) by_confidence: Vec<(Share, Quantile)>,
}

impl Samples {
    /// What is to be on board where, raised until the samples end well often enough, and the samples driven by it.
    pub(in crate::plan) fn instructions(
        &self,
        conditions: Conditions<'_>,
        held: Litres,
        bought: impl Fn(Need) -> Need,
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
        // Nor where what is aboard at the start is not enough.
        raised.find(does).unwrap_or(first)
    }

    pub(in crate::plan) fn told_with<'b>(
        &'b self,
        need: &'b Need,
        conditions: Conditions<'b>,
    ) -> Instructions<'b> {
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

impl Studied {
    /// Tells a plan what the samples say of it.
    pub(in crate::plan) fn tell(
        &self,
        ground: &Groundwork<'_>,
        solution: &Solution,
        plain: Arc<Plan>,
        plan: &mut Plan,
    ) {
        let confidence = ground.trip.rules().confidence();
        let samples = &self.samples;
        let drawn = &samples.drawn;
        let each = cans::each(&solution.set);
        let told = samples.told_with(&solution.need, ground.conditions(&solution.set, &each));
        let outcomes = drawn.outcomes(&self.driven, told, MOST_BLOCKS);
        let turn_backs = samples.go_back(&self.driven, ground, solution, told, plan);
        plan.doubt = Some(Doubt {
            confidence,
            samples: outcomes.samples(),
            spare: samples.spare,
            by_confidence: samples.by_confidence.clone(),
            through: outcomes.odds(Outcome::Through),
            on_reserve: outcomes.odds(Outcome::OnReserve),
            turned_back: outcomes.odds(Outcome::TurnedBack),
            stranded: outcomes.odds(Outcome::Stranded),
            turns_back: samples.policy.homeward.is_some(),
            first_below: (0..ground.distances.len())
                .map(|leg| outcomes.first_below(leg))
                .collect(),
            bands: with_observed(ground, self.driven.bands(drawn.effort().threads)),
            turn_backs,
            plain,
            study: Study {
                world: Arc::clone(drawn.world()),
                policy: samples.policy.clone(),
                doubtful: doubtful(ground, solution),
                share: samples.share,
                effort: drawn.effort(),
                drivers: OnceLock::new(),
            },
        });
    }
}

impl Samples {
    /// Raises what the card asks for to go back to what is enough at the confidence; the turn-back points likewise.
    fn go_back(
        &self,
        first: &FirstDriven,
        ground: &Groundwork<'_>,
        solution: &Solution,
        told: Instructions<'_>,
        plan: &mut Plan,
    ) -> Vec<Option<Kilometres>> {
        let confidence = ground.trip.rules().confidence();
        let drawn = &self.drawn;
        let back = ground.ways_back(&solution.legs, solution.full);
        let none = vec![false; self.counted.len()];
        let refuge = refuges(ground, &self.counted, &none);
        let ways = WaysBack {
            problem: &solution.problem,
            legs: &drawn.world().legs,
            back: &back,
            refuge: &refuge,
            aside: ground
                .back_aside(solution.full, &solution.set)
                .map(|back| (ground.from(), back)),
        };
        let points: Vec<Point> = plan.decisions.iter().map(|at| point_of(at, plan)).collect();
        let likely = ways.likely(drawn.world(), &points);
        let enough = ways.enough(drawn, &points, confidence);
        for ((decision, enough), likely) in plan.decisions.iter_mut().zip(enough).zip(likely) {
            if let (Some(planned), Some(enough), Some(likely)) = (decision.back, enough, likely) {
                let needed = planned.needed + (enough - likely).max(Litres::ZERO);
                decision.back = (needed <= solution.full).then_some(WayBack { needed, ..planned });
            }
        }
        let stretches: Vec<(usize, usize)> = plan
            .stretches
            .iter()
            .map(|stretch| (stretch.from, stretch.to))
            .collect();
        let mut km: Vec<Kilometres> = plan.legs.iter().map(|leg| leg.from_km).collect();
        km.push(plan.totals.distance);
        ways.turn_backs(drawn, first, told, &stretches, &km, confidence)
    }
}

/// What was observed is known.
fn with_observed(ground: &Groundwork<'_>, mut bands: Vec<Band>) -> Vec<Band> {
    let known = |litres| Spread {
        low: litres,
        middle: litres,
        high: litres,
    };
    for (band, driven) in bands.iter_mut().zip(ground.legs_behind()) {
        *band = Band {
            start: known(driven.start),
            end: known(driven.end),
        };
    }
    bands
}

/// Where on which leg a line of the card stands.
fn point_of(decision: &Decision, plan: &Plan) -> Point {
    if let Some(node) = decision.node.filter(|&node| node > 0) {
        return (node - 1, Share::new(1.0));
    }
    let after = plan
        .legs
        .partition_point(|leg| leg.from_km <= decision.at_km);
    let leg = &plan.legs[after.saturating_sub(1)];
    (
        leg.n - 1,
        Share::new((decision.at_km - leg.from_km) / leg.distance),
    )
}
