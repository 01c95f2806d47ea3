//! The strip as SVG: the same description that the terminal draws.
//!
//! From top to bottom: days, names of places, the ground, heights where they are known, litres in tank
//! and cans with the reserve, kilometres, and what happens where. A long trip is drawn in rows of a
//! dozen legs, all with one height scale, so that it can be read on paper. Every colour is doubled by a
//! shape or a pattern: a grey print loses nothing.

use std::fmt::Write as _;
use std::ops::Range;

use maud::{Markup, html};

use super::drawing::{Path, Placed, Rows, px};
use super::shapes;
use crate::plan::Span;
use crate::present::axis::{round_step, ticks};
use crate::present::mark::Mark;
use crate::present::name::plain;
use crate::present::number::{Toward, Units, percent, trimmed};
use crate::present::strip::{Ground, Strip, Supply};
use crate::quantity::{Kilometres, Litres, Share};

/// Width of a drawing in its own pixels: the width of A4 paper less its margins, at 96 to the inch.
const WIDTH: f64 = 720.0;
const LEFT: f64 = 36.0;
const RIGHT: f64 = WIDTH - 8.0;
/// A row of text.
const LINE: f64 = 13.0;
/// Rows of names, and of what happens.
const NAME_ROWS: usize = 3;
const MARK_ROWS: usize = 4;
const GROUND: f64 = 14.0;
const HEIGHTS: f64 = 30.0;
const FUEL: f64 = 150.0;
/// Legs of a row, about, and most rows.
const LEGS_IN_ROW: usize = 14;
const MOST_ROWS: usize = 40;
/// Length of one round of plain ground, sand and low range on the ground row.
const PERIOD: f64 = 28.0;
/// Half the width of a sign.
const SIGN: f64 = 5.0;
/// Pixels between two numbers of an axis, at least.
const TICK_ROOM: f64 = 56.0;

/// A strip with its rows one below the other. `id` tells the drawings of a page apart, `top` is the upper
/// end of the height scale.
pub(super) fn figure(strip: &Strip, top: Litres, id: &str, units: Units) -> Markup {
    let rows = strip
        .plan()
        .legs
        .len()
        .div_ceil(LEGS_IN_ROW)
        .clamp(1, MOST_ROWS);
    let row = strip.length() / rows as f64;
    html! {
        @for n in 0..rows {
            @let run = row * n as f64..row * (n + 1) as f64;
            (drawing(&Frame::new(strip, run, n + 1 == rows, top, units), &format!("{id}-{}", n + 1)))
        }
    }
}

/// A row: which kilometres stand where.
struct Frame<'a> {
    strip: &'a Strip,
    units: Units,
    run: Range<Kilometres>,
    /// Whether the end of the trip is in the row.
    is_last: bool,
    /// Litres at the upper end of the scale.
    top: Litres,
    ground_y: f64,
    heights_y: Option<f64>,
    fuel_y: f64,
}

impl<'a> Frame<'a> {
    fn new(
        strip: &'a Strip,
        run: Range<Kilometres>,
        is_last: bool,
        top: Litres,
        units: Units,
    ) -> Self {
        let ground_y = LINE * (1 + NAME_ROWS) as f64 + 6.0;
        let heights_y = strip.heights().map(|_| ground_y + GROUND + 6.0);
        let fuel_y = heights_y.map_or(ground_y + GROUND, |y| y + HEIGHTS) + 10.0;
        Self {
            strip,
            units,
            run,
            is_last,
            top,
            ground_y,
            heights_y,
            fuel_y,
        }
    }

    fn x(&self, km: Kilometres) -> f64 {
        let length = self.run.end - self.run.start;
        if length <= Kilometres::ZERO {
            return LEFT;
        }
        let share = ((km - self.run.start) / length).clamp(0.0, 1.0);
        LEFT + share * (RIGHT - LEFT)
    }

    fn y(&self, litres: Litres) -> f64 {
        let share = if self.top > Litres::ZERO {
            (litres / self.top).clamp(0.0, 1.0)
        } else {
            0.0
        };
        self.fuel_y + (1.0 - share) * FUEL
    }

