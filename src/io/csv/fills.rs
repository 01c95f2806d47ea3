//! A log of fill-ups: one row for each fill, in the order of time.
//!
//! | column | holds |
//! |---|---|
//! | `date` | ISO 8601, such as 2026-03-14; a time may follow |
//! | `odometer_km` or `odometer_mi` | what the odometer showed |
//! | `litres`, `gal_us` or `gal_imp` | what was put in |
//! | `to_brim` | `yes` where the tank was full then, else `no`; an empty cell is `no` |
//! | `surface`, `sand_share`, `low_range_share` | of the way since the fill before; sealed and 0 unless stated |
//! | `load_kg` | mass over the reference condition, which is the kerb mass without a driver and 75 kg; 0 unless stated |
//! | `roof` | what stood on it; `none` unless stated |
//! | `idle_h` | hours at rest with the engine running; 0 unless stated |
//! | `price_per_l`, `note` | not used |
//!
//! Cells and numbers are written as in a leg table. Every problem is told at once.

use std::io::Read;

use serde_json::json;

use serde_json::Value;

use super::cell::{Numbers, value};
use super::columns::Columns;
use super::{Record, Sheet, TableProblem, told};
use crate::io::text::{plain, read_table};
use crate::model::fills::{Fill, Way};
use crate::model::vocabulary::{RoofShape, Surface};
use crate::present::leg_table::{Column, Holds, column};
use crate::quantity::{Hours, Kilograms, Kilometres, Litres, Share};

/// Kilometres in a mile, litres in a US and in an imperial gallon; exact.
const MILE: f64 = 1.609_344;
const US_GALLON: f64 = 3.785_411_784;
const IMPERIAL_GALLON: f64 = 4.546_09;

/// A column of a fill; no key of a trip file stands behind it.
const fn named(name: &'static str, holds: Holds) -> Column {
    column(name, "", holds)
}

const COLUMNS: [Column; 15] = [
    named("date", Holds::Text),
    named("odometer_km", Holds::Number),
    named("odometer_mi", Holds::Number),
    named("litres", Holds::Number),
    named("gal_us", Holds::Number),
    named("gal_imp", Holds::Number),
    named("to_brim", Holds::YesNo),
    named("surface", Holds::Word(Surface::WORDS)),
    named("sand_share", Holds::Number),
    named("low_range_share", Holds::Number),
    named("load_kg", Holds::Number),
    named("roof", Holds::Word(RoofShape::WORDS)),
    named("idle_h", Holds::Number),
    named("price_per_l", Holds::Number),
    named("note", Holds::Text),
];
static FILLS: Columns = Columns {
    known: &[&COLUMNS],
    passes_over: |_| false,
};

/// Columns of which a table has exactly one, with what a number of it is in kilometres or litres.
const ODOMETERS: [(&str, f64); 2] = [("odometer_km", 1.0), ("odometer_mi", MILE)];
const AMOUNTS: [(&str, f64); 3] = [
    ("litres", 1.0),
    ("gal_us", US_GALLON),
    ("gal_imp", IMPERIAL_GALLON),
];

/// Reads a log of fill-ups from bytes in any encoding of text.
///
/// # Errors
/// When reading fails; every problem of the table's shape and of its cells.
pub fn read(bytes: impl Read) -> std::io::Result<Result<Vec<Fill>, Vec<TableProblem>>> {
    Ok(parse(&read_table(bytes)?.0))
}

/// Reads a log of fill-ups.
///
/// # Errors
/// Every problem of the table's shape and of its cells.
pub fn parse(text: &str) -> Result<Vec<Fill>, Vec<TableProblem>> {
    let mut problems = Vec::new();
    let sheet = Sheet::read(text, &FILLS, &["date", "to_brim"], &mut problems)?;
    let mut one_of = |what: &str, choices: &[(&'static str, f64)]| {
        let named = |name: &str| {
            let columns = sheet.columns.iter().flatten();
            columns.filter(|column| column.name == name).count() > 0
        };
        let mut there = choices.iter().filter(|(name, _)| named(name));
        let (first, second) = (there.next(), there.next());
        let names: Vec<&str> = choices.iter().map(|(name, _)| *name).collect();
        let got = match (first, second) {
            (Some(_), None) => return first.copied(),
            (None, _) => "none".to_owned(),
            (Some((a, _)), Some((b, _))) => format!("{a} and {b}"),
        };
        problems.push(TableProblem {
            line: sheet.header.line,
            column: None,
            says: format!(
                "must have one column for the {what}, {}, got {got}",
                names.join(" or ")
            ),
        });
        None
    };
    let odometer = one_of("odometer", &ODOMETERS);
    let amount = one_of("fuel", &AMOUNTS);
    let numbers = Numbers::of(&sheet.columns, &sheet.rows);
    let mut fills = Vec::new();
    let mut last_date: Option<(String, u64)> = None;
    for record in &sheet.rows {
        let mut row = Row {
            record,
            columns: &sheet.columns,
            numbers: &numbers,
            problems: &mut problems,
        };
        if record.cells.len() != sheet.columns.len() {
            let says = format!(
                "must have {} cells, as the column names do, got {}",
                sheet.columns.len(),
                record.cells.len()
            );
            row.tell(None, says);
            continue;
        }
        row.date(&mut last_date);
        let (Some((odometer, km)), Some((amount, litres))) = (odometer, amount) else {
            continue;
        };
        fills.push(Fill {
            row: record.line,
            odometer: Kilometres::new(km * row.needed(odometer, 0.0, 3_000_000.0)),
            litres: Litres::new(litres * row.needed(amount, 0.0, 1000.0)),
            to_brim: row.value("to_brim").is_some_and(|yes| yes == true),
            way: row.way(),
        });
        row.value("price_per_l");
    }
    told(problems, &sheet.header, &sheet.rows).map_or(Ok(fills), Err)
}

/// One row and where its problems go.
struct Row<'a, 'p> {
    record: &'a Record,
    columns: &'a [Option<&'static Column>],
    numbers: &'a Numbers,
    problems: &'p mut Vec<TableProblem>,
}

