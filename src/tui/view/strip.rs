//! The strip on a terminal: days, places, ground, fuel, marks and kilometres over one another.
//!
//! The way is cut into columns of equal length, counted from the start of the trip, so that a
//! column looks the same wherever the strip is scrolled to. Fuel is drawn at the worst point of its
//! column: the tank solid to an eighth of a row, cans as a lighter texture on top of it. Only what
//! is visible is looked at.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};
use std::ops::Range;

use super::super::state::State;
use super::super::theme::{BOLD, CHOSEN, DIM, Meaning, Theme};
use super::labels::{self, Label};
use super::layout::StripPlaces;
use super::shapes;
use super::text::{columns, past, row, write, write_right};
use crate::present::name::plain;
use crate::present::number::Toward;
use crate::present::strip::{Ground, Level, MarkKind, Strip, Supply};
use crate::quantity::{Kilometres, Litres};

/// A leg of at least this many columns has its border drawn in the ground.
const BORDER_FROM: i64 = 4;
/// Columns between two numbers of the axis, at least.
const TICK_ROOM: f64 = 11.0;

/// The columns of the strip: which kilometres stand where.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grid {
    per_column: Kilometres,
    /// The first visible column, counted from the start of the trip.
    first: i64,
    /// How many are visible.
    columns: u16,
}

impl Grid {
    /// The columns that a state shows on `columns` columns.
    pub fn of(state: &State, columns: u16) -> Self {
        let look = state.look();
        let per_column = look.span / f64::from(columns.max(1));
        let grid = Self {
            per_column,
            first: 0,
            columns,
        };
        Self {
            first: grid.absolute(look.left),
            ..grid
        }
    }

    /// Column of a kilometre, counted from the start of the trip.
    fn absolute(&self, km: Kilometres) -> i64 {
        // The last bit of a sum must not move a border by a column.
        whole((km / self.per_column + 1e-9).floor())
    }

    /// Column of a kilometre on the screen, if it is there. What lies on the right border belongs
    /// to the last column.
    pub fn column_of(&self, km: Kilometres) -> Option<u16> {
        let column = self.absolute(km) - self.first;
        let last = i64::from(self.columns) - 1;
        let column = if column == last + 1 { last } else { column };
        u16::try_from(column).ok().filter(|&c| c < self.columns)
    }

    /// Kilometres of a column on the screen.
    pub fn run_of(&self, column: u16) -> Range<Kilometres> {
        let start = self.first + i64::from(column);
        self.per_column * start as f64..self.per_column * (start + 1) as f64
    }

    /// The middle of a column on the screen.
    pub fn middle_of(&self, column: u16) -> Kilometres {
        let run = self.run_of(column);
        (run.start + run.end) / 2.0
    }

    /// All kilometres on the screen.
    pub fn run(&self) -> Range<Kilometres> {
        self.run_of(0).start..self.run_of(self.columns).start
    }
}

fn whole(number: f64) -> i64 {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "saturates; no number becomes 0"
    )]
    let whole = number as i64;
    whole
}

/// What was drawn and has no words beside it: the legend is made of these.
#[derive(Clone, Debug, Default)]
pub struct Seen {
    /// Shapes with their meaning, as they are to be told.
    entries: Vec<(&'static str, &'static str, Style)>,
}

impl Seen {
    fn add(&mut self, shape: &'static str, says: &'static str, style: Style) {
        if !self.entries.iter().any(|(known, ..)| *known == shape) {
            self.entries.push((shape, says, style));
        }
    }

    /// Writes the legend into a row, as far as whole entries fit.
    pub fn render(&self, area: Rect, buf: &mut Buffer) {
        let mut used = 0;
        for (shape, says, style) in &self.entries {
            let width = columns(shape) + 1 + columns(says);
            if used + width > area.width {
                break;
            }
            let shape_columns = write(buf, past(area, used), shape, *style);
            write(buf, past(area, used + shape_columns + 1), says, DIM);
            used += width + 2;
        }
    }
}

