//! What is wrong with the files of an import.

use std::fmt;
use std::io;

use crate::io::reason::plain_reason;

/// Why there is no import.
#[derive(Debug, thiserror::Error)]
pub enum ImportError {
    /// A file could not be read at all.
    #[error("{path}: {}", plain_reason(.cause))]
    Unreadable {
        /// The file as the user named it.
        path: String,
        /// The system's reason.
        cause: io::Error,
    },
    /// Everything that is wrong with the files.
    #[error("{}", lines(.0))]
    Problems(Vec<ImportProblem>),
}

/// One error, its place, and what would be right.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ImportProblem {
    /// The file as it was named.
    pub file: String,
    /// The line, from 1, where it is known.
    pub line: Option<u64>,
    /// The character of the line, from 1, where it is known.
    pub character: Option<u64>,
    /// The column of a table.
    pub column: Option<String>,
    /// JSON Pointer into the file or the trip.
    pub pointer: Option<String>,
    /// What would be right, then what was found.
    pub message: String,
}

impl ImportProblem {
    /// What is wrong with a file as a whole.
    pub(crate) fn new(file: impl Into<String>, message: String) -> Self {
        Self {
            file: file.into(),
            message,
            ..Self::default()
        }
    }
}

impl fmt::Display for ImportProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if let Some(line) = self.line {
            write!(f, ", line {line}")?;
        }
        if let Some(character) = self.character {
            write!(f, ", column {character}")?;
        }
        for place in [&self.column, &self.pointer].into_iter().flatten() {
            write!(f, ": {place}")?;
        }
        write!(f, ": {}", self.message)
    }
}

fn lines(problems: &[ImportProblem]) -> String {
    let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
    lines.join("\n")
}
