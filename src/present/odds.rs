//! What the samples say, in words and rows: how it ends, spare litres by success target, what moves them.

use super::finding::node_name;
use super::number::{Toward, Units, odds};
use crate::plan::doubt::Doubt;
use crate::plan::{Driver, Odds, Outcomes, Plan, Uncertain, Unknown};
use crate::quantity::{Litres, Share};
use crate::solver::fuel::ROUNDING;

/// What the litres are.
const LITRES: &str =
    "Litres are usable fuel, tank and cans together. Leg figures are best estimates.";

/// What the figures of a plan rest on.
pub(crate) fn basis(plan: &Plan) -> String {
    if plan.doubt.is_some() {
        return LITRES.to_owned();
    }
    format!(
        "Best-estimate plan: nothing is simulated, so there are no probabilities and no fuel checks. {LITRES}"
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

/// `8,192`.
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

/// `98.7 % +-0.1`.
pub(crate) fn with_error(of: Odds) -> String {
    format!("{} +-{:.1}", odds(of.share), error(of))
}

/// The standard error in per cent; never shown as nothing.
fn error(of: Odds) -> f64 {
    (of.error.get() * 100.0).max(0.1)
}

/// How a trip ends.
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

/// How simulated trips end, as a sentence; those turned back are one share, and luck is mentioned where it is counted.
pub(crate) fn sentence(doubt: &Doubt) -> String {
    let outcomes = &doubt.outcomes;
    let turned_back = Share::new(
        outcomes.turned_back_reserve_intact.share.get()
            + outcomes.turned_back_using_reserve.share.get(),
    );
    let luck = if doubt.outcomes == doubt.outcomes_without_luck {
        String::new()
    } else {
        let without = odds(doubt.outcomes_without_luck.finish_reserve_intact.share);
        format!(
            " This counts fuel found at stops that are not relied on; without it {without} finish with the reserve intact."
        )
    };
    format!(
        "Of {} simulated trips, {} finish with the reserve intact, {} finish using the reserve, {} are turned back by a \
         fuel check, and {} run out of fuel.{luck}",
        thousands(outcomes.trips),
        odds(outcomes.finish_reserve_intact.share),
        odds(outcomes.finish_using_reserve.share),
        odds(turned_back),
        odds(outcomes.ran_out.share),
    )
}

/// What the best-estimate plan needs in cans, to be read beside the target plan.
pub(crate) fn best_estimate_beside(doubt: &Doubt, units: Units) -> String {
    let spare = &doubt.plain.spare;
    let short = if spare.short_at_start > ROUNDING {
        format!(
            "{} short at the start, ",
            units.fuel(spare.short_at_start, Toward::Up)
        )
    } else {
        String::new()
    };
    let needed = if spare.needed > ROUNDING {
        format!(
            "{} in cans ({})",
            units.spare(spare.needed, Toward::Up),
            super::verdict::cans(&spare.cans)
        )
    } else {
        "no fuel in cans".to_owned()
    };
    format!("Best estimate, without uncertainty: {short}{needed}.")
}

/// Spare litres that are enough at a success target.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct TargetRow {
    /// `95 %`.
    pub(crate) success_target: String,
    /// The litres, without their unit.
    pub(crate) litres: String,
    /// Their sampling error.
    pub(crate) error: String,
}

/// Spare litres by success target.
pub(crate) fn by_target(doubt: &Doubt, units: Units) -> Vec<TargetRow> {
    doubt
        .by_target
        .iter()
        .map(|(success_target, spare)| TargetRow {
            success_target: odds(*success_target),
            litres: units.spare(spare.litres, Toward::Up).number,
            error: units.spare(spare.error, Toward::Up).number,
        })
        .collect()
}

/// How many lines the odds take: the ends, the confidences, the plain plan beside, each unknown.
pub(crate) fn line_count(doubt: &Doubt) -> usize {
    // The drivers, and behind them what to learn and how that is meant.
    let bars = |drivers| acting(drivers).len() + 5;
    ends(&doubt.outcomes).len() + 2 + doubt.known_drivers().map_or(0, bars)
}

/// What one unknown does.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DriverRow {
    pub(crate) name: String,
    /// Spare litres at its low end, without their unit.
    pub(crate) low: String,
    /// The same at its high end.
    pub(crate) high: String,
    /// The share of the spread that goes when it is known; nothing for a pump, on which the plan does not hang.
    pub(crate) of_spread: Option<String>,
    /// Where a bar from the low to the high end begins and ends, as shares of the longest.
    pub(crate) bar: [Share; 2],
}

impl DriverRow {
    /// Where the bar begins and ends among so many columns.
    pub(crate) fn columns(&self, width: usize) -> [usize; 2] {
        self.bar.map(|share| {
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "clamped to the columns there are"
            )]
            let at = (share.get() * width as f64)
                .round()
                .clamp(0.0, width as f64) as usize;
            at
        })
    }
}

/// Those that do something; none where no unknown alone asks for spare fuel at either of its ends.
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

/// The most spare litres that any unknown alone asks for.
fn most(drivers: &[Driver]) -> Litres {
    let ends = drivers.iter().map(|driver| driver.low.max(driver.high));
    ends.fold(Litres::ZERO, Litres::max)
}

/// What each unknown does to the spare litres, those that do most first; those that do nothing are left out.
pub(crate) fn drivers(plan: &Plan, doubt: &Doubt, units: Units) -> Vec<DriverRow> {
    let most = most(doubt.drivers());
    let all = acting(doubt.drivers());
    let part = |litres: Litres| {
        Share::new(if most > Litres::ZERO {
            litres / most
        } else {
            0.0
        })
    };
    all.into_iter()
        .map(|driver| DriverRow {
            name: uncertain(driver.of, plan),
            low: units.spare(driver.low, Toward::Nearest).number,
            high: units.spare(driver.high, Toward::Nearest).number,
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
        Uncertain::Pump(node) => format!("pump of {}", node_name(plan, node)),
    }
}

/// An unknown in words, and by its key in JSON.
const fn unknown(unknown: Unknown) -> [&'static str; 2] {
    match unknown {
        Unknown::Base => ["base figure", "baseline"],
        Unknown::Day => ["from day to day", "day"],
        Unknown::Ground => ["ground", "surface"],
        Unknown::Sand => ["softness of sand", "sand"],
        Unknown::Dunes => ["softness of dunes", "dunes"],
        Unknown::SandShare => ["how much sand", "sand_share"],
        Unknown::LowRangeShare => ["how much low range", "low_range_share"],
        Unknown::LowRange => ["low-range rate", "low_range"],
        Unknown::Wind => ["wind", "wind"],
        Unknown::Speed => ["driving speed", "speed"],
        Unknown::Cold => ["cold", "cold"],
        Unknown::Distance => ["driven distance", "distance"],
        Unknown::Idle => ["idling", "idling"],
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
