//! Text into rows of the screen: cut by columns, never outside its row.

use std::borrow::Cow;

use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::style::Style;
use unicode_segmentation::UnicodeSegmentation;

use super::super::line::TypedLine;
use super::super::theme::{BOLD, CHOSEN, DIM};
use crate::present::name::{plain, width};
use crate::present::number::cells;
use crate::present::words::unbroken;
use crate::quantity::Share;

/// Row number `index` of an area; empty when the area has no such row.
pub(crate) fn row(area: Rect, index: usize) -> Rect {
    match u16::try_from(index) {
        Ok(index) if index < area.height => Rect {
            y: area.y + index,
            height: 1,
            ..area
        },
        _ => Rect { height: 0, ..area },
    }
}

/// The last row of an area.
pub(crate) fn last_row(area: Rect) -> Rect {
    row(area, usize::from(area.height).saturating_sub(1))
}

/// An area without its first `columns`.
pub(crate) fn past(area: Rect, columns: u16) -> Rect {
    let columns = columns.min(area.width);
    Rect {
        x: area.x + columns,
        width: area.width - columns,
        ..area
    }
}

/// The first `columns` of an area.
pub(crate) fn first(area: Rect, columns: u16) -> Rect {
    Rect {
        width: columns.min(area.width),
        ..area
    }
}

/// An area without its first `rows`.
pub(crate) fn below(area: Rect, rows: usize) -> Rect {
    let rows = u16::try_from(rows).unwrap_or(u16::MAX).min(area.height);
    Rect {
        y: area.y + rows,
        height: area.height - rows,
        ..area
    }
}

/// An area without its last `rows`.
pub(crate) fn above(area: Rect, rows: u16) -> Rect {
    Rect {
        height: area.height.saturating_sub(rows),
        ..area
    }
}

/// Whether terminals differ in what they make of a character: joiners, variation selectors, tags.
const fn is_format(c: char) -> bool {
    matches!(c, '\u{200b}'..='\u{200d}' | '\u{fe00}'..='\u{fe0f}' | '\u{e0000}'..='\u{e01ef}')
}

/// The text without what acts on a terminal, and without characters of which terminals make different widths.
fn drawable(text: &str) -> Cow<'_, str> {
    let text = plain(text);
    if text.contains(is_format) {
        text.chars()
            .filter(|c| !is_format(*c))
            .collect::<String>()
            .into()
    } else {
        text
    }
}

/// Columns of a text, as a screen counts.
pub(crate) fn columns(text: &str) -> u16 {
    u16::try_from(width(text)).unwrap_or(u16::MAX)
}

/// The text, made plain, cut to at most `room` columns with `…` where something is missing.
pub(crate) fn cut(text: &str, room: u16) -> Cow<'_, str> {
    let text = drawable(text);
    let room = usize::from(room);
    if width(&text) <= room {
        return text;
    }
    let mut short = String::new();
    let mut used = 0;
    for grapheme in text.graphemes(true) {
        used += width(grapheme);
        if used + 1 > room {
            break;
        }
        short.push_str(grapheme);
    }
    if room > 0 {
        short.push('…');
    }
    short.into()
}

/// Writes at the left of a row and returns how many columns that took.
pub(crate) fn write(buf: &mut Buffer, row: Rect, text: &str, style: Style) -> u16 {
    if row.is_empty() {
        return 0;
    }
    let shown = cut(text, row.width);
    let (end, _) = buf.set_stringn(row.x, row.y, &shown, row.width.into(), style);
    end.saturating_sub(row.x)
}

/// Writes lines under one another, the text broken between words, as far as there is room.
pub(crate) fn write_wrapped(buf: &mut Buffer, area: Rect, text: &str, style: Style) {
    for (nth, line) in wrap(text, area.width).iter().enumerate() {
        write(buf, row(area, nth), line, style);
    }
}

/// Marks in the heading above `area` that there is more below.
pub(crate) fn more_below(area: Rect, buf: &mut Buffer) {
    if let (Some(y), true) = (area.y.checked_sub(1), area.width > 1) {
        let mark = Rect::new(area.right() - 1, y, 1, 1);
        write(buf, mark, "↓", BOLD);
    }
}

/// Writes a title with a rule after it; the room that the rule takes.
pub(crate) fn rule(buf: &mut Buffer, row: Rect, title: &str) -> Rect {
    let used = write(buf, row, title, BOLD) + write(buf, past(row, columns(title)), " ", DIM);
    let rest = past(row, used);
    write(buf, rest, &"─".repeat(rest.width.into()), DIM);
    rest
}

/// Draws a line of text that is typed, over the whole of a row; the position of its cursor.
pub(crate) fn field(buf: &mut Buffer, row: Rect, line: &TypedLine) -> Position {
    let (text, cursor) = line.window(row.width.into());
    write(buf, row, &" ".repeat(row.width.into()), CHOSEN);
    write(buf, row, &text, CHOSEN);
    let column = u16::try_from(cursor).unwrap_or(0);
    Position::new(row.x + column.min(row.width.saturating_sub(1)), row.y)
}

/// Writes at the right of a row.
pub(crate) fn write_right(buf: &mut Buffer, row: Rect, text: &str, style: Style) {
    let shown = cut(text, row.width);
    let free = row.width - columns(&shown).min(row.width);
    write(buf, past(row, free), &shown, style);
}

/// The text in lines of at most `room` columns, broken between words where that can be.
pub(crate) fn wrap(text: &str, room: u16) -> Vec<String> {
    let text = drawable(text);
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in unbroken(&text) {
        if !line.is_empty() && columns(&line) + 1 + columns(word) > room {
            lines.push(std::mem::take(&mut line));
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(&cut(word, room));
    }
    lines.push(line);
    lines
}

/// A bar of `share` of `room` columns, to an eighth of a column, at least a sliver of what is there.
pub(crate) fn bar(share: Share, room: u16) -> String {
    const PARTS: [&str; 8] = ["", "▏", "▎", "▍", "▌", "▋", "▊", "▉"];
    let eighths = cells(share, 8 * usize::from(room));
    let eighths = eighths.max(usize::from(share > Share::ZERO));
    "█".repeat(eighths / 8) + PARTS[eighths % 8]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_cut_by_columns() {
        assert_eq!(cut("Harrow Cross", 7), "Harrow…");
        assert_eq!(cut("漢字漢", 4), "漢…");
        assert_eq!(cut("e\u{301}e\u{301}e\u{301}", 2), "e\u{301}…");
        assert_eq!(cut("abc", 0), "");
        assert_eq!(cut("a\tb", 9), "a b");
    }

    #[test]
    fn lines_break_between_words() {
        assert_eq!(
            wrap("fill 18 L at the last pump", 10),
            ["fill 18 L", "at the", "last pump"]
        );
        assert_eq!(wrap("unbreakable", 4), ["unb…"]);
        assert_eq!(wrap("", 4), [""]);
    }

    #[test]
    fn bars_end_on_an_eighth() {
        assert_eq!(bar(Share::new(0.5), 4), "██");
        assert_eq!(bar(Share::new(0.53), 4), "██▏");
        assert_eq!(bar(Share::new(0.001), 4), "▏");
        assert_eq!(bar(Share::new(2.0), 3), "███");
        assert_eq!(bar(Share::new(f64::NAN), 3), "");
    }
}