/// Draws the strip and returns what the legend must explain.
pub fn render(state: &State, theme: Theme, places: &StripPlaces, buf: &mut Buffer) -> Seen {
    let grid = Grid::of(state, places.fuel.width);
    let mut seen = Seen::default();
    if places.fuel.is_empty() {
        return seen;
    }
    let scale = Scale::of(state.strip(), places.fuel.height);
    draw_labels(state, places, scale, buf);
    draw_days(state, grid, places, buf);
    // In the order in which the legend tells it.
    draw_fuel(state, theme, grid, scale, places.fuel, buf, &mut seen);
    draw_marks(state, theme, grid, places.marks, buf, &mut seen);
    draw_ground(state, grid, places.ground, buf, &mut seen);
    draw_names(state, theme, grid, places.names, buf, &mut seen);
    draw_axis(state, grid, places.axis, buf);
    seen
}

/// Litres to rows.
#[derive(Clone, Copy, Debug)]
struct Scale {
    top: Litres,
    rows: u16,
}

impl Scale {
    fn of(strip: &Strip, rows: u16) -> Self {
        Self {
            top: strip.top(),
            rows,
        }
    }

    /// Eighths of a row that so many litres are high.
    fn eighths(self, litres: Litres) -> i64 {
        let share = if self.top > Litres::ZERO {
            litres / self.top
        } else {
            0.0
        };
        whole((share.clamp(0.0, 1.0) * f64::from(self.rows) * 8.0).round())
    }

    /// The row, counted from below, that a height of so many litres lies in.
    fn row_from_below(self, litres: Litres) -> i64 {
        ((self.eighths(litres) - 1).max(0)) / 8
    }
}

/// The labels at the left, which stay when the strip scrolls.
fn draw_labels(state: &State, places: &StripPlaces, scale: Scale, buf: &mut Buffer) {
    let wide = places.labels.width >= 8;
    let room = Rect {
        width: places.labels.width.saturating_sub(1),
        ..places.labels
    };
    let at = |y: u16| row(room, usize::from(y.saturating_sub(places.labels.y)));
    let mut label = |y: u16, text: &str| write_right(buf, at(y), text, DIM);
    if wide {
        label(places.names.y, "places");
        label(places.ground.y, "ground");
        label(places.marks.y, "marks");
    }
    label(places.axis.y, state.units().distance_unit());
    let tank = state.plan().trip.vehicle.usable_tank();
    let units = state.units();
    let from_below = |rows: i64| {
        let rows = u16::try_from(rows).unwrap_or(0).min(places.fuel.height - 1);
        places.fuel.bottom() - 1 - rows
    };
    // The line moves with the legs; its label stays where the line ends.
    let finish = state.plan().course.last();
    let reserve_row = finish.map_or(0, |span| scale.row_from_below(span.reserve_to));
    let tank_row = scale.row_from_below(tank);
    let top_row = scale.row_from_below(scale.top);
    if top_row != tank_row {
        label(from_below(top_row), &units.litres(scale.top).to_string());
    }
    if reserve_row != tank_row {
        label(
            from_below(reserve_row),
            if wide { "reserve" } else { "res" },
        );
    }
    let tank = units.litres(tank);
    let says = if wide {
        format!("tank {}", tank.number)
    } else {
        tank.to_string()
    };
    label(from_below(tank_row), &says);
}

/// The days along their row, and their borders.
fn draw_days(state: &State, grid: Grid, places: &StripPlaces, buf: &mut Buffer) {
    let strip = state.strip();
    let mut labels: Vec<Label<()>> = Vec::new();
    let mut add = |column, rank, shape, first: u32, last: u32| {
        let days = if first == last {
            first.to_string()
        } else {
            format!("{first}–{last}")
        };
        labels.push(Label {
            column,
            rank,
            shape,
            wordings: vec![format!("day {days}"), days],
            may_cut: false,
            of: (),
        });
    };
    for column in 0..grid.columns {
        let borders = strip.days(grid.run_of(column));
        if let (Some(first), Some(last)) = (borders.first(), borders.last()) {
            let shape = if column == 0 { "" } else { shapes::DAY };
            add(column, 0, shape, first.day, last.day);
        }
    }
    // A day that began further left is told at the border.
    if let Some(leg) = state.plan().legs.get(strip.leg_at(grid.run().start) - 1) {
        add(0, 1, "", leg.day, leg.day);
    }
    for placed in labels::place(labels, usize::from(places.days.height), grid.columns) {
        let at = past(row(places.days, placed.row), placed.column);
        write(buf, at, &placed.text, DIM);
    }
}

