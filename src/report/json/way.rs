//! Legs, stops, pours, the card and the stretches.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use crate::consumption::causes::Cause;
use crate::model::vocabulary::CarryingPlace;
use crate::plan::{self, Plan};
use crate::quantity::{Factor, Kilometres, Litres, LitresPer100Km, Money, Share};

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Leg {
    n: usize,
    from: String,
    to: String,
    day: u32,
    distance_km: Kilometres,
    fuel_l: Litres,
    l_per_100km: Option<LitresPer100Km>,
    /// Factor of each cause over base; their product times base is the leg's consumption.
    multipliers: Option<BTreeMap<&'static str, Factor>>,
    /// Litres of the leg without each cause.
    without_l: BTreeMap<&'static str, Litres>,
    start_l: Litres,
    end_l: Litres,
    /// What the gauge shows on arrival, unusable litres included.
    end_tank_l: Litres,
    end_cans_l: Litres,
    reserve_l: Litres,
    below_reserve: bool,
    /// The odds that the fixed reserve is broken here first.
    odds_first_below_reserve: Option<Share>,
    /// Percentiles of what is on board on arrival.
    end_l_p05: Option<Litres>,
    end_l_p50: Option<Litres>,
    end_l_p95: Option<Litres>,
    /// The leg's litres are `use_empty_l + use_slope * usable litres at its start`.
    use_empty_l: Litres,
    use_slope: Share,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Stop {
    node: usize,
    place: String,
    at_km: Kilometres,
    counted: bool,
    chance: Share,
    /// What it has; `null` when that is as much as one likes.
    supply_l: Option<Litres>,
    /// Extra way that is driven to use it.
    detour_km: Kilometres,
    /// Put in the tank.
    tank_l: Litres,
    /// Put in cans.
    cans_l: Litres,
    after_l: Litres,
    cost: Option<Money>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Pour {
    at_km: Kilometres,
    leg: usize,
    place: Option<String>,
    litres: Litres,
    /// On the gauge, unusable litres included.
    when_tank_at_most_l: Litres,
    can_size_l: Litres,
    from: CarryingPlace,
    earliest_km: Kilometres,
    latest_km: Kilometres,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Decision {
    node: Option<usize>,
    place: String,
    at_km: Kilometres,
    go_on_l: Option<Litres>,
    fill_cans_l: Option<Litres>,
    turn_back_l: Litres,
    /// The same in the plain plan, everything at its likely value.
    plain_go_on_l: Option<Litres>,
    plain_turn_back_l: Option<Litres>,
    /// With this much aboard `back_to` is reached with the fixed reserve untouched; `null` where that is more than tank
    /// and cans hold or where there is no way back.
    back_l: Option<Litres>,
    /// The nearest sure pump behind.
    back_to: Option<String>,
    back_to_node: Option<usize>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Stretch {
    from: String,
    from_node: usize,
    to: String,
    to_node: usize,
    distance_km: Kilometres,
    required_l: Litres,
    tank_l: Litres,
    spare_l: Litres,
    /// From the trip's start.
    turn_back_km: Option<Kilometres>,
    /// The same at the confidence.
    turn_back_sure_km: Option<Kilometres>,
    /// From where the end takes as many hours at the wheel as the refuge, from the trip's start.
    equal_time_km: Option<Kilometres>,
    refuge: Option<String>,
    refuge_node: Option<usize>,
    /// A doubtful or limited stop behind that lies nearer than the refuge.
    doubtful: Option<Doubtful>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Doubtful {
    place: String,
    node: usize,
    chance: Share,
    left_l: Option<Litres>,
    /// The last point from which it can be reached, from the trip's start.
    turn_back_km: Kilometres,
}

pub(super) fn legs(plan: &Plan) -> Vec<Leg> {
    let doubt = plan.doubt.as_ref();
    plan.legs
        .iter()
        .map(|leg| {
            let band = doubt.map(|doubt| doubt.bands[leg.n - 1].end);
            let causes = &plan.attribution(leg.n).causes;
            let multipliers = causes
                .iter()
                .map(|share| Some((share.cause.key(), share.multiplier?)))
                .collect();
            Leg {
                n: leg.n,
                from: leg.from.clone(),
                to: leg.to.clone(),
                day: leg.day,
                distance_km: leg.distance,
                fuel_l: leg.fuel,
                l_per_100km: leg.rate,
                multipliers,
                without_l: causes
                    .iter()
                    .map(|share| (Cause::key(share.cause), share.without))
                    .collect(),
                start_l: leg.start,
                end_l: leg.end,
                end_tank_l: leg.end_tank_gauge,
                end_cans_l: leg.end_cans,
                reserve_l: leg.reserve,
                below_reserve: leg.below_reserve,
                odds_first_below_reserve: doubt.map(|doubt| doubt.first_below[leg.n - 1].share),
                end_l_p05: band.map(|band| band.low),
                end_l_p50: band.map(|band| band.middle),
                end_l_p95: band.map(|band| band.high),
                use_empty_l: leg.use_empty,
                use_slope: leg.use_slope,
            }
        })
        .collect()
}

pub(super) fn stops(plan: &Plan) -> Vec<Stop> {
    plan.stops
        .iter()
        .map(|stop| Stop {
            node: stop.node,
            place: stop.place.clone(),
            at_km: stop.at_km,
            counted: stop.counted,
            chance: stop.chance,
            supply_l: stop.supply,
            detour_km: stop.detour,
            tank_l: stop.tank,
            cans_l: stop.cans,
            after_l: stop.after,
            cost: stop.cost,
        })
        .collect()
}

pub(super) fn pours(plan: &Plan) -> Vec<Pour> {
    plan.pours
        .iter()
        .map(|pour| Pour {
            at_km: pour.at_km,
            leg: pour.leg,
            place: pour.node.map(|node| plan.trip.place(node).name.to_owned()),
            litres: pour.litres,
            when_tank_at_most_l: pour.when_tank_at_most_gauge,
            can_size_l: pour.can_size,
            from: pour.from,
            earliest_km: pour.earliest_km,
            latest_km: pour.latest_km,
        })
        .collect()
}

pub(super) fn decisions(plan: &Plan) -> Vec<Decision> {
    let name = |node: usize| plan.trip.place(node).name.to_owned();
    // Lines of the card stand at places and marks of the route, whatever the plan.
    let plain = |decision: &plan::Decision| {
        let doubt = plan.doubt.as_ref()?;
        let mut lines = doubt.plain.decisions.iter();
        lines.find(|line| line.at_km == decision.at_km && line.node == decision.node)
    };
    plan.decisions
        .iter()
        .map(|decision| Decision {
            node: decision.node,
            place: decision.place.clone(),
            at_km: decision.at_km,
            go_on_l: decision.go_on,
            fill_cans_l: decision.fill_cans,
            turn_back_l: decision.turn_back,
            plain_go_on_l: plain(decision).and_then(|plain| plain.go_on),
            plain_turn_back_l: plain(decision).map(|plain| plain.turn_back),
            back_l: decision.back.map(|back| back.needed),
            back_to: decision.back.map(|back| name(back.refuge)),
            back_to_node: decision.back.map(|back| back.refuge),
        })
        .collect()
}

pub(super) fn stretches(plan: &Plan) -> Vec<Stretch> {
    let name = |node: usize| plan.trip.place(node).name.to_owned();
    plan.stretches
        .iter()
        .enumerate()
        .map(|(nth, stretch)| Stretch {
            from: name(stretch.from),
            from_node: stretch.from,
            to: name(stretch.to),
            to_node: stretch.to,
            distance_km: stretch.distance,
            required_l: stretch.required,
            tank_l: stretch.tank,
            spare_l: stretch.spare,
            turn_back_km: stretch.turn_back.map(|point| point.at_km),
            turn_back_sure_km: plan
                .doubt
                .as_ref()
                .and_then(|doubt| doubt.turn_backs.get(nth).copied().flatten()),
            equal_time_km: plan.equal_time(stretch),
            refuge: stretch.turn_back.map(|point| name(point.refuge)),
            refuge_node: stretch.turn_back.map(|point| point.refuge),
            doubtful: stretch.doubtful_turn_back.map(|point| Doubtful {
                place: name(point.refuge),
                node: point.refuge,
                chance: point.chance,
                left_l: point.left,
                turn_back_km: point.at_km,
            }),
        })
        .collect()
}
