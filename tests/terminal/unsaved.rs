//! Nothing that was typed is lost: the program is killed, its file is changed beneath it, its folder refuses.

use std::fs;
use std::time::{Duration, Instant};

use drystage::model::Trip;
use drystage::quantity::Kilometres;

use super::place::{DOWN, EMPTY, ESC, Place, SAVE, lengthen};
use super::session::PATIENCE;

fn wait_until(what: &str, holds: impl Fn() -> bool) {
    let until = Instant::now() + PATIENCE;
    while !holds() {
        assert!(Instant::now() < until, "{what}");
        std::thread::sleep(Duration::from_millis(20));
    }
}

fn first_km(trip: &Trip) -> Kilometres {
    trip.legs[0].distance_km.unwrap()
}

#[test]
fn what_was_typed_before_a_kill_is_offered_and_taken_up() {
    let place = Place::new();
    let mut session = place.edited();
    wait_until("journal", || place.journal().contains("142 -> 150.5 km"));
    session.send("\r");
    session.wait_for_frame("(sealed)");
    // In the middle of choosing another surface.
    session.send(DOWN);
    session.signal("KILL");
    session.ended();
    assert_eq!(first_km(&place.trip("trip.json")), Kilometres::new(142.0));

    let mut session = place.start(&["trip.json"]);
    session.wait_for_frame("Restore 1 change, unsaved from last time");
    session.wait_for_frame("leg 1: distance 142 -> 150.5 km");
    session.send("y");
    session.wait_for_frame("* Four days");
    // Killed again before it was saved, it is still there.
    session.signal("KILL");
    session.ended();
    let mut session = place.start(&["trip.json"]);
    session.wait_for_frame("Restore 1 change, unsaved");
    session.send("y");
    session.wait_for_frame("* Four days");
    session.send(SAVE);
    session.wait_for_frame("saved in");
    assert_eq!(first_km(&place.trip("trip.json")), Kilometres::new(150.5));
    assert_eq!(place.journal(), "");
    session.send("q");
    assert_eq!(session.ended(), 0);
    let session = place.start(&["trip.json"]);
    session.wait_for_frame("leg 1 of 6");
    assert!(!session.text().contains("unsaved"));
}

#[test]
fn edits_that_are_dropped_are_gone() {
    let place = Place::new();
    let mut session = place.edited();
    wait_until("journal", || place.journal().contains("150.5"));
    session.signal("KILL");
    session.ended();
    let mut session = place.start(&["trip.json"]);
    session.wait_for_frame("unsaved from last time");
    session.send("n");
    session.wait_for_frame("leg 1 of 6");
    wait_until("no journal", || place.journal().is_empty());
    session.send("q");
    assert_eq!(session.ended(), 0);
    assert_eq!(first_km(&place.trip("trip.json")), Kilometres::new(142.0));
}

#[test]
fn quitting_asks_when_something_is_unsaved() {
    let place = Place::new();
    let mut session = place.edited();
    session.send(ESC);
    session.wait_for_frame("e edit");
    session.send("q");
    session.wait_for_frame("Save 1 change before quitting");
    session.send(ESC);
    session.wait_for_frame("e edit");
    session.send("q");
    session.wait_for_frame("Save 1 change before quitting");
    session.send("y");
    assert_eq!(session.ended(), 0);
    session.assert_given_back();
    assert_eq!(first_km(&place.trip("trip.json")), Kilometres::new(150.5));
    // And without saving, when that is wanted.
    let mut session = place.start(&["trip.json"]);
    session.wait_for_frame("leg 1 of 6");
    lengthen(&mut session, "99");
    session.send("\u{3}");
    session.wait_for_frame("before quitting?");
    session.send("n");
    assert_eq!(session.ended(), 0);
    assert_eq!(first_km(&place.trip("trip.json")), Kilometres::new(150.5));
    assert_eq!(place.journal(), "");
}

#[test]
fn a_file_that_somebody_else_changed_is_not_written_over_unasked() {
    let place = Place::new();
    let mut session = place.edited();
    let theirs = fs::read_to_string(place.path("trip.json"))
        .unwrap()
        .replace("\"distance_km\": 142", "\"distance_km\": 77");
    fs::write(place.path("trip.json"), &theirs).unwrap();
    session.wait_for_frame("changed on disk; saving asks");
    session.send(SAVE);
    session.wait_for_frame("y overwrites it");
    session.send("n");
    session.wait_for_frame("row 6 of");
    assert_eq!(fs::read_to_string(place.path("trip.json")).unwrap(), theirs);
    // In another file, then.
    session.send("S");
    session.wait_for_frame("save as");
    session.send(EMPTY);
    session.send(place.path("mine.json").to_str().unwrap());
    session.send("\r");
    session.wait_for_frame("saved in");
    assert_eq!(first_km(&place.trip("mine.json")), Kilometres::new(150.5));
    assert_eq!(fs::read_to_string(place.path("trip.json")).unwrap(), theirs);
}

#[test]
fn a_file_that_was_changed_is_read_again_when_nothing_is_unsaved() {
    let place = Place::new();
    let mut session = place.start(&["trip.json"]);
    session.wait_for_frame("leg 1 of 6");
    let theirs = fs::read_to_string(place.path("trip.json"))
        .unwrap()
        .replace("Four days", "Five days");
    fs::write(place.path("trip.json"), theirs).unwrap();
    session.wait_for_frame("y reloads it");
    session.send("y");
    session.wait_for_frame("Five days");
}

/// What refuses here is a file where a folder should be: that holds for the superuser, too.
#[test]
fn a_place_that_cannot_be_written_keeps_the_edits() {
    let place = Place::new();
    let mut session = place.edited();
    session.send("S");
    session.wait_for_frame("save as");
    session.send(EMPTY);
    session.send(place.path("trip.json/deeper.json").to_str().unwrap());
    session.send("\r");
    session.wait_for_frame("not saved");
    session.wait_for_frame("* Four days");
    assert!(place.journal().contains("150.5"));
    session.send(SAVE);
    session.wait_for_frame("saved in");
    assert_eq!(first_km(&place.trip("trip.json")), Kilometres::new(150.5));
}

#[test]
fn pasted_text_is_typed_into_a_field() {
    let place = Place::new();
    let mut session = place.start(&["trip.json"]);
    session.wait_for_frame("leg 1 of 6");
    session.send("e");
    session.wait_for_frame("row 1 of");
    session.send("\r");
    session.wait_for_frame("Enter accept");
    session.send(EMPTY);
    session.send("\u{1b}[200~q\u{7}ui\rck spring\u{1b}[201~");
    session.wait_for_frame("qui ck spring");
    session.send("\r");
    session.wait_for_frame("leg 1: place Cold Spring -> qui ck spring");
    session.send(ESC);
    session.wait_for_frame("e edit");
    session.send("u");
    session.wait_for_frame("undone: leg 1: place");
}
