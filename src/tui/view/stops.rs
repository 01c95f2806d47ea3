//! What is done at the fuel stops and on the way, by kilometre.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::super::state::{Panel, State};
use super::super::theme::{Meaning, Theme};
use super::panel::{self, Entry};
use super::shapes;
use crate::present::card::{fill_sentence, pour_sentence};
use crate::present::mark::MarkKind;
use crate::present::strip::Supply;

pub(super) fn render(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let plan = state.judged_or_shown().plan();
    let area = panel::heading(state, Panel::Stops, panel::title(Panel::Stops), area, buf);
    let (mut stops, mut pours) = (plan.stops.iter().peekable(), plan.pours.iter().peekable());
    let by_way = std::iter::from_fn(|| {
        let stop_first = match (stops.peek(), pours.peek()) {
            (Some(stop), Some(pour)) => stop.at_km <= pour.at_km,
            (stop, _) => stop.is_some(),
        };
        if stop_first {
            stops.next().map(|stop| Entry {
                shape: shapes::place(if stop.counted {
                    Supply::Counted
                } else {
                    Supply::NotCounted
                }),
                style: theme.strong(Meaning::Tank),
                says: fill_sentence(stop, plan, state.units()),
            })
        } else {
            pours.next().map(|pour| Entry {
                shape: shapes::mark(MarkKind::Pour {
                    litres: pour.litres,
                }),
                style: theme.strong(Meaning::Cans),
                says: pour_sentence(pour, plan, state.units()),
            })
        }
    });
    panel::entries(by_way.skip(state.scroll_of(Panel::Stops)), area, buf);
}
