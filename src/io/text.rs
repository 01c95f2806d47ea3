//! Bytes to text, block by block, whatever the encoding, with the line of anything that is wrong.
//!
//! XML says its encoding by a byte order mark, by the width of its first characters, or in its
//! declaration: [`XmlText`] reads UTF-8, UTF-16 and every encoding that contains ASCII and that the
//! Encoding Standard names (`encoding_rs`): ISO-8859-x, windows-125x and others. The bytes decide
//! over the declaration where the two contradict. `ISO-8859-1` is read as windows-1252, which holds
//! the same letters and more. UTF-32 and EBCDIC are refused.
//!
//! Text is passed on only as far as it is sound; what is not sound is an error with its line when
//! the reader gets there. XML 1.0 has no control characters but tab and line ends, so any other is
//! an error too. [`plain`] takes out of a name whatever must not reach a terminal.

use std::io::{self, BufRead, Read};

use encoding_rs::{
    CoderResult, Decoder, DecoderResult, Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252,
};

/// Bytes read at a time: they are gone over several times and should stay in the nearest cache.
const BLOCK: usize = 16 * 1024;
/// Longest piece of markup or text that is held at once.
const LONGEST_PIECE: u64 = 4 * 1024 * 1024;
/// A table larger than this is none.
const LARGEST_TABLE: u64 = 64 * 1024 * 1024;

/// A stream that must not be longer than so many bytes.
pub(super) struct AtMost<R> {
    bytes: R,
    most: u64,
    read: u64,
}

impl<R> AtMost<R> {
    pub(super) const fn new(bytes: R, most: u64) -> Self {
        let read = 0;
        Self { bytes, most, read }
    }
}

impl<R: Read> Read for AtMost<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let length = self.bytes.read(into)?;
        self.read += length as u64;
        if self.read > self.most {
            let says = format!("a file must be at most {} bytes, got more", self.most);
            return Err(io::Error::new(io::ErrorKind::InvalidData, says));
        }
        Ok(length)
    }
}

/// What is wrong with a text, and where.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: {says}")]
pub struct TextError {
    /// Line, from 1.
    pub line: u64,
    /// What would be right, then what was found.
    pub says: String,
}

/// An XML document as UTF-8.
pub struct XmlText<R> {
    bytes: R,
    /// Bytes that were read and not yet decoded; not used for UTF-8.
    raw: Vec<u8>,
    decoder: Option<Decoder>,
    /// The block that is being read, sound UTF-8 up to its end.
    block: Vec<u8>,
    /// The part of it that was consumed.
    consumed: usize,
    /// UTF-8 bytes and line ends before the block.
    block_start: u64,
    lines_before: u64,
    /// Where the reader's current piece began, and the line ends before it.
    mark: u64,
    lines_before_mark: u64,
    /// First bytes of a character that the next block completes.
    split: Vec<u8>,
    /// What comes after the block.
    ahead: Ahead,
    encoding: &'static Encoding,
}

enum Ahead {
    More,
    End,
    Fault(String),
}

impl<R: Read> XmlText<R> {
    /// Finds out the encoding and stands at the first character behind the byte order mark.
    ///
    /// # Errors
    /// When reading fails or the encoding is unknown.
    pub fn new(mut bytes: R) -> io::Result<Self> {
        let mut head = Vec::with_capacity(BLOCK);
        bytes.by_ref().take(1024).read_to_end(&mut head)?;
        let (encoding, mark_length) = xml_encoding(&head).map_err(|says| fault(1, says))?;
        head.drain(..mark_length);
        let mut text = Self {
            bytes,
            raw: Vec::new(),
            decoder: (encoding != UTF_8).then(|| encoding.new_decoder_without_bom_handling()),
            block: Vec::with_capacity(BLOCK),
            consumed: 0,
            block_start: 0,
            lines_before: 0,
            mark: 0,
            lines_before_mark: 0,
            split: Vec::new(),
            ahead: Ahead::More,
            encoding,
        };
        if text.decoder.is_some() {
            text.raw = head;
            text.decode(false);
        } else {
            text.block = head;
            text.hold_back_split();
        }
        text.stop_at_control();
        Ok(text)
    }
}

