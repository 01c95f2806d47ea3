//! The litres on arrival with which to go on, to fill the cans first, or to turn back.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::{Panel, State};
use super::super::theme::DIM;
use super::panel;
use super::text::{past, row, write, write_right};
use crate::present::card::go_line;

/// Columns of each of the three figures.
const FIGURE: u16 = 12;
/// Columns of the kilometre.
const AT: u16 = 8;

pub(super) fn render(state: &State, area: Rect, buf: &mut Buffer) {
    let plan = state.plan();
    let title = "go or turn back, on arrival with (gauge)";
    let area = panel::heading(state, Panel::Card, title, area, buf);
    figures(
        row(area, 0),
        ["go on", "fill cans", "under: back"],
        DIM,
        buf,
    );
    let shown = plan.decisions.iter().skip(state.scroll_of(Panel::Card));
    for (decision, nth) in shown.zip(1..usize::from(area.height)) {
        let line = row(area, nth);
        let go = go_line(decision, plan, state.units());
        let name = Rect {
            width: line.width.saturating_sub(3 * FIGURE),
            ..line
        };
        // Where there is no room for the place, the kilometre tells where.
        if name.width > 2 * AT {
            write(buf, name, &go.at, DIM);
            write(buf, past(name, AT), &go.place, Style::new());
        } else {
            write(buf, name, &go.at, Style::new());
        }
        figures(
            line,
            [&go.go_on, &go.fill_cans, &go.turn_back],
            Style::new(),
            buf,
        );
    }
}

fn figures(line: Rect, texts: [&str; 3], style: Style, buf: &mut Buffer) {
    for (text, from_right) in texts.into_iter().zip([3, 2, 1]) {
        let column = past(line, line.width.saturating_sub(from_right * FIGURE));
        let column = Rect {
            width: column.width.min(FIGURE),
            ..column
        };
        write_right(buf, column, text, style);
    }
}
