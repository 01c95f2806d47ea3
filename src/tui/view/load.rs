//! Masses against their limits, and the cans that are taken along.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::{Panel, State};
use super::super::theme::{DIM, Meaning, Theme};
use super::panel;
use super::text::{bar, past, row, wrap, write, write_right};
use crate::plan::LoadBar;
use crate::present::load::{self, Places};
use crate::present::number::{Toward, Units};
use crate::quantity::Share;

/// Columns of the name of a limit.
const NAME: u16 = 15;
/// Columns of load, limit and margin; and of the margin alone, where there is no room for more beside a bar.
const SUM: u16 = 30;
const LEFT: u16 = 15;
/// Columns of the shortest bar.
const SHORTEST: u16 = 6;

/// What the panel lists.
enum Entry<'a> {
    Bar(&'a LoadBar),
    /// The places of the vehicle with what they carry.
    Picture(&'a Places),
    /// A sentence, which may take several lines.
    Words(String),
}

/// Everything that the panel lists, in order.
fn all(state: &State) -> Vec<Entry<'_>> {
    let judged = state.judged_or_shown();
    let plan = judged.plan();
    let ways = state.fixes().into_iter().map(|(says, made)| {
        let mark = if made { "▶" } else { "-" };
        Entry::Words(format!("{mark} {says}"))
    });
    let told = &judged.told;
    let picture = told.places.as_ref().map(Entry::Picture);
    ways.chain(plan.load.bars.iter().map(Entry::Bar))
        .chain(picture)
        .chain(told.load.iter().cloned().map(Entry::Words))
        .collect()
}

/// How many entries there are to scroll through.
pub(in crate::tui) fn entry_count(state: &State) -> usize {
    all(state).len()
}

pub(super) fn render(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let units = state.units();
    let area = panel::heading(state, Panel::Load, panel::title(Panel::Load), area, buf);
    let mut next = 0;
    for entry in all(state).iter().skip(state.scroll_of(Panel::Load)) {
        let lines = match entry {
            Entry::Bar(limit) => {
                draw_bar(limit, units, theme, row(area, next), buf);
                next += 1;
                Vec::new()
            }
            Entry::Picture(places) => load::drawn_in(places, area.width.into()),
            Entry::Words(says) => wrap(says, area.width),
        };
        for line in &lines {
            write(buf, row(area, next), line, Style::new());
            next += 1;
        }
        if next > usize::from(area.height) {
            panel::more_below(area, buf);
            return;
        }
    }
}

fn draw_bar(limit: &LoadBar, units: Units, theme: Theme, line: Rect, buf: &mut Buffer) {
    write(buf, line, load::name(limit.what), Style::new());
    let Some(most) = limit.limit else {
        let says = format!("{}, no limit set", units.mass(limit.mass, Toward::Up));
        write_right(buf, past(line, NAME), &says, DIM);
        return;
    };
    let over = limit.mass > most;
    let (says, meaning) = if over {
        let by = units.mass(limit.mass - most, Toward::Up);
        (format!("▲ {by} over"), Meaning::Short)
    } else {
        let left = units.mass(most - limit.mass, Toward::Down);
        (format!("{left} margin"), Meaning::Enough)
    };
    // Too short a bar tells nothing.
    let bar_beside = |words: u16| {
        let room = line.width.saturating_sub(NAME + words);
        (room >= SHORTEST).then_some(room)
    };
    let most_says = units.mass(most, Toward::Down);
    let (room, sum) = if let Some(room) = bar_beside(SUM) {
        let carried = units.mass(limit.mass, Toward::Up).number;
        (room, format!("{carried} of {most_says}, {says}"))
    } else if let Some(room) = bar_beside(LEFT) {
        (room, says)
    } else if over {
        (0, format!("{says} {most_says}"))
    } else {
        (0, format!("{says} of {most_says}"))
    };
    if room > 0 {
        let share = Share::new(limit.mass / most);
        let filled = bar(share, room - 1);
        write(buf, past(line, NAME), &filled, theme.fg(meaning));
    }
    let style = if over {
        theme.words(meaning)
    } else {
        Style::new()
    };
    write_right(buf, past(line, NAME + room), &sum, style);
}
