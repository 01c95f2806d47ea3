//! How sure the plan is: how it ends, spare fuel by success target, what the spare fuel hangs on.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::{Basis, Panel, State};
use super::super::theme::{Meaning, Theme};
use super::panel::{self, Entry};
use super::text::write_wrapped;
use crate::plan::doubt::MOST_LEGS;
use crate::present::learn;
use crate::present::odds::{self, DriverRow, Ending};

/// Columns of the bar of an unknown.
const BAR: usize = 16;

pub(super) fn render(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let area = panel::heading(state, Panel::Odds, panel::title(Panel::Odds), area, buf);
    let judged = state.judged_or_shown();
    let plan = judged.plan();
    let Some(doubt) = &plan.doubt else {
        let says = if state.basis() == Basis::TooLong {
            let most = odds::thousands(MOST_LEGS);
            format!("Not simulated: the trip has more than {most} legs. Best estimates only.")
        } else {
            "Not simulated: best estimates only.".to_owned()
        };
        write_wrapped(buf, area, &says, Style::new());
        return;
    };
    let units = state.units();
    let ends = odds::ends(&doubt.outcomes).into_iter().map(|(end, of)| {
        let (shape, style) = match end {
            Ending::FinishIntact => ("✓", theme.strong(Meaning::Enough)),
            Ending::FinishUsing | Ending::TurnedBackIntact | Ending::TurnedBackUsing => {
                ("▲", theme.strong(Meaning::Care))
            }
            Ending::RanOut => ("■", theme.strong(Meaning::Short)),
        };
        Entry {
            shape,
            style,
            says: format!(
                "{} {}",
                odds::with_error(of).replace("+-", "±"),
                end.words()
            ),
        }
    });
    let enough: Vec<String> = odds::by_target(doubt, units)
        .into_iter()
        .map(|row| format!("{} {}", row.success_target, row.litres))
        .collect();
    let enough = format!(
        "needed in cans, {}: {} (of {} simulated trips)",
        units.fuel_unit(),
        enough.join(", "),
        odds::thousands(doubt.samples),
    );
    let beside = odds::best_estimate_beside(doubt, units);
    // Computed beside the screen, after the simulation.
    let is_worked_out = judged.is_worked_out();
    let drivers = is_worked_out.then(|| odds::drivers(plan, doubt, units));
    let bars = drivers
        .into_iter()
        .flatten()
        .map(|row| Entry::plain(bar(&row)));
    let learn = is_worked_out.then(|| learn::sentences(plan, units));
    let lines = ends
        .chain([Entry::plain(enough), Entry::plain(beside)])
        .chain(bars)
        .chain(learn.into_iter().flatten().map(Entry::plain))
        .skip(state.scroll_of(Panel::Odds));
    panel::entries(lines, area, buf);
}

/// `├──────┤        ground, 6.5 to 25.2, 29 % of the variance`.
fn bar(row: &DriverRow) -> String {
    let [from, to] = row.columns(BAR);
    let long = (to - from).max(2);
    let drawn = format!("{}├{}┤", "·".repeat(from), "─".repeat(long - 2));
    let rest = "·".repeat((BAR + 2).saturating_sub(from + long));
    let says = match &row.of_spread {
        Some(share) => format!("{} to {}, {share} of the variance", row.low, row.high),
        None => format!("{} with fuel, {} without", row.low, row.high),
    };
    format!("{drawn}{rest} {}: {says}", row.name)
}
