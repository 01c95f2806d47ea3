//! Masses against their limits, and the cans that are taken along.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::{Panel, State};
use super::super::theme::{DIM, Meaning, Theme};
use super::panel;
use super::text::{bar, past, row, wrap, write, write_right};
use crate::plan::LoadBar;
use crate::present::load;
use crate::present::number::{Toward, Units};
use crate::present::verdict::cans as cans_in_words;
use crate::quantity::Share;

/// Columns of the name of a limit.
const NAME: u16 = 15;
/// Columns of what is left.
const LEFT: u16 = 28;
/// Columns of the shortest bar.
const SHORTEST: u16 = 6;

/// A line of the panel.
enum Line<'a> {
    Bar(&'a LoadBar),
    Words(String),
}

pub(super) fn render(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let plan = state.plan();
    let units = state.units();
    let area = panel::heading(state, Panel::Load, "load and cans", area, buf);
    let words = |says: String| wrap(&says, area.width).into_iter().map(Line::Words);
    let ways = state.ways().into_iter().map(|(says, made)| {
        let mark = if made { "▶" } else { "-" };
        format!("{mark} {says}")
    });
    let says = [cans_in_words(&plan.spare.cans)]
        .into_iter()
        .chain(load::by_day(plan, units))
        .chain(load::supplies(plan, units))
        .chain(load::heaviest(plan, units))
        .chain(load::why_these_cans(plan));
    let picture = load::picture(plan, units).into_iter().map(Line::Words);
    let lines = ways
        .flat_map(words)
        .chain(plan.load.bars.iter().map(Line::Bar))
        .chain(picture)
        .chain(says.flat_map(words));
    let mut shown = lines.skip(state.scroll_of(Panel::Load));
    for (nth, line) in shown.by_ref().take(area.height.into()).enumerate() {
        let room = row(area, nth);
        match line {
            Line::Bar(limit) => draw_bar(limit, units, theme, room, buf),
            Line::Words(words) => {
                write(buf, room, &words, Style::new());
            }
        }
    }
    if shown.next().is_some() {
        panel::more_below(area, buf);
    }
}

fn draw_bar(limit: &LoadBar, units: Units, theme: Theme, line: Rect, buf: &mut Buffer) {
    write(buf, line, load::name(limit.what), Style::new());
    let Some(most) = limit.limit else {
        let says = format!("{}, no limit stated", units.mass(limit.mass, Toward::Up));
        write_right(buf, past(line, NAME), &says, DIM);
        return;
    };
    let over = limit.mass > most;
    let (says, meaning) = if over {
        let by = units.mass(limit.mass - most, Toward::Up);
        (format!("▲ {by} over"), Meaning::Short)
    } else {
        let left = units.mass(most - limit.mass, Toward::Down);
        (format!("{left} left"), Meaning::Enough)
    };
    let room = line.width.saturating_sub(NAME + LEFT);
    // Too short a bar tells nothing.
    let room = if room < SHORTEST { 0 } else { room };
    let share = Share::new(limit.mass / most);
    if room > 0 {
        write(
            buf,
            past(line, NAME),
            &bar(share, room - 1),
            theme.fg(meaning),
        );
    }
    let most = units.mass(most, Toward::Down);
    let sum = if room > 0 {
        format!(
            "{} of {most}, {says}",
            units.mass(limit.mass, Toward::Up).number
        )
    } else if over {
        format!("{says} {most}")
    } else {
        format!("{says} of {most}")
    };
    let rest = past(line, NAME + room);
    write_right(
        buf,
        rest,
        &sum,
        if over {
            theme.strong(meaning)
        } else {
            Style::new()
        },
    );
}
