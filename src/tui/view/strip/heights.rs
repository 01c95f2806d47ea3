//! How high the way lies, as a line of eighths; only where the trip says.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::grid::{Grid, whole};
use crate::quantity::Metres;
use crate::tui::state::State;
use crate::tui::theme::DIM;
use crate::tui::view::shapes::PARTS;

/// Draws the heights, the lowest place one eighth high.
pub(super) fn draw(state: &State, grid: Grid, area: Rect, buf: &mut Buffer) {
    let Some(heights) = state.strip().heights() else {
        return;
    };
    let range = heights.highest() - heights.lowest();
    let most = i64::from(area.height) * 8;
    for column in 0..grid.columns {
        if area.is_empty() || (grid.run_of(column).start >= state.strip().length() && column > 0) {
            break;
        }
        let height = heights.at(grid.middle_of(column)) - heights.lowest();
        let share = if range > Metres::ZERO {
            (height / range).clamp(0.0, 1.0)
        } else {
            0.0
        };
        let eighths = 1 + whole((share * (most - 1) as f64).round());
        for from_below in 0..area.height {
            let in_row = (eighths - i64::from(from_below) * 8).clamp(0, 8);
            let shape = PARTS[usize::try_from(in_row).unwrap_or(0)];
            buf[(area.x + column, area.bottom() - 1 - from_below)]
                .set_symbol(shape)
                .set_style(DIM);
        }
    }
}
