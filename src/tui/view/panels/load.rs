//! Masses against their limits, and the cans that are carried.

use ratatui::style::Style;

use super::rows::{PanelRow, Rows};
use crate::plan::LoadBar;
use crate::plan::range::Ranges;
use crate::present::number::{Toward, Units};
use crate::present::{load, payload, range};
use crate::quantity::{Kilograms, Share};
use crate::tui::state::State;
use crate::tui::theme::{BOLD, DIM, Meaning, Theme};
use crate::tui::view::shapes;
use crate::tui::view::text::{bar, cut};

/// Columns of the name of a limit.
const NAME: u16 = 15;
/// Columns of load, limit and margin.
const SUM: u16 = 30;
/// Columns of the shortest bar.
const SHORTEST: u16 = 6;
/// Columns of the label of a range, how many figures there are, and columns of the smallest.
const LABEL: u16 = 20;
const COLUMNS: u16 = 6;
const SMALLEST_FIGURE: u16 = 9;
/// Columns of the longest part within the limit, and of the part beyond it.
const LONGEST: u16 = 30;
const BEYOND: u16 = 4;

pub(super) fn rows(state: &State, theme: Theme, width: u16) -> Rows {
    let units = state.units();
    let judged = state.judged_or_shown();
    let mut rows = Rows::new(width);
    for bar in &judged.plan().load.bars {
        rows.push(limit(bar, units, theme, width));
    }
    // The vehicle from above is drawn where there is room for it beside the limits.
    if width >= LONGEST + NAME + SUM {
        for line in judged
            .texts
            .places
            .iter()
            .flat_map(|places| load::drawn_in(places, width.into()))
        {
            rows.push(PanelRow::new(line, Style::new()));
        }
    }
    for text in &judged.texts.load {
        rows.words(text, Style::new());
    }
    // From the thread that simulates, as it takes longer than a frame.
    if let Some(ranges) = judged.plan().known_range() {
        ranges_by_surface(&mut rows, ranges, units);
        for text in payload::price(ranges, units) {
            rows.words(&text, Style::new());
        }
    }
    rows
}

/// How far the vehicle goes to the minimum, a column a surface where they all find room.
fn ranges_by_surface(rows: &mut Rows, ranges: &Ranges, units: Units) {
    let [table, ..] = range::tables(ranges, units);
    let figure = rows.width().saturating_sub(LABEL) / COLUMNS;
    if figure < SMALLEST_FIGURE {
        for text in range::in_short(ranges, units) {
            rows.words(&text, Style::new());
        }
        return;
    }
    let ends = |row: PanelRow, cells: [&str; 6], style| {
        let ends = (1..).map(|n| LABEL + n * figure);
        ends.zip(cells)
            .fold(row, |row, (end, cell)| row.before(end, cell, style))
    };
    rows.words(&format!("{}, {}", table.caption, range::basis(ranges)), DIM);
    for line in [0, 1] {
        let heads = range::HEADS.map(|head| head[line]);
        rows.push(ends(PanelRow::default(), heads, DIM));
    }
    for row in &table.rows {
        let label = PanelRow::new(cut(&row.label, LABEL), Style::new());
        rows.push(ends(
            label,
            row.cells.each_ref().map(String::as_str),
            Style::new(),
        ));
    }
}

/// A limit: its name, a bar that ends at a line where the limit is, load and margin.
fn limit(limit: &LoadBar, units: Units, theme: Theme, width: u16) -> PanelRow {
    let row = PanelRow::new(load::name(limit.what), Style::new());
    let Some(most) = limit.limit else {
        let text = format!("{}, no limit set", units.mass(limit.mass, Toward::Up));
        return row.before(width, text, DIM);
    };
    let is_over = limit.is_over();
    let margin = if is_over {
        format!("{} over", units.mass(limit.mass - most, Toward::Up))
    } else {
        units
            .mass_margin((most - limit.mass).max(Kilograms::ZERO))
            .to_string()
    };
    let carried = units.mass(limit.mass, Toward::Up).number;
    let text = format!("{carried} of {}  {margin}", units.mass(most, Toward::Down));
    let style = if is_over {
        theme.words(Meaning::Short)
    } else {
        Style::new()
    };
    let room = width.saturating_sub(NAME + SUM + BEYOND + 1).min(LONGEST);
    if room < SHORTEST {
        return row.before(width, text, style);
    }
    let share = limit.mass / most;
    let within = bar(Share::new(share), room);
    let beyond = bar(Share::new(share - 1.0), room);
    let beyond = "╳".repeat(beyond.chars().count().clamp(0, BEYOND.into()));
    row.at(NAME, within, Style::new())
        .at(NAME + room, shapes::CURSOR, BOLD)
        .at(NAME + room + 1, beyond, theme.strong(Meaning::Short))
        .at(NAME + room + BEYOND + 2, text, style)
}
