//! How far the vehicle goes, as text.

use crate::model::Trip;
use crate::plan::Plan;
use crate::plan::range::Ranges;
use crate::present::load;
use crate::present::name::{cut, pad_left, pad_right, plain};
use crate::present::number::Units;
use crate::present::range::{self, HEADS, Table};

use super::page::Page;
use super::payload;

/// Columns of a label, and of a figure.
const LABEL: usize = 20;
const FIGURE: usize = 10;

/// The ranges of a trip, alone.
pub(crate) fn report(trip: &Trip, ranges: &Ranges, units: Units) -> String {
    let mut page = Page::default();
    for name in [&trip.name, &trip.vehicle.name].into_iter().flatten() {
        page.paragraph("", 0, &plain(name));
    }
    section(&mut page, ranges, units);
    page.heading(
        "PAYLOAD",
        "with a full tank and without cans, off the sealed road",
    );
    let masses = &ranges.payload;
    let made_of = &masses.departure.made_of;
    payload::budget(&mut page, made_of, trip.vehicle.gvm_kg, units);
    let margins = masses
        .bars
        .iter()
        .filter_map(|bar| load::margin(bar, units));
    let margins: Vec<String> = margins.collect();
    if !margins.is_empty() {
        page.paragraph("", 0, &format!("Margins: {}.", margins.join(", ")));
    }
    payload::still(&mut page, &masses.room, ranges, units);
    page.text
}

/// How far the fuel on board leads from each fuel check, as a section of a report.
pub(super) fn left(page: &mut Page, plan: &Plan, units: Units) {
    let lines = range::left(plan, units);
    if lines.is_empty() {
        return;
    }
    page.heading(&range::LEFT_TITLE.to_uppercase(), &range::left_basis(plan));
    let row = |[at, place, minimum, empty]: [&str; 4]| {
        let place = pad_right(&cut(place, 36), 36);
        format!("{at:>6} {place} {minimum:>15} {empty:>15}")
    };
    let km = units.distance_unit();
    page.line(&row(["", "", "to the minimum", "until empty"]));
    page.line(&row([km, "place", km, km]));
    for line in &lines {
        let cells = [&line.at, &line.place, &line.to_minimum, &line.until_empty];
        page.line(&row(cells.map(String::as_str)));
    }
}

/// The ranges as a section of a report.
pub(super) fn section(page: &mut Page, ranges: &Ranges, units: Units) {
    page.heading(&range::TITLE.to_uppercase(), &range::basis(ranges));
    for (number, table) in range::tables(ranges, units).iter().enumerate() {
        if number > 0 {
            page.line("");
        }
        drawn(page, table);
    }
    page.line("");
    for sentence in range::notes(ranges, units) {
        page.paragraph("", 0, &sentence);
    }
}

fn drawn(page: &mut Page, table: &Table) {
    page.paragraph("", 0, &table.caption);
    for line in [0, 1] {
        let heads = HEADS.map(|head| pad_left(head[line], FIGURE)).concat();
        page.line(&format!("{}{heads}", " ".repeat(LABEL)));
    }
    for row in &table.rows {
        let cells = row.cells.each_ref().map(|cell| pad_left(cell, FIGURE));
        let label = pad_right(&cut(&row.label, LABEL), LABEL);
        page.line(&format!("{label}{}", cells.concat()));
    }
}
