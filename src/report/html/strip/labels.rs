//! What is written along the strip: days and names of places above it, what happens where below it. No name is crossed by
//! a line.

use maud::{Markup, html};

use super::super::drawing::{Path, Placed, Rows, Text, Wish, broken, px, text_width};
use super::super::shapes;
use super::{Frame, LINE, SIGN, rows_of};
use crate::present::daylight;
use crate::present::mark::Mark;
use crate::present::name::plain;
use crate::present::strip::PlaceMark;

/// Between the line of a name and its text.
const FLAG: f64 = 3.0;

/// The places of a frame, each once however long the trip stays there, with the room of their names: those with fuel
/// choose first, then the ends, then the rest.
pub(super) fn names<'a>(frame: &Frame<'a>) -> Vec<(PlaceMark<'a>, Option<Placed>)> {
    let mut places: Vec<PlaceMark<'a>> = frame.strip.places(frame.things()).collect();
    places.dedup_by(|later, place| later.at == place.at && later.name == place.name);
    let last = frame.strip.plan().legs.len();
    let mut order: Vec<usize> = (0..places.len()).collect();
    order.sort_by_key(|&n| {
        let is_end = places[n].place_number == 0 || places[n].place_number == last;
        (std::cmp::Reverse((places[n].supply, is_end)), n)
    });
    let wishes: Vec<Wish> = order
        .iter()
        .map(|&n| Wish {
            x: frame.x(places[n].at),
            text: plain(places[n].name).into_owned(),
            gap: FLAG,
        })
        .collect();
    let rows = Rows {
        count: frame.shape.name_rows,
        left: frame.shape.left,
        right: frame.shape.right,
    };
    let labels = rows.place(&wishes);
    let mut names: Vec<_> = order.into_iter().zip(labels).collect();
    names.sort_by_key(|(n, _)| *n);
    places
        .into_iter()
        .zip(names)
        .map(|(place, (_, label))| (place, label))
        .collect()
}

/// Base line of a row of names.
fn name_y(frame: &Frame<'_>, row: usize) -> f64 {
    frame.ground_y - 11.0 - LINE * row as f64
}

pub(super) fn draw_names(frame: &Frame<'_>) -> Markup {
    let foot = frame.ground_y - 4.0;
    let shown = frame.names.iter().filter_map(|(place, label)| {
        let label = label.as_ref().filter(|label| !label.text.is_empty())?;
        Some((frame.x(place.at), name_y(frame, label.row), label))
    });
    let mut leaders = Path::new();
    for (x, y, _) in shown.clone() {
        leaders.start(x, y - 9.0);
        leaders.to(x, foot);
    }
    html! {
        path.leader d=(leaders.d()) {}
        @for (_, y, label) in shown { text.name x=(px(label.x)) y=(px(y)) { (label.text) } }
        @for (place, label) in &frame.names {
            @let is_cut = label.as_ref().is_none_or(|label| label.text != plain(place.name));
            @let title = if is_cut && frame.shape.has_names() { plain(place.name) } else { "".into() };
            (shapes::place(place.supply, frame.x(place.at), foot, &title))
        }
    }
}

/// Days whose labels would run into one another share one.
struct Days {
    x: f64,
    first: u32,
    last: u32,
}

impl Days {
    fn numbers(&self) -> String {
        if self.first == self.last {
            self.first.to_string()
        } else {
            format!("{}\u{2013}{}", self.first, self.last)
        }
    }

    /// What the label may be, the longest first: with the arrival and the dark of a day whose times are known.
    fn wordings(&self, frame: &Frame<'_>) -> Vec<String> {
        let of_one = (self.first == self.last).then_some(self.first);
        let light = of_one.and_then(|day| daylight::in_short(frame.strip.plan(), day));
        let day = format!("day {}", self.numbers());
        let long = light.map(|light| format!("{day}, {light}"));
        long.into_iter().chain([day]).collect()
    }
}

