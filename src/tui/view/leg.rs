//! The chosen leg: what it takes, what is on board at the cursor, and why it costs what it costs.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::{Panel, State};
use super::super::theme::{DIM, Meaning, Theme};
use super::panel;
use super::text::{bar, columns, past, row, wrap, write, write_right};
use crate::model::vocabulary::Surface;
use crate::plan::{CauseShare, PlannedLeg};
use crate::present::number::{Toward, factor, percent};
use crate::quantity::{Litres, Share};

/// Columns of the name of a cause and of its factor.
const NAME: u16 = 10;
const FACTOR: u16 = 6;

pub(super) fn render(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let Some(leg) = state.chosen() else {
        return;
    };
    let title = format!("leg {}: {} → {}", leg.n, leg.from, leg.to);
    let area = panel::heading(state, Panel::Leg, &title, area, buf);
    let lines: Vec<String> = [here(state, leg), takes(state, leg)]
        .iter()
        .flat_map(|text| wrap(text, area.width))
        .collect();
    // Two rows are kept for the causes where there are that many.
    let facts = lines
        .len()
        .min(usize::from(area.height.saturating_sub(3)).max(1));
    for (nth, line) in lines.iter().take(facts).enumerate() {
        write(buf, row(area, nth), line, Style::new());
    }
    let facts = u16::try_from(facts).unwrap_or(0).min(area.height);
    let below = Rect {
        y: area.y + facts,
        height: area.height - facts,
        ..area
    };
    causes(state, theme, leg, below, buf);
}

/// What is on board at the cursor.
fn here(state: &State, leg: &PlannedLeg) -> String {
    let units = state.units();
    let fuel = state.plan().on_board_at(state.at());
    let cans = if fuel.cans > Litres::ZERO {
        format!(" and {} in cans", units.fuel(fuel.cans, Toward::Nearest))
    } else {
        String::new()
    };
    format!(
        "{}, day {}: {} in the tank{cans}, {} must be left",
        units.at(state.at(), Toward::Nearest),
        leg.day,
        units.litres(fuel.tank.max(Litres::ZERO)),
        units.fuel(fuel.reserve, Toward::Up),
    )
}

/// What the leg is and takes.
fn takes(state: &State, leg: &PlannedLeg) -> String {
    let units = state.units();
    let ground = state.strip().ground_of(leg.n);
    let share = |share: Share, of: &str| {
        if share > Share::ZERO {
            format!(", {} {of}", percent(share))
        } else {
            String::new()
        }
    };
    let rate = leg
        .rate
        .map_or(String::new(), |rate| format!(", {}", units.rate(rate)));
    format!(
        "{} {}{}{}: {}{rate}, {}; from {} to {}",
        units.distance(leg.distance, Toward::Nearest),
        surface(leg.surface),
        share(ground.sand, "sand"),
        share(ground.low_range, "low range"),
        units.litres(leg.fuel),
        units.time(leg.driving),
        units.litres(leg.start),
        units.litres(leg.end),
    )
}

fn surface(surface: Surface) -> &'static str {
    surface.word()
}

/// The causes, the strongest first: factor, bar, litres of the leg without it.
fn causes(state: &State, theme: Theme, leg: &PlannedLeg, area: Rect, buf: &mut Buffer) {
    let units = state.units();
    let shown = state.causes();
    let strength = |share: &CauseShare| share.multiplier.map_or(0.0, |m| m.get().ln().abs());
    let strongest = shown.iter().map(strength).fold(f64::MIN_POSITIVE, f64::max);
    let scrolled = state.scroll_of(Panel::Leg).min(shown.len());
    for (nth, share) in shown.iter().skip(scrolled).enumerate() {
        let line = row(area, nth);
        if line.is_empty() {
            break;
        }
        write(
            buf,
            line,
            &share.cause.key().replace('_', " "),
            Style::new(),
        );
        let multiplier = share.multiplier.map_or("-".to_owned(), factor);
        write(
            buf,
            past(line, NAME),
            &format!("×{multiplier}"),
            Style::new(),
        );
        let without = format!("{} without", units.litres(share.without));
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
