//! A form: its fields with what was planned beside them, and what is wrong.

use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::style::Style;
use ratatui::widgets::{Clear, Widget};

use super::super::form::{Form, FormField};
use super::super::theme::{BOLD, CHOSEN, DIM, Meaning, Theme};
use super::text::{columns, field, first, past, row, rule, write, write_right, write_wrapped};
use crate::present::entry::Entry;

/// Columns of the names of fields, and of a number that is typed.
const NAME: u16 = 16;
const VALUE: u16 = 10;

/// Draws the form; the position of the cursor, if something is typed.
pub(super) fn render(form: &Form, theme: Theme, area: Rect, buf: &mut Buffer) -> Option<Position> {
    Clear.render(area, buf);
    rule(buf, row(area, 0), &format!("▶ {}", form.title));
    let right = format!(" field {} of {} ", form.at + 1, form.fields.len());
    write_right(buf, row(area, 0), &right, DIM);
    // The last row shows what is wrong, or what to do.
    let room = usize::from(area.height).saturating_sub(2).max(1);
    let from = (form.at + 1).saturating_sub(room);
    let mut cursor = None;
    for (nth, item) in form.fields.iter().enumerate().skip(from).take(room) {
        let line = row(area, 1 + nth - from);
        let at = draw(item, nth == form.at, line, buf);
        cursor = cursor.or(at);
    }
    let last = row(area, 1 + room.min(form.fields.len()));
    if let Some(objection) = &form.objection {
        let message = format!("▲ {}", objection.reason());
        write_wrapped(buf, last, &message, theme.words(Meaning::Short));
    } else {
        write(buf, last, form.how_to(), DIM);
    }
    cursor
}

fn draw(item: &FormField, is_chosen: bool, line: Rect, buf: &mut Buffer) -> Option<Position> {
    let style = if is_chosen { CHOSEN } else { Style::new() };
    let label = first(line, NAME - 1);
    write(buf, label, &" ".repeat(label.width.into()), style);
    write(buf, label, item.label, style);
    let value = past(line, NAME);
    let unit = item.entry.map_or("", Entry::unit);
    let text = item.line.text();
    if !item.words.is_empty() {
        let style = if is_chosen { CHOSEN } else { BOLD };
        let used = write(buf, value, text, style);
        let hint = if is_chosen && item.hint.is_empty() {
            "type its first letters, or ↑ ↓".to_owned()
        } else {
            item.hint.clone()
        };
        write(buf, past(value, used + 2), &hint, DIM);
        return None;
    }
    // A text that is longer than a number pushes the hint to the right.
    let shown = (columns(text) + u16::from(is_chosen)).max(VALUE);
    let hint = past(value, shown + 1 + columns(unit) + 2);
    write(buf, hint, &item.hint, DIM);
    let cursor = if is_chosen {
        let width = (columns(text) + 2).clamp(VALUE, value.width.max(VALUE));
        Some(field(buf, first(value, width), &item.line))
    } else {
        write(buf, value, text, BOLD);
        None
    };
    write(buf, past(value, VALUE + 1), unit, Style::new());
    cursor
}
