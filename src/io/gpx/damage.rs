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
    /// The line, from 1.
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
            says: damage.cause.to_string(),
        }
    }
}

/// What is wrong. Texts from the file are as [`plain`] leaves them.
#[derive(Clone, Debug, thiserror::Error)]
pub enum Cause {
    #[error("reading failed: {0}")]
    Unreadable(Arc<io::Error>),
    #[error("encoding must be UTF-8, UTF-16 or one that contains ASCII, got UTF-32")]
    Utf32,
    #[error(
        "encoding must be UTF-8, UTF-16, ISO-8859-x, windows-125x or another of the Encoding Standard, got `{0}`"
    )]
    UnknownEncoding(String),
    #[error("must be {encoding} text, got {got}")]
    NotText { encoding: &'static str, got: String },
    #[error("XML must not hold control characters, got U+{0:04X}")]
    ControlCharacter(u8),
    #[error("a piece of markup or text must be at most {LONGEST_PIECE} bytes, got a longer one")]
    LongPiece,
    #[error("must be well-formed XML: {0}")]
    IllFormed(String),
    #[error("the XML declaration must be the very first in the file")]
    LateDeclaration,
    #[error("a document type must precede the root element")]
    LateDocumentType,
    #[error("must hold a gpx element, got none")]
    NoRoot,
    #[error("root element must be gpx, got <{0}>")]
    OtherRoot(String),
    #[error("must hold one root element, got a second: <{0}>")]
    SecondRoot(String),
    #[error("must hold nothing but the root element, got text")]
    TextOutsideRoot,
    #[error("must go on to </gpx>, got the end of the file")]
    Unfinished,
    #[error("elements must be nested at most {DEEPEST} deep, got more")]
    TooDeep,
    #[error("must be a name, got `{0}`")]
    NoName(String),
    #[error("text must not hold `]]>`")]
    EndOfLiteral,
    #[error("`&` must begin a reference that ends with `;`")]
    UnclosedReference,
    #[error(
        "a reference must be one of &lt; &gt; &amp; &apos; &quot; or a character's number, got `&{0};`"
    )]
    UnknownReference(String),
    #[error("a reference must be to a character that XML allows, got U+{0:04X}")]
    ForbiddenCharacter(u32),
    #[error("an attribute must stand once, got `{0}` twice")]
    RepeatedAttribute(String),
    #[error("attributes must be name=\"value\", got `{0}`")]
    NoAttribute(String),
    #[error("attributes must be separated by a space")]
    TouchingAttributes,
    #[error("an attribute's value must not hold `<`")]
    MarkupInAttribute,
    #[error("an element must have at most {MOST_ATTRIBUTES} attributes, got more")]
    ManyAttributes,
    #[error("{element} {wrong} must be -{limit} to {limit} degrees, got {got}")]
    NoPosition {
        element: &'static str,
        wrong: &'static str,
        limit: u8,
        got: String,
    },
    #[error("{MOST_WRONG_POINTS} points have no valid position; reading stopped here")]
    ManyWrongPoints,
    #[error("ele must be a number of metres, got `{0}`")]
    NoHeight(String),
    #[error("must hold at most {MOST_WAYPOINTS} waypoints, got more")]
    ManyWaypoints,
    #[error("must hold at most {MOST_POINTS} points of tracks and routes, got more")]
    ManyPoints,
    #[error("must hold at most {MOST_LINES} track segments and routes, got more")]
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
