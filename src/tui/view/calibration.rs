//! This vehicle: its fitted factors as dots with whiskers against what was known before, and predicted against used litres
//! of its fill-ups.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::{Panel, State};
use super::super::theme::{BOLD, DIM, Meaning, Theme};
use super::panel::{self, Entry};
use super::shapes;
use super::text::{below, past, row, write, write_right};
use crate::calibrate::Factors;
use crate::model::calibration::Predicted;
use crate::present::calibration::{REACH, Scatter, Whisker, factor_rows, inside, scatter, untold};
use crate::present::number::Units;

/// Columns of the name of a factor, and of its figures.
const NAME: u16 = 10;
const FIGURES: u16 = 12;
/// A scatter of fewer rows and columns shows nothing.
const LEAST: (u16, u16) = (16, 4);

pub(super) fn render(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let vehicle = state.plan().vehicle();
    let area = panel::heading(state, Panel::Calibration, "calibration", area, buf);
    let Some(fitted) = &vehicle.calibration else {
        let says = "Not calibrated: the plan uses published tables. To calibrate: drystage calibrate TRIP LOG.csv --save";
        panel::entries(std::iter::once(Entry::plain(says)), area, buf);
        return;
    };
    let (whole, halves) = (area, panel::halves(area));
    let area = halves.map_or(area, |[words, _]| words);
    let rows = factor_rows(&Factors::of(vehicle), &Factors::prior(vehicle));
    let skipped = state.scroll_of(Panel::Calibration).min(rows.len());
    let mut next = 0;
    for factor in rows.iter().skip(skipped) {
        let line = row(area, next);
        write(buf, line, factor.name, Style::new());
        let figures = format!("{:.2} ± {:.2}", factor.value.get(), factor.spread.get());
        write(buf, past(line, NAME), &figures, BOLD);
        let picture = past(line, NAME + FIGURES);
        for (column, cell) in (0..).zip(factor.whisker(picture.width.into())) {
            let (shape, style) = match cell {
                Whisker::Blank => continue,
                Whisker::Before => ("·", DIM),
                Whisker::One => (shapes::CURSOR, DIM),
                Whisker::Spread => (shapes::SAVED, Style::new()),
                Whisker::Dot => (shapes::READ_OFF, theme.strong(Meaning::Tank)),
            };
            write(buf, past(picture, column), shape, style);
        }
        next += 1;
    }
    let axis = past(row(area, next), NAME + FIGURES);
    let [from, to] = REACH.map(|end| format!("{}", end.get()));
    write(buf, axis, &from, DIM);
    write_right(buf, axis, &to, DIM);
    next += 1;
    let ways = fitted.predictions.as_deref().unwrap_or_default();
    let says = untold(&Factors::of(vehicle), &Factors::prior(vehicle));
    let says = says.into_iter().chain(inside(ways)).map(Entry::plain);
    next += panel::entries_down(says, below(area, next), buf);
    if next > area.height.into() {
        panel::more_below(whole, buf);
    }
    let drawn = halves.map_or_else(|| below(area, next), |[_, drawn]| drawn);
    picture(theme, ways, state.units(), drawn, buf);
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
