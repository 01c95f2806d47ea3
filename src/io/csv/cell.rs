//! What is written in a cell, as the trip file has it.

use serde_json::Value;

use super::sheet::Record;
use crate::io::text::plain;
use crate::present::leg_table::{Column, Holds, as_written};
use crate::present::name::acts;

/// Longest text of a cell that is kept, in characters.
const LONGEST_CELL: usize = 400;
/// Characters of a cell that an error shows.
const SHOWN: usize = 40;

/// What a cell should hold, and what it holds.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
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
    #[error("must be {}a number{}, got `{got}`", if *.or_any { "`any` or " } else { "" }, .form)]
    Number {
        or_any: bool,
        /// How numbers are written in the table, where that is what is wrong.
        form: String,
        got: String,
    },
}

/// How the numbers of a table are written.
pub(super) struct Numbers {
    pub(super) decimal_comma: bool,
    /// Line of a number with a decimal point, where there are both kinds.
    point_on: Option<u64>,
}

impl Numbers {
    pub(super) fn of(columns: &[Option<&'static Column>], rows: &[Record]) -> Self {
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

    fn form(&self, cell: &str) -> String {
        match self.point_on {
            _ if cell.contains(',') && cell.contains('.') => {
                " without marks of thousands".to_owned()
            }
            Some(line) if cell.contains(',') => format!(" with a decimal point, as in line {line}"),
            _ => String::new(),
        }
    }
}

/// The value of a cell as in the trip file; `null` stands for any amount of fuel.
pub(super) fn value(holds: Holds, cell: &str, numbers: &Numbers) -> Result<Value, CellError> {
    let got = || plain(cell, SHOWN);
    match holds {
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
        Holds::Litres | Holds::Number => numbers.parse(cell).ok_or_else(|| CellError::Number {
            or_any: holds == Holds::Litres,
            form: numbers.form(cell),
            got: got(),
        }),
    }
}

/// A text on one line. What is invisible in it stays, since by that two names may differ; where something acts on a
/// terminal all that is not printed goes.
fn text(cell: &str) -> String {
    if cell.contains(acts) || cell.chars().nth(LONGEST_CELL).is_some() {
        return plain(cell, LONGEST_CELL);
    }
    let words: Vec<&str> = cell.split_whitespace().collect();
    words.join(" ")
}
