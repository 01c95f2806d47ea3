//! The screen before there is a trip.

use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::style::Style;

use super::super::outside::{Item, Recent};
use super::super::start::{Asking, Start};
use super::super::theme::{BOLD, CHOSEN, DIM, Meaning};
use super::ask::listed;
use super::text::{
    above, below, columns, field, first, past, row, write, write_right, write_wrapped,
};
use super::{Look, without_plan};
use crate::present::number::Toward;
use crate::present::verdict::counted;

/// Columns of the kind of an item, and of a question that is answered.
const KIND: u16 = 11;
const QUESTION: u16 = 50;

/// Draws it; the position of the cursor, if something is typed.
pub fn render(start: &Start, look: Look, area: Rect, buf: &mut Buffer) -> Option<Position> {
    let keys = (start.layer(), |message| start.works_now(message));
    without_plan(keys, look, area, buf, |area, buf| match &start.help {
        Some(help) => super::help::render(help, area, buf),
        None => draw(start, look, area, buf),
    })
}

fn draw(start: &Start, look: Look, area: Rect, buf: &mut Buffer) -> Option<Position> {
    if let Some(Asking::Accept {
        imported, from_row, ..
    }) = &start.asking
    {
        let heading = (
            "Open this trip?",
            "y opens it, n or Esc goes back; ↑ ↓ scroll",
        );
        let rows = (*from_row, imported.lines.as_slice());
        listed(heading, rows, above(area, 1), buf);
        return None;
    }
    let used = write(buf, row(area, 0), "drystage", BOLD);
    let subtitle = "  fuel, load and route of an overland trip";
    write(buf, past(row(area, 0), used), subtitle, DIM);
    let asked = if start.asking.is_some() { 4 } else { 0 };
    let problem_rows = start.problem.as_ref().map_or(0, |_| 2);
    let body = above(below(area, 2), 1 + asked + problem_rows);
    if start.answers().is_empty() {
        list(start, body, buf);
    } else {
        answers(start, body, buf);
    }
    let foot = above(below(area, 2 + usize::from(body.height)), 1);
    let cursor = question(start, foot, buf);
    if let Some(problem) = &start.problem {
        let style = look.theme.words(Meaning::Short);
        let foot = below(foot, asked.into());
        write_wrapped(buf, foot, &format!("▲ {problem}"), style);
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
            Item::Recent(recent) => ("recent", recent.name.as_str()),
            Item::Sample(name) => ("sample", *name),
            Item::New => ("new", "a new trip in a few questions"),
            Item::Vehicle { name, .. } => ("new with", name.as_str()),
            Item::Import => ("import", "tracks (GPX, GeoJSON) or a leg table (CSV)"),
        };
        let chosen = nth == start.at;
        let mark = if chosen { "▶ " } else { "  " };
        let used = write(buf, line, mark, BOLD);
        write(buf, past(line, used), kind, DIM);
        let style = if chosen { CHOSEN } else { Style::new() };
        let about = match item {
            Item::Recent(recent) => about(start, recent),
            _ => String::new(),
        };
        let room = first(line, line.width.saturating_sub(columns(&about) + 1));
        write(buf, past(room, KIND), name, style);
        write_right(buf, line, &about, DIM);
    }
}

/// Distance, days, verdict and when it was last open.
fn about(start: &Start, recent: &Recent) -> String {
    let distance = recent.distance.map(|distance| {
        let distance = start.units.distance(distance, Toward::Nearest);
        distance.to_string()
    });
    let days = recent
        .days
        .map(|days| counted(days as usize, "day", "days"));
    let verdict = Some(recent.verdict.clone()).filter(|verdict| !verdict.is_empty());
    let opened = Some(recent.opened.clone()).filter(|opened| !opened.is_empty());
    let parts: Vec<String> = [verdict, distance, days, opened]
        .into_iter()
        .flatten()
        .collect();
    parts.join(" · ")
}

/// The answers to the questions so far, in place of the list.
fn answers(start: &Start, area: Rect, buf: &mut Buffer) {
    let answers = start.answers();
    let shown = answers.len().saturating_sub(area.height.into());
    for (nth, (question, answer)) in answers.iter().skip(shown).enumerate() {
        let line = row(area, nth);
        write(buf, line, question, DIM);
        write(buf, past(line, QUESTION), answer, BOLD);
    }
}

fn question(start: &Start, area: Rect, buf: &mut Buffer) -> Option<Position> {
    let (asks, choices, range) = start.question()?;
    write(buf, row(area, 0), &format!("▶ {asks}"), BOLD);
    let cursor = field(buf, row(area, 1), start.line()?);
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
    Some(cursor)
}
