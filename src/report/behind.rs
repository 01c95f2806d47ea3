//! A trip under way, in the text report: whether to turn back now, used against planned, the factors that follow.

use super::page::Page;
use crate::plan::Plan;
use crate::present::behind;
use crate::present::number::Units;

/// The section; nothing where nothing lies behind.
pub(super) fn section(page: &mut Page, plan: &Plan, units: Units) {
    let Some(lies_behind) = plan.behind.as_deref() else {
        return;
    };
    page.heading(&behind::TITLE.to_uppercase(), behind::HOW_TO_READ);
    if let Some(now) = behind::now(plan, units) {
        page.paragraph("", 0, &now.replace('±', "+-"));
    }
    for row in behind::ways(plan, units) {
        page.paragraph("- ", 2, &behind::sentence(&row, units));
    }
    page.paragraph("", 0, &behind::factors(lies_behind));
}
