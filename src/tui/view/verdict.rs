//! The answers at the head of the screen: the badge with the fuel in cans, then fuel, load, finish and where to decide.
//!
//! While the verdict is being calculated the answers before the change are shown dimmed beside that word.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};

use super::super::picture::Texts;
use super::super::state::{Basis, State};
use super::super::theme::{BOLD, CHOSEN, DIM, Meaning, Theme};
use super::text::{columns, past, row, write};
use crate::present::answers::{Answer, Answers, Badge, Sign};

/// What is shown in place of a verdict that is still to come.
pub(crate) const CALCULATING: &str = "calculating";
/// Blank columns between two answers, and where they do not fit otherwise.
const GAPS: [u16; 2] = [2, 1];

pub(super) fn render(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let is_calculating = state.basis() == Basis::Calculating;
    let Some(judged) = state.judged() else {
        write(buf, row(area, 0), CALCULATING, BOLD);
        return;
    };
    let answers = &judged.texts.answers;
    let used = if is_calculating {
        write(buf, row(area, 0), CALCULATING, BOLD)
    } else {
        badge(answers.badge, theme, row(area, 0), buf)
    };
    let room = past(row(area, 0), used + 1);
    let fits = |text: &&String| columns(text) <= room.width;
    let texts = &answers.fuel_in_cans;
    let text = texts.iter().find(fits).unwrap_or(&texts[2]);
    write(buf, room, text, BOLD);
    four(&judged.texts, theme, row(area, 1), buf);
    if is_calculating {
        buf.set_style(past(row(area, 0), used), DIM);
        buf.set_style(row(area, 1), DIM);
    }
}

/// The verdict in a word, the loudest thing on the screen.
fn badge(badge: Badge, theme: Theme, area: Rect, buf: &mut Buffer) -> u16 {
    let style = match badge {
        Badge::NoGo | Badge::TurnBack | Badge::NeitherAdvised => theme
            .strong(Meaning::Short)
            .add_modifier(Modifier::REVERSED),
        Badge::BestEstimate => CHOSEN,
        _ => CHOSEN.add_modifier(Modifier::BOLD),
    };
    let words = badge.words();
    let text = if theme.is_ascii() {
        format!("[{words}]")
    } else {
        format!(" {words} ")
    };
    write(buf, area, &text, style)
}

/// Four answers side by side, in fewer words where they would not fit.
fn four(texts: &Texts, theme: Theme, area: Rect, buf: &mut Buffer) {
    let Answers { four, .. } = &texts.answers;
    let fits = |length: usize, gap: u16| {
        let each = four.iter().map(|answer| width_of(answer, length, theme));
        each.sum::<u16>() + 3 * gap <= area.width
    };
    let length = usize::from(!fits(0, GAPS[0]));
    let gap = GAPS[usize::from(!fits(length, GAPS[0]))];
    let mut used = 0;
    for answer in four {
        let room = past(area, used);
        if width_of(answer, length, theme) <= room.width {
            used += one(answer, length, theme, room, buf) + gap;
        }
    }
    // Beside them the fuel stop on which the trip depends, where there is room for that.
    let rest = past(area, used);
    let critical = texts
        .critical
        .iter()
        .find(|text| columns(text) <= rest.width);
    write(buf, rest, critical.map_or("", String::as_str), Style::new());
}

fn width_of(answer: &Answer, length: usize, theme: Theme) -> u16 {
    let sign = columns(theme.sign(answer.sign));
    columns(answer.name) + 1 + sign + u16::from(sign > 0) + columns(&answer.text[length])
}

fn one(answer: &Answer, length: usize, theme: Theme, area: Rect, buf: &mut Buffer) -> u16 {
    let style = match (answer.sign, answer.name) {
        (Sign::Missed, _) => theme.words(Meaning::Short),
        (_, "decide" | "turn back") => theme.words(Meaning::TurnBack),
        _ => BOLD,
    };
    let mut used = write(buf, area, answer.name, Style::new()) + 1;
    let sign = theme.sign(answer.sign);
    if !sign.is_empty() {
        used += write(buf, past(area, used), sign, style) + 1;
    }
    used + write(buf, past(area, used), &answer.text[length], style)
}
