//! Names that a user wrote, made safe and fitting for a line of text.
//!
//! A name comes from a file and may hold anything. What would move a cursor, ring a bell, start a
//! terminal sequence or turn the direction of writing is replaced by `?`; width is counted in
//! columns of a terminal, not in characters.

use std::borrow::Cow;

use unicode_segmentation::UnicodeSegmentation;
use unicode_width::UnicodeWidthStr;

/// Whether a character acts on a terminal instead of being printed.
pub fn acts(c: char) -> bool {
    c.is_control()
        || matches!(c,
            // Line and paragraph separators, directional marks, embeddings, overrides and isolates
            // (Unicode Standard Annex 9), byte-order mark.
            '\u{2028}' | '\u{2029}' | '\u{61c}' | '\u{200e}' | '\u{200f}'
            | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

/// The name with everything that acts on a terminal replaced by `?`, a tab or line end by a blank.
pub(crate) fn plain(name: &str) -> Cow<'_, str> {
    if !name.contains(acts) {
        return Cow::Borrowed(name);
    }
    name.chars()
        .map(|c| match c {
            '\t' | '\n' | '\r' => ' ',
            c if acts(c) => '?',
            c => c,
        })
        .collect::<String>()
        .into()
}

/// Width of a text in columns.
pub fn width(text: &str) -> usize {
    UnicodeWidthStr::width(text)
}

/// The name, plain, cut to at most `columns` with `~` where something is missing.
pub fn cut(name: &str, columns: usize) -> String {
    let name = plain(name);
    if width(&name) <= columns {
        return name.into_owned();
    }
    let mut short = String::new();
    let mut used = 0;
    for grapheme in name.graphemes(true) {
        let next = width(grapheme);
        if used + next + 1 > columns {
            break;
        }
        short.push_str(grapheme);
        used += next;
    }
    if columns > 0 {
        short.push('~');
    }
    short
}

/// The text with a capital at its beginning.
pub(crate) fn capitalized(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// The text followed by blanks up to `columns`.
pub(crate) fn pad_right(text: &str, columns: usize) -> String {
    format!("{text}{}", " ".repeat(columns.saturating_sub(width(text))))
}

/// Blanks up to `columns`, then the text.
pub(crate) fn pad_left(text: &str, columns: usize) -> String {
    format!("{}{text}", " ".repeat(columns.saturating_sub(width(text))))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_that_acts_on_a_terminal_is_left() {
        let shown = plain("a\u{1b}[31mb\u{9b}c\u{202e}d\u{7}\te\n");
        assert_eq!(shown, "a?[31mb?c?d? e ");
        assert!(!shown.contains(acts));
    }

    #[test]
    fn names_are_cut_by_columns_and_never_inside_a_character() {
        assert_eq!(cut("Harrow Cross", 12), "Harrow Cross");
        assert_eq!(cut("Harrow Cross", 7), "Harrow~");
        assert_eq!(cut("\u{6f22}\u{5b57}\u{6f22}", 4), "\u{6f22}~");
        assert_eq!(cut("e\u{301}e\u{301}e\u{301}", 2), "e\u{301}~");
        assert_eq!(cut("abc", 0), "");
        assert_eq!(width(&pad_right("\u{6f22}", 5)), 5);
        assert_eq!(pad_left("7", 3), "  7");
    }
}
