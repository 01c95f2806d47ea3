//! The sliders: a row each with what it reads, where it is on its scale, and where it changes the verdict.
//!
//! ```text
//! ▶ what if: +2.1 L burnt, +1 can (1 → 2), +12 kg at the heaviest
//!   sand on leg 4    55 %        ├────┊──●──!────┤  2 cans from 61 %
//! ```

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::{Mode, State};
use super::super::theme::{BOLD, CHOSEN, DIM, Meaning, Theme};
use super::text::{below, columns, first, more_below, past, row, wrap, write, write_right};
use super::verdict::CALCULATING;
use super::{panels, shapes};
use crate::model::slider::{Slider, SliderStep};
use crate::plan::difference::{Decided, Outcome};
use crate::present::slider;

/// Columns of the name, of the reading, and of the scale at most.
const NAME: u16 = 18;
const READING: u16 = 16;
const SCALE: u16 = 21;
/// Columns of the shortest scale, and of a change in words.
const SHORTEST: u16 = 15;
const CHANGE: u16 = 28;
/// Columns of a cut change that is still of use.
const LEAST_CHANGE: u16 = 12;
/// What the words and marks beside the sliders are.
const CHANGES: &str = " verdict changes at ─";

pub(super) fn render(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let below = heading(state, area, buf);
    let list = state.slider_list();
    let chosen = state.chosen_slider();
    let first = first_shown(state, &list, below);
    for (nth, &slider) in list.iter().skip(first).enumerate() {
        let line = row(below, nth);
        if line.is_empty() {
            more_below(below, buf);
            break;
        }
        draw(state, theme, slider, Some(slider) == chosen, line, buf);
    }
}

/// What the turned sliders change.
fn title(state: &State) -> String {
    let beneath = state
        .board
        .beneath()
        .map_or_else(String::new, |name| format!(" {name}"));
    if !state.board.is_turned() {
        return "what if: all sliders as in the trip".to_owned();
    }
    if state.editor.is_some() {
        // What is shown is what is typed.
        return format!("what if{beneath}");
    }
    let changes = state.slider_difference().map_or_else(
        || vec![CALCULATING.to_owned()],
        |difference| slider::difference(&difference, state.units()),
    );
    if changes.is_empty() {
        format!("what if{beneath}: no change")
    } else {
        format!("what if{beneath}: {}", changes.join(", "))
    }
}

/// The heading, on as many rows as it needs and half of the room at most, with what the marks are; the room below it.
fn heading(state: &State, area: Rect, buf: &mut Buffer) -> Rect {
    let title = title(state);
    let focused = state.mode == Mode::Sliders;
    let mark = if focused { "▶ " } else { "─ " };
    let lines = wrap(&title, area.width.saturating_sub(2));
    let rows = lines.len().min(usize::from(area.height / 2).max(1));
    for (nth, line) in lines.iter().take(rows).enumerate() {
        let at = row(area, nth);
        let lead = if nth == 0 { mark } else { "  " };
        let used = write(buf, at, lead, BOLD);
        let hidden = nth + 1 == rows && lines.len() > rows;
        let text = if hidden {
            format!("{line} …")
        } else {
            line.clone()
        };
        let used = used + write(buf, past(at, used), &text, BOLD);
        let rest = past(at, used + 1);
        write(buf, rest, &"─".repeat(rest.width.into()), DIM);
        let right = if state.shows_changes() {
            CHANGES
        } else if state.basis().is_best_estimate() {
            panels::BEST_ESTIMATE
        } else {
            ""
        };
        if nth + 1 == rows && columns(right) < rest.width {
            write_right(buf, rest, right, DIM);
        }
    }
    below(area, rows)
}

/// The first shown of the list: while sliders are turned so that the chosen one is among them with one before it, else as
/// the panel is scrolled.
fn first_shown(state: &State, list: &[Slider], area: Rect) -> usize {
    let chosen = state.chosen_slider();
    let at = list.iter().position(|slider| Some(*slider) == chosen);
    let rows = usize::from(area.height);
    let last = list.len().saturating_sub(rows);
    at.unwrap_or(0)
        .saturating_sub(rows.saturating_sub(2))
        .min(last)
}

