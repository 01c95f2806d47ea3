//! A line of text that is being typed: what is in it and where the cursor is, counted in what a reader
//! takes for one letter (a base with its marks, a flag, a family), never in bytes.

use unicode_segmentation::{GraphemeCursor, UnicodeSegmentation};

use crate::present::name::{acts, width};

/// More bytes than this are not taken: no field has longer text. A count of letters would make a long paste slow.
const LONGEST: usize = 16_000;

/// Text and cursor.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct TypedLine {
    text: String,
    /// Byte before which the cursor is, always between two letters.
    at: usize,
}

/// Where the cursor can go, and what can be taken away.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reach {
    /// One letter back.
    Letter,
    /// One letter on.
    NextLetter,
    /// To the start of the word.
    Word,
    /// To the end of the word.
    NextWord,
    /// To the start of the line.
    Start,
    /// To the end of the line.
    End,
}

impl TypedLine {
    /// A text with the cursor at its end.
    pub(crate) fn new(text: impl Into<String>) -> Self {
        let text = text.into();
        Self {
            at: text.len(),
            text,
        }
    }

    /// The text as it was typed so far.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The text before the cursor and the text behind it.
    pub(crate) fn halves(&self) -> (&str, &str) {
        self.text.split_at(self.at)
    }

    /// Types a character. What would act on a terminal is no text; a line end counts as a blank.
    pub(crate) fn put(&mut self, c: char) {
        let is_blank = matches!(c, '\n' | '\r' | '\t');
        let c = if is_blank { ' ' } else { c };
        if acts(c) || self.text.len() >= LONGEST {
            return;
        }
        self.text.insert(self.at, c);
        self.at += c.len_utf8();
        self.settle();
    }

    /// Moves the cursor.
    pub(crate) fn go(&mut self, to: Reach) {
        self.at = self.reach(to);
    }

    /// Takes away what is between the cursor and there.
    pub(crate) fn erase(&mut self, to: Reach) {
        let there = self.reach(to);
        let (from, to) = (self.at.min(there), self.at.max(there));
        self.text.replace_range(from..to, "");
        self.at = from;
        self.settle();
    }

    /// A letter that was put together with its neighbour may have swallowed the border at the cursor.
    fn settle(&mut self) {
        let border = |at: usize| {
            let mut cursor = GraphemeCursor::new(at, self.text.len(), true);
            // The whole text is one chunk, so nothing is ever missing.
            cursor.is_boundary(&self.text, 0).unwrap_or(true)
        };
        while !border(self.at) {
            let next = self.text[self.at..].chars().next();
            self.at += next.map_or(1, char::len_utf8);
        }
    }

    fn reach(&self, to: Reach) -> usize {
        let (before, behind) = self.halves();
        let start = |found: Option<(usize, &str)>| found.map_or(0, |(at, _)| at);
        match to {
            Reach::Letter => start(before.grapheme_indices(true).next_back()),
            Reach::NextLetter => self.at + behind.graphemes(true).next().map_or(0, str::len),
            Reach::Word => start(before.unicode_word_indices().next_back()),
            Reach::NextWord => {
                let word = behind.unicode_word_indices().next();
                self.at + word.map_or(behind.len(), |(at, word)| at + word.len())
            }
            Reach::Start => 0,
            Reach::End => self.text.len(),
        }
    }

