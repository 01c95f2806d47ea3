//! Legs of the JSON report.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use crate::consumption::causes::Cause;
use crate::plan::{Plan, PlannedLeg};
use crate::quantity::{Factor, Kilometres, Litres, LitresPer100Km, Share};

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
    /// Factor of each cause over the baseline; their product times the baseline is the leg's consumption.
    multipliers: Option<BTreeMap<&'static str, Factor>>,
    /// Litres of the leg without each cause.
    without_l: BTreeMap<&'static str, Litres>,
    start_l: Litres,
    end_l: Litres,
    /// Gauge reading on arrival, unusable fuel included.
    end_tank_l: Litres,
    end_cans_l: Litres,
    /// Minimum on arrival: reserve and contingency.
    reserve_l: Litres,
    /// Reserve on arrival, without the contingency: outcomes are judged by it.
    fixed_reserve_l: Litres,
    below_reserve: bool,
    /// Share of simulated trips that use the reserve for the first time on this leg.
    share_first_below_reserve: Option<Share>,
    /// Percentiles of the fuel on arrival in the simulated trips that find fuel at every stop relied on, as in `fuel_checks`.
    end_l_p05: Option<Litres>,
    end_l_p50: Option<Litres>,
    end_l_p95: Option<Litres>,
    /// The leg's litres are `use_empty_l + use_slope * usable litres at its start`.
    use_empty_l: Litres,
    use_slope: Share,
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
                fixed_reserve_l: fixed_reserve(plan, leg),
                below_reserve: leg.below_reserve,
                share_first_below_reserve: doubt.map(|doubt| doubt.first_below[leg.n - 1].share),
                end_l_p05: band.map(|band| band.low),
                end_l_p50: band.map(|band| band.middle),
                end_l_p95: band.map(|band| band.high),
                use_empty_l: leg.use_empty,
                use_slope: leg.use_slope,
            }
        })
        .collect()
}

/// The minimum at the end of a leg less the contingency, which is a share of the fuel from there to the end of the stage.
fn fixed_reserve(plan: &Plan, leg: &PlannedLeg) -> Litres {
    let stage = plan
        .stretches
        .iter()
        .find(|stage| stage.from < leg.n && leg.n < stage.to);
    let ahead: Litres = stage.map_or(Litres::ZERO, |stage| {
        plan.legs[leg.n..stage.to].iter().map(|leg| leg.fuel).sum()
    });
    leg.reserve - ahead * plan.trip.rules().reserve_share().get()
}
