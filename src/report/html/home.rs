//! The page for those who stay at home, on paper of its own.

use maud::{Markup, html};

use super::kept;
use crate::plan::Plan;
use crate::present::home;
use crate::present::number::Units;

/// The page.
pub(super) fn section(plan: &Plan, units: Units) -> Markup {
    html! {
        p { (home::WHAT_IT_IS) }
        @if let Some(worry) = home::worry(plan) { p { strong { (kept(&worry)) } } }
        p { (kept(&home::times(plan))) }
        @for day in home::days(plan, units) {
            h3 { (day.day) }
            div.wide tabindex="0" role="group" aria-label={ (day.day) ", can be scrolled sideways" } {
                table.figures {
                    caption.hidden { (day.day) }
                    thead { tr { @for head in ["at", "place", "coordinates", "time"] { th.left { (head) } } } }
                    tbody {
                        @for place in &day.places {
                            tr {
                                td.left { (place.at) }
                                td.left { (place.name) }
                                td.left { (place.position.as_deref().unwrap_or("no coordinates")) }
                                td.left { (place.time.as_deref().unwrap_or_default()) }
                            }
                        }
                    }
                }
            }
        }
        @let says: Vec<String> = home::turn_backs(plan, units).into_iter().chain(home::supplies(plan, units)).collect();
        ul { @for line in says { li { (kept(&line)) } } }
        table.figures.by-hand {
            caption.hidden { "To be filled in by hand" }
            tbody { @for label in home::BY_HAND { tr { th scope="row" { (label) } td {} } } }
        }
    }
}
