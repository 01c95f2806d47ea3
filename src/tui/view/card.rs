//! The litres on arrival with which to go on, to fill the cans first, or to turn back.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::{Panel, State};
use super::super::theme::DIM;
use super::panel;
use super::text::{past, row, write, write_right};
use crate::present::card::go_line;

/// Columns of a figure with the gauge beside it, and of one without.
const WITH_GAUGE: u16 = 12;
const WITHOUT: u16 = 8;
/// Columns of the kilometre.
const AT: u16 = 8;
/// Columns of a place that can still be told from others.
const PLACE: u16 = 8;

pub(super) fn render(state: &State, area: Rect, buf: &mut Buffer) {
    let plan = state.plan();
    let gauge = area.width >= AT + PLACE + 3 * WITH_GAUGE;
    let (title, heads, width) = if gauge {
        let heads = ["go on", "fill cans", "back under"];
        (
            "go or turn back, on arrival with (gauge)",
            heads,
            WITH_GAUGE,
        )
    } else {
        let heads = ["go on", "fill", "under"];
        ("go or turn back, on arrival with", heads, WITHOUT)
    };
    let area = panel::heading(state, Panel::Card, title, area, buf);
    figures(row(area, 0), width, heads, DIM, buf);
    let shown = plan.decisions.iter().skip(state.scroll_of(Panel::Card));
    for (decision, nth) in shown.zip(1..usize::from(area.height)) {
        let line = row(area, nth);
        let go = go_line(decision, plan, state.units());
        let name = Rect {
            width: line.width.saturating_sub(3 * width),
            ..line
        };
        write(buf, name, &go.at, DIM);
        write(buf, past(name, AT), &go.place, Style::new());
        let shown = [&go.go_on, &go.fill_cans, &go.turn_back].map(|figure| {
            // What the gauge shows stands in brackets behind the litres.
            let litres = figure.split(" (").next().unwrap_or(figure);
            if gauge { figure } else { litres }
        });
        figures(line, width, shown, Style::new(), buf);
    }
}

fn figures(line: Rect, width: u16, texts: [&str; 3], style: Style, buf: &mut Buffer) {
    for (text, from_right) in texts.into_iter().zip([3, 2, 1]) {
        let column = past(line, line.width.saturating_sub(from_right * width));
        let column = Rect {
            width: column.width.min(width),
            ..column
        };
        write_right(buf, column, text, style);
    }
}
