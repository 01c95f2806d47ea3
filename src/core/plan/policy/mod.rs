//! What a plan relies on and holds back: from the trip with a set of cans on board to what must be on board where.
//!
//! Every policy gives [`Instructions`]; none of them drives the trip, so none knows what comes of it.

mod best_estimate;
pub(in crate::plan) mod cheapest;
pub(in crate::plan) mod target;

use crate::model::Trip;
use crate::model::route::COUNTED_FROM;
use crate::quantity::Share;
use crate::solver::fuel::{Need, Problem};

use crate::plan::facts::TripFacts;
use crate::plan::loadout::Loadout;
pub(in crate::plan) use best_estimate::Basis;
pub use cheapest::NotLeast;
use target::aim::Aim;
use target::simulation::Simulation;

/// What a plan is made for.
#[derive(Clone, Copy)]
pub(in crate::plan) enum Policy<'a> {
    /// Everything at its best estimate.
    BestEstimate(&'a Basis),
    /// Everything at its best estimate, and the fuel bought at least cost.
    Cheapest(&'a Basis),
    /// The success target that the rules set.
    Target(Aim<'a>),
}

/// What must be on board where, and what that relies on.
pub(in crate::plan) struct Instructions {
    /// The trip with the fuel stops that are relied on.
    pub(crate) problem: Problem,
    pub(crate) need: Need,
    /// Whether the fuel stop of each place is relied on.
    pub(crate) relied_on: Vec<bool>,
    /// Why it may cost more than it must, where the least cost is asked for.
    pub(crate) not_least: Option<NotLeast>,
    /// The simulated trips that were asked, where the cans hold what those need.
    pub(crate) simulation: Option<Simulation>,
    /// Blocks of simulated trips that were found necessary.
    pub(crate) blocks: usize,
}

impl<'a> Policy<'a> {
    /// Everything at its best estimate, bought for least where the trip is after that.
    pub(crate) fn best_estimate(facts: &TripFacts<'_>, basis: &'a Basis) -> Self {
        if facts.is_for_least_cost() {
            Policy::Cheapest(basis)
        } else {
            Policy::BestEstimate(basis)
        }
    }

    /// What must be on board where, with these cans.
    pub(crate) fn instructions(self, facts: &TripFacts<'_>, loadout: &Loadout) -> Instructions {
        match self {
            Policy::BestEstimate(basis) | Policy::Cheapest(basis) => {
                basis.instructions(facts, loadout)
            }
            Policy::Target(aim) => aim.instructions(facts, loadout),
        }
    }

    /// The best estimate that this policy starts from.
    pub(crate) fn estimate(self) -> Self {
        match self {
            Policy::BestEstimate(basis) | Policy::Cheapest(basis) => Policy::BestEstimate(basis),
            Policy::Target(aim) => Policy::BestEstimate(aim.basis()),
        }
    }

    /// With this chance of fuel a stop that was passed is one to return to.
    pub(crate) fn refuge_chance(self, trip: &Trip) -> Share {
        match self {
            Policy::BestEstimate(_) | Policy::Cheapest(_) => COUNTED_FROM,
            Policy::Target(_) => trip.rules().success_target(),
        }
    }
}
