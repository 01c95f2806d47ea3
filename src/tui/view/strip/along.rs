//! What is written along the route: days, places, marks, and round numbers on the axis.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::grid::Grid;
use super::seen::Seen;
use crate::present::axis;
use crate::present::daylight;
use crate::present::mark::{Mark, MarkKind};
use crate::present::name::{plain, width};
use crate::present::number::{Toward, Units, trimmed};
use crate::present::range;
use crate::present::strip::Supply;
use crate::tui::state::{Basis, State};
use crate::tui::theme::{BOLD, CHOSEN, DIM, Meaning, Theme};
use crate::tui::view::labels::{self, Label};
use crate::tui::view::layout::StripPlaces;
use crate::tui::view::shapes;
use crate::tui::view::text::{past, row, write};

/// Columns between two numbers of the axis, at least.
const TICK_ROOM: f64 = 11.0;

/// The days along their row, and their borders.
pub(super) fn draw_days(state: &State, grid: Grid, places: &StripPlaces, buf: &mut Buffer) {
    let strip = state.strip();
    let plan = state.judged_or_shown().plan();
    // Columns, ranks, shapes, and the first and the last day of a border.
    let mut borders: Vec<(u16, u8, &'static str, [u32; 2])> = Vec::new();
    for column in 0..grid.columns {
        let within = strip.days(grid.run_of(column));
        if let (Some(first), Some(last)) = (within.first(), within.last()) {
            let shape = if column == 0 { "" } else { shapes::DAY };
            borders.push((column, 0, shape, [first.day, last.day]));
        }
    }
    // A day that began further left is reported at the border.
    if let Some(leg) = state.plan().legs.get(strip.leg_at(grid.run().start) - 1) {
        borders.push((0, 1, "", [leg.day; 2]));
    }
    let end_of = |column: u16| {
        let columns = borders.iter().map(|&(column, ..)| column);
        columns
            .filter(|&next| next > column)
            .min()
            .unwrap_or(grid.columns)
    };
    let label = |&(column, rank, shape, [first, last]): &(u16, u8, &'static str, [u32; 2])| {
        let days = if first == last {
            first.to_string()
        } else {
            format!("{first}–{last}")
        };
        let light = daylight::in_short(plan, first).filter(|_| first == last);
        let long = light.map(|light| format!("day {days}, {light}"));
        // Beyond the next border it would be that of another day.
        let fits = |text: &String| {
            usize::from(column) + width(shape) + width(text) < end_of(column).into()
        };
        Label {
            column,
            rank,
            shape,
            wordings: long
                .filter(fits)
                .into_iter()
                .chain([format!("day {days}"), days.clone()])
                .collect(),
            least: None,
            of: (),
        }
    };
    let labels: Vec<Label<()>> = borders.iter().map(label).collect();
    for placed in labels::place(labels, usize::from(places.days.height), grid.columns) {
        let at = past(row(places.days, placed.row), placed.column);
        write(buf, at, &placed.text, DIM);
    }
}

/// Marks with their words, the gravest first.
pub(super) fn draw_marks(
    state: &State,
    theme: Theme,
    grid: Grid,
    area: Rect,
    buf: &mut Buffer,
    seen: &mut Seen,
) {
    let units = state.units();
    let is_calculating = state.basis() == Basis::Calculating;
    let mut labels: Vec<Label<MarkKind>> = Vec::new();
    for column in 0..grid.columns {
        let run = grid.reach_of(column);
        let gravest = state
            .strip()
            .marks(run)
            .iter()
            .take(64)
            .filter(|mark| !is_calculating || !mark.kind.is_decision())
            .min_by_key(|mark| mark.kind.rank());
        if let Some(mark) = gravest {
            labels.push(Label {
                column,
                rank: mark.kind.rank(),
                shape: shapes::mark(mark.kind),
                wordings: wordings(mark, units),
                // Where to turn back or what falls short is worth nothing without its kilometre.
                least: (!matches!(mark.kind, MarkKind::Decant { .. })).then_some(FIGURE),
                of: mark.kind,
            });
        }
    }
    for placed in labels::place(labels, usize::from(area.height), grid.columns) {
        let meaning = match placed.of {
            MarkKind::RunsDry | MarkKind::BelowReserve | MarkKind::BelowMinimum => Meaning::Short,
            MarkKind::TurnBack { .. } => Meaning::TurnBack,
            MarkKind::Decant { .. } => Meaning::Cans,
        };
        let at = past(row(area, placed.row), placed.column);
        let used = write(buf, at, &placed.text, theme.words(meaning));
        let shape = shapes::mark(placed.of);
        for x in at.x..at.x + used {
            if buf[(x, at.y)].symbol() == shape {
                buf[(x, at.y)].set_style(theme.strong(meaning));
            }
        }
        if !placed.in_full {
            seen.add(
                shapes::mark(placed.of),
                legend(placed.of),
                theme.strong(meaning),
            );
        }
    }
}

/// What a marker with its figure alone is, in the legend.
const fn legend(kind: MarkKind) -> &'static str {
    match kind {
        MarkKind::TurnBack { .. } => "turn-back point, km",
        MarkKind::Decant { .. } => "decant, L",
        other => other.name(),
    }
}