    /// As much of the text as fits into `room` columns with the cursor in it, and the column of the cursor.
    pub(crate) fn window(&self, room: usize) -> (String, usize) {
        let (before, behind) = self.halves();
        let mut shown = String::new();
        // The cursor needs a column of its own.
        let room_before = room.saturating_sub(1);
        let mut used = 0;
        let mut from = before.len();
        for (at, letter) in before.grapheme_indices(true).rev() {
            if used + width(letter) > room_before {
                break;
            }
            used += width(letter);
            from = at;
        }
        shown.push_str(&before[from..]);
        let cursor = used;
        for letter in behind.graphemes(true) {
            used += width(letter);
            if used > room {
                break;
            }
            shown.push_str(letter);
        }
        (shown, cursor)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn typed(text: &str) -> TypedLine {
        let mut line = TypedLine::default();
        text.chars().for_each(|c| line.put(c));
        line
    }

    #[test]
    fn letters_and_words_are_taken_whole() {
        let mut line = typed("two e\u{301}te\u{301}s");
        line.erase(Reach::Letter);
        line.erase(Reach::Letter);
        assert_eq!(line.text(), "two e\u{301}t");
        line.erase(Reach::Word);
        assert_eq!(line.text(), "two ");
        line.go(Reach::Start);
        line.go(Reach::NextWord);
        line.erase(Reach::End);
        assert_eq!(line.halves(), ("two", ""));
        line.erase(Reach::Start);
        assert_eq!(line, TypedLine::default());
    }

    #[test]
    fn what_acts_on_a_terminal_is_no_text() {
        assert_eq!(typed("a\u{1b}[2J\r\nb\u{202e}").text(), "a[2J  b");
    }

    #[test]
    fn the_cursor_is_always_in_sight() {
        let line = TypedLine::new("0123456789");
        assert_eq!(line.window(5), ("6789".to_owned(), 4));
        let mut line = TypedLine::new("漢字漢字");
        assert_eq!(line.window(5), ("漢字".to_owned(), 4));
        line.go(Reach::Start);
        assert_eq!(line.window(5), ("漢字".to_owned(), 0));
        assert_eq!(line.window(0), (String::new(), 0));
    }

    /// The line's acts on a plain list of letters, the cursor a number of letters; words are runs of letters that are
    /// no blanks.
    fn modelled(letters: &mut Vec<char>, at: &mut usize, act: usize, c: char) {
        let reach = |letters: &[char], at: usize, act: usize| match act {
            0 => at.saturating_sub(1),
            1 => (at + 1).min(letters.len()),
            2 => {
                let word = letters[..at].iter().rposition(|&c| c != ' ');
                word.map_or(0, |end| {
                    let blank = letters[..end].iter().rposition(|&c| c == ' ');
                    blank.map_or(0, |blank| blank + 1)
                })
            }
            3 => {
                let word = letters[at..].iter().position(|&c| c != ' ');
                word.map_or(letters.len(), |first| {
                    let blank = letters[at + first..].iter().position(|&c| c == ' ');
                    blank.map_or(letters.len(), |blank| at + first + blank)
                })
            }
            4 => 0,
            _ => letters.len(),
        };
        match act {
            0..6 => *at = reach(letters, *at, act),
            6..12 => {
                let there = reach(letters, *at, act - 6);
                letters.drain(there.min(*at)..there.max(*at));
                *at = there.min(*at);
            }
            _ => {
                letters.insert(*at, c);
                *at += 1;
            }
        }
    }

    proptest! {
        #[test]
        fn a_line_is_a_list_of_letters_with_a_cursor(
            keys in prop::collection::vec((prop::sample::select(&['a', 'B', '1', 'ß', ' ', ' '][..]), 0..20_usize), 0..60),
        ) {
            use Reach::{End, Letter, NextLetter, NextWord, Start, Word};
            const WAYS: [Reach; 6] = [Letter, NextLetter, Word, NextWord, Start, End];
            let (mut line, mut letters, mut at) = (TypedLine::default(), Vec::new(), 0);
            for (c, act) in keys {
                match act {
                    0..6 => line.go(WAYS[act]),
                    6..12 => line.erase(WAYS[act - 6]),
                    _ => line.put(c),
                }
                modelled(&mut letters, &mut at, act, c);
                let before: String = letters[..at].iter().collect();
                let behind: String = letters[at..].iter().collect();
                prop_assert_eq!(line.halves(), (before.as_str(), behind.as_str()));
            }
        }

        /// Whatever is typed, moved and erased, the cursor is between two letters and in sight.
        #[test]
        fn the_cursor_stands_between_letters(
            keys in prop::collection::vec((any::<char>(), 0..14_usize), 0..40),
            room in 1..12_usize,
        ) {
            use Reach::{End, Letter, NextLetter, NextWord, Start, Word};
            const WAYS: [Reach; 6] = [Letter, NextLetter, Word, NextWord, Start, End];
            let mut line = TypedLine::default();
            for (c, act) in keys {
                match act {
                    0..6 => line.go(WAYS[act]),
                    6..9 => line.erase(WAYS[act - 6]),
                    _ => line.put(c),
                }
                let (before, behind) = line.halves();
                let whole = line.text().graphemes(true).count();
                prop_assert_eq!(before.graphemes(true).count() + behind.graphemes(true).count(), whole);
                let (shown, cursor) = line.window(room);
                prop_assert!(width(&shown) <= room && cursor < room);
            }
        }
    }
}
