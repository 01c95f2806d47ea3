//! The fuel: tank and cans as heights, in full tone what 95 of 100 simulated trips have, in a tint what is expected above
//! that; over it the top of the tank and the line that the fuel must stay above.

use ratatui::buffer::{Buffer, Cell};
use ratatui::layout::Rect;
use ratatui::style::{Color, Modifier, Style};

use super::grid::{Grid, whole};
use super::seen::Seen;
use crate::present::strip::{Level, Strip};
use crate::quantity::{Kilometres, Litres};
use crate::tui::state::State;
use crate::tui::theme::{DIM, Meaning, Theme};
use crate::tui::view::shapes;

/// Litres to rows.
#[derive(Clone, Copy, Debug)]
pub(super) struct Scale {
    pub(super) top: Litres,
    rows: u16,
}

impl Scale {
    pub(super) fn new(state: &State, rows: u16) -> Self {
        // With another plan beside it the scale holds both, so that moving a slider moves no line.
        let saved = state.saved_strip().map_or(Litres::ZERO, Strip::top);
        let top = state.strip().top().max(saved);
        Self { top, rows }
    }

    /// Eighths of a row that so many litres are high.
    fn eighths(self, litres: Litres) -> i64 {
        let share = litres.part_of(self.top).unwrap_or(0.0);
        whole((share.clamp(0.0, 1.0) * f64::from(self.rows) * 8.0).round())
    }

    /// The row, counted from below, that a height of so many litres is in.
    pub(super) fn row_from_below(self, litres: Litres) -> i64 {
        ((self.eighths(litres) - 1).max(0)) / 8
    }
}

/// Whether a day begins in a column.
fn is_day_border(strip: &Strip, grid: Grid, column: u16) -> bool {
    matches!(strip.days(grid.run_of(column)), [border, ..] if border.at > Kilometres::ZERO)
}

/// Tank and cans, the lines across, and the cursor.
pub(super) fn draw(
    state: &State,
    theme: Theme,
    grid: Grid,
    scale: Scale,
    area: Rect,
    buf: &mut Buffer,
    seen: &mut Seen,
) {
    let strip = state.strip();
    let tank_line = scale.row_from_below(state.plan().trip.vehicle.usable_tank());
    let cursor = grid.column_of(state.at());
    let here = state.plan().here();
    for column in 0..grid.columns {
        let run = grid.run_of(column);
        if run.start >= strip.length() && column > 0 {
            break;
        }
        let Some(level) = strip.worst(run.clone()) else {
            continue;
        };
        let is_driven = here.is_some_and(|here| run.end <= here);
        let is_short = !is_driven && strip.is_short(run);
        let low = strip.band(level.at).map(|[low, _]| low);
        let fuel = Column::new(&level, low, scale);
        explain(seen, theme, strip, (&fuel, is_short, is_driven));
        let line = scale.row_from_below(strip.line_at(level.at));
        let own = scale.row_from_below(level.on_board.tank + level.on_board.cans);
        let saved = state
            .saved_strip()
            .and_then(|saved| saved.worst(grid.run_of(column)))
            .map(|level| scale.row_from_below(level.on_board.tank + level.on_board.cans))
            .filter(|&saved| saved != own);
        if saved.is_some() {
            seen.add(shapes::SAVED, "saved plan", DIM);
        }
        let border = is_day_border(strip, grid, column);
        for row in 0..i64::from(scale.rows) {
            let from_below = u16::try_from(row).unwrap_or(0);
            let cell = &mut buf[(area.x + column, area.bottom() - 1 - from_below)];
            if is_short && row <= own.max(line) {
                let shape = if row == 0 && level.is_dry() {
                    shapes::DRY
                } else {
                    shapes::SHORT
                };
                cell.set_symbol(shape)
                    .set_style(theme.strong(Meaning::Short));
                continue;
            }
            let highest = fuel.draw(row, theme, cell);
            if let Some(highest) = highest {
                if Some(row) == saved {
                    over(cell, shapes::SAVED, highest, theme);
                } else if row == line && fuel.covers(row) {
                    over(cell, shapes::LINE, highest, theme);
                }
                if is_driven {
                    cell.modifier.insert(Modifier::DIM);
                }
                continue;
            }
            let (shape, style) = match row {
                _ if cursor == Some(column) => (shapes::CURSOR, Style::new()),
                row if Some(row) == saved => (shapes::SAVED, Style::new()),
                row if row == line => (shapes::LINE, DIM),
                row if row == tank_line => (shapes::TANK_TOP, DIM),
                _ if border => (shapes::DAY, DIM),
                _ => continue,
            };
            cell.set_symbol(shape).set_style(style);
        }
    }
}

