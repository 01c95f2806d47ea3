//! The rows of a subject, the field that is typed, and what it would change.

use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::style::Style;
use ratatui::widgets::{Clear, Widget};

use super::super::editor::Editor;
use super::super::sheet::{FieldRow, Topic};
use super::super::state::{Mode, State};
use super::super::theme::{BOLD, CHOSEN, DIM, Meaning, Theme};
use super::text::{above, below, columns, field, first, past, row, rule, wrap, write, write_right};
use super::verdict::CALCULATING;
use crate::plan::Plan;
use crate::present::entry::Entry;
use crate::present::name::capitalized;
use crate::present::number::{Figure, Toward, Units};

/// Columns of the names of fields, on a wide and on a narrow screen.
const NAME: [u16; 2] = [30, 20];
/// A screen narrower than this is narrow.
const WIDE: u16 = 70;

/// What is drawn below the heading: a row of the subject, or what several rows are about.
enum Shown<'a> {
    Heading(&'a str),
    Row(usize, &'a FieldRow),
}

/// Draws the rows; the position of the cursor, if something is typed.
pub(super) fn render(
    state: &State,
    theme: Theme,
    area: Rect,
    buf: &mut Buffer,
) -> Option<Position> {
    let rows = state.rows();
    Clear.render(area, buf);
    heading(state, rows.len(), row(area, 0), buf);
    let body = body(state, area);
    let (from, shown) = window(&rows, state.row, usize::from(body.height));
    let mut cursor = None;
    for (nth, item) in shown.iter().skip(from).take(body.height.into()).enumerate() {
        let line = row(body, nth);
        match item {
            Shown::Heading(heading) => {
                write(buf, line, heading, BOLD);
            }
            Shown::Row(number, field) => {
                let chosen = *number == state.row;
                let at = draw_row(state, theme, field, chosen, line, buf);
                cursor = cursor.or(at);
            }
        }
    }
    if rows.is_empty() {
        write(buf, row(body, 0), "none; press a to add", DIM);
    }
    let last = below(area, usize::from(body.bottom() - area.y));
    foot(state, theme, rows.get(state.row), last, buf);
    cursor
}

/// Where the rows are, between the heading and what is reported below.
fn body(state: &State, area: Rect) -> Rect {
    let notes = u16::from(area.height > 3) + u16::from(area.height > 6 || state.editor.is_some());
    above(below(area, 1), notes)
}

/// The row of the subject at a line of the area.
pub(super) fn row_at(state: &State, area: Rect, y: u16) -> Option<usize> {
    let rows = state.rows();
    let body = body(state, area);
    let line = y.checked_sub(body.y).filter(|&line| line < body.height)?;
    let (from, shown) = window(&rows, state.row, body.height.into());
    match shown.get(from + usize::from(line))? {
        Shown::Row(number, _) => Some(*number),
        Shown::Heading(_) => None,
    }
}

/// Rows and headings in order, and the first of them that is drawn so that the chosen row is in sight.
fn window(rows: &[FieldRow], chosen: usize, height: usize) -> (usize, Vec<Shown<'_>>) {
    let mut shown = Vec::new();
    let mut at = 0;
    for (number, row) in rows.iter().enumerate() {
        if let Some(heading) = &row.heading {
            shown.push(Shown::Heading(heading));
        }
        if number == chosen {
            at = shown.len();
        }
        shown.push(Shown::Row(number, row));
    }
    // In the middle, as far as the ends allow.
    let last = shown.len().saturating_sub(height);
    (at.saturating_sub(height / 2).min(last), shown)
}

fn heading(state: &State, rows: usize, line: Rect, buf: &mut Buffer) {
    let title = match (state.topic, state.chosen()) {
        (Topic::Leg, Some(leg)) => format!("▶ leg {}: {} -> {}", leg.n, leg.from, leg.to),
        (topic, _) => format!("▶ {}", topic.title()),
    };
    let rest = rule(buf, line, &title);
    let next = state.topic.moved(1).title();
    let right = format!(" row {} of {rows}, Tab: {next} ", (state.row + 1).min(rows));
    if columns(&right) + 2 < rest.width {
        write_right(buf, line, &right, DIM);
    }
}

fn draw_row(
    state: &State,
    theme: Theme,
    field: &FieldRow,
    chosen: bool,
    line: Rect,
    buf: &mut Buffer,
) -> Option<Position> {
    let name = NAME[usize::from(line.width < WIDE)];
    let label = first(line, name);
    if chosen {
        let blanks = " ".repeat(label.width.saturating_sub(1).into());
        write(buf, label, &blanks, CHOSEN);
    }
    let style = if chosen { CHOSEN } else { Style::new() };
    write(buf, label, &field.label, style);
    let value = past(line, name);
    if let Some(editor) = state
        .editor
        .as_ref()
        .filter(|_| chosen && state.mode == Mode::Field)
    {
        return draw_editor(editor, theme, value, buf);
    }
    let entry = Entry::new(field.field, state.units());
    if let Some(stated) = field.stated(state.trip()) {
        let used = write(buf, value, &entry.shown(Some(&stated)), BOLD);
        write(buf, past(value, used + 1), entry.unit(), Style::new());
    } else {
        let absent = entry.absent();
        let is_number = absent
            .chars()
            .all(|c| c.is_ascii_digit() || "-.".contains(c));
        let unit = if is_number { entry.unit() } else { "" };
        let default = format!("({})", format!("{absent} {unit}").trim_end());
        write(buf, value, &default, DIM);
    }
    None
}

/// The text with its cursor and what is wrong with it, or the words to choose from.
pub(super) fn draw_editor(
    editor: &Editor,
    theme: Theme,
    area: Rect,
    buf: &mut Buffer,
) -> Option<Position> {
    if editor.chooses() {
        draw_choices(editor, area, buf);
        return None;
    }
    let unit = editor.entry().unit();
    // The text has half the room, so that what is wrong with it is beside it.
    let most = if editor.problem.is_some() {
        area.width / 3
    } else {
        area.width.saturating_sub(columns(unit) + 2)
    };
    let wanted = columns(editor.line.text()) + 2;
    let room = wanted.clamp(8.min(area.width), most.max(8)).min(area.width);
    let cursor = field(buf, first(area, room), &editor.line);
    let rest = past(area, room + 1);
    let used = write(buf, rest, unit, Style::new());
    if let Some(problem) = &editor.problem {
        let rest = past(rest, used + u16::from(used > 0));
        let message = format!("▲ {problem}");
        write(buf, rest, &message, theme.words(Meaning::Short));
    }
    Some(cursor)
}

fn draw_choices(editor: &Editor, area: Rect, buf: &mut Buffer) {
    let chosen = editor.chosen();
    let worded = |word: &'static str| -> String {
        if word.is_empty() {
            format!("({})", editor.entry().absent())
        } else {
            word.to_owned()
        }
    };
    let words: Vec<String> = editor.choices().into_iter().map(worded).collect();
    // From the first word that leaves the chosen one in sight.
    let end = chosen.unwrap_or(0);
    let mut from = end;
    let mut used = columns(&words[end]) + 2;
    while from > 0 && used + columns(&words[from - 1]) + 2 <= area.width.saturating_sub(2) {
        from -= 1;
        used += columns(&words[from]) + 2;
    }
    let mut at = 0;
    if from > 0 {
        at += write(buf, area, "‹ ", DIM);
    }
    for (number, word) in words.iter().enumerate().skip(from) {
        let is_chosen = Some(number) == chosen;
        let style = if is_chosen { CHOSEN } else { Style::new() };
        if at + columns(word) + 2 > area.width {
            write(buf, past(area, at), "›", DIM);
            break;
        }
        at += write(buf, past(area, at), word, style) + 2;
    }
}

