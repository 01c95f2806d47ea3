//! How a command fails, and how that is told on stderr.

use std::error::Error;
use std::ffi::OsString;
use std::fmt::{self, Write as _};

use serde::Serialize;
use serde_json::json;

use super::args::ErrorForm;
use crate::io::import::{ImportError, ImportProblem};
use crate::model::check::Problem;
use crate::present::name::{self, plain};
use crate::report::json::harmless;

/// Most problems that are told as text; JSON tells all.
const MOST_TOLD: usize = 100;

/// Why a command could not be done.
#[derive(Debug)]
pub enum Failure {
    /// The call itself is wrong, or asks for help.
    Call(clap::Error),
    /// The call is wrong in a way that the parser cannot know.
    Wrong(String),
    /// An input file cannot be used.
    Unusable {
        /// The file.
        file: String,
        /// Everything that is wrong with it.
        problems: Vec<Problem>,
    },
    /// Files cannot be imported.
    Unimportable(Vec<ImportProblem>),
    /// Something failed; the chain tells what and why.
    Failed(anyhow::Error),
}

/// On one line, for the screen.
impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = self.told(ErrorForm::Text);
        f.write_str(&text.trim_end().replace('\n', "; "))
    }
}

impl Error for Failure {}

impl From<anyhow::Error> for Failure {
    fn from(error: anyhow::Error) -> Self {
        Self::Failed(error)
    }
}

impl From<ImportError> for Failure {
    fn from(error: ImportError) -> Self {
        match error {
            ImportError::Problems(problems) => Self::Unimportable(problems),
            unreadable @ ImportError::Unreadable { .. } => Self::Failed(unreadable.into()),
        }
    }
}

impl Failure {
    /// The message for stderr; ends with a line end.
    pub(crate) fn told(&self, form: ErrorForm) -> String {
        let entries = self.entries();
        match form {
            ErrorForm::Text => match self {
                // The parser's own message holds the usage, too.
                Self::Call(error) => {
                    let text = error.render().to_string();
                    let lines: Vec<_> = text.lines().map(plain).collect();
                    lines.join("\n") + "\n"
                }
                _ => as_text(&entries),
            },
            ErrorForm::Json => {
                let document = json!({ "drystage_errors": 1, "errors": entries });
                harmless(&document.to_string()) + "\n"
            }
        }
    }

    fn entries(&self) -> Vec<Entry> {
        let one = |says: String| {
            vec![Entry {
                says,
                ..Entry::default()
            }]
        };
        match self {
            Self::Call(error) => {
                let text = error.render().to_string();
                let first = text.lines().next().unwrap_or_default();
                one(first.trim_start_matches("error: ").to_owned())
            }
            Self::Wrong(says) => one(says.clone()),
            Self::Unusable { file, problems } => problems
                .iter()
                .map(|problem| Entry {
                    file: Some(file.clone()),
                    line: None,
                    at: Some(problem.at.clone()),
                    says: problem.says.clone(),
                })
                .collect(),
            Self::Unimportable(problems) => problems
                .iter()
                .map(|problem| Entry {
                    file: Some(problem.file.clone()),
                    line: problem.line,
                    at: problem.column.clone(),
                    says: problem.says.clone(),
                })
                .collect(),
            Self::Failed(error) => one(chain(error)),
        }
    }
}

/// The error and its causes; a cause that the text before it already ends with is told once.
fn chain(error: &anyhow::Error) -> String {
    let mut parts: Vec<String> = Vec::new();
    for cause in error.chain().map(ToString::to_string) {
        if parts.last().is_none_or(|before| !before.ends_with(&cause)) {
            parts.push(cause);
        }
    }
    parts.join(": ")
}

/// One thing that went wrong.
#[derive(Default, Serialize)]
struct Entry {
    file: Option<String>,
    line: Option<u64>,
    /// JSON Pointer into a trip, or column of a table.
    at: Option<String>,
    says: String,
}

/// One line a thing, `file: /legs/3/sand_share: must be 0 to 1, got 1.4`.
fn as_text(entries: &[Entry]) -> String {
    let mut text = String::new();
    for entry in entries.iter().take(MOST_TOLD) {
        let file = entry.file.as_ref().map(|file| match entry.line {
            Some(line) => format!("{file}:{line}"),
            None => file.clone(),
        });
        let parts = [
            file.as_deref(),
            entry.at.as_deref().filter(|at| !at.is_empty()),
            Some(&entry.says),
        ];
        let parts: Vec<_> = parts.into_iter().flatten().map(plain).collect();
        let _ = writeln!(text, "drystage: {}", parts.join(": "));
    }
    if entries.len() > MOST_TOLD {
        let _ = writeln!(
            text,
            "drystage: and {} more; --errors json tells all",
            entries.len() - MOST_TOLD
        );
    }
    text
}

/// The form of messages that the caller asked for, for errors of the call itself.
pub(crate) fn form_asked_for(arguments: &[OsString]) -> ErrorForm {
    let json = arguments.iter().any(|text| text == "--errors=json")
        || arguments
            .windows(2)
            .any(|pair| pair[0] == "--errors" && pair[1] == "json");
    if json {
        ErrorForm::Json
    } else {
        ErrorForm::Text
    }
}

/// A file's name for a message.
pub(crate) fn shown_path(path: &std::path::Path) -> String {
    if path.as_os_str() == "-" {
        "stdin".to_owned()
    } else {
        name::plain(&path.to_string_lossy()).into_owned()
    }
}