/// The wording of a marker that is its figure alone.
const FIGURE: usize = 1;

/// A marker in words, with its figure, as its shape alone.
fn wordings(mark: &Mark, units: Units) -> Vec<String> {
    let figure = match mark.kind {
        MarkKind::Decant { litres } => units.litres(litres).number,
        MarkKind::TurnBack { .. }
        | MarkKind::RunsDry
        | MarkKind::BelowReserve
        | MarkKind::BelowMinimum => units.at_number(mark.at, Toward::Down),
    };
    vec![format!(" {}", mark.label(units)), figure, String::new()]
}

/// Names of places: the ends of the chosen leg first, then places with fuel, then the others.
pub(super) fn draw_names(
    state: &State,
    theme: Theme,
    grid: Grid,
    area: Rect,
    buf: &mut Buffer,
    seen: &mut Seen,
) {
    let strip = state.strip();
    let mut labels: Vec<Label<(Supply, bool)>> = Vec::new();
    let mut add = |place_number: usize, column: u16| {
        let place = strip.place(place_number);
        let chosen = place_number == state.leg() || place_number + 1 == state.leg();
        labels.push(Label {
            column,
            rank: match place.supply {
                _ if chosen => 0,
                Supply::Counted | Supply::NotCounted => 1,
                Supply::None => 2,
            },
            shape: shapes::place(place.supply),
            wordings: vec![plain(place.name).into_owned()],
            least: None,
            of: (place.supply, chosen),
        });
    };
    for place_number in [state.leg() - 1, state.leg()] {
        let known = place_number <= state.plan().legs.len();
        if let Some(column) =
            grid.column_of(strip.place(place_number.min(state.plan().legs.len())).at)
            && known
        {
            add(place_number, column);
        }
    }
    for column in 0..grid.columns {
        let run = grid.reach_of(column);
        let place = strip
            .first_stop(run.clone())
            .or_else(|| strip.places(run).next());
        if let Some(place) = place
            && place.place_number != state.leg()
            && place.place_number + 1 != state.leg()
            && grid.column_of(place.at).is_some()
        {
            add(place.place_number, column);
        }
    }
    for placed in labels::place(labels, usize::from(area.height), grid.columns) {
        let (supply, chosen) = placed.of;
        let style = if chosen { BOLD } else { Style::new() };
        let at = past(row(area, placed.row), placed.column);
        write(buf, at, &placed.text, style);
        match supply {
            Supply::Counted => seen.add(shapes::place(supply), "fuel", theme.fg(Meaning::Tank)),
            Supply::NotCounted => seen.add(shapes::place(supply), "unconfirmed", BOLD),
            Supply::None => {}
        }
    }
}

/// Round kilometres, and the cursor's own.
pub(super) fn draw_axis(state: &State, grid: Grid, area: Rect, buf: &mut Buffer) {
    let units = state.units();
    let mut labels = Vec::new();
    // Numbers of the axis leave room for the text of the cursor.
    let mut free_of_ticks = 0..0;
    if let Some(column) = grid.column_of(state.at()) {
        let here = units.at(state.at(), Toward::Nearest);
        let plan = state.judged_or_shown().plan();
        let left = range::known_left_at(plan, state.at(), units);
        let long = left.map(|left| format!("{here}, {left}"));
        let room = long.as_deref().map_or(0, |long| width(long) + 2);
        let at = usize::from(column);
        if room > 0 {
            free_of_ticks = at..at + room;
        }
        labels.push(Label {
            column,
            rank: 0,
            shape: shapes::HERE,
            wordings: long.into_iter().chain([here]).collect(),
            least: None,
            of: true,
        });
    }
    let step = units.distance_step();
    let ticks = axis::round_step(grid.per_column * TICK_ROOM / step);
    let run = grid.run();
    let mut tick = (run.start / step / ticks).ceil();
    for _ in 0..grid.columns {
        let km = step * (tick * ticks);
        if km > run.end || km > state.strip().length() {
            break;
        }
        let column = grid.column_of(km);
        if let Some(column) = column.filter(|&at| !free_of_ticks.contains(&at.into())) {
            labels.push(Label {
                column,
                rank: 1,
                shape: shapes::TICK,
                wordings: vec![trimmed(tick * ticks)],
                least: None,
                of: false,
            });
        }
        tick += 1.0;
    }
    for placed in labels::place(labels, usize::from(area.height), grid.columns) {
        let at = past(row(area, placed.row), placed.column);
        write(buf, at, &placed.text, if placed.of { CHOSEN } else { DIM });
    }
}
