//! The first row: which trip this is, how long it is, and which leg is chosen.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::super::state::State;
use super::super::theme::{BOLD, DIM};
use super::text::{columns, first, write, write_right};
use crate::present::number::Toward;
use crate::present::verdict::counted;

pub(super) fn render(state: &State, area: Rect, buf: &mut Buffer) {
    let plan = state.plan();
    // A leg that was just added is chosen before it is planned.
    let legs = if state.is_behind() {
        state.trip().legs.len()
    } else {
        plan.legs.len()
    };
    let leg = format!("leg {} of {legs}", state.leg());
    // The number of the leg is read at any width, the rest as far as there is room.
    let right = [trip(state), shown(state)]
        .map(|text| format!("{text} · {leg}"))
        .into_iter()
        .find(|right| columns(right) + 20 <= area.width)
        .unwrap_or(leg);
    let room = area.width.saturating_sub(columns(&right) + 2);
    let name = state.trip().name.as_deref();
    let name = name.unwrap_or("trip without a name");
    // What is not saved is reported before the name, where it is never cut.
    let name = if state.history().is_changed() {
        format!("* {name}")
    } else {
        name.to_owned()
    };
    let left = first(area, room);
    let used = write(buf, left, &name, BOLD);
    let vehicle = plan.trip.vehicle.name.as_deref().unwrap_or_default();
    let vehicle = format!("  {vehicle}");
    if columns(&vehicle) + used <= room {
        write(buf, super::text::past(left, used), &vehicle, DIM);
    }
    write_right(buf, area, &right, DIM);
}

/// Distance, days and fuel of the trip.
fn trip(state: &State) -> String {
    let (plan, units) = (state.plan(), state.units());
    let days = plan.legs.last().map_or(0, |leg| leg.day);
    let days = counted(days as usize, "day", "days");
    let fuel = units.litres(plan.totals.fuel);
    format!("{} · {days} · {fuel}", shown(state))
}

/// The distance of the trip, and how much of it the strip shows if that is not all.
fn shown(state: &State) -> String {
    let units = state.units();
    let length = units.distance(state.strip().length(), Toward::Nearest);
    if state.shows_all() {
        return length.to_string();
    }
    let span = units.distance(state.look().span, Toward::Nearest);
    format!("{} of {length}", span.number)
}
