//! What the fuel in cans is for, as a section of the text report and a key of the JSON report.

use crate::plan::ledger::{self as plan_ledger, LedgerPart};
use crate::plan::{Cause, Plan};
use crate::present::ledger;
use crate::present::number::Units;
use crate::quantity::Litres;

use super::page::Page;

/// The section; `None` if no fuel in cans is needed.
pub(super) fn section(page: &mut Page, plan: &Plan, units: Units) {
    let of = plan.ledger();
    let Some(explanation) = ledger::how_to_read(of, plan, units) else {
        return;
    };
    let lines = ledger::lines(of, units);
    let items = lines.iter().map(ledger::LedgerLine::sentence);
    page.list(&ledger::TITLE.to_uppercase(), &explanation, items);
}

object! {
    /// `ledger` in JSON.
    pub(super) struct Ledger(of: &plan_ledger::Ledger, stage: (usize, usize)) {
        /// Litres in cans that are split; the rows add up to them.
        litres: Litres = of.in_cans,
        /// Place number at which the stage starts that sets it.
        from_place_number: usize = stage.0,
        /// Place number at which it ends.
        to_place_number: usize = stage.1,
        rows: Vec<LedgerRow> = of.rows.iter().map(LedgerRow::new).collect(),
        /// The chosen cans, the largest first, filled with the rows one after the other.
        cans: Vec<Can> = of.cans.iter().map(Can::new).collect(),
    }
}

object! {
    struct LedgerRow(row: &plan_ledger::LedgerRow) {
        /// A cause by its key, or `route`, `detours`, `decanting`, `contingency`, `uncertainty`, `fuel_checks`.
        part: &'static str = key(row.part),
        /// Its share; below 0 where it saves some.
        litres: Litres = row.litres,
        /// The share leg by leg.
        legs: Vec<Leg> = row.legs.iter().copied().map(Leg::new).collect(),
        /// Litres needed in cans without it; `null` if it is no cause.
        without_l: Option<Litres> = row.without,
        /// How many fewer cans would then be enough.
        cans_fewer: Option<usize> = row.cans_fewer,
    }
}

object! {
    struct Leg(leg: (usize, Litres)) {
        n: usize = leg.0,
        litres: Litres = leg.1,
    }
}

object! {
    struct Can(can: &plan_ledger::CanFor) {
        size_l: Litres = can.size,
        parts: Vec<InCan> = can.parts.iter().copied().map(InCan::new).collect(),
    }
}

object! {
    struct InCan(of: (LedgerPart, Option<usize>, Litres)) {
        part: &'static str = key(of.0),
        leg: Option<usize> = of.1,
        litres: Litres = of.2,
    }
}

impl Ledger {
    /// `None` if no fuel in cans is needed.
    pub(super) fn from_plan(plan: &Plan) -> Option<Self> {
        let ledger = plan.ledger();
        Some(Self::new(ledger, ledger.stage?))
    }
}

fn key(part: LedgerPart) -> &'static str {
    match part {
        LedgerPart::Way => "route",
        LedgerPart::Cause(cause) => Cause::key(cause),
        LedgerPart::Detours => "detours",
        LedgerPart::Decanting => "decanting",
        LedgerPart::Percent => "contingency",
        LedgerPart::Doubt => "uncertainty",
        LedgerPart::Checks => "fuel_checks",
    }
}
