//! The map as SVG: the lines of the legs, places, what happens where, a scale. North is up.
//!
//! A track is drawn through, a leg of which only the ends are known is dashed. Labels choose their
//! room in order of weight; one that finds none is left out, and its place keeps its shape.

use maud::{Markup, html};

use super::drawing::{Path, px, text_width};
use super::shapes;
use crate::present::axis::round_step;
use crate::present::map::{Map, Spot};
use crate::present::name::plain;
use crate::present::number::{Units, trimmed};
use crate::quantity::{Kilometres, Metres};

/// Size of the drawing in its own pixels, and the room about the map for names.
const WIDTH: f64 = 720.0;
const TALLEST: f64 = 400.0;
const MARGIN: f64 = 34.0;
/// Height of a line of text.
const LINE: f64 = 12.0;
/// Distance of a label from its place.
const OFF: f64 = 8.0;
/// Room for the scale below.
const FOOT: f64 = 26.0;

/// The map as a drawing.
pub(super) fn drawing(map: &Map<'_>, units: Units) -> Markup {
    let frame = Frame::of(map);
    let height = frame.height + 2.0 * MARGIN + FOOT;
    html! {
        div.wide tabindex="0" role="group" aria-label="Map, can be scrolled sideways" {
            svg.map viewBox={ "0 0 " (px(WIDTH)) " " (px(height)) } role="img" aria-labelledby="map-title map-desc" {
                title id="map-title" { "Route map" }
                desc id="map-desc" { "The legs from place to place, north up, with decants and turn-back points." }
                (lines(map, &frame))
                (labels(map, &frame, units))
                (scale(&frame, height - 9.0, units))
            }
        }
    }
}

/// Which metres stand where.
struct Frame {
    /// Pixels of a metre.
    scale: f64,
    left: f64,
    height: f64,
}

impl Frame {
    fn of(map: &Map<'_>) -> Self {
        let room = WIDTH - 2.0 * MARGIN;
        let across = room / map.width.get().max(1.0);
        let up = TALLEST / map.height.get().max(1.0);
        let scale = across.min(up);
        let width = map.width.get() * scale;
        Self {
            scale,
            left: MARGIN + (room - width) / 2.0,
            height: map.height.get() * scale,
        }
    }

    fn xy(&self, spot: Spot) -> (f64, f64) {
        (
            self.left + spot.east.get() * self.scale,
            MARGIN + self.height - spot.north.get() * self.scale,
        )
    }
}

fn lines(map: &Map<'_>, frame: &Frame) -> Markup {
    html! {
        @for line in &map.lines {
            @let path = Path::line(line.spots.iter().map(|&spot| frame.xy(spot)));
            path.way-under d=(path.d()) {}
            path class=(if line.is_track { "way" } else { "way guessed" }) d=(path.d()) {
                title { "leg " (line.leg) }
            }
        }
    }
}

/// A box on the drawing: left, top, right, bottom.
#[derive(Clone, Copy)]
struct Area(f64, f64, f64, f64);

impl Area {
    fn about(x: f64, y: f64, reach: f64) -> Self {
        Self(x - reach, y - reach, x + reach, y + reach)
    }

    fn meets(self, other: Self) -> bool {
        self.0 < other.2 && other.0 < self.2 && self.1 < other.3 && other.1 < self.3
    }
}

fn labels(map: &Map<'_>, frame: &Frame, units: Units) -> Markup {
    let marks = map.marks.iter().map(|(spot, mark)| {
        let (x, y) = frame.xy(*spot);
        (x, y, mark)
    });
    let marks: Vec<_> = marks.collect();
    let mut places: Vec<_> = map
        .places
        .iter()
        .map(|(spot, place)| {
            let (x, y) = frame.xy(*spot);
            (x, y, place)
        })
        .collect();
    // Those with fuel choose first; the order of the way among equals.
    places.sort_by_key(|(_, _, place)| (std::cmp::Reverse(place.supply), place.place_number));
    let mut taken: Vec<Area> = places
        .iter()
        .map(|&(x, y, _)| Area::about(x, y, 5.0))
        .chain(marks.iter().map(|&(x, y, _)| Area::about(x, y, 5.0)))
        .collect();
    let named: Vec<_> = places
        .iter()
        .filter_map(|&(x, y, place)| {
            let name = plain(place.name).into_owned();
            place_label(x, y, &name, &mut taken).map(|at| ("name", at, name))
        })
        .collect();
    let marked: Vec<_> = marks
        .iter()
        .filter_map(|&(x, y, mark)| {
            let label = mark.label(units);
            place_label(x, y, &label, &mut taken).map(|at| ("mark", at, label))
        })
        .collect();
    html! {
        @for &(x, y, place) in &places { (shapes::place(place.supply, x, y, &plain(place.name))) }
        @for &(x, y, mark) in &marks { (shapes::mark(mark.kind, x, y, &mark.label(units))) }
        @for (class, (x, y), text) in named.iter().chain(&marked) {
            text.halo.(class) x=(px(*x)) y=(px(*y)) { (text) }
        }
    }
}

/// Where a label's text begins: right, left, below or above its point, the first that is free.
fn place_label(x: f64, y: f64, text: &str, taken: &mut Vec<Area>) -> Option<(f64, f64)> {
    let wide = text_width(text);
    let level = y + LINE / 3.0;
    let tries = [
        (x + OFF, level),
        (x - OFF - wide, level),
        (x - wide / 2.0, y + OFF + LINE * 0.7),
        (x - wide / 2.0, y - OFF),
        (x + OFF, y + OFF + LINE * 0.5),
        (x - OFF - wide, y - OFF),
    ];
    let (found, area) = tries
        .map(|(x, y)| {
            (
                (x, y),
                Area(x - 1.0, y - LINE * 0.8, x + wide + 1.0, y + LINE * 0.2),
            )
        })
        .into_iter()
        .find(|(_, area)| {
            area.0 >= 0.0 && area.2 <= WIDTH && !taken.iter().any(|other| area.meets(*other))
        })?;
    taken.push(area);
    Some(found)
}

/// A bar of a round length and an arrow to the north.
fn scale(frame: &Frame, y: f64, units: Units) -> Markup {
    let unit = Metres::from(units.distance_step()).get() * frame.scale;
    // At most a quarter of the width.
    let number = round_step(WIDTH / 10.0 / unit);
    let length = number * unit;
    let (from, to) = (MARGIN, MARGIN + length);
    html! {
        path.scale d={ "M" (px(from)) " " (px(y - 4.0)) "V" (px(y)) "H" (px(to)) "V" (px(y - 4.0)) } {}
        text.dim x=(px(to + 6.0)) y=(px(y)) { (trimmed(number)) " " (units.distance_unit()) }
        path.north d={ "M" (px(WIDTH - MARGIN)) " " (px(y - 16.0)) "l4 9h-8Z" } {}
        text.dim x=(px(WIDTH - MARGIN)) y=(px(y + 3.0)) text-anchor="middle" { "N" }
    }
}

/// Whether a leg of the map is known by its ends alone.
pub(super) fn has_guessed(map: &Map<'_>) -> bool {
    map.lines.iter().any(|line| !line.is_track)
}

/// Largest side of the map, to say how coarse it is.
pub(super) fn size(map: &Map<'_>) -> Kilometres {
    Kilometres::from(map.width.max(map.height))
}
