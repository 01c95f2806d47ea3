//! The simulated trips of one set of cans: what they need, the instructions that they require, and how they end under
//! those.

use std::sync::Arc;

use crate::doubt::BLOCK;
use crate::doubt::checks::{FuelChecks, Obeyed, ObeyedOutcomes};
use crate::doubt::driven::{Dryness, Instructions, Luck, Passing};
use crate::doubt::study::{
    AtStops, Drawn, FEW_BLOCKS, FIRST_BLOCKS, FirstDriven, Policy, SKETCH_BLOCKS,
};
use crate::doubt::tally::{Quantile, SURELY};
use crate::quantity::{Litres, Share};
use crate::solver::drive::Conditions;
use crate::solver::fuel::Need;

use super::check_route::turned_back_at_most;
use crate::plan::policy::cheapest::NotLeast;

/// How often the instructions are raised, each time halving what is left to certainty.
const RAISES: i32 = 6;
/// Standard errors by which a share may be too small for the instructions to be kept: none.
pub(super) const EVEN_IF_EXACT: f64 = 0.0;
/// By so many standard errors a share of a few trips is hardly too small while that of all is not: seven times in a
/// hundred. Then instructions are raised that were enough.
const UNLIKELY: f64 = 1.5;

/// Until when instructions are raised.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Raising {
    /// Until enough trips end as the target requires.
    ForTarget,
    /// Until enough trips end as the target requires, and a gauge error turns few back.
    ForGauge,
}

impl Raising {
    /// What a plan is raised for: for a gauge where it leaves more for that, or where fuel is bought for least and
    /// there is more to be had.
    pub(crate) fn new(is_for_least_cost: bool, for_gauge: bool) -> Self {
        if is_for_least_cost || for_gauge {
            Self::ForGauge
        } else {
            Self::ForTarget
        }
    }
}

/// What simulated trips need, and how the first of them end.
pub(in crate::plan) struct Simulation {
    pub(crate) needed: SimulatedNeed,
    pub(crate) driven: FirstDriven,
    /// How the first of them end.
    pub(crate) outcomes: ObeyedOutcomes,
    /// By how much the need may rise with more simulated trips, should these show that a gauge turns too many back.
    pub(crate) may_rise: Litres,
}

/// What is to be on board where, and the simulated trips that follow it.
pub(super) struct Followed {
    pub(crate) need: Need,
    pub(crate) driven: FirstDriven,
    pub(crate) outcomes: ObeyedOutcomes,
    /// Why it is not what costs least.
    pub(crate) not_least: Option<NotLeast>,
}

/// What simulated trips need with one way to rely on fuel stops.
pub(in crate::plan) struct SimulatedNeed {
    pub(crate) drawn: Drawn,
    pub(crate) policy: Policy,
    /// The fuel checks of the policy.
    pub(crate) checks: Arc<FuelChecks>,
    /// The share of all simulated trips that must succeed.
    pub(crate) target: Share,
    /// Whether the fuel stop of each place is relied on.
    pub(crate) relied_on: Vec<bool>,
    pub(crate) passing: Vec<Option<Passing>>,
    /// The share of the simulated trips in which the fuel in cans is enough.
    pub(crate) share: Share,
    pub(crate) in_cans: Quantile,
    pub(crate) by_target: Vec<(Share, Quantile)>,
}

impl SimulatedNeed {
    /// What is to be on board where, roughly, and a few simulated trips driven by it; where everything is filled is
    /// known from those before.
    pub(super) fn sketched(
        &self,
        conditions: Conditions<'_>,
        fill_all: &[(usize, Litres)],
        bought: impl FnOnce(Need) -> Need,
    ) -> (Need, FirstDriven) {
        let mut levels = self.drawn.levels(&self.policy);
        let mut need = bought(levels.raised(&self.policy.need, self.share));
        for &(place_number, below) in fill_all {
            need.fill_all_below[place_number] = Some(below);
        }
        let driven = self.few_driven(self.drawn.samples() / BLOCK, &need, conditions);
        (need, driven)
    }

