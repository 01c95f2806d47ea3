//! How sure the plan is: outcomes, fuel in cans by success target, fuel on arrival, what the fuel in cans depends on.

use maud::{Markup, html};

use super::drawing::px;
use crate::plan::Plan;
use crate::plan::doubt::Doubt;
use crate::present::learn;
use crate::present::name::plain;
use crate::present::number::{self, Toward, Units};
use crate::present::odds::{self, DriverRow, TargetRow};
use crate::quantity::Litres;

/// Length of the longest bar.
const BAR: f64 = 110.0;

/// Outcomes, fuel in cans by success target, and drives that would make the plan surer; nothing without a simulation.
pub(super) fn section(plan: &Plan, units: Units) -> Markup {
    let Some(doubt) = &plan.doubt else {
        return html! {};
    };
    html! {
        p { (odds::thousands(doubt.outcomes.trips)) " simulated trips that follow the plan and its fuel checks; \u{b1} is the sampling error." }
        div.wide tabindex="0" role="group" aria-label="Outcomes, can be scrolled sideways" { (ends(doubt)) }
        div.wide tabindex="0" role="group" aria-label="Fuel in cans by success target, can be scrolled sideways" {
            (by_target(&odds::by_target(doubt, units), units))
        }
        @let lessons = learn::sentences(plan, units);
        @if !lessons.is_empty() {
            h3 { "Calibration drives" }
            ul { @for lesson in lessons { li { (lesson) } } }
        }
    }
}

/// Fuel on arrival leg by leg; nothing without a simulation.
pub(super) fn arrivals(plan: &Plan, units: Units) -> Markup {
    html! { @if let Some(doubt) = &plan.doubt { (on_board(plan, doubt, units)) } }
}

/// What the fuel in cans depends on; nothing without a simulation, or if it depends on nothing.
pub(super) fn depends_on(plan: &Plan, units: Units) -> Markup {
    html! { @if let Some(doubt) = &plan.doubt { (drivers(&odds::drivers(plan, doubt, units), units)) } }
}

fn ends(doubt: &Doubt) -> Markup {
    html! {
        table.figures.narrow {
            caption { "Outcomes" }
            thead { tr { th { "outcome" } th { "any fuel found" } th { "relied-on only" } } }
            tbody {
                @let decides = odds::ends(&doubt.outcomes_without_luck);
                @for ((end, of), (_, decisive)) in odds::ends(&doubt.outcomes).into_iter().zip(decides) {
                    tr {
                        th scope="row" { (end) }
                        @for share in [of, decisive] { td { (odds::with_error(share).trim_end().replace("+-", "\u{b1}")) } }
                    }
                }
            }
        }
    }
}

fn by_target(rows: &[TargetRow], units: Units) -> Markup {
    html! {
        table.figures.narrow {
            caption { "Fuel needed in cans, " (units.fuel_unit()) }
            thead { tr { th { "success target" } @for row in rows { th { (row.success_target) } } } }
            tbody {
                tr { th scope="row" { "needed" } @for row in rows { td { (row.litres) } } }
                tr { th scope="row" { "\u{b1}" } @for row in rows { td { (row.error) } } }
            }
        }
    }
}

fn on_board(plan: &Plan, doubt: &Doubt, units: Units) -> Markup {
    // As in the fuel checks: what is on board is rounded down.
    let litres = |litres: Litres| units.by_gauge(litres, Toward::Down).number;
    html! {
        div.wide tabindex="0" role="group" aria-label="Fuel on arrival, can be scrolled sideways" {
            table.figures {
                caption { "Fuel on arrival, " (units.fuel_unit()) (odds::if_fuel(plan)) ". " (odds::BANDS) }
                thead { tr { th.right { "leg" } @for head in ["to", "5 %", "50 %", "95 %", "reserve used"] { th class=[(head == "to").then_some("left")] { (head) } } } }
                tbody {
                    @for ((leg, band), below) in plan.legs.iter().zip(&doubt.bands).zip(&doubt.first_below) {
                        tr {
                            td { (leg.n) }
                            td.left { (plain(&leg.to)) }
                            @for on_board in [band.end.low, band.end.middle, band.end.high] { td { (litres(on_board)) } }
                            td { (number::outcome(below.share)) }
                        }
                    }
                }
            }
        }
    }
}

fn drivers(rows: &[DriverRow], units: Units) -> Markup {
    html! {
        @if !rows.is_empty() {
            div.wide tabindex="0" role="group" aria-label="What the fuel in cans depends on, can be scrolled sideways" {
                table.figures {
                    caption { (odds::how_to_read_drivers(units)) }
                    thead { tr { th { "input" } @for head in ["5 %", "to", "95 %", "variance"] { th class=[(head == "to").then_some("left")] { (head) } } } }
                    tbody {
                        @for row in rows {
                            @let [from, to] = row.bar.map(|share| share.get() * BAR);
                            tr {
                                th scope="row" { (row.name) }
                                td { (row.low) }
                                td {
                                    svg.bar viewBox={ "0 0 " (px(BAR)) " 14" } aria-hidden="true" {
                                        rect.mass x=(px(from)) y="3" width=(px((to - from).max(1.0))) height="8" {}
                                    }
                                }
                                td { (row.high) }
                                td { (row.of_spread.as_deref().unwrap_or("-")) }
                            }
                        }
                    }
                }
            }
        }
    }
}
