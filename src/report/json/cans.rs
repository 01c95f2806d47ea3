//! Fuel in cans in the JSON report: how much is needed, in which cans, what it depends on, and which calibration drives would reduce it.

use std::collections::BTreeMap;

use crate::model::vocabulary::CarryingPlace;
use crate::plan::learn::Lesson;
use crate::plan::{ChosenCans, Driver, Plan, Quantile, Uncertain};
use crate::present::{learn, load, odds};
use crate::quantity::{Kilometres, Litres, Share};

object! {
    pub(super) struct FuelInCans(
        plan: &Plan;
        in_cans = &plan.in_cans,
        doubt = plan.doubt.as_ref(),
        best_estimate = doubt.map(|doubt| &doubt.plain.in_cans)
    ) {
        /// Litres in cans that the plan needs, decanting losses included.
        needed_l: Litres = in_cans.needed,
        /// Its sampling error.
        needed_se_l: Option<Litres> = doubt.map(|doubt| doubt.in_cans.error),
        /// Litres in cans that the best-estimate plan needs, decanting losses included.
        best_estimate_l: Litres = best_estimate.unwrap_or(in_cans).needed,
        /// The same without the losses: what of it reaches the tank.
        best_estimate_tank_l: Litres = best_estimate.unwrap_or(in_cans).plain,
        carried_l: Litres = in_cans.carried,
        covers: bool = in_cans.covers,
        /// Success target.
        target: Share = plan.trip.rules().success_target(),
        /// Litres in cans that are enough, by success target.
        needed_at: Option<BTreeMap<String, Litres>> = by_target(plan, |needed| needed.litres),
        /// Their sampling errors.
        needed_at_se: Option<BTreeMap<String, Litres>> = by_target(plan, |needed| needed.error),
        simulated_trips: Option<usize> = doubt.map(|doubt| doubt.samples),
        chosen: Vec<Can> = in_cans.cans.iter().map(Can::new).collect(),
        /// Cans of the best-estimate plan.
        best_estimate_chosen: Option<Vec<Can>> = best_estimate.map(|in_cans| in_cans.cans.iter().map(Can::new).collect()),
        /// `null` where none are carried.
        why_these_cans: Option<String> = load::why_these_cans(plan),
    }
}

object! {
    /// Equal cans.
    struct Can(kind: &ChosenCans) {
        size_l: Litres = kind.size,
        fill_l: Litres = kind.fill,
        count: u32 = kind.count,
        place: CarryingPlace = kind.place,
        to_buy: u32 = kind.to_buy,
    }
}

object! {
    /// What one uncertain input does to the fuel in cans.
    pub(super) struct UncertainInput(
        driver: &Driver;
        (cause, place_number) = match driver.of {
            Uncertain::Unknown(unknown) => (odds::unknown_key(unknown), None),
            Uncertain::FuelStop(place_number) => ("fuel_stop", Some(place_number)),
        }
    ) {
        /// `fuel_stop` for whether there is fuel at `place_number`.
        cause: &'static str = cause,
        /// Place of the fuel stop.
        place_number: Option<usize> = place_number,
        /// Litres in cans with the input at its 5th percentile and all others at their medians; if the fuel stop is confirmed.
        low_l: Litres = driver.low,
        /// The same at its 95th percentile; if the fuel stop has no fuel.
        high_l: Litres = driver.high,
        /// Share of the variance that goes when it is known; `null` for a fuel stop, on which the plan does not rely.
        of_variance: Option<Share> = driver.of_variance,
    }
}

object! {
    /// A drive from full tank to full tank, before setting out, that would reduce the uncertainty.
    pub(super) struct CalibrationDrive(drive: &Lesson) {
        /// `road`, `road_with_roof`, `sand` or `low_range`.
        kind: &'static str = learn::key(drive.kind),
        distance_km: Kilometres = drive.distance,
        /// Litres in cans at the success target as things are.
        needed_l: Litres = drive.in_cans[0],
        /// Litres needed in cans after that drive, the mean over what it may find.
        needed_then_l: Litres = drive.in_cans[1],
    }
}

/// Some litres of each success target.
fn by_target(plan: &Plan, litres: fn(&Quantile) -> Litres) -> Option<BTreeMap<String, Litres>> {
    let rows = plan.doubt.as_ref()?.by_target.iter();
    let by_target = rows.map(|(target, needed)| (format!("{:.2}", target.get()), litres(needed)));
    Some(by_target.collect())
}
