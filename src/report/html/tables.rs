//! The tables: legs, load, why each leg burns what it burns, plans side by side.

use maud::{Markup, html};

use super::drawing::px;
use super::kept;
use crate::plan::{LoadBar, Plan};
use crate::present::columns::{self, Align, LEG};
use crate::present::compare::{Row, figures};
use crate::present::number::Units;
use crate::present::{load, why};
use crate::report::{Case, compare};

/// The table of legs.
pub(super) fn legs(plan: &Plan, units: Units) -> Markup {
    html! {
        p { (columns::HOW_TO_READ) }
        div.wide tabindex="0" role="group" aria-label="Legs, can be scrolled sideways" {
            table.figures {
                caption.hidden { "Legs" }
                thead {
                    tr {
                        @for column in &LEG {
                            th scope="col" class=(side(column.align)) {
                                (column.title)
                                @if !(column.unit)(units).is_empty() { small { ((column.unit)(units)) } }
                            }
                        }
                    }
                }
                tbody {
                    @for leg in &plan.legs {
                        tr class=[leg.below_reserve.then_some("below")] {
                            @for column in &LEG {
                                td class=(side(column.align)) { (column.text(leg, plan, units)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

const fn side(align: Align) -> &'static str {
    match align {
        Align::Left => "left",
        Align::Right => "right",
    }
}

/// Each load limit as a bar with its margin.
pub(super) fn load(plan: &Plan, units: Units) -> Markup {
    html! {
        @if !plan.load.bars.is_empty() {
            p { "Each limit at its heaviest departure; GVM: gross vehicle mass." }
            div.wide tabindex="0" role="group" aria-label="Load, can be scrolled sideways" {
                table.figures {
                    caption.hidden { "Load against its limits" }
                    thead {
                        tr {
                            @for (head, side) in [("limit of", Align::Left), ("share", Align::Left), ("load", Align::Right), ("limit", Align::Right), ("margin", Align::Right), ("departure from", Align::Left)] {
                                th scope="col" class=(self::side(side)) { (head) }
                            }
                        }
                    }
                    tbody { @for bar in &plan.load.bars { (bar_row(bar, plan, units)) } }
                }
            }
            @if let Some(places) = load::places(plan, units) { (super::side::figure(&places)) }
            @for says in [load::heaviest(plan, units), load::by_day(plan, units), load::why_these_cans(plan)].into_iter().flatten() { p { (kept(&says)) } }
            @for says in load::supplies(plan, units) { p { (kept(&says)) } }
        }
    }
}

fn bar_row(bar: &LoadBar, plan: &Plan, units: Units) -> Markup {
    let line = load::line(bar, plan, units);
    html! {
        tr class=[bar.is_over().then_some("below")] {
            th scope="row" { (line.what) }
            td { (drawn(bar, &line)) }
            td.right { (line.mass) }
            td.right { @match &line.limit { Some(limit) => (limit), None => "not set" } }
            td.right { @if let Some(left) = &line.left { (left) } }
            td { (line.place) }
        }
    }
}

/// The bar: the load as a part of the limit, which is a line; the part over it is hatched.
fn drawn(bar: &LoadBar, line: &load::LoadLine) -> Markup {
    const LIMIT: f64 = 120.0;
    const WIDTH: f64 = 150.0;
    let Some(limit) = bar.limit else {
        return html! {};
    };
    let share = if limit > crate::quantity::Kilograms::ZERO {
        bar.mass / limit
    } else {
        2.0
    };
    let filled = (share * LIMIT).clamp(0.0, WIDTH);
    html! {
        svg.bar viewBox={ "0 0 " (px(WIDTH)) " 14" } width="150" height="14" role="img" aria-label={ (line.what) ": " (line.left.as_deref().unwrap_or_default()) } {
            rect.edge.frame x="0.5" y="1.5" width=(px(LIMIT)) height="11" {}
            rect.tank y="2" width=(px(filled.min(LIMIT))) height="10" {}
            @if filled > LIMIT { rect.short x=(px(LIMIT)) y="2" width=(px(filled - LIMIT)) height="10" fill="url(#short)" {} }
            line.axis x1=(px(LIMIT)) x2=(px(LIMIT)) y1="0" y2="14" {}
        }
    }
}

/// The factors of each leg's causes.
pub(super) fn why(plan: &Plan, units: Units) -> Markup {
    let table = why::table(plan, units);
    html! {
        @if !table.rows.is_empty() {
            p { (table.says) }
            div.wide tabindex="0" role="group" aria-label="Causes, can be scrolled sideways" {
                table.figures {
                    caption.hidden { "Factors of the causes" }
                    thead {
                        tr {
                            th.right scope="col" { "leg" }
                            th.left scope="col" { "to" }
                            th scope="col" { "consumption" small { (units.rate_unit()) } }
                            @for cause in &table.causes { th scope="col" { (why::name(*cause)) } }
                        }
                    }
                    tbody {
                        @for row in &table.rows {
                            tr {
                                td.right { (row.leg) }
                                td.left { (row.to) }
                                td.right { (row.rate) }
                                @for factor in &row.factors { td.right { (factor) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Plans side by side: a column for each.
pub(super) fn compared(cases: &[Case<'_>], units: Units) -> Markup {
    let rows: Vec<Row> = cases
        .iter()
        .map(|case| compare::row_of(case, units))
        .collect();
    html! {
        section #compared {
            h2 { "Side by side" }
            div.wide tabindex="0" role="group" aria-label="Plans side by side, can be scrolled sideways" {
                table.figures {
                    caption.hidden { "Plans side by side" }
                    thead {
                        tr {
                            td {}
                            @for row in &rows { th.right scope="col" { (row.name) } }
                        }
                    }
                    tbody {
                        @for (n, figure) in figures(units).iter().enumerate() {
                            tr {
                                th.left scope="row" { (figure.says) @if !figure.unit.is_empty() { ", " (figure.unit) } }
                                @for row in &rows { td.right.below[row.cells[n] == "NO"] { (row.cells[n]) } }
                            }
                        }
                    }
                }
            }
        }
    }
}
