//! Whether to set out, where it is tightest, and on which stop it hangs.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::state::{Samples, State};
use super::super::theme::{DIM, Meaning, Theme};
use super::super::told::Outlook;
use super::text::{columns, past, row, wrap, write};

pub(super) fn render(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) {
    let told = state.told();
    let (shape, meaning) = match told.outlook {
        Outlook::Good => ("✓ ", Meaning::Enough),
        Outlook::Other => ("▲ ", Meaning::Care),
        Outlook::Short => ("■ ", Meaning::Short),
    };
    // What stands here is that of the trip as it was a key ago, or without the samples that are being drawn.
    let (shape, sign, style) = if state.is_behind() || state.samples() == Samples::Awaited {
        ("… ", DIM, DIM)
    } else {
        (shape, theme.strong(meaning), theme.words(meaning))
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
