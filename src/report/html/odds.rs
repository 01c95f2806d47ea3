//! How sure the plan is: how it ends, spare fuel by success target, what is on board, what moves it.

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
const BAR: f64 = 150.0;

/// The section; nothing where no chances were computed.
pub(super) fn section(plan: &Plan, units: Units) -> Markup {
    let Some(doubt) = &plan.doubt else {
        return html! {};
    };
    html! {
        p { (odds::thousands(doubt.outcomes.trips)) " simulated trips that obey the plan and its fuel checks; \u{b1} is the sampling error." }
        div.wide tabindex="0" role="group" aria-label="How it ends, can be scrolled sideways" { (ends(doubt)) }
        div.wide tabindex="0" role="group" aria-label="Spare fuel by success target, can be scrolled sideways" {
            (by_target(&odds::by_target(doubt, units), units))
        }
        (on_board(plan, doubt, units))
        (drivers(&odds::drivers(plan, doubt, units), units))
        @let lessons = learn::sentences(plan, units);
        @if !lessons.is_empty() {
            h3 { "What to learn first" }
            ul { @for lesson in lessons { li { (lesson) } } }
        }
    }
}

fn ends(doubt: &Doubt) -> Markup {
    html! {
        table.figures.narrow {
            caption { "How it ends" }
            thead { tr { th scope="col" { "outcome" } th scope="col" { "any fuel found" } th scope="col" { "relied on only" } } }
            tbody {
                @let decides = odds::ends(&doubt.outcomes_without_luck);
                @for ((end, of), (_, decisive)) in odds::ends(&doubt.outcomes).into_iter().zip(decides) {
                    tr {
                        th.left scope="row" { (end) }
                        @for share in [of, decisive] { td.right { (odds::with_error(share).replace("+-", "\u{b1}")) } }
                    }
                }
            }
        }
    }
}

fn by_target(rows: &[TargetRow], units: Units) -> Markup {
    html! {
        table.figures.narrow {
            caption { "Spare fuel that is enough, " (units.fuel_unit()) }
            thead { tr { th scope="col" { "in" } @for row in rows { th scope="col" { (row.success_target) } } } }
            tbody {
                tr { th.left scope="row" { "in cans" } @for row in rows { td.right { (row.litres) } } }
                tr { th.left scope="row" { "\u{b1}" } @for row in rows { td.right { (row.error) } } }
            }
        }
    }
}

fn on_board(plan: &Plan, doubt: &Doubt, units: Units) -> Markup {
    // As on the card: what is on board is rounded down.
    let litres = |litres: Litres| units.fuel(litres, Toward::Down).number;
    html! {
        div.wide tabindex="0" role="group" aria-label="Fuel aboard, can be scrolled sideways" {
            table.figures {
                caption { "Aboard on arrival" (odds::if_fuel(plan)) ", " (units.fuel_unit()) ": so much or less in 5, 50 and 95 of 100 draws; and how often the reserve is broken there first" }
                thead { tr { th.right scope="col" { "leg" } @for head in ["to", "5 %", "50 %", "95 %", "below reserve"] { th scope="col" class=[(head == "to").then_some("left")] { (head) } } } }
                tbody {
                    @for ((leg, band), below) in plan.legs.iter().zip(&doubt.bands).zip(&doubt.first_below) {
                        tr {
                            td.right { (leg.n) }
                            td.left { (plain(&leg.to)) }
                            @for aboard in [band.end.low, band.end.middle, band.end.high] { td.right { (litres(aboard)) } }
                            td.right { (number::odds(below.share)) }
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
            div.wide tabindex="0" role="group" aria-label="What the spare fuel hangs on, can be scrolled sideways" {
                table.figures {
                    caption { "What the spare fuel hangs on, " (units.fuel_unit()) ": one unknown at its 5th and its 95th percentile, of a pump if it surely had fuel and if it were surely dry, all others in the middle" }
                    thead { tr { th scope="col" { "unknown" } @for head in ["low", "from low to high", "high", "of the spread"] { th scope="col" class=[head.starts_with("from").then_some("left")] { (head) } } } }
                    tbody {
                        @for row in rows {
                            @let [from, to] = row.bar.map(|share| share.get() * BAR);
                            tr {
                                th.left scope="row" { (row.name) }
                                td.right { (row.low) }
                                td {
                                    svg.bar viewBox={ "0 0 " (px(BAR)) " 14" } width=(px(BAR)) height="14" aria-hidden="true" {
                                        rect.tank x=(px(from)) y="3" width=(px((to - from).max(1.0))) height="8" {}
                                    }
                                }
                                td.right { (row.high) }
                                td.right { (row.of_spread.as_deref().unwrap_or("–")) }
                            }
                        }
                    }
                }
            }
        }
    }
}
