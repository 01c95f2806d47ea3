//! The pictures at the usual sizes, as `TestBackend` prints them; what must be told whole at any size.

use drystage::model::Trip;
use drystage::model::change::Change;
use drystage::model::vocabulary::UnitSystem;
use drystage::plan::{Effort, Plan};
use drystage::present::number::Units;
use drystage::tui::message::Message;
use drystage::tui::state::State;
use drystage::tui::view::view;
use ratatui::Terminal;
use ratatui::backend::TestBackend;

use super::{PLAIN, after, drawn, hold, short_trip, state, text, trip, typed};

/// The screen as `TestBackend` prints it.
fn shot(state: &State, width: u16, height: u16) -> String {
    let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
    terminal
        .draw(|frame| {
            if let Some(cursor) = view(state, PLAIN, frame.area(), frame.buffer_mut()) {
                frame.set_cursor_position(cursor);
            }
        })
        .unwrap();
    terminal.backend().to_string()
}

#[test]
fn the_example_at_the_usual_sizes() {
    let state = after(
        state(trip()),
        &[Message::NextLeg, Message::NextLeg, Message::NextLeg],
    );
    hold("example-80x24", &shot(&state, 80, 24));
    hold("example-120x40", &shot(&state, 120, 40));
    hold("example-200x60", &shot(&state, 200, 60));
    hold("example-40x12", &shot(&state, 40, 12));
    hold("example-60x20", &shot(&state, 60, 20));
}

/// The plan at the success target: the cans that it asks for, the lower edge of what nine in ten samples have aboard, odds.
#[test]
fn how_sure_it_is_on_a_wide_screen() {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/sample-routes/plateau-loop.json"
    );
    let trip: Trip = serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap();
    let plan = Plan::at_target(trip, Effort::FIRST);
    plan.doubt.as_ref().unwrap().drivers();
    plan.ledger();
    let state = State::new(plan, Units(UnitSystem::Metric));
    hold("sampled-120x40", &shot(&state, 120, 40));
}

/// A leg is made longer: the word in place of the verdict, the verdict and the panels of before dimmed.
#[test]
fn what_is_calculated_is_waited_for() {
    let mut waiting = state(trip()).with_simulation(true);
    hold("calculating-first-80x24", &shot(&waiting, 80, 24));
    waiting.simulate(false);
    let edit = Change::set(waiting.trip(), "/legs/1/distance_km", Some(97.into()));
    waiting.make(&edit).unwrap();
    waiting.attend();
    hold("calculating-120x40", &shot(&waiting, 120, 40));
    hold("calculating-40x12", &shot(&waiting, 40, 12));
}

#[test]
fn a_trip_that_runs_short_at_the_usual_sizes() {
    let state = after(state(short_trip()), &[Message::TripEnd]);
    hold("short-80x24", &shot(&state, 80, 24));
    hold("short-40x12", &shot(&state, 40, 12));
}

#[test]
fn closer_the_help_and_what_is_too_small() {
    let closer = after(
        state(trip()),
        &[Message::NextLeg, Message::NextLeg, Message::ZoomLeg],
    );
    hold("leg-alone-80x24", &shot(&closer, 80, 24));
    let help = after(state(trip()), &[Message::Help]);
    hold("help-80x24", &shot(&help, 80, 24));
    hold("too-small", &shot(&state(trip()), 30, 5));
}

#[test]
fn fields_are_edited_below_the_strip() {
    let rows = after(state(trip()), &[Message::Edit]);
    hold("sheet-80x24", &shot(&rows, 80, 24));
    let mut messages = vec![Message::Edit];
    messages.extend([Message::ScrollDown; 4]);
    messages.extend(typed("99"));
    let typing = after(state(trip()), &messages);
    hold("typing-120x40", &shot(&typing, 120, 40));
    messages.extend(typed("99"));
    let wrong = after(state(trip()), &messages);
    hold("typing-wrong-80x24", &shot(&wrong, 80, 24));
    hold("typing-wrong-40x10", &shot(&wrong, 40, 10));
}

/// A verdict or a surplus that is cut off in its middle tells nothing: with little room it is told in fewer words.
#[test]
fn the_verdict_is_told_whole_at_any_size() {
    for trip in [trip(), short_trip()] {
        let mut state = state(trip).with_simulation(true);
        state.simulate(false);
        for (width, height, rows) in [(40, 10, 1), (60, 20, 1), (80, 24, 2), (120, 40, 2)] {
            let screen = text(&drawn(&state, PLAIN, width, height));
            let head: Vec<&str> = screen.lines().skip(1).take(rows).collect();
            let head = head.join(" ");
            assert!(!head.contains('…'), "{width}x{height}: {head}");
            assert!(
                head.starts_with(" GO ") || head.starts_with(" NO-GO "),
                "{head}"
            );
            assert!(
                rows == 1 || head.contains("fuel "),
                "{width}x{height}: {head}"
            );
        }
    }
}

#[test]
fn what_is_needed_is_told_on_the_smallest_screens() {
    let screen = text(&drawn(&state(trip()), PLAIN, 20, 5));
    let words: Vec<&str> = screen.split_whitespace().collect();
    assert_eq!(words.join(" "), "terminal too small: needs 40 x 10");
}

#[test]
fn the_number_of_the_leg_is_read_at_every_size() {
    let state = after(
        state(trip()),
        &[Message::NextLeg, Message::ZoomLeg, Message::ZoomOut],
    );
    for width in 40..=220 {
        for height in [10, 16, 24, 50] {
            let shown = text(&drawn(&state, PLAIN, width, height));
            assert!(shown.contains("leg 2 of 6"), "{width} x {height}\n{shown}");
        }
    }
}

/// Where a panel would have hardly a row, the one that is read stands over the foot of the strip; the strip comes back.
#[test]
fn every_panel_is_read_on_the_smallest_screen() {
    let mut shown = state(short_trip());
    let strip = text(&drawn(&shown, PLAIN, 40, 10));
    assert!(strip.contains("km ▲km 0"), "{strip}");
    for (number, heading) in (2..).zip([
        "findings", "checks", "load", "legs", "sure", "dry", "leg", "log",
    ]) {
        shown = after(shown, &[Message::NextPanel]);
        let panel = text(&drawn(&shown, PLAIN, 40, 10));
        let rows: Vec<&str> = panel.lines().skip(2).take(7).collect();
        let heading = format!("{number} {heading}");
        let at = rows.iter().position(|row| row.contains(&heading));
        let at = at.unwrap_or_else(|| panic!("{heading}\n{panel}"));
        assert!(rows[at].starts_with("▶ "), "{panel}");
        assert!(!rows[at + 1].trim().is_empty(), "{panel}");
        assert!(panel.contains("BEST ESTIMATE"), "{panel}");
    }
    shown = after(shown, &[Message::NextPanel]);
    assert_eq!(text(&drawn(&shown, PLAIN, 40, 10)), strip);
}
