//! A fuel stop without fuel, and a can lost: what happens, and what is recommended.

use ratatui::style::Style;

use super::rows::Rows;
use crate::plan::dry::Open;
use crate::present::dry;
use crate::tui::state::State;
use crate::tui::theme::{BOLD, DIM, Meaning, Theme};

pub(super) fn rows(state: &State, theme: Theme, width: u16) -> Rows {
    let plan = state.judged_or_shown().plan();
    let mut rows = Rows::new(width);
    if !dry::are_known(plan) {
        rows.words("calculated when you stop typing", DIM);
        return rows;
    }
    for line in dry::lines(plan) {
        let (shape, style) = match line.open() {
            Some(Open::No) => ("■", theme.strong(Meaning::Short)),
            Some(Open::UsingReserve) => ("▲", BOLD),
            Some(Open::Yes) => ("✓", BOLD),
            None => ("·", Style::new()),
        };
        rows.entry(shape, style, &line.sentence(plan, state.units()));
    }
    if rows.len() == 0 {
        rows.words("no fuel stop on the route", Style::new());
    }
    rows
}
