//! The strip as SVG: the same description that the terminal draws.
//!
//! From top to bottom: days, names of places, the surface, altitudes where they are known, litres in tank
//! and cans with the line that they must stay above, kilometres, and what happens where. Up to the level that 5 % of the
//! trips do not reach the fuel has its full tone, above it up to the best estimate a tint. Every colour is doubled by a
//! shape or a pattern: a grey print loses nothing.

mod fuel;
mod ground;
mod labels;
mod legend;

use std::ops::Range;

use maud::{Markup, html};

use super::drawing::{Path, Placed, px};
use crate::present::axis::{round_step, ticks};
use crate::present::mark::Mark;
use crate::present::number::{Toward, Units, trimmed};
use crate::present::strip::{PlaceMark, Strip};
use crate::quantity::{Kilometres, Litres};

pub(super) use legend::legend;

/// A row of text.
const LINE: f64 = 13.0;
const GROUND: f64 = 14.0;
/// Half the width of a sign.
const SIGN: f64 = 5.0;
/// Legs of a row of a long trip, about, and most rows.
const LEGS_IN_ROW: usize = 14;
const MOST_ROWS: usize = 40;

/// The measures of a drawing in its own pixels.
#[derive(Clone, Copy)]
struct Shape {
    class: &'static str,
    width: f64,
    left: f64,
    right: f64,
    /// Heights of the altitudes and of the fuel.
    heights: f64,
    fuel: f64,
    /// Rows of names, and of what happens, at most.
    name_rows: usize,
    mark_rows: usize,
    /// Between two numbers of an axis, at least.
    tick_room: f64,
}

impl Shape {
    const fn has_names(&self) -> bool {
        self.name_rows > 0
    }
}

/// For paper and screens: about the width of A4 paper less its margins, at 96 to the inch.
const WIDE: Shape = Shape {
    class: "strip wide-strip",
    width: 720.0,
    left: 36.0,
    right: 712.0,
    heights: 20.0,
    fuel: 96.0,
    name_rows: 3,
    mark_rows: 5,
    tick_room: 56.0,
};

/// For a phone: the whole trip without names.
const NARROW: Shape = Shape {
    class: "strip narrow-strip",
    width: 344.0,
    left: 30.0,
    right: 338.0,
    heights: 22.0,
    fuel: 100.0,
    name_rows: 0,
    mark_rows: 5,
    tick_room: 48.0,
};

/// The whole trip, for wide and for narrow screens. `id` tells the drawings of a page apart, `top` is the upper end of the
/// scale of litres.
pub(super) fn whole(strip: &Strip, top: Litres, id: &str, units: Units) -> Markup {
    html! {
        @for shape in [WIDE, NARROW] {
            (drawing(&Frame::new(strip, Kilometres::ZERO..strip.length(), shape, top, units), id))
        }
    }
}

/// A long trip in rows of a dozen legs, all with one scale of litres; nothing for a trip that is one row.
pub(super) fn rows(strip: &Strip, units: Units) -> Markup {
    let rows = strip.plan().legs.len().div_ceil(LEGS_IN_ROW).min(MOST_ROWS);
    let row = strip.length() / rows.max(1) as f64;
    html! {
        @if rows > 1 {
            @for n in 0..rows {
                @let end = if n + 1 == rows { strip.length() } else { row * (n + 1) as f64 };
                (drawing(&Frame::new(strip, row * n as f64..end, WIDE, strip.top(), units), &format!("row-{}", n + 1)))
            }
        }
    }
}

/// Part of a strip: which kilometres and litres are where, and what is beside them.
struct Frame<'a> {
    strip: &'a Strip,
    units: Units,
    run: Range<Kilometres>,
    shape: Shape,
    /// Litres at the upper end of the scale.
    top: Litres,
    names: Vec<(PlaceMark<'a>, Option<Placed>)>,
    marks: Vec<(&'a Mark, Option<Placed>)>,
    ground_y: f64,
    heights_y: f64,
    fuel_y: f64,
}

impl<'a> Frame<'a> {
    fn new(
        strip: &'a Strip,
        run: Range<Kilometres>,
        shape: Shape,
        top: Litres,
        units: Units,
    ) -> Self {
        let mut frame = Self {
            strip,
            units,
            run,
            shape,
            top,
            names: Vec::new(),
            marks: Vec::new(),
            ground_y: 0.0,
            heights_y: 0.0,
            fuel_y: 0.0,
        };
        frame.names = labels::names(&frame);
        frame.marks = labels::marks(&frame);
        let rows = rows_of(frame.names.iter().map(|(_, label)| label));
        frame.ground_y = LINE * (1 + rows) as f64 + 10.0;
        frame.heights_y = frame.ground_y + GROUND + 5.0;
        frame.fuel_y = match strip.heights() {
            Some(_) => frame.heights_y + shape.heights + 9.0,
            None => frame.ground_y + GROUND + 10.0,
        };
        frame
    }

    fn x(&self, km: Kilometres) -> f64 {
        let Shape { left, right, .. } = self.shape;
        let length = self.run.end - self.run.start;
        if length <= Kilometres::ZERO {
            return left;
        }
        left + ((km - self.run.start) / length).clamp(0.0, 1.0) * (right - left)
    }

    fn y(&self, litres: Litres) -> f64 {
        let share = if self.top > Litres::ZERO {
            (litres / self.top).clamp(0.0, 1.0)
        } else {
            0.0
        };
        self.fuel_y + (1.0 - share) * self.shape.fuel
    }

    fn base(&self) -> f64 {
        self.fuel_y + self.shape.fuel
    }

    /// The run, with the end of the trip if it reaches that far.
    fn things(&self) -> Range<Kilometres> {
        let is_last = self.run.end >= self.strip.length();
        self.run.start..self.run.end + Kilometres::new(if is_last { 1.0 } else { 0.0 })
    }
}

/// How many rows labels take up.
fn rows_of<'a>(labels: impl Iterator<Item = &'a Option<Placed>>) -> usize {
    let shown = labels.flatten().filter(|label| !label.text.is_empty());
    shown.map(|label| label.row + 1).max().unwrap_or(0)
}

