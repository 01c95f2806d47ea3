//! The panels under the strip: a heading with their numbers, and rows that scroll one by one up to the last full page.
//!
//! A panel is a list of rows as wide as its area, one file a panel; pictures (map, trip log, calibration) are drawn beside
//! the rows where there is room for both.

mod calibration;
mod checks;
mod do_now;
mod dry;
mod findings;
mod leg;
mod legs;
mod load;
mod log;
mod map;
mod rows;
mod sure;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::{Basis, Panel, State};
use super::super::theme::{BOLD, CHOSEN, DIM, Theme};
use super::text::{below, columns, cut, past, row, write, write_right};
use super::verdict::CALCULATING;
use rows::Rows;

pub(super) use legs::page as legs_page;

/// Columns and rows from which on a panel has a picture beside its rows.
const HALVED: (u16, u16) = (70, 5);
/// Blank columns between two panels in the heading.
const GAP: u16 = 2;

/// What a heading adds to figures that are no more than that.
pub(super) const BEST_ESTIMATE: &str = " best estimate ─";

/// Draws a panel. Alone under the strip its heading lists all of them.
pub(super) fn render(
    state: &State,
    theme: Theme,
    panel: Panel,
    (area, is_alone): (Rect, bool),
    buf: &mut Buffer,
) {
    let is_awaited = panel.is_of_verdict() && state.basis() == Basis::Calculating;
    let body = below(area, 1);
    let place = if is_awaited && state.judged().is_none() {
        let mut rows = Rows::new(body.width);
        rows.words(CALCULATING, Style::new());
        rows.draw(body, 0, buf)
    } else {
        content(state, theme, panel, body, buf)
    };
    if is_awaited && state.judged().is_some() {
        // It is of the trip before the last change.
        buf.set_style(body.intersection(buf.area), DIM);
    }
    if is_alone {
        tabs(state, place, row(area, 0), buf);
    } else {
        heading(state, panel, place, row(area, 0), buf);
    }
}

/// The rows of a panel, and beside them its picture; which rows are in sight.
fn content(state: &State, theme: Theme, panel: Panel, area: Rect, buf: &mut Buffer) -> Window {
    let (words, picture) = parted(state, panel, area);
    if let Some(picture) = picture {
        match panel {
            Panel::Leg => map::draw(state, theme, picture, buf),
            _ => log::draw_pictures(state, theme, picture, buf),
        }
    }
    let rows = rows_of(state, theme, panel, words);
    let at = from(state, panel, &rows, words);
    rows.draw(words, at, buf)
}

/// The part of a panel that its rows have, and the one that its picture has.
fn parted(state: &State, panel: Panel, area: Rect) -> (Rect, Option<Rect>) {
    let has_picture = match panel {
        Panel::Leg => state.chart().is_some(),
        Panel::Log => log::has_picture(state),
        _ => false,
    };
    let is_roomy = area.width >= HALVED.0 && area.height >= HALVED.1;
    if !(has_picture && is_roomy) {
        return (area, None);
    }
    let width = area.width / 2;
    (Rect { width, ..area }, Some(past(area, width + 1)))
}

/// All rows of a panel.
fn rows_of(state: &State, theme: Theme, panel: Panel, area: Rect) -> Rows {
    let width = area.width;
    match panel {
        Panel::Do => do_now::rows(state, theme, width),
        Panel::Findings => findings::rows(state, theme, width),
        Panel::Checks => checks::rows(state, theme, width),
        Panel::Load => load::rows(state, theme, width),
        Panel::Legs => legs::rows(state, theme, area),
        Panel::Sure => sure::rows(state, theme, width),
        Panel::Dry => dry::rows(state, theme, width),
        Panel::Leg => leg::rows(state, width),
        Panel::Log => log::rows(state, theme, width),
    }
}

/// The first row in sight: of a list the one that leaves what is chosen in sight, else as far as it was scrolled.
fn from(state: &State, panel: Panel, rows: &Rows, area: Rect) -> usize {
    let last = rows.last_page(area);
    match rows.chosen() {
        Some(chosen) => {
            let height = usize::from(rows.under_head(area).height);
            let before = chosen
                .start
                .saturating_sub(height.saturating_sub(chosen.len()) / 2);
            before.min(last)
        }
        None => state.scroll_of(panel).min(last),
    }
}

