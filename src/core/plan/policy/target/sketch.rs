//! Where the fuel is best checked, and which checks allow for a gauge that is off: settled by a few simulated trips,
//! the same ones whatever the effort.

use std::sync::Arc;

use crate::doubt::checks::FuelChecks;
use crate::doubt::returns::Point;
use crate::doubt::study::{self, Drawn, FITTED_BLOCKS, FirstDriven, SKETCH_BLOCKS};
use crate::doubt::tally::{Odds, SURELY};
use crate::quantity::{Kilometres, Litres, Share};
use crate::solver::drive::Conditions;
use crate::solver::fuel::Need;

use super::simulation::SimulatedNeed;
use super::{Target, check_route};
use crate::plan::facts::TripFacts;
use crate::plan::loadout::Loadout;
use crate::plan::policy::cheapest;

/// How the fuel checks of a plan are fitted.
#[derive(Clone, Debug, Default)]
pub(super) struct Fit {
    /// The checks whose figures allow for a gauge that is off.
    pub(crate) by_gauge: Vec<Point>,
    /// Whether the plan leaves more, so that such a gauge turns few trips back.
    pub(crate) for_gauge: bool,
}

impl Fit {
    /// Fits checks like this that were fitted otherwise.
    pub(crate) fn apply(&self, drawn: &Drawn, policies: &mut [study::Policy]) {
        for policy in policies {
            let Some(checks) = &policy.checks else {
                continue;
            };
            if checks.route().by_gauge != self.by_gauge {
                let driving = (&policy.problem, &policy.need);
                let by_gauge = self.by_gauge.clone();
                let anew = checks.allowing_for_gauge(drawn, driving, by_gauge);
                policy.checks = Some(Arc::new(anew.for_gauge(self.for_gauge)));
            } else if checks.is_for_gauge() != self.for_gauge {
                let same = FuelChecks::clone(checks);
                policy.checks = Some(Arc::new(same.for_gauge(self.for_gauge)));
            }
        }
    }
}

/// What a few simulated trips show.
pub(super) struct Sketch {
    pub(crate) fit: Fit,
    /// What is needed at least, whatever more of them will show; and with which reliance.
    pub(crate) surely: (usize, Litres),
}

impl Target {
    /// Settles where the fuel is checked and how the checks are fitted. The policies are left with these checks. How
    /// they are fitted is left open where surely more is needed than can be held.
    pub(super) fn sketch(
        &self,
        facts: &TripFacts<'_>,
        loadout: &Loadout,
        (drawn, most): (&Drawn, Litres),
        policies: &mut [study::Policy],
    ) -> Sketch {
        let some = drawn.first(SKETCH_BLOCKS);
        let mut fit = Fit::default();
        // Where the fuel is best checked those trips show that check it at places and every so far.
        let points = check_route::points(facts, &[]);
        self.fit_checks(facts, loadout, (&some, SKETCH_BLOCKS), &points, policies);
        let by_grid = self.driven_roughly(facts, loadout, &some, &[], policies);
        if let Some(by_grid) = by_grid {
            let points = check_route::points(facts, &by_grid.best_checks(facts));
            self.fit_checks(facts, loadout, (drawn, FITTED_BLOCKS), &points, policies);
            let trips = by_grid.checked_by(policies);
            if let Some(checks) = trips.too_fine(drawn) {
                fit.by_gauge.clone_from(&checks.route().by_gauge);
                policies[trips.at].checks = Some(Arc::new(checks));
                fit.apply(drawn, policies);
            }
            let surely = self.surely(policies, &drawn.in_cans(policies));
            if surely.1 <= most && !facts.is_for_least_cost() {
                // Only where a gauge still turns too many trips back more fuel is carried for it.
                let fill_all: Vec<(usize, Litres)> = trips.driven.card().fill_all_below().collect();
                let anew =
                    |drawn: &Drawn| self.driven_roughly(facts, loadout, drawn, &fill_all, policies);
                let few = if fit.by_gauge.is_empty() {
                    Some(trips)
                } else {
                    anew(&some)
                };
                fit.for_gauge = few.is_some_and(|few| {
                    few.turns_back_by_gauge()
                        .or_else(|| {
                            anew(drawn).map(|more| more.by_gauge().share > more.most_by_gauge())
                        })
                        .unwrap_or_default()
                });
            }
            return Sketch { fit, surely };
        }
        let surely = self.surely(policies, &drawn.in_cans(policies));
        Sketch { fit, surely }
    }

