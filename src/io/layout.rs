//! The layout of a written trip: indented, but a list of numbers or words on one line, so that a point
//! of a track is a line and not three.

use std::io::{self, Write};

use serde_json::{Value, to_writer};

/// How far in each open block puts what it holds.
const INDENT: usize = 2;

/// Writes a value: objects, and lists that hold objects or lists, with a line for each value of theirs.
pub(crate) fn write(value: &Value, stream: &mut impl Write) -> io::Result<()> {
    write_within(0, value, stream)
}

/// Writes a value that is within so many open blocks.
fn write_within(depth: usize, value: &Value, stream: &mut impl Write) -> io::Result<()> {
    let is_plain = |value: &Value| !value.is_array() && !value.is_object();
    let line = |depth: usize, stream: &mut dyn Write| write!(stream, "\n{:1$}", "", INDENT * depth);
    match value {
        Value::Object(fields) if !fields.is_empty() => {
            for (nth, (key, field)) in fields.iter().enumerate() {
                stream.write_all(if nth == 0 { b"{" } else { b"," })?;
                line(depth + 1, stream)?;
                to_writer(&mut *stream, key)?;
                stream.write_all(b": ")?;
                write_within(depth + 1, field, stream)?;
            }
            line(depth, stream)?;
            stream.write_all(b"}")
        }
        Value::Array(items) if items.iter().all(is_plain) => {
            stream.write_all(b"[")?;
            for (nth, item) in items.iter().enumerate() {
                if nth > 0 {
                    stream.write_all(b", ")?;
                }
                to_writer(&mut *stream, item)?;
            }
            stream.write_all(b"]")
        }
        Value::Array(items) => {
            for (nth, item) in items.iter().enumerate() {
                stream.write_all(if nth == 0 { b"[" } else { b"," })?;
                line(depth + 1, stream)?;
                write_within(depth + 1, item, stream)?;
            }
            line(depth, stream)?;
            stream.write_all(b"]")
        }
        plain => Ok(to_writer(stream, plain)?),
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

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
        write(&value, &mut text).unwrap();
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
