//! What is kept of a trial for the questions to its plan.

pub(in crate::plan) mod driving;
pub(in crate::plan) mod ledger_input;

use crate::consumption::leg::LegFormula;
use crate::consumption::usage::Usage;

use crate::quantity::{Kilometres, Litres};
use driving::Driving;
use ledger_input::LedgerInput;

/// What is kept of a trial for the questions to its plan.
#[derive(Clone, Debug)]
pub(in crate::plan) struct Kept {
    /// The legs as the formula sees them.
    pub(crate) formulas: Vec<LegFormula>,
    /// The legs' use by what is on board, as observed on those that were driven.
    pub(crate) usages: Vec<Usage>,
    /// To drive the simulated trips again, where there are some.
    pub(crate) driving: Option<Driving>,
    /// The spans of the course in which cans hold something.
    pub(crate) full_cans: Vec<FullCan>,
    /// To split the fuel in cans by what it is carried for.
    pub(crate) ledger_input: LedgerInput,
}

/// A run within one leg in which a can holds something.
#[derive(Clone, Copy, Debug)]
pub(in crate::plan) struct FullCan {
    /// Index of the leg, from 0.
    pub(crate) leg: usize,
    /// Where the run begins and where it ends, from the start of the trip.
    pub(crate) from: Kilometres,
    pub(crate) to: Kilometres,
    /// Litres in the fullest can.
    pub(crate) fullest: Litres,
}
