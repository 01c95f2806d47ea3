//! What all panels share: a heading with a rule, and entries that scroll.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::{Basis, Panel, State};
use super::super::theme::{BOLD, DIM};
use super::text::{below, columns, cut, first, past, row, wrap, write, write_right};
use super::verdict::CALCULATING;

/// Columns and rows from which on a panel has a picture beside its words.
const HALVED: (u16, u16) = (70, 5);

/// What a heading says of figures that are no more than that.
pub(super) const BEST_ESTIMATE: &str = " best estimate ─";

/// What a panel of the verdict is called.
pub(super) const fn title(panel: Panel) -> &'static str {
    match panel {
        Panel::Findings => "findings",
        Panel::Stops => "fill and decant",
        Panel::Card => "fuel checks",
        Panel::Odds => "how sure",
        Panel::Load => "load and cans",
        Panel::Ledger => "what the fuel in cans is for",
        Panel::Dry => "if a fuel stop is dry",
        Panel::Log => "trip log",
        Panel::Leg | Panel::Map | Panel::Dials | Panel::Calibration => "",
    }
}

/// Draws a panel of the verdict while there has been none yet.
pub(super) fn without_verdict(state: &State, panel: Panel, area: Rect, buf: &mut Buffer) {
    let below = heading(state, panel, title(panel), area, buf);
    write(buf, row(below, 0), CALCULATING, Style::new());
}

/// Dims what a panel shows below its heading: it is of the trip before the last change.
pub(super) fn dim(area: Rect, buf: &mut Buffer) {
    buf.set_style(below(area, 1).intersection(buf.area), DIM);
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

/// Draws the heading and returns the room below it.
pub(super) fn heading(
    state: &State,
    panel: Panel,
    title: &str,
    area: Rect,
    buf: &mut Buffer,
) -> Rect {
    let focused = state.focus == panel;
    let head = row(area, 0);
    let mark = if focused { "▶ " } else { "─ " };
    let mut used = write(buf, head, mark, if focused { BOLD } else { DIM });
    // What the figures rest on is said whole, and the title as far as there is room.
    let basis = basis(state, panel);
    let room = head.width.saturating_sub(used + columns(basis));
    used += write(buf, past(head, used), &cut(title, room), BOLD);
    used += write(buf, past(head, used), " ", DIM);
    let rest = past(head, used);
    write(buf, rest, &"─".repeat(rest.width.into()), DIM);
    write_right(buf, head, basis, DIM);
    let scroll = state.scroll_of(panel);
    if scroll > 0 {
        let position = format!(" {} of {} ──", scroll + 1, state.entries(panel));
        let before_basis = first(rest, rest.width.saturating_sub(columns(basis)));
        if columns(&position) < before_basis.width {
            write_right(buf, before_basis, &position, DIM);
        }
    }
    below(area, 1)
}

/// Two halves side by side, for a picture and for words, with a blank column between them; nothing where there is too little
/// room for that.
pub(super) fn halves(area: Rect) -> Option<[Rect; 2]> {
    let width = area.width / 2;
    let is_roomy = area.width >= HALVED.0 && area.height >= HALVED.1;
    is_roomy.then(|| [Rect { width, ..area }, past(area, width + 1)])
}

/// An entry: a shape in its colour, then words that go on below themselves.
pub(super) struct Entry {
    pub(super) shape: &'static str,
    pub(super) style: Style,
    pub(super) says: String,
}

impl Entry {
    /// One that stands for nothing but its words.
    pub(super) fn plain(says: impl Into<String>) -> Self {
        Self {
            shape: "·",
            style: Style::new(),
            says: says.into(),
        }
    }
}

/// Marks in the heading above `area` that there is more below.
pub(super) fn more_below(area: Rect, buf: &mut Buffer) {
    if let (Some(y), true) = (area.y.checked_sub(1), area.width > 1) {
        let mark = Rect::new(area.right() - 1, y, 1, 1);
        write(buf, mark, "↓", BOLD);
    }
}

/// Draws entries under one another until the room is used up, and marks whether there are more.
pub(super) fn entries(items: impl Iterator<Item = Entry>, area: Rect, buf: &mut Buffer) {
    if entries_down(items, area, buf) > area.height.into() {
        more_below(area, buf);
    }
}

/// The same without the mark: how many rows they take, more than there are where that is not enough.
pub(super) fn entries_down(
    items: impl Iterator<Item = Entry>,
    area: Rect,
    buf: &mut Buffer,
) -> usize {
    let mut next = 0;
    for entry in items {
        let first = row(area, next);
        if first.is_empty() {
            return next + 1;
        }
        let indent = write(buf, first, &format!("{} ", entry.shape), entry.style);
        for line in wrap(&entry.says, area.width.saturating_sub(indent)) {
            write(buf, past(row(area, next), indent), &line, Style::new());
            next += 1;
        }
    }
    next
}
