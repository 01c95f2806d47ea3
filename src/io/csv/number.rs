//! Numbers as people write them into tables: with a decimal point or comma, and with or without a unit.

use serde_json::Value;

use super::cell::{CellError, SHOWN};
use super::sheet::Record;
use crate::io::text::plain;
use crate::model::field::{PERCENT, as_fraction, of_percent};
use crate::model::vocabulary::UnitSystem;
use crate::present::leg_table::{Column, Holds};
use crate::present::number::Units;
use crate::quantity::Percent;

/// Ends of the names of columns, and the unit of the numbers below.
const UNIT_OF_COLUMN: [(&str, &str); 14] = [
    ("_km", "km"),
    ("_mi", "mi"),
    ("_kmh", "km/h"),
    ("_m", "m"),
    ("_c", "\u{b0}C"),
    ("_h", "h"),
    ("_kg", "kg"),
    ("_deg", "\u{b0}"),
    ("lat", "\u{b0}"),
    ("lon", "\u{b0}"),
    ("litres", "L"),
    ("_l_per_day", "L"),
    ("gal_us", "gal"),
    ("gal_imp", "gal"),
];

/// Units, and how people write them, in small letters.
const SPELLINGS: [(&str, &[&str]); 14] = [
    (
        "km",
        &[
            "km",
            "kms",
            "kilometre",
            "kilometres",
            "kilometer",
            "kilometers",
        ],
    ),
    ("mi", &["mi", "mile", "miles"]),
    ("km/h", &["km/h", "kmh", "kph"]),
    ("mph", &["mph"]),
    ("m", &["m", "metre", "metres", "meter", "meters"]),
    ("ft", &["ft", "foot", "feet"]),
    ("L", &["l", "litre", "litres", "liter", "liters"]),
    ("gal", &["gal", "gallon", "gallons"]),
    ("\u{b0}C", &["\u{b0}c", "c"]),
    ("\u{b0}F", &["\u{b0}f", "f"]),
    ("h", &["h", "hr", "hrs", "hour", "hours"]),
    ("kg", &["kg", "kgs"]),
    ("lb", &["lb", "lbs"]),
    ("\u{b0}", &["\u{b0}", "deg"]),
];

/// The decimal sign of the numbers of a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DecimalSign {
    /// A point, or no number has decimals.
    Point,
    /// A comma in every number with decimals.
    Comma,
    /// A point in some numbers and a comma in others.
    Both,
}

/// How the numbers of a table are written. Only a number that can be read in one way counts.
pub(super) struct Numbers {
    /// Line of the first decimal comma.
    comma_on: Option<u64>,
    /// Line of the first decimal point.
    point_on: Option<u64>,
}

/// The signs within a number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Signs {
    /// A number without decimals, or no number.
    None,
    /// One sign that can only be that of the decimals.
    Decimal(char),
    /// One sign with three digits after it, so it may also be a thousands separator.
    Either(char),
    /// Several signs, so at least one is a thousands separator.
    Thousands,
}

impl Signs {
    fn of(column: &Column, number: &str) -> Self {
        let mut signs = number.match_indices(['.', ',']);
        let (at, sign) = match (signs.next(), signs.next()) {
            (Some((at, ",")), None) => (at, ','),
            (Some((at, _)), None) => (at, '.'),
            (None, _) => return Self::None,
            _ => return Self::Thousands,
        };
        let whole = number[..at].trim_start_matches(['+', '-']);
        let decimals = &number[at + 1..];
        let is_digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
        let has_thousands = (1..=3).contains(&whole.len())
            && !whole.starts_with('0')
            && decimals.len() == 3
            && is_digits(whole)
            && is_digits(decimals);
        if has_thousands && may_reach_thousands(column) {
            Self::Either(sign)
        } else {
            Self::Decimal(sign)
        }
    }
}

/// Whether a column may contain 1,000 or more.
fn may_reach_thousands(column: &Column) -> bool {
    !is_fraction(column) && unit_of(column) != "\u{b0}"
}

/// Whether the numbers of a column are fractions of 1.
pub(super) fn is_fraction(column: &Column) -> bool {
    ["_share", "_chance", "_grade"]
        .iter()
        .any(|end| column.name.ends_with(end))
}

/// The unit of a column; empty if its numbers have none.
fn unit_of(column: &Column) -> &'static str {
    let unit = UNIT_OF_COLUMN
        .iter()
        .find(|(end, _)| column.name.ends_with(end));
    unit.map_or("", |(_, unit)| unit)
}

/// A cell in two parts: up to its last digit, and the unit after it.
fn parts(cell: &str) -> (&str, &str) {
    let end = cell.rfind(|c: char| c.is_ascii_digit());
    let end = end.map_or(cell.len(), |last| last + 1);
    // A point or comma at the end is of the number, as in `12. km`.
    let end = end + usize::from(cell[end..].starts_with(['.', ',']));
    (&cell[..end], cell[end..].trim())
}

