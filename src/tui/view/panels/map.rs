//! Where the way runs: north up, to scale, dots of braille for the line, shapes for places and marks.
//!
//! A cell is twice as high as it is wide and has two by four dots, so a dot is as wide as it is high, and one scale
//! serves both directions.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use crate::present::map::Spot;
use crate::present::mark::MarkKind;
use crate::present::name::plain;
use crate::present::number::trimmed;
use crate::present::strip::Supply;
use crate::quantity::{Metres, Share};
use crate::tui::chart::Chart;
use crate::tui::state::{Basis, State};
use crate::tui::theme::{BOLD, CHOSEN, DIM, Meaning, Theme};
use crate::tui::view::shapes;
use crate::tui::view::text::{above, columns, cut, past, row, write, write_right};

/// Metres in a kilometre.
const KILOMETRE: f64 = 1000.0;
/// The scale bar takes this part of the width at most.
const BAR: f64 = 0.4;

pub(super) fn draw(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let Some(chart) = state.chart() else {
        return;
    };
    // The last row is the scale's.
    let room = above(area, 1);
    if room.is_empty() || room.width < 8 {
        return;
    }
    let fit = Fit::of(chart, room);
    let mut dots = Dots::new(room);
    for (_, spots) in &chart.legs {
        dots.line(&fit, spots, false);
    }
    for (_, spots) in chart.lines_of(state.leg()) {
        dots.line(&fit, spots, true);
    }
    dots.draw(buf);
    draw_places(state, chart, &fit, theme, buf);
    draw_cursor(state, chart, &fit, buf);
    let scale = row(area, usize::from(room.height));
    draw_scale(state, &fit, scale, buf);
    let legs = state.plan().legs.len();
    let missing = match (chart.unknown, chart.straight) {
        (0, 0) => String::new(),
        (0, _) => "straight lines: no track".to_owned(),
        (unknown, _) => format!("{unknown} of {legs} legs without coordinates"),
    };
    write_right(buf, scale, &missing, DIM);
    write_right(buf, row(room, 0), "north ↑", DIM);
}

/// Metres to dots.
struct Fit {
    room: Rect,
    /// Metres in a dot.
    dot: f64,
    left: f64,
    top: f64,
    height: f64,
}

impl Fit {
    fn of(chart: &Chart, room: Rect) -> Self {
        let (wide, high) = (f64::from(room.width) * 2.0, f64::from(room.height) * 4.0);
        let (width, height) = (chart.width.get(), chart.height.get());
        // A cell at the border stays free for what is on a point there.
        let dot = (width / (wide - 4.0).max(1.0))
            .max(height / (high - 4.0).max(1.0))
            .max(f64::MIN_POSITIVE);
        Self {
            room,
            dot,
            left: (wide - width / dot) / 2.0,
            top: (high - height / dot) / 2.0,
            height,
        }
    }

    /// A point in dots, from the upper left.
    fn dots(&self, spot: Spot) -> (f64, f64) {
        (
            self.left + spot.east.get() / self.dot,
            self.top + (self.height - spot.north.get()) / self.dot,
        )
    }

    /// The cell of a point on the screen.
    fn cell(&self, spot: Spot) -> (u16, u16) {
        let (x, y) = self.dots(spot);
        (
            self.room.x + whole(x / 2.0).min(self.room.width - 1),
            self.room.y + whole(y / 4.0).min(self.room.height - 1),
        )
    }
}

/// A number of dots or cells.
fn whole(value: f64) -> u16 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped; no number becomes 0"
    )]
    let whole = value.clamp(0.0, f64::from(u16::MAX)) as u16;
    whole
}

/// Dots of braille over a room.
struct Dots {
    room: Rect,
    cells: Vec<(u8, bool)>,
}

impl Dots {
    fn new(room: Rect) -> Self {
        Self {
            room,
            cells: vec![(0, false); usize::from(room.width) * usize::from(room.height)],
        }
    }

    fn set(&mut self, x: u16, y: u16, chosen: bool) {
        /// Bits of the dots of a braille cell, a row a pair (Unicode, block U+2800).
        const BITS: [[u8; 2]; 4] = [[0x01, 0x08], [0x02, 0x10], [0x04, 0x20], [0x40, 0x80]];
        let (column, line) = (x / 2, y / 4);
        if column < self.room.width && line < self.room.height {
            let at = usize::from(line) * usize::from(self.room.width) + usize::from(column);
            self.cells[at].0 |= BITS[usize::from(y % 4)][usize::from(x % 2)];
            self.cells[at].1 |= chosen;
        }
    }

    fn line(&mut self, fit: &Fit, spots: &[Spot], chosen: bool) {
        for pair in spots.windows(2) {
            let ((x0, y0), (x1, y1)) = (fit.dots(pair[0]), fit.dots(pair[1]));
            let steps = whole((x1 - x0).abs().max((y1 - y0).abs()).ceil()).max(1);
            for step in 0..=steps {
                let part = f64::from(step) / f64::from(steps);
                self.set(
                    whole(x0 + (x1 - x0) * part),
                    whole(y0 + (y1 - y0) * part),
                    chosen,
                );
            }
        }
    }

