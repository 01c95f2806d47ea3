//! A trip under way, in the HTML report: the planned band with the fuel readings on it, and fuel used and planned. What
//! to do now is in the head.

use maud::{Markup, html};

use super::drawing::{Path, px};
use crate::plan::Plan;
use crate::present::number::{Toward, Units};
use crate::present::story::{Planned, Point, Story};
use crate::present::under_way;
use crate::quantity::{Kilometres, Litres};

const WIDTH: f64 = 720.0;
const HEIGHT: f64 = 170.0;
const LEFT: f64 = 36.0;
const RIGHT: f64 = WIDTH - 8.0;
const TOP: f64 = 8.0;
const FOOT: f64 = HEIGHT - 18.0;
/// Points of the planned curve.
const STEPS: u32 = 180;

/// The section; `None` if the trip is not under way.
pub(super) fn section(plan: &Plan, units: Units) -> Markup {
    let Some(progress) = plan.progress.as_deref() else {
        return html! {};
    };
    html! {
        @if let Some(story) = Story::from_plan(plan) {
            figure {
                (drawing(&story, units))
                figcaption { "Usable fuel in tank and cans, " (units.fuel_unit()) ". Line: planned at the start. Band: 90 % of the simulated trips. Dots: fuel readings, with two standard deviations each way. Rings: after filling." }
            }
        }
        (intervals(plan, units))
        p { (under_way::factors(progress).replace("+-", "\u{b1}")) }
        @if let Some(says) = under_way::keep_learnt(plan) { p { (says) } }
        (legs_used(plan, units))
    }
}

fn intervals(plan: &Plan, units: Units) -> Markup {
    html! {
        div.wide tabindex="0" role="group" aria-label="Fuel used and planned, can be scrolled sideways" {
            table.figures {
                caption { "Fuel used and planned, " (units.fuel_unit()) }
                thead { tr { @for head in ["interval", "used", "\u{b1}", "planned", "difference", "driven", "planned distance", "note"] { th { (head) } } } }
                tbody {
                    @for row in under_way::intervals(plan, units) {
                        tr {
                            th scope="row" { (row.between) }
                            @match &row.used {
                                Some(cells) => { @for cell in cells { td { (cell) } } }
                                None => { td.left colspan="2" { (under_way::NOT_KNOWN) } }
                            }
                            td { (row.planned) }
                            td { (row.over.as_deref().unwrap_or_default()) }
                            @for cell in &row.distance { td { (cell) } }
                            td.left {
                                @if let Some(cause) = row.likely_off { "most likely off: " (cause) }
                                (row.unlearnt.unwrap_or_default())
                            }
                        }
                    }
                }
            }
        }
    }
}

fn legs_used(plan: &Plan, units: Units) -> Markup {
    let legs = under_way::legs_used(plan, units);
    let [title, how_to_read] = under_way::LEGS_USED;
    html! {
        @if !legs.is_empty() {
            div.wide tabindex="0" role="group" aria-label="Fuel planned and used by leg, can be scrolled sideways" {
                table.figures {
                    caption { (title) ", " (units.fuel_unit()) ": " (how_to_read) }
                    thead { tr { @for head in ["leg to", "planned", "used", "difference"] { th { (head) } } } }
                    tbody {
                        @for row in &legs {
                            tr {
                                th scope="row" { (row.leg) }
                                @for cell in &row.litres { td { (cell) } }
                                td { (row.over.as_deref().unwrap_or_default()) }
                            }
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
        let part = km.part_of(self.length).unwrap_or(0.0);
        LEFT + (RIGHT - LEFT) * part
    }

    fn y(&self, litres: Litres) -> f64 {
        let part = litres
            .part_of(self.top)
            .map_or(0.0, |part| part.clamp(0.0, 1.0));
        FOOT - (FOOT - TOP) * part
    }
}

fn drawing(story: &Story, units: Units) -> Markup {
    let frame = Frame {
        length: story.length(),
        top: story.top(),
    };
    let steps = (0..=STEPS).map(|step| {
        let km = story.length() * f64::from(step) / f64::from(STEPS);
        (frame.x(km), story.planned(km))
    });
    let steps: Vec<(f64, Planned)> = steps.collect();
    let line = Path::line(
        steps
            .iter()
            .map(|(x, planned)| (*x, frame.y(planned.litres))),
    );
    let edge = |end: usize| {
        let litres = |planned: &Planned| planned.band.map(|band| frame.y(band[end]));
        let points = steps.iter();
        Path::line(points.filter_map(|(x, planned)| Some((*x, litres(planned)?))))
    };
    let edges = [edge(0), edge(1)];
    html! {
        svg viewBox={ "0 0 " (px(WIDTH)) " " (px(HEIGHT)) } role="img" aria-label="Fuel readings on the planned band" {
            line.axis x1=(px(LEFT)) x2=(px(RIGHT)) y1=(px(FOOT)) y2=(px(FOOT)) {}
            line.grid x1=(px(LEFT)) x2=(px(RIGHT)) y1=(px(TOP)) y2=(px(TOP)) {}
            text.dim x="2" y=(px(TOP + 8.0)) { (units.fuel(story.top(), Toward::Nearest).number) }
            text.dim x="2" y=(px(FOOT)) { "0" }
            text.dim x=(px(LEFT)) y=(px(HEIGHT - 4.0)) { "0" }
            text.dim x=(px(RIGHT)) y=(px(HEIGHT - 4.0)) text-anchor="end" { (units.distance(story.length(), Toward::Nearest)) }
            @for edge in edges.iter().filter(|edge| !edge.is_empty()) { path.band-high d=(edge.d()) {} }
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
