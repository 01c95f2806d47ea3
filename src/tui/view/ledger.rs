//! What the spare fuel is for: each part with its share of it, the legs that have most, what would be needed without it.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::{Panel, State};
use super::panel::{self, Entry};
use super::text::{row, write};
use crate::present::ledger;

/// Columns of the bar of a part.
const BAR: usize = 12;

pub(super) fn render(state: &State, area: Rect, buf: &mut Buffer) {
    let area = panel::heading(state, Panel::Ledger, panel::title(Panel::Ledger), area, buf);
    let Some(of) = state.ledger() else {
        let says = "worked out after a moment of rest";
        write(buf, row(area, 0), says, Style::new());
        return;
    };
    let units = state.units();
    let Some(how) = ledger::how_to_read(of, state.judged_or_shown().plan(), units) else {
        write(buf, row(area, 0), "no spare fuel is needed", Style::new());
        return;
    };
    let parts = ledger::lines(of, units).into_iter().map(|line| {
        let bar = bar(line.of_most.get());
        Entry::plain(format!("{bar} {}", line.sentence()))
    });
    let lines = std::iter::once(Entry::plain(format!("{how}.")))
        .chain(parts)
        .chain(ledger::cans(of, units).into_iter().map(Entry::plain))
        .skip(state.scroll_of(Panel::Ledger));
    panel::entries(lines, area, buf);
}

/// `━━━━        ` for a third; what saves fuel goes the other way, `╌╌`.
fn bar(share: f64) -> String {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to the length of the bar"
    )]
    let long = (share.abs() * BAR as f64).round().clamp(1.0, BAR as f64) as usize;
    let stroke = if share < 0.0 { "╌" } else { "━" };
    format!("{}{}", stroke.repeat(long), " ".repeat(BAR - long))
}
