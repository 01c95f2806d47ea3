//! Where the mass goes, as text.

use crate::plan::range::Ranges;
use crate::plan::{MadeOf, Plan, Room};
use crate::present::name::pad_left;
use crate::present::number::{Units, cells};
use crate::present::payload;
use crate::quantity::Kilograms;

use super::page::Page;

/// Columns of the drawing.
const BAR: usize = 52;

/// What the gross mass is made of, each part where the ones before it end.
pub(super) fn budget(page: &mut Page, made_of: &MadeOf, gvm: Option<Kilograms>, units: Units) {
    for row in payload::budget(made_of, gvm, units) {
        let [from, to] = [row.from, row.to].map(|share| cells(share, BAR));
        // What is there is seen, however small.
        let to = to.max(from + 1).min(BAR);
        let from = from.min(to - 1);
        let sign = if row.is_margin { "." } else { "#" };
        page.line(&format!(
            "{:<13} {:>9} [{}{}{}]",
            row.what,
            row.mass,
            " ".repeat(from),
            sign.repeat(to - from),
            " ".repeat(BAR - to),
        ));
    }
}

/// The margins of each day.
pub(super) fn by_day(page: &mut Page, plan: &Plan, units: Units) {
    let Some(table) = payload::by_day(plan, units) else {
        return;
    };
    page.paragraph("", 0, &table.caption);
    let widths: Vec<usize> = table.heads.iter().map(|head| head.len().max(6)).collect();
    let mut line = |cells: &mut dyn Iterator<Item = &str>| {
        let cells = cells
            .zip(&widths)
            .map(|(cell, &width)| pad_left(cell, width));
        page.line(&cells.collect::<Vec<_>>().join(" "));
    };
    line(&mut table.heads.iter().copied());
    for row in &table.rows {
        line(&mut row.iter().map(String::as_str));
    }
}

/// What can still be loaded, and what it costs.
pub(super) fn still(page: &mut Page, rooms: &[Room], ranges: &Ranges, units: Units) {
    page.paragraph("", 0, &payload::still(rooms, units));
    for sentence in payload::price(ranges, units) {
        page.paragraph("", 0, &sentence);
    }
}
