//! Text for paper: lines and wrapped paragraphs, at most 80 columns wide.

use crate::present::name::{capitalized, pad_right, width};
use crate::present::words::{pieces, unbroken};

/// Columns of the paper.
pub(super) const WIDTH: usize = 80;

/// Text that grows downward, its lines wrapped to the paper.
#[derive(Debug, Default)]
pub(crate) struct Page {
    pub(crate) text: String,
}

impl Page {
    /// A line as it is; what is wider than the paper stays whole.
    pub(crate) fn line(&mut self, line: &str) {
        self.text.push_str(line.trim_end());
        self.text.push('\n');
    }

    /// A paragraph; lines after the first are indented by `hang`. A word that is longer than a line is cut up.
    pub(crate) fn paragraph(&mut self, first: &str, hang: usize, text: &str) {
        let mut line = first.to_owned();
        let mut words_on_line = 0;
        let words = unbroken(text);
        for word in words.iter().flat_map(|word| pieces(word, WIDTH - hang)) {
            let blank = usize::from(words_on_line > 0);
            if words_on_line > 0 && width(&line) + blank + width(word) > WIDTH {
                self.line(&line);
                line = " ".repeat(hang);
                words_on_line = 0;
            }
            if words_on_line > 0 {
                line.push(' ');
            }
            line.push_str(word);
            words_on_line += 1;
        }
        self.line(&line);
    }

    /// A heading with a note on its line, or below it where it is longer.
    pub(crate) fn heading(&mut self, title: &str, note: &str) {
        self.line("");
        let both = format!("{title}: {note}");
        if note.is_empty() || width(&both) > WIDTH {
            self.paragraph("", 2, title);
        } else {
            self.line(&both);
            return;
        }
        if !note.is_empty() {
            let stop = if note.ends_with('.') { "" } else { "." };
            self.paragraph("", 0, &format!("{}{stop}", capitalized(note)));
        }
    }

    /// A name and its text, which begins in column `at` on each of its lines.
    pub(crate) fn entry(&mut self, name: &str, at: usize, text: &str) {
        self.paragraph(&pad_right(name, at), at, text);
    }

    /// A heading and a paragraph for each item; `None` if there is none.
    pub(crate) fn list<T: AsRef<str>>(
        &mut self,
        title: &str,
        note: &str,
        items: impl IntoIterator<Item = T>,
    ) {
        let mut items = items.into_iter().peekable();
        if items.peek().is_some() {
            self.heading(title, note);
        }
        for item in items {
            self.paragraph("- ", 2, item.as_ref());
        }
    }
}
