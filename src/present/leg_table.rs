//! The leg table: which columns it has, once for reading and for writing.
//!
//! A table holds what the trip file states of its legs and of the start, all but tracks; a table that is
//! written for a spreadsheet also has columns of the plan, which are passed over when it is read again.
//! A text that a spreadsheet would run as a formula gets an apostrophe before it, and so does one that
//! begins with an apostrophe; reading takes it away. A spreadsheet that parts cells by another sign may see a
//! cell begin within a text, so the same is done there.

use serde_json::{Map, Value};

use crate::model::vocabulary::{Rely, Surface};

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Holds {
    /// Any text, which may be empty.
    Text,
    /// A number, with or without decimals.
    Number,
    /// A whole number.
    Whole,
    /// `yes` or `no`.
    YesNo,
    /// One word of these.
    Word(&'static [&'static str]),
    /// A number of litres, or `any`.
    Litres,
}

/// A column, and where its value is in a leg of the trip file (RFC 6901).
#[derive(Clone, Copy, Debug)]
pub(crate) struct Column {
    /// Its name in the first row.
    pub(crate) name: &'static str,
    /// Where its value is, a JSON Pointer within the leg or the start.
    pub(crate) pointer: &'static str,
    /// What its cells hold.
    pub(crate) holds: Holds,
}

/// A column of a table.
pub(crate) const fn column(name: &'static str, pointer: &'static str, holds: Holds) -> Column {
    Column {
        name,
        pointer,
        holds,
    }
}

/// Columns of a leg.
pub(crate) const LEG: [Column; 34] = [
    column("to", "/to", Holds::Text),
    column("lat", "/lat", Holds::Number),
    column("lon", "/lon", Holds::Number),
    column("day", "/day", Holds::Whole),
    column("distance_km", "/distance_km", Holds::Number),
    column("surface", "/surface", Holds::Word(Surface::WORDS)),
    column("sand_share", "/sand_share", Holds::Number),
    column("dune_share", "/dune_share", Holds::Number),
    column("low_range_share", "/low_range_share", Holds::Number),
    column("both_share", "/both_share", Holds::Number),
    column("aired_down", "/aired_down", Holds::YesNo),
    column("speed_kmh", "/speed_kmh", Holds::Number),
    column("ascent_m", "/ascent_m", Holds::Number),
    column("descent_m", "/descent_m", Holds::Number),
    column("ascent_grade", "/ascent_grade", Holds::Number),
    column("descent_grade", "/descent_grade", Holds::Number),
    column("mean_altitude_m", "/mean_altitude_m", Holds::Number),
    column("temperature_c", "/temperature_c", Holds::Number),
    column("headwind_kmh", "/headwind_kmh", Holds::Number),
    column("wind_kmh", "/wind_kmh", Holds::Number),
    column("wind_from_deg", "/wind_from_deg", Holds::Number),
    column("idle_h", "/idle_h", Holds::Number),
    column("camp_l_per_day", "/camp_l_per_day", Holds::Number),
    column("aircon", "/aircon", Holds::YesNo),
    column("depart", "/depart", Holds::Text),
    column("return_possible", "/return/possible", Holds::YesNo),
    column("return_factor", "/return/factor", Holds::Number),
    column("fuel_litres", "/fuel/litres", Holds::Litres),
    column("fuel_price_per_l", "/fuel/price_per_l", Holds::Number),
    column("fuel_chance", "/fuel/chance", Holds::Number),
    column("fuel_rely", "/fuel/rely", Holds::Word(Rely::WORDS)),
    column("fuel_detour_km", "/fuel/detour_km", Holds::Number),
    column("fuel_note", "/fuel/note", Holds::Text),
    column("note", "/note", Holds::Text),
];

/// Columns of the place where a leg begins.
pub(crate) const FROM: [Column; 13] = [
    column("from", "/name", Holds::Text),
    column("from_lat", "/lat", Holds::Number),
    column("from_lon", "/lon", Holds::Number),
    column("from_altitude_m", "/altitude_m", Holds::Number),
    column("from_odometer_km", "/odometer_km", Holds::Number),
    column("from_date", "/date", Holds::Text),
    column("from_utc_offset", "/utc_offset", Holds::Text),
    column("from_fuel_litres", "/fuel/litres", Holds::Litres),
    column("from_fuel_price_per_l", "/fuel/price_per_l", Holds::Number),
    column("from_fuel_chance", "/fuel/chance", Holds::Number),
    column("from_fuel_rely", "/fuel/rely", Holds::Word(Rely::WORDS)),
    column("from_fuel_detour_km", "/fuel/detour_km", Holds::Number),
    column("from_fuel_note", "/fuel/note", Holds::Text),
];

