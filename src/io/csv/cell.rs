//! The value of a cell, as the trip file has it.

use serde_json::Value;

use super::number::{Numbers, is_fraction};
use super::words::{advice_on_surface, answer, surface};
use crate::io::text::plain;
use crate::model::field::TwoReadings;
use crate::model::vocabulary::Surface;
use crate::present::leg_table::{Column, Holds, as_written};
use crate::present::name::acts;

/// Longest text of a cell that is kept, in characters.
const LONGEST_CELL: usize = 400;
/// Characters of a cell that an error shows.
pub(super) const SHOWN: usize = 40;

/// Why a cell is refused.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub(super) enum CellError {
    #[error("must be one of {}, got `{got}`{advice}", .words.join(", "))]
    Word {
        words: &'static [&'static str],
        got: String,
        /// What to write for a word that people use.
        advice: String,
    },
    #[error("must be yes or no, got `{0}`")]
    YesNo(String),
    #[error("must be yes or no, got `{0}`, which may mean either")]
    Cross(String),
    #[error("must be a whole number, got `{0}`")]
    Whole(String),
    #[error("must be {}a number, got `{got}`", if *.or_any { "`any` or " } else { "" })]
    Number { or_any: bool, got: String },
    #[error("must be a number without a unit, got `{0}`")]
    Unitless(String),
    #[error("must be in {unit}, got `{got}`{converted}")]
    Unit {
        /// The unit of the column.
        unit: &'static str,
        got: String,
        /// What to write instead, in words; empty if it cannot be converted.
        converted: String,
    },
    #[error("`{0}` has a thousands separator: write the number without it")]
    Thousands(String),
    #[error("`{got}` may mean {whole} or {decimal}: write one of these")]
    Either {
        got: String,
        whole: String,
        /// With one more decimal, so that it is no thousands separator.
        decimal: String,
    },
    #[error("`{got}` {two_readings}")]
    Percent {
        got: String,
        two_readings: TwoReadings,
    },
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
    match column.holds {
        Holds::Number if is_fraction(column) => numbers.fraction(column, is_percent, cell),
        Holds::Text => Ok(text(&as_written(cell)).into()),
        Holds::Word(words) => word(words, cell),
        Holds::YesNo => answer(cell, got()).map(Value::from),
        Holds::Whole => {
            let whole = cell.parse::<u32>();
            whole.map(Value::from).map_err(|_| CellError::Whole(got()))
        }
        Holds::Litres if ["any", "unlimited"].contains(&cell.to_ascii_lowercase().as_str()) => {
            Ok(Value::Null)
        }
        Holds::Litres | Holds::Number => numbers.number(column, cell),
    }
}

/// A word of a closed vocabulary, or a common name of a surface.
fn word(words: &'static [&'static str], cell: &str) -> Result<Value, CellError> {
    let lower = cell.to_lowercase();
    let is_surface = words == Surface::WORDS;
    let meant = is_surface.then(|| surface(&lower)).flatten();
    match meant.map(Surface::word) {
        Some(meant) => Ok(meant.into()),
        None if words.contains(&lower.as_str()) => Ok(lower.into()),
        None => Err(CellError::Word {
            words,
            got: plain(cell, SHOWN),
            advice: if is_surface {
                advice_on_surface(&lower)
            } else {
                String::new()
            },
        }),
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