    fn base(&self) -> f64 {
        self.fuel_y + FUEL
    }

    /// The run, with the end of the trip in it in the last row.
    fn things(&self) -> Range<Kilometres> {
        let beyond = if self.is_last { 1.0 } else { 0.0 };
        self.run.start..self.run.end + Kilometres::new(beyond)
    }
}

fn drawing(frame: &Frame<'_>, id: &str) -> Markup {
    let height = frame.base() + LINE * (2 + MARK_ROWS) as f64 + 4.0;
    let (from, to) = (
        frame.units.at(frame.run.start, Toward::Nearest),
        frame.units.at(frame.run.end, Toward::Nearest),
    );
    html! {
        div.wide tabindex="0" role="group" aria-label={ "Strip from " (from) " to " (to) ", can be scrolled sideways" } {
            svg.strip viewBox={ "0 0 " (px(WIDTH)) " " (px(height)) } role="img" aria-labelledby={ (id) "-title " (id) "-desc" } {
                title id={ (id) "-title" } { "Fuel along the route from " (from) " to " (to) }
                desc id={ (id) "-desc" } { (described(frame)) }
                (days(frame))
                (names(frame))
                (ground(frame))
                (heights(frame))
                (fuel(frame))
                (axis(frame))
                (marks(frame))
            }
        }
    }
}

/// What the drawing shows, in words.
fn described(frame: &Frame<'_>) -> String {
    let units = frame.units;
    let worst = frame.strip.worst(frame.run.clone()).map(|level| {
        format!(
            "Smallest margin by the best estimate: {}, at {}.",
            units.margin(level.margin()),
            units.at(level.at, Toward::Nearest)
        )
    });
    let marks = frame.strip.marks(frame.things());
    let marks: Vec<String> = marks
        .iter()
        .map(|mark| {
            format!(
                "{}: {}.",
                units.at(mark.at, Toward::Down),
                mark.label(units)
            )
        })
        .collect();
    format!(
        "Usable fuel in the tank, and fuel in cans above it. {} {}",
        worst.unwrap_or_default(),
        marks.join(" ")
    )
}

fn days(frame: &Frame<'_>) -> Markup {
    let mut rows = Rows::new(1, LEFT, RIGHT);
    html! {
        @for border in frame.strip.days(frame.things()) {
            @let x = frame.x(border.at);
            line.day x1=(px(x)) x2=(px(x)) y1="0" y2=(px(frame.base())) {}
            @if let Some(Placed { x, text, .. }) = rows.place(x + 3.0, &format!("day {}", border.day)) {
                text.dim x=(px(x)) y=(px(LINE - 3.0)) { (text) }
            }
        }
    }
}

/// The places; those with fuel choose their room first, then the ends, then the rest.
fn names(frame: &Frame<'_>) -> Markup {
    let places: Vec<_> = frame.strip.places(frame.things()).collect();
    let last = frame.strip.plan().legs.len();
    let mut order: Vec<usize> = (0..places.len()).collect();
    order.sort_by_key(|&n| {
        let place = &places[n];
        let is_end = place.place_number == 0 || place.place_number == last;
        (std::cmp::Reverse((place.supply, is_end)), n)
    });
    let mut rows = Rows::new(NAME_ROWS, LEFT, RIGHT);
    let mut labels: Vec<(usize, Placed)> = Vec::new();
    for n in order {
        let placed = rows.place(frame.x(places[n].at), &plain(places[n].name));
        labels.extend(placed.map(|placed| (n, placed)));
    }
    html! {
        @for (n, label) in &labels {
            @let (x, y) = (frame.x(places[*n].at), LINE * (2 + label.row) as f64 - 2.0);
            line.leader x1=(px(x)) x2=(px(x)) y1=(px(y + 2.0)) y2=(px(frame.ground_y - 5.0)) {}
            text.name x=(px(label.x)) y=(px(y)) { (label.text) }
        }
        @for place in &places {
            (shapes::place(place.supply, frame.x(place.at), frame.ground_y - 3.0, &plain(place.name)))
        }
    }
}

