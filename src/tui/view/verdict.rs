//! Whether to set out, where it is tightest, and on which stop it hangs.
//!
//! While the verdict is being calculated the one before the change stands dimmed beside that word.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::picture::{Outlook, Told};
use super::super::state::{Basis, State};
use super::super::theme::{BOLD, DIM, Meaning, Theme};
use super::text::{columns, past, row, wrap, write};

/// What stands in place of a verdict that is still to come.
pub(crate) const CALCULATING: &str = "calculating";
/// What leads to the verdict of before.
const BEFORE: &str = " (before the change: ";

pub(super) fn render(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    if state.basis() == Basis::Calculating {
        calculating(state, area, buf);
    } else {
        told(state.told(), theme, area, buf);
    }
}

/// The word, and as much of the verdict before as can be said whole.
fn calculating(state: &State, area: Rect, buf: &mut Buffer) {
    let mut used = write(buf, row(area, 0), "… ", DIM);
    used += write(buf, past(row(area, 0), used), CALCULATING, BOLD);
    let Some(before) = state.judged() else {
        return;
    };
    for verdict in &before.told.verdict {
        let whole = format!("{BEFORE}{})", verdict.trim_end_matches('.'));
        let lines = wrap_after(&whole, used, area);
        if lines.len() <= usize::from(area.height) {
            for (nth, line) in lines.iter().enumerate() {
                let indent = if nth == 0 { used } else { 2 };
                write(buf, past(row(area, nth), indent), line, DIM);
            }
            return;
        }
    }
}

/// The text in lines, the first of which begins after `used` columns, the others after two.
fn wrap_after(text: &str, used: u16, area: Rect) -> Vec<String> {
    let filler = "_".repeat(usize::from(used.saturating_sub(2)));
    let mut lines = wrap(&format!("{filler}{text}"), area.width.saturating_sub(2));
    if let Some(first) = lines.first_mut() {
        *first = first.trim_start_matches('_').to_owned();
    }
    lines
}

fn told(told: &Told, theme: Theme, area: Rect, buf: &mut Buffer) {
    let (shape, sign, style) = match told.outlook {
        Outlook::Good => (
            "✓ ",
            theme.strong(Meaning::Enough),
            theme.words(Meaning::Enough),
        ),
        Outlook::NoVerdict => ("· ", Style::new(), Style::new()),
        Outlook::Other => (
            "▲ ",
            theme.strong(Meaning::Care),
            theme.words(Meaning::Care),
        ),
        Outlook::Short => (
            "■ ",
            theme.strong(Meaning::Short),
            theme.words(Meaning::Short),
        ),
    };
    let indent = write(buf, row(area, 0), shape, sign);
    let room = past(area, indent);
    // What can only be shown in part is told in fewer words, or not at all.
    let fits = |lines: &Vec<String>| lines.len() <= usize::from(room.height);
    let [sentence, brief] = &told.verdict;
    let lines = Some(wrap(sentence, room.width)).filter(fits);
    let lines = lines.unwrap_or_else(|| wrap(brief, room.width));
    for (nth, line) in lines.iter().enumerate() {
        write(buf, row(room, nth), line, style);
    }
    let last = lines.last().map_or(0, |line| columns(line) + 1);
    let after = row(room, lines.len());
    let rest = if after.is_empty() {
        past(row(room, lines.len().saturating_sub(1)), last)
    } else {
        after
    };
    let tightest = told
        .tightest
        .iter()
        .find(|text| columns(text) <= rest.width);
    let told_so_far = write(buf, rest, tightest.map_or("", String::as_str), Style::new());
    // Beside it the stop on which the trip hangs, where there is room for that.
    let rest = past(rest, if told_so_far > 0 { told_so_far + 1 } else { 0 });
    let hinge = told.hinge.iter().find(|text| columns(text) <= rest.width);
    write(buf, rest, hinge.map_or("", String::as_str), Style::new());
}
