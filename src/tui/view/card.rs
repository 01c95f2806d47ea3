//! The litres on arrival with which to go on, to fill the cans first, or to turn back.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::{Panel, State};
use super::super::theme::DIM;
use super::panel;
use super::text::{past, row, write, write_right};
use crate::plan::Decision;
use crate::present::number::{Toward, Units};

/// Columns of each of the three figures.
const FIGURE: u16 = 10;

pub(super) fn render(state: &State, area: Rect, buf: &mut Buffer) {
    let title = format!("{} on arrival: go or no go", state.units().fuel_unit());
    let area = panel::heading(state, Panel::Card, &title, area, buf);
    line(
        area,
        0,
        &["go on", "fill cans", "back under"].map(str::to_owned),
        DIM,
        buf,
    );
    let shown = state
        .plan()
        .decisions
        .iter()
        .skip(state.scroll_of(Panel::Card));
    for (decision, nth) in shown.zip(1..area.height) {
        let units = state.units();
        let nth = usize::from(nth);
        let figures = figures(decision, units);
        let name = Rect {
            width: area.width.saturating_sub(3 * FIGURE),
            ..row(area, nth)
        };
        let at = units.at(decision.at_km, Toward::Nearest);
        let way = if decision.node.is_some() { "" } else { "to " };
        write(
            buf,
            name,
            &format!("{at} {way}{}", decision.place),
            Style::new(),
        );
        line(area, nth, &figures, Style::new(), buf);
    }
}

fn figures(decision: &Decision, units: Units) -> [String; 3] {
    let up = |litres| units.fuel(litres, Toward::Up).number;
    let or_dash = |litres: Option<_>| litres.map_or("-".to_owned(), up);
    [
        or_dash(decision.go_on),
        or_dash(decision.fill_cans),
        up(decision.turn_back),
    ]
}

fn line(area: Rect, nth: usize, figures: &[String; 3], style: Style, buf: &mut Buffer) {
    let line = row(area, nth);
    for (figure, from_right) in figures.iter().zip([3, 2, 1]) {
        let column = Rect {
            width: FIGURE,
            ..past(line, line.width.saturating_sub(from_right * FIGURE))
        };
        write_right(buf, column.intersection(line), figure, style);
    }
}