/// The ground: within each round of some pixels the shares of sand and low range, since where exactly
/// they lie is not known.
fn ground(frame: &Frame<'_>) -> Markup {
    let y = px(frame.ground_y);
    html! {
        @for ground in frame.strip.ground(frame.run.clone()) {
            @let (from, to) = (frame.x(ground.from.max(frame.run.start)), frame.x(ground.to.min(frame.run.end)));
            @if to > from {
                g {
                    title { (told(ground)) }
                    rect.edge x=(px(from)) y=(y) width=(px(to - from)) height=(px(GROUND)) fill={ "url(#ground-" (ground.surface) ")" } {}
                    @for (class, from, to) in hard_parts(&ground, from, to) {
                        rect.(class) x=(px(from)) y=(y) width=(px(to - from)) height=(px(GROUND)) fill={ "url(#" (class) ")" } {}
                    }
                }
            }
        }
    }
}

/// The ground of a leg in words.
fn told(ground: Ground) -> String {
    let mut text = format!("leg {}: {}", ground.leg, ground.surface);
    for (share, what) in [(ground.sand, "soft sand"), (ground.low_range, "low range")] {
        if share.get() > 0.0 {
            let _ = write!(text, ", {} {what}", percent(share));
        }
    }
    text
}

/// The parts of a leg that are both sand and low range, sand alone, and low range alone, in pixels.
fn hard_parts(ground: &Ground, from: f64, to: f64) -> Vec<(&'static str, f64, f64)> {
    let both = ground.both.min(ground.sand).min(ground.low_range);
    let shares: [(&'static str, Share); 3] = [
        ("sand-in-low", both),
        ("sand", ground.sand - both),
        ("low-range", ground.low_range - both),
    ];
    let rounds = ((to - from) / PERIOD).ceil().max(1.0);
    let round = (to - from) / rounds;
    let mut parts = Vec::new();
    let mut begin = from;
    while begin < to - 0.01 {
        let mut at = begin;
        for (class, share) in shares {
            let wide = share.get() * round;
            if wide > 0.05 {
                parts.push((class, at, at + wide));
            }
            at += wide;
        }
        begin += round;
    }
    parts
}

/// How high the way lies.
fn heights(frame: &Frame<'_>) -> Markup {
    let (Some(heights), Some(top)) = (frame.strip.heights(), frame.heights_y) else {
        return html! {};
    };
    let rise = heights.highest() - heights.lowest();
    let y = |km| {
        let share = if rise.get() > 0.0 {
            (heights.at(km) - heights.lowest()) / rise
        } else {
            0.5
        };
        top + (1.0 - share) * (HEIGHTS - 4.0) + 2.0
    };
    let inner = frame.strip.places(frame.things()).map(|place| place.at);
    let points = std::iter::once(frame.run.start)
        .chain(inner)
        .chain([frame.run.end]);
    let points: Vec<(f64, f64)> = points.map(|km| (frame.x(km), y(km))).collect();
    let foot = top + HEIGHTS;
    let mut under = Path::default();
    under.area(
        &[
            &[(LEFT, foot)][..],
            &points,
            &[(frame.x(frame.run.end), foot)],
        ]
        .concat(),
    );
    let line = Path::line(points);
    html! {
        path.height-area d=(under.d()) {}
        path.height d=(line.d()) {}
        text.dim x=(px(LEFT - 4.0)) y=(px(top + 9.0)) text-anchor="end" { (frame.units.height(heights.highest()).number) }
        text.dim x=(px(LEFT - 4.0)) y=(px(top + HEIGHTS)) text-anchor="end" { (frame.units.height(heights.lowest()).number) }
        text.dim x=(px(RIGHT)) y=(px(top + 9.0)) text-anchor="end" { "altitude in " (frame.units.height(heights.lowest()).unit) }
    }
}

/// A run of a span within the row: kilometre, tank, cans and reserve at both of its ends.
struct Piece {
    x: [f64; 2],
    tank: [Litres; 2],
    cans: Litres,
    reserve: [Litres; 2],
}

fn pieces(frame: &Frame<'_>) -> Vec<Piece> {
    let run = &frame.run;
    let spans = frame.strip.spans(run.clone()).iter();
    spans
        .filter(|span| span.to_km > span.from_km)
        .map(|span: &Span| {
            let length = span.to_km - span.from_km;
            let ends = [span.from_km.max(run.start), span.to_km.min(run.end)];
            let at = |from: Litres, to: Litres| {
                ends.map(|km| from + (to - from) * ((km - span.from_km) / length))
            };
            Piece {
                x: ends.map(|km| frame.x(km)),
                tank: at(span.tank_from, span.tank_to),
                cans: span.cans,
                reserve: at(span.reserve_from, span.reserve_to),
            }
        })
        .collect()
}

/// Where, as a share of the way between them, something that goes from one value to the other passes 0.
fn passes_zero(values: [Litres; 2]) -> Option<f64> {
    let [from, to] = values;
    ((from < Litres::ZERO) != (to < Litres::ZERO)).then(|| from / (from - to))
}

fn fuel(frame: &Frame<'_>) -> Markup {
    let pieces = pieces(frame);
    let base = frame.base();
    let (mut tank, mut cans, mut short, mut dry, mut reserve) = (
        Path::default(),
        Path::default(),
        Path::default(),
        Path::default(),
        Path::default(),
    );
    for piece in &pieces {
        let [from, to] = piece.x;
        let lower = piece.tank.map(|litres| frame.y(litres));
        let on_board = piece
            .tank
            .map(|litres| litres.max(Litres::ZERO) + piece.cans);
        let upper = on_board.map(|litres| frame.y(litres));
        // Where the tank runs dry within the piece its edge meets the base line there.
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
        let margin = [0, 1].map(|end| piece.tank[end] + piece.cans - piece.reserve[end]);
        if let Some((a, b)) = below_zero(margin) {
            let x = |share: f64| from + (to - from) * share;
            let y = |share: f64| upper[0] + (upper[1] - upper[0]) * share;
            // A low strip shows even where nothing is left to hatch.
            let least = base - 4.0;
            short.area(&[
                (x(a), base),
                (x(a), y(a).min(least)),
                (x(b), y(b).min(least)),
                (x(b), base),
            ]);
        }
        if let Some((a, b)) = below_zero(piece.tank.map(|litres| litres + piece.cans)) {
            let x = |share: f64| from + (to - from) * share;
            dry.area(&[
                (x(a), base),
                (x(a), base - 7.0),
                (x(b), base - 7.0),
                (x(b), base),
            ]);
        }
        reserve.start(from, frame.y(piece.reserve[0]));
        reserve.to(to, frame.y(piece.reserve[1]));
    }
    let full = frame.strip.plan().trip.vehicle.usable_tank();
    let full_y = frame.y(full);
    html! {
        (scale(frame))
        path.tank d=(tank.d()) {}
        @if !cans.is_empty() { path.cans d=(cans.d()) fill="url(#cans)" {} }
        @if !short.is_empty() { path.short d=(short.d()) fill="url(#short)" {} }
        @if !dry.is_empty() { path.dry d=(dry.d()) {} }
        (band(frame))
        path.reserve-under d=(reserve.d()) {}
        path.reserve d=(reserve.d()) {}
        line.tank-top x1=(px(LEFT)) x2=(px(RIGHT)) y1=(px(full_y)) y2=(px(full_y)) {}
        text.dim.halo x=(px(RIGHT)) y=(px(full_y - 2.0)) text-anchor="end" {
            "full tank " (frame.units.fuel_tenths(full, Toward::Down)) " usable"
        }
        line.axis x1=(px(LEFT)) x2=(px(RIGHT)) y1=(px(base)) y2=(px(base)) {}
    }
}

/// Between which lines the fuel on board lies in nine of ten draws; the lower one is what matters, and is drawn
/// through. Nothing where no chances were computed.
fn band(frame: &Frame<'_>) -> Markup {
    let plan = frame.strip.plan();
    let Some(doubt) = &plan.doubt else {
        return html! {};
    };
    let (mut low, mut high) = (Path::default(), Path::default());
    for (leg, band) in plan.legs.iter().zip(&doubt.bands) {
        let end = leg.from_km + leg.distance;
        let (from, to) = (leg.from_km.max(frame.run.start), end.min(frame.run.end));
        if to <= from {
            continue;
        }
        let at = |km: Kilometres, start: Litres, end: Litres| {
            frame.y(start + (end - start) * ((km - leg.from_km) / leg.distance))
        };
        for (path, start, end) in [
            (&mut low, band.start.low, band.end.low),
            (&mut high, band.start.high, band.end.high),
        ] {
            path.start(frame.x(from), at(from, start, end));
            path.to(frame.x(to), at(to, start, end));
        }
    }
    html! {
        path.band-high d=(high.d()) {}
        path.band-under d=(low.d()) {}
        path.band-edge d=(low.d()) { title { "95 % of trips have more than this" } }
    }
}

/// The part of a piece, as shares, in which something is below 0.
fn below_zero(values: [Litres; 2]) -> Option<(f64, f64)> {
    match (
        values.map(|value| value < Litres::ZERO),
        passes_zero(values),
    ) {
        ([true, true], _) => Some((0.0, 1.0)),
        ([true, false], Some(share)) => Some((0.0, share)),
        ([false, true], Some(share)) => Some((share, 1.0)),
        _ => None,
    }
}

/// The scale of litres, or gallons, in round numbers.
fn scale(frame: &Frame<'_>) -> Markup {
    let unit = frame.units.fuel_step();
    let step = round_step(frame.top / unit / 5.0);
    let numbers: Vec<f64> = (0_u32..20)
        .map(|n| f64::from(n) * step)
        .take_while(|&number| unit * number <= frame.top)
        .collect();
    html! {
        @for (n, &number) in numbers.iter().enumerate() {
            @let y = frame.y(unit * number);
            line.grid x1=(px(LEFT)) x2=(px(RIGHT)) y1=(px(y)) y2=(px(y)) {}
            text.dim x=(px(LEFT - 4.0)) y=(px(y + 4.0)) text-anchor="end" {
                (trimmed(number))
                @if n + 1 == numbers.len() { " " (frame.units.fuel_unit()) }
            }
        }
    }
}

fn axis(frame: &Frame<'_>) -> Markup {
    let length = frame.run.end - frame.run.start;
    let least = length * (TICK_ROOM / (RIGHT - LEFT));
    let y = frame.base();
    html! {
        @if length > Kilometres::ZERO {
            @for (at, number) in ticks(frame.run.clone(), least, frame.units).take(50) {
                @let x = frame.x(at);
                line.axis x1=(px(x)) x2=(px(x)) y1=(px(y)) y2=(px(y + 4.0)) {}
                text.dim x=(px(x.min(RIGHT - 8.0))) y=(px(y + LINE + 2.0)) text-anchor="middle" { (number) }
            }
        }
        text.dim x="0" y=(px(y + LINE + 2.0)) { (frame.units.distance_unit()) }
    }
}

/// What happens on the way, the gravest choosing their room first.
fn marks(frame: &Frame<'_>) -> Markup {
    let marks = frame.strip.marks(frame.things());
    let mut order: Vec<&Mark> = marks.iter().collect();
    order.sort_by_key(|mark| mark.kind.rank());
    let mut rows = Rows::new(MARK_ROWS, LEFT - SIGN, RIGHT + SIGN);
    let top = frame.base() + LINE + 8.0;
    let placed: Vec<(&Mark, Placed)> = order
        .into_iter()
        .map(|mark| {
            let (x, label) = (frame.x(mark.at) - SIGN, mark.label(frame.units));
            // The sign takes the room of three letters; where its words find none it stands alone.
            let placed = rows
                .place(x, &format!("   {label}"))
                .or_else(|| rows.place_exactly(x, 2.0 * SIGN));
            let alone = Placed {
                row: MARK_ROWS - 1,
                x,
                text: String::new(),
            };
            (mark, placed.unwrap_or(alone))
        })
        .collect();
    let y = |label: &Placed| top + LINE * label.row as f64 + 6.0;
    html! {
        @for (mark, label) in &placed {
            @let x = frame.x(mark.at);
            line.mark-line x1=(px(x)) x2=(px(x)) y1=(px(frame.fuel_y)) y2=(px(y(label) - 5.0)) {}
        }
        @for (mark, label) in &placed {
            @let (x, y) = (frame.x(mark.at), y(label));
            // The sign stands at the point itself, before the words or behind them.
            @if label.x < x - SIGN - 1.0 {
                text.mark.halo x=(px(x - 8.0)) y=(px(y + 4.0)) text-anchor="end" { (label.text.trim()) }
            } @else {
                text.mark.halo x=(px(x + 8.0)) y=(px(y + 4.0)) { (label.text.trim()) }
            }
            (shapes::mark(mark.kind, x, y, &mark.label(frame.units)))
        }
    }
}

/// Every sort of ground, fuel stop and mark that the strip shows, with its meaning.
pub(super) fn legend(strip: &Strip) -> Markup {
    let all = Kilometres::ZERO..strip.length() + Kilometres::new(1.0);
    let plan = strip.plan();
    let mut surfaces: Vec<_> = plan.legs.iter().map(|leg| leg.surface).collect();
    surfaces.sort();
    surfaces.dedup();
    let has = |share: fn(&Ground) -> Share| {
        (1..=plan.legs.len()).any(|leg| share(&strip.ground_of(leg)).get() > 0.0)
    };
    let mut supplies: Vec<Supply> = strip.places(all).map(|place| place.supply).collect();
    supplies.sort();
    supplies.dedup();
    let mut kinds: Vec<Mark> = strip.all_marks().to_vec();
    kinds.sort_by_key(|mark| mark.kind.rank());
    kinds.dedup_by_key(|mark| mark.kind.rank());
    let cans = plan.course.iter().any(|span| span.cans > Litres::ZERO);
    let short = kinds.iter().any(|mark| mark.kind.rank() <= 1);
    html! {
        ul.legend aria-label="What the strip shows" {
            li { (swatch(&html! { rect.tank width="22" height="12" {} })) "fuel in the tank" }
            @if cans { li { (swatch(&html! { rect.cans width="22" height="12" fill="url(#cans)" {} })) "fuel in cans" } }
            @if short { li { (swatch(&html! { rect.short width="22" height="12" fill="url(#short)" {} })) "below the minimum" } }
            @if plan.doubt.is_some() {
                li { (swatch(&html! { path.band-high d="M0 2H22" {} path.band-edge d="M0 10H22" {} })) "5 % and 95 % of trips have less" }
            }
            li { (swatch(&html! { line.reserve x1="0" x2="22" y1="6" y2="6" {} })) "minimum" }
            @for surface in surfaces {
                li { (swatch(&html! { rect.edge width="22" height="12" fill={ "url(#ground-" (surface) ")" } {} })) (surface) }
            }
            @if has(|ground| ground.sand) { li { (swatch(&html! { rect width="22" height="12" fill="url(#sand)" {} })) "soft sand, its share of the leg" } }
            @if has(|ground| ground.low_range) { li { (swatch(&html! { rect width="22" height="12" fill="url(#low-range)" {} })) "low range, its share" } }
            @if has(|ground| ground.both) { li { (swatch(&html! { rect width="22" height="12" fill="url(#sand-in-low)" {} })) "sand in low range" } }
            @for supply in supplies {
                li { (swatch(&shapes::place(supply, 11.0, 6.0, ""))) (shapes::supply_name(supply)) }
            }
            @for mark in kinds {
                li { (swatch(&shapes::mark(mark.kind, 11.0, 6.0, ""))) (mark.kind.name()) }
            }
        }
    }
}

/// A sample for the legend.
fn swatch(shape: &Markup) -> Markup {
    html! { svg.swatch viewBox="0 0 22 12" width="22" height="12" aria-hidden="true" { (shape) } }
}
