//! A table as rows of cells under named columns, each with the line on which it begins.
//!
//! Cells are parted by comma, semicolon or tab, whichever finds the most columns; text is quoted as in
//! RFC 4180. Lines end with LF, CR LF or a lone CR and are counted as an editor counts them, those inside of
//! quoted cells, too.

use serde_json::{Map, Value};

use super::cell::value;
use super::number::{Numbers, is_fraction};
use crate::io::text::{line_ends, plain};
use crate::model::field::PERCENT;
use crate::model::near::nearest;
use crate::present::leg_table::Column;

/// Most rows below the column names: more legs than any trip has, more fill-ups than any vehicle.
const MOST_ROWS: usize = 10_000;
/// Most cells of a row; there are far fewer columns.
const MOST_CELLS: usize = 1000;
/// Most problems that are listed.
const MOST_PROBLEMS: usize = 10_000;
/// What may part cells; of those that find equally many columns the last is taken.
const DELIMITERS: [u8; 3] = [b'\t', b';', b','];

/// Something wrong with a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TableProblem {
    /// Line, from 1.
    pub line: u64,
    /// Name of the column, where it is about one.
    pub column: Option<String>,
    /// What would be right, then what was found.
    pub message: String,
}

/// The problems found so far.
#[derive(Default)]
pub(super) struct Problems(Vec<TableProblem>);

impl Problems {
    pub(super) fn add(&mut self, line: u64, column: Option<&str>, message: impl Into<String>) {
        self.0.push(TableProblem {
            line,
            column: column.map(str::to_owned),
            message: message.into(),
        });
    }

    /// Every problem in the order of the lines.
    pub(super) fn all(mut self) -> Vec<TableProblem> {
        self.0.sort_by_key(|problem| problem.line);
        self.0.truncate(MOST_PROBLEMS);
        self.0
    }

    /// What was read if nothing is wrong, else every problem.
    pub(super) fn or<T>(self, read: T) -> Result<T, Vec<TableProblem>> {
        if self.0.is_empty() {
            Ok(read)
        } else {
            Err(self.all())
        }
    }
}

/// The columns that one kind of table may have.
pub(super) struct Columns {
    pub(super) known: &'static [&'static [Column]],
    pub(super) needed: &'static [&'static str],
    /// What the table is, as in `is not a leg table`.
    pub(super) kind: &'static str,
    /// Where a table of another kind is read, by columns that only it has.
    pub(super) elsewhere: (&'static [&'static str], &'static str),
    /// Columns that begin so are ignored.
    pub(super) passed_over: Option<&'static str>,
}

impl Columns {
    fn all(&self) -> impl Iterator<Item = &'static Column> {
        self.known.iter().copied().flatten()
    }

    fn find(&self, name: &str) -> Option<&'static Column> {
        let named = |name: &str| {
            self.all()
                .find(|column| column.name.eq_ignore_ascii_case(name))
        };
        let name = name.trim();
        if !name.contains(PERCENT) {
            return named(name);
        }
        // `sand %` is the column `sand_share`, and so is `sand_share (%)`.
        let words: Vec<&str> = name
            .split(|c: char| !c.is_alphanumeric())
            .filter(|word| !word.is_empty())
            .collect();
        let bare = words.join("_");
        let share = format!("{bare}_share");
        [bare, share]
            .iter()
            .find_map(|name| named(name).filter(|column| is_fraction(column)))
    }

    fn passes_over(&self, name: &str) -> bool {
        let name = name.to_ascii_lowercase();
        self.passed_over
            .is_some_and(|begin| name.starts_with(begin))
    }

    /// What to report of a table that is of another kind: a column is missing that it needs, and others are unknown.
    fn unlike(&self, missing: &[&str], unknown: &[&str]) -> Option<String> {
        let (columns, advice) = self.elsewhere;
        let is_other = unknown.iter().any(|name| {
            columns
                .iter()
                .any(|column| column.eq_ignore_ascii_case(name.trim()))
        });
        if missing.is_empty() || !is_other {
            return None;
        }
        let quoted = |names: &[&str]| -> String {
            let names: Vec<String> = names
                .iter()
                .map(|name| format!("`{}`", plain(name, 60)))
                .collect();
            names.join(", ")
        };
        Some(format!(
            "this is not {}: it has no column {}, and these columns are unknown: {}. {advice}",
            self.kind,
            quoted(missing),
            quoted(unknown)
        ))
    }

    fn listed(&self) -> String {
        let names: Vec<&str> = self.all().map(|column| column.name).collect();
        format!("The columns of {} are {}", self.kind, names.join(", "))
    }
}

