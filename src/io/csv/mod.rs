//! A leg table: one row for each leg, in driving order.
//!
//! The first row names the columns, in any order. Only `to` has to be there; an empty cell means that
//! nothing is stated.
//!
//! | column | holds |
//! |---|---|
//! | `from` | the place where the leg begins: the trip's start in the first row, else the place before |
//! | `from_lat`, `from_lon`, `from_altitude_m`, `from_odometer_km` | of the start, in the first row only |
//! | `from_fuel_…` | about the fuel at the start, likewise |
//! | `to`, `lat`, `lon` | the place where the leg ends |
//! | `day` | a whole number, from 1 |
//! | `distance_km`, `speed_kmh`, `idle_h` | numbers |
//! | `surface` | one of the surfaces |
//! | `sand_share`, `low_range_share`, `both_share` | 0 to 1 |
//! | `aired_down`, `aircon`, `return_possible` | `yes` or `no` |
//! | `ascent_m`, `descent_m`, `ascent_grade`, `descent_grade`, `mean_altitude_m` | numbers |
//! | `temperature_c`, `headwind_kmh` | numbers |
//! | `return_factor` | a number |
//! | `fuel_litres` | litres that can be had at the end of the leg, or `any` |
//! | `fuel_price_per_l`, `fuel_chance`, `fuel_detour_km`, `fuel_note` | about that fuel |
//! | `fuel_rely` | `auto`, `never` or `always`: whether the plan relies on that fuel |
//! | `note` | text |
//! | `plan_…` | what a plan wrote; passed over |
//!
//! Cells are parted by comma, semicolon or tab, whichever finds the most columns; text is quoted as in
//! RFC 4180. A decimal comma is understood when no number of the table has a decimal point; there is no sign
//! for thousands. Every problem of the table is told at once. Ranges are those of the trip file and
//! are checked there: a row is a leg of it as JSON.

mod cell;
mod columns;
pub mod fills;

use std::fmt;

use serde_json::{Map, Value};

use super::text::plain;
use crate::model::field::MOST_ITEMS;
use crate::present::leg_table::{Column, FROM, LEG};
use cell::{LONGEST_CELL, Numbers, value};
use columns::{Columns, LEG_TABLE};

/// Most problems that are told; a large table can hold millions.
const MOST_PROBLEMS: usize = 10_000;

/// Most cells of a row; there are far fewer columns.
const MOST_CELLS: usize = 1000;

/// A table that was read.
#[derive(Clone, Debug)]
pub struct Table {
    /// What the first row says of the start, as in the trip file; it may lack a name.
    pub start: Map<String, Value>,
    /// The legs as in the trip file.
    pub rows: Vec<Row>,
    /// How the table was read.
    pub dialect: Dialect,
}

/// One row.
#[derive(Clone, Debug)]
pub struct Row {
    /// Line of the file on which the row begins, from 1.
    pub line: u64,
    /// The leg as in the trip file.
    pub leg: Map<String, Value>,
    /// The cells as they were written, by column name.
    cells: Vec<(&'static str, String)>,
}

/// How a table is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Dialect {
    /// What parts the cells.
    pub delimiter: u8,
    /// Whether numbers have a decimal comma.
    pub decimal_comma: bool,
}

/// Something wrong with a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TableProblem {
    /// Line, from 1.
    pub line: u64,
    /// Name of the column, where it is about one.
    pub column: Option<String>,
    /// What would be right, then what was found.
    pub says: String,
}

impl fmt::Display for Dialect {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let cells = match self.delimiter {
            b';' => "semicolons",
            b'\t' => "tabs",
            _ => "commas",
        };
        let point = if self.decimal_comma { "comma" } else { "point" };
        write!(f, "cells parted by {cells}, decimal {point}")
    }
}

impl Row {
    /// The column that gave the value at `pointer` within the leg, or within the start for a
    /// pointer of [`Table::start`]'s.
    pub fn column_of(pointer: &str, of_start: bool) -> Option<&'static str> {
        let columns: &[Column] = if of_start { &FROM } else { &LEG };
        columns
            .iter()
            .find(|column| column.pointer == pointer)
            .map(|column| column.name)
    }

    /// What was written in a column.
    pub fn cell(&self, column: &str) -> Option<&str> {
        self.cells
            .iter()
            .find(|(name, _)| *name == column)
            .map(|(_, cell)| cell.as_str())
    }
}

