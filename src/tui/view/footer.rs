//! The last row: what was just done, else the keys that would do something now.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::super::keymap::BINDINGS;
use super::super::state::State;
use super::super::theme::{BOLD, DIM};
use super::super::update::works_now;
use super::text::{columns, past, write};

/// Blank columns between two keys.
const GAP: u16 = 3;

pub(super) fn render(state: &State, area: Rect, buf: &mut Buffer) {
    if let Some(says) = state.status.as_deref().or(state.notice.as_deref()) {
        write(buf, area, says, BOLD);
        return;
    }
    let mut used = 0;
    for binding in BINDINGS {
        let (Some(short), [key, ..]) = (binding.short, binding.keys) else {
            continue;
        };
        if !binding.layers.contains(&state.mode.into()) || !works_now(state, binding.message) {
            continue;
        }
        let key = key.name();
        if used + columns(&key) + columns(short) + 1 > area.width {
            break;
        }
        used += write(buf, past(area, used), &key, BOLD) + 1;
        used += write(buf, past(area, used), short, DIM) + GAP;
    }
}
