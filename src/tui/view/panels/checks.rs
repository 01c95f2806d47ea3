//! The fuel checks: the litres expected on arrival, those that one trip in twenty has less than, and those below which to
//! turn back; the decision point reversed.

use ratatui::style::Style;

use super::rows::{PanelRow, Rows};
use crate::plan::CheckKind;
use crate::present::card::{CheckLine, HOW_TO_READ, Level, WITH_LESS};
use crate::present::range;
use crate::tui::state::State;
use crate::tui::theme::{BOLD, DIM, Meaning, Theme};
use crate::tui::view::text::cut;

/// Columns of the kilometre, of litres with the gauge beside them, of litres alone, and of the place to turn back to.
const AT: u16 = 5;
const LEVEL: u16 = 12;
const LOW: u16 = 6;
const REFUGE: u16 = 16;
/// Columns of the range left, where there is room for it.
const RANGE: u16 = 10;
/// Columns of a place that can still be distinguished from others.
const PLACE: u16 = 12;

/// Where the columns end; `refuge` is `None` where there is no room for it.
struct Columns {
    place: u16,
    expected: u16,
    low: u16,
    below: u16,
    /// `None` where there is no room for it.
    range: Option<u16>,
    has_refuge: bool,
}

impl Columns {
    const fn new(width: u16) -> Self {
        let figures = AT + 1 + 2 * LEVEL + LOW;
        let has_refuge = width >= figures + PLACE + REFUGE;
        let has_range = width >= figures + PLACE + REFUGE + RANGE;
        let refuge = if has_refuge { REFUGE } else { 0 };
        let range = if has_range { RANGE } else { 0 };
        let place = width.saturating_sub(figures + refuge + range);
        let expected = AT + 1 + place + LEVEL;
        Self {
            place,
            expected,
            low: expected + LOW,
            range: if has_range {
                Some(expected + LOW + RANGE)
            } else {
                None
            },
            below: expected + LOW + range + LEVEL,
            has_refuge,
        }
    }
}

pub(super) fn rows(state: &State, theme: Theme, width: u16) -> Rows {
    let judged = state.judged_or_shown();
    let (plan, units) = (judged.plan(), state.units());
    let mut rows = Rows::new(width);
    if plan.fuel_checks.is_empty() {
        rows.words("not simulated: no fuel checks", Style::new());
        return rows;
    }
    let columns = Columns::new(width);
    let unit = units.fuel_unit();
    let mut head = PanelRow::default()
        .before(AT, units.distance_unit(), DIM)
        .at(AT + 1, "place", DIM)
        .before(columns.expected, format!("expected, {unit}"), DIM)
        .before(columns.low, "5 %", DIM)
        .before(columns.below, format!("back < {unit}"), DIM);
    if let Some(range) = columns.range {
        head = head.before(range, format!("range {}", units.distance_unit()), DIM);
    }
    if columns.has_refuge {
        head = head.at(columns.below + 2, "to", DIM);
    }
    rows.set_head(head);
    for (nth, line) in judged.texts.checks.iter().enumerate() {
        let mut row = row(line, &columns);
        if let (Some(end), Some(left)) = (columns.range, range::known_left(plan, nth, units)) {
            row = row.before(end, left, Style::new());
        }
        rows.push(row);
        let is_decision = line.kind == CheckKind::Decision;
        let style = if is_decision {
            theme.words(Meaning::TurnBack)
        } else {
            DIM
        };
        for sentence in &line.says {
            rows.indented(AT + 1, sentence, style);
        }
    }
    if columns.range.is_some() {
        rows.words(&range::left_meaning(plan), DIM);
    }
    rows.words(&format!("{HOW_TO_READ} {WITH_LESS}"), DIM);
    rows
}

/// One check.
fn row(check: &CheckLine, columns: &Columns) -> PanelRow {
    let at = check.at.split(' ').next_back().unwrap_or_default();
    let bold = if check.kind == CheckKind::Decision {
        BOLD
    } else {
        Style::new()
    };
    let expected = check.expected.as_ref();
    let expected = expected.map_or_else(|| "no fuel".to_owned(), Level::short);
    let back = check.turn_back.as_ref();
    let below = back.map_or_else(|| "-".to_owned(), |(level, _)| level.short());
    let row = PanelRow::default()
        .before(AT, at, DIM)
        .at(AT + 1, cut(&check.place, columns.place), bold)
        .before(columns.expected, expected, BOLD)
        .before(columns.low, &check.low.number, Style::new())
        .before(columns.below, below, BOLD);
    let needed = check.needed.as_ref();
    let last = back.map_or_else(
        || needed.map_or_else(String::new, |needed| format!("needs {needed}")),
        |(_, refuge)| refuge.clone(),
    );
    if columns.has_refuge {
        row.at(columns.below + 2, last, Style::new())
    } else {
        row
    }
}