/// Cells of one row, and the line on which it begins.
pub(super) struct Record {
    pub(super) line: u64,
    cells: Vec<String>,
}

/// A table whose columns are known.
pub(super) struct Sheet {
    pub(super) delimiter: u8,
    /// Line of the column names.
    pub(super) line: u64,
    pub(super) rows: Vec<Record>,
    pub(super) numbers: Numbers,
    /// The column of each cell; `None` if it is ignored.
    columns: Vec<Option<&'static Column>>,
    /// Columns whose heading has the sign of per cent.
    percent: Vec<&'static str>,
}

impl Sheet {
    /// Reads the table's shape; `None` if its cells cannot be read. Problems of either kind are added.
    pub(super) fn read(text: &str, known: &Columns, problems: &mut Problems) -> Option<Self> {
        let text = text.strip_prefix('\u{FEFF}').unwrap_or(text);
        if text.bytes().filter(|&byte| byte == b'"').count() % 2 == 1 {
            let message = "a quote is not closed: the file has an odd number of \"";
            problems.add(line_ends(text.trim_end().as_bytes()) + 1, None, message);
        }
        let delimiter = delimiter(text, known);
        let mut rows = records(text, delimiter, problems)?;
        if rows.is_empty() {
            let message = "the file is empty; it must begin with a row of column names";
            problems.add(1, None, format!("{message}. {}", known.listed()));
            return None;
        }
        let header = rows.remove(0);
        if rows.is_empty() {
            let message = "there are no rows below the column names";
            problems.add(header.line, None, message);
        }
        let columns = columns(&header, &rows, known, problems)?;
        Some(Self {
            delimiter,
            line: header.line,
            numbers: Numbers::from_rows(&columns, &rows),
            percent: columns
                .iter()
                .zip(&header.cells)
                .filter(|(_, name)| name.contains(PERCENT))
                .filter_map(|(column, _)| Some((*column)?.name))
                .collect(),
            rows,
            columns,
        })
    }

    pub(super) fn has(&self, name: &str) -> bool {
        let mut columns = self.columns.iter().flatten();
        columns.any(|column| column.name == name)
    }

    /// Whether a row has something in a column.
    pub(super) fn holds(&self, record: &Record, name: &str) -> bool {
        let mut cells = record.cells_of(&self.columns);
        cells.any(|(column, _)| column.name == name)
    }

    /// What the cells of a row hold, those left out that are empty or wrong; `None` if their number is wrong.
    pub(super) fn values(
        &self,
        record: &Record,
        problems: &mut Problems,
    ) -> Option<Vec<(&'static Column, Value)>> {
        let (named, got) = (self.columns.len(), record.cells.len());
        let has_surplus = record.cells.iter().skip(named).any(|cell| !cell.is_empty());
        if has_surplus || got < named {
            let cells = if got == 1 { "cell" } else { "cells" };
            let message = format!("this row has {got} {cells}, but the header has {named}");
            problems.add(record.line, None, message);
            return None;
        }
        let mut values = Vec::new();
        for (column, cell) in record.cells_of(&self.columns) {
            let is_percent = self.percent.contains(&column.name);
            match value(column, is_percent, cell, &self.numbers) {
                Ok(value) => values.push((column, value)),
                Err(error) => problems.add(record.line, Some(column.name), error.to_string()),
            }
        }
        Some(values)
    }
}

impl Record {
    /// The cells that hold something, each with its column.
    pub(super) fn cells_of<'a>(
        &'a self,
        columns: &'a [Option<&'static Column>],
    ) -> impl Iterator<Item = (&'static Column, &'a str)> {
        let cells = columns.iter().zip(&self.cells);
        cells.filter_map(|(column, cell)| {
            Some(((*column)?, cell.as_str())).filter(|(_, cell)| !cell.is_empty())
        })
    }
}

fn reader(text: &str, delimiter: u8) -> csv::Reader<&[u8]> {
    csv::ReaderBuilder::new()
        .delimiter(delimiter)
        .has_headers(false)
        .flexible(true)
        .from_reader(text.as_bytes())
}

