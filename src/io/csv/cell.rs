//! The value of a cell, as the trip file has it.

use serde_json::Value;

use super::sheet::Record;
use crate::io::text::plain;
use crate::model::field::{PERCENT, TwoReadings, as_fraction, of_percent};
use crate::present::leg_table::{Column, Holds, as_written};
use crate::present::name::acts;
use crate::quantity::Percent;

/// Longest text of a cell that is kept, in characters.
const LONGEST_CELL: usize = 400;
/// Characters of a cell that an error shows.
const SHOWN: usize = 40;

/// Why a cell is refused.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub(super) enum CellError {
    #[error("must be one of {}, got `{got}`", .words.join(", "))]
    Word {
        words: &'static [&'static str],
        got: String,
    },
    #[error("must be yes or no, got `{0}`")]
    YesNo(String),
    #[error("must be a whole number, got `{0}`")]
    Whole(String),
    #[error("must be {}a number, got `{got}`", if *.or_any { "`any` or " } else { "" })]
    Number { or_any: bool, got: String },
    #[error("`{0}` has a thousands separator: write the number without it")]
    Thousands(String),
    #[error(
        "`{got}` has a decimal comma, but line {line} has a decimal point: use one of the two throughout the file"
    )]
    Comma {
        got: String,
        /// A line with a decimal point.
        line: u64,
    },
    #[error("`{got}` {two_readings}")]
    Percent {
        got: String,
        two_readings: TwoReadings,
    },
}

/// How the numbers of a table are written.
pub(super) struct Numbers {
    pub(super) decimal_comma: bool,
    /// Line of a number with a decimal point, where there are both kinds.
    point_on: Option<u64>,
}

impl Numbers {
    pub(super) fn from_rows(columns: &[Option<&'static Column>], rows: &[Record]) -> Self {
        let is_number = |column: &Column| matches!(column.holds, Holds::Number | Holds::Litres);
        let numbers = || {
            rows.iter().flat_map(|row| {
                let cells = row.cells_of(columns);
                let numbers = cells.filter(|(column, _)| is_number(column));
                numbers.map(|(_, cell)| (row.line, cell))
            })
        };
        // One with both is no number in either.
        let point_on = numbers()
            .find(|(_, cell)| cell.contains('.') && !cell.contains(','))
            .map(|(line, _)| line);
        let comma = numbers().any(|(_, cell)| cell.contains(','));
        Self {
            decimal_comma: comma && point_on.is_none(),
            point_on: point_on.filter(|_| comma),
        }
    }

    /// The number as JSON has it: a whole one stays whole, and there is one zero.
    fn parse(&self, cell: &str) -> Option<Value> {
        let mut text = cell.replace('\u{2212}', "-");
        if self.decimal_comma {
            text = text.replacen(',', ".", 1);
        }
        let of_number = |byte: u8| byte.is_ascii_digit() || b"+-.eE".contains(&byte);
        let number: f64 = text.parse().ok().filter(|_| text.bytes().all(of_number))?;
        let whole = text.parse::<i64>().ok().map(Value::from);
        number
            .is_finite()
            .then(|| whole.unwrap_or((number + 0.0).into()))
    }

    /// Why a cell is no number.
    fn error(&self, cell: &str, or_any: bool) -> CellError {
        let got = plain(cell, SHOWN);
        let is_written = |c: char| c.is_ascii_digit() || "+-.,".contains(c);
        match self.point_on {
            _ if !cell.chars().all(is_written) => CellError::Number { or_any, got },
            _ if cell.contains(',') && cell.contains('.') => CellError::Thousands(got),
            Some(line) if cell.contains(',') => CellError::Comma { got, line },
            _ => CellError::Number { or_any, got },
        }
    }

    /// A share, a chance or a grade as a fraction of 1. A bare number is one already, or per cent if the column is
    /// headed so.
    fn fraction(&self, cell: &str, is_percent: bool) -> Result<Value, CellError> {
        let (bare, is_marked) = match cell.strip_suffix(PERCENT) {
            Some(bare) => (bare.trim_end(), true),
            None => (cell, false),
        };
        let number = self.parse(bare).ok_or_else(|| self.error(cell, false))?;
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
}

/// Whether the numbers of a column are fractions of 1.
pub(super) fn is_fraction(column: &Column) -> bool {
    ["_share", "_chance", "_grade"]
        .iter()
        .any(|end| column.name.ends_with(end))
}

/// The value of a cell as in the trip file; `null` represents any amount of fuel. Bare numbers of a share are per cent
/// if the heading of the column has the sign.
pub(super) fn value(
    column: &Column,
    is_percent: bool,
    cell: &str,
    numbers: &Numbers,
) -> Result<Value, CellError> {
    let got = || plain(cell, SHOWN);
    let holds = column.holds;
    match holds {
        Holds::Number if is_fraction(column) => numbers.fraction(cell, is_percent),
        Holds::Text => Ok(text(&as_written(cell)).into()),
        Holds::Word(words) => {
            let word = cell.to_ascii_lowercase();
            if words.contains(&word.as_str()) {
                Ok(word.into())
            } else {
                Err(CellError::Word { words, got: got() })
            }
        }
        Holds::YesNo => match cell.to_ascii_lowercase().as_str() {
            "yes" | "true" => Ok(true.into()),
            "no" | "false" => Ok(false.into()),
            _ => Err(CellError::YesNo(got())),
        },
        Holds::Whole => {
            let whole = cell.parse::<u32>();
            whole.map(Value::from).map_err(|_| CellError::Whole(got()))
        }
        Holds::Litres if cell.eq_ignore_ascii_case("any") => Ok(Value::Null),
        Holds::Litres | Holds::Number => numbers
            .parse(cell)
            .ok_or_else(|| numbers.error(cell, holds == Holds::Litres)),
    }
}

/// A text on one line. Invisible characters stay, since two names may differ by them; if one acts on a terminal, all of
/// them are removed.
fn text(cell: &str) -> String {
    if cell.contains(acts) || cell.chars().nth(LONGEST_CELL).is_some() {
        return plain(cell, LONGEST_CELL);
    }
    let words: Vec<&str> = cell.split_whitespace().collect();
    words.join(" ")
}
