//! The legs on which less fuel is left than must be, and what filling more would cover.

use crate::solver::drive::floor;
use crate::solver::fuel::ROUNDING;

use crate::plan::facts::TripFacts;
use crate::plan::parts::finding::{Finding, What, Where};
use crate::plan::parts::legs::PlannedLeg;
use crate::plan::trial::Trial;

/// Adds the legs on which less is left than must be.
pub(super) fn findings(
    facts: &TripFacts<'_>,
    trial: &Trial,
    legs: &[PlannedLeg],
    findings: &mut Vec<Finding>,
) {
    let filling = filling_more(facts, trial, legs);
    for (index, leg) in legs.iter().enumerate().skip(facts.from()) {
        let mut add = |what: What| findings.push(what.at(Where::Leg(leg.n)));
        let covers = filling.and_then(|(worst, covers)| (worst == leg.n).then_some(covers));
        if leg.end < -ROUNDING {
            add(What::RunsDry {
                short: -leg.end,
                reserve: leg.reserve,
                covers,
            });
        } else if leg.below_reserve {
            add(What::BelowReserve {
                left: leg.end,
                reserve: leg.reserve,
                covers,
            });
        }
        let tank = trial.run.legs[index].end_tank;
        let floor = floor(&trial.problem, index, facts.rough()[index]);
        // With less than the reserve the graver finding is enough.
        if facts.rough()[index] && !leg.below_reserve && tank < floor - ROUNDING {
            add(What::TankLowOnRough { tank, floor });
        }
    }
}

/// The leg that lacks most, and the first and last of those between the same two stops that lack some: filling what it
/// lacks covers them. `None` where no more can be carried: that has a finding of its own.
fn filling_more(
    facts: &TripFacts<'_>,
    trial: &Trial,
    legs: &[PlannedLeg],
) -> Option<(usize, [usize; 2])> {
    if !trial.covers() {
        return None;
    }
    let lacks = |leg: &PlannedLeg| leg.reserve - leg.end;
    let short = || {
        legs.iter()
            .skip(facts.from())
            .filter(|leg| leg.below_reserve)
    };
    let worst = short()
        .max_by(|a, b| lacks(a).get().total_cmp(&lacks(b).get()))?
        .n;
    let is_stop = |place_number: usize| trial.need.at_fuel_stop[place_number].is_some();
    let from = (0..worst)
        .rev()
        .find(|&place_number| is_stop(place_number))
        .unwrap_or(0);
    let to = (worst..legs.len())
        .find(|&place_number| is_stop(place_number))
        .unwrap_or(legs.len());
    let covered = || {
        short()
            .map(|leg| leg.n)
            .filter(|n| (from + 1..=to).contains(n))
    };
    Some((worst, [covered().next()?, covered().next_back()?]))
}
