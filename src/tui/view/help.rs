//! The list of keys, made from the table of keys; what the shapes mean; the cautions.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::keymap::{BINDINGS, Group, Key};
use super::super::theme::{BOLD, DIM};
use super::shapes;
use super::text::{past, row, wrap, write};
use crate::model::vocabulary::Surface;
use crate::present::caution::CAUTIONS;
use crate::present::mark::MarkKind;
use crate::present::strip::Supply;
use crate::quantity::Litres;

/// Columns of the keys and of the shapes.
const KEYS: u16 = 18;
/// Longest line that is pleasant to read.
const READABLE: u16 = 76;

/// One line of the help.
enum Line {
    Title(&'static str),
    /// Keys or shapes, and what they are.
    Entry(String, String),
    /// A sentence, wrapped when drawn.
    Sentence(&'static str),
    Blank,
}

fn lines() -> Vec<Line> {
    let mut lines = Vec::new();
    for group in Group::ALL {
        lines.push(Line::Title(group.title()));
        for binding in BINDINGS.iter().filter(|binding| binding.group == group) {
            let keys: Vec<String> = binding.keys.iter().map(|&key| spoken(key)).collect();
            lines.push(Line::Entry(keys.join("  "), binding.label.to_owned()));
        }
        lines.push(Line::Blank);
    }
    lines.push(Line::Title("shapes"));
    lines.extend(shapes());
    lines.push(Line::Blank);
    lines.push(Line::Title("beware"));
    lines.extend(CAUTIONS.map(Line::Sentence));
    lines
}

fn shapes() -> Vec<Line> {
    let marks = [
        MarkKind::RunsDry,
        MarkKind::BelowReserve,
        MarkKind::TurnBack {
            refuge: 0,
            doubtful: false,
        },
        MarkKind::DryIf { pump: 0 },
        MarkKind::Pour {
            litres: Litres::ZERO,
        },
    ];
    let marks = marks.map(|mark| {
        let shape = format!(
            "{}  {}{}",
            shapes::mark(mark),
            shapes::mark(mark),
            shapes::letter(mark)
        );
        (shape, mark.name())
    });
    let others = [
        (shapes::FULL, "fuel in the tank"),
        (shapes::CANS, "fuel in cans"),
        (shapes::TANK_TOP, "a full tank"),
        (shapes::RESERVE, "what must be left"),
        (shapes::place(Supply::Counted), "fuel that is relied on"),
        (
            shapes::place(Supply::NotCounted),
            "fuel that is not relied on",
        ),
        (shapes::place(Supply::None), "a place without fuel"),
        (shapes::SAND, "soft sand, by its share of the leg"),
        (shapes::LOW_RANGE, "low range, by its share of the leg"),
        (shapes::SAND_IN_LOW, "soft sand in low range"),
    ]
    .map(|(shape, says)| (shape.to_owned(), says));
    let grounds = Surface::ALL
        .iter()
        .map(|&surface| (shapes::surface(surface).to_owned(), surface.word()));
    let all = marks.into_iter().chain(others).chain(grounds);
    all.map(|(shape, says)| Line::Entry(shape, says.to_owned()))
        .collect()
}

fn spoken(key: Key) -> String {
    let name = key.name();
    if name == " " {
        "Space".to_owned()
    } else {
        name
    }
}

/// How many lines the help has, a sentence counting as one.
pub fn line_count() -> usize {
    lines().len()
}

/// Whether a line says a text, in whatever case; without one all do.
fn says(line: &Line, text: &str) -> bool {
    let has = |words: &str| words.to_lowercase().contains(text);
    match line {
        _ if text.is_empty() => true,
        Line::Entry(keys, label) => has(keys) || has(label),
        Line::Sentence(words) => has(words),
        Line::Title(_) | Line::Blank => false,
    }
}

pub(super) fn render(filter: &str, scroll: usize, area: Rect, buf: &mut Buffer) {
    let head = row(area, 0);
    let used = write(buf, head, "keys, shapes, cautions", BOLD);
    write(
        buf,
        past(head, used + 3),
        "↑ ↓ scroll   / finds   Esc or ? goes back",
        DIM,
    );
    let text = filter.to_lowercase();
    let found: Vec<Line> = lines()
        .into_iter()
        .filter(|line| says(line, &text))
        .collect();
    if found.is_empty() {
        let none = format!("nothing here says `{filter}`");
        write(buf, row(area, 1), &none, Style::new());
    }
    let body = Rect {
        y: area.y + 1,
        height: area.height - 1,
        ..area
    };
    let mut next = 0;
    for line in found.iter().skip(scroll) {
        let at = row(body, next);
        if at.is_empty() {
            break;
        }
        next += 1;
        match line {
            Line::Title(title) => {
                write(buf, at, title, BOLD);
            }
            Line::Entry(keys, label) => {
                write(buf, past(at, 2), keys, BOLD);
                write(buf, past(at, KEYS + 2), label, Style::new());
            }
            Line::Sentence(says) => {
                let told = wrap(says, (area.width - 4).min(READABLE));
                for (nth, part) in told.iter().enumerate() {
                    write(buf, past(row(body, next - 1 + nth), 2), part, Style::new());
                }
                next += told.len() - 1;
            }
            Line::Blank => {}
        }
    }
}
