//! The text of an XML document, a stretch at a time, whatever the encoding.
//!
//! XML says its encoding by a byte order mark, by the width of its first characters, or in its
//! declaration: [`XmlText`] reads UTF-8, UTF-16 and every encoding that contains ASCII and that the
//! Encoding Standard names (`encoding_rs`): ISO-8859-x, windows-125x and others. The bytes decide
//! over the declaration where the two contradict. `ISO-8859-1` is read as windows-1252, which holds
//! the same letters and more. UTF-32 and EBCDIC are refused.
//!
//! Text is passed on only as far as it is sound; what is not sound is an error with its line when
//! the reader gets there. XML 1.0 has no control characters but tab and line ends, so any other is
//! an error too.

use std::io::{self, Read};
use std::ops::Range;

use encoding_rs::{Decoder, DecoderResult, Encoding, UTF_8, UTF_16BE, UTF_16LE};

use crate::io::text::{TextError, line_ends, plain};

/// Bytes read at a time: they are gone over several times and should stay in the cache.
const BLOCK: usize = 64 * 1024;
/// Longest piece of markup or text that is held at once.
const LONGEST_PIECE: usize = 4 * 1024 * 1024;
/// Bytes in which the declaration must lie.
const HEAD: usize = 1024;

/// An XML document as UTF-8, of which a stretch is held.
pub(super) struct XmlText<'a> {
    bytes: &'a mut dyn Read,
    /// A block as it was read; its first bytes are those of a character that the block before cut.
    block: Box<[u8]>,
    cut: usize,
    /// For what is not UTF-8.
    decoder: Option<Decoder>,
    encoding: &'static Encoding,
    held: String,
    /// Line ends before what is held.
    lines_before: u64,
    /// Whether anything precedes what is held.
    begun: bool,
    /// What comes after it.
    ahead: Ahead,
}

enum Ahead {
    More,
    End,
    Fault(String),
}

impl<'a> XmlText<'a> {
    /// Finds out the encoding and holds the document's begin, from behind the byte order mark.
    ///
    /// # Errors
    /// When reading fails or the encoding is unknown.
    pub(super) fn new(bytes: &'a mut dyn Read) -> Result<Self, TextError> {
        let mut head = Vec::with_capacity(HEAD);
        Read::take(&mut *bytes, HEAD as u64)
            .read_to_end(&mut head)
            .map_err(|error| unreadable(1, &error))?;
        let (encoding, mark_length) =
            xml_encoding(&head).map_err(|says| TextError { line: 1, says })?;
        let mut block = vec![0; BLOCK].into_boxed_slice();
        let head = &head[mark_length..];
        block[..head.len()].copy_from_slice(head);
        let mut text = Self {
            bytes,
            block,
            cut: 0,
            decoder: (encoding != UTF_8).then(|| encoding.new_decoder_without_bom_handling()),
            encoding,
            held: String::with_capacity(2 * BLOCK),
            lines_before: 0,
            begun: false,
            ahead: Ahead::More,
        };
        text.decode(head.len(), false);
        Ok(text)
    }

    /// Lets go of the first `passed` bytes that are held, and holds more.
    ///
    /// # Errors
    /// When there is no more, or what there is cannot be read.
    pub(super) fn go_on(&mut self, passed: usize) -> Result<(), TextError> {
        self.lines_before += line_ends(&self.held.as_bytes()[..passed]);
        self.begun |= passed > 0;
        self.held.drain(..passed);
        if self.held.len() > LONGEST_PIECE {
            let blank = self.held.len() - self.held.trim_start().len();
            let says = format!(
                "a piece of markup or text must be at most {LONGEST_PIECE} bytes, got a longer one"
            );
            return Err(self.fault(blank, says));
        }
        // What is left is gone over again with what comes now, so that must be as much or more: else a long piece
        // would take the square of its length.
        let left = self.held.len();
        let enough = (2 * left).clamp(1, LONGEST_PIECE + 1);
        while self.held.len() < enough {
            match &self.ahead {
                Ahead::More => self.read_block()?,
                Ahead::Fault(says) if self.held.len() == left => {
                    return Err(self.fault(left, says.clone()));
                }
                Ahead::End | Ahead::Fault(_) => break,
            }
        }
        Ok(())
    }

    fn read_block(&mut self) -> Result<(), TextError> {
        let read = loop {
            match self.bytes.read(&mut self.block[self.cut..]) {
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(unreadable(self.line_of(self.held.len()), &error)),
                Ok(read) => break read,
            }
        };
        if read == 0 {
            self.ahead = Ahead::End;
        }
        self.decode(self.cut + read, read == 0);
        Ok(())
    }
}

