//! Daylight by day, as text.

use crate::plan::Plan;
use crate::present::daylight::{self, HEADS};
use crate::present::name::pad_left;

use super::page::Page;

/// Columns of each head.
const WIDTHS: [usize; 9] = [3, 15, 8, 8, 9, 9, 7, 7, 10];

/// Writes the table, if date, offset and coordinates are known.
pub(super) fn section(page: &mut Page, plan: &Plan) {
    let rows = daylight::rows(plan);
    if rows.is_empty() {
        return;
    }
    page.heading(&daylight::TITLE.to_uppercase(), "");
    page.paragraph("", 0, &daylight::how_to_read(plan));
    let mut line = |cells: [&str; 9]| {
        let cells = cells.iter().zip(WIDTHS);
        let cells: String = cells.map(|(cell, width)| pad_left(cell, width)).collect();
        page.line(&cells);
    };
    line(HEADS.map(|head| head[0]));
    line(HEADS.map(|head| head[1]));
    for row in &rows {
        line(row.each_ref().map(String::as_str));
    }
}
