//! The tables: legs, load, why each leg burns what it burns, what the fuel in cans is for, dry fuel stops, plans side by side.

use maud::{Markup, html};

use super::drawing::px;
use super::{kept, shapes};
use crate::plan::{LoadBar, Plan};
use crate::present::answers::Sign;
use crate::present::columns::{self, Align, LEG};
use crate::present::compare::{Row, figures};
use crate::present::dry::Outcome;
use crate::present::number::Units;
use crate::present::{dry, ledger, load, why};
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
                            th class=(side(column.align)) {
                                (column.title)
                                @if !(column.unit)(units).is_empty() { small { ((column.unit)(units)) } }
                            }
                        }
                    }
                }
                tbody {
                    @for leg in &plan.legs {
                        tr class=[leg.below_reserve.then_some("below broken")] {
                            @for column in &LEG {
                                td class=[(column.align == Align::Left).then_some("left")] { (column.text(leg, plan, units)) }
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
                                th class=(self::side(side)) { (head) }
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
        tr class=[bar.is_over().then_some("below broken")] {
            th scope="row" { @if bar.is_over() { (shapes::sign(Sign::Missed)) } (line.what) }
            td { (drawn(bar, &line)) }
            td { (line.mass) }
            td { @match &line.limit { Some(limit) => (limit), None => "not set" } }
            td { @if let Some(left) = &line.left { (left) } }
            td.left { (line.place) }
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
    let share = bar.mass.part_of(limit).unwrap_or(2.0);
    let filled = (share * LIMIT).clamp(0.0, WIDTH);
    html! {
        svg.bar.load viewBox={ "0 0 " (px(WIDTH)) " 14" } role="img" aria-label={ (line.what) ": " (line.left.as_deref().unwrap_or_default()) } {
            rect.edge.frame x="0.5" y="1.5" width=(px(LIMIT)) height="11" {}
            rect.mass y="2" width=(px(filled.min(LIMIT))) height="10" {}
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
                            th.right { "leg" }
                            th.left { "to" }
                            th { "consumption" small { (units.rate_unit()) } }
                            @for cause in &table.causes { th { (why::name(*cause)) } }
                        }
                    }
                    tbody {
                        @for row in &table.rows {
                            tr {
                                td { (row.leg) }
                                td.left { (row.to) }
                                td { (row.rate) }
                                @for factor in &row.factors { td { (factor) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// What the fuel in cans is for: a bar for each part, from the left if it needs fuel, hollow if it saves fuel.
pub(super) fn ledger(plan: &Plan, units: Units) -> Markup {
    const LONGEST: f64 = 70.0;
    let of = plan.ledger();
    html! {
        @if let Some(says) = ledger::how_to_read(of, plan, units) {
            p { (kept(&says)) }
            table.figures.bars {
                caption.hidden { "Parts of the fuel in cans" }
                thead {
                    tr {
                        th.left { "for" }
                        th.right { (units.fuel_unit()) }
                        th.left { "share" }
                        th.left { "without it" }
                    }
                }
                tbody {
                    @for line in ledger::lines(of, units) {
                        @let long = line.of_most.get() * LONGEST;
                        tr {
                            th scope="row" {
                                (line.part)
                                @if !line.legs.is_empty() { small { (kept(&line.legs)) } }
                            }
                            td { (line.litres.number) }
                            td {
                                svg.bar viewBox={ "0 0 " (px(LONGEST + 1.0)) " 10" } aria-hidden="true" {
                                    rect.part.saves[long < 0.0] x="0.5" y="0.5" width=(px(long.abs().max(1.0))) height="9" {}
                                }
                            }
                            td.left { @if let Some(without) = &line.without { (kept(without)) } }
                        }
                    }
                }
            }
        }
    }
}

/// What comes of continuing and of returning if a fuel stop is dry.
pub(super) fn dry(plan: &Plan, units: Units) -> Markup {
    let rows = dry::rows(plan, units);
    html! {
        @if !rows.is_empty() {
            p { (dry::HOW_TO_READ) }
            table.dry {
                caption.hidden { "If a fuel stop is dry" }
                thead { tr { @for head in ["place", "continue", "return", "recommended"] { th { (head) } } } }
                tbody {
                    @for row in &rows {
                        tr {
                            th scope="row" { (kept(&row.what)) @if let Some(note) = &row.note { small { (kept(note)) } } }
                            td { (outcome(row.on.as_ref())) }
                            td { (outcome(row.back.as_ref())) }
                            td { @if let Some(word) = row.recommended { strong { (word) } } }
                        }
                    }
                }
            }
        }
    }
}

fn outcome(outcome: Option<&Outcome>) -> Markup {
    html! {
        @match outcome {
            Some(Outcome { to, shares: [intact, using, out] }) => {
                "to " (to) ":" small { (kept(&format!("{intact} reserve intact"))) } small { (kept(&format!("{using} using it"))) }
                small { strong { (kept(&format!("{out} run out"))) } }
            }
            None => "not possible",
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
                            @for row in &rows { th.right { (row.name) } }
                        }
                    }
                    tbody {
                        @for (n, figure) in figures(units).iter().enumerate() {
                            tr {
                                th scope="row" { (figure.says) @if !figure.unit.is_empty() { ", " (figure.unit) } }
                                @for row in &rows { td.below[row.cells[n] == "NO"] { (row.cells[n]) } }
                            }
                        }
                    }
                }
            }
        }
    }
}
