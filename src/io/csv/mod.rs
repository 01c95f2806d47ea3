//! A leg table: one row for each leg, in driving order.
//!
//! The first row names the columns, in any order. Only `to` is required; an empty cell sets nothing.
//!
//! | column | holds |
//! |---|---|
//! | `from` | the place where the leg begins: the trip's start in the first row, else the place before |
//! | `from_lat`, `from_lon`, `from_altitude_m`, `from_odometer_km` | of the start, in the first row only |
//! | `from_date`, `from_utc_offset` | of the start, as in the trip file |
//! | `from_fuel_…` | about the fuel at the start, likewise |
//! | `to`, `lat`, `lon` | the place where the leg ends |
//! | `day` | a whole number, from 1 |
//! | `distance_km`, `speed_kmh`, `idle_h` | numbers |
//! | `surface` | one of the surfaces |
//! | `sand_share`, `dune_share`, `low_range_share`, `both_share` | 0 to 1, or per cent with the sign |
//! | `sand %`, `low range %` and the like | the same shares in per cent |
//! | `aired_down`, `aircon`, `return_possible` | `yes` or `no` |
//! | `ascent_m`, `descent_m`, `ascent_grade`, `descent_grade`, `mean_altitude_m` | numbers |
//! | `temperature_c`, `headwind_kmh` | numbers |
//! | `depart` | the time of departure, such as `07:30` |
//! | `return_factor` | a number |
//! | `fuel_litres` | litres that can be had at the end of the leg, or `any` |
//! | `fuel_price_per_l`, `fuel_chance`, `fuel_detour_km`, `fuel_note` | about that fuel |
//! | `fuel_rely` | `auto`, `never` or `always`: whether the plan relies on that fuel |
//! | `note` | text |
//! | `plan_…` | results of a plan; ignored |
//!
//! Numbers have a decimal point or comma and no thousands separator; one that can be read in two ways is refused. The
//! unit of the column may follow. Common names of surfaces are understood. Every problem of the table is listed at once.
//! Ranges are those of the trip file and are checked where a trip is made of the legs.

mod cell;
pub mod fills;
mod number;
mod sheet;
mod words;

use std::fmt;

use serde::de::DeserializeOwned;
use serde_json::{Map, Value};

use crate::model::route::{Leg, Start};
use crate::present::leg_table::{Column, FROM, LEG, PLAN_PREFIX};
pub use number::DecimalSign;
pub(crate) use sheet::TableProblem;
use sheet::{Columns, Problems, Sheet, put};

/// The columns of a leg table.
const LEG_TABLE: Columns = Columns {
    known: &[&FROM, &LEG],
    needed: &["to"],
    kind: "a leg table",
    elsewhere: (
        &["odometer_km", "odometer_mi", "to_brim"],
        "A fill-up log is read by drystage calibrate TRIP LOG.csv",
    ),
    passed_over: Some(PLAN_PREFIX),
};

/// A table that was read.
#[derive(Clone, Debug)]
pub struct Table {
    /// What the first row states of the start; its name is empty where no column states it.
    pub start: Start,
    /// One row a leg, in the order of the file.
    pub rows: Vec<ReadLeg>,
    /// How the table was read.
    pub dialect: Dialect,
}

/// A leg, and the line of the table that it is from.
#[derive(Clone, Debug)]
pub struct ReadLeg {
    /// Line of the file on which the row begins, from 1.
    pub line: u64,
    /// The leg that the row describes.
    pub leg: Leg,
}

/// How a table is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Dialect {
    /// The separator of the cells.
    pub delimiter: u8,
    /// How decimals are written.
    pub(crate) decimal_sign: DecimalSign,
}

impl fmt::Display for Dialect {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let cells = match self.delimiter {
            b';' => "semicolons",
            b'\t' => "tabs",
            _ => "commas",
        };
        let sign = match self.decimal_sign {
            DecimalSign::Point => "point",
            DecimalSign::Comma => "comma",
            DecimalSign::Both => "point and comma",
        };
        write!(f, "separated by {cells}, decimal {sign}")
    }
}

/// The column that gave the value at `pointer` within a leg, or within the start.
pub(crate) fn column_of(pointer: &str, of_start: bool) -> Option<&'static str> {
    let columns: &[Column] = if of_start { &FROM } else { &LEG };
    let column = columns.iter().find(|column| column.pointer == pointer);
    column.map(|column| column.name)
}

/// Reads a table.
///
/// # Errors
/// Every problem of the table's shape and of its cells; what a trip allows is not checked here.
pub fn read(text: &str) -> Result<Table, Vec<TableProblem>> {
    let mut problems = Problems::default();
    let Some(sheet) = Sheet::read(text, &LEG_TABLE, &mut problems) else {
        return Err(problems.all());
    };
    let mut start = Map::new();
    put(&mut start, "/name", "".into());
    let mut rows: Vec<ReadLeg> = Vec::new();
    // The place before, where it is known.
    let mut before: Option<Value> = None;
    for (n, record) in sheet.rows.iter().enumerate() {
        let mut leg = Map::new();
        let Some(values) = sheet.values(record, &mut problems) else {
            before = None;
            continue;
        };
        for (column, value) in values {
            if !FROM.iter().any(|other| other.name == column.name) {
                put(&mut leg, column.pointer, value);
            } else if n == 0 {
                put(&mut start, column.pointer, value);
            } else if column.name != "from" {
                let message = format!(
                    "only the first row may set this column, got `{}`",
                    shown(&value)
                );
                problems.add(record.line, Some(column.name), message);
            } else if let Some(before) = before.as_ref().filter(|before| **before != value) {
                let (before, got) = (shown(before), shown(&value));
                let message = format!("must be `{before}`, where the leg before ends, got `{got}`");
                problems.add(record.line, Some("from"), message);
            }
        }
        before = leg.get("to").cloned();
        if before.is_none() {
            let message = "is empty; it must name the place where the leg ends";
            if sheet.has("to") {
                problems.add(record.line, Some("to"), message);
            }
            continue;
        }
        rows.push(ReadLeg {
            line: record.line,
            leg: typed(leg),
        });
    }
    let table = Table {
        start: typed(start),
        rows,
        dialect: Dialect {
            delimiter: sheet.delimiter,
            decimal_sign: sheet.numbers.decimal_sign(),
        },
    };
    problems.or(table)
}

/// What the cells of a row are, whose columns hold what the fields of `T` are made of.
fn typed<T: DeserializeOwned>(cells: Map<String, Value>) -> T {
    serde_json::from_value(Value::Object(cells)).expect("columns hold what fields are made of")
}

/// The value of a cell in a message.
fn shown(value: &Value) -> String {
    match value {
        Value::String(text) => text.chars().take(40).collect(),
        other => other.to_string(),
    }
}
