//! A changed trip planned in full, to see whether it fits.

use std::sync::Arc;

use crate::doubt::checks::Obeyed;
use crate::doubt::study::Effort;
use crate::model::Trip;
use crate::quantity::{Litres, Share};
use crate::solver::cans::CanSet;
use crate::solver::load::LoadBar;

use crate::plan::facts::TripFacts;
use crate::plan::lay_out::lay_out;
use crate::plan::loadout::Loadout;
use crate::plan::parts::Plan;
use crate::plan::policy::target::Target;
use crate::plan::policy::{Basis, Policy};
use crate::plan::search::{self, Budget};
use crate::plan::trial::{Trial, try_loadout};
use crate::plan::under_way::UnderWay;

/// A plan with no more of the samples' results than it takes to judge it.
pub(super) struct Judged {
    pub(crate) plan: Plan,
    /// Whether the choice of cans would have been worth more than its bounds: its plan may carry other ones.
    pub(crate) cut: bool,
    /// Standard error of the litres in cans.
    pub(crate) error: Litres,
    /// The probabilities of getting through.
    pub(crate) through: Option<Share>,
    /// The probabilities of turning back from a dry fuel stop and being safe, where that is counted on.
    pub(crate) back: Option<Share>,
}

/// Plans a trip, at its success target where an effort is given, to see whether it fits. The cans are those that are
/// guessed, or chosen where those do not: the guess may not be quite the cans of the trip's own plan, but it does.
pub(super) fn judged(
    trip: &Arc<Trip>,
    effort: Option<Effort>,
    guess: CanSet,
    budget: Budget,
) -> Judged {
    let under_way = UnderWay::from_log(trip);
    let facts = TripFacts::new(trip, under_way.as_ref());
    match effort {
        Some(effort) => judged_at_target(trip, &facts, effort, guess, budget),
        None => judged_at_best_estimate(trip, &facts, guess, budget),
    }
}

/// Whether a trial fits with the cans that were guessed.
fn does(trial: &Trial) -> bool {
    trial.goes_through() && !trial.bars.iter().any(LoadBar::is_over)
}

fn judged_at_best_estimate(
    trip: &Arc<Trip>,
    facts: &TripFacts<'_>,
    guess: CanSet,
    budget: Budget,
) -> Judged {
    let basis = Basis::new(facts);
    let policy = Policy::best_estimate(facts, &basis);
    let guessed = try_loadout(facts, policy.estimate(), Loadout::new(facts, guess));
    let (trial, cut) = if does(&guessed) {
        (try_loadout(facts, policy, guessed.loadout), false)
    } else {
        let choice = search::choose(facts, policy, budget);
        (choice.trial, choice.cut_in_limits)
    };
    Judged {
        plan: lay_out(trip, facts, &trial, cut.then_some(budget.solved)),
        cut,
        error: Litres::ZERO,
        through: None,
        back: None,
    }
}

fn judged_at_target(
    trip: &Arc<Trip>,
    facts: &TripFacts<'_>,
    effort: Effort,
    guess: CanSet,
    budget: Budget,
) -> Judged {
    let target = Target::new(facts, effort);
    let aim = target.aim();
    let guessed = try_loadout(facts, Policy::Target(aim), Loadout::new(facts, guess));
    let (trial, cut) = if does(&guessed) {
        (guessed, false)
    } else {
        let aim = aim.with_blocks(guessed.blocks);
        let choice = search::choose(facts, Policy::Target(aim), budget);
        (choice.trial, choice.cut_in_limits)
    };
    let judged = Judged {
        plan: lay_out(trip, facts, &trial, cut.then_some(budget.solved)),
        cut,
        error: Litres::ZERO,
        through: None,
        back: None,
    };
    let Some(simulation) = &trial.simulation else {
        return judged;
    };
    let needed = &simulation.needed;
    let outcomes = &simulation.outcomes;
    let turns_back = needed.policy.homeward.is_some();
    Judged {
        error: needed.in_cans.error,
        through: Some(outcomes.odds(Obeyed::FinishIntact).share),
        back: turns_back.then(|| outcomes.odds(Obeyed::TurnedBackIntact).share),
        ..judged
    }
}