/// The column borders of days in the empty part of the fuel.
fn is_day_border(strip: &Strip, grid: Grid, column: u16) -> bool {
    matches!(strip.days(grid.run_of(column)), [border, ..] if border.at > Kilometres::ZERO)
}

/// Tank and cans, the lines across, and the cursor.
fn draw_fuel(
    state: &State,
    theme: Theme,
    grid: Grid,
    scale: Scale,
    area: Rect,
    buf: &mut Buffer,
    seen: &mut Seen,
) {
    let strip = state.strip();
    let tank_line = scale.row_from_below(state.plan().trip.vehicle.usable_tank());
    let cursor = grid.column_of(state.at());
    for column in 0..grid.columns {
        let run = grid.run_of(column);
        if run.start >= strip.length() && column > 0 {
            break;
        }
        let Some(level) = strip.worst(run) else {
            continue;
        };
        let fuel = Column::of(&level, scale);
        if fuel.short {
            seen.add(
                shapes::SHORT,
                "below the reserve",
                theme.strong(Meaning::Short),
            );
        }
        if level.is_dry() {
            seen.add(shapes::DRY, "dry", theme.strong(Meaning::Short));
        }
        if fuel.top > fuel.tank {
            seen.add(shapes::CANS, "cans", theme.fg(Meaning::Cans));
        }
        let border = is_day_border(strip, grid, column);
        for from_below in 0..i64::from(scale.rows) {
            let (mut shape, mut style) = fuel.cell(from_below, theme);
            if shape == " " {
                (shape, style) = match from_below {
                    _ if cursor == Some(column) => (shapes::CURSOR, Style::new()),
                    at if at == fuel.reserve => (shapes::RESERVE, theme.fg(Meaning::Care)),
                    at if at == tank_line => (shapes::TANK_TOP, DIM),
                    _ if border => (shapes::DAY, DIM),
                    _ => continue,
                };
            } else if cursor == Some(column) && !fuel.short {
                (shape, style) = (shapes::CURSOR, style.add_modifier(Modifier::REVERSED));
            } else if from_below == fuel.reserve && shape == shapes::FULL {
                (shape, style) = (shapes::RESERVE, style.add_modifier(Modifier::REVERSED));
            }
            let from_below = u16::try_from(from_below).unwrap_or(0);
            let cell = &mut buf[(area.x + column, area.bottom() - 1 - from_below)];
            cell.set_symbol(shape).set_style(style);
        }
    }
}

/// The heights of one column of fuel.
#[derive(Clone, Copy, Debug)]
struct Column {
    /// Eighths of a row that the tank fills.
    tank: i64,
    /// Eighths of a row that tank and cans fill, whole rows where there are cans.
    top: i64,
    /// Row of the reserve, from below.
    reserve: i64,
    /// Whether the reserve is broken.
    short: bool,
}

impl Column {
    fn of(level: &Level, scale: Scale) -> Self {
        let fuel = level.on_board;
        let tank = scale.eighths(fuel.tank);
        let (tank, top) = if fuel.cans > Litres::ZERO {
            // A texture has no eighths: the border is rounded to a row, and some of it is seen.
            let rounded = |eighths: i64| (eighths + 4) / 8 * 8;
            let top = rounded(scale.eighths(fuel.tank + fuel.cans)).max(8);
            (rounded(tank).min(top - 8), top)
        } else {
            (tank, tank)
        };
        Self {
            tank,
            top,
            reserve: scale.row_from_below(fuel.reserve),
            short: level.margin() < Litres::ZERO,
        }
    }

