//! The last row: the keys that would do something now; above it what was just done.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::{Clear, Widget};

use super::super::keymap::{Binding, Layer, footer_bindings};
use super::super::message::Message;
use super::super::state::State;
use super::super::theme::{BOLD, DIM};
use super::super::update::works_now;
use super::text::{columns, past, write};

/// Blank columns between two keys.
const GAP: u16 = 3;
/// More keys than this are not read.
const MOST: usize = 6;

pub(super) fn render(state: &State, ascii: bool, area: Rect, buf: &mut Buffer) {
    keys(
        (state.mode.into(), ascii),
        |message| works_now(state, message),
        area,
        buf,
    );
}

/// The notice, on a row of its own above the keys until the next key.
pub(super) fn notice(state: &State, keys: Rect, buf: &mut Buffer) {
    let reading = state.reading_says();
    let status = state.status.as_deref().or(reading.as_deref());
    let notice = status.or(state.notice.as_deref());
    let (Some(notice), Some(y)) = (notice, keys.y.checked_sub(1)) else {
        return;
    };
    let row = Rect { y, ..keys };
    Clear.render(row, buf);
    write(buf, row, notice, BOLD);
}

/// The keys of a layer that would do something, as many as there is room for: help and the way out always, then the key of
/// the next fix where one is needed, and that of editing, then those that come first in the table.
pub(super) fn keys(
    (layer, ascii): (Layer, bool),
    works: impl Fn(Message) -> bool,
    area: Rect,
    buf: &mut Buffer,
) {
    let (last, mut first): (Vec<_>, Vec<_>) = footer_bindings(layer)
        .filter(|binding| works(binding.message))
        .partition(|binding| {
            matches!(
                binding.message,
                Message::Help | Message::Close | Message::Quit
            )
        });
    let width = |bindings: &[&Binding]| -> u16 {
        let each = bindings.iter().map(|binding| words(binding, ascii));
        each.map(|[key, label]| columns(&key) + 1 + columns(&label) + GAP)
            .sum()
    };
    let of_fixes = |binding: &Binding| binding.message == Message::TryFix;
    if first.iter().copied().any(of_fixes) {
        first.sort_by_key(|binding: &&Binding| match binding.message {
            Message::TryFix => 0,
            Message::Edit => 1,
            _ => 2,
        });
    }
    first.truncate(MOST.saturating_sub(last.len()));
    while !first.is_empty() && width(&first) + width(&last) > area.width + GAP {
        first.pop();
    }
    let mut used = 0;
    for binding in first.iter().chain(&last) {
        let [key, label] = words(binding, ascii);
        used += write(buf, past(area, used), &key, BOLD) + 1;
        used += write(buf, past(area, used), &label, DIM) + GAP;
    }
}

/// A key and what it does, in a word.
fn words(binding: &Binding, ascii: bool) -> [String; 2] {
    [
        binding.footer_key(ascii),
        binding.short.unwrap_or_default().to_owned(),
    ]
}
