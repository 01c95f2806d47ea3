//! The go/no-go card: the litres on arrival with which to go on, beside those that are planned, and
//! where to turn back to with less.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::{Panel, State};
use super::super::theme::{BOLD, DIM};
use super::panel;
use super::text::{past, row, wrap, write, write_right};
use crate::present::card::{GoLine, go_line};

/// Columns of the kilometre.
const AT: u16 = 8;
/// Columns of the litres, the gauge beside them, and of those that are planned.
const LEAST: u16 = 13;
const PLANNED: u16 = 9;
/// Columns of the place to turn back to.
const BACK: u16 = 16;
/// Columns of a place that can still be told from others.
const PLACE: u16 = 12;

/// The columns that there is room for.
struct Columns {
    place: u16,
    back: u16,
}

pub(super) fn render(state: &State, area: Rect, buf: &mut Buffer) {
    let plan = state.plan();
    let title = "go or turn back: fuel on arrival";
    let area = panel::heading(state, Panel::Card, title, area, buf);
    let figures = AT + LEAST + PLANNED;
    let back = if area.width >= figures + PLACE + BACK {
        BACK
    } else {
        0
    };
    let columns = Columns {
        place: area.width.saturating_sub(figures + back),
        back,
    };
    let head = ["", "", "at least", "planned", "back to"];
    line(row(area, 0), &columns, head, [DIM; 2], buf);
    let mut next = 1;
    for decision in plan.decisions.iter().skip(state.scroll_of(Panel::Card)) {
        let here = row(area, next);
        if here.is_empty() {
            break;
        }
        let go = go_line(decision, plan, state.units());
        line(here, &columns, texts(&go), [BOLD, Style::new()], buf);
        next += 1;
        for words in go
            .at_pump
            .iter()
            .flat_map(|says| wrap(says, area.width.saturating_sub(AT)))
        {
            write(buf, past(row(area, next), AT), &words, DIM);
            next += 1;
        }
    }
}

fn texts(go: &GoLine) -> [&str; 5] {
    let back = go.way_back.as_deref().unwrap_or("no way back");
    [&go.at, &go.place, &go.turn_back, &go.planned, back]
}

/// One line: kilometre, place, what must be there, what is planned, where to turn back to.
fn line(
    row: Rect,
    columns: &Columns,
    texts: [&str; 5],
    [must, plain]: [Style; 2],
    buf: &mut Buffer,
) {
    let [at, place, least, planned, back] = texts;
    let mut x = 0;
    let mut next = |width: u16| {
        let cell = past(row, x);
        x += width;
        Rect {
            width: cell.width.min(width),
            ..cell
        }
    };
    write(buf, next(AT), at, DIM);
    write(buf, next(columns.place), place, plain);
    write_right(buf, next(LEAST), least, must);
    write_right(buf, next(PLANNED), planned, plain);
    write(buf, past(next(columns.back), 2), back, plain);
}
