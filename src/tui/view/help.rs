//! The list of keys from the key table, the symbols, and the cautions.

use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::style::Style;

use super::super::help::Help;
use super::super::keymap::{BINDINGS, Group, Key};
use super::super::state::Panel;
use super::super::theme::{BOLD, DIM};
use super::shapes;
use super::text::{above, below, field, first, past, row, wrap, write, write_right, write_wrapped};
use crate::model::vocabulary::Surface;
use crate::present::caution::CAUTIONS;
use crate::present::mark::MarkKind;
use crate::present::strip::Supply;
use crate::quantity::Litres;

/// Columns of the keys and of the symbols.
const KEYS: u16 = 18;
/// Longest line that is pleasant to read.
const READABLE: u16 = 76;

/// One line of the help.
pub(in crate::tui) enum HelpLine {
    Title(&'static str),
    /// Keys or symbols, and what they mean.
    Meaning(String, String),
    /// A sentence, wrapped when drawn.
    Sentence(&'static str),
    Blank,
}

/// What people look for on the screen and find on the command line.
const COMMANDS: [(&str, &str); 6] = [
    (
        "drystage report",
        "print or export the plan: text, JSON, HTML, CSV, GPX, GeoJSON; --home for those at home",
    ),
    (
        "drystage range",
        "how far the vehicle goes, by surface, load and cans",
    ),
    (
        "drystage import",
        "make a trip from tracks, a table or a map",
    ),
    (
        "drystage calibrate",
        "calibrate the vehicle from a log of fill-ups",
    ),
    (
        "drystage manual",
        "the manual: keys, trip-file, tables, import, method",
    ),
    (
        "--units",
        "metric, us, imperial or km-per-l; also on the page of rules, and in the preferences",
    ),
];

/// The line on which a group of keys begins.
pub(in crate::tui) fn line_of(group: Group) -> usize {
    let is_title =
        |line: &HelpLine| matches!(line, HelpLine::Title(title) if *title == group.title());
    lines().iter().position(is_title).unwrap_or_default()
}

fn lines() -> Vec<HelpLine> {
    let mut lines = Vec::new();
    for group in Group::ALL {
        lines.push(HelpLine::Title(group.title()));
        for binding in BINDINGS.iter().filter(|binding| binding.group == group) {
            let keys: Vec<String> = binding.keys.iter().map(|&key| spoken(key)).collect();
            lines.push(HelpLine::Meaning(keys.join("  "), binding.label.to_owned()));
        }
        if group == Group::Panels {
            lines.extend(Panel::ALL.into_iter().enumerate().map(|(nth, panel)| {
                HelpLine::Meaning((nth + 1).to_string(), format!("panel: {}", panel.title()))
            }));
        }
        lines.push(HelpLine::Blank);
    }
    lines.push(HelpLine::Title("beside the screen: commands"));
    lines.extend(
        COMMANDS.map(|(command, does)| HelpLine::Meaning(command.to_owned(), does.to_owned())),
    );
    lines.push(HelpLine::Blank);
    lines.push(HelpLine::Title("symbols"));
    lines.extend(shapes());
    lines.push(HelpLine::Blank);
    lines.push(HelpLine::Title("cautions"));
    lines.extend(CAUTIONS.map(HelpLine::Sentence));
    lines
}

fn shapes() -> Vec<HelpLine> {
    let marks = [
        MarkKind::RunsDry,
        MarkKind::BelowReserve,
        MarkKind::TurnBack {
            refuge: 0,
            unconfirmed: false,
        },
        MarkKind::Decant {
            litres: Litres::ZERO,
        },
    ];
    let marks = marks.map(|mark| (shapes::mark(mark).to_owned(), mark.name()));
    let others = [
        (shapes::FULL, "fuel in the tank"),
        (shapes::CANS, "fuel in cans"),
        (shapes::TANK_TOP, "a full tank"),
        (
            shapes::CANS_TINT,
            "expected in cans; 5 % of trips have less",
        ),
        (
            shapes::TANK_TINT,
            "expected in the tank; 5 % of trips have less",
        ),
        (shapes::LINE, "reserve; by the best estimate the minimum"),
        (
            shapes::place(Supply::Counted),
            "fuel stop that is relied on",
        ),
        (
            shapes::place(Supply::NotCounted),
            "fuel stop that is not relied on",
        ),
        (shapes::place(Supply::None), "a place without fuel"),
        (shapes::SAND, "soft sand, by its share of the leg"),
        (shapes::LOW_RANGE, "low range, by its share of the leg"),
        (shapes::SAND_IN_LOW, "soft sand in low range"),
    ]
    .map(|(shape, meaning)| (shape.to_owned(), meaning));
    let grounds = Surface::ALL
        .iter()
        .map(|&surface| (shapes::surface(surface).to_owned(), surface.word()));
    let all = marks.into_iter().chain(others).chain(grounds);
    all.map(|(shape, meaning)| HelpLine::Meaning(shape, meaning.to_owned()))
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

/// The lines that match a search: of a key by its name, otherwise of a text in any case. All lines if nothing is searched for.
pub(in crate::tui) fn found(sought: &str) -> Vec<HelpLine> {
    let sought = sought.trim();
    let lines = lines();
    if sought.is_empty() {
        return lines;
    }
    // A letter is another key than its capital; in a longer name the case has no meaning.
    let is_sought = |key: &str| {
        key == sought || (sought.chars().nth(1).is_some() && key.eq_ignore_ascii_case(sought))
    };
    let is_of_key = |line: &HelpLine| matches!(line, HelpLine::Meaning(keys, _) if keys.split_whitespace().any(is_sought));
    if lines.iter().any(is_of_key) {
        return under_titles(lines, is_of_key);
    }
    let sought = sought.to_lowercase();
    let has = |words: &str| words.to_lowercase().contains(&sought);
    let is_found = |line: &HelpLine| match line {
        HelpLine::Meaning(keys, label) => has(keys) || has(label),
        HelpLine::Sentence(words) => has(words),
        HelpLine::Title(_) | HelpLine::Blank => false,
    };
    under_titles(lines, is_found)
}

/// The lines that are wanted, each under its title.
fn under_titles(lines: Vec<HelpLine>, is_wanted: impl Fn(&HelpLine) -> bool) -> Vec<HelpLine> {
    let mut title = None;
    let mut found = Vec::new();
    for line in lines {
        if matches!(line, HelpLine::Title(_)) {
            title = Some(line);
        } else if is_wanted(&line) {
            found.extend(title.take());
            found.push(line);
        }
    }
    found
}

/// Draws the list; the position of the cursor while a search is typed.
pub(super) fn render(help: &Help, area: Rect, buf: &mut Buffer) -> Option<Position> {
    let head = row(area, 0);
    let body = above(below(area, 1), 1);
    let lines = found(help.sought.text());
    let scroll = help.scroll.min(lines.len().saturating_sub(1));
    let mut next = 0;
    for line in lines.iter().skip(scroll) {
        if next >= usize::from(body.height) {
            break;
        }
        let at = row(body, next);
        next += 1;
        match line {
            HelpLine::Title(title) => {
                write(buf, at, title, BOLD);
            }
            HelpLine::Meaning(keys, label) => {
                write(buf, past(at, 2), keys, BOLD);
                let room = past(below(body, next - 1), KEYS + 2);
                write_wrapped(buf, room, label, Style::new());
                next += wrap(label, room.width).len() - 1;
            }
            HelpLine::Sentence(sentence) => {
                let room = past(below(body, next - 1), 2);
                let room = first(room, room.width.saturating_sub(2).min(READABLE));
                write_wrapped(buf, room, sentence, Style::new());
                next += wrap(sentence, room.width).len() - 1;
            }
            HelpLine::Blank => {}
        }
    }
    if lines.is_empty() {
        let none = format!("no match for `{}`", help.sought.text());
        write(buf, row(body, 0), &none, Style::new());
    } else {
        let more = if next > usize::from(body.height) || scroll + next < lines.len() {
            " ↓"
        } else {
            ""
        };
        let place = format!("line {} of {}{more}", scroll + 1, lines.len());
        write_right(buf, head, &place, DIM);
    }
    let line = first(head, head.width.saturating_sub(19));
    let sought = &help.sought;
    if !help.is_typed && sought.text().is_empty() {
        write(buf, line, "keys, symbols, cautions", BOLD);
        return None;
    }
    let used = write(buf, line, "search ", BOLD);
    let line = past(line, used);
    if help.is_typed {
        return Some(field(buf, line, sought));
    }
    write(buf, line, &sought.window(line.width.into()).0, BOLD);
    None
}