/// Reads a table.
///
/// # Errors
/// Every problem of the table's shape and of its cells; what a trip allows is not checked here.
pub fn read(text: &str) -> Result<Table, Vec<TableProblem>> {
    let mut problems = Vec::new();
    let sheet = Sheet::read(text, &LEG_TABLE, &["to"], &mut problems)?;
    let Sheet {
        delimiter,
        header,
        rows,
        columns,
    } = &sheet;
    let numbers = Numbers::of(columns, rows);
    let mut table = Table {
        start: Map::new(),
        rows: Vec::new(),
        dialect: Dialect {
            delimiter: *delimiter,
            decimal_comma: numbers.decimal_comma,
        },
    };
    for (n, record) in rows.iter().enumerate() {
        read_row(record, n == 0, columns, &numbers, &mut table, &mut problems);
    }
    told(problems, header, rows).map_or(Ok(table), Err)
}

/// The problems of a table in the order of its lines; nothing where there are none.
fn told(
    mut problems: Vec<TableProblem>,
    header: &Record,
    rows: &[Record],
) -> Option<Vec<TableProblem>> {
    if rows.is_empty() {
        problems.push(TableProblem {
            line: header.line,
            column: None,
            says: "must have at least one row below the column names, got none".to_owned(),
        });
    }
    problems.sort_by_key(|problem| problem.line);
    problems.truncate(MOST_PROBLEMS);
    (!problems.is_empty()).then_some(problems)
}

/// A table whose cells are not yet looked at.
struct Sheet {
    delimiter: u8,
    header: Record,
    rows: Vec<Record>,
    /// The column of each cell.
    columns: Vec<Option<&'static Column>>,
}

impl Sheet {
    fn read(
        text: &str,
        known: &Columns,
        needed: &[&str],
        problems: &mut Vec<TableProblem>,
    ) -> Result<Self, Vec<TableProblem>> {
        let text = text.strip_prefix('\u{FEFF}').unwrap_or(text);
        if text.bytes().filter(|&byte| byte == b'"').count() % 2 == 1 {
            problems.push(TableProblem {
                line: text.lines().count() as u64,
                column: None,
                says: "quotes must come in pairs, got an odd number of them in the file".to_owned(),
            });
        }
        if let Some(line) = crowded_line(text) {
            return Err(vec![TableProblem {
                line,
                column: None,
                says: format!("a row must have at most {MOST_CELLS} cells, got more"),
            }]);
        }
        let delimiter = delimiter(text, known);
        let mut rows = records(text, delimiter);
        if let Some(beyond) = rows.get(MOST_ITEMS + 1) {
            return Err(vec![TableProblem {
                line: beyond.line,
                column: None,
                says: format!("a table must have at most {MOST_ITEMS} rows, got more"),
            }]);
        }
        if rows.is_empty() {
            return Err(vec![TableProblem {
                line: 1,
                column: None,
                says: format!(
                    "must begin with a row of column names, got nothing; {}",
                    known.known()
                ),
            }]);
        }
        let header = rows.remove(0);
        let columns = columns(&header, &rows, known, needed, problems);
        Ok(Self {
            delimiter,
            header,
            rows,
            columns,
        })
    }
}

/// Cells of one row, and the line on which it begins.
struct Record {
    line: u64,
    cells: Vec<String>,
}

fn records(text: &str, delimiter: u8) -> Vec<Record> {
    csv::ReaderBuilder::new()
        .delimiter(delimiter)
        .has_headers(false)
        .flexible(true)
        .from_reader(text.as_bytes())
        .into_records()
        .map(|record| {
            record.expect("the text is UTF-8, lies in memory, and rows may differ in length")
        })
        .filter(|record| record.iter().any(|cell| !cell.trim().is_empty()))
        .take(MOST_ITEMS + 2)
        .map(|record| Record {
            line: record.position().map_or(1, csv::Position::line),
            cells: record.iter().map(|cell| cell.trim().to_owned()).collect(),
        })
        .collect()
}

/// What may part cells; of those that find equally many columns the last is taken.
const DELIMITERS: [u8; 3] = [b'\t', b';', b','];

/// The first line with so many delimiters that no row can have them, even with some in quoted text.
fn crowded_line(text: &str) -> Option<u64> {
    let is_crowded = |line: &str| {
        let many = |delimiter: &u8| {
            let found = line.bytes().filter(|byte| byte == delimiter);
            found.take(MOST_CELLS).count() == MOST_CELLS
        };
        line.len() > MOST_CELLS && DELIMITERS.iter().any(many)
    };
    let mut lines = text.lines().zip(1..);
    lines.find_map(|(line, n)| is_crowded(line).then_some(n))
}

/// The delimiter under which the first row names the most columns.
fn delimiter(text: &str, known: &Columns) -> u8 {
    let names = |delimiter: &u8| {
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(*delimiter)
            .has_headers(false)
            .from_reader(text.as_bytes());
        let first = reader.records().next().and_then(Result::ok);
        first.map_or(0, |record| {
            record
                .iter()
                .filter(|name| known.find(name).is_some())
                .count()
        })
    };
    DELIMITERS.into_iter().max_by_key(names).unwrap_or(b',')
}

