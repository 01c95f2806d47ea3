//! What is kept of a trial for the questions to its plan.

pub(in crate::plan) mod ledger_input;
pub(in crate::plan) mod what_if_dry;

use crate::consumption::leg::LegFormula;
use crate::consumption::usage::Usage;

use ledger_input::LedgerInput;
use what_if_dry::WhatIfDry;

/// What is kept of a trial for the questions to its plan.
#[derive(Clone, Debug)]
pub(in crate::plan) struct Kept {
    /// The legs as the formula sees them.
    pub formulas: Vec<LegFormula>,
    /// The legs' use by what is on board, as observed on those that were driven.
    pub usages: Vec<Usage>,
    /// To be asked what if a fuel stop is dry.
    pub what_if_dry: WhatIfDry,
    /// To split the fuel in cans by what it is carried for.
    pub ledger_input: LedgerInput,
}
