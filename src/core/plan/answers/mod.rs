//! What the questions to a plan are answered with, and the cells in which the answers are kept once they were asked
//! for.
//!
//! A cell is filled by the question itself; an answer is kept here, beside the plan's data and not among them.

pub(crate) mod attribution;
pub mod dry;
pub mod fixes;
pub mod learn;
pub mod ledger;
pub mod others;
pub mod range;

use std::sync::{Arc, OnceLock};

use attribution::Attribution;
use dry::DryStops;
use fixes::Fixes;
use learn::Lesson;
use ledger::Ledger;
use others::Others;
use range::{RangeLeft, Ranges};

/// Answers to the questions to a plan, each once it was asked for. `Plan` is the plan itself, which has these.
#[derive(Clone, Debug)]
pub(in crate::plan) struct Answers<Plan> {
    /// Why each leg costs what it costs.
    pub(crate) why: Vec<OnceLock<Attribution>>,
    pub(crate) fixes: OnceLock<Fixes>,
    pub other_cans: OnceLock<Option<Others>>,
    /// What to learn of the vehicle before setting out.
    pub(crate) lessons: OnceLock<Vec<Lesson>>,
    /// The plan that the trip set out with.
    pub(crate) set_out: OnceLock<Arc<Plan>>,
    /// The plan of the return, where the trip turns back.
    pub(crate) return_plan: OnceLock<Option<Arc<Plan>>>,
    /// What if a fuel stop is dry.
    pub(crate) dry: OnceLock<DryStops>,
    /// What the fuel in cans is carried for.
    pub(crate) ledger: OnceLock<Ledger>,
    /// How far the vehicle goes.
    pub(crate) range: OnceLock<Arc<Ranges>>,
    /// How far the fuel on board leads from each fuel check.
    pub(crate) range_left: OnceLock<Vec<RangeLeft>>,
}

impl<Plan> Answers<Plan> {
    /// Nothing was asked yet of a plan of so many legs.
    pub(crate) fn none(legs: usize) -> Self {
        Self {
            why: (0..legs).map(|_| OnceLock::new()).collect(),
            fixes: OnceLock::new(),
            other_cans: OnceLock::new(),
            lessons: OnceLock::new(),
            set_out: OnceLock::new(),
            return_plan: OnceLock::new(),
            dry: OnceLock::new(),
            ledger: OnceLock::new(),
            range: OnceLock::new(),
            range_left: OnceLock::new(),
        }
    }
}