impl<R> XmlText<R> {
    /// The encoding that was found.
    pub fn encoding(&self) -> &'static str {
        self.encoding.name()
    }

    /// Says where a new piece begins, so that its line can be told later.
    #[inline]
    pub fn mark(&mut self, position: u64) {
        self.mark = position;
    }

    /// The line, from 1, of a position at or after the mark and not beyond what was consumed.
    pub fn line_of(&self, position: u64) -> u64 {
        match position.checked_sub(self.block_start) {
            Some(inside) => {
                let inside = usize::try_from(inside)
                    .unwrap_or(usize::MAX)
                    .min(self.block.len());
                self.lines_before + line_ends(&self.block[..inside]) + 1
            }
            None => self.lines_before_mark + 1,
        }
    }

    /// Decodes `raw` into an empty block.
    fn decode(&mut self, last: bool) {
        let Some(decoder) = &mut self.decoder else {
            return;
        };
        let room = decoder
            .max_utf8_buffer_length_without_replacement(self.raw.len())
            .expect("a block is far from the largest buffer there can be");
        self.block.resize(room, 0);
        let (result, _, written) =
            decoder.decode_to_utf8_without_replacement(&self.raw, &mut self.block, last);
        self.block.truncate(written);
        self.raw.clear();
        if let DecoderResult::Malformed(..) = result {
            self.ahead = Ahead::Fault(format!(
                "must be {} text, got bytes that are none",
                self.encoding.name()
            ));
        }
    }

    /// Ends the block at its last whole character and keeps the rest for the next.
    fn hold_back_split(&mut self) {
        if let Err(error) = std::str::from_utf8(&self.block) {
            let sound = error.valid_up_to();
            if error.error_len().is_none() {
                self.split = self.block.split_off(sound);
            } else {
                self.ahead = Ahead::Fault(format!(
                    "must be UTF-8 text, got the byte 0x{:02X}",
                    self.block[sound]
                ));
                self.block.truncate(sound);
            }
        }
    }

    fn stop_at_control(&mut self) {
        // One pass without branches; the place is looked for only when there is one.
        let any = self
            .block
            .iter()
            .fold(false, |any, &byte| any | is_control(byte));
        if any && let Some(at) = self.block.iter().position(|&byte| is_control(byte)) {
            self.ahead = Ahead::Fault(format!(
                "XML must not hold control characters, got U+{:04X}",
                self.block[at]
            ));
            self.block.truncate(at);
        }
    }
}

impl<R: Read> XmlText<R> {
    /// Replaces a block that was read to its end.
    fn next_block(&mut self) -> io::Result<()> {
        let ends = line_ends(&self.block);
        if let Some(inside) = self.mark.checked_sub(self.block_start) {
            let inside = usize::try_from(inside)
                .unwrap_or(usize::MAX)
                .min(self.block.len());
            // The mark is near the end of the block.
            self.lines_before_mark = self.lines_before + ends - line_ends(&self.block[inside..]);
        }
        self.block_start += self.block.len() as u64;
        self.lines_before += ends;
        self.block.clear();
        self.consumed = 0;
        // A block may hold nothing but a part of a character.
        while self.block.is_empty() {
            match &self.ahead {
                Ahead::More => {}
                Ahead::End => return Ok(()),
                Ahead::Fault(says) => return Err(fault(self.lines_before + 1, says.clone())),
            }
            if self.block_start - self.mark > LONGEST_PIECE {
                let says = format!(
                    "a piece of markup or text must be at most {LONGEST_PIECE} bytes, got a longer one"
                );
                return Err(fault(self.lines_before_mark + 1, says));
            }
            let utf_8 = self.decoder.is_none();
            let (into, before) = if utf_8 {
                self.block.append(&mut self.split);
                let before = self.block.len();
                (&mut self.block, before)
            } else {
                (&mut self.raw, 0)
            };
            into.resize(BLOCK, 0);
            let read = loop {
                match self.bytes.read(&mut into[before..]) {
                    Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                    other => break other,
                }
            };
            into.truncate(before + *read.as_ref().unwrap_or(&0));
            let at_end = read? == 0;
            if at_end {
                self.ahead = Ahead::End;
            }
            if utf_8 {
                self.hold_back_split();
                if at_end && !self.split.is_empty() {
                    self.split.clear();
                    self.ahead = Ahead::Fault(
                        "must be UTF-8 text, got half a character at the end".to_owned(),
                    );
                }
            } else {
                self.decode(at_end);
            }
            self.stop_at_control();
        }
        Ok(())
    }
}

impl<R: Read> Read for XmlText<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let from = self.fill_buf()?;
        let length = from.len().min(into.len());
        into[..length].copy_from_slice(&from[..length]);
        self.consume(length);
        Ok(length)
    }
}

