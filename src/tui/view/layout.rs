//! Where everything is, by whole-number arithmetic from the size of the screen alone.
//!
//! ```text
//! name of the trip                leg 4 of 47
//! verdict
//! labels │ days, names, ground        }
//!        │ fuel                        } the strip
//!        │ heights, on tall screens    }
//!        │ marks, axis                 }
//! legend
//! panel     │ panel     …
//! keys
//! ```
//! Small screens lose the days, the legend and the second row of names, then panels; what is left
//! over is shared between the height of the fuel and the panels. Where a panel would have hardly a row, the one that is
//! read is over the foot of the strip.

use ratatui::layout::Rect;

use super::super::state::{Mode, Panel, State};
use super::text::past;

/// The least size that the screen can be used at.
pub(crate) const LEAST: (u16, u16) = (40, 10);
/// A panel needs this many columns.
const PANEL_WIDTH: u16 = 58;
/// A layer beside panels has this many columns at least.
const LAYER_WIDTH: u16 = 80;
/// A panel beside a second row of panels has this many rows.
const PANEL_HEIGHT: u16 = 8;
/// What is edited has this many rows at least: a heading, three fields, two lines of help.
const FEWEST_ROWS: u16 = 6;
/// A panel with fewer rows is of no use.
const LOWEST_PANEL: u16 = 4;

/// Which part of the screen is in front.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Front {
    /// The strip over the panels.
    Strip,
    /// The panel in focus.
    Panel,
    /// A layer over the panels.
    Layer,
}

/// The places of everything.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Places {
    /// Name of the trip, number of the leg.
    pub(crate) title: Rect,
    /// Whether the fuel gets there.
    pub(crate) verdict: Rect,
    /// The rows of the strip.
    pub(crate) strip: StripPlaces,
    /// What the marks mean.
    pub(crate) legend: Rect,
    /// The panels that there is room for.
    pub(crate) panels: Vec<(Panel, Rect)>,
    /// The keys at the bottom.
    pub(crate) footer: Rect,
}

/// The rows of the strip, right of its labels.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct StripPlaces {
    pub(crate) labels: Rect,
    pub(crate) days: Rect,
    pub(crate) names: Rect,
    pub(crate) ground: Rect,
    pub(crate) fuel: Rect,
    pub(crate) heights: Rect,
    pub(crate) marks: Rect,
    pub(crate) axis: Rect,
}

impl Places {
    /// All between the answers and the keys, for a page.
    pub(crate) fn under_head(&self) -> Rect {
        let top = self.verdict.bottom();
        Rect {
            y: top,
            height: self.footer.y.saturating_sub(top),
            ..self.footer
        }
    }

    /// All that is below the strip and above the keys; on a small screen over the foot of the strip, so that there
    /// is always room for some rows. Where panels are beside it, what is left of them.
    pub(crate) fn below(&self) -> Rect {
        let beside = self.panels.iter().map(|(_, area)| area.x).min();
        let below = foot(self.strip.axis.bottom(), self.verdict.bottom(), self.footer);
        Rect {
            width: beside.map_or(below.width, |x| x.saturating_sub(1) - below.x),
            ..below
        }
    }
}

/// All between `strip`, where the strip ends, and the keys; over the foot of the strip where that is too little.
fn foot(strip: u16, verdict: u16, keys: Rect) -> Rect {
    let least = keys.y.saturating_sub(FEWEST_ROWS).max(verdict);
    let top = strip.min(least);
    Rect {
        y: top,
        height: keys.y.saturating_sub(top),
        ..keys
    }
}

/// The places of a state.
pub(crate) fn places_of(state: &State, area: Rect) -> Places {
    let is_read = state.focus != Panel::Do || state.scroll_of(Panel::Do) > 0;
    let front = match state.mode {
        Mode::Browse if is_read => Front::Panel,
        Mode::Browse => Front::Strip,
        _ => Front::Layer,
    };
    places(area, state.focus, front)
}

/// Whether the screen is too small to be used.
pub(crate) const fn is_too_small(area: Rect) -> bool {
    area.width < LEAST.0 || area.height < LEAST.1
}

