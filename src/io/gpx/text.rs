//! The text of an XML document as UTF-8, a block at a time, whatever its encoding.
//!
//! An XML document declares its encoding by a byte order mark, by the width of its first characters, or in its
//! declaration: [`XmlText`] reads UTF-8, UTF-16 and every encoding that contains ASCII and that the
//! Encoding Standard names (`encoding_rs`): ISO-8859-x, windows-125x and others. The bytes decide
//! over the declaration where the two contradict. `ISO-8859-1` is read as windows-1252, which holds
//! the same letters and more. UTF-32 and EBCDIC are refused.
//!
//! Text is passed on only as far as it is sound; what is not sound is damage when the reader gets there.
//! XML 1.0 has no control characters but tab and line ends, so any other is damage, too.

use std::io::{self, BufRead, Read};
use std::sync::Arc;

use encoding_rs::{Decoder, DecoderResult, Encoding, UTF_8, UTF_16BE, UTF_16LE};
use quick_xml::Reader;
use quick_xml::events::Event;

use super::damage::{Cause, Damage};
use crate::io::text::{Place, plain};

/// Bytes read at a time: they are gone over several times and should stay in the cache.
const BLOCK: usize = 64 * 1024;
/// Longest piece of markup or text that is held at once.
pub(super) const LONGEST_PIECE: usize = 4 * 1024 * 1024;

/// An XML document as UTF-8 that knows its lines.
pub(super) struct XmlText<'a> {
    bytes: &'a mut dyn Read,
    encoding: &'static Encoding,
    decoder: Decoder,
    /// The block that is being read, as UTF-8, and how far it was read.
    block: String,
    at: usize,
    begin: Place,
    /// Where in the block the piece of markup or text begins that is being read.
    piece_at: usize,
    /// Where it began and how long it is so far, if it did in an earlier block.
    piece_begun: Option<(Place, usize)>,
    /// What follows the block.
    ahead: Ahead,
}

enum Ahead {
    More,
    End,
    Damage(Cause),
}

impl<'a> XmlText<'a> {
    /// Finds out the encoding; the text begins behind the byte order mark.
    ///
    /// # Errors
    /// When reading fails or the encoding is unknown.
    pub(super) fn new(bytes: &'a mut dyn Read) -> Result<Self, Damage> {
        let (head, ahead) = read_block(bytes);
        let (encoding, mark_length) =
            xml_encoding(&head).map_err(|cause| Place::default().damage(cause))?;
        let mut text = Self {
            bytes,
            encoding,
            decoder: encoding.new_decoder_without_bom_handling(),
            block: String::new(),
            at: 0,
            begin: Place::default(),
            piece_at: 0,
            piece_begun: None,
            ahead: Ahead::More,
        };
        text.decode(&head[mark_length..], ahead);
        Ok(text)
    }

    /// Goes on to the next block.
    fn refill(&mut self) {
        let (begun, length) = self.piece_begun.unwrap_or((self.piece_begin(), 0));
        let length = length + self.block.len() - self.piece_at;
        self.piece_begun = Some((begun, length));
        self.piece_at = 0;
        self.begin = self.begin.after(&self.block);
        self.block.clear();
        self.at = 0;
        if length > LONGEST_PIECE {
            self.ahead = Ahead::Damage(Cause::LongPiece);
        } else {
            let (bytes, ahead) = read_block(self.bytes);
            self.decode(&bytes, ahead);
        }
    }

    /// Decodes bytes into the block, as far as they are sound.
    fn decode(&mut self, bytes: &[u8], ahead: Ahead) {
        let room = self
            .decoder
            .max_utf8_buffer_length_without_replacement(bytes.len());
        self.block
            .reserve(room.expect("a block is far from the largest buffer there can be"));
        let is_last = matches!(ahead, Ahead::End);
        let (result, read) =
            self.decoder
                .decode_to_string_without_replacement(bytes, &mut self.block, is_last);
        self.ahead = match result {
            DecoderResult::Malformed(length, behind) => Ahead::Damage(Cause::NotText {
                encoding: self.encoding.name(),
                got: malformed(&bytes[..read - usize::from(behind)], usize::from(length)),
            }),
            _ => ahead,
        };
        let text = self.block.as_bytes();
        // One pass without branches; the place is looked for only when there is one.
        let any = text.iter().fold(false, |any, &byte| any | is_control(byte));
        if any && let Some(at) = text.iter().position(|&byte| is_control(byte)) {
            self.ahead = Ahead::Damage(Cause::ControlCharacter(text[at]));
            self.block.truncate(at);
        }
    }
}

