//! The results of the simulation in words and rows: outcomes, fuel in cans by success target, what it depends on.

use super::finding::place_name;
use super::name::plain;
use super::number::{Toward, Units, cells, odds, outcome};
use crate::plan::doubt::Doubt;
use crate::plan::{Driver, Odds, Outcomes, Plan, Uncertain, Unknown};
use crate::quantity::{Litres, Share};
use crate::solver::fuel::ROUNDING;

/// What the litres of a report mean, and what a best-estimate plan lacks.
pub(crate) fn basis(plan: &Plan, units: Units) -> String {
    let litres = if units.fuel_unit() == "L" {
        "Litres are usable fuel, tank and cans together. Leg figures are best estimates."
    } else {
        "Gallons are usable fuel, tank and cans together. Can sizes are in litres, as stamped on them. Leg figures are best \
         estimates."
    };
    let notice = plan
        .trip
        .notice
        .as_deref()
        .map(|notice| format!(" {}.", plain(notice)));
    let litres = format!("{litres}{}", notice.unwrap_or_default());
    if plan.doubt.is_some() {
        return litres;
    }
    format!(
        "Best-estimate plan: nothing is simulated, so there are no probabilities and no fuel checks. {litres}"
    )
}

/// Of which simulated trips the fuel on board is shown, if not of all of them.
pub(crate) fn if_fuel(plan: &Plan) -> &'static str {
    let mut relied_on = plan.stops.iter().filter(|stop| stop.counted);
    if plan.doubt.is_some() && relied_on.any(|stop| stop.chance < Share::new(1.0)) {
        " with fuel at every stop relied on"
    } else {
        ""
    }
}

/// A count with commas between thousands, as in `8,192`.
pub(crate) fn thousands(n: usize) -> String {
    let digits = n.to_string();
    let mut text = String::with_capacity(digits.len() + digits.len() / 3);
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

/// `98.7 % +-0.1`; no error beside `<` and `>`, but its blanks, so that a column stays straight.
pub(crate) fn with_error(of: Odds) -> String {
    let share = outcome(of.share);
    if share.starts_with(['<', '>']) {
        format!("{share}      ")
    } else {
        format!("{share} +-{:.1}", error(of))
    }
}

/// The standard error in per cent; never shown as nothing.
fn error(of: Odds) -> f64 {
    (of.error.get() * 100.0).max(0.1)
}

/// How a simulated trip ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ending {
    FinishIntact,
    FinishUsing,
    TurnedBackIntact,
    TurnedBackUsing,
    RanOut,
}

impl Ending {
    pub(crate) const fn words(self) -> &'static str {
        match self {
            Self::FinishIntact => "finish, reserve intact",
            Self::FinishUsing => "finish, using the reserve",
            Self::TurnedBackIntact => "turned back, reserve intact",
            Self::TurnedBackUsing => "turned back, using the reserve",
            Self::RanOut => "run out of fuel",
        }
    }
}

impl std::fmt::Display for Ending {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.words())
    }
}

/// How simulated trips end, each end with its share.
pub(crate) fn ends(outcomes: &Outcomes) -> [(Ending, Odds); 5] {
    [
        (Ending::FinishIntact, outcomes.finish_reserve_intact),
        (Ending::FinishUsing, outcomes.finish_using_reserve),
        (
            Ending::TurnedBackIntact,
            outcomes.turned_back_reserve_intact,
        ),
        (Ending::TurnedBackUsing, outcomes.turned_back_using_reserve),
        (Ending::RanOut, outcomes.ran_out),
    ]
}