/// How the columns of a plan begin; they are passed over when read.
pub(crate) const PLAN_PREFIX: &str = "plan_";

/// Columns of the plan that are written.
pub(crate) const PLAN: [&str; 8] = [
    "plan_km",
    "plan_fuel_l",
    "plan_l_per_100km",
    "plan_driving_h",
    "plan_start_l",
    "plan_end_l",
    "plan_end_cans_l",
    "plan_reserve_l",
];

/// A leg as a row: columns with what is written in each, values that are absent left out.
pub fn cells_of(leg: &Map<String, Value>) -> Vec<(&'static str, String)> {
    cells(leg, &LEG)
}

/// The start as cells of the first row.
pub(crate) fn start_cells(start: &Map<String, Value>) -> Vec<(&'static str, String)> {
    cells(start, &FROM)
}

fn cells(object: &Map<String, Value>, columns: &[Column]) -> Vec<(&'static str, String)> {
    let value_at = |pointer: &str| {
        let mut steps = pointer.split('/').skip(1);
        let first = object.get(steps.next()?)?;
        steps.try_fold(first, |value, step| value.get(step))
    };
    columns
        .iter()
        .filter_map(|column| {
            let cell = match value_at(column.pointer) {
                Some(Value::Bool(yes)) => if *yes { "yes" } else { "no" }.to_owned(),
                Some(Value::String(text)) => harmless(text),
                Some(value) => value.to_string(),
                None if column.holds == Holds::Litres && object.contains_key("fuel") => {
                    "any".to_owned()
                }
                None => return None,
            };
            Some((column.name, cell))
        })
        .collect()
}

/// Whether a spreadsheet takes a text that begins so for a formula; the last four are the wide forms of the first.
const fn begins_formula(c: char) -> bool {
    matches!(
        c,
        '=' | '+' | '-' | '@' | '\t' | '\r' | '\u{ff1d}' | '\u{ff0b}' | '\u{ff0d}' | '\u{ff20}'
    )
}

/// Signs behind which a spreadsheet may see a cell begin.
const PARTS: [char; 4] = [',', ';', '\t', '"'];

/// The text with an apostrophe before whatever begins like a formula, or with an apostrophe.
pub fn harmless(text: &str) -> String {
    let mut cell = String::new();
    let mut may_begin = true;
    for c in text.chars() {
        if may_begin && (begins_formula(c) || c == '\'') {
            cell.push('\'');
        }
        cell.push(c);
        may_begin = PARTS.contains(&c);
    }
    cell
}

/// The text without the apostrophes that [`harmless`] put into it.
pub(crate) fn as_written(cell: &str) -> String {
    let mut text = String::new();
    let mut may_begin = true;
    let mut characters = cell.chars().peekable();
    while let Some(c) = characters.next() {
        let begins = |next: &char| begins_formula(*next) || *next == '\'';
        let c = match characters.next_if(|next| may_begin && c == '\'' && begins(next)) {
            Some(next) => next,
            None => c,
        };
        text.push(c);
        may_begin = PARTS.contains(&c);
    }
    text
}

/// A row of a table (RFC 4180). A text is quoted wherever any spreadsheet would part it, whatever parts this table.
pub fn row<'a>(cells: impl IntoIterator<Item = &'a str>, delimiter: char) -> String {
    let quoted = |cell: &str| {
        if cell.contains(PARTS) || cell.contains(['\r', '\n']) {
            format!("\"{}\"", cell.replace('"', "\"\""))
        } else {
            cell.to_owned()
        }
    };
    let cells: Vec<String> = cells.into_iter().map(quoted).collect();
    cells.join(&delimiter.to_string()) + "\r\n"
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn nothing_a_spreadsheet_runs_is_written_and_everything_comes_back(text in "['=+@ a-c,;\"\t-]{0,8}") {
            let cell = harmless(&text);
            let mut parts = cell.split(PARTS);
            prop_assert!(parts.all(|part| !part.starts_with(begins_formula)));
            prop_assert_eq!(as_written(&cell), text);
        }
    }
}
