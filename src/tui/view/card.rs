//! The fuel checks: the litres expected on arrival, those that one trip in twenty has less than, and those below which to
//! turn back, and where to.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::{Panel, State};
use super::super::theme::{BOLD, DIM};
use super::panel;
use super::text::{first, past, row, wrap, write, write_right};
use crate::present::card::{HOW_TO_READ, Level, WITH_LESS, check_line};

/// Columns of the kilometre.
const AT: u16 = 8;
/// Columns of litres with the gauge beside them, and of those that are planned.
const LEVEL: u16 = 12;
const PLANNED: u16 = 6;
/// Columns of the place to turn back to.
const REFUGE: u16 = 14;
/// Columns of a place that can still be told from others.
const PLACE: u16 = 12;

/// The columns that there is room for, the refuge before what is planned; the others have no width.
struct Columns {
    place: u16,
    planned: u16,
    refuge: u16,
}

impl Columns {
    fn of(width: u16) -> Self {
        let in_cans = width.saturating_sub(AT + 2 * LEVEL + PLACE);
        let refuge = if in_cans >= REFUGE { REFUGE } else { 0 };
        let planned = if in_cans - refuge >= PLANNED {
            PLANNED
        } else {
            0
        };
        Self {
            place: width.saturating_sub(AT + 2 * LEVEL + planned + refuge),
            planned,
            refuge,
        }
    }
}

pub(super) fn render(state: &State, area: Rect, buf: &mut Buffer) {
    let plan = state.judged_or_shown().plan();
    let area = panel::heading(state, Panel::Card, panel::title(Panel::Card), area, buf);
    let columns = Columns::of(area.width);
    let unit = state.units().fuel_unit();
    let (expected, below) = (format!("expected, {unit}"), format!("back < {unit}"));
    let head = ["", "", &expected, "5 %", &below, "to"];
    line(row(area, 0), &columns, head, [DIM; 2], buf);
    if plan.fuel_checks.is_empty() {
        let says = "no simulated trips: no fuel checks";
        write(buf, row(area, 1), says, Style::new());
        return;
    }
    let mut next = 1;
    for check in plan.fuel_checks.iter().skip(state.scroll_of(Panel::Card)) {
        let here = row(area, next);
        if here.is_empty() {
            panel::more_below(area, buf);
            return;
        }
        let check = check_line(check, plan, state.units());
        let needed = check
            .needed
            .as_ref()
            .map(|needed| format!("needs {needed}"));
        let back = check.turn_back.as_ref();
        let texts: [&str; 6] = [
            &check.at,
            &check.place,
            &check
                .expected
                .as_ref()
                .map_or("no fuel".to_owned(), Level::short),
            &check.low.number,
            &back.map_or("-".to_owned(), |(level, _)| Level::short(level)),
            back.map_or(needed.as_deref().unwrap_or_default(), |(_, refuge)| refuge),
        ];
        line(here, &columns, texts, [BOLD, Style::new()], buf);
        next += 1;
        for says in &check.says {
            next = indented(says, area, next, buf);
        }
    }
    let how_to_read = format!("{HOW_TO_READ} {WITH_LESS}");
    if indented(&how_to_read, area, next, buf) > usize::from(area.height)
        || next == usize::from(area.height)
    {
        panel::more_below(area, buf);
    }
}

/// Writes a sentence below, from row `next` on; gives the row after it.
fn indented(says: &str, area: Rect, next: usize, buf: &mut Buffer) -> usize {
    if row(area, next).is_empty() {
        return next;
    }
    let lines = wrap(says, area.width.saturating_sub(AT));
    for (nth, words) in lines.iter().enumerate() {
        write(buf, past(row(area, next + nth), AT), words, DIM);
    }
    next + lines.len()
}

/// One line: kilometre, place, with what to go on, what is planned, with what to turn back and where to.
fn line(
    row: Rect,
    columns: &Columns,
    texts: [&str; 6],
    [must, plain]: [Style; 2],
    buf: &mut Buffer,
) {
    let [at, place, go_on, planned, back, refuge] = texts;
    let mut x = 0;
    let mut next = |width: u16| {
        let cell = first(past(row, x), width);
        x += width;
        cell
    };
    write(buf, next(AT), at, DIM);
    write(buf, next(columns.place), place, plain);
    write_right(buf, next(LEVEL), go_on, must);
    write_right(buf, next(columns.planned), planned, plain);
    write_right(buf, next(LEVEL), back, must);
    write(buf, past(next(columns.refuge), 2), refuge, plain);
}
