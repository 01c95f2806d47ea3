//! The events of a document, one by one, and what must be well-formed about them.
//!
//! The text is gone through in pieces that end behind a `>`, so that the event reader borrows from it instead
//! of copying. Where an event turns out to go on behind its piece, the next piece begins with it.

use quick_xml::errors::{Error as XmlError, IllFormedError};
use quick_xml::events::{BytesText, Event};
use quick_xml::reader::Reader;

use super::parser::Parser;
use super::text::XmlText;
use crate::io::text::{TextError, plain};

const BYTE_ORDER_MARK: char = '\u{FEFF}';
/// Points without a valid position that are reported before reading stops.
const MOST_DAMAGE: usize = 20;

/// Hands every event to the parser, to the end or to the damage that makes it impossible to read on.
///
/// # Errors
/// That damage.
pub(super) fn read(mut text: XmlText<'_>, parser: &mut Parser) -> Result<(), TextError> {
    let mut open = OpenTags::default();
    loop {
        let held = text.held();
        let piece = if text.is_end() {
            held
        } else {
            &held[..held.rfind('>').map_or(0, |last| last + 1)]
        };
        // The event reader takes one for the mark of an encoding and does not count it; behind the begin it is text.
        let marks = piece.len() - piece.trim_start_matches(BYTE_ORDER_MARK).len();
        if marks > 0 && !text.is_begin() {
            let text_of_marks = Event::Text(BytesText::from_escaped(&piece[..marks]));
            parser
                .take(&text_of_marks)
                .map_err(|says| text.fault(0, says))?;
        }
        let mut xml = Reader::from_str(&piece[marks..]);
        let config = xml.config_mut();
        config.check_comments = true;
        // A tag may have been opened in an earlier piece.
        config.check_end_names = false;
        config.allow_unmatched_ends = true;
        let passed = loop {
            let at = marks + place(xml.buffer_position());
            // Looked at where it lies: to move it would wait for the parts it was just written in.
            let read = xml.read_event();
            let event = match &read {
                Ok(Event::Eof) => break at,
                Ok(event) => event,
                // It may go on behind the piece.
                Err(_) if !text.is_end() && marks + place(xml.buffer_position()) == piece.len() => {
                    break at;
                }
                Err(error) => {
                    let at = at.max(marks + place(xml.error_position()));
                    return Err(text.fault(at, ill_formed(error)));
                }
            };
            match event {
                Event::Start(tag) => open.push(tag.name().into_inner()),
                Event::End(tag) => {
                    open.pop(tag.name().into_inner())
                        .map_err(|error| text.fault(at, ill_formed(&error.into())))?;
                }
                Event::Decl(_) if at > marks || !text.is_begin() => {
                    let says = "the XML declaration must be the very first in the file".to_owned();
                    return Err(text.fault(at, says));
                }
                _ => {}
            }
            parser.take(event).map_err(|says| {
                let blank = match event {
                    Event::Text(text) => text.len() - text.trim_start().len(),
                    _ => 0,
                };
                text.fault(at + blank, says)
            })?;
            parser.give_damage_its_line(|| text.line_of(at));
            if parser.damage.len() >= MOST_DAMAGE {
                let says =
                    format!("{MOST_DAMAGE} points have no valid position; reading stopped here");
                return Err(text.fault(at, says));
            }
        };
        if text.is_end() {
            return parser.finish().map_err(|says| text.fault(held.len(), says));
        }
        text.go_on(passed)?;
    }
}

/// The names of the tags that are open.
#[derive(Default)]
struct OpenTags {
    names: String,
    /// Where each begins.
    starts: Vec<usize>,
}

impl OpenTags {
    #[inline]
    fn push(&mut self, name: &str) {
        self.starts.push(self.names.len());
        self.names.push_str(name);
    }

    #[inline]
    fn pop(&mut self, name: &str) -> Result<(), IllFormedError> {
        let start = self
            .starts
            .pop()
            .ok_or_else(|| IllFormedError::UnmatchedEndTag(name.to_owned()))?;
        let opened = &self.names[start..];
        if opened != name {
            return Err(IllFormedError::MismatchedEndTag {
                expected: opened.to_owned(),
                found: name.to_owned(),
            });
        }
        self.names.truncate(start);
        Ok(())
    }
}

/// A position in a piece, which is far smaller than the largest number.
fn place(position: u64) -> usize {
    usize::try_from(position).unwrap_or(usize::MAX)
}

fn ill_formed(error: &XmlError) -> String {
    match error {
        XmlError::IllFormed(IllFormedError::UnclosedReference) => {
            "`&` must begin a reference that ends with `;`".to_owned()
        }
        other => format!(
            "must be well-formed XML: {}",
            plain(&other.to_string(), 200)
        ),
    }
}