impl<R: Read> BufRead for XmlText<R> {
    #[inline]
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        if self.consumed == self.block.len() {
            self.next_block()?;
        }
        Ok(&self.block[self.consumed..])
    }

    #[inline]
    fn consume(&mut self, length: usize) {
        self.consumed += length;
    }
}

fn fault(line: u64, says: String) -> io::Error {
    io::Error::new(io::ErrorKind::InvalidData, TextError { line, says })
}

fn is_control(byte: u8) -> bool {
    byte < 0x20 && !matches!(byte, b'\t' | b'\n' | b'\r')
}

/// Counts in bytes, which the compiler does for many at once; 255 of them cannot overflow one.
fn line_ends(bytes: &[u8]) -> u64 {
    let count = |part: &[u8]| part.iter().map(|&byte| u8::from(byte == b'\n')).sum::<u8>();
    bytes.chunks(255).map(|part| u64::from(count(part))).sum()
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

/// The whole of a table as text, and the name of its encoding. A table has no declaration: a byte order
/// mark decides, then zero bytes (UTF-16), then whether the bytes are UTF-8; else windows-1252.
///
/// # Errors
/// When reading fails, the table is too large, or its bytes are no text in its encoding.
pub fn read_table(bytes: impl Read) -> io::Result<(String, &'static str)> {
    let mut raw = Vec::new();
    bytes.take(LARGEST_TABLE + 1).read_to_end(&mut raw)?;
    if raw.len() as u64 > LARGEST_TABLE {
        return Err(fault(
            1,
            format!("a table must be at most {LARGEST_TABLE} bytes, got more"),
        ));
    }
    let (encoding, mark_length) = Encoding::for_bom(&raw).unwrap_or_else(|| {
        let encoding = match raw.as_slice() {
            [0, _, ..] => UTF_16BE,
            [_, 0, ..] => UTF_16LE,
            _ if std::str::from_utf8(&raw).is_ok() => UTF_8,
            _ => WINDOWS_1252,
        };
        (encoding, 0)
    });
    let mut decoder = encoding.new_decoder_without_bom_handling();
    let mut text = String::new();
    let mut rest = &raw[mark_length..];
    loop {
        text.reserve(
            decoder
                .max_utf8_buffer_length(rest.len())
                .unwrap_or(rest.len()),
        );
        let (result, read, replaced) = decoder.decode_to_string(rest, &mut text, true);
        if replaced {
            let sound = text.find('\u{FFFD}').unwrap_or(text.len());
            let line = line_ends(&text.as_bytes()[..sound]) + 1;
            return Err(fault(
                line,
                format!("must be {} text, got bytes that are none", encoding.name()),
            ));
        }
        rest = &rest[read..];
        if result == CoderResult::InputEmpty {
            return Ok((text, encoding.name()));
        }
    }
}

/// Text that can be shown anywhere: one line, without control characters, escape sequences and marks
/// that turn the direction of writing, at most `longest` characters and else cut with `…`.
pub fn plain(text: &str, longest: usize) -> String {
    let mut kept = String::new();
    let mut length = 0;
    let mut gap = false;
    let mut characters = text.chars().peekable();
    while let Some(character) = characters.next() {
        if character == '\u{1B}' || character == '\u{9B}' {
            let is_sequence = character == '\u{9B}' || characters.next_if_eq(&'[').is_some();
            // Parameters, then one final letter.
            while is_sequence && characters.next_if(|c| (' '..='?').contains(c)).is_some() {}
            if is_sequence {
                characters.next_if(|c| ('@'..='~').contains(c));
            }
        } else if character.is_whitespace() {
            gap = length > 0;
        } else if !is_unprintable(character) {
            if length + usize::from(gap) >= longest {
                kept.push('…');
                break;
            }
            if gap {
                kept.push(' ');
            }
            length += 1 + usize::from(gap);
            gap = false;
            kept.push(character);
        }
    }
    kept
}

fn is_unprintable(character: char) -> bool {
    character.is_control()
        || matches!(character,
            '\u{061C}' | '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{206F}'
            | '\u{FEFF}' | '\u{FFF9}'..='\u{FFFB}' | '\u{E0000}'..='\u{E007F}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stream_is_read_up_to_its_bound_and_no_further() {
        let read = |most| {
            let mut text = String::new();
            AtMost::new(b"four".as_slice(), most)
                .read_to_string(&mut text)
                .map(|_| text)
        };
        assert_eq!(read(4).unwrap(), "four");
        let told = read(3).unwrap_err().to_string();
        assert_eq!(told, "a file must be at most 3 bytes, got more");
    }
}
