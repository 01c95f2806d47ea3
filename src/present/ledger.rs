//! What the fuel in cans is for, in words: each part with its legs.
//!
//! Shares below a litre are added up in one line; the lines are those of [`Ledger::rows`] in their order.

use super::finding::place_name;
use super::number::{Figure, Toward, Units};
use super::verdict::counted;
use super::why;
use crate::plan::ledger::{Ledger, LedgerPart, LedgerRow};
use crate::plan::{Cause, Plan};
use crate::quantity::{Litres, Share};
use crate::solver::fuel::ROUNDING;

/// The title of the lines.
pub(crate) const TITLE: &str = "What the fuel in cans is for";

/// The least share with a line or a leg of its own: a can is not left at home for less.
const SHOWS: Litres = Litres::new(1.0);
/// The least sum of the smaller shares with a line.
const SUM_SHOWS: Litres = Litres::new(0.05);
/// Most legs named with a part.
const MOST: usize = 3;

/// One part of the fuel in cans.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct LedgerLine {
    pub(crate) part: &'static str,
    pub(crate) litres: Figure,
    /// The legs that have most of it: `8.1 L on leg 4, 1.1 L on leg 5`; empty without any.
    pub(crate) legs: String,
    /// What would be needed without it, if it is a cause.
    pub(crate) without: Option<String>,
    /// Its share as a part of the largest; below 0 if it saves fuel.
    pub(crate) of_most: Share,
}

impl LedgerLine {
    /// The line as a sentence.
    pub(crate) fn sentence(&self) -> String {
        let legs = if self.legs.is_empty() {
            String::new()
        } else {
            format!(" ({})", self.legs)
        };
        let without = self
            .without
            .as_ref()
            .map_or_else(String::new, |without| format!("; without it {without}"));
        format!("{}: {}{legs}{without}.", self.part, self.litres)
    }
}

/// The name of a part.
pub(crate) fn part(part: LedgerPart) -> &'static str {
    match part {
        LedgerPart::Way => "distance and reserve",
        LedgerPart::Cause(Cause::Roof) => "roof load",
        LedgerPart::Cause(Cause::Climb) => "climbs",
        LedgerPart::Cause(Cause::Extras) => "air-con, idling and camp",
        LedgerPart::Cause(cause) => why::name(cause),
        LedgerPart::Detours => "detours to fuel stops",
        LedgerPart::Decanting => "decanting loss",
        LedgerPart::Percent => "contingency",
        LedgerPart::Doubt => "uncertainty margin",
        LedgerPart::Checks => "margin for the fuel checks",
    }
}

/// On which stage it is needed, and how the lines are read.
pub(crate) fn how_to_read(ledger: &Ledger, plan: &Plan, units: Units) -> Option<String> {
    let (from, to) = ledger.stage?;
    Some(format!(
        "{} needed from {} to {}, shared among the causes (Shapley values). \"Without it\" is what the trip would then need \
         in cans; below 0: the cause saves fuel.",
        super::verdict::needed_of(ledger.in_cans, plan, units),
        place_name(plan, from),
        place_name(plan, to),
    ))
}

/// The parts, largest first, then the sum of those below a litre; none if no fuel in cans is needed.
pub(crate) fn lines(ledger: &Ledger, units: Units) -> Vec<LedgerLine> {
    let rows = ledger.rows.iter();
    let most = rows
        .clone()
        .map(|row| row.litres.abs())
        .fold(SHOWS, Litres::max);
    let shown = rows.filter(|row| row.litres.abs() >= SHOWS);
    let lines = shown.map(|row| LedgerLine {
        part: part(row.part),
        litres: units.fuel_tenths(row.litres, Toward::Nearest),
        legs: legs(row, units),
        without: without(row, units),
        of_most: Share::new(row.litres / most),
    });
    let rest = smaller(ledger).map(|litres| LedgerLine {
        part: "smaller causes together",
        litres: units.fuel_tenths(litres, Toward::Nearest),
        legs: String::new(),
        without: None,
        of_most: Share::new(litres / most),
    });
    lines.chain(rest).collect()
}

/// The sum of the shares without a line of their own; `None` if it is nothing.
fn smaller(ledger: &Ledger) -> Option<Litres> {
    let rows = ledger.rows.iter().map(|row| row.litres);
    let sum: Litres = rows.filter(|litres| litres.abs() < SHOWS).sum();
    (ledger.stage.is_some() && sum.abs() >= SUM_SHOWS).then_some(sum)
}

fn legs(row: &LedgerRow, units: Units) -> String {
    let shown = row.legs.iter().filter(|(_, litres)| litres.abs() >= SHOWS);
    let legs = shown.take(MOST).map(|&(leg, litres)| {
        let litres = units.fuel_tenths(litres, Toward::Nearest);
        format!("{litres} on leg {leg}")
    });
    legs.collect::<Vec<_>>().join(", ")
}

fn without(row: &LedgerRow, units: Units) -> Option<String> {
    let litres = row.without?;
    let needed = if litres > ROUNDING {
        units.fuel_tenths(litres, Toward::Up).to_string()
    } else {
        "none".to_owned()
    };
    let fewer = match row.cans_fewer {
        Some(cans) if cans > 0 => format!(", {} fewer", counted(cans, "can", "cans")),
        _ => String::new(),
    };
    Some(format!("{needed}{fewer}"))
}
