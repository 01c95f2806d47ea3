//! The first row: which trip this is, and which leg is chosen.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::super::state::State;
use super::super::theme::{BOLD, DIM};
use super::text::{columns, first, write, write_right};

pub(super) fn render(state: &State, area: Rect, buf: &mut Buffer) {
    let plan = state.plan();
    let of = format!("leg {} of {}", state.leg(), plan.legs.len());
    let shown = if state.shows_all() {
        "the whole trip".to_owned()
    } else {
        let toward = crate::present::number::Toward::Nearest;
        let span = state.units().distance(state.look().span, toward);
        let length = state.units().distance(state.strip().length(), toward);
        format!("{} of {length}", span.number)
    };
    let right = format!("{shown}  {of}");
    // The number of the leg is read at any width, the rest as far as there is room.
    let right = if columns(&right) + 20 > area.width {
        of
    } else {
        right
    };
    let room = area.width.saturating_sub(columns(&right) + 2);
    let name = state.trip().name.as_deref();
    let name = name.unwrap_or("trip without a name");
    // What is not saved is told before the name, where it is never cut.
    let name = if state.history().is_changed() {
        format!("* {name}")
    } else {
        name.to_owned()
    };
    let left = first(area, room);
    let used = write(buf, left, &name, BOLD);
    let vehicle = format!(
        "  {}",
        plan.trip.vehicle.name.as_deref().unwrap_or_default()
    );
    if columns(&vehicle) + used <= room {
        write(buf, super::text::past(left, used), &vehicle, DIM);
    }
    write_right(buf, area, &right, BOLD);
}
