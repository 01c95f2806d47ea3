//! Several plans side by side: the figures that decide, for each plan.

use super::Case;
use super::page::{Page, WIDTH};
use crate::present::compare::{AS_STATED, FIGURES, Row, figures};
use crate::present::name::{cut, pad_left, pad_right, plain};
use crate::present::number::Units;
use crate::present::odds;

/// Columns of a plan's name.
const NAME: usize = 25;
/// Columns of each figure.
const WIDTHS: [usize; FIGURES] = [3, 5, 6, 6, 7, 6, 6, 7];
/// What the heads mean.
const LEGEND: &str = "finish: share of trips that finish with the reserve intact; needed, carried: fuel in cans. GVM: margin \
                      to the gross vehicle mass; margin: smallest margin on arrival, by the best estimate.";

/// The row of a plan under the names of its what-ifs.
pub(super) fn row_of(case: &Case<'_>, units: Units) -> Row {
    let name = match case.what_ifs {
        [] => AS_STATED.to_owned(),
        names => names.join(" + "),
    };
    Row::new(&name, case.plan, units)
}

/// The table, at most 80 columns wide, the first plan being the trip without what-ifs.
pub fn table(cases: &[Case<'_>], units: Units) -> String {
    let row = |name: &str, cells: [&str; FIGURES]| {
        let mut line = pad_right(&cut(name, NAME), NAME);
        for (n, (cell, columns)) in cells.into_iter().zip(WIDTHS).enumerate() {
            line.push(' ');
            // The first is a word, the others are numbers.
            line += &match n {
                0 => pad_right(cell, columns),
                _ => pad_left(cell, columns),
            };
        }
        format!("{}\n", line.trim_end())
    };
    let trip = cases
        .first()
        .and_then(|case| case.plan.trip.name.as_deref());
    // Common to all rows.
    let set = cases
        .first()
        .and_then(Case::changes)
        .map(|set| cut(&format!("Changed: {set}"), WIDTH));
    let figures = figures(units);
    let mut text = vec![
        format!("{}\n", plain(trip.unwrap_or("Untitled trip"))),
        set.map_or_else(String::new, |set| format!("{set}\n")),
        "\n".to_owned(),
        row("", figures.map(|figure| figure.heads[0])),
        row("plan", figures.map(|figure| figure.heads[1])),
    ];
    text.extend(cases.iter().map(|case| {
        let Row { name, cells } = row_of(case, units);
        row(&name, cells.each_ref().map(String::as_str))
    }));
    let mut page = Page::default();
    page.line("");
    page.paragraph("", 0, LEGEND);
    if let Some(case) = cases.first() {
        page.paragraph("", 0, &odds::basis(case.plan, units));
    }
    text.push(page.text);
    text.concat()
}
