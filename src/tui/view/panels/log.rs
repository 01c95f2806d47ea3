//! The trip log: whether to turn back now, the planned band with what was read off on it, used against planned.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};

use super::calibration;
use super::rows::Rows;
use crate::plan::progress::Advice;
use crate::present::number::Toward;
use crate::present::story::Story;
use crate::present::under_way;
use crate::quantity::{Kilometres, Litres};
use crate::tui::state::State;
use crate::tui::theme::{BOLD, DIM, Meaning, Theme};
use crate::tui::view::shapes;
use crate::tui::view::strip::grid::whole;
use crate::tui::view::text::{first, past, row, write, write_right};

/// Columns of the litres beside it.
const SCALE: u16 = 5;

/// Whether there are readings or a calibration to be drawn.
pub(super) fn has_picture(state: &State) -> bool {
    let is_calibrated = state.plan().vehicle().calibration.is_some();
    is_calibrated || state.judged_or_shown().plan().progress.is_some()
}

/// Draws the readings against the plan, or, before any, the fill-ups of the calibration.
pub(super) fn draw_pictures(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    match state.judged_or_shown().story() {
        Some(story) => picture(state, theme, story, area, buf),
        None => calibration::draw(state, theme, area, buf),
    }
}

/// What to do now, fuel used and planned, then the calibration factors.
pub(super) fn rows(state: &State, theme: Theme, width: u16) -> Rows {
    let (plan, units) = (state.judged_or_shown().plan(), state.units());
    let mut rows = Rows::new(width);
    if let Some(progress) = plan.progress.as_deref() {
        let (shape, style) = match plan.now().map(|now| now.advice) {
            Some(Advice::Continue) => ("✓", BOLD),
            Some(Advice::Fill) => ("▲", BOLD),
            Some(Advice::TurnBack | Advice::Neither) => ("■", theme.strong(Meaning::Short)),
            None => ("·", Style::new()),
        };
        if let Some(now) = under_way::now(plan, units) {
            rows.entry(shape, style, &now);
        }
        if let Some(title) = under_way::return_title(plan) {
            let text = format!("{title}. The report has its fills, decants and fuel checks.");
            rows.entry("·", Style::new(), &text);
        }
        for interval in under_way::intervals(plan, units) {
            let shape = if interval.unlearnt.is_none() {
                "·"
            } else {
                "▲"
            };
            let text = under_way::sentence(&interval, units).replace("+-", "±");
            rows.entry(shape, Style::new(), &text);
        }
        rows.entry(
            "·",
            Style::new(),
            &under_way::factors(progress).replace("+-", "±"),
        );
        if let Some(sentence) = under_way::keep_learnt(plan) {
            rows.entry("·", Style::new(), sentence);
        }
        let legs = under_way::legs_used(plan, units);
        if !legs.is_empty() {
            rows.words(&under_way::LEGS_USED.join(", "), DIM);
        }
        for row in &legs {
            let [planned, used] = &row.litres;
            let over = row.over.as_deref().unwrap_or_default();
            let unit = units.fuel_unit();
            let text = format!("{}: planned {planned}, used {used} {unit} {over}", row.leg);
            rows.entry("·", Style::new(), &text);
        }
    } else {
        rows.words("No fuel readings yet. A enters one: odometer and litres. The rest is then planned from there.", Style::new());
    }
    calibration::add(state, theme, &mut rows);
    rows
}

/// The planned band along the way, and the readings on it.
fn picture(state: &State, theme: Theme, story: &Story, area: Rect, buf: &mut Buffer) {
    let units = state.units();
    let right = past(area, SCALE);
    if right.is_empty() || area.height < 2 {
        return;
    }
    let rows = area.height - 1;
    let top = story.top();
    let row_of = |litres: Litres| {
        let share = if top > Litres::ZERO {
            (litres / top).clamp(0.0, 1.0)
        } else {
            0.0
        };
        let from_below = whole((share * f64::from(rows - 1)).round());
        u16::try_from(i64::from(rows - 1) - from_below).unwrap_or(0)
    };
    let km_of = |column: u16| story.length() * (f64::from(column) + 0.5) / f64::from(right.width);
    for column in 0..right.width {
        let planned = story.planned(km_of(column));
        let driven = km_of(column) <= story.here();
        let line = row_of(planned.litres);
        let [low, high] = planned
            .band
            .map_or([line; 2], |[low, high]| [row_of(low), row_of(high)]);
        for at in high.min(line)..=low.max(line) {
            let (shape, style) = if at == line {
                (shapes::SAVED, Style::new())
            } else {
                (shapes::SAND, DIM)
            };
            let style = if driven { style } else { style.patch(DIM) };
            buf[(right.x + column, area.y + at)]
                .set_symbol(shape)
                .set_style(style);
        }
    }
    let column_of = |km: Kilometres| {
        let share = if story.length() > Kilometres::ZERO {
            km / story.length()
        } else {
            0.0
        };
        let last = i64::from(right.width - 1);
        let column = whole((share * f64::from(right.width)).floor()).clamp(0, last);
        u16::try_from(column).unwrap_or(0)
    };
    for point in story.points() {
        let column = right.x + column_of(point.at);
        let mut put = |litres: Litres, shape: &'static str, style: Style| {
            let cell = &mut buf[(column, area.y + row_of(litres))];
            // Nothing of the line below it.
            cell.reset();
            cell.set_symbol(shape).set_style(style);
        };
        put(
            point.left + point.spread * 2.0,
            shapes::CURSOR,
            Style::new(),
        );
        put(
            (point.left - point.spread * 2.0).max(Litres::ZERO),
            shapes::CURSOR,
            Style::new(),
        );
        if point.filled > Litres::ZERO {
            put(
                point.left + point.filled,
                shapes::FILLED,
                theme.strong(Meaning::Tank),
            );
        }
        put(
            point.left,
            shapes::READ_OFF,
            theme.strong(Meaning::Tank).add_modifier(Modifier::BOLD),
        );
    }
    let scale = units.fuel(top, Toward::Nearest).number;
    let mut at_left = |nth: u16, text: &str| {
        let line = first(row(area, nth.into()), SCALE - 1);
        write_right(buf, line, text, DIM);
    };
    at_left(0, &scale);
    at_left(rows - 1, "0");
    let legend = format!(
        "{} recorded  {} planned  {} 5 to 95 % of trips",
        shapes::READ_OFF,
        shapes::SAVED,
        shapes::SAND
    );
    write(buf, past(row(area, rows.into()), SCALE), &legend, DIM);
}
