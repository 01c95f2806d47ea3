//! What the spare fuel is carried for, as a section of the text report and a key of the JSON report.

use schemars::JsonSchema;
use serde::Serialize;

use crate::plan::ledger::Part;
use crate::plan::{Cause, Plan};
use crate::present::ledger;
use crate::present::number::Units;
use crate::quantity::Litres;

use super::page::Page;

/// The section; nothing where no spare fuel is needed.
pub(super) fn section(page: &mut Page, plan: &Plan, units: Units) {
    let of = plan.ledger();
    let Some(says) = ledger::how_to_read(of, plan, units) else {
        return;
    };
    page.heading(&ledger::TITLE.to_uppercase(), &says);
    for line in ledger::lines(of, units) {
        page.paragraph("- ", 2, &line.sentence());
    }
    for can in ledger::cans(of, units) {
        page.paragraph("- ", 2, &can);
    }
}

/// `ledger` in JSON.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Ledger {
    /// Litres in cans that are split; the rows add up to them.
    litres: Litres,
    /// Place number at which the stage starts that sets it.
    from_place_number: usize,
    /// Place number at which it ends.
    to_place_number: usize,
    rows: Vec<Row>,
    /// The chosen cans, the largest first, filled with the rows one after the other.
    cans: Vec<Can>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Row {
    /// A cause by its key, or `way`, `detours`, `pouring`, `percent`, `doubt`.
    part: &'static str,
    /// Its share; below 0 where it saves some.
    litres: Litres,
    /// The share leg by leg.
    legs: Vec<Leg>,
    /// Spare litres without it; `null` where it is no cause.
    without_l: Option<Litres>,
    /// How many of the chosen cans could then stay at home.
    cans_fewer: Option<usize>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Leg {
    n: usize,
    litres: Litres,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Can {
    size_l: Litres,
    parts: Vec<InCan>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct InCan {
    part: &'static str,
    leg: Option<usize>,
    litres: Litres,
}

fn key(part: Part) -> &'static str {
    match part {
        Part::Way => "way",
        Part::Cause(cause) => Cause::key(cause),
        Part::Detours => "detours",
        Part::Pouring => "pouring",
        Part::Percent => "percent",
        Part::Doubt => "doubt",
        Part::Checks => "fuel_checks",
    }
}

impl Ledger {
    /// Nothing where no spare fuel is needed.
    pub(super) fn of(plan: &Plan) -> Option<Self> {
        let ledger = plan.ledger();
        let (from_place_number, to_place_number) = ledger.stretch?;
        let row = |row: &crate::plan::ledger::Row| Row {
            part: key(row.part),
            litres: row.litres,
            legs: row
                .legs
                .iter()
                .map(|&(n, litres)| Leg { n, litres })
                .collect(),
            without_l: row.without,
            cans_fewer: row.cans_fewer,
        };
        let in_can = |&(part, leg, litres): &(Part, Option<usize>, Litres)| InCan {
            part: key(part),
            leg,
            litres,
        };
        let can = |can: &crate::plan::ledger::CanFor| Can {
            size_l: can.size,
            parts: can.parts.iter().map(in_can).collect(),
        };
        Some(Self {
            litres: ledger.spare,
            from_place_number,
            to_place_number,
            rows: ledger.rows.iter().map(row).collect(),
            cans: ledger.cans.iter().map(can).collect(),
        })
    }
}
