//! Text from files, and what is wrong with it: where it is, how long it may be, and in which encoding.
//!
//! [`read_table`] takes a table whatever its encoding. `plain` takes out of a name whatever must not
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
            let message = format!("a file must be at most {} bytes, got more", self.most);
            return Err(io::Error::new(io::ErrorKind::InvalidData, message));
        }
        Ok(length)
    }
}

/// What is wrong with a text, and where.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: {message}")]
pub struct TextError {
    /// Line, from 1.
    pub line: u64,
    /// What would be right, then what was found.
    pub message: String,
}

fn fault(line: u64, message: String) -> io::Error {
    io::Error::new(io::ErrorKind::InvalidData, TextError { line, message })
}

/// A place in a text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Place {
    /// Line, from 1; a line ends with CR, LF or both.
    pub(super) line: u64,
    /// Character in the line, from 1.
    pub(super) column: u64,
    /// Whether the last character was a CR, so that an LF begins no further line.
    after_return: bool,
}

impl Default for Place {
    fn default() -> Self {
        Self {
            line: 1,
            column: 1,
            after_return: false,
        }
    }
}

impl Place {
    /// The place behind a text that begins here.
    pub(super) fn after(self, text: &str) -> Self {
        let after_return = if text.is_empty() {
            self.after_return
        } else {
            text.ends_with('\r')
        };
        let text = match text.strip_prefix('\n') {
            Some(rest) if self.after_return => rest,
            _ => text,
        };
        let ends = line_ends(text.as_bytes());
        // Some programs write a whole track as one line.
        let (before, last_line) = if ends == 0 {
            (self.column, text)
        } else {
            let last_line = text.rsplit(['\n', '\r']).next();
            (1, last_line.unwrap_or_default())
        };
        Self {
            line: self.line + ends,
            column: before + last_line.chars().count() as u64,
            after_return,
        }
    }
}

/// Counts in bytes, which the compiler does for many at once; 255 of them cannot overflow one.
pub(super) fn line_ends(bytes: &[u8]) -> u64 {
    let count = |part: &[u8]| part.iter().map(|&byte| u8::from(byte == b'\n')).sum::<u8>();
    let feeds: u64 = bytes.chunks(255).map(|part| u64::from(count(part))).sum();
    if !bytes.contains(&b'\r') {
        return feeds;
    }
    let lone = |(n, byte): (usize, &u8)| *byte == b'\r' && bytes.get(n + 1) != Some(&b'\n');
    feeds + bytes.iter().enumerate().filter(|&at| lone(at)).count() as u64
}

/// The whole of a table as text, and the name of its encoding. A table has no declaration: a byte order
/// mark decides, then zero bytes (UTF-16), then whether the bytes are UTF-8; else windows-1252.
///
/// # Errors
/// When reading fails, the table is too large, or its bytes are no text in its encoding.
pub fn read_table(bytes: impl Read) -> io::Result<(String, &'static str)> {
    let mut raw = Vec::new();
    bytes.take(LARGEST_TABLE + 1).read_to_end(&mut raw)?;
    if let Some((_, kind)) = NO_TEXT.iter().find(|(begin, _)| raw.starts_with(begin)) {
        return Err(fault(1, format!("is not text, but {kind}")));
    }
    if raw.iter().all(u8::is_ascii_whitespace) {
        return Err(fault(1, "the file is empty".to_owned()));
    }
    if raw.len() as u64 > LARGEST_TABLE {
        return Err(fault(
            1,
            format!("the table has more than {LARGEST_TABLE} bytes"),
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
            return Err(fault(
                Place::default().after(&text[..sound]).line,
                format!("is not {} text", encoding.name()),
            ));
        }
        rest = &rest[read..];
        if result == CoderResult::InputEmpty {
            return Ok((text, encoding.name()));
        }
    }
}

/// Kinds of files that are no text, by how they begin, each with what to do with it.
const NO_TEXT: [(&[u8], &str); 9] = [
    (b"\x1F\x8B", "a gzip archive: unpack it first"),
    (
        b"PK\x03\x04",
        "a zip archive: unpack it first, or save a spreadsheet as CSV",
    ),
    (b"PK\x05\x06", "an empty zip archive"),
    (b"BZh", "a bzip2 archive: unpack it first"),
    (b"\xFD7zXZ\0", "an xz archive: unpack it first"),
    (b"7z\xBC\xAF\x27\x1C", "a 7z archive: unpack it first"),
    (b"\x89PNG\r\n\x1A\n", "a PNG picture"),
    (b"\xFF\xD8\xFF", "a JPEG picture"),
    (b"%PDF-", "a PDF document"),
];

/// Text that can be shown anywhere: one line, without control characters, escape sequences and marks
/// that turn the direction of writing, at most `longest` characters and else cut with `…`.
///
/// Joiners, which several scripts and emoji need, are kept behind a character that can be seen, so that
/// a text of nothing that can be seen is empty.
pub(crate) fn plain(text: &str, longest: usize) -> String {
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
        } else if is_joiner(character) {
            if !gap && kept.ends_with(|before| !is_joiner(before)) {
                kept.push(character);
            }
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

/// Whether a character is the zero-width joiner or non-joiner.
const fn is_joiner(character: char) -> bool {
    matches!(character, '\u{200C}' | '\u{200D}')
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
    fn joiners_stay_where_they_join() {
        let family = "\u{1F468}\u{200D}\u{1F469}\u{200D}\u{1F467}";
        for kept in ["می\u{200C}خواهم", "ന\u{0D4D}\u{200D}", family] {
            assert_eq!(plain(kept, 40), kept);
        }
        for (text, left) in [
            ("\u{200D}\u{200C}", ""),
            ("\u{200D}a \u{200D}b", "a b"),
            ("a\u{200D}\u{200D}\u{200C}b", "a\u{200D}b"),
            ("\u{200B}\u{2060}\u{FEFF}\u{E0041}", ""),
        ] {
            assert_eq!(plain(text, 40), left, "{text:?}");
        }
    }

    #[test]
    fn a_line_ends_with_either_character_or_both() {
        let end = |text: &str| {
            let mut place = Place::default();
            // However the text is cut into pieces.
            for character in text.chars() {
                place = place.after(character.encode_utf8(&mut [0; 4]));
            }
            let whole = Place::default().after(text);
            assert_eq!(whole, place, "{text:?}");
            (place.line, place.column)
        };
        assert_eq!(end(""), (1, 1));
        assert_eq!(end("a\nbc"), (2, 3));
        assert_eq!(end("a\r\nbc"), (2, 3));
        assert_eq!(end("a\rbc"), (2, 3));
        assert_eq!(end("a\n\r\n\r\rx"), (5, 2));
        assert_eq!(end("ä€\u{1F98E}x"), (1, 5));
    }

    #[test]
    fn a_stream_is_read_up_to_its_bound_and_no_further() {
        let read = |most| {
            let mut text = String::new();
            AtMost::new(b"four".as_slice(), most)
                .read_to_string(&mut text)
                .map(|_| text)
        };
        assert_eq!(read(4).unwrap(), "four");
        let error = read(3).unwrap_err().to_string();
        assert_eq!(error, "a file must be at most 3 bytes, got more");
    }
}
