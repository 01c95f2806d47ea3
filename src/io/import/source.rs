//! The files of an import, each of the kind that its first character shows.

use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use super::Options;
use super::problem::{ImportError, ImportProblem};
use super::pumps::leave_out_advice;
use crate::io::csv::{self, Table};
use crate::io::reading::Reading;
use crate::io::text::{self, TextError, plain};
use crate::io::{geojson, gpx};

/// Blanks before the character that shows what kind a file is.
const MOST_BLANKS: usize = 64 * 1024;

/// A file that was read.
pub(super) struct Source {
    pub(super) path: String,
    pub(super) content: Content,
}

pub(super) enum Content {
    /// Tracks, routes and waypoints.
    Map(Reading),
    Table {
        table: Table,
        encoding: &'static str,
    },
}

/// Reads every file; fails with the problems of all of them.
pub(super) fn read_all(files: &[PathBuf], options: &Options) -> Result<Vec<Source>, ImportError> {
    let mut sources = Vec::new();
    let mut problems = Vec::new();
    for file in files {
        let path = plain(&file.display().to_string(), 200);
        let unreadable = |source| ImportError::Unreadable {
            path: path.clone(),
            source,
        };
        let mut bytes: Box<dyn Read> = if file.as_path() == Path::new("-") {
            Box::new(io::stdin().lock())
        } else {
            Box::new(File::open(file).map_err(unreadable)?)
        };
        match read_content(&mut *bytes, options.salvage).map_err(unreadable)? {
            Ok(content) => sources.push(Source { path, content }),
            Err(found) => problems.extend(found.into_iter().map(|problem| ImportProblem {
                file: path.clone(),
                ..problem
            })),
        }
    }
    if problems.is_empty() {
        Ok(sources)
    } else {
        Err(ImportError::Problems(problems))
    }
}

/// Reads a file of any kind; its problems are still without its name.
fn read_content(
    mut bytes: &mut dyn Read,
    salvage: bool,
) -> io::Result<Result<Content, Vec<ImportProblem>>> {
    let is_mark = |byte: &u8| matches!(byte, 0 | 0xEF | 0xBB | 0xBF | 0xFE | 0xFF);
    let mut head = Vec::new();
    let first = loop {
        let known = head.len();
        let more = Read::by_ref(&mut bytes).take(64).read_to_end(&mut head)?;
        let mut begin = head[known..].iter();
        let first = begin.find(|byte| !is_mark(byte) && !byte.is_ascii_whitespace());
        if first.is_some() || more == 0 || head.len() > MOST_BLANKS {
            break first.copied();
        }
    };
    if first == Some(b'{') || first == Some(b'[') {
        return Ok(read_geojson(&head, bytes, salvage));
    }
    let bytes = head.as_slice().chain(bytes);
    if first == Some(b'<') {
        return Ok(gpx::read(bytes, salvage)
            .map(|mut reading| {
                leave_out_advice(&mut reading);
                Content::Map(reading)
            })
            .map_err(|damage| damage.into_iter().map(from_gpx).collect()));
    }
    let (text, encoding) = match text::read_table(bytes) {
        Ok(read) => read,
        Err(error) => {
            return match error
                .get_ref()
                .and_then(|inner| inner.downcast_ref::<TextError>())
            {
                Some(inner) => Ok(Err(vec![from_text(inner.clone())])),
                None => Err(error),
            };
        }
    };
    Ok(csv::read(&text)
        .map(|table| Content::Table { table, encoding })
        .map_err(|problems| {
            let problems = problems.into_iter().map(|problem| ImportProblem {
                file: String::new(),
                line: Some(problem.line),
                column: problem.column,
                says: problem.says,
            });
            problems.collect()
        }))
}

fn read_geojson(
    head: &[u8],
    bytes: &mut dyn Read,
    salvage: bool,
) -> Result<Content, Vec<ImportProblem>> {
    if head.contains(&0) {
        return Err(vec![from_text(TextError {
            line: 1,
            says: "GeoJSON must be UTF-8 (RFC 8259), got UTF-16 or UTF-32: save it as UTF-8"
                .to_owned(),
        })]);
    }
    let head = head.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(head);
    match geojson::read(head.chain(bytes), salvage) {
        Ok(mut reading) => {
            leave_out_advice(&mut reading);
            Ok(Content::Map(reading))
        }
        Err(faults) => Err(faults
            .into_iter()
            .map(|fault| ImportProblem {
                file: String::new(),
                line: fault.line,
                column: Some(fault.at).filter(|at| !at.is_empty()),
                says: fault.cause.to_string(),
            })
            .collect()),
    }
}

fn from_gpx(damage: gpx::Damage) -> ImportProblem {
    ImportProblem {
        column: Some(format!("column {}", damage.column)),
        ..from_text(damage.into())
    }
}

fn from_text(error: TextError) -> ImportProblem {
    ImportProblem {
        file: String::new(),
        line: Some(error.line),
        column: None,
        says: error.says,
    }
}
