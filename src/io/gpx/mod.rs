//! Reads GPX 1.0 and 1.1, point by point and in one pass.
//!
//! Taken: the title; waypoints with name, symbol, type and description; routes; tracks, whose segments
//! stay separate lines. Of points the position and the height, of a track's points the time stamp; one that
//! is none is as if it were not there. Every other element is passed over and listed. A missing version is no error, and the prefix of
//! the namespace is free.
//!
//! A height that is empty, `NaN`, infinite or not from −1,000 to 10,000 m is unknown, and counted.
//! A point without a valid position is an error, as is everything that makes the document not
//! well-formed XML. A document type is passed over: of entities only XML's own five and references
//! to characters are known, so nothing can grow.

mod document;
mod markup;
mod parser;
mod text;

use std::io::Read;

use super::reading::Reading;
use super::text::{AtMost, TextError};
use parser::Parser;
use text::XmlText;

/// A file larger than this is refused; it is twice what the most points take that are kept.
const LARGEST: u64 = 2 << 30;

/// Reads a file. With `salvage`, damage is no error: what precedes it is taken, and
/// [`Reading::salvaged_before`] tells where it stopped.
///
/// # Errors
/// The damage, each with its line: points without a valid position up to twenty, or whatever
/// made it impossible to read on.
pub fn read(bytes: impl Read, salvage: bool) -> Result<Reading, Vec<TextError>> {
    read_from(&mut AtMost::new(bytes, LARGEST), salvage)
}

/// The same, once for every kind of file.
fn read_from(bytes: &mut dyn Read, salvage: bool) -> Result<Reading, Vec<TextError>> {
    let mut parser = Parser::new(salvage);
    let end = match XmlText::new(bytes) {
        Ok(text) => {
            parser.reading.encoding = text.encoding();
            document::read(text, &mut parser)
        }
        Err(fault) => Err(fault),
    };
    if let Err(fault) = end {
        if salvage {
            parser.close_line();
            parser.close_track();
            parser.reading.salvaged_before = Some(fault);
        } else {
            parser.damage.push(fault);
        }
    }
    if parser.damage.is_empty() {
        Ok(parser.reading)
    } else {
        Err(parser.damage)
    }
}
