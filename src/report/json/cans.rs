//! Fuel in cans in the JSON report: how much is needed, in which cans, what it depends on, and which drives would tell more.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use crate::model::vocabulary::CarryingPlace;
use crate::plan::doubt::Doubt;
use crate::plan::{Plan, Quantile, Uncertain};
use crate::present::{self, odds};
use crate::quantity::{Kilometres, Litres, Share};

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct FuelInCans {
    /// Litres in cans that the plan needs, decanting losses included.
    needed_l: Litres,
    /// Its sampling error.
    needed_se_l: Option<Litres>,
    /// Litres in cans that the best-estimate plan needs, decanting losses included.
    best_estimate_l: Litres,
    /// The same without the losses: what of it reaches the tank.
    best_estimate_tank_l: Litres,
    carried_l: Litres,
    covers: bool,
    /// Success target.
    target: Share,
    /// Litres in cans that are enough, by success target.
    needed_at: Option<BTreeMap<String, Litres>>,
    /// Their sampling errors.
    needed_at_se: Option<BTreeMap<String, Litres>>,
    simulated_trips: Option<usize>,
    chosen: Vec<Can>,
    /// Cans of the best-estimate plan.
    best_estimate_chosen: Option<Vec<Can>>,
    /// `null` where none are carried.
    why_these_cans: Option<String>,
}

/// Equal cans.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Can {
    size_l: Litres,
    fill_l: Litres,
    count: u32,
    place: CarryingPlace,
    to_buy: u32,
}

/// What one uncertain input does to the fuel in cans.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct UncertainInput {
    /// `fuel_stop` for whether there is fuel at `place_number`.
    cause: &'static str,
    /// Place of the fuel stop.
    place_number: Option<usize>,
    /// Litres in cans with the input at its 5th percentile and all others at their medians; if the fuel stop is confirmed.
    low_l: Litres,
    /// The same at its 95th percentile; if the fuel stop has no fuel.
    high_l: Litres,
    /// Share of the variance that goes when it is known; `null` for a fuel stop, on which the plan does not rely.
    of_variance: Option<Share>,
}

/// A drive from full tank to full tank, before setting out, that would reduce the uncertainty.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct CalibrationDrive {
    /// `road`, `road_with_roof`, `sand` or `low_range`.
    kind: &'static str,
    distance_km: Kilometres,
    /// Litres in cans at the success target as things are.
    needed_l: Litres,
    /// The same after that drive, the mean over all that it may show; the way to and from such ground is left out.
    needed_then_l: Litres,
}

pub(super) fn cans(plan: &Plan) -> FuelInCans {
    let doubt = plan.doubt.as_ref();
    let best_estimate = doubt.map_or(plan, |doubt| doubt.plain.as_ref());
    let by_target = |litres: fn(&Quantile) -> Litres| {
        doubt.map(|doubt| {
            let rows = doubt.by_confidence.iter();
            rows.map(|(target, needed)| (format!("{:.2}", target.get()), litres(needed)))
                .collect()
        })
    };
    FuelInCans {
        needed_l: plan.spare.needed,
        needed_se_l: doubt.map(|doubt| doubt.spare.error),
        best_estimate_l: best_estimate.spare.needed,
        best_estimate_tank_l: best_estimate.spare.plain,
        carried_l: plan.spare.carried,
        covers: plan.spare.covers,
        target: plan.trip.rules().confidence(),
        needed_at: by_target(|needed| needed.litres),
        needed_at_se: by_target(|needed| needed.error),
        simulated_trips: doubt.map(|doubt| doubt.samples),
        chosen: chosen(plan),
        best_estimate_chosen: doubt.map(|doubt| chosen(&doubt.plain)),
        why_these_cans: present::load::why_these_cans(plan),
    }
}

fn chosen(plan: &Plan) -> Vec<Can> {
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

pub(super) fn calibration_drives(plan: &Plan) -> Vec<CalibrationDrive> {
    let drives = plan.lessons().iter();
    drives
        .map(|drive| CalibrationDrive {
            kind: present::learn::key(drive.kind),
            distance_km: drive.distance,
            needed_l: drive.spare[0],
            needed_then_l: drive.spare[1],
        })
        .collect()
}

pub(super) fn uncertain_inputs(doubt: &Doubt) -> Vec<UncertainInput> {
    doubt
        .drivers()
        .iter()
        .map(|driver| UncertainInput {
            cause: match driver.of {
                Uncertain::Unknown(unknown) => odds::unknown_key(unknown),
                Uncertain::Pump(_) => "fuel_stop",
            },
            place_number: match driver.of {
                Uncertain::Unknown(_) => None,
                Uncertain::Pump(node) => Some(node),
            },
            low_l: driver.low,
            high_l: driver.high,
            of_variance: driver.of_variance,
        })
        .collect()
}
