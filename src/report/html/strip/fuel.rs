//! Litres along the route: tank and cans, how sure they are, and where they fall below the line.

use maud::{Markup, html};

use super::super::drawing::{Path, px};
use super::{Frame, Shape};
use crate::plan::Span;
use crate::present::number::Toward;
use crate::quantity::{Kilometres, Litres};

/// A run of a span within the frame: tank at both of its ends, and cans.
struct Piece {
    km: [Kilometres; 2],
    tank: [Litres; 2],
    cans: Litres,
}

impl Piece {
    fn on_board(&self) -> [Litres; 2] {
        self.tank.map(|litres| litres.max(Litres::ZERO) + self.cans)
    }
}

fn pieces(frame: &Frame<'_>) -> Vec<Piece> {
    let run = &frame.run;
    let spans = frame.strip.spans(run.clone()).iter();
    spans
        .filter(|span| span.to_km > span.from_km)
        .map(|span: &Span| {
            let length = span.to_km - span.from_km;
            let km = [span.from_km.max(run.start), span.to_km.min(run.end)];
            let at = |km: Kilometres| {
                span.tank_from + (span.tank_to - span.tank_from) * ((km - span.from_km) / length)
            };
            Piece {
                km,
                tank: km.map(at),
                cans: span.cans,
            }
        })
        .collect()
}

/// Where, as a share of the way between them, something that goes from one value to the other passes 0.
fn passes_zero(values: [Litres; 2]) -> Option<f64> {
    let [from, to] = values;
    ((from < Litres::ZERO) != (to < Litres::ZERO)).then(|| from / (from - to))
}

/// Tank, cans, and where there is no fuel at all.
fn areas(frame: &Frame<'_>) -> [Path; 3] {
    let base = frame.base();
    let [mut tank, mut cans, mut dry] = [const { Path::new() }; 3];
    for piece in &pieces(frame) {
        let [from, to] = piece.km.map(|km| frame.x(km));
        let lower = piece.tank.map(|litres| frame.y(litres));
        let upper = piece.on_board().map(|litres| frame.y(litres));
        // Where the tank runs out within the piece its edge meets the base line there.
        let empty = passes_zero(piece.tank).map(|share| (from + (to - from) * share, base));
        let edge: Vec<(f64, f64)> = [Some((from, lower[0])), empty, Some((to, lower[1]))]
            .into_iter()
            .flatten()
            .collect();
        tank.area(&[&[(from, base)][..], &edge, &[(to, base)]].concat());
        if piece.cans > Litres::ZERO {
            cans.area(&[
                (from, lower[0]),
                (from, upper[0]),
                (to, upper[1]),
                (to, lower[1]),
            ]);
        }
        if let Some([a, b]) = below_zero(piece.tank.map(|litres| litres + piece.cans)) {
            let x = |share: f64| from + (to - from) * share;
            dry.area(&[
                (x(a), base),
                (x(a), base - 7.0),
                (x(b), base - 7.0),
                (x(b), base),
            ]);
        }
    }
    [tank, cans, dry]
}

/// The part of a piece, as shares, in which something is below 0.
fn below_zero(values: [Litres; 2]) -> Option<[f64; 2]> {
    let below = values.map(|value| value < Litres::ZERO);
    match (below, passes_zero(values)) {
        ([true, true], _) => Some([0.0, 1.0]),
        ([true, false], Some(share)) => Some([0.0, share]),
        ([false, true], Some(share)) => Some([share, 1.0]),
        _ => None,
    }
}

/// The area below the level that 5 % of the trips do not reach; `None` without a simulation.
fn sure(frame: &Frame<'_>) -> Option<Path> {
    let base = frame.base();
    let mut area = Path::new();
    for low in frame.strip.low(&frame.run) {
        let [left, right] = [low.km.start, low.km.end].map(|km| frame.x(km));
        let [from, to] = low.litres.map(|litres| frame.y(litres));
        area.area(&[(left, base), (left, from), (right, to), (right, base)]);
    }
    frame.strip.plan().doubt.is_some().then_some(area)
}

/// Columns where the fuel falls below the line, from the foot over the line.
fn breaches(frame: &Frame<'_>) -> Path {
    let base = frame.base();
    let mut area = Path::new();
    for breach in frame.strip.breaches(&frame.run) {
        let [left, right] = [breach.start, breach.end].map(|km| frame.x(km));
        let lines = frame.strip.line(&breach).into_iter();
        let line = lines
            .flat_map(|line| line.litres)
            .fold(Litres::ZERO, Litres::max);
        let (top, right) = (frame.y(line).min(base - 14.0), right.max(left + 3.0));
        area.area(&[(left, base), (left, top), (right, top), (right, base)]);
    }
    area
}

/// The line that the fuel must stay above.
fn line(frame: &Frame<'_>) -> Path {
    let mut path = Path::new();
    for line in frame.strip.line(&frame.run) {
        let [from, to] = line.litres.map(|litres| frame.y(litres));
        path.start(frame.x(line.km.start), from);
        path.to(frame.x(line.km.end), to);
    }
    path
}

/// The fuel of a frame.
pub(super) fn draw(frame: &Frame<'_>, id: &str) -> Markup {
    let Shape { left, right, .. } = frame.shape;
    let [tank, cans, dry] = areas(frame);
    let sure = sure(frame);
    let short = breaches(frame);
    let line = line(frame);
    let full = frame.strip.plan().trip.vehicle.usable_tank();
    let full_y = frame.y(full);
    let [of_tank, of_cans] = ["tank", "cans"].map(|what| format!("{id}-{what}"));
    let both = html! {
        use.tank href={ "#" (of_tank) } {}
        use.cans href={ "#" (of_cans) } fill="url(#cans)" {}
    };
    html! {
        defs {
            path id=(of_tank) d=(tank.d()) {}
            path id=(of_cans) d=(cans.d()) {}
            @if let Some(sure) = &sure { clipPath id={ (id) "-sure" } { path d=(sure.d()) {} } }
        }
        @if sure.is_some() {
            use.tank-tint href={ "#" (of_tank) } {}
            use.cans-tint href={ "#" (of_cans) } {}
            g clip-path={ "url(#" (id) "-sure)" } { (both) }
        } @else {
            (both)
        }
        @if !dry.is_empty() { path.dry d=(dry.d()) {} }
        path.reserve-under d=(line.d()) {}
        path.reserve d=(line.d()) {}
        @if !short.is_empty() {
            path.short-under d=(short.d()) {}
            path.short d=(short.d()) fill="url(#short)" {}
        }
        line.tank-top x1=(px(left)) x2=(px(right)) y1=(px(full_y)) y2=(px(full_y)) {}
        text.dim.halo x=(px(right)) y=(px(full_y - 3.0)) text-anchor="end" {
            "full tank " (frame.units.fuel_tenths(full, Toward::Down)) " usable"
        }
    }
}
