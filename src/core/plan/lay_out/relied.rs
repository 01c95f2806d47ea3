//! What must be shown of the success target: where it is out of reach, and of fuel stops that the plan does not rely on
//! although their chance of fuel reaches it.

use std::collections::BTreeSet;

use crate::doubt::tally::SURELY;
use crate::model::vocabulary::{Rely, UnconfirmedStops};
use crate::quantity::Share;

use crate::plan::facts::TripFacts;
use crate::plan::parts::doubt::Doubt;
use crate::plan::parts::finding::{Finding, NotReliedOn, Severity, What, Where};
use crate::plan::policy::target::reliance::{as_asked, can_turn_back, with_those_relied_on};
use crate::plan::policy::target::simulation::Simulation;
use crate::plan::trial::Trial;

/// Adds what relying on the trip's fuel stops leads to.
pub(super) fn findings(facts: &TripFacts<'_>, trial: &Trial, findings: &mut Vec<Finding>) {
    findings.extend(target_missed(facts, trial));
    // The best-estimate plan relies on stops whatever the target.
    if trial.simulation.is_some() {
        not_relied_on(facts, trial, findings);
    }
}

/// The target is out of reach where the stops to rely on have fuel less often than it requires.
fn target_missed(facts: &TripFacts<'_>, trial: &Trial) -> Option<Finding> {
    let target = facts.trip.rules().success_target();
    let asked = as_asked(facts, &trial.relied_on);
    let first = *asked
        .place_numbers
        .first()
        .filter(|_| asked.chance < target)?;
    let what = What::TargetMissed {
        stops: asked.place_numbers,
        chance: asked.chance,
        target,
    };
    Some(what.at(Where::Place(first)))
}

/// Adds that the target is missed if surely too few simulated trips end as it requires and no other finding gives the
/// reason.
pub(super) fn check_by_outcomes(
    findings: &mut Vec<Finding>,
    facts: &TripFacts<'_>,
    trial: &Trial,
    (simulation, doubt): (&Simulation, &Doubt),
) {
    let is_stopped = findings
        .iter()
        .any(|finding| finding.severity() == Severity::Stop);
    let conditions = trial.loadout.conditions(facts);
    let needed = &simulation.needed;
    if is_stopped
        || needed.meets_target(
            &trial.need,
            (&simulation.driven, &simulation.outcomes),
            conditions,
            SURELY,
        )
    {
        return;
    }
    let ends = doubt.outcomes_without_luck;
    findings.insert(
        0,
        Finding {
            at: Where::Trip,
            what: What::TargetMissed {
                stops: Vec::new(),
                chance: ends.finish_reserve_intact.share,
                target: doubt.success_target,
            },
        },
    );
}

fn not_relied_on(facts: &TripFacts<'_>, trial: &Trial, findings: &mut Vec<Finding>) {
    let target = facts.trip.rules().success_target();
    let turns_back = facts.trip.rules().unconfirmed_stops() == UnconfirmedStops::TurnBack;
    let can_turn_back = can_turn_back(facts, &trial.relied_on);
    let mut seen = BTreeSet::new();
    let ahead = facts.passed().max(1)..facts.stop_numbers().len() - 1;
    for (place_number, &can_turn_back) in ahead.clone().zip(&can_turn_back[ahead]) {
        let place = facts.trip.place(place_number);
        let Some(fuel) = place.fuel.filter(|_| !trial.relied_on[place_number]) else {
            continue;
        };
        let chance = fuel.chance();
        let seems_sure = chance >= target && chance < Share::new(1.0) && fuel.may_have_fuel();
        let surprises = match fuel.rely() {
            Rely::Auto => seems_sure,
            Rely::Always => fuel.may_have_fuel(),
            Rely::Never => false,
        };
        if surprises && seen.insert(facts.stop_numbers()[place_number]) {
            let why = if turns_back && can_turn_back {
                NotReliedOn::TurningBackTakesMore
            } else {
                NotReliedOn::TooFewMayFail {
                    with_others: with_those_relied_on(facts, &trial.relied_on, place_number),
                    target,
                }
            };
            findings.push(What::StopNotReliedOn { chance, why }.at(Where::Place(place_number)));
        }
    }
}
