//! Where a text may be broken into lines.

use unicode_segmentation::UnicodeSegmentation;

use super::name::width;

/// The words of a text, a number and its unit (`24 L`, `km 340`) being one.
pub(crate) fn unbroken(text: &str) -> Vec<&str> {
    const LONGEST_UNIT: usize = 4;
    let number = |word: &str| word.starts_with(|c: char| c.is_ascii_digit() || c == '-');
    let mut words: Vec<&str> = Vec::new();
    let (mut from, mut at) = (0, 0);
    for word in text.split(' ') {
        let end = at + word.len();
        if !word.is_empty() {
            let unit = word.trim_end_matches([',', '.', ';', ':', ')']);
            // `from` is where the last word begins; only one blank may be between.
            let joins = words.last().is_some_and(|last| {
                from + last.len() + 1 == at
                    && ((number(last)
                        && !number(unit)
                        && !last.contains(' ')
                        && unit.len() <= LONGEST_UNIT)
                        || (number(word) && matches!(*last, "km" | "mile" | "leg" | "Leg")))
            });
            match words.last_mut() {
                Some(last) if joins => *last = &text[from..end],
                _ => {
                    from = at;
                    words.push(word);
                }
            }
        }
        at = end + 1;
    }
    words
}

/// A word in pieces of at most `columns` columns, cut between characters; one piece where it fits.
pub(crate) fn pieces(word: &str, columns: usize) -> Vec<&str> {
    let mut pieces = Vec::new();
    let (mut from, mut used) = (0, 0);
    for (at, grapheme) in word.grapheme_indices(true) {
        let next = width(grapheme);
        if used + next > columns && at > from {
            pieces.push(&word[from..at]);
            (from, used) = (at, 0);
        }
        used += next;
    }
    pieces.push(&word[from..]);
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_keeps_its_unit() {
        assert_eq!(
            unbroken("put 27 L in, 82 L out; at km 340, leg 4 of 6 cans"),
            [
                "put", "27 L", "in,", "82 L", "out;", "at", "km 340,", "leg 4", "of", "6 cans"
            ]
        );
    }

    #[test]
    fn a_word_longer_than_a_line_is_cut_between_characters() {
        assert_eq!(pieces("abcdefg", 3), ["abc", "def", "g"]);
        assert_eq!(pieces("abc", 3), ["abc"]);
        assert_eq!(
            pieces("\u{6f22}\u{5b57}e\u{301}", 3),
            ["\u{6f22}", "\u{5b57}e\u{301}"]
        );
        assert_eq!(pieces("\u{6f22}", 1), ["\u{6f22}"]);
        assert_eq!(pieces("", 3), [""]);
    }
}