    fn draw(&self, buf: &mut Buffer) {
        for (at, &(bits, chosen)) in self.cells.iter().enumerate() {
            if bits == 0 {
                continue;
            }
            let width = usize::from(self.room.width);
            let (Ok(x), Ok(y)) = (u16::try_from(at % width), u16::try_from(at / width)) else {
                continue;
            };
            let shape = char::from_u32(0x2800 + u32::from(bits)).unwrap_or('.');
            let style = if chosen { BOLD } else { DIM };
            buf[(self.room.x + x, self.room.y + y)]
                .set_char(shape)
                .set_style(style);
        }
    }
}

/// Places and marks as shapes, the ends of the chosen leg with their names.
fn draw_places(state: &State, chart: &Chart, fit: &Fit, theme: Theme, buf: &mut Buffer) {
    let mut put = |spot: Spot, supply: Supply, otherwise: Style| {
        let style = match supply {
            Supply::Counted => theme.strong(Meaning::Tank),
            _ => otherwise,
        };
        let cell = &mut buf[fit.cell(spot)];
        cell.set_symbol(shapes::place(supply)).set_style(style);
    };
    for &(_, supply, spot) in &chart.places {
        if supply != Supply::None {
            put(spot, supply, Style::new());
        }
    }
    let ends = chart.places_from(state.leg().saturating_sub(1), 2);
    for &(_, supply, spot) in ends {
        put(spot, supply, BOLD);
    }
    let is_calculating = state.basis() == Basis::Calculating;
    let mut marks: Vec<_> = chart.marks.iter().collect();
    // The gravest is drawn last, over the others of its cell.
    marks.sort_by_key(|(kind, _)| std::cmp::Reverse(kind.rank()));
    for &&(kind, spot) in &marks {
        if is_calculating && kind.is_decision() {
            continue;
        }
        let meaning = match kind {
            MarkKind::RunsDry | MarkKind::BelowReserve | MarkKind::BelowMinimum => Meaning::Short,
            MarkKind::TurnBack { .. } => Meaning::TurnBack,
            MarkKind::Decant { .. } => Meaning::Cans,
        };
        buf[fit.cell(spot)]
            .set_symbol(shapes::mark(kind))
            .set_style(theme.strong(meaning));
    }
    for &(place_number, _, spot) in ends {
        let (x, y) = fit.cell(spot);
        name(
            &plain(state.strip().place(place_number).name),
            x,
            y,
            fit.room,
            buf,
        );
    }
}

/// Writes a name beside a cell, where there is room that nothing else has.
fn name(place_name: &str, x: u16, y: u16, room: Rect, buf: &mut Buffer) {
    let right = room.right() - x - 1;
    let line = Rect::new(x + 1, y, right, 1);
    let free = (x + 1..room.right())
        .take_while(|&column| buf[(column, y)].symbol() == " ")
        .count();
    let free = u16::try_from(free).unwrap_or(right);
    if free >= columns(place_name).min(6) {
        let shown = cut(place_name, free);
        write(buf, line, &shown, Style::new());
    }
}

/// The cursor's place.
fn draw_cursor(state: &State, chart: &Chart, fit: &Fit, buf: &mut Buffer) {
    let Some(leg) = state.chosen() else { return };
    let part = if leg.distance.get() > 0.0 {
        (state.at() - leg.from_km) / leg.distance
    } else {
        0.0
    };
    if let Some(spot) = chart.point_of(state.leg(), Share::new(part)) {
        let (x, y) = fit.cell(spot);
        buf[(x, y)].set_style(CHOSEN);
    }
}

/// A bar of a round length.
fn draw_scale(state: &State, fit: &Fit, line: Rect, buf: &mut Buffer) {
    let step = state.units().distance_step().get() * KILOMETRE;
    let cell = Metres::new(fit.dot * 2.0).get();
    let most = f64::from(line.width) * BAR * cell / step;
    // The largest round length that fits: 1, 2 or 5 times a power of ten.
    let ten = 10.0_f64.powf(most.log10().floor());
    let round = [5.0, 2.0, 1.0]
        .into_iter()
        .map(|times| times * ten)
        .find(|&length| length <= most)
        .unwrap_or(ten);
    let cells = whole((round * step / cell).round()).clamp(2, line.width);
    let bar = format!("├{}┤", "─".repeat(usize::from(cells - 2)));
    let used = write(buf, line, &bar, DIM);
    let scale = format!(" {} {}", trimmed(round), state.units().distance_unit());
    let used = used + write(buf, past(line, used), &scale, DIM);
    write(buf, past(line, used + 2), "highlight: the cursor", DIM);
}
