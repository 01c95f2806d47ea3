//! The files of an import, each of the kind that its first character shows.

use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use super::Options;
use super::problem::{ImportError, ImportProblem};
use super::stop::leave_out_advice;
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

/// Why a file gave nothing.
enum Unread {
    System(io::Error),
    /// What is wrong with it, still without its name.
    Problems(Vec<ImportProblem>),
}

impl From<io::Error> for Unread {
    fn from(error: io::Error) -> Self {
        match error.get_ref().and_then(|inner| inner.downcast_ref()) {
            Some(fault) => Self::Problems(vec![from_text(TextError::clone(fault))]),
            None => Self::System(error),
        }
    }
}

impl Source {
    /// Tracks, routes and waypoints, where it is not a table.
    pub(super) fn reading(&self) -> Option<&Reading> {
        match &self.content {
            Content::Map(reading) => Some(reading),
            Content::Table { .. } => None,
        }
    }
}

/// Reads every file; fails with the problems of all of them.
pub(super) fn read_all(files: &[PathBuf], options: &Options) -> Result<Vec<Source>, ImportError> {
    let mut sources = Vec::new();
    let mut problems = Vec::new();
    for file in files {
        let path = plain(&file.display().to_string(), 200);
        match read(file, options.salvage) {
            Ok(content) => sources.push(Source { path, content }),
            Err(Unread::System(cause)) => return Err(ImportError::Unreadable { path, cause }),
            Err(Unread::Problems(found)) => problems.extend(found.into_iter().map(|problem| {
                let file = path.clone();
                ImportProblem { file, ..problem }
            })),
        }
    }
    if problems.is_empty() {
        Ok(sources)
    } else {
        Err(ImportError::Problems(problems))
    }
}

/// Reads a file of any kind.
fn read(file: &Path, salvage: bool) -> Result<Content, Unread> {
    let mut bytes: Box<dyn Read> = if file.as_os_str() == "-" {
        Box::new(io::stdin().lock())
    } else {
        Box::new(File::open(file)?)
    };
    let is_mark = |byte: &u8| matches!(byte, 0 | 0xEF | 0xBB | 0xBF | 0xFE | 0xFF);
    let mut head = Vec::new();
    let first = loop {
        let known = head.len();
        let more = bytes.by_ref().take(64).read_to_end(&mut head)?;
        let mut begin = head[known..].iter();
        let first = begin.find(|byte| !is_mark(byte) && !byte.is_ascii_whitespace());
        if first.is_some() || more == 0 || head.len() > MOST_BLANKS {
            break first.copied();
        }
    };
    match first {
        Some(b'{' | b'[') => read_geojson(&head, &mut *bytes, salvage),
        Some(b'<') => {
            let mut reading = gpx::read(head.chain(bytes), salvage)
                .map_err(|damage| Unread::Problems(damage.into_iter().map(from_gpx).collect()))?;
            leave_out_advice(&mut reading);
            Ok(Content::Map(reading))
        }
        _ => read_table(head.chain(bytes)),
    }
}

fn read_table(bytes: impl Read) -> Result<Content, Unread> {
    let (text, encoding) = text::read_table(bytes)?;
    let table = csv::read(&text).map_err(|problems| {
        let problems = problems.into_iter().map(|problem| ImportProblem {
            line: Some(problem.line),
            column: problem.column,
            message: problem.message,
            ..ImportProblem::default()
        });
        Unread::Problems(problems.collect())
    })?;
    Ok(Content::Table { table, encoding })
}

fn read_geojson(head: &[u8], bytes: &mut dyn Read, salvage: bool) -> Result<Content, Unread> {
    if head.contains(&0) {
        let message =
            "GeoJSON must be UTF-8 (RFC 8259), and this is UTF-16 or UTF-32; save it as UTF-8";
        let message = message.to_owned();
        return Err(Unread::Problems(vec![from_text(TextError {
            line: 1,
            message,
        })]));
    }
    let head = head.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(head);
    let mut reading = geojson::read(head.chain(bytes), salvage).map_err(|faults| {
        let problems = faults.into_iter().map(|fault| ImportProblem {
            line: fault.line,
            character: fault.cause.column(),
            pointer: Some(fault.at).filter(|at| !at.is_empty()),
            message: fault.cause.message(),
            ..ImportProblem::default()
        });
        Unread::Problems(problems.collect())
    })?;
    leave_out_advice(&mut reading);
    Ok(Content::Map(reading))
}

fn from_gpx(damage: gpx::Damage) -> ImportProblem {
    ImportProblem {
        character: Some(damage.column),
        ..from_text(damage.into())
    }
}

fn from_text(error: TextError) -> ImportProblem {
    ImportProblem {
        line: Some(error.line),
        message: error.message,
        ..ImportProblem::default()
    }
}
