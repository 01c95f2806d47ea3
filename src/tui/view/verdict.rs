//! Whether to set out, and where it is tightest.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::State;
use super::super::theme::{Meaning, Theme};
use super::text::{past, row, write};
use crate::plan::Verdict;
use crate::present::verdict::{may_go, sentence, tightest};

pub(super) fn render(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let plan = state.plan();
    let (shape, meaning) = match plan.verdict() {
        _ if may_go(plan) => ("✓ ", Meaning::Enough),
        Verdict::FuelShort(_) => ("■ ", Meaning::Short),
        _ => ("▲ ", Meaning::Care),
    };
    let first = row(area, 0);
    let mut used = write(buf, first, shape, theme.strong(meaning));
    let says = sentence(plan, state.units());
    used += write(buf, past(first, used), &says, theme.strong(meaning));
    if let Some(tightest) = tightest(plan, state.units()) {
        if area.height > 1 {
            write(buf, past(row(area, 1), 2), &tightest, Style::new());
        } else {
            write(buf, past(first, used + 1), &tightest, Style::new());
        }
    }
}