    /// What is to be on board where, raised until enough simulated trips succeed, and those driven by it: a few where
    /// these leave no doubt, otherwise all of the first.
    pub(super) fn followed(
        &self,
        conditions: Conditions<'_>,
        held: Litres,
        raising: Raising,
        bought: impl Fn(Need) -> (Need, Option<NotLeast>),
    ) -> Followed {
        let mut levels = self.drawn.levels(&self.policy);
        let mut raised = |raise: i32| {
            let left = (1.0 - self.share.get()) * 0.5_f64.powi(raise);
            let (need, not_least) =
                bought(levels.raised(&self.policy.need, Share::new(1.0 - left)));
            let need = self.with_fill_all(need, conditions);
            Followed {
                not_least,
                ..self.few_follow(need, conditions)
            }
        };
        let does = |followed: &Followed, errors: f64| {
            self.does_meet_target(followed, conditions, errors)
                && (raising != Raising::ForGauge
                    || self.is_read_by_gauge(followed, conditions, errors))
        };
        // Without the fuel of each stop to turn back from, a few take as long as all.
        let may_ask_few = self.policy.homeward.is_none();
        let tried = |few: Followed, unlikely: f64| -> (bool, Followed) {
            if may_ask_few && !does(&few, unlikely) {
                return (false, few);
            }
            if may_ask_few && does(&few, -SURELY) {
                return (true, few);
            }
            let all = self.all_follow(few, conditions);
            (does(&all, EVEN_IF_EXACT), all)
        };
        let first = raised(0);
        // Where the cans do not hold what is wanted, no instruction makes up for it.
        if self.in_cans.litres > held {
            return self.all_follow(first, conditions);
        }
        let (first_does, first) = tried(first, UNLIKELY);
        if first_does {
            return first;
        }
        let (once_does, once) = tried(raised(1), UNLIKELY);
        if once_does {
            return once;
        }
        // Nor does it where what is on board at the start is not enough.
        let (any_does, mut least) = tried(raised(RAISES), SURELY);
        if !any_does {
            return self.all_follow(first, conditions);
        }
        let (mut too_little, mut enough) = (1, RAISES);
        while enough - too_little > 1 {
            let middle = i32::midpoint(too_little, enough);
            let (does, followed) = tried(raised(middle), UNLIKELY);
            if does {
                (enough, least) = (middle, followed);
            } else {
                too_little = middle;
            }
        }
        least
    }

    fn does_meet_target(
        &self,
        followed: &Followed,
        conditions: Conditions<'_>,
        standard_errors: f64,
    ) -> bool {
        let Followed {
            need,
            driven,
            outcomes,
            ..
        } = followed;
        self.meets_target(need, (driven, outcomes), conditions, standard_errors)
    }

    /// Whether the checks turn back few enough of the trips that find fuel, read by a gauge which may be off. The share
    /// may be too large by so many standard errors.
    pub(super) fn is_read_by_gauge(
        &self,
        followed: &Followed,
        conditions: Conditions<'_>,
        standard_errors: f64,
    ) -> bool {
        let instructions = self.instructions_with(&followed.need, conditions);
        let odds = followed
            .driven
            .turned_back_by_gauge(&self.drawn, instructions);
        let most = turned_back_at_most(self.target);
        odds.share.get() - standard_errors * odds.error.get() <= most.get()
    }

    /// A few simulated trips that follow a need.
    fn few_follow(&self, need: Need, conditions: Conditions<'_>) -> Followed {
        let driven = self.few_driven(FEW_BLOCKS, &need, conditions);
        let blocks = driven.kept();
        self.ends_of(need, driven, conditions, blocks)
    }

    /// All of the first simulated trips, a few of which follow a need already.
    pub(super) fn all_follow(&self, few: Followed, conditions: Conditions<'_>) -> Followed {
        if few.outcomes.trips() >= FIRST_BLOCKS.min(self.drawn.samples() / BLOCK) * BLOCK {
            return few;
        }
        let Followed { need, driven, .. } = few;
        let instructions = self.instructions_with(&need, conditions);
        let driven = self
            .drawn
            .first_driven(instructions, &self.checks, Some(driven));
        Followed {
            not_least: few.not_least,
            ..self.ends_of(need, driven, conditions, FIRST_BLOCKS)
        }
    }

