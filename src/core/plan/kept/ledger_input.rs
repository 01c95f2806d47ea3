//! What is kept of a trial to split its fuel in cans by what it is carried for.

use crate::solver::fuel::{Need, Problem};

/// What the ledger is made from.
#[derive(Clone, Debug)]
pub(in crate::plan) struct LedgerInput {
    /// With the fuel stops that are used.
    pub(crate) problem: Problem,
    pub(crate) need: Need,
}

impl LedgerInput {
    pub(crate) fn new(problem: &Problem, need: &Need) -> Self {
        let mut problem = problem.clone();
        for (fuel_stop, used) in problem.fuel_stops.iter_mut().zip(&need.at_fuel_stop) {
            *fuel_stop = fuel_stop.filter(|_| used.is_some());
        }
        Self {
            problem,
            need: need.clone(),
        }
    }
}