/// How far a panel can be scrolled on the screen as it is now.
pub(in crate::tui) fn last_scroll(state: &State, panel: Panel) -> usize {
    let places = super::layout::places_of(state, state.area());
    let area = places.panels.iter().find(|(shown, _)| *shown == panel);
    let area = area.map_or(Rect::new(0, 0, 80, 1), |&(_, area)| below(area, 1));
    let (words, _) = parted(state, panel, area);
    // Lengths do not depend on colours.
    let theme = Theme::new(super::super::theme::Depth::None);
    rows_of(state, theme, panel, words).last_page(words)
}

/// Which rows of a panel are in sight.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Window {
    from: usize,
    to: usize,
    all: usize,
}

impl Window {
    /// `3-9 of 14`; empty where all rows are in sight.
    fn words(self) -> String {
        if self.to - self.from >= self.all {
            return String::new();
        }
        format!(" {}–{} of {} ", self.from + 1, self.to, self.all)
    }
}

/// What a panel's figures rest on, where that is not what they should.
fn basis(state: &State, panel: Panel) -> &'static str {
    match state.basis() {
        _ if !panel.is_of_verdict() => "",
        Basis::Simulated => "",
        Basis::Calculating => " calculating ─",
        Basis::BestEstimate | Basis::TooLong => BEST_ESTIMATE,
    }
}

/// Which rows are in sight and what the figures rest on, as far as there is room; a mark where there is not.
fn right(window: Window, basis: &str, room: u16) -> String {
    let mark = if window.to < window.all { "↓" } else { "" };
    let texts = [
        format!("{}{basis}", window.words()),
        format!("{basis}{mark}"),
        mark.to_owned(),
    ];
    let mut texts = texts.into_iter();
    texts.find(|text| columns(text) <= room).unwrap_or_default()
}

/// The heading of one panel among several: number and title.
fn heading(state: &State, panel: Panel, window: Window, area: Rect, buf: &mut Buffer) {
    let is_focused = state.focus == panel;
    let mark = if is_focused { "▶ " } else { "─ " };
    let mut used = write(buf, area, mark, if is_focused { BOLD } else { DIM });
    let right = right(window, basis(state, panel), area.width / 2);
    let room = area.width.saturating_sub(used + columns(&right));
    let title = format!("{} {}", panel.number(), panel.title());
    used += write(buf, past(area, used), &cut(&title, room), BOLD) + 1;
    rule(area, used, &right, buf);
}

/// The heading of a panel that is alone: all panels with their numbers, the one in sight reversed.
fn tabs(state: &State, window: Window, area: Rect, buf: &mut Buffer) {
    let titles = Panel::ALL.map(|panel| format!("{} {}", panel.number(), panel.name()));
    let wanted: u16 = titles.iter().map(|title| columns(title) + GAP).sum();
    let mut used = write(buf, area, "▶ ", BOLD);
    let has_room = used + wanted <= area.width + GAP;
    for (panel, title) in Panel::ALL.into_iter().zip(&titles) {
        let is_shown = panel == state.focus;
        let number = panel.number().to_string();
        let text = if has_room || is_shown { title } else { &number };
        let style = if is_shown {
            BOLD.patch(CHOSEN)
        } else {
            Style::new()
        };
        let gap = if has_room { GAP } else { 1 };
        used += write(buf, past(area, used), text, style) + gap;
    }
    let room = area.width.saturating_sub(used);
    rule(
        area,
        used,
        &right(window, basis(state, state.focus), room),
        buf,
    );
}

/// A rule from a column on, with words at its end.
fn rule(area: Rect, used: u16, right: &str, buf: &mut Buffer) {
    let rest = past(area, used);
    write(buf, rest, &"─".repeat(rest.width.into()), DIM);
    if columns(right) <= rest.width {
        write_right(buf, rest, right, DIM);
    }
}
