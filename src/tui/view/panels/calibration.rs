//! This vehicle: its fitted factors as dots with whiskers against what was known before, and predicted against used litres
//! of its fill-ups.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::rows::{PanelRow, Rows};
use crate::calibrate::Factors;
use crate::model::calibration::Predicted;
use crate::present::calibration::{
    REACH, Scatter, Whisker, factor_rows, inside, scatter, uninformed,
};
use crate::present::number::Units;
use crate::tui::state::State;
use crate::tui::theme::{BOLD, DIM, Meaning, Theme};
use crate::tui::view::shapes;
use crate::tui::view::text::{past, row, write};

/// Columns of the name of a factor, and of its figures.
const NAME: u16 = 10;
const FIGURES: u16 = 12;
/// A scatter of fewer rows and columns shows nothing.
const LEAST: (u16, u16) = (16, 4);

/// Adds the calibration factors with whiskers against the published tables.
pub(super) fn add(state: &State, theme: Theme, rows: &mut Rows) {
    let vehicle = state.plan().vehicle();
    let Some(calibration) = &vehicle.calibration else {
        let text = "Not calibrated: the plan uses published tables. To calibrate: drystage calibrate TRIP LOG.csv --save";
        rows.words(text, Style::new());
        return;
    };
    rows.words("Calibration factors (1.00: no correction)", BOLD);
    let [now, before] = [Factors::calibrated(vehicle), Factors::prior(vehicle)];
    let room = rows.width().saturating_sub(NAME + FIGURES);
    for factor in factor_rows(&now, &before) {
        let figures = format!("{:.2} ± {:.2}", factor.value.get(), factor.spread.get());
        let mut row = PanelRow::new(factor.name, Style::new()).at(NAME, figures, BOLD);
        for (column, cell) in (0..).zip(factor.whisker(room.into())) {
            let (shape, style) = match cell {
                Whisker::Blank => continue,
                Whisker::Before => ("·", DIM),
                Whisker::One => (shapes::CURSOR, DIM),
                Whisker::Spread => (shapes::SAVED, Style::new()),
                Whisker::Dot => (shapes::READ_OFF, theme.strong(Meaning::Tank)),
            };
            row = row.at(NAME + FIGURES + column, shape, style);
        }
        rows.push(row);
    }
    let [from, to] = REACH.map(|end| end.get().to_string());
    rows.push(
        PanelRow::default()
            .at(NAME + FIGURES, from, DIM)
            .before(rows.width(), to, DIM),
    );
    let intervals = calibration.predictions.as_deref().unwrap_or_default();
    for text in uninformed(&now, &before)
        .into_iter()
        .chain(inside(intervals))
    {
        rows.words(&text, Style::new());
    }
}

/// Draws used litres against predicted ones.
pub(super) fn draw(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let calibration = state.plan().vehicle().calibration.as_ref();
    let intervals = calibration.and_then(|calibration| calibration.predictions.as_deref());
    picture(
        theme,
        intervals.unwrap_or_default(),
        state.units(),
        area,
        buf,
    );
}

/// Used litres upward, predicted ones to the right.
fn picture(theme: Theme, ways: &[Predicted], units: Units, area: Rect, buf: &mut Buffer) {
    if area.width < LEAST.0 || area.height < LEAST.1 || ways.is_empty() {
        return;
    }
    let columns = area.width - 5;
    let (grid, most) = scatter(ways, [columns.into(), usize::from(area.height - 1)]);
    for (nth, cells) in grid.iter().enumerate() {
        let line = row(area, nth);
        if nth == 0 {
            write(buf, line, &format!("{:>4}", units.litres(most).number), DIM);
        }
        for (column, cell) in (5..).zip(cells) {
            match cell {
                Scatter::Blank => {}
                Scatter::Same => {
                    write(buf, past(line, column), "·", DIM);
                }
                Scatter::Interval => {
                    let style = theme.strong(Meaning::Tank);
                    write(buf, past(line, column), shapes::READ_OFF, style);
                }
            }
        }
    }
    let last = row(area, grid.len());
    write(buf, last, "   0 predicted from the others →, actual ↑", DIM);
}
