//! What is written in a cell, as the trip file has it.

use serde_json::Value;

use super::Record;

use crate::io::text::plain;
use crate::present::leg_table::{Column, Holds, as_written};

/// Longest text of a cell that is kept, in characters.
pub(super) const LONGEST_CELL: usize = 400;

/// How the numbers of a table are written.
pub(super) struct Numbers {
    pub(super) decimal_comma: bool,
    /// Line of a number with a decimal point, where there are both kinds.
    point_on: Option<u64>,
}

impl Numbers {
    pub(super) fn of(columns: &[Option<&'static Column>], rows: &[Record]) -> Self {
        let numbers = || {
            rows.iter().flat_map(|row| {
                columns
                    .iter()
                    .zip(&row.cells)
                    .filter_map(move |(column, cell)| {
                        let number =
                            matches!(column.as_ref()?.holds, Holds::Number | Holds::Litres);
                        number.then_some((row.line, cell))
                    })
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

    /// The number as JSON has it: a whole one stays whole.
    pub(super) fn parse(&self, cell: &str) -> Option<Value> {
        let text = cell.replace('\u{2212}', "-");
        let text = if self.decimal_comma {
            text.replacen(',', ".", 1)
        } else {
            text
        };
        let written = text
            .bytes()
            .all(|byte| byte.is_ascii_digit() || b"+-.eE".contains(&byte));
        let number: f64 = text.parse().ok().filter(|_| written)?;
        let whole = text.parse::<i64>().ok().map(Value::from);
        number.is_finite().then(|| whole.unwrap_or(number.into()))
    }

    pub(super) fn wanted(&self, cell: &str) -> String {
        if cell.contains(',') && cell.contains('.') {
            return format!(
                "must be a number without marks of thousands, got `{}`",
                plain(cell, 40)
            );
        }
        match self.point_on {
            Some(line) if cell.contains(',') => {
                format!(
                    "must be a number with a decimal point, as in line {line}, got `{}`",
                    plain(cell, 40)
                )
            }
            _ => format!("must be a number, got `{}`", plain(cell, 40)),
        }
    }
}

/// The value of a cell as in the trip file; `null` stands for any amount of fuel.
pub(super) fn value(holds: Holds, cell: &str, numbers: &Numbers) -> Result<Value, String> {
    match holds {
        Holds::Text => Ok(plain(as_written(cell), LONGEST_CELL).into()),
        Holds::Word(words) => {
            let word = cell.to_ascii_lowercase();
            if words.contains(&word.as_str()) {
                Ok(word.into())
            } else {
                Err(format!(
                    "must be one of {}, got `{}`",
                    words.join(", "),
                    plain(cell, 40)
                ))
            }
        }
        Holds::YesNo => match cell.to_ascii_lowercase().as_str() {
            "yes" | "true" => Ok(true.into()),
            "no" | "false" => Ok(false.into()),
            _ => Err(format!("must be yes or no, got `{}`", plain(cell, 40))),
        },
        Holds::Whole => cell
            .parse::<u32>()
            .map(Value::from)
            .map_err(|_| format!("must be a whole number, got `{}`", plain(cell, 40))),
        Holds::Litres if cell.eq_ignore_ascii_case("any") => Ok(Value::Null),
        Holds::Litres | Holds::Number => numbers.parse(cell).ok_or_else(|| {
            let wanted = numbers.wanted(cell);
            if holds == Holds::Litres {
                wanted.replacen("must be", "must be `any` or", 1)
            } else {
                wanted
            }
        }),
    }
}
