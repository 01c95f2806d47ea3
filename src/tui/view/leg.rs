//! The chosen leg: what it takes, what is on board at the cursor, and why it costs what it costs.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::{Basis, Panel, State, strength};
use super::super::theme::{DIM, Meaning, Theme};
use super::panel;
use super::text::{bar, below, columns, past, row, write, write_right};
use crate::plan::PlannedLeg;
use crate::plan::ahead::Needs;
use crate::present::name::plain;
use crate::present::number::{Toward, clock, factor, percent};
use crate::present::why;
use crate::quantity::{Kilometres, Litres, Share};

/// Columns of the name of a cause and of its factor.
const NAME: u16 = 10;
const FACTOR: u16 = 6;

pub(super) fn render(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let Some(leg) = state.chosen() else {
        return;
    };
    let title = format!("leg {}: {} → {}", leg.n, leg.from, leg.to);
    let area = panel::heading(state, Panel::Leg, &title, area, buf);
    let mut facts = vec![here(state, leg, area.width)];
    let room = match area.height {
        0..=5 => 0,
        6..=8 => 1,
        _ => 2,
    };
    facts.extend(from_here(state, leg).into_iter().take(room));
    // The strip shows the ground; with little room it is not told again.
    if area.height > 5 {
        facts.push(ground(state, leg));
    }
    facts.push(takes(state, leg));
    for (nth, line) in facts.iter().enumerate() {
        write(buf, row(area, nth), line, Style::new());
    }
    let below = below(area, facts.len());
    causes(state, theme, leg, below, buf);
    let told = state
        .causes()
        .len()
        .saturating_sub(state.scroll_of(Panel::Leg));
    if told > usize::from(below.height) {
        panel::more_below(area, buf);
    }
}

/// What is on board at the cursor, in as many words as there is room for.
fn here(state: &State, leg: &PlannedLeg, room: u16) -> String {
    let units = state.units();
    let fuel = state.plan().on_board_at(state.at());
    let at = units.at(state.at(), Toward::Nearest);
    let tank = units.fuel(fuel.tank.max(Litres::ZERO), Toward::Down);
    let reserve = units.fuel(fuel.reserve, Toward::Up);
    let has_cans = fuel.cans > Litres::ZERO;
    let cans = units.fuel_tenths(fuel.cans, Toward::Down);
    let long = format!(
        "{at}, day {}: {tank} in the tank{}, minimum {reserve}",
        leg.day,
        if has_cans {
            format!(" and {cans} in cans")
        } else {
            String::new()
        },
    );
    if columns(&long) <= room {
        return long;
    }
    let cans = if has_cans {
        format!(", cans {}", cans.number)
    } else {
        String::new()
    };
    format!("{at}: tank {}{cans}, min {reserve}", tank.number)
}

/// Hours driving until the cursor with the litres needed from there to the next fuel stop, and those back to the
/// refuge.
fn from_here(state: &State, leg: &PlannedLeg) -> Vec<String> {
    let (units, plan) = (state.units(), state.plan());
    let part = if leg.distance > Kilometres::ZERO {
        (state.at() - leg.from_km) / leg.distance
    } else {
        0.0
    };
    let before = state.told().hours.get(leg.n - 1).copied();
    let hours = before.unwrap_or_default() + leg.driving * part.clamp(0.0, 1.0);
    let needs = |needs: Needs| {
        let name = plain(state.strip().place(needs.place_number).name).into_owned();
        format!("{} to {name}", units.fuel(needs.litres, Toward::Up))
    };
    let driven = format!("{} h driving", clock(hours));
    if state.basis() == Basis::Calculating {
        return vec![driven];
    }
    let ahead = plan.needs_ahead(state.at()).map_or_else(
        || driven.clone(),
        |n| format!("{driven}; best estimate needs {}", needs(n)),
    );
    let back = plan.needs_back(state.at());
    let back = back.map(|n| format!("return needs {}", needs(n)));
    std::iter::once(ahead).chain(back).collect()
}

/// What the leg is made of.
fn ground(state: &State, leg: &PlannedLeg) -> String {
    let units = state.units();
    let ground = state.strip().ground_of(leg.n);
    let share = |share: Share, of: &str| {
        if share > Share::ZERO {
            format!(", {} {of}", percent(share))
        } else {
            String::new()
        }
    };
    format!(
        "{} {}{}{}{}, {}, {}",
        units.distance(leg.distance, Toward::Nearest),
        leg.surface,
        share(ground.sand - ground.dunes, "sand"),
        share(ground.dunes, "dunes"),
        share(ground.low_range, "low range"),
        units.speed(leg.speed, Toward::Nearest),
        format_args!("{} h", clock(leg.driving)),
    )
}

/// What the leg takes.
fn takes(state: &State, leg: &PlannedLeg) -> String {
    let units = state.units();
    let rate = leg
        .rate
        .map_or(String::new(), |rate| format!(" ({})", units.rate(rate)));
    format!(
        "{}{rate}; on board {}→{}",
        units.litres(leg.fuel),
        units.fuel(leg.start, Toward::Down).number,
        units.fuel(leg.end, Toward::Down),
    )
}

/// The causes, the strongest first: factor, bar, litres of the leg without it.
fn causes(state: &State, theme: Theme, leg: &PlannedLeg, area: Rect, buf: &mut Buffer) {
    let units = state.units();
    let shown = state.causes();
    let strongest = shown
        .iter()
        .copied()
        .map(strength)
        .fold(f64::MIN_POSITIVE, f64::max);
    let scrolled = state.scroll_of(Panel::Leg).min(shown.len());
    for (nth, share) in shown.iter().skip(scrolled).enumerate() {
        let line = row(area, nth);
        if line.is_empty() {
            break;
        }
        write(buf, line, why::brief(share.cause), Style::new());
        // A stay has no rate, so no factor of one.
        if let Some(multiplier) = share.multiplier {
            let times = format!("×{}", factor(multiplier));
            write(buf, past(line, NAME), &times, Style::new());
        }
        let without = format!("{} without it", units.litres(share.without));
        let room = line
            .width
            .saturating_sub(NAME + FACTOR + columns(&without) + 1);
        let dearer = share.without <= leg.fuel;
        let style = theme.fg(if dearer {
            Meaning::Care
        } else {
            Meaning::Enough
        });
        let length = bar(Share::new(strength(share) / strongest), room);
        let length = if dearer {
            length
        } else {
            length.replace('█', "░")
        };
        write(buf, past(line, NAME + FACTOR), &length, style);
        write_right(buf, line, &without, DIM);
    }
}
