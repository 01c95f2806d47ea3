//! Fuel stops without fuel and a can that is lost, in the JSON report.

use schemars::JsonSchema;
use serde::Serialize;

use super::METRIC;
use crate::plan::dry::{self, Open, Ways};
use crate::plan::{Ends, Plan};
use crate::present;
use crate::quantity::{Kilometres, Litres, Share};

/// A fuel stop at which the driver arrives and finds no fuel.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct IfDry {
    /// The first place at which it is met after the start.
    place_number: usize,
    place: String,
    /// All places at which it is met after the start; it has no fuel at each.
    place_numbers: Vec<usize>,
    chance: Share,
    #[serde(flatten)]
    choice: Choice,
    /// Litres in cans of the trip planned with a chance of 0 there; `null` if that was too much work.
    needed_without_l: Option<Litres>,
    /// What that is in more cans of the largest kind in the load, their own mass left out.
    more_cans: Option<MoreCans>,
}

/// Continue or return, from a place where something is missing.
#[derive(Debug, Serialize, JsonSchema)]
struct Choice {
    /// How those end who continue.
    continue_shares: Option<Shares>,
    /// `yes`: with the reserve intact; `using-reserve`; `no`.
    continue_word: &'static str,
    continue_to_place_number: Option<usize>,
    /// How those end who return. `null` where no refuge is behind.
    return_shares: Option<Shares>,
    return_word: &'static str,
    return_to_place_number: Option<usize>,
    /// `continue` or `return`; `null` if no simulated trip comes there.
    recommended: Option<&'static str>,
}

/// Of the simulated trips that arrive.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Shares {
    reserve_intact: Share,
    using_reserve: Share,
    ran_out: Share,
    /// Sampling error of the share that runs out.
    se: Share,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct MoreCans {
    count: u32,
    size_l: Litres,
}

/// Two fuel stops, both without fuel.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct IfDryPair {
    place_numbers: [usize; 2],
    places: [String; 2],
    /// Whether it is the worst of all pairs; otherwise only neighbours were tried.
    of_all_pairs: bool,
    /// Whether the fuel on board at the first is enough to reach the second; what follows is on arrival there.
    reaches_second: bool,
    #[serde(flatten)]
    choice: Choice,
}

/// The fullest can lost at the worst moment.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct CanLost {
    /// What was in it.
    litres: Litres,
    at_km: Kilometres,
    leg: usize,
    #[serde(flatten)]
    choice: Choice,
}

/// The critical fuel stop.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct DependsOn {
    place_number: usize,
    place: String,
    /// Whether without its fuel more than one trip in twenty runs out whatever the driver does.
    strands: bool,
    says: String,
}

impl Shares {
    fn of(ends: Ends) -> Self {
        Self {
            reserve_intact: ends.reserve_intact.share,
            using_reserve: ends.using_reserve.share,
            ran_out: ends.ran_out.share,
            se: ends.ran_out.error,
        }
    }
}

impl Choice {
    fn of(ways: Option<&Ways>) -> Self {
        Self {
            continue_shares: ways.map(|ways| Shares::of(ways.shares.on)),
            continue_word: ways.map_or(Open::No, Ways::on).word(),
            continue_to_place_number: ways.map(|ways| ways.on_to),
            return_shares: ways.and_then(|ways| ways.shares.back.map(Shares::of)),
            return_word: ways.map_or(Open::No, Ways::back).word(),
            return_to_place_number: ways.and_then(|ways| ways.back_to),
            recommended: ways.map(present::dry::recommended),
        }
    }
}

fn more_cans(more: Option<dry::MoreCans>) -> Option<MoreCans> {
    more.map(|more| MoreCans {
        count: more.count,
        size_l: more.size,
    })
}

pub(super) fn if_dry(plan: &Plan) -> Vec<IfDry> {
    let stops = plan.dry().stops.iter();
    stops
        .map(|stop| IfDry {
            place_number: stop.node(),
            place: plan.trip.place(stop.node()).name.to_owned(),
            place_numbers: stop.nodes.clone(),
            chance: stop.chance,
            choice: Choice::of(Some(&stop.ways)),
            needed_without_l: stop.needed_without,
            more_cans: more_cans(stop.more),
        })
        .collect()
}

pub(super) fn if_dry_pair(plan: &Plan) -> Option<IfDryPair> {
    plan.dry().pair.as_ref().map(|pair| IfDryPair {
        place_numbers: pair.nodes,
        places: pair.nodes.map(|node| plan.trip.place(node).name.to_owned()),
        of_all_pairs: pair.of_all,
        reaches_second: pair.ways.is_some(),
        choice: Choice::of(pair.ways.as_ref()),
    })
}

pub(super) fn can_lost(plan: &Plan) -> Option<CanLost> {
    let lost = plan.dry().can_lost.as_ref();
    lost.map(|lost| CanLost {
        litres: lost.litres,
        at_km: lost.at_km,
        leg: lost.leg,
        choice: Choice::of(Some(&lost.ways)),
    })
}

pub(super) fn depends_on(plan: &Plan) -> Option<DependsOn> {
    let [says, _] = present::dry::critical(plan, METRIC)?;
    plan.dry().critical_stop().map(|stop| DependsOn {
        place_number: stop.node(),
        place: plan.trip.place(stop.node()).name.to_owned(),
        strands: stop.ways.strands(),
        says,
    })
}
