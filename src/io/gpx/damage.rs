//! What is wrong with a GPX file, and where.

use std::io;
use std::sync::Arc;

use quick_xml::errors::{Error as XmlError, IllFormedError};
use quick_xml::escape::EscapeError;

use super::parser::{DEEPEST, MOST_ATTRIBUTES, MOST_WRONG_POINTS};
use super::text::LONGEST_PIECE;
use crate::io::reading::{MOST_LINES, MOST_POINTS, MOST_WAYPOINTS};
use crate::io::text::{TextError, plain};

/// Something wrong with a file.
#[derive(Clone, Debug, thiserror::Error)]
#[error("line {line}, column {column}: {cause}")]
pub struct Damage {
    /// Line of the file, from 1.
    pub line: u64,
    /// The character in the line, from 1.
    pub column: u64,
    /// What would be right, then what was found.
    pub cause: Cause,
}

impl From<Damage> for TextError {
    fn from(damage: Damage) -> Self {
        Self {
            line: damage.line,
            message: damage.cause.to_string(),
        }
    }
}

/// What is wrong. Texts from the file are as [`plain`] leaves them.
#[derive(Clone, Debug, thiserror::Error)]
pub enum Cause {
    #[error("cannot be read: {0}")]
    Unreadable(Arc<io::Error>),
    #[error("is UTF-32 text, which cannot be read; save it as UTF-8")]
    Utf32,
    #[error("unknown encoding `{0}`; save the file as UTF-8")]
    UnknownEncoding(String),
    #[error("is not {encoding} text: {got}")]
    NotText { encoding: &'static str, got: String },
    #[error("XML cannot contain the control character U+{0:04X}")]
    ControlCharacter(u8),
    #[error("a piece of markup or text is longer than {LONGEST_PIECE} bytes")]
    LongPiece,
    #[error("is not well-formed XML: {0}")]
    IllFormed(String),
    #[error("the XML declaration is not at the beginning of the file")]
    LateDeclaration,
    #[error("the document type is after the root element")]
    LateDocumentType,
    #[error("is not GPX: it has no gpx element")]
    NoRoot,
    #[error("is not GPX: its root element is <{0}>, not <gpx>")]
    OtherRoot(String),
    #[error("has a second root element: <{0}>")]
    SecondRoot(String),
    #[error("has text outside the root element")]
    TextOutsideRoot,
    #[error("the file ends before </gpx>")]
    Unfinished,
    #[error("elements are nested more than {DEEPEST} deep")]
    TooDeep,
    #[error("must be a name, got `{0}`")]
    NoName(String),
    #[error("text contains `]]>`")]
    EndOfLiteral,
    #[error("`&` must be written as &amp;")]
    UnclosedReference,
    #[error(
        "unknown reference `&{0};`; XML has &lt; &gt; &amp; &apos; &quot; and numbers of characters"
    )]
    UnknownReference(String),
    #[error("XML does not allow the character U+{0:04X}")]
    ForbiddenCharacter(u32),
    #[error("the attribute `{0}` appears twice")]
    RepeatedAttribute(String),
    #[error("attributes must be name=\"value\", got `{0}`")]
    NoAttribute(String),
    #[error("there is no space between two attributes")]
    TouchingAttributes,
    #[error("the value of an attribute contains `<`")]
    MarkupInAttribute,
    #[error("an element has more than {MOST_ATTRIBUTES} attributes")]
    ManyAttributes,
    #[error("{element} {wrong} must be -{limit} to {limit} degrees, got {got}")]
    NoPosition {
        element: &'static str,
        wrong: &'static str,
        limit: u8,
        got: String,
    },
    #[error("{MOST_WRONG_POINTS} points have no valid position, so reading stopped here")]
    ManyWrongPoints,
    #[error("ele must be a number of metres, got `{0}`")]
    NoHeight(String),
    #[error("the file has more than {MOST_WAYPOINTS} waypoints")]
    ManyWaypoints,
    #[error("the file has more than {MOST_POINTS} points of tracks and routes")]
    ManyPoints,
    #[error("the file has more than {MOST_LINES} track segments and routes")]
    ManyLines,
}

impl From<XmlError> for Cause {
    fn from(error: XmlError) -> Self {
        match error {
            XmlError::Io(error) => Self::Unreadable(error),
            XmlError::IllFormed(IllFormedError::UnclosedReference)
            | XmlError::Escape(EscapeError::UnterminatedEntity(_)) => Self::UnclosedReference,
            XmlError::Escape(EscapeError::UnrecognizedEntity(_, name)) => {
                Self::UnknownReference(plain(&name, 40))
            }
            other => Self::IllFormed(plain(&other.to_string(), 200)),
        }
    }
}