/// The help of the chosen field; while it is typed also what the plan makes of it.
fn foot(state: &State, theme: Theme, chosen: Option<&FieldRow>, area: Rect, buf: &mut Buffer) {
    let Some(chosen) = chosen else {
        return;
    };
    let entry = Entry::new(chosen.field, state.units());
    let mut next = 0;
    if let Some(editor) = &state.editor {
        let (message, style) = match &editor.problem {
            // Choices leave no room beside them.
            Some(problem) => (format!("▲ {problem}"), theme.words(Meaning::Short)),
            None => (difference(state), BOLD),
        };
        write(buf, row(area, next), &message, style);
        next += 1;
    }
    let help = format!("{} {}.", chosen.field.help, capitalized(&entry.range()));
    for (nth, line) in wrap(&help, area.width).iter().enumerate() {
        let line = if next + nth + 1 == usize::from(area.height) {
            // The last row shows by a mark that there would be more.
            wrap(&help, area.width)[nth..].join(" ")
        } else {
            line.clone()
        };
        write(buf, row(area, next + nth), &line, DIM);
    }
}

/// What one plan has that the other had not: litres of the chosen leg, of the trip, and in cans.
pub(super) fn difference(state: &State) -> String {
    let Some([was, now]) = state.before_and_now() else {
        return CALCULATING.to_owned();
    };
    let units: Units = state.units();
    let from_to = |what: &str, was: &Figure, now: &Figure| {
        if was == now {
            format!("{what} {now}")
        } else {
            format!("{what} {} -> {now}", was.number)
        }
    };
    let leg = |plan: &Plan| {
        let leg = plan.legs.get(state.leg() - 1)?;
        Some(units.fuel_tenths(leg.fuel, Toward::Nearest))
    };
    let mut texts = Vec::new();
    if let (Some(before), Some(after)) = (leg(was), leg(now)) {
        texts.push(from_to(&format!("leg {}", state.leg()), &before, &after));
    }
    let total = |plan: &Plan| units.fuel_tenths(plan.totals.fuel, Toward::Nearest);
    texts.push(from_to("trip", &total(was), &total(now)));
    let in_cans = |plan: &Plan| units.fuel_tenths(plan.in_cans.needed, Toward::Up);
    texts.push(from_to("in cans", &in_cans(was), &in_cans(now)));
    texts.join("   ")
}
