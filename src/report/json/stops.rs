//! Fuel stops of the JSON report, and where the cans are decanted.

use schemars::JsonSchema;
use serde::Serialize;

use crate::model::route::FuelStop;
use crate::model::vocabulary::{CarryingPlace, Rely};
use crate::plan::{self, Plan};
use crate::quantity::{Kilometres, Litres, Money, Share};

/// A fuel stop, and the instruction to the driver there.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Stop {
    place_number: usize,
    place: String,
    at_km: Kilometres,
    /// Whether the plan needs its fuel.
    relied_on: bool,
    /// What the trip states about relying on it: `auto`, `never` or `always`.
    rely: Rely,
    /// Whether the plan drives to it and fills there.
    used: bool,
    /// Chance of fuel.
    chance: Share,
    /// Its stock; `null` if unlimited.
    supply_l: Option<Litres>,
    /// Distance to it and back to the route.
    detour_km: Kilometres,
    /// Filled into the tank.
    tank_l: Litres,
    /// Filled into cans.
    cans_l: Litres,
    /// Usable fuel on leaving.
    after_l: Litres,
    /// Usable fuel to have in the tank on leaving, back on the route; fuel that is in it already stays. `null` where nothing
    /// is filled.
    leave_tank_l: Option<Litres>,
    /// Fuel to have in cans on leaving; fuel that is in them already stays.
    leave_cans_l: Option<Litres>,
    /// The most to take at this visit; `null` if unlimited.
    at_most_l: Option<Litres>,
    cost: Option<Money>,
}

/// A can that is emptied into the tank.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Decant {
    at_km: Kilometres,
    leg: usize,
    place: Option<String>,
    /// Litres that reach the tank.
    litres: Litres,
    /// Spilt and left in the can.
    lost_l: Litres,
    /// On the gauge, unusable fuel included.
    when_tank_at_most_l: Litres,
    can_size_l: Litres,
    from: CarryingPlace,
    earliest_km: Kilometres,
    latest_km: Kilometres,
}

pub(super) fn stops(plan: &Plan) -> Vec<Stop> {
    plan.stops
        .iter()
        .map(|stop| instruction(plan, stop))
        .collect()
}

fn instruction(plan: &Plan, stop: &plan::Stop) -> Stop {
    let used = plan.stretches.iter().any(|stage| stage.from == stop.node);
    let used = used && stop.counted;
    let leaving = stop.leave_with.filter(|_| used);
    Stop {
        place_number: stop.node,
        place: stop.place.clone(),
        at_km: stop.at_km,
        relied_on: stop.counted,
        rely: plan
            .trip
            .place(stop.node)
            .fuel
            .map_or(Rely::Auto, FuelStop::rely),
        used,
        chance: stop.chance,
        supply_l: stop.supply,
        detour_km: stop.detour,
        tank_l: stop.tank,
        cans_l: stop.cans,
        after_l: stop.after,
        leave_tank_l: leaving.map(|[tank, _]| tank),
        leave_cans_l: leaving.map(|[_, cans]| cans),
        at_most_l: stop.at_most,
        cost: stop.cost,
    }
}

pub(super) fn decants(plan: &Plan) -> Vec<Decant> {
    plan.pours
        .iter()
        .map(|pour| Decant {
            at_km: pour.at_km,
            leg: pour.leg,
            place: pour.node.map(|node| plan.trip.place(node).name.to_owned()),
            litres: pour.litres,
            lost_l: pour.lost,
            when_tank_at_most_l: pour.when_tank_at_most_gauge,
            can_size_l: pour.can_size,
            from: pour.from,
            earliest_km: pour.earliest_km,
            latest_km: pour.latest_km,
        })
        .collect()
}
