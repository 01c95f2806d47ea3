//! What the samples say, in words and rows: how it ends, spare litres by confidence, what moves them.

use super::finding::node_name;
use super::number::{Toward, Units, odds};
use crate::plan::doubt::Doubt;
use crate::plan::{Driver, Odds, Plan, Uncertain, Unknown};
use crate::quantity::{Litres, Share};
use crate::solver::fuel::ROUNDING;

/// What stands at the head of a plan that takes everything at its likely value.
const PLAIN_PLAN: &str = "Plain plan: everything at its likely value; the odds are not computed. \
                          Fuel is usable fuel, tank and cans.";

/// What the figures of a plan rest on.
pub fn basis(plan: &Plan) -> String {
    plan.doubt.as_ref().map_or_else(
        || PLAIN_PLAN.to_owned(),
        |doubt| {
            format!(
                "Laid out to go through, the fixed reserve untouched, in {} of {} draws of what is not known; \
                 litres of legs are the likely ones. Fuel is usable fuel, tank and cans.",
                odds(doubt.confidence),
                thousands(doubt.samples),
            )
        },
    )
}

/// `8,192`.
pub fn thousands(n: usize) -> String {
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
pub fn with_error(of: Odds) -> String {
    format!("{} +-{:.1}", odds(of.share), error(of))
}

/// The standard error in per cent; never shown as nothing.
fn error(of: Odds) -> f64 {
    (of.error.get() * 100.0).max(0.1)
}

/// How a trip ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// At the finish, the fixed reserve untouched all the way.
    Through,
    /// At the finish, with less somewhere.
    OnReserve,
    /// Back at a pump behind, from one that was dry.
    TurnedBack,
    /// Out of fuel.
    Stranded,
}

impl Ending {
    /// It in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Through => "through, the reserve untouched",
            Self::OnReserve => "through, but on the reserve",
            Self::TurnedBack => "back at a pump behind",
            Self::Stranded => "out of fuel on the way",
        }
    }
}

impl std::fmt::Display for Ending {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.words())
    }
}

/// How it ends, each end with its odds; turning back only where the plan counts on it.
pub fn ends(doubt: &Doubt) -> Vec<(Ending, Odds)> {
    let mut ends = vec![
        (Ending::Through, doubt.through),
        (Ending::OnReserve, doubt.on_reserve),
        (Ending::TurnedBack, doubt.turned_back),
        (Ending::Stranded, doubt.stranded),
    ];
    ends.retain(|(end, _)| doubt.turns_back || *end != Ending::TurnedBack);
    ends
}

/// How it ends, as a sentence.
pub fn sentence(doubt: &Doubt) -> String {
    let back = if doubt.turns_back {
        format!(
            ", {} turned back from a dry pump",
            odds(doubt.turned_back.share)
        )
    } else {
        String::new()
    };
    format!(
        "Odds: {} through with the reserve untouched, {} through on the reserve{back}, {} out of fuel.",
        odds(doubt.through.share),
        odds(doubt.on_reserve.share),
        odds(doubt.stranded.share),
    )
}

/// What the plain plan would have, to be read beside the plan at the confidence.
pub fn plain_beside(doubt: &Doubt, units: Units) -> String {
    let spare = &doubt.plain.spare;
    let needed = if spare.needed > ROUNDING {
        format!(
            "{} of spare fuel needed",
            units.spare(spare.needed, Toward::Up)
        )
    } else {
        "no spare fuel needed".to_owned()
    };
    let short = if spare.short_at_start > ROUNDING {
        format!(
            "{} short at the start, ",
            units.fuel(spare.short_at_start, Toward::Up)
        )
    } else {
        String::new()
    };
    format!(
        "Plain plan beside it, everything as likely: {short}{needed}, {}.",
        super::verdict::cans(&spare.cans),
    )
}

/// Spare litres that are enough at a confidence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ConfidenceRow {
    /// `95 %`.
    pub confidence: String,
    /// The litres, without their unit.
    pub litres: String,
    /// Their sampling error.
    pub error: String,
}

/// Spare litres by confidence.
pub fn by_confidence(doubt: &Doubt, units: Units) -> Vec<ConfidenceRow> {
    doubt
        .by_confidence
        .iter()
        .map(|(confidence, spare)| ConfidenceRow {
            confidence: odds(*confidence),
            litres: units.spare(spare.litres, Toward::Up).number,
            error: units.spare(spare.error, Toward::Up).number,
        })
        .collect()
}

/// How many lines the odds take: the ends, the confidences, the plain plan beside, each unknown.
pub fn line_count(doubt: &Doubt) -> usize {
    // The drivers, and behind them what to learn and how that is meant.
    let bars = |drivers| acting(drivers).len() + 5;
    ends(doubt).len() + 2 + doubt.known_drivers().map_or(0, bars)
}

/// What one unknown does.
#[derive(Clone, Debug, PartialEq)]
pub struct DriverRow {
    /// What is not known, in words.
    pub name: String,
    /// Spare litres at its low end, without their unit.
    pub low: String,
    /// The same at its high end.
    pub high: String,
    /// The share of the spread that goes when it is known; nothing for a pump, on which the plan does not hang.
    pub of_spread: Option<String>,
    /// Where a bar from the low to the high end begins and ends, as shares of the longest.
    pub bar: [Share; 2],
}

impl DriverRow {
    /// Where the bar begins and ends among so many columns.
    pub fn columns(&self, width: usize) -> [usize; 2] {
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
pub fn drivers(plan: &Plan, doubt: &Doubt, units: Units) -> Vec<DriverRow> {
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

/// What is not known, in words.
fn uncertain(of: Uncertain, plan: &Plan) -> String {
    match of {
        Uncertain::Unknown(of) => unknown(of).to_owned(),
        Uncertain::Pump(node) => format!("pump of {}", node_name(plan, node)),
    }
}

/// An unknown in words.
const fn unknown(unknown: Unknown) -> &'static str {
    match unknown {
        Unknown::Base => "base figure",
        Unknown::Day => "from day to day",
        Unknown::Ground => "ground",
        Unknown::Sand => "softness of sand",
        Unknown::SandShare => "how much sand",
        Unknown::LowRangeShare => "how much low range",
        Unknown::LowRange => "low-range rate",
        Unknown::Wind => "wind",
        Unknown::Distance => "driven distance",
        Unknown::Idle => "idling",
    }
}

/// The JSON key of an unknown.
pub const fn unknown_key(unknown: Unknown) -> &'static str {
    match unknown {
        Unknown::Base => "base",
        Unknown::Day => "day",
        Unknown::Ground => "ground",
        Unknown::Sand => "sand",
        Unknown::SandShare => "sand_share",
        Unknown::LowRangeShare => "low_range_share",
        Unknown::LowRange => "low_range",
        Unknown::Wind => "wind",
        Unknown::Distance => "distance",
        Unknown::Idle => "idle",
    }
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