/// The rows that hold something; `None` if one is too much, which is added to the problems.
fn records(text: &str, delimiter: u8, problems: &mut Problems) -> Option<Vec<Record>> {
    let bytes = text.as_bytes();
    let mut reader = reader(text, delimiter);
    let mut record = csv::StringRecord::new();
    let mut records = Vec::new();
    // Lines are counted up to the begin of each row: the crate takes the LF of a CR LF for a part of the next
    // row, and a lone CR for no line's end.
    let (mut counted, mut line) = (0, 1);
    let sound = "the text is UTF-8, lies in memory, and rows may differ in length";
    while reader.read_record(&mut record).expect(sound) {
        let begin = record.position().map(csv::Position::byte);
        let mut begin = begin.map_or(counted, |byte| usize::try_from(byte).unwrap_or(counted));
        while matches!(bytes.get(begin), Some(b'\r' | b'\n')) {
            begin += 1;
        }
        line += line_ends(&bytes[counted..begin]);
        counted = begin;
        if record.iter().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        if record.len() > MOST_CELLS {
            let message = format!("this row has more than {MOST_CELLS} cells");
            problems.add(line, None, message);
            return None;
        }
        if records.len() > MOST_ROWS {
            let message = format!("the table has more than {MOST_ROWS} rows");
            problems.add(line, None, message);
            return None;
        }
        let cells = record.iter().map(|cell| cell.trim().to_owned()).collect();
        records.push(Record { line, cells });
    }
    Some(records)
}

/// The delimiter under which the first row names the most columns.
fn delimiter(text: &str, known: &Columns) -> u8 {
    let named = |delimiter: &u8| {
        let first = reader(text, *delimiter).into_records().next();
        let first = first.and_then(Result::ok).unwrap_or_default();
        first
            .iter()
            .filter(|name| known.find(name).is_some())
            .count()
    };
    DELIMITERS.into_iter().max_by_key(named).unwrap_or(b',')
}

/// The column of each cell; `None` for a table of another kind.
fn columns(
    header: &Record,
    rows: &[Record],
    known: &Columns,
    problems: &mut Problems,
) -> Option<Vec<Option<&'static Column>>> {
    let mut found: Vec<Option<&'static Column>> = Vec::new();
    let mut list_them = false;
    let mut unknown = Vec::new();
    let mut problem = |column: &str, message: String| {
        problems.add(header.line, Some(&plain(column, 60)), message);
    };
    for (n, name) in header.cells.iter().enumerate() {
        let column = known.find(name);
        let is_there = |column: &Column| {
            found
                .iter()
                .flatten()
                .any(|other| other.name == column.name)
        };
        let holds_something = |row: &Record| row.cells.get(n).is_some_and(|cell| !cell.is_empty());
        if column.is_some_and(is_there) {
            problem(name, "this column appears twice".to_owned());
        } else if name.is_empty() {
            if rows.iter().any(holds_something) {
                let message = "this column has values, but no name";
                problem(&format!("column {}", n + 1), message.to_owned());
            }
        } else if column.is_none() && !known.passes_over(name) {
            unknown.push(name.as_str());
        }
        found.push(column);
    }
    let is_there = |name: &str| found.iter().flatten().any(|column| column.name == name);
    let needed = known.needed.iter().copied();
    let missing: Vec<&str> = needed.filter(|name| !is_there(name)).collect();
    if let Some(message) = known.unlike(&missing, &unknown) {
        problems.add(header.line, None, message);
        return None;
    }
    for name in unknown {
        let near = nearest(name, known.all().map(|column| column.name));
        let near = near.map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
        problems.add(
            header.line,
            Some(&plain(name, 60)),
            format!("unknown column{near}"),
        );
        list_them = true;
    }
    for name in missing {
        list_them = true;
        problems.add(header.line, Some(name), "required column is missing");
    }
    if list_them {
        problems.add(header.line, None, known.listed());
    }
    Some(found)
}

/// Puts a value at a pointer of one or two steps; `null` makes the object and leaves the value out.
pub(super) fn put(object: &mut Map<String, Value>, pointer: &str, value: Value) {
    let path = pointer.trim_start_matches('/');
    let (object, key) = match path.split_once('/') {
        None => (object, path),
        Some((outer, key)) => {
            let inner = object.entry(outer).or_insert_with(|| Map::new().into());
            (inner.as_object_mut().expect("made as an object"), key)
        }
    };
    if value != Value::Null {
        object.insert(key.to_owned(), value);
    }
}
