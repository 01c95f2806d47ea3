//! Where the fuel is best checked, and which checks allow for a gauge that is off: settled by a few simulated trips, the same
//! ones whatever the effort.

use crate::doubt::study::{self, Drawn, FirstDriven, SKETCH_BLOCKS};
use crate::doubt::ways_back::Point;
use crate::quantity::{Kilometres, Litres};
use crate::solver::drive::Conditions;
use crate::solver::fuel::Need;

use super::simulation::SimulatedNeed;
use super::{Target, check_route};
use crate::plan::facts::TripFacts;
use crate::plan::loadout::Loadout;
use crate::plan::policy::cheapest;

/// Passes at most: the first finds where the fuel is best checked, each later one which checks allow for a gauge, and then
/// others may turn out too fine.
const MOST_PASSES: u32 = 5;

/// How the fuel checks are fitted.
#[derive(Clone, Debug, Default)]
pub(super) struct Fit {
    pub points: Vec<Point>,
    /// The checks whose figures allow for a gauge that is off.
    pub by_gauge: Vec<Point>,
    /// Whether the plan leaves more, so that such a gauge turns few trips back.
    pub for_gauge: bool,
}

/// What a few simulated trips say.
pub(super) struct Sketch {
    pub fit: Fit,
    /// What is needed at least, whatever more of them will say; and with which reliance.
    pub surely: (usize, Litres),
}

impl Target {
    /// Settles how the fuel checks are fitted. The policies are left with the checks of the sketch.
    pub(super) fn sketch(
        &self,
        facts: &TripFacts<'_>,
        loadout: &Loadout,
        drawn: &Drawn,
        policies: &mut [study::Policy],
    ) -> Sketch {
        let drawn = drawn.first(SKETCH_BLOCKS);
        let mut fit = Fit {
            points: check_route::points(facts, &[]),
            ..Fit::default()
        };
        let mut fill_all = Vec::new();
        let mut surely = (0, Litres::ZERO);
        for pass in 0..MOST_PASSES {
            self.fit_checks(facts, loadout, &drawn, &fit, policies);
            let spare = drawn.spare(policies);
            surely = self.surely(policies, &spare);
            let (at, _) = self.least(policies, &spare);
            let Some(needed) = self.simulated(facts, policies, (at, &spare), drawn.clone()) else {
                break;
            };
            let trips = Trips::driven(facts, loadout, needed, &fill_all);
            fill_all = trips.driven.card().fill_all_below().collect();
            if pass == 0 {
                // Where the fuel is best checked those trips show that check it at places and every so far.
                fit.points = check_route::points(facts, &trips.best_checks(facts));
                continue;
            }
            let by_gauge = trips.too_fine(&fit.by_gauge);
            if by_gauge.len() == fit.by_gauge.len() || pass + 1 == MOST_PASSES {
                // Only where a gauge still turns too many trips back more fuel is carried for it.
                fit.for_gauge = !facts.is_for_least_cost() && !trips.may_be_read_by_gauge();
                break;
            }
            fit.by_gauge = by_gauge;
        }
        Sketch { fit, surely }
    }
}

/// A few simulated trips, driven by rough instructions.
struct Trips<'a> {
    needed: SimulatedNeed,
    need: Need,
    conditions: Conditions<'a>,
    driven: FirstDriven,
}

impl<'a> Trips<'a> {
    fn driven(
        facts: &'a TripFacts<'_>,
        loadout: &'a Loadout,
        needed: SimulatedNeed,
        fill_all: &[(usize, Litres)],
    ) -> Self {
        let conditions = loadout.conditions(facts);
        let problem = &needed.policy.problem;
        let (need, driven) = needed.sketched(conditions, fill_all, |need| {
            cheapest::as_told(facts, loadout, problem, need).0
        });
        Self {
            needed,
            need,
            conditions,
            driven,
        }
    }

    /// Where the fuel is checked besides at places and every so far.
    fn best_checks(&self, facts: &TripFacts<'_>) -> Vec<Kilometres> {
        let driving = (&self.needed.policy.problem, &self.need);
        let simulated = (&self.needed.drawn, &self.driven);
        check_route::besides(facts, driving, simulated, self.needed.target)
    }

    /// The checks that must allow for a gauge, with those that do already.
    fn too_fine(&self, known: &[Point]) -> Vec<Point> {
        let policy = &self.needed.policy;
        let driving = (&policy.problem, &policy.need);
        let most = check_route::turned_back_at_most(self.needed.target);
        let card = self.driven.card();
        card.too_fine(&self.needed.drawn, driving, known, most)
    }

    fn may_be_read_by_gauge(&self) -> bool {
        let needed = &self.needed;
        needed.may_be_read_by_gauge(&self.need, &self.driven, self.conditions)
    }
}
