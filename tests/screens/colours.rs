//! Colours, what is left without them, and plain ASCII.

use std::fmt::Write;

use drystage::model::vocabulary::UnitSystem;
use drystage::plan::Plan;
use drystage::present::number::Units;
use drystage::report::Case;
use drystage::report::html;
use drystage::tui::message::Message;
use drystage::tui::theme::{Depth, Ground, Meaning, Theme};
use drystage::tui::update::update;
use drystage::tui::view::Look;
use ratatui::buffer::Buffer;
use ratatui::style::{Color, Modifier};

use super::{PLAIN, after, drawn, hold, short_trip, state, text, trip};

/// Where the style is not the terminal's own: row, columns, what differs.
fn styles(buf: &Buffer) -> String {
    let mut lines = String::new();
    for y in 0..buf.area.height {
        let style = |x: u16| (buf[(x, y)].fg, buf[(x, y)].bg, buf[(x, y)].modifier);
        let mut x = 0;
        while x < buf.area.width {
            let end = (x..buf.area.width).find(|&next| style(next) != style(x));
            let end = end.unwrap_or(buf.area.width);
            let (fg, bg, modifier) = style(x);
            if (fg, bg, modifier) != (Color::Reset, Color::Reset, Modifier::empty()) {
                writeln!(
                    lines,
                    "row {y:2} columns {x:2}..{end:2}: {fg} on {bg} {modifier:?}"
                )
                .unwrap();
            }
            x = end;
        }
    }
    lines
}

#[test]
fn colours_are_few_and_without_them_the_chosen_is_still_reversed() {
    let state = after(state(trip()), &[Message::NextLeg]);
    for (name, depth) in [("named", Depth::Named), ("none", Depth::None)] {
        let look = Look {
            theme: Theme::new(depth),
            ascii: false,
        };
        hold(
            &format!("styles-{name}-80x24"),
            &styles(&drawn(&state, look, 80, 24)),
        );
    }
    let plain = drawn(&state, PLAIN, 80, 24);
    let coloured =
        |cell: &ratatui::buffer::Cell| (cell.fg, cell.bg) != (Color::Reset, Color::Reset);
    assert!(!plain.content.iter().any(coloured));
    let reversed = |cell: &ratatui::buffer::Cell| cell.modifier.contains(Modifier::REVERSED);
    assert!(plain.content.iter().any(reversed));
    for depth in [Depth::Named, Depth::True] {
        let look = Look {
            theme: Theme::new(depth),
            ascii: false,
        };
        let buf = drawn(&state, look, 200, 60);
        let both = buf.content.iter().flat_map(|cell| [cell.fg, cell.bg]);
        let mut colours: Vec<String> = both.map(|color| color.to_string()).collect();
        colours.sort();
        colours.dedup();
        // The terminal's own, four meanings, two tints, and what lines over fuel are drawn in.
        assert!(colours.len() <= 9, "{colours:?}");
    }
}

/// No state is reported by colour alone.
#[test]
fn the_warning_is_there_without_any_style() {
    let short = state(short_trip());
    assert!(
        short
            .plan()
            .findings
            .iter()
            .any(|finding| finding.code().starts_with("reserve-"))
    );
    for (width, height) in [(40, 10), (40, 12), (80, 24), (120, 40), (200, 60)] {
        let shown = text(&drawn(&short, PLAIN, width, height));
        for sign in ["short", "╳"] {
            assert!(
                shown.contains(sign),
                "{sign} at {width} x {height}\n{shown}"
            );
        }
        let fine = text(&drawn(&state(trip()), PLAIN, width, height));
        assert!(!fine.contains("missing") && !fine.contains('╳'), "{fine}");
    }
}

/// Without Unicode nothing but printable ASCII is drawn, whatever the names are.
#[test]
fn ascii_is_ascii() {
    let mut trip = short_trip();
    trip.legs[2].to = "Übergang 漢字 e\u{301}".to_owned();
    let look = Look {
        ascii: true,
        ..PLAIN
    };
    let mut state = state(trip);
    for message in [
        Message::NextLeg,
        Message::NextMark,
        Message::ZoomLeg,
        Message::Help,
    ] {
        let buf = drawn(&state, look, 120, 40);
        for cell in &buf.content {
            assert!(
                cell.symbol().chars().all(|c| (' '..='~').contains(&c)),
                "{:?}",
                cell.symbol()
            );
        }
        if message == Message::NextLeg {
            hold("ascii-120x40", &text(&buf));
        }
        update(&mut state, message);
    }
}

/// One meaning has one colour on the screen and on the page.
#[test]
fn the_page_has_the_colours_of_the_screen() {
    let plan = Plan::best_estimate(trip());
    let page = html::report(Case::as_stated(&plan), Units(UnitSystem::Metric));
    let mut grounds = page.split(":root").skip(1);
    for ground in [Ground::Light, Ground::Dark] {
        let values = grounds.next().unwrap();
        let theme = Theme::new(Depth::True).on(ground);
        let named = [
            ("tank", theme.color(Meaning::Tank)),
            ("cans", theme.color(Meaning::Cans)),
            ("short", theme.color(Meaning::Short)),
            ("back", theme.color(Meaning::TurnBack)),
            ("tank-tint", theme.tint(Meaning::Tank)),
            ("cans-tint", theme.tint(Meaning::Cans)),
        ];
        for (name, color) in named {
            let Color::Rgb(red, green, blue) = color else {
                panic!("{color} is no true colour");
            };
            let expected = format!("--{name}:#{red:02x}{green:02x}{blue:02x}");
            assert!(
                values.replace(": ", ":").contains(&expected),
                "{ground:?}: {expected}"
            );
        }
    }
}
