//! How sure a plan is: what simulated trips say of it.

use std::sync::{Arc, OnceLock};

use crate::doubt::drivers::{DoubtfulPump, Driver};
use crate::doubt::study::{Band, Effort, Policy};
use crate::doubt::tally::{Odds, Quantile};
use crate::doubt::world::World;
use crate::quantity::{Kilometres, Share};

use super::Plan;
pub use crate::plan::policy::target::{CONFIDENCES, MOST_LEGS};

/// What the samples say about a plan.
#[derive(Clone, Debug)]
pub struct Doubt {
    /// How surely the whole trip shall go through.
    pub confidence: Share,
    /// Samples behind every figure.
    pub samples: usize,
    /// Litres that must be in cans at that confidence, without the per-cent share of the plain plan.
    pub spare: Quantile,
    /// The same at other confidences.
    pub by_confidence: Vec<(Share, Quantile)>,
    /// The odds of being at the finish with the fixed reserve untouched all the way.
    pub through: Odds,
    /// The odds of being at the finish with less.
    pub on_reserve: Odds,
    /// The odds of turning back from a dry pump and being safe.
    pub turned_back: Odds,
    /// The odds of running out of fuel.
    pub stranded: Odds,
    /// Whether the plan counts on turning back from pumps that are dry.
    pub turns_back: bool,
    /// The odds, leg by leg, that the reserve is broken there first.
    pub first_below: Vec<Odds>,
    /// What is on board leg by leg.
    pub bands: Vec<Band>,
    /// The last kilometre of each stretch from which, at the confidence, a refuge behind can be reached with the fixed
    /// reserve untouched; nothing where there is none.
    pub turn_backs: Vec<Option<Kilometres>>,
    /// The plain plan, to be seen beside this one.
    pub plain: Arc<Plan>,
    pub(in crate::plan) study: Study,
}

/// What is kept to ask the samples more.
#[derive(Clone, Debug)]
pub(in crate::plan) struct Study {
    pub world: Arc<World>,
    pub policy: Policy,
    pub doubtful: Vec<DoubtfulPump>,
    /// The share of the draws in which the spare litres are enough.
    pub share: Share,
    pub effort: Effort,
    pub drivers: OnceLock<Vec<Driver>>,
}

impl Doubt {
    /// How many samples may be drawn, and on how many threads.
    pub(in crate::plan) fn effort(&self) -> Effort {
        self.study.effort
    }
}
