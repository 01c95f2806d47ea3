//! The strip on a terminal: days, places, ground, fuel, marks and kilometres over one another.
//!
//! The way is cut into columns of equal length, counted from the start of the trip, so that a
//! column looks the same wherever the strip is scrolled to. Fuel is drawn at the worst point of its
//! column, cans on top of the tank. Only what is visible is looked at.

mod along;
mod fuel;
pub(crate) mod grid;
mod ground;
pub(crate) mod seen;

use ratatui::buffer::Buffer;

use super::layout::StripPlaces;
use super::text::{first, row, write_right};
use crate::present::number::Toward;
use crate::tui::state::State;
use crate::tui::theme::{DIM, Theme};
use fuel::Scale;
use grid::Grid;
use seen::Seen;

/// Draws the strip and returns what the legend must explain.
pub(crate) fn render(state: &State, theme: Theme, places: &StripPlaces, buf: &mut Buffer) -> Seen {
    let grid = Grid::of(state, places.fuel.width);
    let mut seen = Seen::default();
    if places.fuel.is_empty() {
        return seen;
    }
    let scale = Scale::new(state, places.fuel.height);
    draw_labels(state, places, scale, buf);
    along::draw_days(state, grid, places, buf);
    // In the order of the legend: tank, cans and tint, markers, then surfaces.
    fuel::draw(state, theme, grid, scale, places.fuel, buf, &mut seen);
    along::draw_marks(state, theme, grid, places.marks, buf, &mut seen);
    ground::draw(state, grid, places.ground, buf, &mut seen);
    along::draw_names(state, theme, grid, places.names, buf, &mut seen);
    ground::draw_heights(state, grid, places.heights, buf);
    along::draw_axis(state, grid, places.axis, buf);
    seen
}

/// The labels at the left, which stay when the strip scrolls.
fn draw_labels(state: &State, places: &StripPlaces, scale: Scale, buf: &mut Buffer) {
    let wide = places.labels.width >= 8;
    let room = first(places.labels, places.labels.width.saturating_sub(1));
    let at = |y: u16| row(room, usize::from(y.saturating_sub(places.labels.y)));
    let mut label = |y: u16, text: &str| write_right(buf, at(y), text, DIM);
    if wide {
        label(places.names.y, "places");
        label(places.ground.y, "surface");
        label(places.marks.y, "markers");
    }
    label(places.axis.y, state.units().distance_unit());
    if let (Some(heights), false) = (state.strip().heights(), places.heights.is_empty()) {
        let units = state.units();
        label(
            places.heights.y,
            &units.height(heights.highest()).to_string(),
        );
        label(
            places.heights.bottom() - 1,
            &units.height(heights.lowest()).to_string(),
        );
    }
    let tank = state.plan().trip.vehicle.usable_tank();
    let units = state.units();
    let from_below = |rows: i64| {
        let rows = u16::try_from(rows).unwrap_or(0).min(places.fuel.height - 1);
        places.fuel.bottom() - 1 - rows
    };
    // The line moves with the legs; its label stays where the line ends.
    let strip = state.strip();
    let reserve_row = scale.row_from_below(strip.line_at(strip.length()));
    let tank_row = scale.row_from_below(tank);
    let top_row = scale.row_from_below(scale.top);
    if top_row != tank_row {
        let top = units.fuel(scale.top, Toward::Down);
        // With little room the number alone: three digits and a unit would be cut.
        label(
            from_below(top_row),
            &if wide { top.to_string() } else { top.number },
        );
    }
    if reserve_row != tank_row {
        label(
            from_below(reserve_row),
            if wide { strip.line_name() } else { "min" },
        );
    }
    let tank = units.fuel(tank, Toward::Down);
    let text = if wide {
        format!("tank {}", tank.number)
    } else {
        tank.number
    };
    label(from_below(tank_row), &text);
}
