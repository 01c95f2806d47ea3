//! The leg table for a spreadsheet (RFC 4180): what the trip states of start and legs, then what the
//! plan has of each leg.
//!
//! Import reads it again: the columns of the trip come back as they were, those of the plan are ignored.
//! A table cannot carry tracks, the vehicle, the load, the rules, what-ifs and the log. Numbers of
//! the trip are in full, those of the plan have two decimals; both are metric, as their names show.

use serde::Serialize;
use serde_json::{Map, Value};

use super::Case;
use crate::model::route::Leg;
use crate::plan::{Plan, PlannedLeg};
use crate::present::leg_table::{self, FROM, LEG, PLAN, cells_of, harmless, start_cells};
use crate::present::name::plain;

/// How the table is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Dialect {
    /// What parts the cells.
    pub delimiter: u8,
    /// Whether a byte-order mark goes before, by which some spreadsheets know UTF-8.
    pub byte_order_mark: bool,
}

impl Default for Dialect {
    fn default() -> Self {
        Self {
            delimiter: b',',
            byte_order_mark: false,
        }
    }
}

/// The table of a plan; that of the return where the trip turns back now.
pub fn table(plan: &Plan, dialect: Dialect) -> String {
    let plan = Case::as_stated(plan).shown();
    let rows: Vec<NamedCells> = plan
        .legs
        .iter()
        .zip(&plan.trip.legs)
        .map(|(leg, stated)| {
            let mut row = NamedCells::new();
            if leg.n == 1 {
                row.extend(start_cells(&object(&plan.trip.start)));
            } else {
                row.push(("from", harmless(&leg.from)));
            }
            let without_track = Leg {
                track: None,
                ..stated.clone()
            };
            row.extend(cells_of(&object(&without_track)));
            row.extend(planned(leg));
            row
        })
        .collect();
    let all = FROM.iter().chain(&LEG).map(|column| column.name);
    let names: Vec<&str> = all
        .chain(PLAN)
        .filter(|name| rows.iter().flatten().any(|(column, _)| column == name))
        .collect();
    let row = |cells: Vec<&str>| leg_table::row(cells, char::from(dialect.delimiter));
    let mark = if dialect.byte_order_mark {
        "\u{feff}"
    } else {
        ""
    };
    let mut text = mark.to_owned() + &row(names.clone());
    for cells in &rows {
        let cell = |name: &&str| cells.iter().find(|(column, _)| column == name);
        // What acts on a terminal is of no use in a spreadsheet, and the table may be printed.
        let cells = names
            .iter()
            .map(|name| cell(name).map(|(_, cell)| plain(cell)));
        let cells: Vec<_> = cells.map(Option::unwrap_or_default).collect();
        text += &row(cells.iter().map(AsRef::as_ref).collect());
    }
    text
}

/// Cells by the name of their column.
type NamedCells = Vec<(&'static str, String)>;

fn object(stated: &impl Serialize) -> Map<String, Value> {
    match serde_json::to_value(stated) {
        Ok(Value::Object(object)) => object,
        _ => unreachable!("start and legs are objects of finite numbers"),
    }
}

/// The plan's figures of a leg, in the order of [`PLAN`]; a consumption that does not exist is left out.
fn planned(leg: &PlannedLeg) -> impl Iterator<Item = (&'static str, String)> {
    let values = [
        Some(leg.distance.get()),
        Some(leg.fuel.get()),
        leg.rate.map(crate::quantity::LitresPer100Km::get),
        Some(leg.driving.get()),
        Some(leg.start.get()),
        Some(leg.end.get()),
        Some(leg.end_cans.get()),
        Some(leg.reserve.get()),
    ];
    PLAN.into_iter()
        .zip(values)
        .filter_map(|(name, value)| Some((name, format!("{:.2}", value?))))
}
