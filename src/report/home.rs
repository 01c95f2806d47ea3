//! The page for those who stay at home, as text.

use crate::plan::Plan;
use crate::present::home::{self, HomePlace};
use crate::present::name::{cut, pad_right};
use crate::present::number::Units;

use super::page::{Page, WIDTH};

/// Columns of the kilometre, the place and the position.
const AT: usize = 8;
const NAME: usize = 22;
const POSITION: usize = 25;

/// Writes the page for the person at home.
pub(super) fn section(page: &mut Page, plan: &Plan, units: Units) {
    page.heading(&home::TITLE.to_uppercase(), "");
    page.paragraph("", 0, home::WHAT_IT_IS);
    if let Some(worry) = home::worry(plan) {
        page.line("");
        page.paragraph("! ", 2, &worry);
    }
    page.line("");
    page.paragraph("", 0, &home::times(plan));
    for day in home::days(plan, units) {
        page.line("");
        page.line(&day.day);
        for place in &day.places {
            page.line(&row(place));
        }
    }
    page.line("");
    for sentence in home::turn_backs(plan, units) {
        page.paragraph("- ", 2, &sentence);
    }
    for sentence in home::supplies(plan, units) {
        page.paragraph("- ", 2, &sentence);
    }
    page.line("");
    for label in home::BY_HAND {
        page.line(label);
        page.line(&"_".repeat(WIDTH));
    }
}

fn row(place: &HomePlace) -> String {
    let name = pad_right(&cut(&place.name, NAME), NAME);
    let position = place.position.as_deref().unwrap_or("no coordinates");
    let time = place.time.as_deref().unwrap_or_default();
    format!("{:AT$}{name} {position:POSITION$} {time}", place.at)
}
