//! A trip under way, in the HTML report: whether to turn back now, the planned band with the fuel readings on it, used
//! against planned.

use maud::{Markup, html};

use super::drawing::{Path, px};
use crate::plan::Plan;
use crate::present::behind;
use crate::present::number::{Toward, Units};
use crate::present::story::{Point, Story};
use crate::quantity::{Kilometres, Litres};

const WIDTH: f64 = 720.0;
const HEIGHT: f64 = 170.0;
const LEFT: f64 = 36.0;
const RIGHT: f64 = WIDTH - 8.0;
const TOP: f64 = 8.0;
const FOOT: f64 = HEIGHT - 18.0;
/// Points of the planned curve.
const STEPS: u32 = 180;

/// The section; nothing where the trip is not under way.
pub(super) fn section(plan: &Plan, units: Units) -> Markup {
    let Some(lies_behind) = plan.behind.as_deref() else {
        return html! {};
    };
    html! {
        section #behind {
            h2 { (behind::TITLE) }
            @if let Some(now) = behind::now(plan, units) { p { strong { (now) } } }
            @if let Some(story) = Story::of(plan) {
                figure {
                    (drawing(&story, units))
                    figcaption { "Planned at the start (line; nine of ten simulated trips lie within the band) and the fuel readings (dots, with two standard deviations each way; rings after filling), " (units.fuel_unit()) " usable in tank and cans." }
                }
            }
            (ways(plan, units))
            p { (behind::factors(lies_behind).replace("+-", "\u{b1}")) }
        }
    }
}

fn ways(plan: &Plan, units: Units) -> Markup {
    html! {
        div.wide tabindex="0" role="group" aria-label="Used against planned, can be scrolled sideways" {
            table.figures {
                caption { "Used against planned, " (units.fuel_unit()) }
                thead { tr { @for head in ["way", "used", "\u{b1}", "planned", "over", "driven", "planned way", ""] { th scope="col" { (head) } } } }
                tbody {
                    @for row in behind::ways(plan, units) {
                        tr {
                            th.left scope="row" { (row.way) }
                            @match &row.used {
                                Some(cells) => { @for cell in cells { td.right { (cell) } } }
                                None => { td.left colspan="2" { (behind::NOT_KNOWN) } }
                            }
                            td.right { (row.planned) }
                            td.right { (row.over.as_deref().unwrap_or_default()) }
                            @for cell in &row.distance { td.right { (cell) } }
                            td.left { (row.unlearnt.unwrap_or_default()) }
                        }
                    }
                }
            }
        }
    }
}

/// From kilometres and litres to pixels.
struct Frame {
    length: Kilometres,
    top: Litres,
}

impl Frame {
    fn x(&self, km: Kilometres) -> f64 {
        let part = if self.length > Kilometres::ZERO {
            km / self.length
        } else {
            0.0
        };
        LEFT + (RIGHT - LEFT) * part
    }

    fn y(&self, litres: Litres) -> f64 {
        let part = if self.top > Litres::ZERO {
            (litres / self.top).clamp(0.0, 1.0)
        } else {
            0.0
        };
        FOOT - (FOOT - TOP) * part
    }
}

fn drawing(story: &Story, units: Units) -> Markup {
    let frame = Frame {
        length: story.length(),
        top: story.top(),
    };
    let (mut line, mut low, mut high) = (Path::default(), Path::default(), Path::default());
    let mut has_band = false;
    for step in 0..=STEPS {
        let km = story.length() * f64::from(step) / f64::from(STEPS);
        let planned = story.planned(km);
        let put = |path: &mut Path, litres| {
            let (x, y) = (frame.x(km), frame.y(litres));
            if step == 0 {
                path.start(x, y);
            } else {
                path.to(x, y);
            }
        };
        put(&mut line, planned.litres);
        if let Some([from, to]) = planned.band {
            has_band = true;
            put(&mut low, from);
            put(&mut high, to);
        }
    }
    html! {
        svg viewBox={ "0 0 " (px(WIDTH)) " " (px(HEIGHT)) } role="img" aria-label="Fuel readings on the planned band" {
            line.axis x1=(px(LEFT)) x2=(px(RIGHT)) y1=(px(FOOT)) y2=(px(FOOT)) {}
            line.grid x1=(px(LEFT)) x2=(px(RIGHT)) y1=(px(TOP)) y2=(px(TOP)) {}
            text.dim x="2" y=(px(TOP + 8.0)) { (units.fuel(story.top(), Toward::Nearest).number) }
            text.dim x="2" y=(px(FOOT)) { "0" }
            text.dim x=(px(LEFT)) y=(px(HEIGHT - 4.0)) { "0" }
            text.dim x=(px(RIGHT)) y=(px(HEIGHT - 4.0)) text-anchor="end" { (units.distance(story.length(), Toward::Nearest)) }
            @if has_band {
                path.band-high d=(low.d()) {}
                path.band-high d=(high.d()) {}
            }
            path.band-edge d=(line.d()) {}
            @for point in story.points() { (read_off(&frame, *point)) }
        }
    }
}

fn read_off(frame: &Frame, point: Point) -> Markup {
    let x = px(frame.x(point.at));
    let off = point.spread * 2.0;
    let y = |litres: Litres| px(frame.y(litres.max(Litres::ZERO)));
    html! {
        line.axis x1=(x) x2=(x) y1=(y(point.left - off)) y2=(y(point.left + off)) {}
        circle.tank cx=(x) cy=(y(point.left)) r="3.5" {}
        @if point.filled > Litres::ZERO {
            circle.band-edge cx=(x) cy=(y(point.left + point.filled)) r="3.5" {}
        }
    }
}
