//! What all panels share: a heading with a rule, and entries that scroll.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::{Panel, State};
use super::super::theme::{BOLD, DIM};
use super::text::{columns, past, row, wrap, write, write_right};

/// Draws the heading and returns the room below it.
pub(super) fn heading(
    state: &State,
    panel: Panel,
    title: &str,
    area: Rect,
    buf: &mut Buffer,
) -> Rect {
    let focused = state.focus == panel;
    let head = row(area, 0);
    let mark = if focused { "▶ " } else { "─ " };
    let mut used = write(buf, head, mark, if focused { BOLD } else { DIM });
    used += write(buf, past(head, used), title, BOLD);
    used += write(buf, past(head, used), " ", DIM);
    let rest = past(head, used);
    write(buf, rest, &"─".repeat(rest.width.into()), DIM);
    let (scroll, entries) = (state.scroll_of(panel), state.entries(panel));
    if scroll > 0 {
        let position = format!(" {} of {entries} ", scroll + 1);
        if columns(&position) < rest.width {
            write_right(buf, head, &position, DIM);
        }
    }
    Rect {
        y: area.y + head.height,
        height: area.height - head.height,
        ..area
    }
}

/// An entry: a shape in its colour, then words that go on below themselves.
pub(super) struct Entry {
    pub(super) shape: &'static str,
    pub(super) style: Style,
    pub(super) head: String,
    pub(super) says: String,
}

/// Draws entries under one another until the room is used up.
pub(super) fn entries(items: impl Iterator<Item = Entry>, area: Rect, buf: &mut Buffer) {
    let mut next = 0;
    for entry in items {
        if row(area, next).is_empty() {
            break;
        }
        let first = row(area, next);
        let used = write(buf, first, &format!("{} ", entry.shape), entry.style);
        let used = used + write(buf, past(first, used), &entry.head, entry.style);
        // The words begin beside the head where that leaves room for some, and go on under it.
        let indent = columns(entry.shape) + 1;
        let room = area.width.saturating_sub(indent);
        let lead = " ".repeat(usize::from(used.saturating_sub(indent)));
        let lines = wrap(&format!("{}{}", "x".repeat(lead.len()), entry.says), room);
        for (nth, line) in lines.iter().enumerate() {
            let line_row = row(area, next);
            if nth == 0 {
                let shown = line.get(lead.len()..).unwrap_or_default();
                write(buf, past(line_row, used), shown, Style::new());
            } else {
                write(buf, past(line_row, indent), line, Style::new());
            }
            next += 1;
        }
    }
}
