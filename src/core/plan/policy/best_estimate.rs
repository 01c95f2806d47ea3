//! Everything at its best estimate: a share of all use still ahead represents what is not known.

use crate::model::route::FuelStop;
use crate::quantity::Share;

use super::Instructions;
use crate::plan::facts::TripFacts;
use crate::plan::loadout::Loadout;

/// What is relied on and held back where everything is at its best estimate.
#[derive(Clone, Debug)]
pub(in crate::plan) struct Basis {
    /// Whether the fuel stop of each place is relied on.
    pub(crate) relied_on: Vec<bool>,
    /// Share that is added to all use still ahead.
    pub(crate) contingency: Share,
}

impl Basis {
    /// As set in the trip: fuel stops ahead with a chance of a half or more, and its own contingency.
    pub(crate) fn new(facts: &TripFacts<'_>) -> Self {
        let places = facts.trip.places();
        Self {
            relied_on: places
                .map(|place| {
                    place.place_number >= facts.passed()
                        && place.fuel.is_some_and(FuelStop::is_counted)
                })
                .collect(),
            contingency: facts.trip.rules().contingency(),
        }
    }

    pub(super) fn instructions(&self, facts: &TripFacts<'_>, loadout: &Loadout) -> Instructions {
        let problem = loadout.problem(facts, &self.relied_on, self.contingency);
        Instructions {
            need: problem.need(),
            problem,
            relied_on: self.relied_on.clone(),
            not_least: None,
            simulation: None,
            blocks: 0,
        }
    }
}
