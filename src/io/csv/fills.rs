//! A fill-up log: one row for each fill, in the order of time.
//!
//! | column | holds |
//! |---|---|
//! | `date` | ISO 8601, such as 2026-03-14; a time may follow; without it the day-to-day variation stays as published |
//! | `odometer_km` or `odometer_mi` | odometer reading |
//! | `litres`, `gal_us` or `gal_imp` | fuel filled |
//! | `to_brim` | `yes` where the tank was full then, else `no`; an empty cell is `no` |
//! | `surface`, `sand_share`, `low_range_share` | conditions since the last fill; sealed and 0 by default |
//! | `load_kg` | load over the reference conditions (kerb mass without a driver, plus 75 kg); 0 by default |
//! | `roof` | type of roof load; `none` by default |
//! | `idle_h` | hours of idling; 0 by default |
//! | `price_per_l`, `note` | not used |
//!
//! Cells and numbers are written as in a leg table. Every problem is listed at once.

use std::io::Read;

use jiff::civil::Date;
use serde_json::{Map, Value};

use super::number::is_fraction;
use super::sheet::{Columns, Problems, Sheet, put};
use super::{TableProblem, typed};
use crate::io::moment::Moment;
use crate::io::text::{plain, read_table};
use crate::model::field::SHARE;
use crate::model::fills::Fill;
use crate::model::vocabulary::{RoofShape, Surface};
use crate::present::leg_table::{Column, Holds, column};
use crate::quantity::{Kilometres, Litres};

/// Kilometres in a mile, litres in a US and in an imperial gallon; exact.
const MILE: f64 = 1.609_344;
const US_GALLON: f64 = 3.785_411_784;
const IMPERIAL_GALLON: f64 = 4.546_09;

/// A column of a fill; its value is under its name.
const fn named(name: &'static str, holds: Holds) -> Column {
    column(name, name, holds)
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
/// The columns, those of one quantity in several units together, and what to enter.
pub(crate) const COLUMN_HELP: [(&str, &str); 11] = [
    (
        "date",
        "Date of the fill, ISO 8601, such as 2026-03-14. Without dates, the day-to-day variation is not calibrated.",
    ),
    (
        "odometer_km, odometer_mi",
        "Odometer reading; the trip's odometer factor or tyres correct it.",
    ),
    ("litres, gal_us, gal_imp", "Fuel filled."),
    (
        "to_brim",
        "yes if the tank was filled to the brim, otherwise no. A part fill is added to the next full one.",
    ),
    ("surface", "Surface since the last fill; default sealed."),
    (
        "sand_share",
        "Share of the distance since the last fill in soft sand; default 0.",
    ),
    (
        "low_range_share",
        "Share of the distance since the last fill in low range; default 0.",
    ),
    (
        "load_kg",
        "Load beyond the empty vehicle with one person; default 0.",
    ),
    ("roof", "Type of roof load; default none."),
    ("idle_h", "Hours of idling since the last fill; default 0."),
    ("price_per_l, note", "Not used."),
];

const FILLS: Columns = Columns {
    known: &[&COLUMNS],
    needed: &["to_brim"],
    kind: "a fill-up log",
    elsewhere: (
        &["to", "distance_km", "ascent_m"],
        "A leg table is read by drystage import TABLE.csv",
    ),
    passed_over: None,
};

/// Least and most of the numbers.
const RANGES: [(&str, f64, f64); 9] = [
    ("odometer_km", 0.0, 3_000_000.0),
    ("odometer_mi", 0.0, 3_000_000.0),
    ("litres", 0.0, 1000.0),
    ("gal_us", 0.0, 1000.0),
    ("gal_imp", 0.0, 1000.0),
    ("sand_share", 0.0, 1.0),
    ("low_range_share", 0.0, 1.0),
    ("load_kg", -75.0, 3000.0),
    ("idle_h", 0.0, 500.0),
];

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
    let mut problems = Problems::default();
    let Some(sheet) = Sheet::read(text, &FILLS, &mut problems) else {
        return Err(problems.all());
    };
    let odometer = one_of(&sheet, "odometer", &ODOMETERS, &mut problems);
    let amount = one_of(&sheet, "fuel", &AMOUNTS, &mut problems);
    let mut fills = Vec::new();
    let mut last_day = None;
    for record in &sheet.rows {
        let Some(values) = sheet.values(record, &mut problems) else {
            continue;
        };
        let mut row = Map::new();
        for (column, value) in values {
            let range = RANGES.iter().find(|(name, ..)| *name == column.name);
            if let (Some((_, least, most)), Some(number)) = (range, value.as_f64())
                && !(least..=most).contains(&&number)
            {
                let hint = if is_fraction(column) {
                    SHARE.fraction_hint(&value)
                } else {
                    String::new()
                };
                let message = format!("must be {least} to {most}, got {value}{hint}");
                problems.add(record.line, Some(column.name), message);
            }
            put(&mut row, column.pointer, value);
        }
        let mut number = |(name, unit): (&str, f64)| {
            if !sheet.holds(record, name) {
                problems.add(record.line, Some(name), "is empty; it must be a number");
            }
            unit * row.get(name).and_then(Value::as_f64).unwrap_or_default()
        };
        let shown = Kilometres::new(odometer.map_or(0.0, &mut number));
        let litres = Litres::new(amount.map_or(0.0, &mut number));
        let date = row.get("date").and_then(Value::as_str);
        let date = date.and_then(|date| day_of(date, record.line, &mut last_day, &mut problems));
        fills.push(Fill {
            row: record.line,
            date,
            odometer: shown,
            litres,
            to_brim: row.get("to_brim") == Some(&Value::Bool(true)),
            conditions: typed(row),
        });
    }
    problems.or(fills)
}

/// The one column of some that have the same in other units, and what a number of it is in ours.
fn one_of(
    sheet: &Sheet,
    what: &str,
    choices: &[(&'static str, f64)],
    problems: &mut Problems,
) -> Option<(&'static str, f64)> {
    let there: Vec<_> = choices.iter().filter(|(name, _)| sheet.has(name)).collect();
    if let [one] = there.as_slice() {
        return Some(**one);
    }
    let list = |choices: Vec<&str>, between: &str| choices.join(between);
    let names = list(choices.iter().map(|(name, _)| *name).collect(), " or ");
    let got = match there.as_slice() {
        [] => "no such column".to_owned(),
        several => list(several.iter().map(|(name, _)| *name).collect(), " and "),
    };
    let message = format!("the log needs one column for the {what}, {names}; it has {got}");
    problems.add(sheet.line, None, message);
    None
}

/// A date is a day of ISO 8601's extended form, after which a time may follow; dates do not go back.
fn day_of(
    date: &str,
    line: u64,
    last: &mut Option<(String, u64)>,
    problems: &mut Problems,
) -> Option<Date> {
    let mut wrong = |message| problems.add(line, Some("date"), message);
    let is_day = |day: &&str| Moment::parse(&format!("{day}T00:00:00Z")).is_some();
    let goes_on = |rest: &str| rest.is_empty() || rest.starts_with(['T', ' ']);
    let day = date
        .get(..10)
        .filter(is_day)
        .filter(|_| goes_on(&date[10..]));
    let Some(day) = day else {
        let got = plain(date, 40);
        wrong(format!("must be a date such as 2026-03-14, got `{got}`"));
        return None;
    };
    // Days of this form sort as their text does.
    if let Some((before, line)) = last
        && day < before.as_str()
    {
        wrong(format!(
            "must be {before} or later, as in line {line}, got {day}"
        ));
    }
    *last = Some((day.to_owned(), line));
    day.parse().ok()
}
