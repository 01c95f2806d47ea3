//! What is done at the fuel stops and on the way, by kilometre.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::super::state::{Panel, State};
use super::super::theme::{Meaning, Theme};
use super::panel::{self, Entry};
use super::shapes;
use crate::plan::{Pour, Stop};
use crate::present::number::{Toward, Units, percent};
use crate::present::strip::{MarkKind, Supply};
use crate::quantity::{Litres, Share};

pub(super) fn render(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let plan = state.plan();
    let units = state.units();
    let area = panel::heading(state, Panel::Stops, "fill and pour", area, buf);
    let (mut stops, mut pours) = (plan.stops.iter().peekable(), plan.pours.iter().peekable());
    let by_way = std::iter::from_fn(|| {
        let stop_first = match (stops.peek(), pours.peek()) {
            (Some(stop), Some(pour)) => stop.at_km <= pour.at_km,
            (stop, _) => stop.is_some(),
        };
        if stop_first {
            stops.next().map(|stop| fill(stop, units, theme))
        } else {
            pours.next().map(|done| pour(done, state, theme))
        }
    });
    panel::entries(by_way.skip(state.scroll_of(Panel::Stops)), area, buf);
}

fn fill(stop: &Stop, units: Units, theme: Theme) -> Entry {
    let supply = if stop.counted {
        Supply::Counted
    } else {
        Supply::NotCounted
    };
    let chance = if stop.chance < Share::new(1.0) {
        format!(" ({} sure)", percent(stop.chance))
    } else {
        String::new()
    };
    let cans = match stop.cans_filled {
        0 => String::new(),
        1 => format!(", {} in a can", units.litres(stop.cans)),
        n => format!(", {} in {n} cans", units.litres(stop.cans)),
    };
    let says = if stop.tank <= Litres::ZERO && stop.cans <= Litres::ZERO {
        "nothing to fill".to_owned()
    } else {
        format!(
            "{} in the tank{cans}; leave with {}",
            units.litres(stop.tank),
            units.litres(stop.after)
        )
    };
    Entry {
        shape: shapes::place(supply),
        style: theme.strong(Meaning::Tank),
        head: format!(
            "{} {}{chance}: ",
            units.at(stop.at_km, Toward::Nearest),
            stop.place
        ),
        says,
    }
}

fn pour(pour: &Pour, state: &State, theme: Theme) -> Entry {
    let units = state.units();
    let tank = state.plan().trip.vehicle.tank_l;
    Entry {
        shape: shapes::mark(MarkKind::Pour {
            litres: pour.litres,
        }),
        style: theme.strong(Meaning::Cans),
        head: format!("{}: ", units.at(pour.at_km, Toward::Nearest)),
        says: format!(
            "pour the {} can from the {}, once the tank holds no more than {} (gauge {}), by {}",
            format_args!("{} L", crate::present::number::trimmed(pour.can_size.get())),
            pour.from,
            units.fuel(pour.when_tank_at_most_gauge, Toward::Down),
            units.gauge(pour.when_tank_at_most_gauge, tank, Toward::Down),
            units.at(pour.latest_km, Toward::Down),
        ),
    }
}
