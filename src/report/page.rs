//! Text for paper: lines and wrapped paragraphs, at most 80 columns wide.

use crate::present::name::width;

/// Columns of the paper.
pub(super) const WIDTH: usize = 80;

/// Text that grows downward, its lines wrapped to the paper.
#[derive(Debug, Default)]
pub(super) struct Page {
    pub text: String,
}

impl Page {
    /// A line as it is; what is wider than the paper stays whole.
    pub fn line(&mut self, line: &str) {
        self.text.push_str(line.trim_end());
        self.text.push('\n');
    }

    /// A paragraph; lines after the first are indented by `hang`.
    pub fn paragraph(&mut self, first: &str, hang: usize, text: &str) {
        let mut line = first.to_owned();
        let mut words_on_line = 0;
        for word in unbroken(text) {
            let blank = usize::from(words_on_line > 0);
            if words_on_line > 0 && width(&line) + blank + width(&word) > WIDTH {
                self.line(&line);
                line = " ".repeat(hang);
                words_on_line = 0;
            }
            if words_on_line > 0 {
                line.push(' ');
            }
            line.push_str(&word);
            words_on_line += 1;
        }
        self.line(&line);
    }

    pub fn heading(&mut self, title: &str, note: &str) {
        self.line("");
        let first = if note.is_empty() {
            title.to_owned()
        } else {
            format!("{title}: ")
        };
        self.paragraph("", 2, &format!("{first}{note}"));
    }
}

/// The words of a text, a number and its unit (`24 L`, `km 340`) being one.
fn unbroken(text: &str) -> Vec<String> {
    const LONGEST_UNIT: usize = 4;
    let number = |word: &str| word.starts_with(|c: char| c.is_ascii_digit() || c == '-');
    let mut words: Vec<String> = Vec::new();
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let unit = word.trim_end_matches([',', '.', ';', ':', ')']);
        let joins = words.last().is_some_and(|last| {
            (number(last) && !number(unit) && !last.contains(' ') && unit.len() <= LONGEST_UNIT)
                || (number(word) && matches!(last.as_str(), "km" | "mile" | "leg" | "Leg"))
        });
        match words.last_mut() {
            Some(last) if joins => {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}
