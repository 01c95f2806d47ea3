//! A screen reader gets the same answers: whatever figure is on the screen is in the text of the report.

use std::collections::BTreeSet;

use drystage::report::{Case, text};
use drystage::tui::message::Message;
use drystage::tui::state::Panel;

use super::{after, screen, short_trip, state, trip};

/// Numbers with their units, as words.
fn figures(text: &str) -> BTreeSet<String> {
    const UNITS: [&str; 5] = ["L", "kg", "h", "km", "%"];
    let words: Vec<&str> = text
        .split(|c: char| c.is_whitespace() || "();,:\u{a0}".contains(c))
        // A margin has its sign on paper, and its side in words on the screen.
        .map(|word| word.trim_start_matches(['+', '-']))
        .filter(|word| !word.is_empty())
        .collect();
    let is_number = |word: &str| word.chars().next().is_some_and(|c| c.is_ascii_digit());
    words
        .windows(2)
        .filter(|pair| is_number(pair[0]) && UNITS.contains(&pair[1].trim_end_matches('.')))
        .map(|pair| format!("{} {}", pair[0], pair[1].trim_end_matches('.')))
        .collect()
}

#[test]
fn the_report_has_every_figure_that_the_screen_has() {
    for trip in [trip(), short_trip()] {
        let mut state = state(trip);
        let case = Case {
            plan: state.plan(),
            what_ifs: &[],
            set: &[],
        };
        let report = text::report(case, state.units());
        assert!(!report.contains('\u{1b}'));
        let in_text = figures(&report);
        // A table on paper has the unit in its head or caption.
        let in_tables: BTreeSet<&str> = report
            .split(|c: char| c.is_whitespace() || "/,;()".contains(c))
            .map(|word| word.trim_start_matches(['+', '-']))
            .collect();
        let is_reported = |figure: &str| {
            let number = figure.split(' ').next().unwrap_or_default();
            in_text.contains(figure) || in_tables.contains(number)
        };
        // What belongs to the cursor and to turned sliders is asked for, and not reported.
        for panel in [
            Panel::Do,
            Panel::Findings,
            Panel::Checks,
            Panel::Load,
            Panel::Dry,
        ] {
            state = after(state, &[Message::Focus(panel)]);
            let shown = screen(&state, 60, 200);
            let lines: Vec<&str> = shown.lines().collect();
            let panels = lines.iter().rposition(|line| line.contains('▶')).unwrap();
            let on_screen = [&lines[1..3], &lines[panels..]].concat().join(" ");
            let mut missing = figures(&on_screen);
            missing.retain(|figure| !is_reported(figure));
            assert!(
                missing.is_empty(),
                "{panel:?}: {missing:?}\n{on_screen}\n{report}"
            );
        }
    }
}