/// The slider whose row is there.
pub(super) fn row_at(state: &State, area: Rect, y: u16) -> Option<usize> {
    // The heading is drawn into nothing, to know how many rows it takes.
    let below = heading(state, area, &mut Buffer::empty(area));
    let list = state.slider_list();
    let nth = usize::from(y.checked_sub(below.y)?);
    let number = first_shown(state, &list, below) + nth;
    (number < list.len()).then_some(number)
}

fn draw(state: &State, theme: Theme, slider: Slider, chosen: bool, line: Rect, buf: &mut Buffer) {
    let trip = state.slider_base();
    let units = state.units();
    let slider_step = state.board.sliders().at(slider);
    let cell = |from, width| first(past(line, from), width);
    let name_style = if chosen && state.mode == Mode::Sliders {
        CHOSEN
    } else if slider_step.is_some() {
        BOLD
    } else {
        Style::new()
    };
    write(buf, cell(0, NAME - 1), &slider::name(slider), name_style);
    let reading = slider::standing(slider, trip, slider_step, units);
    let style = if slider_step.is_some() { BOLD } else { DIM };
    write(buf, cell(NAME, READING - 1), &reading, style);
    let room = line.width.saturating_sub(NAME + READING);
    let scale = if room > SCALE + CHANGE {
        SCALE
    } else {
        SHORTEST
    };
    let scale = if room < SHORTEST { 0 } else { scale };
    if scale > 0 {
        draw_scale(state, theme, slider, cell(NAME + READING, scale), buf);
    }
    let rest = past(line, NAME + READING + scale + 1);
    let changes = match state.board.changes(slider) {
        Some(changes) => slider::verdict_changes(slider, trip, changes, units),
        None if state.mode == Mode::Sliders && state.shows_changes() => vec!["…".to_owned()],
        None => Vec::new(),
    };
    // As many changes as there is room for, the nearest first.
    let mut text = changes.join("; ");
    if columns(&text) > rest.width {
        text = changes.first().cloned().unwrap_or_default();
    }
    // A letter or two of it are of no use.
    if columns(&text).min(LEAST_CHANGE) <= rest.width {
        write(buf, rest, &text, Style::new());
    }
}

/// The scale with the slider as in the trip, where it is set, and where it changes the verdict.
fn draw_scale(state: &State, theme: Theme, slider: Slider, area: Rect, buf: &mut Buffer) {
    let trip = state.slider_base();
    let last = slider.slider_steps(trip).saturating_sub(1).max(1);
    let column = |slider_step: SliderStep| {
        let inside = u32::from(area.width.saturating_sub(3));
        let at = slider_step.number().min(last) * inside / last;
        u16::try_from(at).unwrap_or(0) + 1
    };
    let mut put = |at: u16, shape: &str, style: Style| {
        write(buf, first(past(area, at), 1), shape, style);
    };
    for at in 0..area.width {
        put(at, "─", DIM);
    }
    put(0, "├", DIM);
    put(area.width.saturating_sub(1), "┤", DIM);
    put(column(slider.resting(trip)), shapes::DAY, Style::new());
    if let Some(changes) = state.board.changes(slider) {
        for change in [changes.below, changes.above].into_iter().flatten() {
            let (shape, style) = change_shape(change.becomes, theme);
            put(column(change.at), shape, style);
        }
    }
    match state.board.sliders().at(slider) {
        Some(slider_step) => put(column(slider_step), "●", BOLD),
        None => put(column(slider.resting(trip)), "○", Style::new()),
    }
}

/// A change to another GO, and to a NO-GO.
const fn change_shape(becomes: Decided, theme: Theme) -> (&'static str, Style) {
    match becomes.outcome {
        Outcome::Go => ("▽", theme.strong(Meaning::Cans)),
        Outcome::Settle => ("▲", BOLD),
        Outcome::Short | Outcome::Overloaded => ("■", theme.strong(Meaning::Short)),
    }
}
