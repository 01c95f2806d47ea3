//! The text report's page of chances: how it ends, spare fuel by success target, what is on board, what moves it.

use crate::plan::Plan;
use crate::plan::doubt::Doubt;
use crate::present::name::{cut, pad_left, pad_right};
use crate::present::number::{self, Toward, Units};
use crate::present::odds;

use super::page::Page;

/// Longest bar of an unknown, in columns.
const BAR: usize = 30;

/// The section; nothing where no chances were computed.
pub(super) fn section(page: &mut Page, plan: &Plan, units: Units) {
    let Some(doubt) = &plan.doubt else { return };
    page.heading(
        "HOW SURE",
        &format!(
            "{} simulated trips that obey the plan and its fuel checks; +- is the sampling error",
            odds::thousands(doubt.outcomes.trips)
        ),
    );
    let without = doubt.outcomes != doubt.outcomes_without_luck;
    if without {
        page.line(&format!(
            "{} {} {}",
            pad_right("", 32),
            pad_left("any fuel found", 14),
            pad_left("relied on only", 16)
        ));
    }
    let decides = odds::ends(&doubt.outcomes_without_luck);
    for ((end, of), (_, decisive)) in odds::ends(&doubt.outcomes).into_iter().zip(decides) {
        let beside = if without {
            format!(" {}", pad_left(&odds::with_error(decisive), 16))
        } else {
            String::new()
        };
        page.line(&format!(
            "{} {}{beside}",
            pad_right(end.words(), 32),
            pad_left(&odds::with_error(of), 14)
        ));
    }
    by_target(page, doubt, units);
    on_board(page, plan, doubt, units);
    drivers(page, plan, doubt, units);
    learn(page, plan, units);
}

/// What to learn of the vehicle first.
pub(super) fn learn(page: &mut Page, plan: &Plan, units: Units) {
    page.list(
        "WHAT TO LEARN FIRST",
        "drives from brim to brim that would make the vehicle better known",
        crate::present::learn::sentences(plan, units),
    );
}

fn by_target(page: &mut Page, doubt: &Doubt, units: Units) {
    let rows = odds::by_target(doubt, units);
    let line = |title: &str, cell: &dyn Fn(&odds::TargetRow) -> &str| {
        let cells: String = rows.iter().map(|row| pad_left(cell(row), 8)).collect();
        format!("{}{cells}", pad_right(title, 32))
    };
    page.line("");
    page.line(&line("spare fuel that is enough in", &|row| {
        &row.success_target
    }));
    page.line(&line(units.fuel_unit(), &|row| &row.litres));
    page.line(&line("+-", &|row| &row.error));
}

fn on_board(page: &mut Page, plan: &Plan, doubt: &Doubt, units: Units) {
    let row = |[n, to, low, middle, high, below]: [&str; 6]| {
        format!(
            "{} {}{}{}{}{}",
            pad_left(n, 3),
            pad_right(&cut(to, 22), 22),
            pad_left(low, 6),
            pad_left(middle, 6),
            pad_left(high, 6),
            pad_left(below, 15),
        )
    };
    page.line("");
    let if_fuel = odds::if_fuel(plan);
    if !if_fuel.is_empty() {
        page.line(&format!("Fuel on arrival{if_fuel}:"));
    }
    page.line(&row([
        "leg",
        "to, fuel on arrival",
        "5 %",
        "50 %",
        "95 %",
        "reserve used",
    ]));
    for ((leg, band), below) in plan.legs.iter().zip(&doubt.bands).zip(&doubt.first_below) {
        // As on the card: what is on board is rounded down.
        let litres = |litres| units.fuel(litres, Toward::Down).number;
        page.line(&row([
            &leg.n.to_string(),
            &leg.to,
            &litres(band.end.low),
            &litres(band.end.middle),
            &litres(band.end.high),
            &number::odds(below.share),
        ]));
    }
}

fn drivers(page: &mut Page, plan: &Plan, doubt: &Doubt, units: Units) {
    let rows = odds::drivers(plan, doubt, units);
    if rows.is_empty() {
        return;
    }
    page.heading(
        "WHAT THE SPARE FUEL HANGS ON",
        "litres with one unknown at its 5th and at its 95th percentile, of a pump if it surely had fuel and if it were \
         surely dry, all others in the middle; then how much of the spread goes if it were known",
    );
    for row in rows {
        let [from, to] = row.columns(BAR);
        let bar = format!("{}{}", " ".repeat(from), "#".repeat((to - from).max(1)));
        page.line(&format!(
            "{} {} {} {} {}",
            pad_right(&cut(&row.name, 20), 20),
            pad_left(&row.low, 6),
            pad_right(&bar, BAR + 1),
            pad_left(&row.high, 6),
            pad_left(row.of_spread.as_deref().unwrap_or("-"), 6),
        ));
    }
}
