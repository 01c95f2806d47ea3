//! The ground: a texture for each surface, sand, dunes and low range sown into it by their shares. Above it, where the trip
//! states it, the altitude of the route, as a line of eighths.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::grid::{Grid, whole};
use super::seen::Seen;
use crate::present::strip::Ground;
use crate::tui::state::State;
use crate::tui::theme::{BOLD, DIM, OF_CHOSEN_LEG};
use crate::tui::view::shapes;

/// A leg of at least this many columns has its border drawn in the ground.
const BORDER_FROM: i64 = 4;

/// Draws the ground, the chosen leg underlined.
pub(super) fn draw(state: &State, grid: Grid, area: Rect, buf: &mut Buffer, seen: &mut Seen) {
    let strip = state.strip();
    if area.is_empty() || state.plan().legs.is_empty() {
        return;
    }
    for column in 0..grid.columns {
        let run = grid.run_of(column);
        if run.start >= strip.length() && column > 0 {
            break;
        }
        let ground = strip.ground_of(strip.leg_at(grid.middle_of(column).min(strip.length())));
        let first = grid.absolute(ground.from);
        let nth = (grid.first + i64::from(column) - first).max(0);
        let columns = grid.absolute(ground.to) - first;
        let (shape, meaning) = if nth == 0 && columns >= BORDER_FROM && ground.leg > 1 {
            (shapes::LEG, "")
        } else {
            texture(&ground, nth)
        };
        if !meaning.is_empty() {
            seen.add(shape, meaning, Style::new());
        }
        let style = if ground.leg == state.leg() {
            BOLD.patch(OF_CHOSEN_LEG)
        } else {
            Style::new()
        };
        buf[(area.x + column, area.y)]
            .set_symbol(shape)
            .set_style(style);
    }
    // A leg too short for a column of its own is chosen all the same.
    if let Some(leg) = state.chosen()
        && let Some(column) = grid.column_of(leg.from_km)
    {
        buf[(area.x + column, area.y)].set_style(BOLD.patch(OF_CHOSEN_LEG));
    }
}

/// Texture of the `nth` column of a leg, with its meaning. Multiples of the golden ratio sow the
/// shares evenly at any length.
fn texture(ground: &Ground, nth: i64) -> (&'static str, &'static str) {
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    let draw = ((nth as f64 + 0.5) * GOLDEN).fract();
    let (sand, low, both) = (ground.sand.get(), ground.low_range.get(), ground.both.get());
    // As much of the sand in low range is dunes as of all of it.
    let dunes = |part: f64| part * ground.dunes.get() / sand;
    let high = sand - both;
    if draw < high {
        if draw < dunes(high) {
            (shapes::DUNES, "dunes")
        } else {
            (shapes::SAND, "sand")
        }
    } else if draw < sand {
        if draw < high + dunes(both) {
            (shapes::DUNES_IN_LOW, "dunes in low range")
        } else {
            (shapes::SAND_IN_LOW, "sand in low range")
        }
    } else if draw < sand + low - both {
        (shapes::LOW_RANGE, "low range")
    } else {
        (shapes::surface(ground.surface), ground.surface.word())
    }
}

/// Draws the heights, the lowest place one eighth high.
pub(super) fn draw_heights(state: &State, grid: Grid, area: Rect, buf: &mut Buffer) {
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
        let share = height
            .part_of(range)
            .map_or(0.0, |part| part.clamp(0.0, 1.0));
        let eighths = 1 + whole((share * (most - 1) as f64).round());
        for from_below in 0..area.height {
            let in_row = (eighths - i64::from(from_below) * 8).clamp(0, 8);
            let shape = shapes::PARTS[usize::try_from(in_row).unwrap_or(0)];
            buf[(area.x + column, area.bottom() - 1 - from_below)]
                .set_symbol(shape)
                .set_style(DIM);
        }
    }
}
