//! Where the fuel is best checked, and which checks allow for a gauge that is off: settled by a few simulated trips, the same
//! ones whatever the effort.

use crate::doubt::study::{self, Drawn, FirstDriven, SKETCH_BLOCKS};
use crate::doubt::ways_back::Point;
use crate::quantity::{Kilometres, Litres, Share};
use crate::solver::drive::Conditions;
use crate::solver::fuel::Need;

use super::simulation::SimulatedNeed;
use super::{SURELY, Target, check_route};
use crate::plan::facts::TripFacts;
use crate::plan::loadout::Loadout;
use crate::plan::policy::cheapest;

/// Passes at most: the first finds where the fuel is best checked, each later one which checks allow for a gauge, and then
/// others may turn out too fine.
const MOST_PASSES: u32 = 5;

/// How the fuel checks are fitted.
#[derive(Clone, Debug, Default)]
pub(super) struct Fit {
    /// Where the fuel is checked, in driving order.
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
        let some = drawn.first(SKETCH_BLOCKS);
        let mut fit = Fit {
            points: check_route::points(facts, &[]),
            ..Fit::default()
        };
        let mut fill_all = Vec::new();
        let mut surely = (0, Litres::ZERO);
        for pass in 0..MOST_PASSES {
            let sketched =
                self.sketched(facts, loadout, (drawn, &some), (&fit, &fill_all), policies);
            surely = sketched.0;
            let Some(trips) = sketched.1 else { break };
            fill_all = trips.driven.card().fill_all_below().collect();
            if pass == 0 {
                // Where the fuel is best checked those trips show that check it at places and every so far.
                fit.points = check_route::points(facts, &trips.best_checks(facts));
                continue;
            }
            let by_gauge = trips.too_fine(drawn, &fit.by_gauge);
            if by_gauge.len() > fit.by_gauge.len() && pass + 1 < MOST_PASSES {
                fit.by_gauge = by_gauge;
                continue;
            }
            // Only where a gauge still turns too many trips back more fuel is carried for it.
            fit.for_gauge = !facts.is_for_least_cost()
                && trips.are_turned_back_by_gauge().unwrap_or_else(|| {
                    let known = (&fit, &fill_all[..]);
                    let all = self
                        .sketched(facts, loadout, (drawn, drawn), known, policies)
                        .1;
                    all.is_some_and(|trips| trips.share_by_gauge() > trips.most_by_gauge())
                });
            break;
        }
        Sketch { fit, surely }
    }

    /// What is needed at least, and some trips driven by rough instructions; none if there are no fuel checks. What is
    /// known by now is how the checks are fitted, to more trips than are driven, and where everything is filled.
    fn sketched<'a>(
        &self,
        facts: &'a TripFacts<'_>,
        loadout: &'a Loadout,
        (drawn, some): (&Drawn, &Drawn),
        (fit, fill_all): (&Fit, &[(usize, Litres)]),
        policies: &mut [study::Policy],
    ) -> ((usize, Litres), Option<Trips<'a>>) {
        self.fit_checks(facts, loadout, drawn, fit, policies);
        let spare = some.spare(policies);
        let surely = self.surely(policies, &spare);
        let (at, _) = self.least(policies, &spare);
        let needed = self.simulated(facts, policies, (at, &spare), some.clone());
        let trips = needed.map(|needed| Trips::driven(facts, loadout, needed, fill_all));
        (surely, trips)
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
    fn too_fine(&self, drawn: &Drawn, known: &[Point]) -> Vec<Point> {
        let policy = &self.needed.policy;
        let driving = (&policy.problem, &policy.need);
        let most = check_route::turned_back_at_most(self.needed.target);
        let card = self.driven.card();
        card.too_fine(drawn, driving, known, most)
    }

    /// Whether a gauge turns too many trips back; `None` if more trips must be asked.
    fn are_turned_back_by_gauge(&self) -> Option<bool> {
        let (share, most) = (self.share_by_gauge(), self.most_by_gauge());
        let trips = self.needed.drawn.samples() as f64;
        let error = (most.get() * (1.0 - most.get()) / trips).sqrt();
        let is_clear = (share.get() - most.get()).abs() > SURELY * error;
        is_clear.then_some(share > most)
    }

    fn share_by_gauge(&self) -> Share {
        let told = self.needed.told_with(&self.need, self.conditions);
        self.driven.turned_back_by_gauge(&self.needed.drawn, told)
    }

    fn most_by_gauge(&self) -> Share {
        check_route::turned_back_at_most(self.needed.target)
    }
}