/// The column of each cell.
fn columns(
    header: &Record,
    rows: &[Record],
    known: &Columns,
    needed: &[&str],
    problems: &mut Vec<TableProblem>,
) -> Vec<Option<&'static Column>> {
    let mut found: Vec<Option<&'static Column>> = Vec::new();
    let mut unknown = false;
    let mut problem = |column: &str, says: String| {
        problems.push(TableProblem {
            line: header.line,
            column: Some(plain(column, 60)),
            says,
        });
    };
    for (n, name) in header.cells.iter().enumerate() {
        let column = known.find(name);
        match column {
            Some(column)
                if found
                    .iter()
                    .flatten()
                    .any(|other| other.name == column.name) =>
            {
                problem(name, "a column must be named once, got it again".to_owned());
            }
            Some(_) => {}
            None if (known.passes_over)(name) => {}
            None if name.is_empty() => {
                if rows
                    .iter()
                    .any(|row| row.cells.get(n).is_some_and(|cell| !cell.is_empty()))
                {
                    problem(
                        &format!("number {}", n + 1),
                        "a column that holds something must have a name, got none".to_owned(),
                    );
                }
            }
            None => {
                unknown = true;
                problem(
                    name,
                    format!("must be the name of a column{}", known.nearest(name)),
                );
            }
        }
        found.push(column);
    }
    for needed in needed {
        if !found.iter().flatten().any(|column| column.name == *needed) {
            problem(
                needed,
                "must be among the columns, got none of that name".to_owned(),
            );
            unknown = true;
        }
    }
    if unknown {
        problems.push(TableProblem {
            line: header.line,
            column: None,
            says: known.known(),
        });
    }
    found
}

fn read_row(
    record: &Record,
    is_first: bool,
    columns: &[Option<&'static Column>],
    numbers: &Numbers,
    table: &mut Table,
    problems: &mut Vec<TableProblem>,
) {
    let mut problem = |column: Option<&str>, says: String| {
        problems.push(TableProblem {
            line: record.line,
            column: column.map(str::to_owned),
            says,
        });
    };
    let surplus = record
        .cells
        .iter()
        .skip(columns.len())
        .any(|cell| !cell.is_empty());
    if surplus || record.cells.len() < columns.len() {
        problem(
            None,
            format!(
                "must have {} cells, as the column names do, got {}",
                columns.len(),
                record.cells.len()
            ),
        );
        return;
    }
    let mut row = Row {
        line: record.line,
        leg: Map::new(),
        cells: Vec::new(),
    };
    for (column, cell) in columns.iter().zip(&record.cells) {
        let Some(column) = column else { continue };
        if cell.is_empty() {
            continue;
        }
        row.cells.push((column.name, plain(cell, LONGEST_CELL)));
        let value = match value(column.holds, cell, numbers) {
            Ok(value) => value,
            Err(says) => {
                problem(Some(column.name), says);
                continue;
            }
        };
        let of_start = FROM.iter().any(|other| other.name == column.name);
        if !of_start {
            put(&mut row.leg, column.pointer, value);
        } else if is_first {
            put(&mut table.start, column.pointer, value);
        } else if column.name != "from" {
            problem(
                Some(column.name),
                format!(
                    "must stand in the first row only, got `{}`",
                    plain(cell, 40)
                ),
            );
        } else {
            let before = table.rows.last().and_then(|row| row.leg.get("to"));
            if before.is_some_and(|before| *before != value) {
                let before = before.and_then(Value::as_str).unwrap_or_default();
                problem(
                    Some("from"),
                    format!(
                        "must be the place before, `{before}`, got `{}`",
                        plain(cell, 40)
                    ),
                );
            }
        }
    }
    if !row.leg.contains_key("to") && columns.iter().flatten().any(|column| column.name == "to") {
        problem(
            Some("to"),
            "must name the place where the leg ends, got nothing".to_owned(),
        );
    }
    table.rows.push(row);
}

/// Puts a value at a pointer of one or two steps; `null` makes the object and leaves the value out.
fn put(object: &mut Map<String, Value>, pointer: &str, value: Value) {
    let path = pointer.trim_start_matches('/');
    let (object, key) = match path.split_once('/') {
        None => (object, path),
        Some((outer, key)) => {
            let inner = object
                .entry(outer)
                .or_insert_with(|| Value::Object(Map::new()));
            (
                inner.as_object_mut().expect("made as an object just above"),
                key,
            )
        }
    };
    if value != Value::Null {
        object.insert(key.to_owned(), value);
    }
}
