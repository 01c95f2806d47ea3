//! Reads GPX 1.0 and 1.1, point by point and in one pass.
//!
//! Taken: the title; waypoints with name, symbol, type and description; routes; tracks, whose segments
//! stay separate lines. Of points the position and the height, of a track's points the time stamp; one that
//! is none is as if it were not there. Every other element is passed over and listed. A missing version is no error,
//! and the prefix of the namespace is free.
//!
//! A height that is empty, `NaN`, infinite or not from −1,000 to 10,000 m is unknown, and counted.
//! A point without a valid position is an error, as is everything that makes the document not
//! well-formed XML. A document type is passed over: of entities only XML's own five and references
//! to characters are known, so nothing can grow.

mod damage;
mod parser;
mod text;

use std::io::Read;

use quick_xml::errors::Error as XmlError;
use quick_xml::events::{BytesStart, Event};
use quick_xml::name::NamespaceResolver;
use quick_xml::reader::Reader;

use super::reading::Reading;
use super::text::AtMost;
pub(crate) use damage::{Cause, Damage};
use parser::{MOST_WRONG_POINTS, Parser};
use text::XmlText;

/// A file larger than this is refused; it is twice what the most points take that are kept.
const LARGEST: u64 = 2 << 30;

/// Reads a file. With `salvage`, damage is no error: what precedes it is taken, and
/// [`Reading::salvaged_before`] is where it stopped.
///
/// # Errors
/// The damage, each with its line: points without a valid position up to twenty, or whatever
/// made it impossible to read on.
pub fn read(bytes: impl Read, salvage: bool) -> Result<Reading, Vec<Damage>> {
    read_from(&mut AtMost::new(bytes, LARGEST), salvage)
}

/// Reads from any source; not generic, so that it is compiled once.
fn read_from(bytes: &mut dyn Read, salvage: bool) -> Result<Reading, Vec<Damage>> {
    let mut parser = Parser::new(salvage);
    let mut damage = Vec::new();
    let end = XmlText::new(bytes).and_then(|text| {
        parser.reading.encoding = text.encoding();
        read_events(text, &mut parser, &mut damage)
    });
    match end {
        Err(last) if salvage => {
            parser.close_line();
            parser.close_track();
            parser.reading.salvaged_before = Some(last.into());
        }
        Err(last) => damage.push(last),
        Ok(()) => {}
    }
    if damage.is_empty() {
        Ok(parser.reading)
    } else {
        Err(damage)
    }
}

/// Hands every event to the parser, to the end or to the damage that makes it impossible to read on; points
/// without a valid position are added to `damage`.
fn read_events(text: XmlText, parser: &mut Parser, damage: &mut Vec<Damage>) -> Result<(), Damage> {
    let mut xml = Reader::from_reader(text);
    xml.config_mut().check_comments = true;
    let mut namespaces = NamespaceResolver::default();
    let mut piece = Vec::new();
    loop {
        piece.clear();
        xml.get_mut().begin_piece();
        let is_begin = xml.buffer_position() == 0;
        let event = match xml.read_event_into(&mut piece) {
            Ok(event) => event,
            Err(error) => {
                let text = xml.get_mut();
                let unreadable = match error {
                    XmlError::Io(_) => text.damage(),
                    _ => None,
                };
                return Err(unreadable.unwrap_or_else(|| text.piece_begin().damage(error.into())));
            }
        };
        let taken = match &event {
            Event::Decl(_) if !is_begin => Err(Cause::LateDeclaration),
            Event::Start(tag) | Event::Empty(tag) => enter(&mut namespaces, tag),
            _ => Ok(()),
        };
        let taken = taken.and_then(|()| parser.take(&event, &namespaces));
        if matches!(event, Event::Empty(_) | Event::End(_)) {
            namespaces.pop();
        }
        let wrong_point = parser.wrong_point.take();
        if taken.is_err() || wrong_point.is_some() {
            let begin = xml.get_mut().piece_begin();
            let place = match &event {
                Event::Text(text) => begin.after(&text[..text.len() - text.trim_start().len()]),
                _ => begin,
            };
            taken.map_err(|cause| place.damage(cause))?;
            damage.extend(wrong_point.map(|cause| place.damage(cause)));
            if damage.len() >= MOST_WRONG_POINTS {
                return Err(place.damage(Cause::ManyWrongPoints));
            }
        }
        if matches!(event, Event::Eof) {
            return Ok(());
        }
    }
}

/// Goes one element deeper. The attributes of most have nothing to do with namespaces and are not read for them.
#[inline]
fn enter(namespaces: &mut NamespaceResolver, tag: &BytesStart) -> Result<(), Cause> {
    const DECLARED: &[u8] = b"xmlns";
    let attributes = tag.attributes_raw().as_bytes();
    // A position has no `x`, and one letter is sought faster than five.
    let may_declare = attributes.contains(&DECLARED[0]);
    if may_declare
        && attributes
            .windows(DECLARED.len())
            .any(|part| part == DECLARED)
    {
        return Ok(namespaces.push(tag).map_err(XmlError::from)?);
    }
    namespaces.set_level(namespaces.level().saturating_add(1));
    Ok(())
}
