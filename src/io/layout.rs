//! The layout of a written trip: indented, but a list of numbers or words on one line, so that a point
//! of a track is a line and not three.

use std::io::{self, Write};

use serde_json::ser::{CompactFormatter, Formatter};

/// How far in each open block puts what it holds.
const INDENT: usize = 2;
/// As much of an indentation as is written at once.
const SPACES: [u8; 32] = [b' '; 32];

/// Writes objects, and lists of objects or lists, indented; lists of plain values on one line.
#[derive(Default)]
pub(crate) struct OneLineLists {
    open: Vec<Open>,
}

/// An object or list that is not yet closed.
#[derive(Clone, Copy, PartialEq)]
enum Open {
    /// A list whose first value has not begun, so that its layout is not known.
    New,
    /// A list on one line.
    OneLine,
    /// An object, or a list with a line for each value.
    Block {
        /// Whether it has a value yet.
        filled: bool,
    },
}

impl OneLineLists {
    /// A plain value begins.
    fn plain(&mut self) {
        if let Some(open @ Open::New) = self.open.last_mut() {
            *open = Open::OneLine;
        }
    }

    /// An object or list begins.
    fn inner<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        if let Some(open @ Open::New) = self.open.last_mut() {
            *open = Open::Block { filled: true };
            return self.line(writer);
        }
        Ok(())
    }

    /// A new line, as far in as there are open blocks.
    fn line<W: ?Sized + Write>(&self, writer: &mut W) -> io::Result<()> {
        writer.write_all(b"\n")?;
        let is_block = |open: &&Open| matches!(open, Open::Block { .. });
        let mut missing = INDENT * self.open.iter().filter(is_block).count();
        while missing > 0 {
            let spaces = &SPACES[..missing.min(SPACES.len())];
            writer.write_all(spaces)?;
            missing -= spaces.len();
        }
        Ok(())
    }

    fn close<W: ?Sized + Write>(&mut self, writer: &mut W, bracket: &[u8]) -> io::Result<()> {
        if self.open.pop() == Some(Open::Block { filled: true }) {
            self.line(writer)?;
        }
        writer.write_all(bracket)
    }
}

/// Notes that a plain value begins, then writes it as JSON has it.
macro_rules! plain_values {
    ($($write:ident($($value:ident: $type:ty)?);)+) => {$(
        fn $write<W: ?Sized + Write>(&mut self, writer: &mut W $(, $value: $type)?) -> io::Result<()> {
            self.plain();
            CompactFormatter.$write(writer $(, $value)?)
        }
    )+};
}

impl Formatter for OneLineLists {
    plain_values! {
        write_null();
        write_bool(value: bool);
        write_i8(value: i8);
        write_i16(value: i16);
        write_i32(value: i32);
        write_i64(value: i64);
        write_i128(value: i128);
        write_u8(value: u8);
        write_u16(value: u16);
        write_u32(value: u32);
        write_u64(value: u64);
        write_u128(value: u128);
        write_f32(value: f32);
        write_f64(value: f64);
        write_number_str(value: &str);
    }

    fn begin_string<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.plain();
        writer.write_all(b"\"")
    }

    fn begin_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.inner(writer)?;
        self.open.push(Open::New);
        writer.write_all(b"[")
    }

    fn begin_array_value<W: ?Sized + Write>(
        &mut self,
        writer: &mut W,
        first: bool,
    ) -> io::Result<()> {
        match self.open.last() {
            _ if first => Ok(()),
            Some(Open::OneLine) => writer.write_all(b", "),
            _ => {
                writer.write_all(b",")?;
                self.line(writer)
            }
        }
    }

    fn end_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.close(writer, b"]")
    }

    fn begin_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.inner(writer)?;
        self.open.push(Open::Block { filled: false });
        writer.write_all(b"{")
    }

    fn begin_object_key<W: ?Sized + Write>(
        &mut self,
        writer: &mut W,
        first: bool,
    ) -> io::Result<()> {
        if first {
            if let Some(open) = self.open.last_mut() {
                *open = Open::Block { filled: true };
            }
        } else {
            writer.write_all(b",")?;
        }
        self.line(writer)
    }

    fn begin_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        writer.write_all(b": ")
    }

    fn end_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.close(writer, b"}")
    }
}

#[cfg(test)]
mod tests {
    use serde::Serialize;
    use serde_json::{Value, json};

    use super::*;

    #[test]
    fn plain_lists_stand_on_one_line() {
        let value = json!({
            "words": ["a", "b"],
            "points": [[1.5, 2, null], [true, -4]],
            "empty": [], "none": {},
            "objects": [{ "a": 1 }, {}]
        });
        let mut text = Vec::new();
        let mut serializer =
            serde_json::Serializer::with_formatter(&mut text, OneLineLists::default());
        value.serialize(&mut serializer).unwrap();
        let text = String::from_utf8(text).unwrap();
        let want = r#"{
  "words": ["a", "b"],
  "points": [
    [1.5, 2, null],
    [true, -4]
  ],
  "empty": [],
  "none": {},
  "objects": [
    {
      "a": 1
    },
    {}
  ]
}"#;
        assert_eq!(serde_json::from_str::<Value>(&text).unwrap(), value);
        assert_eq!(text, want);
    }
}
