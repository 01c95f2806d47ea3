//! The screen until the first plan is there: the trip's legs as they are stated.

use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::style::Style;

use super::super::opening::Opening;
use super::super::theme::{BOLD, DIM, Meaning};
use super::text::{above, below, first, more_below, past, row, wrap, write, write_right};
use super::verdict::CALCULATING;
use super::{Look, without_plan};
use crate::model::route::Leg;
use crate::present::number::{Toward, Units};

/// Columns of the number of a leg, and of its length.
const NUMBER: u16 = 6;
const LENGTH: u16 = 10;

/// Draws it; the position of the cursor, if something is typed.
pub fn render(
    opening: &Opening,
    units: Units,
    look: Look,
    area: Rect,
    buf: &mut Buffer,
) -> Option<Position> {
    let keys = (opening.layer(), |message| opening.works_now(message));
    without_plan(keys, look, area, buf, |area, buf| {
        if let Some(help) = &opening.help {
            return super::help::render(help, area, buf);
        }
        draw(opening, units, look, area, buf);
        None
    })
}

fn draw(opening: &Opening, units: Units, look: Look, area: Rect, buf: &mut Buffer) {
    let trip = &opening.trip;
    let name = trip.name.as_deref().unwrap_or("trip without a name");
    write(buf, row(area, 0), name, BOLD);
    let legs = format!("{} legs", trip.legs.len());
    write_right(buf, row(area, 0), &legs, BOLD);
    let mut next = 1;
    if let Some(problem) = &opening.problem {
        let style = look.theme.words(Meaning::Short);
        for line in wrap(&format!("▲ {problem}"), area.width) {
            write(buf, row(area, next), &line, style);
            next += 1;
        }
    } else {
        let used = write(buf, row(area, next), "… ", DIM);
        write(buf, past(row(area, next), used), CALCULATING, BOLD);
        next += 1;
    }
    let body = above(below(area, next + 1), 1);
    let shown = trip.legs.iter().enumerate().skip(opening.scroll);
    for (at, (nth, leg)) in shown.enumerate() {
        let line = row(body, at);
        if line.is_empty() {
            more_below(body, buf);
            break;
        }
        draw_leg(nth + 1, leg, units, line, buf);
    }
}

fn draw_leg(number: usize, leg: &Leg, units: Units, line: Rect, buf: &mut Buffer) {
    write(buf, line, &number.to_string(), DIM);
    let length = leg.distance_km.map_or_else(String::new, |km| {
        units.distance(km, Toward::Nearest).to_string()
    });
    let place = first(past(line, NUMBER), LENGTH);
    write_right(buf, place, &length, Style::new());
    let rest = past(line, NUMBER + LENGTH + 2);
    let used = write(buf, rest, &leg.to, Style::new());
    if leg.fuel.is_some() {
        write(buf, past(rest, used), "  fuel", DIM);
    }
}
