//! The trip log: whether to turn back now, the planned band with what was read off on it, used against planned.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};

use super::super::state::{Panel, State};
use super::super::theme::{DIM, Meaning, Theme};
use super::panel::{self, Entry};
use super::shapes;
use super::strip::grid::whole;
use super::text::{below, first, past, row, write, write_right};
use crate::plan::progress::Advice;
use crate::present::name::plain;
use crate::present::number::Toward;
use crate::present::story::Story;
use crate::present::under_way;
use crate::quantity::{Kilometres, Litres};

/// The picture stands above the words from so many rows on.
const ROOM_ABOVE: u16 = 9;
/// Columns of the litres beside it.
const SCALE: u16 = 5;

pub(super) fn render(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let (judged, units) = (state.judged_or_shown(), state.units());
    let plan = judged.plan();
    let Some(progress) = plan.progress.as_deref() else {
        let area = panel::heading(state, Panel::Log, panel::title(Panel::Log), area, buf);
        let says = "No fuel readings yet. A enters an arrival with odometer and litres; the rest is then planned from there.";
        panel::entries(std::iter::once(Entry::plain(says)), area, buf);
        return;
    };
    let title = format!("trip log: at {}", plain(&progress.place));
    let mut area = panel::heading(state, Panel::Log, &title, area, buf);
    if let Some((drawn, words)) = parted(area)
        && let Some(story) = judged.story()
    {
        picture(state, theme, story, drawn, buf);
        area = words;
    }
    let now = plan.now().map(|now| match now.advice {
        Advice::Continue => ("✓", theme.strong(Meaning::Enough)),
        Advice::Fill => ("▲", theme.strong(Meaning::Care)),
        Advice::TurnBack | Advice::Neither => ("■", theme.strong(Meaning::Short)),
    });
    let (shape, style) = now.unwrap_or(("·", Style::new()));
    let now = under_way::now(plan, units).map(|says| Entry { shape, style, says });
    let returns = under_way::return_title(plan).map(|title| {
        Entry::plain(format!(
            "{title}. The report has its fills, decants and fuel checks."
        ))
    });
    let ways = under_way::intervals(plan, units);
    let ways = ways.iter().map(|row| Entry {
        shape: if row.unlearnt.is_none() { "·" } else { "▲" },
        style: Style::new(),
        says: under_way::sentence(row, units).replace("+-", "±"),
    });
    let lines = now
        .into_iter()
        .chain(returns)
        .chain(ways)
        .chain([Entry::plain(
            under_way::factors(progress).replace("+-", "±"),
        )])
        .skip(state.scroll_of(Panel::Log));
    panel::entries(lines, area, buf);
}

/// Room for the picture, and for the words below or beside it; nothing where there is too little for both.
fn parted(area: Rect) -> Option<(Rect, Rect)> {
    if let Some([drawn, words]) = panel::halves(area) {
        return Some((drawn, words));
    }
    let height = area.height / 2;
    let words = below(area, height.into());
    (area.height >= ROOM_ABOVE).then_some((Rect { height, ..area }, words))
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
