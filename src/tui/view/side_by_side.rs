//! What is kept, side by side with the trip as stated: the figures that decide, a plan a row.

use std::fmt::Write as _;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::side_by_side::ComparisonRow;
use super::super::state::State;
use super::super::theme::{BOLD, DIM, Meaning, Theme};
use super::text::{columns, first, past, row, rule, write, write_right};
use super::verdict::CALCULATING;
use crate::present::compare::{FIGURES, figures};

/// Columns of each figure, a blank before it among them; no head is longer.
const WIDTHS: [u16; FIGURES] = [4, 6, 8, 8, 8, 7, 8, 8];
/// Columns of a name that can still be distinguished from others.
const NAME: u16 = 12;

pub(super) fn render(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let units = state.units();
    // The first figures decide most; what has no room is left out whole.
    let room = area.width.saturating_sub(NAME);
    let ends = WIDTHS.iter().scan(0, |end, width| {
        *end += width;
        Some(*end)
    });
    let shown = ends.take_while(|end| *end <= room).count();
    let rows = state.comparison_rows();
    let hidden = rows
        .len()
        .saturating_sub(usize::from(area.height.saturating_sub(3)));
    let mut which = state.which_beside();
    // What is not seen is reported.
    if shown < FIGURES {
        let _ = write!(which, ", {shown} of {FIGURES} columns");
    }
    if hidden > 0 {
        let _ = write!(which, ", {hidden} below");
    }
    let head = row(area, 0);
    let titles = if state.basis().is_best_estimate() {
        ["▶ side by side, best estimate", "▶ best estimate"]
    } else {
        ["▶ side by side"; 2]
    };
    let titles = titles.map(|title| format!("{title}{which}"));
    let [long, short] = &titles;
    let has_room = columns(long) < head.width;
    let title = if has_room { long } else { short };
    rule(buf, head, title);
    let names = area.width - WIDTHS.iter().take(shown).sum::<u16>().min(area.width);
    let cell = |line: Rect, nth: usize| {
        let from = names + WIDTHS.iter().take(nth).sum::<u16>();
        first(past(line, from), WIDTHS[nth])
    };
    for (nth, figure) in figures(units).iter().take(shown).enumerate() {
        for (line, head) in figure.heads.iter().enumerate() {
            write_right(buf, cell(row(area, 1 + line), nth), head, DIM);
        }
    }
    for (nth, compared) in rows.iter().enumerate() {
        let line = row(area, 3 + nth);
        let name = first(line, names);
        match compared {
            ComparisonRow::Plan(figures) => {
                let style = if nth == 0 { BOLD } else { Style::new() };
                write(buf, name, &figures.name, style);
                for (at, figure) in figures.cells.iter().take(shown).enumerate() {
                    let style = match (at, figure.as_str()) {
                        (0, "NO") => theme.words(Meaning::Short),
                        (0, "yes") => BOLD,
                        _ => Style::new(),
                    };
                    write_right(buf, cell(line, at), figure, style);
                }
            }
            ComparisonRow::Calculating { name: plan_name } => {
                write(buf, name, plan_name, Style::new());
                write(buf, past(line, names + 1), CALCULATING, DIM);
            }
            ComparisonRow::Stale {
                name: plan_name,
                why,
            } => {
                write(buf, line, &format!("{plan_name}: {why}"), BOLD);
            }
        }
    }
}
