//! What if a pump is dry or a can is lost: each stop that is relied on, the worst pair, the fullest can.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::{Panel, State};
use super::super::theme::{Meaning, Theme};
use super::panel::{self, Entry};
use super::text::{row, write};
use crate::plan::dry::Open;
use crate::present::dry;

pub(super) fn render(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let plan = state.judged_or_shown().plan();
    let area = panel::heading(state, Panel::Dry, panel::title(Panel::Dry), area, buf);
    if !dry::are_known(plan) {
        write(
            buf,
            row(area, 0),
            "worked out after a moment of rest",
            Style::new(),
        );
        return;
    }
    let mut lines = dry::lines(plan).peekable();
    if lines.peek().is_none() {
        write(
            buf,
            row(area, 0),
            "there is no pump on the way",
            Style::new(),
        );
    }
    let entries = lines.skip(state.scroll_of(Panel::Dry)).map(|line| {
        let (shape, style) = match line.open() {
            Some(Open::No) => ("■", theme.strong(Meaning::Short)),
            Some(Open::UsingReserve) => ("▲", theme.strong(Meaning::Care)),
            Some(Open::Yes) => ("✓", theme.strong(Meaning::Enough)),
            None => ("·", Style::new()),
        };
        Entry {
            shape,
            style,
            says: line.sentence(plan, state.units()),
        }
    });
    panel::entries(entries, area, buf);
}
