//! The fuel: tank and cans as heights, the top of the tank and the reserve as lines across.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};

use super::grid::{Grid, whole};
use super::seen::Seen;
use crate::present::strip::{Level, Strip};
use crate::quantity::{Kilometres, Litres};
use crate::solver::fuel::ROUNDING;
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
    pub(super) fn of(state: &State, rows: u16) -> Self {
        // With another plan behind it the scale holds both, so that turning back moves no line.
        let saved = state.saved_strip().map_or(Litres::ZERO, Strip::top);
        let top = state.strip().top().max(saved);
        Self { top, rows }
    }

    /// Eighths of a row that so many litres are high.
    fn eighths(self, litres: Litres) -> i64 {
        let share = if self.top > Litres::ZERO {
            litres / self.top
        } else {
            0.0
        };
        whole((share.clamp(0.0, 1.0) * f64::from(self.rows) * 8.0).round())
    }

    /// The row, counted from below, that a height of so many litres lies in.
    pub(super) fn row_from_below(self, litres: Litres) -> i64 {
        ((self.eighths(litres) - 1).max(0)) / 8
    }
}

/// The column borders of days in the empty part of the fuel.
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
        let driven = here.is_some_and(|here| run.end <= here);
        let Some(level) = strip.worst(run) else {
            continue;
        };
        let fuel = Column::of(&level, scale);
        if fuel.short {
            seen.add(shapes::SHORT, "below minimum", theme.strong(Meaning::Short));
        }
        if level.is_dry() {
            seen.add(shapes::DRY, "dry", theme.strong(Meaning::Short));
        }
        if fuel.top > fuel.tank {
            seen.add(shapes::CANS, "cans", theme.fg(Meaning::Cans));
        }
        if driven {
            seen.add(shapes::FULL, "driven", DIM);
        }
        let border = is_day_border(strip, grid, column);
        let own = scale.row_from_below(level.on_board.tank + level.on_board.cans);
        let saved = state
            .saved_strip()
            .and_then(|saved| saved.worst(grid.run_of(column)))
            .map(|level| scale.row_from_below(level.on_board.tank + level.on_board.cans))
            .filter(|&saved| saved != own);
        if saved.is_some() {
            seen.add(shapes::SAVED, "saved plan", DIM);
        }
        let low = strip.band(level.at).map(|[low, _]| low);
        let edge = low
            .map(|low| scale.row_from_below(low))
            .filter(|&row| row <= own);
        if edge.is_some() {
            seen.add(
                shapes::LOW_EDGE,
                "5 % of trips have less",
                theme.fg(Meaning::Tank),
            );
        }
        for from_below in 0..i64::from(scale.rows) {
            let (mut shape, mut style) = fuel.cell(from_below, theme);
            if driven {
                style = style.patch(DIM);
            }
            if shape == " " {
                (shape, style) = match from_below {
                    _ if cursor == Some(column) => (shapes::CURSOR, Style::new()),
                    at if Some(at) == saved => (shapes::SAVED, Style::new()),
                    at if at == fuel.reserve => (shapes::RESERVE, theme.fg(Meaning::Care)),
                    at if at == tank_line => (shapes::TANK_TOP, DIM),
                    _ if border => (shapes::DAY, DIM),
                    _ => continue,
                };
            } else if cursor == Some(column) && !fuel.short {
                (shape, style) = (shapes::CURSOR, style.add_modifier(Modifier::REVERSED));
            } else if Some(from_below) == edge && !fuel.short {
                let broken = low.is_some_and(|low| low < level.on_board.reserve);
                let ground = if broken {
                    theme.fg(Meaning::Short)
                } else {
                    style
                };
                (shape, style) = (shapes::LOW_EDGE, over(shape, ground));
            } else if Some(from_below) == saved && shape != shapes::SHORT {
                (shape, style) = (shapes::SAVED, over(shape, style));
            } else if from_below == fuel.reserve && shape == shapes::FULL {
                (shape, style) = (shapes::RESERVE, style.add_modifier(Modifier::REVERSED));
            }
            let from_below = u16::try_from(from_below).unwrap_or(0);
            let cell = &mut buf[(area.x + column, area.bottom() - 1 - from_below)];
            cell.set_symbol(shape).set_style(style);
        }
    }
}

/// The style of a line drawn over a shape: over what is solid it is reversed, and over the texture of cans it is not, so
/// that tank and cans are still told apart.
fn over(shape: &str, style: Style) -> Style {
    if shape == shapes::CANS {
        style
    } else {
        style.add_modifier(Modifier::REVERSED)
    }
}

/// The heights of one column of fuel.
#[derive(Clone, Copy, Debug)]
struct Column {
    /// Eighths of a row that the tank fills.
    tank: i64,
    /// Eighths of a row that tank and cans fill.
    top: i64,
    /// Row of the reserve, from below.
    reserve: i64,
    /// Whether the reserve is broken.
    short: bool,
}

impl Column {
    fn of(level: &Level, scale: Scale) -> Self {
        let fuel = level.on_board;
        let tank = scale.eighths(fuel.tank);
        let (tank, top) = if fuel.cans > Litres::ZERO {
            // Between tank and cans a texture has no eighths: that border is rounded to a row. The top of the cans
            // ends on an eighth, over at least one whole row of them, so that they are told from the tank.
            let top = scale.eighths(fuel.tank + fuel.cans).max(8);
            let tank = (tank + 4) / 8 * 8;
            (tank.min((top - 8) / 8 * 8), top)
        } else {
            (tank, tank)
        };
        Self {
            tank,
            top,
            reserve: scale.row_from_below(fuel.reserve),
            short: level.margin() < -ROUNDING,
        }
    }

    /// Shape and colour of the row `from_below`.
    fn cell(self, from_below: i64, theme: Theme) -> (&'static str, Style) {
        let in_row = |eighths: i64| (eighths - from_below * 8).clamp(0, 8);
        if self.short {
            return match in_row(self.top) {
                0 if from_below == 0 => (shapes::DRY, theme.strong(Meaning::Short)),
                0 => (" ", Style::new()),
                _ => (shapes::SHORT, theme.strong(Meaning::Short)),
            };
        }
        if in_row(self.top) > 0 && in_row(self.tank) == 0 {
            let eighths = usize::try_from(in_row(self.top)).unwrap_or(0);
            let shape = if eighths == 8 {
                shapes::CANS
            } else {
                shapes::PARTS[eighths]
            };
            return (shape, theme.fg(Meaning::Cans));
        }
        let eighths = usize::try_from(in_row(self.tank)).unwrap_or(0);
        (shapes::PARTS[eighths], theme.fg(Meaning::Tank))
    }
}
