//! The results of the simulation in the text report: outcomes, fuel in cans by success target, fuel on arrival, what
//! the fuel in cans depends on.

use crate::plan::Plan;
use crate::plan::doubt::Doubt;
use crate::present::name::{cut, pad_left, pad_right};
use crate::present::number::{self, Toward, Units};
use crate::present::odds;

use super::page::Page;

/// Longest bar of an uncertain input, in columns.
const BAR: usize = 28;
/// Columns of its name.
const NAME: usize = 22;

/// Writes the section, if trips were simulated.
pub(super) fn section(page: &mut Page, plan: &Plan, units: Units) {
    let Some(doubt) = &plan.doubt else { return };
    page.heading(
        "HOW SURE",
        &format!(
            "{} simulated trips that follow the plan and its fuel checks; +- is the sampling error",
            odds::thousands(doubt.outcomes.trips)
        ),
    );
    let without = doubt.outcomes != doubt.outcomes_without_luck;
    if without {
        let heads = ["any fuel found", "relied-on only"];
        page.line(&format!("{:32} {:>14} {:>16}", "", heads[0], heads[1]));
    }
    let decides = odds::ends(&doubt.outcomes_without_luck);
    for ((end, of), (_, decisive)) in odds::ends(&doubt.outcomes).into_iter().zip(decides) {
        let beside = if without {
            format!(" {:>16}", odds::with_error(decisive))
        } else {
            String::new()
        };
        page.line(&format!("{end:<32} {:>14}{beside}", odds::with_error(of)));
    }
    by_target(page, doubt, units);
    on_board(page, plan, doubt, units);
    drivers(page, plan, doubt, units);
    learn(page, plan, units);
}

pub(super) fn learn(page: &mut Page, plan: &Plan, units: Units) {
    let mut sentences = crate::present::learn::sentences(plan, units);
    if sentences.len() > 1 {
        page.list("CALIBRATION DRIVES", "", sentences);
    } else if let Some(only) = sentences.pop() {
        page.heading("CALIBRATION DRIVES", "");
        page.paragraph("", 0, &only);
    }
}

fn by_target(page: &mut Page, doubt: &Doubt, units: Units) {
    let rows = odds::by_target(doubt, units);
    let line = |title: &str, cell: &dyn Fn(&odds::TargetRow) -> &str| {
        let cells: String = rows.iter().map(|row| pad_left(cell(row), 8)).collect();
        format!("{title:<32}{cells}")
    };
    page.line("");
    page.line(&line("success target", &|row| &row.success_target));
    let needed = format!("needed in cans, {}", units.fuel_unit());
    page.line(&line(&needed, &|row| &row.litres));
    page.line(&line("+-", &|row| &row.error));
}

fn on_board(page: &mut Page, plan: &Plan, doubt: &Doubt, units: Units) {
    let row = |[n, to, low, middle, high, below]: [&str; 6]| {
        let to = pad_right(&cut(to, 22), 22);
        format!("{n:>3} {to}{low:>7}{middle:>7}{high:>7}{below:>15}")
    };
    page.line("");
    page.paragraph(
        "",
        0,
        &format!(
            "Fuel on arrival, {}{}. {}",
            units.fuel_unit(),
            odds::if_fuel(plan),
            odds::BANDS
        ),
    );
    page.line(&row(["leg", "to", "5 %", "50 %", "95 %", "reserve used"]));
    for ((leg, band), below) in plan.legs.iter().zip(&doubt.bands).zip(&doubt.first_below) {
        // As in the fuel checks: what is on board is rounded down.
        let litres = |litres| units.by_gauge(litres, Toward::Down).number;
        page.line(&row([
            &leg.n.to_string(),
            &leg.to,
            &litres(band.end.low),
            &litres(band.end.middle),
            &litres(band.end.high),
            &number::outcome(below.share),
        ]));
    }
}

fn drivers(page: &mut Page, plan: &Plan, doubt: &Doubt, units: Units) {
    let rows = odds::drivers(plan, doubt, units);
    if rows.is_empty() {
        return;
    }
    page.heading(
        "WHAT THE FUEL IN CANS DEPENDS ON",
        &odds::how_to_read_drivers(units),
    );
    let row = |[name, low, bar, high, share]: [&str; 5]| {
        let name = pad_right(&cut(name, NAME), NAME);
        format!(
            "{name} {low:>6} {bar:<width$} {high:>6} {share:>8}",
            width = BAR + 1
        )
    };
    page.line(&row(["uncertain input", "5 %", "", "95 %", "variance"]));
    for driver in rows {
        let [from, to] = driver.columns(BAR);
        let bar = format!("{}{}", " ".repeat(from), "#".repeat((to - from).max(1)));
        let share = driver.of_spread.as_deref().unwrap_or("-");
        page.line(&row([&driver.name, &driver.low, &bar, &driver.high, share]));
    }
}
