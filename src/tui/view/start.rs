//! The screen before there is a trip.

use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::style::Style;

use super::super::outside::Item;
use super::super::start::Start;
use super::super::theme::{BOLD, CHOSEN, DIM, Meaning};
use super::text::{columns, past, row, wrap, write};
use super::{Look, without_plan};

/// Draws it; where the cursor stands, if something is typed.
pub fn render(start: &Start, look: Look, area: Rect, buf: &mut Buffer) -> Option<Position> {
    let keys = (start.layer(), |message| start.works_now(message));
    without_plan(keys, look, area, buf, |area, buf| match &start.help {
        Some(help) => super::help::render(help, area, buf),
        None => draw(start, look, area, buf),
    })
}

fn draw(start: &Start, look: Look, area: Rect, buf: &mut Buffer) -> Option<Position> {
    let used = write(buf, row(area, 0), "drystage", BOLD);
    let says = "  fuel, load and route of an overland trip";
    write(buf, past(row(area, 0), used), says, DIM);
    let asked = if start.asking.is_some() { 4 } else { 0 };
    let told = start.problem.as_ref().map_or(0, |_| 2);
    let body = Rect {
        y: area.y + 2,
        height: area.height.saturating_sub(3 + asked + told),
        ..area
    };
    list(start, body, buf);
    let mut below = Rect {
        y: body.bottom(),
        height: area.bottom().saturating_sub(body.bottom() + 1),
        ..area
    };
    let cursor = question(start, below, buf);
    below.y += asked.min(below.height);
    below.height = below.height.saturating_sub(asked);
    if let Some(problem) = &start.problem {
        for (nth, line) in wrap(&format!("▲ {problem}"), area.width).iter().enumerate() {
            write(buf, row(below, nth), line, look.theme.words(Meaning::Short));
        }
    }
    cursor
}

fn list(start: &Start, area: Rect, buf: &mut Buffer) {
    let height = usize::from(area.height);
    let last = start.items.len().saturating_sub(height);
    let from = start.at.saturating_sub(height / 2).min(last);
    for (nth, item) in start.items.iter().enumerate().skip(from).take(height) {
        let line = row(area, nth - from);
        let (kind, name) = match item {
            Item::Unsaved { name, .. } => ("unsaved", name.as_str()),
            Item::Recent(path) => ("recent", path.as_str()),
            Item::Sample(name) => ("sample", *name),
            Item::New => ("new", "a trip by a few questions"),
            Item::Import => ("import", "tracks (GPX, GeoJSON) or a leg table (CSV)"),
        };
        let chosen = nth == start.at;
        let mark = if chosen { "▶ " } else { "  " };
        let used = write(buf, line, mark, BOLD);
        write(buf, past(line, used), kind, DIM);
        let style = if chosen { CHOSEN } else { Style::new() };
        write(buf, past(line, 11), name, style);
    }
}

fn question(start: &Start, area: Rect, buf: &mut Buffer) -> Option<Position> {
    let (asks, choices, range) = start.question()?;
    write(buf, row(area, 0), &format!("▶ {asks}"), BOLD);
    let line = row(area, 1);
    let (text, cursor) = start.line()?.window(line.width.into());
    write(buf, line, &" ".repeat(line.width.into()), CHOSEN);
    write(buf, line, &text, CHOSEN);
    if choices.is_empty() {
        write(buf, row(area, 2), &range, DIM);
    } else {
        let mut used = 0;
        for word in choices {
            if used + columns(word) + 2 > area.width {
                break;
            }
            used += write(buf, past(row(area, 2), used), word, DIM) + 2;
        }
    }
    let column = u16::try_from(cursor)
        .unwrap_or(0)
        .min(line.width.saturating_sub(1));
    Some(Position::new(line.x + column, line.y))
}
