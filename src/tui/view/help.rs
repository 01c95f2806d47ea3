//! The list of keys, made from the table of keys, and the cautions.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::keymap::{BINDINGS, Group, Key};
use super::super::theme::{BOLD, DIM};
use super::text::{past, row, write};

/// Columns of the keys.
const KEYS: u16 = 18;

/// One line of the help.
enum Line {
    Title(&'static str),
    Keys(String, &'static str),
    Blank,
}

fn lines() -> Vec<Line> {
    let mut lines = Vec::new();
    for group in Group::ALL {
        lines.push(Line::Title(group.title()));
        for binding in BINDINGS.iter().filter(|binding| binding.group == group) {
            let keys: Vec<String> = binding.keys.iter().map(|&key| spoken(key)).collect();
            lines.push(Line::Keys(keys.join("  "), binding.label));
        }
        lines.push(Line::Blank);
    }
    lines
}

fn spoken(key: Key) -> String {
    let name = key.name();
    if name == " " {
        "Space".to_owned()
    } else {
        name
    }
}

/// How many lines the help has.
pub fn line_count() -> usize {
    lines().len()
}

pub(super) fn render(scroll: usize, area: Rect, buf: &mut Buffer) {
    let head = row(area, 0);
    let used = write(buf, head, "keys", BOLD);
    write(buf, past(head, used), "   Esc or ? goes back", DIM);
    let body = Rect {
        y: area.y + 1,
        height: area.height - 1,
        ..area
    };
    for (nth, line) in lines().iter().skip(scroll).enumerate() {
        let at = row(body, nth);
        match line {
            Line::Title(title) => write(buf, at, title, BOLD),
            Line::Keys(keys, label) => {
                write(buf, past(at, 2), keys, BOLD);
                write(buf, past(at, KEYS + 2), label, Style::new())
            }
            Line::Blank => 0,
        };
    }
}
