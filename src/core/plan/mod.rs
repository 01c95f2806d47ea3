//! A trip and all that follows from it.
//!
//! [`Plan::best_estimate`] is the only way to a plan; screen, report and JSON read the same plan and compute nothing of
//! their own. All fuel on board is *usable* fuel unless the name of a field has `gauge`.
//!
//! The way there goes in one direction: what is known of the trip (`facts`, `under_way`), a set of cans as it is
//! carried (`loadout`), what to rely on and to hold back (`policy`), both tried (`trial`), the best of all sets
//! (`search`), and that one laid out (`lay_out`) as plain data (`parts`). Whatever is asked of a plan
//! (`questions`) is computed when it is first asked for, from what the plan holds and what is `kept` for that, and
//! is among its `answers`. Nothing uses what is to its right:
//!
//! ```text
//! under_way <- facts <- loadout <- policy <- trial <- search <- answers <- kept <- parts <- lay_out <- questions
//! ```

mod answers;
mod facts;
mod kept;
mod lay_out;
mod loadout;
mod parts;
mod policy;
mod questions;
mod search;
#[cfg(test)]
mod tests;
mod trial;
mod under_way;

use std::sync::Arc;

use crate::model::Trip;
use crate::quantity::Litres;
use crate::solver::cans::CanSet;
use facts::TripFacts;
use lay_out::{lay_out, lay_out_at_target};
use loadout::Loadout;
use policy::target::Target;
use policy::{Basis, Policy};
use search::Budget;
use trial::try_loadout;
use under_way::UnderWay;

pub use crate::consumption::causes::{Cause, CauseShare};
pub use crate::doubt::checks::{Action, CheckKind, Ends, InTrouble, NowFigures};
pub use crate::doubt::drivers::{Driver, Uncertain};
pub use crate::doubt::study::{Band, Effort};
pub use crate::doubt::tally::{Odds, Quantile};
pub use crate::doubt::world::Unknown;
pub use crate::solver::cans::ChosenCans;
pub use crate::solver::load::{Departure, LoadBar, LoadLimit, MadeOf};
pub use crate::solver::payload::Room;
pub use answers::{dry, fixes, learn, ledger, others, range};
pub use parts::Plan;
pub use parts::carrying::{Elsewhere, NoMoreCans};
pub use parts::course::{OnBoard, Span};
pub use parts::doubt::{Doubt, Outcomes};
pub use parts::finding::{Finding, NotReliedOn, OfTrack, Severity, What, Where};
pub use parts::fuel_check::{FuelCheck, Pumped};
pub use parts::legs::{PlannedLeg, Totals};
pub use parts::stages::{Stage, TurnBack};
pub use parts::stops::{Decant, Stop};
pub use parts::verdict::Verdict;
pub use parts::{daylight, doubt, finding, supplies};
pub use policy::NotLeast;
pub use questions::{ahead, difference, tipping};

pub use under_way::learnt;

/// What was driven on a trip that is under way, and what follows for going on or turning back now.
pub mod progress {
    pub use super::questions::now::{Advice, Now};
    pub use super::questions::odometer::OddOdometer;
    pub use super::under_way::progress::{DrivenInterval, FuelReading, Progress, Worth};
}

impl Plan {
    /// Plans the trip with everything at its best estimate; from the last reading of its log on, where it has one.
    pub fn best_estimate(trip: impl Into<Arc<Trip>>) -> Self {
        let trip = trip.into();
        let under_way = UnderWay::from_log(&trip);
        let facts = TripFacts::new(&trip, under_way.as_ref());
        let basis = Basis::new(&facts);
        let policy = Policy::best_estimate(&facts, &basis);
        let choice = search::choose(&facts, policy, Budget::USUAL);
        lay_out(&trip, &facts, &choice.trial, choice.tried_of_more())
    }

    /// The plan of a trip at the success target of its rules. Trips of more legs than can be simulated get the best
    /// estimate, and so do those without legs, of which there is nothing to simulate.
    pub fn at_target(trip: impl Into<Arc<Trip>>, effort: Effort) -> Self {
        let trip = trip.into();
        let best_estimate = Self::best_estimate(Arc::clone(&trip));
        if trip.legs.is_empty() || trip.legs.len() > doubt::MOST_LEGS {
            return best_estimate;
        }
        let under_way = UnderWay::from_log(&trip);
        let facts = TripFacts::new(&trip, under_way.as_ref());
        let target = Target::new(&facts, effort);
        let choice = search::choose(&facts, Policy::Target(target.aim()), Budget::USUAL);
        let best_estimate = Arc::new(best_estimate);
        lay_out_at_target(
            &trip,
            &facts,
            &choice.trial,
            choice.tried_of_more(),
            best_estimate,
        )
    }

    /// Litres that must be in cans at the success target with a set of cans on board, and nothing else of that plan.
    pub(in crate::plan) fn needed_with_cans(trip: &Trip, cans: CanSet, effort: Effort) -> Litres {
        let under_way = UnderWay::from_log(trip);
        let facts = TripFacts::new(trip, under_way.as_ref());
        let target = Target::new(&facts, effort);
        let policy = Policy::Target(target.aim().for_need_alone());
        let loadout = Loadout::new(&facts, cans);
        try_loadout(&facts, policy, loadout).need.in_cans
    }

    /// Litres that must be in cans at the success target, as [`Plan::at_target`] finds them, and nothing else of that
    /// plan.
    pub(in crate::plan) fn needed_at_target(trip: &Trip, effort: Effort) -> Litres {
        let under_way = UnderWay::from_log(trip);
        let facts = TripFacts::new(trip, under_way.as_ref());
        let target = Target::new(&facts, effort);
        let policy = Policy::Target(target.aim().for_need_alone());
        let choice = search::choose(&facts, policy, Budget::USUAL);
        choice.trial.need.in_cans
    }
}
