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
    node: usize,
    place: String,
    /// Way to the next place, where the plan begins between two or off the plan.
    to_next_km: Option<Kilometres>,
    /// Usable, tank and cans.
    aboard_l: Litres,
    /// What of it the plan counts on.
    counted_l: Litres,
    /// `go-on`, `fill`, `turn-back` or `stay`; `null` at the finish.
    advice: Option<&'static str>,
    /// With so much aboard go on from here.
    go_on_l: Option<Litres>,
    /// The nearest sure pump behind, and what going back to it takes; `null` where there is none.
    back_to: Option<String>,
    back_l: Option<Litres>,
    /// The last kilometre of the trip from which that can be done.
    back_until_km: Option<Kilometres>,
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
        node: behind.node,
        place: behind.place.clone(),
        aboard_l: behind.aboard,
        counted_l: behind.counted,
        to_next_km: behind.to_next,
        advice: now.as_ref().map(|now| advice(now.advice)),
        go_on_l: now.as_ref().map(|now| now.go_on),
        back_to: back.map(|(refuge, _)| plan.trip.place(refuge).name.to_owned()),
        back_l: back.map(|(_, litres)| litres),
        back_until_km: now.and_then(|now| now.last).map(|point| point.at_km),
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
        Advice::GoOn => "go-on",
        Advice::Fill => "fill",
        Advice::TurnBack => "turn-back",
        Advice::Stay => "stay",
    }
}