    /// Shape and colour of the row `from_below`.
    fn cell(self, from_below: i64, theme: Theme) -> (&'static str, Style) {
        const PARTS: [&str; 9] = [" ", "▁", "▂", "▃", "▄", "▅", "▆", "▇", shapes::FULL];
        let in_row = |eighths: i64| (eighths - from_below * 8).clamp(0, 8);
        if self.short {
            return match in_row(self.top) {
                0 if from_below == 0 => (shapes::DRY, theme.strong(Meaning::Short)),
                0 => (" ", Style::new()),
                _ => (shapes::SHORT, theme.strong(Meaning::Short)),
            };
        }
        if in_row(self.top) > 0 && in_row(self.tank) == 0 {
            return (shapes::CANS, theme.fg(Meaning::Cans));
        }
        let eighths = usize::try_from(in_row(self.tank)).unwrap_or(0);
        (PARTS[eighths], theme.fg(Meaning::Tank))
    }
}

/// Marks with their words, the gravest first.
fn draw_marks(
    state: &State,
    theme: Theme,
    grid: Grid,
    area: Rect,
    buf: &mut Buffer,
    seen: &mut Seen,
) {
    let units = state.units();
    let mut labels: Vec<Label<MarkKind>> = Vec::new();
    for column in 0..grid.columns {
        let run = if column + 1 == grid.columns {
            // The last column has the end of the trip in it.
            grid.run_of(column).start..grid.run_of(column + 1).end
        } else {
            grid.run_of(column)
        };
        let gravest = state
            .strip()
            .marks(run)
            .iter()
            .take(64)
            .min_by_key(|mark| mark.kind.rank());
        if let Some(mark) = gravest {
            labels.push(Label {
                column,
                rank: mark.kind.rank(),
                shape: shapes::mark(mark.kind),
                wordings: vec![
                    format!(" {}", mark.label(units)),
                    shapes::letter(mark.kind).to_owned(),
                ],
                may_cut: false,
                of: mark.kind,
            });
        }
    }
    for placed in labels::place(labels, usize::from(area.height), grid.columns) {
        let meaning = match placed.of {
            MarkKind::RunsDry | MarkKind::BelowReserve => Meaning::Short,
            MarkKind::TurnBack { .. } => Meaning::Care,
            MarkKind::Pour { .. } => Meaning::Cans,
        };
        let at = past(row(area, placed.row), placed.column);
        write(buf, at, &placed.text, theme.strong(meaning));
        if !placed.in_full {
            seen.add(
                shapes::mark(placed.of),
                placed.of.name(),
                theme.strong(meaning),
            );
        }
    }
}

/// Names of places: the ends of the chosen leg first, then places with fuel, then the others.
fn draw_names(
    state: &State,
    theme: Theme,
    grid: Grid,
    area: Rect,
    buf: &mut Buffer,
    seen: &mut Seen,
) {
    let strip = state.strip();
    let mut labels: Vec<Label<(Supply, bool)>> = Vec::new();
    let mut add = |node: usize, column: u16| {
        let place = strip.place(node);
        let chosen = node == state.leg() || node + 1 == state.leg();
        labels.push(Label {
            column,
            rank: match place.supply {
                _ if chosen => 0,
                Supply::Counted | Supply::NotCounted => 1,
                Supply::None => 2,
            },
            shape: shapes::place(place.supply),
            wordings: vec![plain(place.name).into_owned()],
            may_cut: true,
            of: (place.supply, chosen),
        });
    };
    for node in [state.leg() - 1, state.leg()] {
        let known = node <= state.plan().legs.len();
        if let Some(column) = grid.column_of(strip.place(node.min(state.plan().legs.len())).at)
            && known
        {
            add(node, column);
        }
    }
    for column in 0..grid.columns {
        let run = if column + 1 == grid.columns {
            grid.run_of(column).start..grid.run_of(column + 1).end
        } else {
            grid.run_of(column)
        };
        let place = strip
            .first_stop(run.clone())
            .or_else(|| strip.places(run).next());
        if let Some(place) = place
            && place.node != state.leg()
            && place.node + 1 != state.leg()
            && grid.column_of(place.at).is_some()
        {
            add(place.node, column);
        }
    }
    for placed in labels::place(labels, usize::from(area.height), grid.columns) {
        let (supply, chosen) = placed.of;
        let style = if chosen { BOLD } else { Style::new() };
        let at = past(row(area, placed.row), placed.column);
        write(buf, at, &placed.text, style);
        match supply {
            Supply::Counted => seen.add(shapes::place(supply), "fuel", theme.fg(Meaning::Tank)),
            Supply::NotCounted => seen.add(shapes::place(supply), "doubtful fuel", BOLD),
            Supply::None => {}
        }
    }
}

