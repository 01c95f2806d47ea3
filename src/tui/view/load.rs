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

pub(super) fn render(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let plan = state.plan();
    let units = state.units();
    let area = panel::heading(state, Panel::Load, "load and cans", area, buf);
    let scroll = state.scroll_of(Panel::Load);
    let bars = plan.load.bars.len();
    for nth in 0..usize::from(area.height) {
        let line = row(area, nth);
        if let Some(limit) = plan.load.bars.get(nth + scroll) {
            draw_bar(limit, units, theme, line, buf);
        }
    }
    let ways = state.ways().into_iter().map(|(says, made)| {
        let mark = if made { ">" } else { "-" };
        format!("{mark} {says}")
    });
    let says = ways
        .chain([cans_in_words(&plan.spare.cans)])
        .chain(load::supplies(plan, units))
        .chain(load::heaviest(plan, units));
    let says = says.flat_map(|words| wrap(&words, area.width));
    let lines: Vec<String> = says.chain(load::picture(plan, units)).collect();
    for (nth, words) in lines.iter().enumerate().skip(scroll.saturating_sub(bars)) {
        let line = row(area, (bars + nth).saturating_sub(scroll));
        write(buf, line, words, Style::new());
    }
    if (bars + lines.len()).saturating_sub(scroll) > usize::from(area.height) {
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
