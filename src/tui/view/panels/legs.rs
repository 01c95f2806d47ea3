//! The leg table: a row a leg, with what the trip sets and what the plan makes of it. As a panel its row is that of the
//! chosen leg; as a page it has a cursor in its cells.

use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::style::Style;

use super::rows::{PanelRow, Rows};
use super::{Window, tabs};
use crate::model::vocabulary::Surface;
use crate::plan::PlannedLeg;
use crate::present::entry::Entry;
use crate::present::name::plain;
use crate::present::number::{Toward, Units};
use crate::quantity::Litres;
use crate::tui::leg_table::Column;
use crate::tui::state::{Mode, Panel, State};
use crate::tui::theme::{BOLD, CHOSEN, DIM, Meaning, Theme};
use crate::tui::view::sheet::draw_editor;
use crate::tui::view::text::{above, below, columns, cut, first, past, row, write};

/// Columns of the number of a leg.
const NUMBER: u16 = 3;
/// Columns of a place that can still be distinguished from others.
const PLACE: u16 = 12;

/// A column of the screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Shown {
    Cell(Column),
    Fuel,
    OnArrival,
    Minimum,
}

/// The columns right of the leg's number in their order, the columns of the screen that each takes with the blank before it,
/// and the width from which on it is shown.
const SHOWN: [(Shown, u16, u16); 11] = [
    (Shown::Cell(Column::Day), 4, 0),
    (Shown::Cell(Column::To), 0, 0),
    (Shown::Cell(Column::Distance), 7, 0),
    (Shown::Cell(Column::Surface), 11, 48),
    (Shown::Cell(Column::Sand), 6, 66),
    (Shown::Cell(Column::Dunes), 7, 88),
    (Shown::Cell(Column::LowRange), 7, 72),
    (Shown::Cell(Column::Speed), 7, 54),
    (Shown::Fuel, 6, 0),
    (Shown::OnArrival, 9, 60),
    (Shown::Minimum, 6, 78),
];

/// The columns that there is room for, each with its place on the screen.
fn shown(width: u16) -> Vec<(Shown, u16, u16)> {
    let fit = SHOWN.iter().filter(|(.., least)| width >= *least);
    let figures: u16 = fit.clone().map(|(_, columns, _)| columns).sum();
    let place = width.saturating_sub(NUMBER + figures).max(PLACE);
    let mut at = NUMBER;
    fit.map(|&(shown, columns, _)| {
        let columns = if columns == 0 { place } else { columns };
        let from = at;
        at += columns;
        (shown, from, columns)
    })
    .collect()
}

fn title(shown: Shown) -> &'static str {
    match shown {
        Shown::Cell(Column::Day) => "day",
        Shown::Cell(Column::To) => "to",
        Shown::Cell(Column::Distance) => "dist.",
        Shown::Cell(Column::Surface) => "surface",
        Shown::Cell(Column::Sand) => "sand",
        Shown::Cell(Column::Dunes) => "dunes",
        Shown::Cell(Column::LowRange) => "low r.",
        Shown::Cell(Column::Speed) => "speed",
        Shown::Fuel => "fuel",
        Shown::OnArrival => "on arr.",
        Shown::Minimum => "min",
    }
}

fn unit(shown: Shown, units: Units) -> &'static str {
    match shown {
        Shown::Cell(column) => Entry::new(column.field(), units).unit(),
        Shown::Fuel | Shown::OnArrival | Shown::Minimum => units.fuel_unit(),
    }
}

const fn is_text(shown: Shown) -> bool {
    matches!(shown, Shown::Cell(Column::To | Column::Surface))
}

pub(super) fn rows(state: &State, theme: Theme, area: Rect) -> Rows {
    let mut rows = Rows::new(area.width);
    let shown = shown(area.width);
    rows.set_head(head(state, &shown, area.width));
    let new = state.plan().legs.len() + 1;
    let chosen = if is_on_new(state) { new } else { state.leg() };
    for leg in &state.plan().legs {
        let from = rows.len();
        // What is chosen is in sight: a row farther from it than the panel is high is not, and stays blank.
        let may_be_seen = leg.n.abs_diff(chosen) <= area.height.into();
        rows.push(if may_be_seen {
            line(state, theme, leg, &shown)
        } else {
            PanelRow::default()
        });
        if leg.n == chosen {
            rows.choose_since(from);
        }
    }
    if state.is_table_open() {
        let from = rows.len();
        rows.push(PanelRow::new(format!("{new:>2}"), DIM).at(
            NUMBER + 5,
            "new leg: Enter, then its place",
            DIM,
        ));
        if is_on_new(state) {
            rows.choose_since(from);
        }
    }
    rows
}

const fn is_on_new(state: &State) -> bool {
    state.is_table_open() && state.cell.is_on_new
}

/// Titles with their units where there is room for both.
fn head(state: &State, shown: &[(Shown, u16, u16)], width: u16) -> PanelRow {
    let mut head = PanelRow::default();
    for &(shown, from, columns) in shown {
        let unit = unit(shown, state.units());
        let long = format!("{} {unit}", title(shown));
        let text = if width >= 100 && self::columns(&long) < columns {
            long
        } else {
            title(shown).to_owned()
        };
        head = if is_text(shown) {
            head.at(from + 1, text, DIM)
        } else {
            head.before(from + columns, text, DIM)
        };
    }
    head
}

