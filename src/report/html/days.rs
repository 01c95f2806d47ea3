//! What to do, day by day, in sentences with odometer and litres: the card has the same in few words.

use maud::{Markup, html};

use super::{kept, shapes};
use crate::plan::Plan;
use crate::present::card::DECANT_SAFELY;
use crate::present::day::cards;
use crate::present::daylight;
use crate::present::number::Units;

/// The tasks of all days.
pub(super) fn section(plan: &Plan, units: Units) -> Markup {
    html! {
        @if !plan.decants.is_empty() { p { (DECANT_SAFELY) } }
        @for day in &cards(plan, units) {
            div.day {
                h3 { "Day " (day.number) ": " (day.from) " to " (day.to) }
                p.totals { (kept(&day.totals)) ". " (kept(&day.tightest)) @if let Some(light) = daylight::in_short(plan, day.number) { " " (kept(&light)) "." } }
                @if !day.tasks.is_empty() {
                    ul.tasks {
                        @for task in &day.tasks {
                            li { (shapes::task(task.kind)) (kept(&task.says)) }
                        }
                    }
                }
            }
        }
    }
}
