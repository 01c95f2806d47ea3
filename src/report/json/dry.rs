//! Pumps that are dry and a can that is lost.

use schemars::JsonSchema;
use serde::Serialize;

use crate::plan::Plan;
use crate::plan::dry::{self, Open, WayOut};
use crate::quantity::{Kilometres, Litres, Share};

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct DryStop {
    /// The first place at which it is met after the start.
    node: usize,
    place: String,
    /// All places at which it is met after the start; it is dry at each.
    nodes: Vec<usize>,
    chance: Share,
    /// Whether the plan relies on it; where not, doing without it costs nothing more.
    relied_on: bool,
    /// Spare litres that the trip needs without it, counted like `spare.plain_l`; `null` where it is not relied on.
    spare_l: Option<Litres>,
    /// What that is in more cans of the largest kind in the load, their own mass left out.
    more_cans: Option<MoreCans>,
    /// `yes`: on to the next stop that is relied on, or to the finish, with the fixed reserve untouched;
    /// `using-reserve`: one arrives with something over nothing; `no`.
    can_go_on: &'static str,
    /// Litres aboard over what a `yes` takes; below 0 is what is missing.
    go_on_margin_l: Litres,
    go_on_to_node: usize,
    /// The same for the way back over the same legs to the nearest sure pump behind; `no` where there is none.
    can_turn_back: &'static str,
    /// `null` where no sure pump can be gone back to.
    turn_back_margin_l: Option<Litres>,
    turn_back_to_node: Option<usize>,
    /// Where the last drop is burnt when one goes on and does not get there.
    empty_at_km: Option<Kilometres>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct MoreCans {
    count: u32,
    size_l: Litres,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct DryPair {
    nodes: [usize; 2],
    places: [String; 2],
    spare_l: Litres,
    more_cans: Option<MoreCans>,
    /// Whether it is the worst of all pairs; else only neighbours were tried.
    of_all_pairs: bool,
    /// Whether what is aboard at the first, found dry, is enough to come to the second; what follows is on arrival there.
    reaches_second: bool,
    can_go_on: &'static str,
    go_on_margin_l: Option<Litres>,
    go_on_to_node: Option<usize>,
    can_turn_back: &'static str,
    turn_back_margin_l: Option<Litres>,
    turn_back_to_node: Option<usize>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct CanLost {
    /// What was in it.
    litres: Litres,
    at_km: Kilometres,
    leg: usize,
    /// Spare litres with which the trip goes through whenever it is lost.
    spare_l: Litres,
    can_go_on: &'static str,
    go_on_margin_l: Litres,
    go_on_to_node: usize,
    can_turn_back: &'static str,
    turn_back_margin_l: Option<Litres>,
    turn_back_to_node: Option<usize>,
}

/// Whether a way that may not be there at all is open.
fn open(way: Option<WayOut>) -> &'static str {
    way.map_or(Open::No, |way| way.open).word()
}

fn more_cans(more: Option<dry::MoreCans>) -> Option<MoreCans> {
    more.map(|more| MoreCans {
        count: more.count,
        size_l: more.size,
    })
}

pub(super) fn dry_stops(plan: &Plan) -> Vec<DryStop> {
    let relied = plan.dry().stops.iter();
    let relied = relied.map(|stop| dry_stop(plan, &stop.at, Some(stop)));
    let passed = plan.passed_dry.iter().map(|at| dry_stop(plan, at, None));
    let mut stops: Vec<DryStop> = relied.chain(passed).collect();
    stops.sort_by_key(|stop| stop.node);
    stops
}

fn dry_stop(plan: &Plan, at: &dry::DryAt, relied: Option<&dry::DryStop>) -> DryStop {
    DryStop {
        node: at.node(),
        place: plan.trip.place(at.node()).name.to_owned(),
        nodes: at.nodes.clone(),
        chance: at.chance,
        relied_on: relied.is_some(),
        spare_l: relied.map(|stop| stop.spare),
        more_cans: more_cans(relied.and_then(|stop| stop.more)),
        can_go_on: at.go_on.open.word(),
        go_on_margin_l: at.go_on.margin,
        go_on_to_node: at.go_on.to,
        can_turn_back: open(at.turn_back),
        turn_back_margin_l: at.turn_back.map(|back| back.margin),
        turn_back_to_node: at.turn_back.map(|back| back.to),
        empty_at_km: at.empty_at,
    }
}

pub(super) fn dry_pair(plan: &Plan) -> Option<DryPair> {
    plan.dry_pair().map(|pair| {
        let (go_on, back) = pair.at_second.unzip();
        let back = back.flatten();
        DryPair {
            nodes: pair.nodes,
            places: pair.nodes.map(|node| plan.trip.place(node).name.to_owned()),
            spare_l: pair.spare,
            more_cans: more_cans(pair.more),
            of_all_pairs: pair.of_all,
            reaches_second: go_on.is_some(),
            can_go_on: open(go_on),
            go_on_margin_l: go_on.map(|on| on.margin),
            go_on_to_node: go_on.map(|on| on.to),
            can_turn_back: open(back),
            turn_back_margin_l: back.map(|back| back.margin),
            turn_back_to_node: back.map(|back| back.to),
        }
    })
}

pub(super) fn can_lost(plan: &Plan) -> Option<CanLost> {
    let lost = plan.dry().can_lost.as_ref();
    lost.map(|lost| CanLost {
        litres: lost.litres,
        at_km: lost.at_km,
        leg: lost.leg,
        spare_l: lost.spare,
        can_go_on: lost.go_on.open.word(),
        go_on_margin_l: lost.go_on.margin,
        go_on_to_node: lost.go_on.to,
        can_turn_back: open(lost.turn_back),
        turn_back_margin_l: lost.turn_back.map(|back| back.margin),
        turn_back_to_node: lost.turn_back.map(|back| back.to),
    })
}