/// The places on a screen that is not too small, `focus` being one of its panels. With a layer open over the panels
/// the strip is lower, so that the layer has room, and on a wide screen panels are at its right.
pub(crate) fn places(area: Rect, focus: Panel, front: Front) -> Places {
    let layer = front == Front::Layer;
    let labels = if area.width < 60 { 5 } else { 8 };
    let height = area.height;
    let day_rows = u16::from(height >= 14);
    let legend_rows = u16::from(height >= 16);
    let name_rows = if height >= 18 { 2 } else { 1 };
    let mark_rows = if height >= 30 { 2 } else { 1 };
    let verdict_rows = if height >= 16 { 2 } else { 1 };
    let height_rows = if height >= 48 { 4 } else { 0 };
    // Title, ground, axis and keys are there in any case.
    let rest = height.saturating_sub(
        4 + verdict_rows + day_rows + legend_rows + name_rows + mark_rows + height_rows,
    );
    let fuel_rows = rest.div_ceil(2).min(6 + rest / 5).max(3).min(rest);
    let fuel_rows = if layer {
        fuel_rows.min((rest / 3).max(3))
    } else {
        fuel_rows
    };

    let mut next = area.y;
    let mut take = |rows: u16| {
        let rows = rows.min(area.bottom() - next);
        let taken = Rect {
            y: next,
            height: rows,
            ..area
        };
        next += rows;
        taken
    };
    let (title, verdict) = (take(1), take(verdict_rows));
    let right = |rows: Rect| Rect {
        x: rows.x + labels,
        width: rows.width - labels,
        ..rows
    };
    let days = take(day_rows);
    let strip = StripPlaces {
        days: right(days),
        names: right(take(name_rows)),
        ground: right(take(1)),
        fuel: right(take(fuel_rows)),
        heights: right(take(height_rows)),
        marks: right(take(mark_rows)),
        axis: right(take(1)),
        labels: Rect {
            width: labels,
            height: day_rows + name_rows + fuel_rows + height_rows + mark_rows + 2,
            ..days
        },
    };
    let legend = take(legend_rows);
    let panels = take(rest - fuel_rows);
    let footer = take(1);
    let panels = if front == Front::Panel && panels.height < LOWEST_PANEL {
        foot(strip.axis.bottom(), verdict.bottom(), footer)
    } else if layer {
        // The legend is not shown beside a layer.
        let room = Rect {
            y: legend.y,
            height: legend.height + panels.height,
            ..panels
        };
        past(room, layer_width(area.width))
    } else {
        panels
    };
    Places {
        title,
        verdict,
        strip,
        legend,
        panels: panel_places(panels, focus),
        footer,
    }
}

/// The panels in rows from left to right, as many as fit, the one in focus always among them.
fn panel_places(area: Rect, focus: Panel) -> Vec<(Panel, Rect)> {
    if area.is_empty() {
        return Vec::new();
    }
    let across = usize::from((area.width / PANEL_WIDTH).clamp(1, 3));
    let down = usize::from((area.height / PANEL_HEIGHT).clamp(1, 2));
    let mut shown = Panel::ALL[..Panel::ALL.len().min(across * down)].to_vec();
    let is_shown = shown.contains(&focus);
    if let Some(last) = shown.last_mut().filter(|_| !is_shown) {
        *last = focus;
    }
    let rows: Vec<&[Panel]> = shown.chunks(across).collect();
    let mut places = Vec::new();
    for (index, panels) in rows.iter().enumerate() {
        let (y, height) = part(area.height, rows.len(), index);
        for (at, &panel) in panels.iter().enumerate() {
            let is_last = at + 1 == panels.len();
            let (x, width) = part(area.width, across.min(shown.len()), at);
            let width = if is_last { area.width - x } else { width };
            // A blank column between neighbours.
            let gap = u16::from(!is_last);
            let place = Rect {
                x: area.x + x,
                y: area.y + y,
                width: width - gap.min(width),
                height,
            };
            places.push((panel, place));
        }
    }
    places
}

/// Columns of a layer on a screen of that width: all, unless there is room for panels beside it.
fn layer_width(screen: u16) -> u16 {
    let room = screen.saturating_sub(LAYER_WIDTH + 1);
    if room < PANEL_WIDTH {
        screen
    } else {
        screen - room.min(screen * 9 / 20)
    }
}

/// Start and length of part `index` when `whole` is cut into `count` parts.
fn part(whole: u16, count: usize, index: usize) -> (u16, u16) {
    let border = |i: usize| u16::try_from(usize::from(whole) * i / count).unwrap_or(whole);
    (border(index), border(index + 1) - border(index))
}
