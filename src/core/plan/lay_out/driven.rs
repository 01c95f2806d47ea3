//! What was observed, in the place of what was planned.

use crate::consumption::usage::Usage;
use crate::doubt::study::{Band, Spread};
use crate::quantity::{Kilometres, Litres, Share};

use crate::plan::facts::TripFacts;
use crate::plan::parts::legs::PlannedLeg;
use crate::plan::trial::Trial;

/// Puts what was observed on the legs that were driven in the place of what was planned.
pub(super) fn overwrite_with_observed(facts: &TripFacts<'_>, legs: &mut [PlannedLeg]) {
    let unusable = facts.trip.vehicle.unusable();
    for (leg, driven) in legs.iter_mut().zip(facts.driven_legs()) {
        leg.fuel = driven.used;
        leg.rate = (leg.distance > Kilometres::ZERO).then(|| (driven.used / leg.distance).into());
        leg.start = driven.start;
        leg.end = driven.end;
        leg.end_cans = driven.end_cans;
        leg.end_tank_gauge = driven.end - leg.end_cans + unusable;
        leg.reserve = Litres::ZERO;
        leg.fixed_reserve = Litres::ZERO;
        leg.below_reserve = false;
        leg.use_empty = driven.used;
        leg.use_slope = Share::ZERO;
    }
}

/// The use of each leg, as observed where it was.
pub(super) fn usages(facts: &TripFacts<'_>, trial: &Trial) -> Vec<Usage> {
    let mut usages = trial.problem.legs.clone();
    for (usage, driven) in usages.iter_mut().zip(facts.driven_legs()) {
        *usage = Usage::between(driven.used, driven.used, trial.loadout.full);
    }
    usages
}

/// What is on board on each leg, as observed where it was.
pub(super) fn bands(facts: &TripFacts<'_>, mut bands: Vec<Band>) -> Vec<Band> {
    let known = |litres| Spread {
        low: litres,
        middle: litres,
        high: litres,
    };
    for (band, driven) in bands.iter_mut().zip(facts.driven_legs()) {
        *band = Band {
            start: known(driven.start),
            end: known(driven.end),
            start_at_target: driven.start,
            end_at_target: driven.end,
        };
    }
    bands
}
