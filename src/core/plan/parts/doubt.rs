//! How sure a plan is: what simulated trips show of it.

use std::sync::{Arc, OnceLock};

use crate::doubt::checks::{NowFigures, Obeyed, ObeyedOutcomes};
use crate::doubt::drivers::{Driver, UnconfirmedFuelStop};
use crate::doubt::study::{Band, Effort, Policy};
use crate::doubt::tally::{Odds, Quantile};
use crate::doubt::world::World;
use crate::quantity::{Kilometres, Litres, Share};

use super::Plan;
pub use crate::plan::policy::target::{MOST_LEGS, TARGETS};

/// What the samples show of a plan.
#[derive(Clone, Debug)]
pub struct Doubt {
    /// How surely the whole trip shall go through.
    pub success_target: Share,
    /// Simulated trips behind the fuel in cans.
    pub samples: usize,
    /// Litres that must be in cans at that success target, without the per-cent share of the best estimate.
    pub in_cans: Quantile,
    /// By how much that may rise with more samples, should these show that a gauge turns too many back.
    pub may_rise: Litres,
    /// Litres that must be in cans at other success targets, where the stops that must be relied on have fuel often
    /// enough.
    pub by_target: Vec<(Share, Quantile)>,
    /// How simulated trips end whose drivers obey the fuel checks, luck at fuel stops that are not relied on counted.
    pub outcomes: Outcomes,
    /// How they end without that luck: what decides.
    pub outcomes_without_luck: Outcomes,
    /// Of the trips without luck that checks turned back, how many ran out on the return.
    pub turned_back_and_ran_out: [usize; 2],
    /// What a reading under way requires where the plan begins.
    pub now: Option<NowFigures>,
    /// Whether the plan counts on turning back from fuel stops that are dry.
    pub turns_back: bool,
    /// The probabilities, leg by leg, that the reserve is broken there first.
    pub first_below: Vec<Odds>,
    /// What is on board leg by leg.
    pub bands: Vec<Band>,
    /// The last kilometre of each stage from which, at the success target, a refuge behind can be reached with the
    /// fixed reserve untouched; `None` if there is none.
    pub turn_backs: Vec<Option<Kilometres>>,
    /// The best estimate, to be seen beside this one.
    pub best_estimate: Arc<Plan>,
    pub(in crate::plan) study: Study,
}

/// How simulated trips end whose drivers obey the fuel checks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outcomes {
    /// At the finish, the reserve intact all along.
    pub finish_reserve_intact: Odds,
    /// At the finish, having used some of it.
    pub finish_using_reserve: Odds,
    /// Back at a refuge, the reserve intact.
    pub turned_back_reserve_intact: Odds,
    /// Back at a refuge, having used some of it.
    pub turned_back_using_reserve: Odds,
    /// Out of fuel, on the route there or back.
    pub ran_out: Odds,
    /// At some check the litres were enough neither to continue nor to return.
    pub neither_advised: Odds,
    /// The tank fell below its lowest level on rough or steep ground, the cans empty.
    pub below_lowest_tank_level: Odds,
    /// Number of simulated trips.
    pub trips: usize,
}

impl Outcomes {
    /// The shares of all outcomes, which add up to one.
    pub fn ends(&self) -> [Odds; 5] {
        [
            self.finish_reserve_intact,
            self.finish_using_reserve,
            self.turned_back_reserve_intact,
            self.turned_back_using_reserve,
            self.ran_out,
        ]
    }
}

impl From<&ObeyedOutcomes> for Outcomes {
    fn from(counted: &ObeyedOutcomes) -> Self {
        Self {
            finish_reserve_intact: counted.odds(Obeyed::FinishIntact),
            finish_using_reserve: counted.odds(Obeyed::FinishUsing),
            turned_back_reserve_intact: counted.odds(Obeyed::TurnedBackIntact),
            turned_back_using_reserve: counted.odds(Obeyed::TurnedBackUsing),
            ran_out: counted.odds(Obeyed::RanOut),
            neither_advised: counted.neither_advised(),
            below_lowest_tank_level: counted.below_lowest_tank_level(),
            trips: counted.trips(),
        }
    }
}

/// What is kept to ask the samples more.
#[derive(Clone, Debug)]
pub(in crate::plan) struct Study {
    pub(crate) world: Arc<World>,
    pub(crate) policy: Policy,
    pub(crate) unconfirmed: Vec<UnconfirmedFuelStop>,
    /// The share of the draws in which the litres in cans are enough.
    pub(crate) share: Share,
    pub(crate) effort: Effort,
    pub(crate) drivers: OnceLock<Vec<Driver>>,
}

impl Doubt {
    /// How many samples may be drawn, and on how many threads.
    pub(in crate::plan) fn effort(&self) -> Effort {
        self.study.effort
    }
}