/// Tells the legend what a column shows.
fn explain(
    seen: &mut Seen,
    theme: Theme,
    strip: &Strip,
    (fuel, is_short, is_driven): (&Column, bool, bool),
) {
    let [tank, cans] = [Meaning::Tank, Meaning::Cans];
    for (tone, meaning) in [(Tone::Full(tank), "tank"), (Tone::Full(cans), "cans")] {
        if fuel.has(tone) {
            seen.add(
                tone.shape(theme),
                meaning,
                Style::new().fg(tone.color(theme)),
            );
        }
    }
    for tone in [Tone::Tint(cans), Tone::Tint(tank)] {
        if fuel.has(tone) {
            let style = Style::new().fg(tone.color(theme));
            seen.add(tone.shape(theme), "expected; 5 % have less", style);
        }
    }
    if is_short {
        let meaning = match strip.line_name() {
            "reserve" => "below reserve",
            _ => "below minimum",
        };
        seen.add(shapes::SHORT, meaning, theme.strong(Meaning::Short));
    }
    if is_driven {
        seen.add(shapes::FULL, "driven", DIM);
    }
}

/// Draws a line over fuel, which stays visible as the ground of the cell.
fn over(cell: &mut Cell, shape: &str, highest: Tone, theme: Theme) {
    cell.set_symbol(shape);
    if theme.is_textured() {
        cell.modifier.insert(Modifier::REVERSED);
    } else {
        cell.set_bg(highest.color(theme));
        cell.set_fg(theme.line_over(highest.meaning()));
    }
}

/// What a part of a column is filled with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Tone {
    /// Fuel that 95 of 100 simulated trips have; all of it where nothing is simulated.
    Full(Meaning),
    /// Fuel that is expected, above that.
    Tint(Meaning),
    /// A column above the fuel.
    Empty,
}

impl Tone {
    const fn meaning(self) -> Meaning {
        match self {
            Self::Full(meaning) | Self::Tint(meaning) => meaning,
            Self::Empty => Meaning::Tank,
        }
    }

    const fn color(self, theme: Theme) -> Color {
        match self {
            Self::Full(meaning) => theme.color(meaning),
            Self::Tint(meaning) => theme.tint(meaning),
            Self::Empty => Color::Reset,
        }
    }

    /// The shape of a cell full of it.
    const fn shape(self, theme: Theme) -> &'static str {
        match self {
            _ if !theme.is_textured() => shapes::FULL,
            Self::Full(Meaning::Cans) => shapes::CANS,
            Self::Full(_) => shapes::FULL,
            Self::Tint(Meaning::Cans) => shapes::CANS_TINT,
            Self::Tint(_) => shapes::TANK_TINT,
            Self::Empty => " ",
        }
    }
}

/// The heights of one column of fuel, in eighths of a row.
#[derive(Clone, Copy, Debug)]
struct Column {
    /// Up to where 95 of 100 simulated trips have fuel.
    low: i64,
    tank: i64,
    /// Tank and cans.
    top: i64,
}

impl Column {
    fn new(level: &Level, low: Option<Litres>, scale: Scale) -> Self {
        let fuel = level.on_board;
        let all = fuel.tank + fuel.cans;
        let top = scale.eighths(all);
        Self {
            low: low.map_or(top, |low| scale.eighths(low.min(all))),
            tank: scale.eighths(fuel.tank).min(top),
            top,
        }
    }

    /// The tones from below, each up to its border.
    fn tones(self) -> [(Tone, i64); 5] {
        let [tank, cans] = [Meaning::Tank, Meaning::Cans];
        [
            (Tone::Full(tank), self.low.min(self.tank)),
            (Tone::Tint(tank), self.tank),
            (Tone::Full(cans), self.low.clamp(self.tank, self.top)),
            (Tone::Tint(cans), self.top),
            (Tone::Empty, i64::MAX),
        ]
    }

