//! How far the vehicle goes and where its mass goes.

use maud::{Markup, html};

use super::drawing::px;
use super::kept;
use crate::plan::Plan;
use crate::present::name::{capitalized, plain};
use crate::present::number::Units;
use crate::present::range::{self, SURFACES, Table};
use crate::present::{load, payload};

/// Length of the drawing of the gross mass.
const BAR: f64 = 300.0;

/// Tables of the range on each surface, with each load and number of cans.
pub(super) fn section(plan: &Plan, units: Units) -> Markup {
    let ranges = plan.range();
    html! {
        p { (sentence(&range::basis(&ranges))) }
        (drawn(&range::tables(&ranges, units)))
        @for says in range::notes(&ranges, units) { p.note { (kept(&says)) } }
    }
}

/// A heading's note as a sentence.
fn sentence(note: &str) -> String {
    kept(&format!("{}.", capitalized(note)))
}

/// The tables under one head.
fn drawn(tables: &[Table]) -> Markup {
    html! {
        div.wide tabindex="0" role="group" aria-label="Range, can be scrolled sideways" {
            table.figures {
                caption.hidden { "Range" }
                thead { tr { td {} @for surface in SURFACES { th { (surface) } } } }
                @for table in tables {
                    tbody {
                        tr { th.left colspan=(SURFACES.len() + 1) scope="rowgroup" { (table.caption) } }
                        @for row in &table.rows {
                            tr { th scope="row" { (row.label) } @for cell in &row.cells { td { (cell) } } }
                        }
                    }
                }
            }
        }
    }
}

/// How far the fuel on board leads from each fuel check; nothing without them.
pub(super) fn left(plan: &Plan, units: Units) -> Markup {
    let lines = range::left(plan, units);
    let km = units.distance_unit();
    html! {
        @if !lines.is_empty() {
            p { (sentence(&range::left_basis(plan))) }
            div.wide tabindex="0" role="group" aria-label="Range left, can be scrolled sideways" {
                table.figures {
                    caption.hidden { (range::LEFT_TITLE) }
                    thead { tr { th.right { (km) } th.left { "place" } th.right { "to the minimum, " (km) } th.right { "until empty, " (km) } } }
                    tbody {
                        @for line in lines {
                            tr {
                                td { (line.at) }
                                td.left { (plain(&line.place)) }
                                td { (line.to_minimum) }
                                td { (line.until_empty) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// What the gross mass is made of, the margins by day, and what can still be loaded.
pub(super) fn masses(plan: &Plan, units: Units) -> Markup {
    html! {
        @if let Some(departure) = load::at_heaviest(plan) {
            div.wide tabindex="0" role="group" aria-label="Gross mass, can be scrolled sideways" {
                table.figures {
                    caption { "The gross mass at the heaviest departure" }
                    thead { tr { th.left { "part" } th.right { "mass" } th.left { "share" } } }
                    tbody {
                        @for row in payload::budget(&departure.made_of, plan.load.gvm, units) {
                            @let (from, to) = (row.from.get() * BAR, row.to.get() * BAR);
                            tr {
                                th scope="row" { (row.what) }
                                td { (row.mass) }
                                td {
                                    svg.mass viewBox={ "0 0 " (px(BAR)) " 14" } width=(px(BAR)) height="14" aria-hidden="true" {
                                        rect class=(if row.is_margin { "edge frame" } else { "tank" }) x=(px(from)) y="3" width=(px((to - from).max(1.0))) height="8" {}
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
        @if let Some(table) = payload::by_day(plan, units) {
            div.wide tabindex="0" role="group" aria-label="Margins by day, can be scrolled sideways" {
                table.figures {
                    caption { (table.caption) }
                    thead { tr { @for head in &table.heads { th.right { (head) } } } }
                    tbody { @for row in &table.rows { tr { @for cell in row { td { (cell) } } } } }
                }
            }
        }
        p { (kept(&payload::still(&plan.load.room, units))) }
        @for says in payload::price(&plan.range(), units) { p { (kept(&says)) } }
    }
}