impl XmlText<'_> {
    /// The encoding that was found.
    pub(super) fn encoding(&self) -> &'static str {
        self.encoding.name()
    }

    /// Begins a piece of markup or text at the position that reading has reached.
    pub(super) fn begin_piece(&mut self) {
        self.piece_at = self.at;
        self.piece_begun = None;
    }

    /// Where the piece began.
    pub(super) fn piece_begin(&self) -> Place {
        match self.piece_begun {
            Some((place, _)) => place,
            None => self.begin.after(&self.block[..self.piece_at]),
        }
    }

    /// What keeps the text from being read on, and where; `None` if it does not.
    pub(super) fn damage(&self) -> Option<Damage> {
        match &self.ahead {
            Ahead::Damage(cause @ Cause::LongPiece) => {
                Some(self.piece_begin().damage(cause.clone()))
            }
            Ahead::Damage(cause) if self.at == self.block.len() => {
                Some(self.begin.after(&self.block).damage(cause.clone()))
            }
            _ => None,
        }
    }
}

impl Read for XmlText<'_> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let length = self.fill_buf()?.read(into)?;
        self.consume(length);
        Ok(length)
    }
}

impl BufRead for XmlText<'_> {
    #[inline]
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        while self.at == self.block.len() {
            match self.ahead {
                Ahead::More => self.refill(),
                Ahead::End => break,
                // Anyone who reads asks for the damage itself.
                Ahead::Damage(_) => return Err(io::ErrorKind::InvalidData.into()),
            }
        }
        Ok(&self.block.as_bytes()[self.at..])
    }

    #[inline]
    fn consume(&mut self, length: usize) {
        self.at += length;
    }
}

impl Place {
    /// Damage at this place.
    pub(super) fn damage(self, cause: Cause) -> Damage {
        Damage {
            line: self.line,
            column: self.column,
            cause,
        }
    }
}

/// The next bytes, and what follows them.
fn read_block(bytes: &mut dyn Read) -> (Vec<u8>, Ahead) {
    let mut block = Vec::with_capacity(BLOCK);
    let ahead = match bytes.take(BLOCK as u64).read_to_end(&mut block) {
        Err(error) => Ahead::Damage(Cause::Unreadable(Arc::new(error))),
        Ok(length) if length < BLOCK => Ahead::End,
        Ok(_) => Ahead::More,
    };
    (block, ahead)
}

/// Words for the last `length` of the bytes.
fn malformed(bytes: &[u8], length: usize) -> String {
    let bytes = &bytes[bytes.len().saturating_sub(length)..];
    let hex: Vec<String> = bytes.iter().map(|byte| format!("{byte:02X}")).collect();
    if hex.is_empty() {
        "half a character".to_owned()
    } else {
        format!("the bytes {}", hex.join(" "))
    }
}

/// The encoding of a document that begins with `head`, and the length of its byte order mark.
fn xml_encoding(head: &[u8]) -> Result<(&'static Encoding, usize), Cause> {
    if head.starts_with(&[0xFF, 0xFE, 0, 0]) || head.starts_with(&[0, 0, 0xFE, 0xFF]) {
        return Err(Cause::Utf32);
    }
    if let Some((encoding, length)) = Encoding::for_bom(head) {
        return Ok((encoding, length));
    }
    if head.starts_with(&[b'<', 0]) {
        return Ok((UTF_16LE, 0));
    }
    if head.starts_with(&[0, b'<']) {
        return Ok((UTF_16BE, 0));
    }
    let Some(label) = declared_encoding(head) else {
        return Ok((UTF_8, 0));
    };
    match Encoding::for_label_no_replacement(label.as_bytes()) {
        // The declaration could be read byte by byte, so it is not UTF-16 whatever it states.
        Some(encoding) if encoding == UTF_16LE || encoding == UTF_16BE => Ok((UTF_8, 0)),
        Some(encoding) => Ok((encoding, 0)),
        None => Err(Cause::UnknownEncoding(plain(&label, 40))),
    }
}

/// The label in `<?xml version="1.0" encoding="…"?>`.
fn declared_encoding(head: &[u8]) -> Option<String> {
    let mut declaration = Vec::new();
    match Reader::from_reader(head).read_event_into(&mut declaration) {
        Ok(Event::Decl(declaration)) => Some(declaration.encoding()?.ok()?.into_owned()),
        _ => None,
    }
}

fn is_control(byte: u8) -> bool {
    byte < 0x20 && !matches!(byte, b'\t' | b'\n' | b'\r')
}
