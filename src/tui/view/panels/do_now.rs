//! What to do, by kilometre: fill, decant, decide, turn back. Under way the last reading comes first, with what follows
//! from it.

use ratatui::style::Style;

use super::rows::{PanelRow, Rows};
use crate::present::actions::ActionKind;
use crate::present::card::DECANT_SAFELY;
use crate::present::under_way;
use crate::tui::state::State;
use crate::tui::theme::{BOLD, DIM, Meaning, Theme};
use crate::tui::view::shapes;
use crate::tui::view::text::{cut, wrap};

/// Columns of the shape with the kilometre.
const AT: u16 = 7;
/// Columns of a place, and of one where there is less room.
const PLACE: u16 = 20;
const SHORT_PLACE: u16 = 13;

pub(super) fn rows(state: &State, theme: Theme, width: u16) -> Rows {
    let judged = state.judged_or_shown();
    let plan = judged.plan();
    let mut rows = Rows::new(width);
    if let Some(now) = under_way::now(plan, state.units()) {
        rows.entry("●", theme.strong(Meaning::Tank), &now);
    }
    let place = if width >= 70 { PLACE } else { SHORT_PLACE };
    let what = if width >= 50 { AT + place + 1 } else { AT };
    for action in &judged.texts.actions {
        let (shape, meaning) = match action.kind {
            ActionKind::Fill => (shapes::RELIED_ON, Meaning::Tank),
            ActionKind::FillIfFuel => (shapes::NOT_RELIED_ON, Meaning::Tank),
            ActionKind::Decant => (shapes::DECANT, Meaning::Cans),
            ActionKind::Decide | ActionKind::TurnBackPoint => {
                (shapes::TURN_BACK, Meaning::TurnBack)
            }
        };
        let text = match action.kind {
            ActionKind::Decide => theme.words(Meaning::TurnBack),
            _ => Style::new(),
        };
        let head = PanelRow::new(shape, theme.strong(meaning)).before(AT - 1, &action.km, DIM);
        if what > AT {
            let mut head = Some(head.at(AT, cut(&action.place, place).into_owned(), BOLD));
            for line in wrap(&action.text, width.saturating_sub(what)) {
                rows.push(head.take().unwrap_or_default().at(what, line, text));
            }
        } else {
            rows.push(head.at(AT, &action.place, BOLD));
            rows.indented(AT, &action.text, text);
        }
    }
    if !plan.decants.is_empty() {
        rows.words(DECANT_SAFELY, DIM);
    }
    rows
}
