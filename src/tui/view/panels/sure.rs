//! How sure the plan is: how simulated trips end, the fuel in cans on a scale of success targets, what it depends on and
//! what it is for.

use ratatui::style::Style;

use super::rows::{PanelRow, Rows};
use crate::plan::doubt::{Doubt, MOST_LEGS};
use crate::present::number::Toward;
use crate::present::odds::{self, DriverRow, Ending};
use crate::present::{learn, ledger};
use crate::quantity::Litres;
use crate::tui::state::{Basis, State};
use crate::tui::theme::{BOLD, DIM, Meaning, Theme};
use crate::tui::view::labels::{self, Label};
use crate::tui::view::text::columns;

/// Columns of the bar of an uncertain input, and of a part of the ledger.
const BAR: usize = 16;
const PART: usize = 12;
/// Columns of the names at the left of the scale.
const NAME: u16 = 9;

pub(super) fn rows(state: &State, theme: Theme, width: u16) -> Rows {
    let judged = state.judged_or_shown();
    let (plan, units) = (judged.plan(), state.units());
    let mut rows = Rows::new(width);
    if let Some(doubt) = &plan.doubt {
        scale(doubt, plan.in_cans.carried, state, theme, &mut rows);
        for (end, share) in odds::ends(&doubt.outcomes) {
            let (shape, style) = match end {
                Ending::FinishIntact => ("✓", BOLD),
                Ending::FinishUsing | Ending::TurnedBackIntact | Ending::TurnedBackUsing => {
                    ("▲", BOLD)
                }
                Ending::RanOut => ("■", theme.strong(Meaning::Short)),
            };
            let share = odds::with_error(share).replace("+-", "±");
            rows.entry(shape, style, &format!("{share} {}", end.words()));
        }
        rows.entry("·", DIM, &odds::best_estimate_beside(doubt, units));
        // Worked out beside the screen, after the simulation.
        if judged.is_worked_out() {
            for driver in odds::drivers(plan, doubt, units) {
                rows.entry("·", DIM, &bar(&driver));
            }
            for sentence in learn::sentences(plan, units) {
                rows.entry("·", DIM, &sentence);
            }
        }
    } else if state.basis() == Basis::TooLong {
        let most = odds::thousands(MOST_LEGS);
        let text =
            format!("Not simulated: the trip has more than {most} legs. Best estimates only.");
        rows.words(&text, Style::new());
    } else {
        rows.words("Not simulated: best estimates only.", Style::new());
    }
    parts(state, &mut rows);
    rows
}

/// A scale of litres with the success targets above and what is carried below.
fn scale(doubt: &Doubt, carried: Litres, state: &State, theme: Theme, rows: &mut Rows) {
    let units = state.units();
    let targets = odds::by_target(doubt, units);
    let most = targets
        .iter()
        .map(|row| row.needed)
        .fold(carried, Litres::max);
    let room = rows.width().saturating_sub(NAME + 2);
    if most <= Litres::ZERO || room < 20 {
        return;
    }
    let column = |litres: Litres| {
        let share = (litres / most).clamp(0.0, 1.0);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a share of the columns of a row"
        )]
        let column = (share * f64::from(room - 1)).round() as u16;
        column
    };
    let labels = targets.iter().map(|row| {
        let is_aim = row.success_target == odds::target_name(doubt);
        Label {
            column: column(row.needed),
            rank: u8::from(!is_aim),
            shape: "╷",
            wordings: vec![
                format!("{} {}", row.success_target, row.litres),
                row.success_target.clone(),
            ],
            // The litres of the target stand whatever others must be left out for them.
            least: is_aim.then_some(0),
            of: (),
        }
    });
    let mut names = [PanelRow::new("target", DIM), PanelRow::default()];
    for placed in labels::place(labels.collect(), names.len(), room) {
        let row = &mut names[placed.row];
        *row = std::mem::take(row).at(NAME + placed.column, placed.text, BOLD);
    }
    for row in names {
        rows.push(row);
    }
    let filled = usize::from(column(carried)) + usize::from(carried > Litres::ZERO);
    let rest = usize::from(room) - filled.min(room.into());
    rows.push(
        PanelRow::new("carried", DIM)
            .at(NAME, "█".repeat(filled), theme.fg(Meaning::Cans))
            .at(NAME + column(carried) + 1, "─".repeat(rest), DIM),
    );
    let carried_in_cans = format!("{} in cans", units.fuel_tenths(carried, Toward::Down));
    let from = column(carried).min(room.saturating_sub(columns(&carried_in_cans)));
    rows.push(PanelRow::new("", DIM).at(NAME + from, carried_in_cans, BOLD));
}

/// `├──────┤        surface, 6.5 to 25.2, 29 % of the variance`.
fn bar(row: &DriverRow) -> String {
    let [from, to] = row.columns(BAR);
    let long = (to - from).max(2);
    let drawn = format!("{}├{}┤", "·".repeat(from), "─".repeat(long - 2));
    let rest = "·".repeat((BAR + 2).saturating_sub(from + long));
    let effect = match &row.of_spread {
        Some(share) => format!("{} to {}, {share} of the variance", row.low, row.high),
        None => format!("{} with fuel, {} without", row.low, row.high),
    };
    format!("{drawn}{rest} {}: {effect}", row.name)
}

/// What the fuel in cans is for: each part with its litres and the legs that have most of it.
fn parts(state: &State, rows: &mut Rows) {
    let (plan, units) = (state.judged_or_shown().plan(), state.units());
    let Some(known) = state.ledger() else {
        rows.words(
            "What the fuel in cans is for: calculated when you stop typing.",
            DIM,
        );
        return;
    };
    let Some(how) = ledger::how_to_read(known, plan, units) else {
        return;
    };
    rows.words(&how, DIM);
    for line in ledger::lines(known, units) {
        rows.entry(&part(line.of_most.get()), Style::new(), &line.sentence());
    }
}

/// `━━━━        ` for a third; what saves fuel goes the other way, `╌╌`.
fn part(share: f64) -> String {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to the length of the bar"
    )]
    let long = (share.abs() * PART as f64).round().clamp(1.0, PART as f64) as usize;
    let stroke = if share < 0.0 { "╌" } else { "━" };
    format!("{}{}", stroke.repeat(long), " ".repeat(PART - long))
}