impl Numbers {
    pub(super) fn from_rows(columns: &[Option<&'static Column>], rows: &[Record]) -> Self {
        let line_of = |sign: char| {
            let has_it = |row: &&Record| {
                row.cells_of(columns).any(|(column, cell)| {
                    matches!(column.holds, Holds::Number | Holds::Litres)
                        && Signs::of(column, parts(cell).0) == Signs::Decimal(sign)
                })
            };
            rows.iter().find(has_it).map(|row| row.line)
        };
        Self {
            comma_on: line_of(','),
            point_on: line_of('.'),
        }
    }

    pub(super) const fn decimal_sign(&self) -> DecimalSign {
        match (self.comma_on, self.point_on) {
            (Some(_), Some(_)) => DecimalSign::Both,
            (Some(_), None) => DecimalSign::Comma,
            (None, _) => DecimalSign::Point,
        }
    }

    /// Whether a sign with three digits after it is that of the decimals: a point without a word to the contrary, a
    /// comma only if the table has others.
    const fn is_decimal(&self, sign: char) -> bool {
        match sign {
            ',' => self.comma_on.is_some() && self.point_on.is_none(),
            _ => self.comma_on.is_none(),
        }
    }

    /// The number of a column, in its unit.
    pub(super) fn number(&self, column: &Column, cell: &str) -> Result<Value, CellError> {
        let (bare, written) = parts(cell);
        let got = || plain(cell, SHOWN);
        let number = self.bare(column, bare, cell)?;
        let unit = unit_of(column);
        let known = SPELLINGS
            .iter()
            .find(|(_, spellings)| spellings.contains(&written.to_lowercase().as_str()));
        match known {
            _ if written.is_empty() => Ok(number),
            Some((known, _)) if *known == unit => Ok(number),
            _ if unit.is_empty() => Err(CellError::Unitless(got())),
            _ => Err(CellError::Unit {
                unit,
                got: got(),
                converted: known
                    .map_or_else(String::new, |(known, _)| converted(&number, known, unit)),
            }),
        }
    }

    /// A share, a chance or a grade as a fraction of 1. A bare number is one already, or per cent if the column is
    /// headed so.
    pub(super) fn fraction(
        &self,
        column: &Column,
        is_percent: bool,
        cell: &str,
    ) -> Result<Value, CellError> {
        let (bare, is_marked) = match cell.strip_suffix(PERCENT) {
            Some(bare) => (bare.trim_end(), true),
            None => (cell, false),
        };
        let number = self.bare(column, bare, cell)?;
        let percent = Percent::new(number.as_f64().unwrap_or_default());
        if is_marked {
            Ok(as_fraction(percent).get().into())
        } else if is_percent {
            of_percent(percent)
                .map(|share| share.get().into())
                .map_err(|two_readings| CellError::Percent {
                    got: plain(cell, SHOWN),
                    two_readings,
                })
        } else {
            Ok(number)
        }
    }

    /// The number as JSON has it: a whole one stays whole, and there is one zero. The error shows the whole cell.
    fn bare(&self, column: &Column, bare: &str, cell: &str) -> Result<Value, CellError> {
        let got = || plain(cell, SHOWN);
        let no_number = || CellError::Number {
            or_any: column.holds == Holds::Litres,
            got: got(),
        };
        let text = bare.replace('\u{2212}', "-");
        let of_number = |c: char| c.is_ascii_digit() || "+-.,eE".contains(c);
        if !text.chars().all(of_number) {
            return Err(no_number());
        }
        match Signs::of(column, &text) {
            Signs::Thousands => return Err(CellError::Thousands(got())),
            Signs::Either(sign) if !self.is_decimal(sign) => {
                return Err(CellError::Either {
                    got: got(),
                    whole: text.replace(sign, ""),
                    decimal: format!("{text}0"),
                });
            }
            _ => {}
        }
        let text = text.replace(',', ".");
        let number: f64 = text.parse().ok().ok_or_else(no_number)?;
        let whole = text.parse::<i64>().ok().map(Value::from);
        if number.is_finite() {
            Ok(whole.unwrap_or((number + 0.0).into()))
        } else {
            Err(no_number())
        }
    }
}

/// What to write instead of a number in another unit; empty if it cannot be converted.
fn converted(number: &Value, from: &str, to: &str) -> String {
    let Value::Number(number) = number else {
        return String::new();
    };
    let of = |system| Units(system).in_unit_of_file(number, from, to);
    match (of(UnitSystem::Us), of(UnitSystem::Imperial)) {
        (Some(us), Some(imperial)) if us != imperial => {
            format!("; that is {us} {to} if US, {imperial} {to} if imperial")
        }
        (Some(same), _) | (None, Some(same)) => format!("; that is {same} {to}"),
        (None, None) => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::present::leg_table::{LEG, column};

    fn signs(name: &'static str, number: &str) -> Signs {
        Signs::of(&column(name, "", Holds::Number), number)
    }

    #[test]
    fn three_digits_after_a_sign_may_be_thousands() {
        assert_eq!(signs("distance_km", "12,5"), Signs::Decimal(','));
        assert_eq!(signs("distance_km", "1.234"), Signs::Either('.'));
        assert_eq!(signs("ascent_m", "-1,234"), Signs::Either(','));
        assert_eq!(signs("ascent_m", "0,234"), Signs::Decimal(','));
        assert_eq!(signs("ascent_m", "1234,567"), Signs::Decimal(','));
        assert_eq!(signs("ascent_m", "1.234,5"), Signs::Thousands);
        assert_eq!(signs("ascent_m", "1,234,567"), Signs::Thousands);
        for name in ["lat", "from_lon", "sand_share", "wind_from_deg"] {
            assert_eq!(signs(name, "12,345"), Signs::Decimal(','), "{name}");
        }
    }

    #[test]
    fn the_unit_of_a_column_can_be_spelt() {
        for column in &LEG {
            let unit = unit_of(column);
            let is_known = SPELLINGS.iter().any(|(known, _)| *known == unit);
            assert!(unit.is_empty() || is_known, "{}", column.name);
        }
    }
}