/// One leg: what the trip sets bold, what the program assumes dim.
fn line(state: &State, theme: Theme, leg: &PlannedLeg, shown: &[(Shown, u16, u16)]) -> PanelRow {
    let is_chosen = leg.n == state.leg() && !is_on_new(state);
    let number = if is_chosen { BOLD.patch(CHOSEN) } else { DIM };
    let mut row = PanelRow::default().before(NUMBER - 1, leg.n.to_string(), number);
    for &(shown, from, columns) in shown {
        let (text, style) = cell(state, theme, leg, shown);
        let text = cut(&text, columns.saturating_sub(1)).into_owned();
        let style = if is_in_range(state, leg.n, shown) {
            style.patch(CHOSEN)
        } else {
            style
        };
        row = if is_text(shown) {
            row.at(from + 1, text, style)
        } else {
            row.before(from + columns, text, style)
        };
    }
    row
}

/// Whether a cell is the one with the cursor, or of the range that a value would be given to.
fn is_in_range(state: &State, leg: usize, shown: Shown) -> bool {
    if !state.is_table_open() || state.cell.is_on_new {
        return false;
    }
    shown == Shown::Cell(state.cell.column) && state.legs_of_range().contains(&leg)
}

fn cell(state: &State, theme: Theme, leg: &PlannedLeg, shown: Shown) -> (String, Style) {
    let (units, plan) = (state.units(), state.plan());
    let litres = |litres: Litres, toward| units.fuel_tenths(litres, toward).number;
    let column = match shown {
        Shown::Fuel => return (litres(leg.fuel, Toward::Nearest), Style::new()),
        Shown::OnArrival => {
            let style = if leg.below_reserve {
                theme.words(Meaning::Short)
            } else {
                Style::new()
            };
            let mark = if leg.below_reserve { "!" } else { "" };
            return (format!("{}{mark}", litres(leg.end, Toward::Down)), style);
        }
        Shown::Minimum => return (litres(leg.reserve, Toward::Up), DIM),
        Shown::Cell(column) => column,
    };
    if column == Column::To {
        return (plain(&leg.to).into_owned(), BOLD);
    }
    let stated = column.row(leg.n).stated(&plan.trip);
    if let Some(stated) = stated {
        return (Entry::new(column.field(), units).shown(Some(&stated)), BOLD);
    }
    let assumed = match column {
        Column::Day => leg.day.to_string(),
        Column::Distance => units.distance(leg.distance, Toward::Nearest).number,
        Column::Surface => leg.surface.word().to_owned(),
        Column::Speed => units.speed(leg.speed, Toward::Nearest).number,
        Column::To | Column::Sand | Column::Dunes | Column::LowRange => "-".to_owned(),
    };
    (assumed, DIM)
}

/// The table as a page: below it what is typed and what it changes.
pub(in crate::tui::view) fn page(
    state: &State,
    theme: Theme,
    area: Rect,
    buf: &mut Buffer,
) -> Option<Position> {
    let window = Window {
        from: 0,
        to: 0,
        all: 0,
    };
    tabs(state, window, row(area, 0), buf);
    let body = below(area, 1);
    let table = above(body, 2);
    let rows = rows(state, theme, table);
    let from = super::from(state, Panel::Legs, &rows, table);
    rows.draw(table, from, buf);
    let foot = row(body, usize::from(table.height));
    let last = row(body, usize::from(table.height) + 1);
    let Some(editor) = state.editor.as_ref().filter(|_| state.mode == Mode::Field) else {
        write(buf, foot, &hint(state), DIM);
        return None;
    };
    let place = match state.legs_of_range() {
        _ if state.cell.is_on_new => "new leg".to_owned(),
        range if range.clone().count() > 1 => format!("legs {} to {}", range.start(), range.end()),
        range => format!("leg {}", range.start()),
    };
    let label = format!("{place}, {}: ", editor.row.field.label());
    let used = write(buf, foot, &label, BOLD);
    let cursor = draw_editor(editor, theme, past(foot, used), buf);
    let text = match &editor.problem {
        Some(problem) => problem.clone(),
        None => crate::tui::view::sheet::difference(state),
    };
    write(buf, first(last, last.width), &text, DIM);
    cursor
}

/// What the cell with the cursor means.
fn hint(state: &State) -> String {
    let column = state.cell.column;
    let entry = Entry::new(column.field(), state.units());
    let unit = entry.unit();
    let unit = if unit.is_empty() {
        String::new()
    } else {
        format!(", {unit}")
    };
    let words = if column == Column::Surface {
        let words = Surface::WORDS.join(", ");
        format!(": {words}")
    } else {
        format!(": {}", column.field().help)
    };
    format!("{}{unit}{words}", column.field().label())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_blank_stands_between_two_heads() {
        for (shown, columns, _) in SHOWN.into_iter().filter(|(_, columns, _)| *columns > 0) {
            assert!(self::columns(title(shown)) < columns, "{shown:?}");
        }
    }
}
