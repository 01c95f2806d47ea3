//! The chosen leg: what it takes, what is on board at the cursor, and why it costs what it costs.

use ratatui::style::Style;

use super::rows::{PanelRow, Rows};
use crate::plan::PlannedLeg;
use crate::plan::ahead::Needs;
use crate::present::ground;
use crate::present::name::plain;
use crate::present::number::{Toward, clock, factor, percent};
use crate::present::why;
use crate::quantity::{Kilometres, Litres, Share};
use crate::tui::state::{Basis, State, strength};
use crate::tui::theme::{BOLD, DIM};
use crate::tui::view::text::bar;

/// Columns of the name of a cause, and of that with its factor and litres.
const NAME: u16 = 10;
const BAR: u16 = 27;
/// Columns of the longest bar.
const LONGEST: u16 = 24;

pub(super) fn rows(state: &State, width: u16) -> Rows {
    let mut rows = Rows::new(width);
    let Some(leg) = state.chosen() else {
        return rows;
    };
    let title = format!("leg {}: {} -> {}", leg.n, plain(&leg.from), plain(&leg.to));
    rows.words(&title, BOLD);
    rows.words(&made_of(state, leg), Style::new());
    rows.words(&takes(state, leg), Style::new());
    causes(state, leg, &mut rows);
    rows.words(&here(state, leg), Style::new());
    for text in from_here(state, leg) {
        rows.words(&text, Style::new());
    }
    if let Some(source) = surface_source(state, leg) {
        rows.words(&source, DIM);
    }
    if state.chart().is_none() {
        let missing = "no map: set lat and lon of places, or import a track";
        rows.words(missing, DIM);
    }
    rows
}

/// Where the surface of the leg comes from, if it is not the user's, with the notice that goes with it.
fn surface_source(state: &State, leg: &PlannedLeg) -> Option<String> {
    let trip = &state.plan().trip;
    let of_trip = trip.legs.get(leg.n - 1)?;
    let source = ground::source(of_trip)?;
    let notice = trip.notice.as_deref().map(plain);
    Some(notice.map_or_else(|| source.clone(), |notice| format!("{source}. {notice}")))
}

/// What is on board at the cursor.
fn here(state: &State, leg: &PlannedLeg) -> String {
    let units = state.units();
    let fuel = state.plan().on_board_at(state.at());
    let at = units.at(state.at(), Toward::Nearest);
    let tank = units.fuel(fuel.tank.max(Litres::ZERO), Toward::Down);
    let minimum = units.fuel(fuel.reserve, Toward::Up);
    let cans = if fuel.cans > Litres::ZERO {
        format!(
            " and {} in cans",
            units.fuel_tenths(fuel.cans, Toward::Down)
        )
    } else {
        String::new()
    };
    format!(
        "{at}, day {}: {tank} in the tank{cans}, minimum {minimum}",
        leg.day
    )
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
    let before = state.texts().hours.get(leg.n - 1).copied();
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
fn made_of(state: &State, leg: &PlannedLeg) -> String {
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
        "{}{rate}; fuel on board {} -> {}",
        units.litres(leg.fuel),
        units.fuel(leg.start, Toward::Down).number,
        units.fuel(leg.end, Toward::Down),
    )
}

/// The causes that act, the strongest first: factor, what it costs, a bar.
fn causes(state: &State, leg: &PlannedLeg, rows: &mut Rows) {
    let units = state.units();
    let shown = state.causes();
    let strongest = shown
        .iter()
        .copied()
        .map(strength)
        .fold(f64::MIN_POSITIVE, f64::max);
    for share in shown {
        // A rest stop has no rate, so no factor of one.
        let times = share.multiplier.map(factor);
        if times.as_deref() == Some("1.00") {
            continue;
        }
        let costs = leg.fuel - share.without;
        let is_dearer = costs >= Litres::ZERO;
        let sign = if is_dearer { "+" } else { "-" };
        let costs = format!("{sign}{}", units.fuel_tenths(costs.abs(), Toward::Nearest));
        let room = rows.width().saturating_sub(BAR + 1).min(LONGEST);
        let length = bar(Share::new(strength(share) / strongest), room);
        let (length, style) = if is_dearer {
            (length, Style::new())
        } else {
            (length.replace('█', "░"), DIM)
        };
        rows.push(
            PanelRow::new(why::brief(share.cause), Style::new())
                .at(
                    NAME,
                    times.map_or_else(String::new, |times| format!("×{times}")),
                    DIM,
                )
                .before(BAR - 1, costs, BOLD)
                .at(BAR, length, style),
        );
    }
}