impl XmlText<'_> {
    /// The encoding that was found.
    pub(super) fn encoding(&self) -> &'static str {
        self.encoding.name()
    }

    /// What is held.
    pub(super) fn held(&self) -> &str {
        &self.held
    }

    /// Whether the document's first byte is held.
    pub(super) fn is_begin(&self) -> bool {
        !self.begun
    }

    /// Whether the document ends where what is held ends.
    pub(super) fn is_end(&self) -> bool {
        matches!(self.ahead, Ahead::End)
    }

    /// The line, from 1, in the document of a place in what is held.
    pub(super) fn line_of(&self, place: usize) -> u64 {
        let before = &self.held.as_bytes()[..place.min(self.held.len())];
        self.lines_before + line_ends(before) + 1
    }

    /// What is wrong at a place in what is held.
    pub(super) fn fault(&self, place: usize, says: String) -> TextError {
        let line = self.line_of(place);
        TextError { line, says }
    }

    /// Decodes the first `length` bytes of the block, as far as they are whole and sound.
    fn decode(&mut self, length: usize, last: bool) {
        let before = self.held.len();
        let bytes = &self.block[..length];
        let (decoded, unsound) = match &mut self.decoder {
            Some(decoder) => (length, decode_other(decoder, bytes, last, &mut self.held)),
            None => decode_utf_8(bytes, last, &mut self.held),
        };
        self.block.copy_within(decoded..length, 0);
        self.cut = length - decoded;
        if let Some(got) = unsound {
            let name = self.encoding.name();
            self.ahead = Ahead::Fault(format!("must be {name} text, got {got}"));
        }
        self.stop_at_control(before..self.held.len());
    }

    fn stop_at_control(&mut self, new: Range<usize>) {
        // One pass without branches; the place is looked for only when there is one.
        let bytes = &self.held.as_bytes()[new.clone()];
        let any = bytes
            .iter()
            .fold(false, |any, &byte| any | is_control(byte));
        if any && let Some(at) = bytes.iter().position(|&byte| is_control(byte)) {
            self.ahead = Ahead::Fault(format!(
                "XML must not hold control characters, got U+{:04X}",
                bytes[at]
            ));
            self.held.truncate(new.start + at);
        }
    }
}

/// Appends bytes to `text`, but for the begin of a character that more bytes will complete; gives how many are in
/// there, and what is no text.
fn decode_utf_8(bytes: &[u8], last: bool, text: &mut String) -> (usize, Option<String>) {
    let (sound, unsound) = match str::from_utf8(bytes) {
        Ok(sound) => (sound, None),
        Err(error) => {
            let (sound, rest) = bytes.split_at(error.valid_up_to());
            let unsound = match error.error_len() {
                Some(_) => Some(format!("the byte 0x{:02X}", rest[0])),
                None => last.then(|| "half a character at the end".to_owned()),
            };
            (str::from_utf8(sound).unwrap_or_default(), unsound)
        }
    };
    text.push_str(sound);
    (sound.len(), unsound)
}

/// Appends bytes to `text`; gives what is no text.
fn decode_other(
    decoder: &mut Decoder,
    bytes: &[u8],
    last: bool,
    text: &mut String,
) -> Option<String> {
    let room = decoder
        .max_utf8_buffer_length_without_replacement(bytes.len())
        .expect("a block is far from the largest buffer there can be");
    text.reserve(room);
    let (result, _) = decoder.decode_to_string_without_replacement(bytes, text, last);
    matches!(result, DecoderResult::Malformed(..)).then(|| "bytes that are none".to_owned())
}

fn unreadable(line: u64, error: &io::Error) -> TextError {
    let says = format!("reading failed: {error}");
    TextError { line, says }
}

/// The encoding of a document that begins with `head`, and the length of its byte order mark.
fn xml_encoding(head: &[u8]) -> Result<(&'static Encoding, usize), String> {
    if head.starts_with(&[0xFF, 0xFE, 0, 0]) || head.starts_with(&[0, 0, 0xFE, 0xFF]) {
        return Err(
            "encoding must be UTF-8, UTF-16 or one that contains ASCII, got UTF-32".to_owned(),
        );
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
    match Encoding::for_label_no_replacement(label) {
        // The declaration could be read byte by byte, so it is not UTF-16 whatever it says.
        Some(encoding) if encoding == UTF_16LE || encoding == UTF_16BE => Ok((UTF_8, 0)),
        Some(encoding) => Ok((encoding, 0)),
        None => Err(format!(
            "encoding must be UTF-8, UTF-16, ISO-8859-x, windows-125x or another of the Encoding Standard, got `{}`",
            plain(&String::from_utf8_lossy(label), 40)
        )),
    }
}

/// The label in `<?xml version="1.0" encoding="…"?>`.
fn declared_encoding(head: &[u8]) -> Option<&[u8]> {
    let declaration = head.strip_prefix(b"<?xml")?;
    let end = declaration.windows(2).position(|pair| pair == b"?>")?;
    let declaration = &declaration[..end];
    let at = declaration
        .windows(8)
        .position(|word| word == b"encoding")?;
    let value = declaration[at + 8..]
        .trim_ascii_start()
        .strip_prefix(b"=")?
        .trim_ascii_start();
    let (&quote, value) = value.split_first()?;
    let end = value.iter().position(|&byte| byte == quote)?;
    matches!(quote, b'"' | b'\'').then_some(&value[..end])
}

fn is_control(byte: u8) -> bool {
    byte < 0x20 && !matches!(byte, b'\t' | b'\n' | b'\r')
}
