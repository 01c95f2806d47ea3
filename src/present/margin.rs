//! On which arrival the margin is smallest, in words.

use super::name::plain;
use super::number::{self, Toward, Units};
use super::odds::if_fuel;
use super::under_way::driven;
use crate::plan::{Plan, PlannedLeg};
use crate::quantity::Litres;

/// An arrival with its litres.
struct Arrival<'a> {
    leg: &'a PlannedLeg,
    /// On board: in the target plan a share of the trips as large as the target has this, else the best estimate.
    on_board: Litres,
    /// What must be on board: in the target plan the reserve, else the minimum, which adds the contingency.
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

/// The smallest margin, with the number of the leg that ends with it.
pub(super) fn smallest(plan: &Plan) -> Option<(Litres, usize)> {
    let arrival = smallest_arrival(plan, ahead(plan))?;
    Some((arrival.margin(), arrival.leg.n))
}

/// The smallest margin, in few words.
pub fn brief(plan: &Plan, units: Units) -> Option<String> {
    let arrival = smallest_arrival(plan, ahead(plan))?;
    Some(format!(
        "Smallest margin: {} on leg {}.",
        units.margin(arrival.margin()),
        arrival.leg.n
    ))
}

/// The smallest margin, and on which arrival.
pub fn sentence(plan: &Plan, units: Units) -> Option<String> {
    among(plan, ahead(plan), units)
}

/// The legs that are still to be driven.
fn ahead(plan: &Plan) -> &[PlannedLeg] {
    &plan.legs[driven(plan)..]
}

/// The smallest margin among some legs of a plan; `None` if there are none.
pub(crate) fn among(plan: &Plan, legs: &[PlannedLeg], units: Units) -> Option<String> {
    let arrival = smallest_arrival(plan, legs)?;
    Some(format!(
        "Smallest margin: {}.",
        shown(&arrival, plan, units)
    ))
}

/// The smallest margin as an entry under its name.
pub(crate) fn key_figure(plan: &Plan, units: Units) -> Option<String> {
    let arrival = smallest_arrival(plan, ahead(plan))?;
    Some(shown(&arrival, plan, units))
}

/// The smallest margin without its figure: in how many trips, and on which arrival.
pub(super) fn beside(plan: &Plan, units: Units) -> Option<String> {
    let arrival = smallest_arrival(plan, ahead(plan))?;
    Some(arrival_beside(&arrival, plan, units))
}

/// `+3.1 L in 95 % of trips, on arrival at Lamp Hollow (leg 7): 7.1 L on board, reserve 4.0 L`
fn shown(arrival: &Arrival<'_>, plan: &Plan, units: Units) -> String {
    let beside = arrival_beside(arrival, plan, units);
    format!("{} {beside}", units.margin(arrival.margin()))
}

fn arrival_beside(arrival: &Arrival<'_>, plan: &Plan, units: Units) -> String {
    let (how_many, least) = match &plan.doubt {
        Some(doubt) => {
            let target = number::odds(doubt.success_target);
            (format!("in {target} of trips{}", if_fuel(plan)), "reserve")
        }
        None => ("by the best estimate".to_owned(), "minimum"),
    };
    format!(
        "{how_many}, on arrival at {} (leg {}): {} on board, {least} {}",
        plain(&arrival.leg.to),
        arrival.leg.n,
        units.fuel_tenths(arrival.on_board, Toward::Down),
        units.fuel_tenths(arrival.least, Toward::Nearest),
    )
}