    fn has(self, tone: Tone) -> bool {
        let mut from = 0;
        self.tones().iter().any(|&(other, to)| {
            let height = to - from;
            from = to;
            other == tone && height > 0
        })
    }

    /// Whether a row is filled to its top.
    const fn covers(self, row: i64) -> bool {
        self.top >= (row + 1) * 8
    }

    /// The parts of a row from below, in eighths.
    fn parts(self, row: i64) -> Vec<(Tone, i64)> {
        let (bottom, top) = (row * 8, row * 8 + 8);
        let mut from = bottom;
        let mut parts = Vec::with_capacity(5);
        for (tone, to) in self.tones() {
            let to = to.clamp(from, top);
            if to > from {
                parts.push((tone, to - from));
            }
            from = to;
        }
        parts
    }

    /// Draws a row; the highest tone in it that is fuel, or `None` if it has none.
    ///
    /// A cell shows two colours with a border on an eighth between them: of more parts the smallest go to their
    /// neighbour below.
    fn draw(self, row: i64, theme: Theme, cell: &mut Cell) -> Option<Tone> {
        let mut parts = self.parts(row);
        let is_fuel = |&&(tone, _): &&(Tone, i64)| tone != Tone::Empty;
        let highest = parts.iter().rev().find(is_fuel)?.0;
        if theme.is_textured() {
            texture(&parts, theme, cell);
            return Some(highest);
        }
        while parts.len() > 2 {
            let smallest = (0..parts.len())
                .min_by_key(|&nth| parts[nth].1)
                .unwrap_or(0);
            let (_, height) = parts.remove(smallest);
            parts[smallest.saturating_sub(1)].1 += height;
        }
        let (below, height) = parts[0];
        let above = parts.get(1).map_or(below, |part| part.0);
        let part = usize::try_from(height.clamp(0, 8)).unwrap_or(0);
        cell.set_symbol(shapes::PARTS[part]);
        cell.set_fg(below.color(theme));
        if above != below {
            cell.set_bg(above.color(theme));
        }
        Some(highest)
    }
}

/// Draws a row as one texture, that of its largest part; fuel under empty ends on an eighth where it is solid.
fn texture(parts: &[(Tone, i64)], theme: Theme, cell: &mut Cell) {
    let fuel = parts.iter().filter(|(tone, _)| *tone != Tone::Empty);
    let Some(&(tone, _)) = fuel.clone().max_by_key(|(_, height)| *height) else {
        return;
    };
    let height: i64 = fuel.map(|(_, height)| height).sum();
    let part = usize::try_from(height.clamp(0, 8)).unwrap_or(0);
    let shape = match tone {
        Tone::Full(Meaning::Tank) => shapes::PARTS[part],
        // Of a texture there are no eighths: less than half a row of it is not drawn.
        _ if part >= 4 => tone.shape(theme),
        _ => " ",
    };
    cell.set_symbol(shape).set_fg(tone.color(theme));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::theme::Depth;

    fn drawn(column: Column, row: i64) -> Cell {
        let mut cell = Cell::default();
        column.draw(row, Theme::new(Depth::True), &mut cell);
        cell
    }

    /// 14 eighths of tank, of which 9 in full tone, then cans up to 20.
    #[test]
    fn borders_end_on_an_eighth() {
        let column = Column {
            low: 9,
            tank: 14,
            top: 20,
        };
        let theme = Theme::new(Depth::True);
        let [tank, cans] = [Meaning::Tank, Meaning::Cans];
        let row = drawn(column, 0);
        assert_eq!((row.symbol(), row.fg), ("█", theme.color(tank)));
        // 1 of full tone, 5 of tint, 2 of cans: the full tone is the smallest and goes.
        let row = drawn(column, 1);
        assert_eq!(
            (row.symbol(), row.fg, row.bg),
            ("▆", theme.tint(tank), theme.tint(cans))
        );
        let row = drawn(column, 2);
        assert_eq!(
            (row.symbol(), row.fg, row.bg),
            ("▄", theme.tint(cans), Color::Reset)
        );
        assert_eq!(drawn(column, 3).symbol(), " ");
    }
}
