//! The axis: round numbers of kilometres or miles, and the cursor.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::grid::Grid;
use crate::present::axis;
use crate::present::number::Toward;
use crate::tui::state::State;
use crate::tui::theme::{CHOSEN, DIM};
use crate::tui::view::labels::{self, Label};
use crate::tui::view::shapes;
use crate::tui::view::text::{past, row, write};

/// Columns between two numbers of the axis, at least.
const TICK_ROOM: f64 = 11.0;

/// Round kilometres, and the cursor's own.
pub(super) fn draw(state: &State, grid: Grid, area: Rect, buf: &mut Buffer) {
    let units = state.units();
    let mut labels = Vec::new();
    if let Some(column) = grid.column_of(state.at()) {
        labels.push(Label {
            column,
            rank: 0,
            shape: shapes::HERE,
            wordings: vec![units.at(state.at(), Toward::Nearest)],
            of: true,
        });
    }
    let step = units.distance_step();
    let ticks = axis::round_step(grid.per_column * TICK_ROOM / step);
    let run = grid.run();
    let mut tick = (run.start / step / ticks).ceil();
    for _ in 0..grid.columns {
        let km = step * (tick * ticks);
        if km > run.end || km > state.strip().length() {
            break;
        }
        if let Some(column) = grid.column_of(km) {
            labels.push(Label {
                column,
                rank: 1,
                shape: shapes::TICK,
                wordings: vec![crate::present::number::trimmed(tick * ticks)],
                of: false,
            });
        }
        tick += 1.0;
    }
    for placed in labels::place(labels, usize::from(area.height), grid.columns) {
        let at = past(row(area, placed.row), placed.column);
        write(buf, at, &placed.text, if placed.of { CHOSEN } else { DIM });
    }
}
