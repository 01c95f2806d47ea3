//! Whether to set out, and where it is tightest.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::State;
use super::super::theme::{Meaning, Theme};
use super::super::told::Outlook;
use super::text::{columns, past, row, wrap, write};

pub(super) fn render(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let told = state.told();
    let (shape, meaning) = match told.outlook {
        Outlook::Good => ("✓ ", Meaning::Enough),
        Outlook::Other => ("▲ ", Meaning::Care),
        Outlook::Short => ("■ ", Meaning::Short),
    };
    let indent = write(buf, row(area, 0), shape, theme.strong(meaning));
    let room = past(area, indent);
    let lines = wrap(&told.verdict, room.width);
    for (nth, line) in lines.iter().enumerate() {
        write(buf, row(room, nth), line, theme.strong(meaning));
    }
    let last = lines.last().map_or(0, |line| columns(line) + 1);
    let (after, beside) = (
        row(room, lines.len()),
        row(room, lines.len().saturating_sub(1)),
    );
    if after.is_empty() {
        write(buf, past(beside, last), &told.tightest, Style::new());
    } else {
        write(buf, after, &told.tightest, Style::new());
    }
}