pub(super) fn draw_days(frame: &Frame<'_>) -> Markup {
    let borders = frame.strip.days(frame.things());
    let mut days: Vec<Days> = Vec::new();
    for border in borders {
        let x = frame.x(border.at);
        match days.last_mut() {
            Some(last) if x < last.x + text_width(&last.numbers()) + 6.0 => last.last = border.day,
            _ => days.push(Days {
                x,
                first: border.day,
                last: border.day,
            }),
        }
    }
    let ends = days.iter().skip(1).map(|next| next.x);
    let ends: Vec<f64> = ends.chain([frame.shape.right + 6.0]).collect();
    let labels = frame.names.iter().flat_map(|(_, label)| label);
    let texts: Vec<Text> = labels
        .filter(|label| !label.text.is_empty())
        .map(|label| {
            let y = name_y(frame, label.row);
            Text {
                ends: label.text_ends(),
                edges: (y - 11.0, y + 3.0),
            }
        })
        .collect();
    let mut lines = Path::new();
    for border in borders {
        let x = frame.x(border.at);
        for (from, to) in broken(x, [2.0, frame.base()], &texts) {
            lines.start(x, from);
            lines.to(x, to);
        }
    }
    html! {
        path.day-line d=(lines.d()) {}
        @for (of, end) in days.iter().zip(ends) {
            @let text = of.wordings(frame).into_iter().find(|text| of.x + text_width(text) + 6.0 <= end).unwrap_or_else(|| of.numbers());
            @let x = (of.x + FLAG).min(frame.shape.right - text_width(&text));
            text.dim x=(px(x)) y=(px(LINE - 3.0)) { (text) }
        }
    }
}

/// What happens along a frame, the gravest choosing their room first.
pub(super) fn marks<'a>(frame: &Frame<'a>) -> Vec<(&'a Mark, Option<Placed>)> {
    let mut marks: Vec<&Mark> = frame.strip.marks(frame.things()).iter().collect();
    marks.sort_by_key(|mark| mark.kind.rank());
    let wishes: Vec<Wish> = marks
        .iter()
        .map(|mark| Wish {
            x: frame.x(mark.at),
            text: mark.label(frame.units),
            gap: SIGN + 4.0,
        })
        .collect();
    let rows = Rows {
        count: frame.shape.mark_rows,
        left: frame.shape.left - 2.0 * SIGN,
        right: frame.shape.right + SIGN,
    };
    let labels = rows.place(&wishes);
    marks.into_iter().zip(labels).collect()
}

pub(super) fn draw_marks(frame: &Frame<'_>) -> Markup {
    let top = frame.base() + LINE + 13.0;
    // A sign without room is at the foot.
    let foot = rows_of(frame.marks.iter().map(|(_, label)| label)).saturating_sub(1);
    let row = |label: &Option<Placed>| label.as_ref().map_or(foot, |label| label.row);
    let y = |label: &Option<Placed>| top + LINE * row(label) as f64;
    let mut lines = Path::new();
    for (mark, label) in &frame.marks {
        let x = frame.x(mark.at);
        lines.start(x, frame.fuel_y);
        lines.to(x, y(label) - 5.0);
    }
    html! {
        path.mark-line d=(lines.d()) {}
        @for (mark, label) in &frame.marks {
            @let (x, y) = (frame.x(mark.at), y(label));
            @if let Some(label) = label.as_ref().filter(|label| !label.text.is_empty()) {
                // Its end that is near the sign stays there, however wide the letters are.
                @if label.x < x {
                    text.mark.halo x=(px(x - SIGN - 4.0)) y=(px(y + 4.0)) text-anchor="end" { (label.text) }
                } @else {
                    text.mark.halo x=(px(label.x)) y=(px(y + 4.0)) { (label.text) }
                }
            }
            @let words = mark.label(frame.units);
            @let is_cut = label.as_ref().is_none_or(|label| label.text != words);
            (shapes::mark(mark.kind, x, y, if is_cut { &words } else { "" }))
        }
    }
}
