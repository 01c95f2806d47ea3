//! The simulated trips of a plan asked again: what other litres of the legs, or a better known vehicle, would need, and
//! what each uncertain input does to the fuel in cans.

use std::sync::Arc;

use crate::consumption::usage::Usage;
use crate::doubt::drivers::{Driver, drivers};
use crate::doubt::study::{Drawn, Effort, FEW_BLOCKS, Policy};
use crate::doubt::world::LegDoubt;
use crate::quantity::{Factor, Litres};
use crate::solver::fuel::Problem;

use crate::plan::parts::doubt::{Doubt, Study};

impl Doubt {
    /// The simulated trips again, for what other litres of the legs would need.
    pub(in crate::plan) fn again(&self) -> Again<'_> {
        let effort = Effort {
            blocks: FEW_BLOCKS,
            ..self.study.effort
        };
        let mut again = Again {
            doubt: self,
            drawn: Drawn::new(Arc::clone(&self.study.world), effort),
            before: Litres::ZERO,
        };
        let legs = &self.study.policy.problem.legs;
        again.before = again.needed_with(legs, &vec![Factor::new(1.0); legs.len()]);
        again
    }

    /// What each unknown does to the litres in cans, what the fuel checks cost left out, those that do most first;
    /// computed when first asked for.
    pub fn drivers(&self) -> &[Driver] {
        let study = &self.study;
        study.drivers.get_or_init(|| {
            let effort = Effort::of_question(study.world.legs.len(), study.effort.threads);
            let policy = study.policy.unchecked();
            drivers(&study.world, &policy, &study.unconfirmed, effort)
        })
    }
}

/// Some of the draws of a plan, to be asked again.
pub(in crate::plan) struct Again<'a> {
    doubt: &'a Doubt,
    drawn: Drawn,
    /// What they need for the plan as it is.
    before: Litres,
}

impl Again<'_> {
    fn in_cans(&self, legs: &[LegDoubt], policy: &Policy) -> Litres {
        let sorted = self.drawn.in_cans_of(legs, std::slice::from_ref(policy));
        let share = self.doubt.study.share;
        sorted.first().map_or(Litres::ZERO, |in_cans| {
            in_cans.quantile_with_error(share).litres
        })
    }

    /// Litres in cans that the fuel checks cost: what is needed with them more than without.
    pub(crate) fn cost_of_checks(&self) -> Litres {
        let Study { world, policy, .. } = &self.doubt.study;
        (self.before - self.in_cans(&world.legs, &policy.unchecked())).max(Litres::ZERO)
    }

    /// The litres in cans at the success target if the legs took these litres, each `times` what it takes. The
    /// difference is that between two plans of the same simulated trips, so it depends little on which trips they are.
    pub(crate) fn in_cans_with(&self, legs: &[Usage], times: &[Factor]) -> Litres {
        let saved = self.before - self.needed_with(legs, times);
        (self.doubt.in_cans.litres - saved).max(Litres::ZERO)
    }

    /// What these draws need with the checks fitted to them.
    fn needed_with(&self, legs: &[Usage], times: &[Factor]) -> Litres {
        let Study { world, policy, .. } = &self.doubt.study;
        let problem = Problem {
            legs: legs.to_vec(),
            ..policy.problem.clone()
        };
        let legs = world.legs.iter().zip(times);
        let legs: Vec<LegDoubt> = legs.map(|(leg, &times)| leg.idling(times)).collect();
        let need = problem.need_as(&policy.need);
        let checks = policy.checks.as_ref().map(|checks| {
            let checks = checks.refitted(&self.drawn, (&problem, &need), &legs);
            Arc::new(checks)
        });
        let policy = Policy {
            need,
            problem,
            homeward: policy.homeward.clone(),
            checks,
        };
        self.in_cans(&legs, &policy)
    }
}