fn drawing(frame: &Frame<'_>, id: &str) -> Markup {
    let rows = frame.marks.iter().flat_map(|(_, label)| label);
    let rows = rows.map(|label| label.row + 1).max().unwrap_or(0);
    let height = frame.base() + LINE * (1 + rows) as f64 + 10.0;
    let ends = [frame.run.start, frame.run.end].map(|km| frame.units.at(km, Toward::Nearest));
    let [from, to] = &ends;
    // Both drawings of a strip have the words of the first.
    let has_names = frame.shape.has_names();
    let own = if has_names {
        id.to_owned()
    } else {
        format!("{id}-narrow")
    };
    html! {
        svg class=(frame.shape.class) viewBox={ "0 0 " (px(frame.shape.width)) " " (px(height)) } role="img" aria-labelledby={ (id) "-title " (id) "-desc" } {
            @if has_names {
                title id={ (id) "-title" } { "Fuel along the route from " (from) " to " (to) }
                desc id={ (id) "-desc" } { (described(frame)) }
            }
            (labels::draw_days(frame))
            (ground::draw(frame))
            (ground::draw_heights(frame))
            (scale(frame))
            (fuel::draw(frame, &own))
            (axis(frame))
            (labels::draw_names(frame))
            (labels::draw_marks(frame))
        }
    }
}

/// What the drawing shows, in words.
fn described(frame: &Frame<'_>) -> String {
    let units = frame.units;
    let marks = frame.strip.marks(frame.things()).iter().map(|mark| {
        format!(
            " {}: {}.",
            units.at(mark.at, Toward::Down),
            mark.label(units)
        )
    });
    "Usable fuel in the tank, and fuel in cans above it.".to_owned() + &marks.collect::<String>()
}

/// The scale of litres, or gallons, in round numbers.
fn scale(frame: &Frame<'_>) -> Markup {
    let Shape { left, right, .. } = frame.shape;
    let unit = frame.units.fuel_step();
    let step = round_step(frame.top / unit / 5.0);
    let numbers: Vec<f64> = (0_u32..20)
        .map(|n| f64::from(n) * step)
        .take_while(|&number| unit * number <= frame.top)
        .collect();
    let mut lines = Path::new();
    for &number in &numbers {
        let y = frame.y(unit * number);
        lines.start(left, y);
        lines.to(right, y);
    }
    html! {
        path.grid d=(lines.d()) {}
        @for (n, &number) in numbers.iter().enumerate() {
            text.dim x=(px(left - 4.0)) y=(px(frame.y(unit * number) + 4.0)) text-anchor="end" {
                (trimmed(number))
                @if n + 1 == numbers.len() { " " (frame.units.fuel_unit()) }
            }
        }
    }
}

fn axis(frame: &Frame<'_>) -> Markup {
    let Shape {
        left,
        right,
        tick_room,
        ..
    } = frame.shape;
    let length = frame.run.end - frame.run.start;
    let least = length * (tick_room / (right - left));
    let y = frame.base();
    let numbers: Vec<(f64, String)> = if length > Kilometres::ZERO {
        let ticks = ticks(frame.run.clone(), least, frame.units).take(50);
        ticks.map(|(at, number)| (frame.x(at), number)).collect()
    } else {
        Vec::new()
    };
    let mut lines = Path::line([(left, y), (right, y)]);
    for (x, _) in &numbers {
        lines.start(*x, y);
        lines.to(*x, y + 4.0);
    }
    html! {
        path.axis d=(lines.d()) {}
        g text-anchor="middle" {
            @for (x, number) in &numbers {
                text.dim x=(px(x.min(right - 8.0))) y=(px(y + LINE + 2.0)) { (number) }
            }
        }
        text.dim x="0" y=(px(y + LINE + 2.0)) { (frame.units.distance_unit()) }
    }
}