/// How simulated trips end, as a sentence; those turned back are one share. Where the target is met only with fuel from
/// stops that are not relied on, a second sentence has the share without it.
pub(crate) fn sentence(doubt: &Doubt) -> String {
    let outcomes = &doubt.outcomes;
    let turned_back = Share::new(
        outcomes.turned_back_reserve_intact.share.get()
            + outcomes.turned_back_using_reserve.share.get(),
    );
    let without = doubt.outcomes_without_luck.finish_reserve_intact.share;
    let luck = if doubt.outcomes == doubt.outcomes_without_luck || without >= doubt.success_target {
        String::new()
    } else {
        format!(
            " Without fuel from stops that are not relied on, {} finish with the reserve intact.",
            outcome(without)
        )
    };
    format!(
        "Of {} simulated trips, {} finish with the reserve intact, {} finish using the reserve, {} turn back at a fuel \
         check, and {} run out of fuel.{luck}",
        thousands(outcomes.trips),
        outcome(outcomes.finish_reserve_intact.share),
        outcome(outcomes.finish_using_reserve.share),
        outcome(turned_back),
        outcome(outcomes.ran_out.share),
    )
}

/// What the best-estimate plan needs in cans, to be read beside the target plan.
pub(crate) fn best_estimate_beside(doubt: &Doubt, units: Units) -> String {
    let in_cans = &doubt.best_estimate.in_cans;
    let is_needed = in_cans.needed > ROUNDING;
    let mut parts = Vec::new();
    if in_cans.short_at_start > ROUNDING {
        let short = units.fuel(in_cans.short_at_start, Toward::Up);
        parts.push(format!("{short} short"));
    }
    // Under way the cans are those on board, and more than the fuel that is still needed in them.
    let is_under_way = doubt.best_estimate.progress.is_some();
    if is_needed && !in_cans.cans.is_empty() && !is_under_way {
        parts.push(format!(
            "{} in cans ({})",
            units.fuel_tenths(in_cans.needed, Toward::Up),
            super::verdict::carried(&in_cans.cans)
        ));
    } else if is_needed {
        let needed = units.fuel_tenths(in_cans.needed, Toward::Up);
        parts.push(format!("{needed} in cans"));
    } else if parts.is_empty() {
        parts.push("no fuel in cans".to_owned());
    }
    format!("Best estimate, without uncertainty: {}.", parts.join(", "))
}

/// Fuel in cans that a success target needs.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct TargetRow {
    /// The target in per cent, as in `95 %`.
    pub(crate) success_target: String,
    pub(crate) needed: Litres,
    /// The litres, without their unit.
    pub(crate) litres: String,
    /// Their sampling error.
    pub(crate) error: String,
}

/// Fuel in cans by success target.
pub(crate) fn by_target(doubt: &Doubt, units: Units) -> Vec<TargetRow> {
    doubt
        .by_target
        .iter()
        .map(|(success_target, in_cans)| TargetRow {
            success_target: odds(*success_target),
            needed: in_cans.litres,
            litres: units.fuel_tenths(in_cans.litres, Toward::Up).number,
            error: units.fuel_tenths(in_cans.error, Toward::Up).number,
        })
        .collect()
}

/// The success target of the plan, as the rows of [`by_target`] have it.
pub(crate) fn target_name(doubt: &Doubt) -> String {
    odds(doubt.success_target)
}

/// What one uncertain input does to the fuel in cans.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DriverRow {
    pub(crate) name: String,
    /// Fuel in cans at its low end, without the unit.
    pub(crate) low: String,
    /// Fuel in cans at its high end, without the unit.
    pub(crate) high: String,
    /// Its share of the variance; `None` for a fuel stop, on which the plan does not rely.
    pub(crate) of_spread: Option<String>,
    /// Where a bar from the low to the high end begins and ends, as shares of the longest.
    pub(crate) bar: [Share; 2],
}

impl DriverRow {
    /// Where the bar begins and ends among so many columns.
    pub(crate) fn columns(&self, width: usize) -> [usize; 2] {
        self.bar.map(|share| cells(share, width))
    }
}

