//! The spare litres: what asks for them, in which cans, what they hang on and what would teach more.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::METRIC;
use crate::model::vocabulary::CarryingPlace;
use crate::plan::doubt::Doubt;
use crate::plan::{Odds, Plan, Quantile, Uncertain};
use crate::present::{self, odds};
use crate::quantity::{Kilometres, Litres, Share};

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Spare {
    /// What must be in cans at the confidence: the larger of what the samples ask for and of what the likely litres with
    /// the per-cent reserve do.
    litres: Option<Litres>,
    /// What the plain plan needs in the tank, everything at its likely value.
    plain_l: Litres,
    /// The same with what is lost in pouring.
    plain_needed_l: Litres,
    /// This much must be in cans for this plan.
    needed_l: Litres,
    carried_l: Litres,
    covers: bool,
    /// Why these cans and no others; `null` where none are carried.
    why_these_cans: Option<String>,
    /// How surely the whole trip shall go through, as the rules ask for it.
    confidence: Share,
    /// Litres in cans that are enough, by confidence.
    by_confidence: Option<BTreeMap<String, Litres>>,
    /// Their standard errors.
    by_confidence_se: Option<BTreeMap<String, Litres>>,
    /// At the finish with the fixed reserve untouched all the way.
    odds_through: Option<Share>,
    odds_through_se: Option<Share>,
    /// At the finish with less.
    odds_on_reserve: Option<Share>,
    odds_on_reserve_se: Option<Share>,
    /// Back at a pump behind, from one that was dry.
    odds_turned_back: Option<Share>,
    odds_turned_back_se: Option<Share>,
    /// Out of fuel.
    odds_stranded: Option<Share>,
    odds_stranded_se: Option<Share>,
    samples: Option<usize>,
    litres_se: Option<Litres>,
    cans: Vec<Can>,
    /// The cans of the plain plan.
    plain_cans: Option<Vec<Can>>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Driver {
    /// What is not known; `pump` for whether there is fuel at `node`.
    cause: &'static str,
    /// The place of the pump.
    node: Option<usize>,
    /// Spare litres with the cause at its 5th percentile and all others at their medians; of a pump, if it surely had fuel.
    low_l: Litres,
    /// The same at its 95th; of a pump, if it were surely dry.
    high_l: Litres,
    /// The share of the variance that goes when it is known; `null` for a pump, on which the plan does not hang.
    of_variance: Option<Share>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Can {
    size_l: Litres,
    fill_l: Litres,
    count: u32,
    place: CarryingPlace,
    to_buy: u32,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct HangsOn {
    node: usize,
    place: String,
    /// Whether its dryness leaves neither way out.
    strands: bool,
    says: String,
}

pub(super) fn spare(plan: &Plan) -> Spare {
    let doubt = plan.doubt.as_ref();
    let plain = doubt.map_or(plan, |doubt| doubt.plain.as_ref());
    let by_confidence = |litres: fn(&Quantile) -> Litres| {
        doubt.map(|doubt| {
            let rows = doubt.by_confidence.iter();
            rows.map(|(share, spare)| (format!("{:.2}", share.get()), litres(spare)))
                .collect()
        })
    };
    let odds = |of: fn(&Doubt) -> Odds| {
        let odds = doubt.map(of);
        (odds.map(|odds| odds.share), odds.map(|odds| odds.error))
    };
    let (odds_through, odds_through_se) = odds(|doubt| doubt.through);
    let (odds_on_reserve, odds_on_reserve_se) = odds(|doubt| doubt.on_reserve);
    let (odds_turned_back, odds_turned_back_se) = odds(|doubt| doubt.turned_back);
    let (odds_stranded, odds_stranded_se) = odds(|doubt| doubt.stranded);
    Spare {
        litres: doubt.map(|_| plan.spare.needed),
        plain_l: plain.spare.plain,
        plain_needed_l: plain.spare.needed,
        needed_l: plan.spare.needed,
        carried_l: plan.spare.carried,
        covers: plan.spare.covers,
        why_these_cans: present::load::why_these_cans(plan),
        confidence: plan.trip.rules().confidence(),
        by_confidence: by_confidence(|spare| spare.litres),
        by_confidence_se: by_confidence(|spare| spare.error),
        odds_through,
        odds_through_se,
        odds_on_reserve,
        odds_on_reserve_se,
        odds_turned_back,
        odds_turned_back_se,
        odds_stranded,
        odds_stranded_se,
        samples: doubt.map(|doubt| doubt.samples),
        litres_se: doubt.map(|doubt| doubt.spare.error),
        cans: cans(plan),
        plain_cans: doubt.map(|doubt| cans(&doubt.plain)),
    }
}

pub(super) fn hangs_on(plan: &Plan) -> Option<HangsOn> {
    let [says, _] = present::dry::hinge(plan, METRIC)?;
    plan.dry().hinge().map(|stop| HangsOn {
        node: stop.at.node(),
        place: plan.trip.place(stop.at.node()).name.to_owned(),
        strands: stop.at.strands(),
        says,
    })
}

pub(super) fn cans(plan: &Plan) -> Vec<Can> {
    plan.spare
        .cans
        .iter()
        .map(|kind| Can {
            size_l: kind.size,
            fill_l: kind.fill,
            count: kind.count,
            place: kind.place,
            to_buy: kind.to_buy,
        })
        .collect()
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Lesson {
    /// `road`, `road_with_roof`, `sand` or `low_range`.
    kind: &'static str,
    distance_km: Kilometres,
    /// The spare litres at the confidence as they are.
    spare_l: Litres,
    /// The same once that way was driven, on the mean over what it may find; what the way to and from such ground takes in
    /// the same fill is not counted.
    spare_then_l: Litres,
}

pub(super) fn learn(plan: &Plan) -> Vec<Lesson> {
    let lessons = plan.lessons().iter();
    lessons
        .map(|lesson| Lesson {
            kind: present::learn::key(lesson.kind),
            distance_km: lesson.distance,
            spare_l: lesson.spare[0],
            spare_then_l: lesson.spare[1],
        })
        .collect()
}

pub(super) fn drivers(doubt: &Doubt) -> Vec<Driver> {
    doubt
        .drivers()
        .iter()
        .map(|driver| Driver {
            cause: match driver.of {
                Uncertain::Unknown(unknown) => odds::unknown_key(unknown),
                Uncertain::Pump(_) => "pump",
            },
            node: match driver.of {
                Uncertain::Unknown(_) => None,
                Uncertain::Pump(node) => Some(node),
            },
            low_l: driver.low,
            high_l: driver.high,
            of_variance: driver.of_variance,
        })
        .collect()
}
