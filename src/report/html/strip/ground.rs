//! The surface of each leg with its shares of sand, dunes and low range, and the altitudes of the places.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use maud::{Markup, html};

use super::super::drawing::{Path, px};
use super::{Frame, GROUND, Shape};
use crate::present::number::percent;
use crate::present::strip::Ground;
use crate::quantity::Share;

/// Length of one round of plain surface, sand and low range.
const PERIOD: f64 = 28.0;

/// The surface: within each round of some pixels the shares of sand and low range, since where exactly
/// they are is not known.
pub(super) fn draw(frame: &Frame<'_>) -> Markup {
    let top = frame.ground_y;
    let y = px(top);
    let mut hard: BTreeMap<&str, Path> = BTreeMap::new();
    let legs = frame.strip.ground(frame.run.clone());
    let legs: Vec<(Ground, f64, f64)> = legs
        .map(|leg| {
            let ends = [leg.from.max(frame.run.start), leg.to.min(frame.run.end)];
            let [from, to] = ends.map(|km| frame.x(km));
            (leg, from, to)
        })
        .filter(|(_, from, to)| to > from)
        .collect();
    for (leg, from, to) in &legs {
        for (pattern, from, to) in hard_parts(leg, *from, *to) {
            let foot = top + GROUND;
            let path = hard.entry(pattern).or_default();
            path.area(&[(from, top), (to, top), (to, foot), (from, foot)]);
        }
    }
    html! {
        @for (leg, from, to) in &legs {
            rect.edge x=(px(*from)) y=(y) width=(px(to - from)) height=(px(GROUND)) fill={ "url(#ground-" (leg.surface) ")" } {
                @if frame.shape.has_names() { title { (in_words(leg)) } }
            }
        }
        @for (pattern, path) in &hard { path d=(path.d()) fill={ "url(#" (pattern) ")" } pointer-events="none" {} }
    }
}

/// The surface of a leg in words.
fn in_words(ground: &Ground) -> String {
    let mut text = format!("leg {}: {}", ground.leg, ground.surface);
    for (share, what) in [
        (ground.sand - ground.dunes, "soft sand"),
        (ground.dunes, "dunes"),
        (ground.low_range, "low range"),
    ] {
        if share.get() > 0.0 {
            // Writing to a text cannot fail.
            let _ = write!(text, ", {} {what}", percent(share));
        }
    }
    text
}

/// The shares of a leg that have a pattern of their own, each with its name.
pub(super) fn hard_shares(ground: &Ground) -> [(&'static str, Share); 5] {
    let both = ground.both.min(ground.sand).min(ground.low_range);
    // As much of the sand in low range is dunes as of all of it.
    let dunes = |part: Share| {
        if ground.sand > Share::ZERO {
            Share::new(part.get() * (ground.dunes.get() / ground.sand.get()))
        } else {
            Share::ZERO
        }
    };
    let sand = ground.sand - both;
    [
        ("dunes-in-low", dunes(both)),
        ("sand-in-low", both - dunes(both)),
        ("dunes", dunes(sand)),
        ("sand", sand - dunes(sand)),
        ("low-range", ground.low_range - both),
    ]
}

/// Those parts of a leg between two pixels.
fn hard_parts(ground: &Ground, from: f64, to: f64) -> Vec<(&'static str, f64, f64)> {
    let shares = hard_shares(ground);
    let rounds = ((to - from) / PERIOD).ceil().max(1.0);
    let round = (to - from) / rounds;
    let mut parts = Vec::new();
    let mut begin = from;
    while begin < to - 0.01 {
        let mut at = begin;
        for (pattern, share) in shares {
            let wide = share.get() * round;
            if wide > 0.05 {
                parts.push((pattern, at, at + wide));
            }
            at += wide;
        }
        begin += round;
    }
    parts
}

/// The altitudes along the route.
pub(super) fn draw_heights(frame: &Frame<'_>) -> Markup {
    let Some(heights) = frame.strip.heights() else {
        return html! {};
    };
    let Shape {
        left,
        right,
        heights: tall,
        ..
    } = frame.shape;
    let top = frame.heights_y;
    let rise = heights.highest() - heights.lowest();
    let y = |km| {
        let share = if rise.get() > 0.0 {
            (heights.at(km) - heights.lowest()) / rise
        } else {
            0.5
        };
        top + (1.0 - share) * (tall - 4.0) + 2.0
    };
    let inner = frame.strip.places(frame.things()).map(|place| place.at);
    let points = std::iter::once(frame.run.start)
        .chain(inner)
        .chain([frame.run.end]);
    let points: Vec<(f64, f64)> = points.map(|km| (frame.x(km), y(km))).collect();
    // Its words are where the line is not.
    let is_low = points.last().is_none_or(|end| end.1 > top + tall / 2.0);
    let words_y = if is_low { top + 8.0 } else { top + tall - 3.0 };
    let foot = top + tall;
    let mut under = Path::default();
    let ends = [(left, foot)];
    under.area(&[&ends[..], &points, &[(frame.x(frame.run.end), foot)]].concat());
    let line = Path::line(points);
    let unit = frame.units.height(heights.lowest()).unit;
    html! {
        path.height-area d=(under.d()) {}
        path.height d=(line.d()) {}
        text.dim x=(px(left - 4.0)) y=(px(top + 8.0)) text-anchor="end" { (frame.units.height(heights.highest()).number) }
        text.dim x=(px(left - 4.0)) y=(px(top + tall + 1.0)) text-anchor="end" { (frame.units.height(heights.lowest()).number) }
        text.dim.halo x=(px(right)) y=(px(words_y)) text-anchor="end" { "altitude, " (unit) }
    }
}
