//! Whether to set out, and where it is tightest.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::State;
use super::super::theme::{Meaning, Theme};
use super::text::{columns, past, row, wrap, write};
use crate::plan::Verdict;
use crate::present::verdict::{may_go, sentence, tightest};

pub(super) fn render(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let plan = state.plan();
    let (shape, meaning) = match plan.verdict() {
        _ if may_go(plan) => ("✓ ", Meaning::Enough),
        Verdict::FuelShort(_) => ("■ ", Meaning::Short),
        _ => ("▲ ", Meaning::Care),
    };
    let says = sentence(plan, state.units());
    let tight = tightest(plan, state.units()).unwrap_or_default();
    let indent = write(buf, row(area, 0), shape, theme.strong(meaning));
    let room = past(area, indent);
    let lines = wrap(&says, room.width);
    for (nth, line) in lines.iter().enumerate() {
        write(buf, row(room, nth), line, theme.strong(meaning));
    }
    let last = lines.last().map_or(0, |line| columns(line) + 1);
    let (after, beside) = (
        row(room, lines.len()),
        row(room, lines.len().saturating_sub(1)),
    );
    if after.is_empty() {
        write(buf, past(beside, last), &tight, Style::new());
    } else {
        write(buf, after, &tight, Style::new());
    }
}
