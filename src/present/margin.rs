//! Where on the way the margin is smallest, in words.

use super::name::plain;
use super::number::{self, Toward, Units};
use super::odds::if_fuel;
use crate::plan::{Plan, PlannedLeg};
use crate::quantity::Litres;
use crate::solver::fuel::ROUNDING;

/// An arrival, and what the plan promises there.
struct Arrival<'a> {
    leg: &'a PlannedLeg,
    /// On board: in the target plan a share of the trips as large as the target has this, else the best estimate.
    on_board: Litres,
    /// What must be left of it: in the target plan the reserve, else the minimum with what use still ahead adds.
    least: Litres,
}

impl Arrival<'_> {
    fn margin(&self) -> Litres {
        self.on_board - self.least
    }
}

/// The arrival with the smallest margin among some legs of a plan.
fn smallest_arrival<'a>(plan: &Plan, legs: &'a [PlannedLeg]) -> Option<Arrival<'a>> {
    let bands = plan.doubt.as_ref().map(|doubt| &doubt.bands);
    let arrivals = legs.iter().map(|leg| {
        let band = bands.and_then(|bands| bands.get(leg.n - 1));
        band.map_or(
            Arrival {
                leg,
                on_board: leg.end,
                least: leg.reserve,
            },
            |band| Arrival {
                leg,
                on_board: band.end_at_target,
                least: leg.fixed_reserve,
            },
        )
    });
    arrivals.min_by(|a, b| a.margin().get().total_cmp(&b.margin().get()))
}

/// The smallest margin, in few words.
pub fn brief(plan: &Plan, units: Units) -> Option<String> {
    let arrival = smallest_arrival(plan, ahead(plan))?;
    Some(format!(
        "Smallest margin: {} on leg {}.",
        margin(&arrival, units),
        arrival.leg.n
    ))
}

/// The smallest margin, and on which arrival.
pub fn sentence(plan: &Plan, units: Units) -> Option<String> {
    among(plan, ahead(plan), units)
}

/// The legs that are still to be driven.
fn ahead(plan: &Plan) -> &[PlannedLeg] {
    let driven = plan.behind.as_deref().map_or(0, |behind| behind.node);
    &plan.legs[driven..]
}

/// `17 L`, `3.2 L short`.
fn margin(arrival: &Arrival<'_>, units: Units) -> String {
    let margin = arrival.margin();
    if margin < -ROUNDING {
        format!("{} short", units.fuel(-margin, Toward::Up))
    } else {
        units
            .fuel(margin.max(Litres::ZERO), Toward::Down)
            .to_string()
    }
}

/// The smallest margin among some legs of a plan; nothing when there are none.
pub(crate) fn among(plan: &Plan, legs: &[PlannedLeg], units: Units) -> Option<String> {
    let arrival = smallest_arrival(plan, legs)?;
    let (how_many, least) = match &plan.doubt {
        Some(doubt) => {
            let target = number::odds(doubt.success_target);
            let of_hundred = target.trim_end_matches(" %");
            let if_fuel = if_fuel(plan);
            (format!(" in {of_hundred} of 100 trips{if_fuel}"), "reserve")
        }
        None => (String::new(), "minimum"),
    };
    Some(format!(
        "Smallest margin{how_many}: {}, on arrival at {} (leg {}): {} on board, {least} {}.",
        margin(&arrival, units),
        plain(&arrival.leg.to),
        arrival.leg.n,
        units.fuel(arrival.on_board, Toward::Down),
        units.litres(arrival.least),
    ))
}
