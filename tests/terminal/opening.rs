//! A first plan that takes its time, or ends in a panic: the trip is shown, keys are read, the way out works.

use std::sync::Arc;
use std::time::Duration;

use drystage::io::json;
use drystage::model::Trip;
use drystage::model::vocabulary::UnitSystem;
use drystage::present::number::Units;
use drystage::tui::opening::first_picture;
use drystage::tui::picture::Picture;
use drystage::tui::terminal::Screen;
use drystage::tui::theme::{Depth, Theme};
use drystage::tui::view::Look;
use portable_pty::CommandBuilder;

use super::place::{DOWN, ESC, UP};
use super::session::{PATIENCE, Session, USUAL};

fn show(plan: fn(&Arc<Trip>, Units) -> Arc<Picture>) {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/example-trip.json");
    let trip = Arc::new(json::read(path.as_ref()).unwrap());
    let look = Look {
        theme: Theme::new(Depth::Named),
        ascii: false,
    };
    let mut screen = Screen::enter(false).unwrap();
    let picture = first_picture(&trip, &mut screen, look, Units(UnitSystem::Metric), plan);
    assert!(picture.unwrap().is_none(), "only the user ends it");
}

/// Not a test: shows a trip whose plan is never there.
#[test]
#[ignore = "needs a terminal"]
fn child_plans_for_ever() {
    show(|_, _| {
        loop {
            std::thread::sleep(PATIENCE);
        }
    });
}

/// Not a test: shows a trip whose plan ends in a panic.
#[test]
#[ignore = "needs a terminal"]
fn child_panics_in_its_first_plan() {
    show(|_, _| {
        std::thread::sleep(Duration::from_millis(300));
        panic!("on purpose, while planning")
    });
}

fn child(name: &str) -> Session {
    let mut command = CommandBuilder::new(std::env::current_exe().unwrap());
    let name = format!("opening::{name}");
    command.args(["--ignored", "--exact", &name, "--nocapture"]);
    Session::start(command, USUAL, &[("RUST_BACKTRACE", "0")])
}

#[test]
fn the_trip_is_shown_and_keys_are_read_before_the_first_plan() {
    for (keys, code) in [("q", 0), ("\u{3}", 0)] {
        let mut session = child("child_plans_for_ever");
        session.wait_for_frame("calculating");
        let text = session.text();
        assert!(
            text.contains("Four days") && text.contains("142 km  Cold Spring"),
            "{text}"
        );
        session.send(&DOWN.repeat(2));
        session.wait_until("a scrolled list", |shown| {
            shown.whole() && !shown.text().contains("Cold Spring")
        });
        session.send(UP);
        session.send("?");
        session.wait_for_frame("next leg");
        session.send(ESC);
        session.wait_for_frame("calculating");
        session.send(keys);
        assert_eq!(session.ended(), code);
        session.assert_given_back();
    }
}

#[test]
fn a_signal_ends_it_before_the_first_plan() {
    let mut session = child("child_plans_for_ever");
    session.wait_for_frame("calculating");
    session.signal("INT");
    assert_eq!(session.ended(), 130);
    session.assert_given_back();
}

/// What happened is on the screen; where it happened is reported once the terminal is given back.
#[test]
fn a_panic_in_the_first_plan_is_reported_and_the_terminal_stays_sane() {
    let mut session = child("child_panics_in_its_first_plan");
    session.wait_for_frame("on purpose, while planning");
    let text = session.text();
    assert!(
        text.contains("internal error") && text.contains("Four days"),
        "{text}"
    );
    session.send("q");
    assert_eq!(session.ended(), 0);
    session.assert_given_back();
    session.wait_for("panicked at tests/terminal/opening.rs");
    let shown = session.shown.lock().unwrap();
    let written = String::from_utf8_lossy(&shown.bytes);
    let (before, _) = written.split_once("\u{1b}[?1049l").unwrap();
    assert!(!before.contains("panicked at"), "over the screen");
}
