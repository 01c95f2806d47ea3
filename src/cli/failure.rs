//! Why a command fails, and the message on stderr.

use std::error::Error;
use std::ffi::OsString;
use std::fmt::{self, Write as _};

use serde::Serialize;
use serde_json::json;

use super::args::ErrorForm;
use crate::io::import::{ImportError, ImportProblem};
use crate::io::reason::plain_reason;
use crate::io::save::SaveError;
use crate::model::check::{Problem, TextPlace};
use crate::present::name::{self, plain};
use crate::report::json::harmless;

/// The beginning of every error, as of those of the parser.
const PREFIX: &str = "error: ";
/// Most errors that are listed as text; JSON lists all.
const MOST_SHOWN: usize = 100;

/// Why a command could not be done.
#[derive(Debug)]
pub enum Failure {
    /// A usage error, or a request for help.
    Call(clap::Error),
    /// A usage error that the parser cannot know.
    Wrong(String),
    /// An input file cannot be used.
    Unusable {
        file: String,
        problems: Vec<Problem>,
    },
    /// The trip is invalid with the values of `--set`.
    Set(Vec<Problem>),
    /// Files cannot be imported.
    Unimportable(Vec<ImportProblem>),
    /// Something else failed; the chain has the reasons.
    Failed(anyhow::Error),
}

/// On one line without the prefix, for the screen.
impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = self.message(ErrorForm::Text);
        let lines = text
            .lines()
            .map(|line| line.strip_prefix(PREFIX).unwrap_or(line));
        f.write_str(&lines.collect::<Vec<_>>().join("; "))
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
            ImportError::Unreadable { path, cause } => Self::unreadable(path, &cause),
        }
    }
}

impl Failure {
    /// The message for stderr, with a line end.
    pub(crate) fn message(&self, form: ErrorForm) -> String {
        let entries = self.entries();
        match form {
            ErrorForm::Text => match self {
                // The parser's own message contains the usage, too.
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

    /// A file that the system does not let be read.
    pub(crate) fn unreadable(file: String, error: &std::io::Error) -> Self {
        Self::Unusable {
            file,
            problems: vec![Problem::new("", plain_reason(error))],
        }
    }

    /// A file of JSON that cannot be used.
    pub(crate) fn of_json(file: String, error: &serde_json::Error) -> Self {
        let text = error.to_string();
        let message = text.split(" at line ").next().unwrap_or_default();
        let place = (error.line() > 0).then(|| TextPlace {
            line: error.line() as u64,
            column: error.column().max(1) as u64,
        });
        Self::Unusable {
            file,
            problems: vec![Problem {
                place,
                ..Problem::new("", message)
            }],
        }
    }

    fn entries(&self) -> Vec<ErrorEntry> {
        let one = |message: String| {
            vec![ErrorEntry {
                message,
                ..ErrorEntry::default()
            }]
        };
        let of_problem = |problem: &Problem| ErrorEntry {
            pointer: Some(problem.pointer.clone()).filter(|at| !at.is_empty()),
            part: problem.named.clone(),
            message: problem.message.clone(),
            ..ErrorEntry::default()
        };
        match self {
            Self::Call(error) => {
                let text = error.render().to_string();
                let first = text.lines().next().unwrap_or_default();
                one(first.trim_start_matches(PREFIX).to_owned())
            }
            Self::Wrong(message) => one(message.clone()),
            Self::Unusable { file, problems } => problems
                .iter()
                .map(|problem| ErrorEntry {
                    file: Some(file.clone()),
                    line: problem.place.map(|place| place.line),
                    column: problem.place.map(|place| place.column),
                    ..of_problem(problem)
                })
                .collect(),
            Self::Set(problems) => problems
                .iter()
                .map(|problem| ErrorEntry {
                    option: Some("--set".to_owned()),
                    ..of_problem(problem)
                })
                .collect(),
            Self::Unimportable(problems) => problems
                .iter()
                .map(|problem| ErrorEntry {
                    file: Some(problem.file.clone()),
                    line: problem.line,
                    column: problem.character,
                    field: problem.column.clone(),
                    pointer: problem.pointer.clone(),
                    message: problem.message.clone(),
                    ..ErrorEntry::default()
                })
                .collect(),
            Self::Failed(error) => vec![ErrorEntry {
                file: error
                    .downcast_ref()
                    .map(|error: &SaveError| shown_path(error.path())),
                names_file: true,
                message: chain(error),
                ..ErrorEntry::default()
            }],
        }
    }
}

/// The error and its causes; a cause that the text before it already ends with is left out.
fn chain(error: &anyhow::Error) -> String {
    let mut parts: Vec<String> = Vec::new();
    for cause in error.chain() {
        let text = match cause.downcast_ref::<std::io::Error>() {
            Some(error) => plain_reason(error),
            None => cause.to_string(),
        };
        if parts.last().is_none_or(|before| !before.ends_with(&text)) {
            parts.push(text);
        }
    }
    parts.join(": ")
}

/// One error of a failed command, as JSON.
#[derive(Default, Serialize)]
struct ErrorEntry {
    file: Option<String>,
    /// Option of the command line that it is about.
    option: Option<String>,
    /// Line of the file, from 1.
    line: Option<u64>,
    /// Character of the line, from 1.
    column: Option<u64>,
    /// Column of a table.
    field: Option<String>,
    /// JSON Pointer into a trip or a file of JSON.
    pointer: Option<String>,
    /// What the pointer leads to, in the names of the trip.
    part: Option<String>,
    message: String,
    /// Whether the message names the file.
    #[serde(skip)]
    names_file: bool,
}

/// One line for each error: `error: trip.json, line 40, column 7: /legs/3/sand_share, leg 4 to Dune Gate: must be 0 to
/// 1`.
fn as_text(entries: &[ErrorEntry]) -> String {
    let mut text = String::new();
    for entry in entries.iter().take(MOST_SHOWN) {
        let line = entry.line.map(|line| format!("line {line}"));
        let column = entry.column.map(|column| format!("column {column}"));
        let joined = |parts: [Option<String>; 3]| {
            let parts: Vec<String> = parts.into_iter().flatten().collect();
            (!parts.is_empty()).then(|| parts.join(", "))
        };
        let value = joined([
            entry.field.clone(),
            entry.pointer.clone(),
            entry.part.clone(),
        ]);
        let value = match (&entry.option, value) {
            (Some(option), Some(value)) => Some(format!("{option} {value}")),
            (option, value) => value.or_else(|| option.clone()),
        };
        let parts = [
            joined([
                entry.file.clone().filter(|_| !entry.names_file),
                line,
                column,
            ]),
            value,
            Some(entry.message.clone()),
        ];
        let parts: Vec<_> = parts.iter().flatten().map(|part| plain(part)).collect();
        let _ = writeln!(text, "{PREFIX}{}", parts.join(": "));
    }
    if entries.len() > MOST_SHOWN {
        let _ = writeln!(
            text,
            "{PREFIX}{} more errors; --errors json lists all of them",
            entries.len() - MOST_SHOWN
        );
    }
    text
}

/// The format of `--errors`, for usage errors, which come before the arguments are parsed.
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
        "standard input".to_owned()
    } else {
        name::plain(&path.to_string_lossy()).into_owned()
    }
}