/// The ground: a texture for each surface, sand and low range sown into it by their shares.
fn draw_ground(state: &State, grid: Grid, area: Rect, buf: &mut Buffer, seen: &mut Seen) {
    let strip = state.strip();
    if area.is_empty() || state.plan().legs.is_empty() {
        return;
    }
    for column in 0..grid.columns {
        let run = grid.run_of(column);
        if run.start >= strip.length() && column > 0 {
            break;
        }
        let ground = strip.ground_of(strip.leg_at(grid.middle_of(column).min(strip.length())));
        let first = grid.absolute(ground.from);
        let nth = (grid.first + i64::from(column) - first).max(0);
        let columns = grid.absolute(ground.to) - first;
        let (shape, says) = if nth == 0 && columns >= BORDER_FROM && ground.leg > 1 {
            (shapes::LEG, "")
        } else {
            texture(&ground, nth)
        };
        if !says.is_empty() {
            seen.add(shape, says, Style::new());
        }
        let style = if ground.leg == state.leg() {
            CHOSEN
        } else {
            Style::new()
        };
        buf[(area.x + column, area.y)]
            .set_symbol(shape)
            .set_style(style);
    }
    // A leg too short for a column of its own is chosen all the same.
    if let Some(leg) = state.chosen()
        && let Some(column) = grid.column_of(leg.from_km)
    {
        buf[(area.x + column, area.y)].set_style(CHOSEN);
    }
}

/// Texture of the `nth` column of a leg, with its meaning. Multiples of the golden ratio sow the
/// shares evenly at any length.
fn texture(ground: &Ground, nth: i64) -> (&'static str, &'static str) {
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    let draw = ((nth as f64 + 0.5) * GOLDEN).fract();
    let (sand, low, both) = (ground.sand.get(), ground.low_range.get(), ground.both.get());
    if draw < sand - both {
        (shapes::SAND, "sand")
    } else if draw < sand {
        (shapes::SAND_IN_LOW, "sand in low range")
    } else if draw < sand + low - both {
        (shapes::LOW_RANGE, "low range")
    } else {
        (shapes::surface(ground.surface), ground.surface.word())
    }
}

/// Round kilometres, and the cursor's own.
fn draw_axis(state: &State, grid: Grid, area: Rect, buf: &mut Buffer) {
    let units = state.units();
    let mut labels = Vec::new();
    if let Some(column) = grid.column_of(state.at()) {
        labels.push(Label {
            column,
            rank: 0,
            shape: shapes::HERE,
            wordings: vec![units.at(state.at(), Toward::Nearest)],
            may_cut: false,
            of: true,
        });
    }
    let step = units.distance_step();
    let ticks = round_step(grid.per_column * TICK_ROOM / step);
    let run = grid.run();
    let mut tick = (run.start / step / ticks).ceil();
    for _ in 0..grid.columns {
        let km = step * (tick * ticks);
        if km > run.end || km > state.strip().length() {
            break;
        }
        if let Some(column) = grid.column_of(km) {
            labels.push(Label {
                column,
                rank: 1,
                shape: shapes::TICK,
                wordings: vec![crate::present::number::trimmed(tick * ticks)],
                may_cut: false,
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

/// The least of 1, 2, 5 and their multiples by tens that is not below `least`.
fn round_step(least: f64) -> f64 {
    if !(least.is_finite() && least > 0.0) {
        return 1.0;
    }
    let ten = 10.0_f64.powf(least.log10().floor());
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|step| step * ten)
        .find(|&step| step >= least)
        .unwrap_or(10.0 * ten)
}
