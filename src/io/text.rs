//! Text from files, and what is wrong with it: where it is, how long it may be, and in which encoding.
//!
//! [`read_table`] takes a table whatever its encoding. [`plain`] takes out of a name whatever must not
//! reach a terminal.

use std::io::{self, Read};

use encoding_rs::{CoderResult, Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

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

fn fault(line: u64, says: String) -> io::Error {
    io::Error::new(io::ErrorKind::InvalidData, TextError { line, says })
}

/// Counts in bytes, which the compiler does for many at once; 255 of them cannot overflow one.
pub(super) fn line_ends(bytes: &[u8]) -> u64 {
    let count = |part: &[u8]| part.iter().map(|&byte| u8::from(byte == b'\n')).sum::<u8>();
    bytes.chunks(255).map(|part| u64::from(count(part))).sum()
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