    /// The simulated trips driven by rough instructions; `None` if there are no fuel checks. It is known by now where
    /// everything is filled.
    fn driven_roughly<'a>(
        &self,
        facts: &'a TripFacts<'_>,
        loadout: &'a Loadout,
        drawn: &Drawn,
        fill_all: &[(usize, Litres)],
        policies: &[study::Policy],
    ) -> Option<Trips<'a>> {
        let in_cans = drawn.in_cans(policies);
        let (at, _) = self.least(policies, &in_cans);
        let needed = self.simulated(facts, policies, (at, &in_cans), drawn.clone())?;
        Some(Trips::driven(facts, loadout, (at, needed), fill_all))
    }
}

/// A few simulated trips, driven by rough instructions.
struct Trips<'a> {
    /// The number of the policy.
    at: usize,
    needed: SimulatedNeed,
    need: Need,
    conditions: Conditions<'a>,
    driven: FirstDriven,
}

impl<'a> Trips<'a> {
    fn driven(
        facts: &'a TripFacts<'_>,
        loadout: &'a Loadout,
        (at, needed): (usize, SimulatedNeed),
        fill_all: &[(usize, Litres)],
    ) -> Self {
        let conditions = loadout.conditions(facts);
        let problem = &needed.policy.problem;
        let (need, driven) = needed.sketched(conditions, fill_all, |need| {
            cheapest::as_told(facts, loadout, problem, need).0
        });
        Self {
            at,
            needed,
            need,
            conditions,
            driven,
        }
    }

    /// The trips with the checks of their policy.
    fn checked_by(self, policies: &[study::Policy]) -> Self {
        let policy = &policies[self.at];
        let needed = SimulatedNeed {
            checks: policy.checks.clone().unwrap_or(self.needed.checks),
            policy: policy.clone(),
            ..self.needed
        };
        let instructions = needed.instructions_with(&self.need, self.conditions);
        let driven = needed
            .drawn
            .first_driven(instructions, &needed.checks, Some(self.driven));
        Self {
            needed,
            driven,
            ..self
        }
    }

    /// Where the fuel is checked besides at places and every so far.
    fn best_checks(&self, facts: &TripFacts<'_>) -> Vec<Kilometres> {
        let driving = (&self.needed.policy.problem, &self.need);
        let simulated = (&self.needed.drawn, &self.driven);
        check_route::besides(facts, driving, simulated, self.needed.target)
    }

    /// Their checks fitted anew where more must allow for a gauge.
    fn too_fine(&self, drawn: &Drawn) -> Option<FuelChecks> {
        let policy = &self.needed.policy;
        let driving = (&policy.problem, &policy.need);
        let card = self.driven.card();
        card.too_fine(drawn, driving, self.most_by_gauge())
    }

    /// Whether a gauge turns too many trips back; `None` if more trips must be asked.
    fn turns_back_by_gauge(&self) -> Option<bool> {
        let (odds, most) = (self.by_gauge(), self.most_by_gauge());
        let is_clear = (odds.share.get() - most.get()).abs() > SURELY * odds.error.get();
        is_clear.then_some(odds.share > most)
    }

    /// The share of the trips that a gauge turns back.
    fn by_gauge(&self) -> Odds {
        let instructions = self.needed.instructions_with(&self.need, self.conditions);
        self.driven
            .turned_back_by_gauge(&self.needed.drawn, instructions)
    }

    fn most_by_gauge(&self) -> Share {
        check_route::turned_back_at_most(self.needed.target)
    }
}
