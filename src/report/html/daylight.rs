//! Daylight by day.

use maud::{Markup, html};

use super::kept;
use crate::plan::Plan;
use crate::present::daylight::{self, HEADS};

/// The table; nothing without date, offset and coordinates.
pub(super) fn section(plan: &Plan) -> Markup {
    let rows = daylight::rows(plan);
    html! {
        @if !rows.is_empty() {
            p { (kept(&daylight::how_to_read(plan))) }
            div.wide tabindex="0" role="group" aria-label="Daylight, can be scrolled sideways" {
                table.figures {
                    caption.hidden { (daylight::TITLE) }
                    thead { tr { @for head in HEADS { th.right { (daylight::joined(head)) } } } }
                    tbody { @for row in &rows { tr { @for cell in row { td { (cell) } } } } }
                }
            }
        }
    }
}
