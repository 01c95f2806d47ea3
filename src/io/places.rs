//! Where the values of a JSON text are written: line and column of JSON Pointers.

use std::collections::HashMap;

use crate::model::check::{Problem, TWICE, TextPlace, named, shown_key};

/// Adds line and column to the problems of a text, and what their pointers mean. The text is JSON, as was found when it
/// was read.
pub(super) fn locate(text: &str, problems: &mut [Problem]) {
    let mut scan = Scan {
        text,
        at: 0,
        path: String::new(),
        found: HashMap::new(),
    };
    for problem in problems.iter() {
        // Of a value that is missing, the nearest one around it can be shown.
        for (end, _) in problem.pointer.match_indices('/').skip(1) {
            scan.found
                .entry(problem.pointer[..end].to_owned())
                .or_default();
        }
        scan.found.entry(problem.pointer.clone()).or_default();
    }
    scan.value();
    let offset = |problem: &Problem| {
        let mut at = problem.pointer.as_str();
        loop {
            let found = scan.found.get(at).filter(|found| !found.is_empty());
            if let Some(found) = found {
                return match found.as_slice() {
                    [_, again, ..] if problem.message == TWICE => Some(*again),
                    [first, ..] => Some(*first),
                    [] => None,
                };
            }
            at = &at[..at.rfind('/')?];
        }
    };
    let offsets: Vec<Option<usize>> = problems.iter().map(offset).collect();
    let mut in_order: Vec<usize> = offsets.iter().copied().flatten().collect();
    in_order.sort_unstable();
    let places = places(text, &in_order);
    let document = serde_json::from_str(text).unwrap_or_default();
    for (problem, offset) in problems.iter_mut().zip(offsets) {
        problem.place = offset.and_then(|offset| places.get(&offset).copied());
        problem.named = named(&problem.pointer, &document);
    }
}

/// Line and column of offsets in ascending order.
fn places(text: &str, offsets: &[usize]) -> HashMap<usize, TextPlace> {
    let mut places = HashMap::new();
    let (mut line, mut column) = (1, 1);
    let mut next = offsets.iter().copied().peekable();
    for (at, character) in text.char_indices() {
        while next.next_if_eq(&at).is_some() {
            places.insert(at, TextPlace { line, column });
        }
        if next.peek().is_none() {
            break;
        }
        (line, column) = match character {
            '\n' => (line + 1, 1),
            _ => (line, column + 1),
        };
    }
    places
}

/// A walk through a JSON text that notes where the values of some pointers begin.
struct Scan<'t> {
    text: &'t str,
    at: usize,
    /// Pointer to the value that is read.
    path: String,
    /// The pointers that are looked for, and where each is.
    found: HashMap<String, Vec<usize>>,
}

impl Scan<'_> {
    fn value(&mut self) {
        match self.next() {
            Some(b'{') => self.object(),
            Some(b'[') => self.list(),
            Some(b'"') => {
                self.string();
            }
            _ => {
                let is_end = |byte: u8| b",]}".contains(&byte) || byte.is_ascii_whitespace();
                let rest = &self.text.as_bytes()[self.at..];
                let length = rest.iter().position(|&byte| is_end(byte));
                self.at += length.unwrap_or(rest.len());
            }
        }
    }

    fn object(&mut self) {
        self.at += 1;
        while let Some(byte) = self.next() {
            match byte {
                b'"' => {
                    let begin = self.at;
                    let key = self.string();
                    let above = self.path.len();
                    self.path.push('/');
                    self.path.push_str(&shown_key(&key));
                    self.note(begin);
                    // The colon.
                    self.next();
                    self.at += 1;
                    self.value();
                    self.path.truncate(above);
                }
                b'}' => break,
                _ => self.at += 1,
            }
        }
        self.at += 1;
    }

    fn list(&mut self) {
        self.at += 1;
        let mut index = 0;
        while let Some(byte) = self.next() {
            match byte {
                b']' => break,
                b',' => self.at += 1,
                _ => {
                    let above = self.path.len();
                    self.path.push('/');
                    self.path.push_str(&index.to_string());
                    self.note(self.at);
                    self.value();
                    self.path.truncate(above);
                    index += 1;
                }
            }
        }
        self.at += 1;
    }

    /// The text of a string, past which it goes.
    fn string(&mut self) -> String {
        let bytes = self.text.as_bytes();
        let begin = self.at;
        self.at += 1;
        while let Some(&byte) = bytes.get(self.at) {
            self.at += if byte == b'\\' { 2 } else { 1 };
            if byte == b'"' {
                break;
            }
        }
        let end = self.at.min(bytes.len());
        serde_json::from_str(self.text.get(begin..end).unwrap_or_default()).unwrap_or_default()
    }

    fn note(&mut self, at: usize) {
        if let Some(found) = self.found.get_mut(&self.path) {
            found.push(at);
        }
    }

    /// The next byte that is no blank.
    fn next(&mut self) -> Option<u8> {
        let rest = self.text.as_bytes().get(self.at..)?;
        let blanks = rest.iter().position(|byte| !byte.is_ascii_whitespace())?;
        self.at += blanks;
        rest.get(blanks).copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str =
        "{\n  \"a\": [1, {\"é\\\"b\": {\"c\": true}}],\n  \"a\": 2, \"x\\ty\": \"z\"\n}";

    fn located(at: &str, message: &str) -> Option<(u64, u64)> {
        let mut problems = [Problem::new(at, message)];
        locate(TEXT, &mut problems);
        problems[0].place.map(|place| (place.line, place.column))
    }

    #[test]
    fn values_are_found_by_their_pointers() {
        for (at, place) in [
            ("/a", (2, 3)),
            ("/a/0", (2, 9)),
            ("/a/1", (2, 12)),
            ("/a/1/é\"b", (2, 13)),
            ("/a/1/é\"b/c", (2, 22)),
            ("/x\ty", (3, 11)),
        ] {
            assert_eq!(located(at, ""), Some(place), "{at}");
        }
    }

    #[test]
    fn what_is_missing_is_shown_where_it_should_be_and_what_comes_twice_at_the_second() {
        assert_eq!(located("/a/1/missing", ""), Some((2, 12)));
        assert_eq!(located("/missing", ""), None);
        assert_eq!(located("/a", TWICE), Some((3, 3)));
    }
}