impl Row<'_, '_> {
    fn tell(&mut self, column: Option<&str>, says: String) {
        self.problems.push(TableProblem {
            line: self.record.line,
            column: column.map(str::to_owned),
            says,
        });
    }

    fn cell(&self, name: &str) -> Option<(&'static Column, &str)> {
        let at = self
            .columns
            .iter()
            .position(|column| column.is_some_and(|column| column.name == name))?;
        let cell = self.record.cells[at].as_str();
        Some((self.columns[at]?, cell)).filter(|(_, cell)| !cell.is_empty())
    }

    /// What a cell holds; nothing where it is empty or wrong, which is told.
    fn value(&mut self, name: &str) -> Option<Value> {
        let (column, cell) = self.cell(name)?;
        match value(column.holds, cell, self.numbers) {
            Ok(value) => Some(value),
            Err(says) => {
                self.tell(Some(name), says);
                None
            }
        }
    }

    fn number(&mut self, name: &str, least: f64, most: f64) -> Option<f64> {
        let number = self.value(name)?.as_f64()?;
        if !(least..=most).contains(&number) {
            self.tell(
                Some(name),
                format!("must be {least} to {most}, got {}", json!(number)),
            );
        }
        Some(number)
    }

    fn needed(&mut self, name: &str, least: f64, most: f64) -> f64 {
        if self.cell(name).is_none() {
            self.tell(Some(name), "must be a number, got nothing".to_owned());
        }
        self.number(name, least, most).unwrap_or_default()
    }

    fn way(&mut self) -> Way {
        let usual = Way::default();
        let word = |value: Option<Value>| value.unwrap_or_default();
        Way {
            surface: serde_json::from_value(word(self.value("surface"))).unwrap_or(usual.surface),
            sand: Share::new(self.number("sand_share", 0.0, 1.0).unwrap_or_default()),
            low_range: Share::new(self.number("low_range_share", 0.0, 1.0).unwrap_or_default()),
            load: Kilograms::new(self.number("load_kg", -75.0, 3000.0).unwrap_or_default()),
            roof: serde_json::from_value(word(self.value("roof"))).unwrap_or(usual.roof),
            idle: Hours::new(self.number("idle_h", 0.0, 500.0).unwrap_or_default()),
        }
    }

    /// Dates do not go back.
    fn date(&mut self, last: &mut Option<(String, u64)>) {
        let Some((_, cell)) = self.cell("date") else {
            return self.tell(
                Some("date"),
                "must be a date such as 2026-03-14, got nothing".to_owned(),
            );
        };
        let date = cell.to_owned();
        if !is_date(&date) {
            let says = format!(
                "must be a date such as 2026-03-14, got `{}`",
                plain(&date, 40)
            );
            return self.tell(Some("date"), says);
        }
        // Days of one form of ISO 8601 stand in the order of their text.
        let day = &date[..10];
        if let Some((before, line)) = last
            && day < before.as_str()
        {
            let says = format!("must be {before} or later, as in line {line}, got {day}");
            self.tell(Some("date"), says);
        }
        *last = Some((day.to_owned(), self.record.line));
    }
}

/// Whether text begins with a day that there is, in the extended form of ISO 8601, and ends there or goes on with `T` or
/// a blank.
fn is_date(text: &str) -> bool {
    let bytes = text.as_bytes();
    if bytes.len() < 10 || !text.is_ascii() || !matches!(bytes.get(10), None | Some(b'T' | b' ')) {
        return false;
    }
    let part = |from: usize, to: usize| text[from..to].parse::<u32>().ok();
    let digits = bytes[..10].iter().enumerate().all(|(at, byte)| {
        if at == 4 || at == 7 {
            *byte == b'-'
        } else {
            byte.is_ascii_digit()
        }
    });
    let (Some(year), Some(month), Some(day)) = (part(0, 4), part(5, 7), part(8, 10)) else {
        return false;
    };
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let days = match month {
        2 => 28 + u32::from(leap),
        4 | 6 | 9 | 11 => 30,
        1..=12 => 31,
        _ => 0,
    };
    digits && (1..=days).contains(&day)
}