/// Those that have an effect; none where no uncertain input alone makes the trip need fuel in cans.
fn acting(drivers: &[Driver]) -> Vec<&Driver> {
    const HARDLY: Litres = Litres::new(0.05);
    let acts = |driver: &&Driver| {
        let moves = driver.of_variance.is_some_and(|share| share.get() > 0.005);
        moves || (driver.high - driver.low).abs() > HARDLY
    };
    if most(drivers) > HARDLY {
        drivers.iter().filter(acts).collect()
    } else {
        Vec::new()
    }
}

/// The most fuel in cans that any uncertain input alone makes the trip need.
fn most(drivers: &[Driver]) -> Litres {
    let ends = drivers.iter().map(|driver| driver.low.max(driver.high));
    ends.fold(Litres::ZERO, Litres::max)
}

/// What the columns of fuel on arrival mean.
pub(crate) const BANDS: &str = "5 %, 50 %, 95 %: the share of trips with less. Reserve used: the share that first uses the \
                                reserve there.";

/// How the table of uncertain inputs is read.
pub(crate) fn how_to_read_drivers(units: Units) -> String {
    let unit = if units.fuel_unit() == "L" {
        "Litres"
    } else {
        "Gallons"
    };
    format!(
        "{unit} needed in cans with one input at its 5 % and its 95 % value, the others at their median. For a fuel stop: with \
         fuel, and with none. Variance: the input's share of it (-: none)."
    )
}

/// What each uncertain input does to the fuel in cans, the largest effect first; those without effect are left out.
pub(crate) fn drivers(plan: &Plan, doubt: &Doubt, units: Units) -> Vec<DriverRow> {
    let most = most(doubt.drivers());
    let all = acting(doubt.drivers());
    let part = |litres: Litres| Share::new(litres.part_of(most).unwrap_or(0.0));
    all.into_iter()
        .map(|driver| DriverRow {
            name: uncertain(driver.of, plan),
            low: units.fuel_tenths(driver.low, Toward::Nearest).number,
            high: units.fuel_tenths(driver.high, Toward::Nearest).number,
            of_spread: driver
                .of_variance
                .map(|share| super::number::percent(share).to_string()),
            bar: [
                part(driver.low.min(driver.high)),
                part(driver.low.max(driver.high)),
            ],
        })
        .collect()
}

fn uncertain(of: Uncertain, plan: &Plan) -> String {
    match of {
        Uncertain::Unknown(of) => unknown(of)[0].to_owned(),
        Uncertain::FuelStop(place_number) => format!("fuel at {}", place_name(plan, place_number)),
    }
}

/// An uncertain input in words, and by its key in JSON.
const fn unknown(unknown: Unknown) -> [&'static str; 2] {
    match unknown {
        Unknown::Base => ["baseline consumption", "baseline"],
        Unknown::Day => ["day-to-day variation", "day"],
        Unknown::Surface => ["surface", "surface"],
        Unknown::Sand => ["softness of sand", "sand"],
        Unknown::Dunes => ["softness of dunes", "dunes"],
        Unknown::SandShare => ["sand share", "sand_share"],
        Unknown::LowRangeShare => ["low-range share", "low_range_share"],
        Unknown::LowRange => ["low-range consumption", "low_range"],
        Unknown::Wind => ["wind", "wind"],
        Unknown::Speed => ["driving speed", "speed"],
        Unknown::Cold => ["cold", "cold"],
        Unknown::Distance => ["distance", "distance"],
        Unknown::Idle => ["idling", "idling"],
        Unknown::UnknownSurface => ["unknown surface", "unknown_surface"],
    }
}

/// JSON key of an uncertain input.
pub(crate) const fn unknown_key(of: Unknown) -> &'static str {
    let [_, key] = unknown(of);
    key
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thousands_are_set_off() {
        assert_eq!(
            [7, 999, 1000, 131_072, 1_000_000].map(thousands),
            ["7", "999", "1,000", "131,072", "1,000,000"]
        );
    }
}
