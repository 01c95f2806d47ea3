//! A share on all use still ahead that represents what simulated trips require, where many trips like one are to be
//! looked at.

use crate::doubt::study::{Effort, Policy as Relied};
use crate::doubt::tally::Quantile;
use crate::model::Trip;
use crate::quantity::Share;
use crate::solver::cans::CanSet;
use crate::solver::fuel::Problem;

use crate::plan::facts::TripFacts;
use crate::plan::loadout::Loadout;
use crate::plan::parts::doubt::Doubt;
use crate::plan::policy::Policy;
use crate::plan::policy::target::Target;
use crate::plan::trial::try_loadout;
use crate::plan::under_way::UnderWay;

/// The largest share that is tried: four times all use still ahead.
const MOST_SHARE: f64 = 4.0;
/// How many times the interval up to [`MOST_SHARE`] is halved: to less than a millionth of all use.
const HALVINGS: u32 = 24;

/// The share on all use still ahead with which the recursion of the best estimate needs as much fuel in cans as the
/// simulated trips require and twice their standard error.
pub(super) fn as_share(doubt: &Doubt) -> Share {
    share_for(&doubt.study.policy, doubt.in_cans)
}

/// Which fuel stops a trip relies on with a set of cans on board, and what [`as_share`] would give.
pub(super) fn reliance(trip: &Trip, effort: Effort, cans: CanSet) -> Option<(Vec<bool>, Share)> {
    let under_way = UnderWay::from_log(trip);
    let facts = TripFacts::new(trip, under_way.as_ref());
    let target = Target::new(&facts, effort);
    let loadout = Loadout::new(&facts, cans);
    let trial = try_loadout(&facts, Policy::Target(target.aim()), loadout);
    let needed = trial.simulation?.needed;
    let share = share_for(&needed.policy, needed.in_cans);
    Some((needed.relied_on, share))
}

/// The share that [`as_share`] finds, for fuel stops relied on in one way and the litres in cans that this needs.
fn share_for(policy: &Relied, in_cans: Quantile) -> Share {
    let wanted = in_cans.litres + in_cans.error * 2.0;
    let needed = |share: f64| {
        let extra = Share::new(share);
        let problem = Problem {
            extra,
            ..policy.problem.clone()
        };
        problem.need_as(&policy.need).in_cans
    };
    let (mut low, mut high) = (0.0, MOST_SHARE);
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if needed(middle) < wanted {
            low = middle;
        } else {
            high = middle;
        }
    }
    Share::new(high)
}
