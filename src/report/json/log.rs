//! What lies behind, for a trip under way.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use crate::model::fitted::Component;
use crate::plan::Plan;
use crate::plan::behind::{Advice, Behind, Worth};
use crate::quantity::{Factor, Kilometres, Litres};

/// What lies behind.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Log {
    /// Number of the place at which the plan begins, or of the last one passed.
    place_number: usize,
    place: String,
    /// Way to the next place, where the plan begins between two or off the plan.
    to_next_km: Option<Kilometres>,
    /// Usable, tank and cans.
    aboard_l: Litres,
    /// How far that may be off: a standard deviation. Nothing is to be deducted: the figures below allow for it.
    error_l: Litres,
    /// `continue`, `fill`, `turn-back` or `neither`; `null` at the finish.
    advice: Option<&'static str>,
    /// Continue with this read off, without filling here.
    continue_l: Option<Litres>,
    /// The same before filling here as planned; `null` where nothing can be had.
    continue_filling_l: Option<Litres>,
    /// The refuge behind, and what must be read off to return to it; `null` where there is no return.
    return_to: Option<String>,
    return_l: Option<Litres>,
    /// The turn-back point ahead, from the trip's start.
    turn_back_km: Option<Kilometres>,
    /// Whether fewer than one trip in a hundred was expected there with this reading.
    unexpected: Option<bool>,
    ways: Vec<DrivenWay>,
    factors: BTreeMap<&'static str, LogFactor>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct DrivenWay {
    from: String,
    to: String,
    distance_km: Kilometres,
    driven_km: Kilometres,
    planned_l: Litres,
    /// `null` where no departure was written down, or the readings contradict one another so that it would be less than
    /// nothing.
    used_l: Option<Litres>,
    used_sd_l: Option<Litres>,
    /// Whether the readings fit one another well enough to learn from them.
    counts: bool,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct LogFactor {
    before: Factor,
    before_sd: Factor,
    value: Factor,
    sd: Factor,
}

pub(super) fn log(plan: &Plan, behind: &Behind) -> Log {
    let [before, after] = &behind.factors;
    let now = plan.now();
    let back = now.as_ref().and_then(|now| now.back);
    Log {
        place_number: behind.node,
        place: behind.place.clone(),
        aboard_l: behind.aboard,
        error_l: behind.error,
        to_next_km: behind.to_next,
        advice: now.as_ref().map(|now| advice(now.advice)),
        continue_l: now.as_ref().and_then(|now| now.continue_with),
        continue_filling_l: now.as_ref().and_then(|now| now.continue_filling),
        return_to: back.map(|(refuge, _)| plan.trip.place(refuge).name.to_owned()),
        return_l: back.map(|(_, litres)| litres),
        turn_back_km: now.as_ref().and_then(|now| now.turn_back),
        unexpected: now.as_ref().map(|now| now.unexpected),
        ways: behind
            .ways
            .iter()
            .map(|way| DrivenWay {
                from: way.places[0].clone(),
                to: way.places[1].clone(),
                distance_km: way.distance[0],
                driven_km: way.distance[1],
                planned_l: plan.planned_for(way),
                used_l: way.used,
                used_sd_l: way.used.map(|_| way.spread),
                counts: way.worth == Worth::Counts,
            })
            .collect(),
        factors: Component::ALL
            .into_iter()
            .map(|each| {
                let factor = LogFactor {
                    before: before.value(each),
                    before_sd: before.spread(each),
                    value: after.value(each),
                    sd: after.spread(each),
                };
                (each.key(), factor)
            })
            .collect(),
    }
}

const fn advice(advice: Advice) -> &'static str {
    match advice {
        Advice::Continue => "continue",
        Advice::Fill => "fill",
        Advice::TurnBack => "turn-back",
        Advice::Neither => "neither",
    }
}
