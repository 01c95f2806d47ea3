//! What the spare fuel is carried for, in words: each part with its legs, and what lies in which can.
//!
//! Shares below a tenth of a litre are left unsaid; the lines are those of [`Ledger::rows`] in their order.

use super::finding::node_name;
use super::number::{Figure, Toward, Units};
use super::verdict::counted;
use crate::plan::ledger::{Ledger, Part, Row};
use crate::plan::{Cause, Plan};
use crate::quantity::{Litres, Share};
use crate::solver::fuel::ROUNDING;

/// What the lines are about.
pub(crate) const TITLE: &str = "What the spare fuel is for";

/// A share of less is left unsaid.
const SHOWS: Litres = Litres::new(0.05);
/// Legs told with a part, and parts told with a can.
const MOST: usize = 3;

/// One part of the spare fuel.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct LedgerLine {
    pub(crate) part: &'static str,
    /// Its share.
    pub(crate) litres: Figure,
    /// The legs that have most of it: `leg 4 8.1, leg 5 1.1`; nothing where it is of no leg.
    pub(crate) legs: String,
    /// What would be needed without it, where it is a cause.
    pub(crate) without: Option<String>,
    /// Its share as a part of the largest; below 0 where it saves some.
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

/// What a part is called.
pub(crate) fn part(part: Part) -> &'static str {
    match part {
        Part::Way => "the way and the reserve themselves",
        Part::Cause(Cause::Surface) => "ground",
        Part::Cause(Cause::Pace) => "pace",
        Part::Cause(Cause::Sand) => "sand",
        Part::Cause(Cause::LowRange) => "low range",
        Part::Cause(Cause::Roof) => "what is on the roof",
        Part::Cause(Cause::Load) => "load",
        Part::Cause(Cause::Climb) => "climbs",
        Part::Cause(Cause::Air) => "height, thick air and wind",
        Part::Cause(Cause::Cold) => "cold",
        Part::Cause(Cause::Tyres) => "tyres",
        Part::Cause(Cause::Extras) => "air-conditioning, idling and camp",
        Part::Detours => "ways to pumps off the route",
        Part::Pouring => "what pouring loses",
        Part::Percent => "the per cent held back",
        Part::Doubt => "uncertainty margin",
        Part::Checks => "fuel checks",
    }
}

/// Where it is carried, and how the lines are read.
pub(crate) fn how_to_read(ledger: &Ledger, plan: &Plan, units: Units) -> Option<String> {
    let (from, to) = ledger.stretch?;
    Some(format!(
        "{} from {} to {}, split fairly among what asks for it; \"without it\" is the spare fuel that the trip would \
         need then",
        units.spare(ledger.spare, Toward::Up),
        node_name(plan, from),
        node_name(plan, to),
    ))
}

/// The parts, largest first; none when no spare fuel is needed.
pub(crate) fn lines(ledger: &Ledger, units: Units) -> Vec<LedgerLine> {
    let rows = ledger.rows.iter();
    let most = rows
        .clone()
        .map(|row| row.litres.abs())
        .fold(SHOWS, Litres::max);
    rows.filter(|row| row.litres.abs() >= SHOWS)
        .map(|row| LedgerLine {
            part: part(row.part),
            litres: units.spare(row.litres, Toward::Nearest),
            legs: legs(row, units),
            without: without(row, units),
            of_most: Share::new(row.litres / most),
        })
        .collect()
}

fn legs(row: &Row, units: Units) -> String {
    let shown = row.legs.iter().filter(|(_, litres)| litres.abs() >= SHOWS);
    let legs = shown.take(MOST).map(|&(leg, litres)| {
        let litres = units.spare(litres, Toward::Nearest).number;
        format!("leg {leg} {litres}")
    });
    legs.collect::<Vec<_>>().join(", ")
}

fn without(row: &Row, units: Units) -> Option<String> {
    let litres = row.without?;
    let needed = if litres > ROUNDING {
        units.spare(litres, Toward::Up).to_string()
    } else {
        "none".to_owned()
    };
    let fewer = match row.cans_fewer {
        Some(cans) if cans > 0 => format!(", {} fewer", counted(cans, "can", "cans")),
        _ => String::new(),
    };
    Some(format!("{needed}{fewer}"))
}

/// How many lines the ledger takes: how it is read, the parts, the cans.
pub(crate) fn line_count(ledger: &Ledger) -> usize {
    if ledger.stretch.is_none() {
        return 0;
    }
    let shown = ledger.rows.iter().filter(|row| row.litres.abs() >= SHOWS);
    1 + shown.count() + ledger.cans.len()
}

/// What lies in each can, as a sentence each: `20 L can: sand of leg 4 8.1 L, load 2.0 L`.
pub(crate) fn cans(ledger: &Ledger, units: Units) -> Vec<String> {
    let cans = ledger.cans.iter();
    cans.map(|can| {
        let mut parts: Vec<String> = Vec::new();
        let shown = can.parts.iter().filter(|(_, _, litres)| *litres >= SHOWS);
        for &(of, leg, litres) in shown.clone().take(MOST) {
            let leg = leg.map_or_else(String::new, |leg| format!(" of leg {leg}"));
            let litres = units.spare(litres, Toward::Nearest);
            parts.push(format!("{}{leg} {litres}", part(of)));
        }
        let rest: Litres = shown.skip(MOST).map(|(_, _, litres)| *litres).sum();
        if rest >= SHOWS {
            parts.push(format!("others {}", units.spare(rest, Toward::Nearest)));
        }
        if parts.is_empty() {
            parts.push("nothing that the plan asks for".to_owned());
        }
        format!("{} can: {}.", Units::can_size(can.size), parts.join(", "))
    })
    .collect()
}