    /// How the trips of so many blocks end, of which the first were driven.
    fn ends_of(
        &self,
        need: Need,
        driven: FirstDriven,
        conditions: Conditions<'_>,
        blocks: usize,
    ) -> Followed {
        let instructions = self.instructions_with(&need, conditions);
        let simulated = (&driven, AtStops::AsDrawn);
        let outcomes = self.drawn.outcomes(simulated, instructions, blocks);
        Followed {
            need,
            driven,
            outcomes,
            not_least: None,
        }
    }

    /// A need completed with the places at which everything is filled if little is left.
    fn with_fill_all(&self, mut need: Need, conditions: Conditions<'_>) -> Need {
        if !self.checks.has_full_fill() {
            return need;
        }
        let instructions = self.instructions_with(&need, conditions);
        let few = self
            .drawn
            .few_driven(SKETCH_BLOCKS, instructions, &self.checks);
        let fill_all: Vec<(usize, Litres)> = few.card().fill_all_below().collect();
        for (place_number, below) in fill_all {
            need.fill_all_below[place_number] = Some(below);
        }
        need
    }

    fn few_driven(&self, blocks: usize, need: &Need, conditions: Conditions<'_>) -> FirstDriven {
        let instructions = self.instructions_with(need, conditions);
        self.drawn.few_driven(blocks, instructions, &self.checks)
    }

    /// Whether enough of the first simulated trips end as the success target requires: at the finish with the reserve
    /// intact; where the plan counts on turning back, with fuel at every stop, and without it at any of those to turn
    /// back from at the finish or back at a refuge. Shares may be too small by so many standard errors.
    pub(crate) fn meets_target(
        &self,
        need: &Need,
        (driven, outcomes): (&FirstDriven, &ObeyedOutcomes),
        conditions: Conditions<'_>,
        standard_errors: f64,
    ) -> bool {
        let target = self.target.get();
        let do_enough = |outcomes: &ObeyedOutcomes, ends: &[Obeyed]| -> bool {
            let share: f64 = ends.iter().map(|&end| outcomes.odds(end).share.get()).sum();
            let error = (share * (1.0 - share).max(0.0) / outcomes.trips() as f64).sqrt();
            share + standard_errors * error >= target
        };
        let Some(homeward) = &self.policy.homeward else {
            return do_enough(outcomes, &[Obeyed::FinishIntact]);
        };
        let without = |dry: &[usize], reaching: Option<usize>| {
            let instructions = Instructions {
                dryness: Dryness::Only(dry),
                ..self.instructions_with(need, conditions)
            };
            self.drawn
                .obeyed(driven.card(), instructions, FIRST_BLOCKS, reaching)
        };
        if !do_enough(&without(&[], None), &[Obeyed::FinishIntact]) {
            return false;
        }
        // The first place at which each stop to turn back from is met, and its number.
        let mut met: Vec<(usize, usize)> = Vec::new();
        for (place_number, (&wanted, stop)) in
            (0..).zip(homeward.wanted.iter().zip(&self.policy.problem.fuel_stops))
        {
            if let Some(stop) = stop.filter(|_| wanted)
                && met.iter().all(|(_, number)| *number != stop.number)
            {
                met.push((place_number, stop.number));
            }
        }
        let intact = [Obeyed::FinishIntact, Obeyed::TurnedBackIntact];
        let ends_well = |dry: &[usize], place_number: usize| {
            let outcomes = without(dry, Some(place_number));
            outcomes.trips() == 0 || do_enough(&outcomes, &intact)
        };
        met.iter().enumerate().all(|(at, &(place_number, number))| {
            let later = &met[at + 1..];
            ends_well(&[number], place_number)
                && later
                    .iter()
                    .all(|&(_, other)| ends_well(&[number, other], place_number))
        })
    }

    /// The instructions as simulated trips follow them, with no luck at fuel stops that are not relied on.
    pub(crate) fn instructions_with<'b>(
        &'b self,
        need: &'b Need,
        conditions: Conditions<'b>,
    ) -> Instructions<'b> {
        Instructions {
            problem: &self.policy.problem,
            need,
            conditions,
            legs: &self.drawn.world().legs,
            passing: &self.passing,
            dryness: Dryness::AsDrawn,
            luck: Luck::None,
        }
    }
}
