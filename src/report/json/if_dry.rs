//! Fuel stops without fuel and a can that is lost, in the JSON report.

use schemars::JsonSchema;
use serde::Serialize;

use super::METRIC;
use crate::plan::dry::{self, Choices, DryPair, DryStop, Open};
use crate::plan::{Ends, Plan};
use crate::present;
use crate::quantity::{Kilometres, Litres, Share};

object! {
    /// A fuel stop at which the driver arrives and finds no fuel.
    pub(super) struct IfDry(plan: &Plan, stop: &DryStop) {
        /// The first place at which it is met after the start.
        place_number: usize = stop.place_number(),
        place: String = plan.trip.place(stop.place_number()).name.to_owned(),
        /// All places at which it is met after the start; it has no fuel at each.
        place_numbers: Vec<usize> = stop.place_numbers.clone(),
        chance: Share = stop.chance,
        #[serde(flatten)]
        choice: Choice = Choice::new(Some(&stop.choices)),
        /// Litres in cans of the trip planned with a chance of 0 there; `null` if that was too much work.
        needed_without_l: Option<Litres> = stop.needed_without,
        /// What that is in more cans of the largest kind in the load, their own mass left out.
        more_cans: Option<MoreCans> = stop.more.map(MoreCans::new),
    }
}

/// Continue or return, from a place where something is missing.
#[derive(Debug, Serialize, JsonSchema)]
struct Choice {
    /// How those end who continue.
    continue_shares: Option<Shares>,
    /// `yes`: with the reserve intact; `using-reserve`; `no`.
    continue_word: &'static str,
    continue_to_place_number: Option<usize>,
    /// Outcomes of those that return. `null` if no return is possible.
    return_shares: Option<Shares>,
    return_word: &'static str,
    return_to_place_number: Option<usize>,
    /// `continue` or `return`; `null` if no simulated trip comes there.
    recommended: Option<&'static str>,
}

impl Choice {
    fn new(choices: Option<&Choices>) -> Self {
        Self {
            continue_shares: choices.map(|choices| Shares::new(choices.shares.on)),
            continue_word: choices.map_or(Open::No, Choices::on).word(),
            continue_to_place_number: choices.map(|choices| choices.on_to),
            return_shares: choices.and_then(|choices| choices.shares.back.map(Shares::new)),
            return_word: choices.map_or(Open::No, Choices::back).word(),
            return_to_place_number: choices.and_then(|choices| choices.back_to),
            recommended: choices.map(present::dry::recommended),
        }
    }
}

object! {
    /// Of the simulated trips that arrive.
    struct Shares(ends: Ends) {
        reserve_intact: Share = ends.reserve_intact.share,
        using_reserve: Share = ends.using_reserve.share,
        ran_out: Share = ends.ran_out.share,
        /// Sampling error of the share that runs out.
        se: Share = ends.ran_out.error,
    }
}

object! {
    struct MoreCans(more: dry::MoreCans) {
        count: u32 = more.count,
        size_l: Litres = more.size,
    }
}

object! {
    /// Two fuel stops, both without fuel.
    pub(super) struct IfDryPair(plan: &Plan, pair: &DryPair) {
        place_numbers: [usize; 2] = pair.place_numbers,
        places: [String; 2] = pair.place_numbers.map(|place_number| plan.trip.place(place_number).name.to_owned()),
        /// Whether it is the worst of all pairs; otherwise only neighbours were tried.
        of_all_pairs: bool = pair.of_all,
        /// Whether the fuel on board at the first is enough to reach the second; what follows is on arrival there.
        reaches_second: bool = pair.choices.is_some(),
        #[serde(flatten)]
        choice: Choice = Choice::new(pair.choices.as_ref()),
    }
}

object! {
    /// The fullest can lost at the worst moment.
    pub(super) struct CanLost(lost: &dry::CanLost) {
        /// What was in it.
        litres: Litres = lost.litres,
        at_km: Kilometres = lost.at_km,
        leg: usize = lost.leg,
        #[serde(flatten)]
        choice: Choice = Choice::new(Some(&lost.choices)),
    }
}

object! {
    /// The critical fuel stop.
    pub(super) struct DependsOn(plan: &Plan, stop: &DryStop, says: String) {
        place_number: usize = stop.place_number(),
        place: String = plan.trip.place(stop.place_number()).name.to_owned(),
        /// Whether without its fuel more than one trip in twenty runs out whatever the driver does.
        strands: bool = stop.choices.strands(),
        says: String = says,
    }
}

pub(super) fn depends_on(plan: &Plan) -> Option<DependsOn> {
    let [says, _] = present::dry::critical(plan, METRIC)?;
    let stop = plan.dry().critical_stop()?;
    Some(DependsOn::new(plan, stop, says))
}
