//! What is wrong with the files of an import.

use std::fmt;
use std::io;

/// Why there is no import.
#[derive(Debug, thiserror::Error)]
pub enum ImportError {
    /// A file could not be read at all.
    #[error("{path}: cannot be read: {source}")]
    Unreadable {
        /// The file.
        path: String,
        /// Why.
        source: io::Error,
    },
    /// Everything that is wrong with the files.
    #[error("{}", lines(.0))]
    Problems(Vec<ImportProblem>),
}

/// One thing that is wrong, where it stands, and what would be right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ImportProblem {
    /// The file as it was named.
    pub file: String,
    /// The line, from 1, where it can be told.
    pub line: Option<u64>,
    /// The column of a table, where it is about one.
    pub column: Option<String>,
    /// What would be right, then what was found.
    pub says: String,
}

impl fmt::Display for ImportProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if let Some(line) = self.line {
            write!(f, ":{line}")?;
        }
        if let Some(column) = &self.column {
            write!(f, ": {column}")?;
        }
        write!(f, ": {}", self.says)
    }
}

fn lines(problems: &[ImportProblem]) -> String {
    let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
    lines.join("\n")
}
