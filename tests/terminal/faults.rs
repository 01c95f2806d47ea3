//! The screen while something goes wrong beneath it: the program is killed in the midst of a save, the disk takes
//! nothing more, the terminal goes, another window has the same trip, the file turns into something else.

use std::fs;
use std::path::Path;
use std::process::Command;
use std::time::Duration;

use drystage::cli::session::Session as Files;
use drystage::io::disk::System;
use drystage::io::journal::{Fingerprint, Head, Journal};
use drystage::model::Trip;
use drystage::model::change::{Change, Deed};
use drystage::model::vocabulary::UnitSystem;
use drystage::present::number::Units;
use drystage::quantity::Kilometres;
use drystage::tui::{self, Options};
use portable_pty::CommandBuilder;

use super::faulty::{Fault, Faulty, NOSPC};
use super::place::{DOWN, EMPTY, Place, SAVE, UP};
use super::session::{Session, USUAL};

/// Keys that make the first leg 150.5 km long.
fn lengthening() -> String {
    format!("e{}{}150,5\r", UP.repeat(30), DOWN.repeat(4))
}

/// Not a test: the screen of a trip, on a disk that does what it is reported.
#[test]
#[ignore = "needs a terminal"]
fn child_on_a_faulty_disk() {
    let [path, fault, at] =
        ["DRYSTAGE_PATH", "DRYSTAGE_FAULT", "DRYSTAGE_AT"].map(|name| std::env::var(name).unwrap());
    let fault = if fault == "kill" {
        Fault::Kill
    } else {
        Fault::Error(NOSPC)
    };
    let disk = Box::leak(Box::new(Faulty::new(fault, at.parse().unwrap())));
    let (mut files, opened) = Files::open(Path::new(&path), disk).unwrap();
    let options = Options {
        simulated: false,
        ..Options::of(Units(UnitSystem::Metric))
    };
    tui::run(opened, &mut files, options).unwrap();
}

fn on_a_faulty_disk(place: &Place, fault: &str, at: usize) -> Session {
    let mut command = CommandBuilder::new(std::env::current_exe().unwrap());
    command.args([
        "--ignored",
        "--exact",
        "faults::child_on_a_faulty_disk",
        "--nocapture",
    ]);
    let [path, state] = ["trip.json", "state"].map(|name| place.path(name));
    let env = [
        ("DRYSTAGE_PATH", path.to_str().unwrap()),
        ("DRYSTAGE_FAULT", fault),
        ("DRYSTAGE_AT", &at.to_string()),
        ("XDG_STATE_HOME", state.to_str().unwrap()),
    ];
    Session::start(command, USUAL, &env)
}

fn is_longer(place: &Place) -> bool {
    place.trip("trip.json").legs[0].distance_km == Some(Kilometres::new(150.5))
}

/// `tests/faults` tries every step; here the keys are typed, from the first thing that is written down to the journal
/// that goes.
#[test]
fn a_kill_while_saving_leaves_the_edit_in_the_file_or_offers_it() {
    let mut saved = Vec::new();
    for at in [9, 12, 15, 18] {
        let place = Place::new();
        let mut session = on_a_faulty_disk(&place, "kill", at);
        session.wait_for_frame("leg 1 of 6");
        session.send(&lengthening());
        session.send(SAVE);
        // The shell's way to tell of SIGKILL is not everybody's.
        assert_ne!(session.ended(), 0, "{at}");
        let is_saved = is_longer(&place);
        saved.push(is_saved);
        let mut session = place.start(&["trip.json"]);
        if is_saved {
            session.wait_for_frame("leg 1 of 6");
            assert!(
                !session.text().contains("unsaved"),
                "{at}: {}",
                session.text()
            );
        } else {
            session.wait_for_frame("leg 1: distance 142 -> 150.5 km");
            session.send("y");
            session.wait_for_frame("* Four days");
            session.send(SAVE);
            session.wait_for_frame("saved in");
            assert!(is_longer(&place), "{at}");
        }
    }
    assert!(saved.contains(&true) && saved.contains(&false), "{saved:?}");
}

/// The disk refuses to take down an edit: it stays on the screen, the user knows, and can save.
#[test]
fn an_edit_that_cannot_be_written_down_is_reported_and_can_be_saved() {
    let place = Place::new();
    // Six steps for the list of recent trips, three for the journal with the first edit; then the second one.
    let mut session = on_a_faulty_disk(&place, "error", 9);
    session.wait_for_frame("leg 1 of 6");
    session.send(&lengthening());
    session.wait_for_frame("row 6 of");
    session.send(&format!("{UP}149\r"));
    session.wait_for_frame("unsaved edits are not backed up (the disk is full)");
    session.send("S");
    session.wait_for_frame("save as");
    session.send(EMPTY);
    session.send(place.path("elsewhere.json").to_str().unwrap());
    session.send("\r");
    session.wait_for_frame("saved in");
    let km = place.trip("elsewhere.json").legs[0].distance_km;
    assert_eq!(km, Some(Kilometres::new(149.0)));
    // What is done from now on is written down again, beside the new file.
    session.send(&format!("{UP}148\r"));
    session.wait_for_frame("* Four days");
    session.wait_until("journal of the new file", |_| {
        let text = fs::read_to_string(place.path(".elsewhere.json.edits"));
        text.is_ok_and(|text| text.contains("148"))
    });
}

/// No file may grow, as on a full disk, and the system would rather end the program (setrlimit(2)).
#[test]
fn where_no_file_may_grow_the_screen_goes_on() {
    let place = Place::new();
    let mut command = CommandBuilder::new("/bin/sh");
    command.args([
        "-c",
        "ulimit -f 0; exec \"$0\" --best-estimate \"$1\"",
        env!("CARGO_BIN_EXE_drystage"),
    ]);
    command.arg(place.path("trip.json"));
    let state = place.path("state");
    let env = [("XDG_STATE_HOME", state.to_str().unwrap())];
    let mut session = Session::start(command, USUAL, &env);
    session.wait_for_frame("leg 1 of 6");
    session.send(&lengthening());
    session.wait_for_frame("unsaved edits are not backed up (the file would be too large)");
    session.send(SAVE);
    session.wait_for_frame("not saved: cannot write");
    session.wait_for_frame("* Four days");
    assert!(!is_longer(&place));
    session.send("\u{3}");
    session.wait_for_frame("Save 1 change before quitting");
    session.send("n");
    assert_eq!(session.ended(), 0);
    session.assert_given_back();
}

#[test]
fn what_is_offered_stays_when_nothing_is_decided() {
    let place = Place::new();
    let mut session = place.edited();
    session.wait_until("journal", |_| place.journal().contains("150.5"));
    session.signal("KILL");
    session.ended();
    for leave in ["\u{3}", "TERM", "HUP", "INT"] {
        let mut session = place.start(&["trip.json"]);
        session.wait_for_frame("Restore 1 change, unsaved");
        if leave.len() == 1 {
            session.send(leave);
        } else {
            session.signal(leave);
        }
        session.ended();
        session.assert_given_back();
        assert!(place.journal().contains("150.5"), "{leave:?}");
    }
}

#[test]
fn edits_outlive_signals_and_a_terminal_that_goes() {
    for end in ["TERM", "HUP", "INT", "QUIT", "gone"] {
        let place = Place::new();
        let mut session = place.edited();
        session.wait_until("journal", |_| place.journal().contains("150.5"));
        if end == "gone" {
            let mut running = session.hang_up("j", Duration::ZERO);
            assert!(
                running.ended().is_some(),
                "still running without a terminal"
            );
        } else {
            session.signal(end);
            session.ended();
            session.assert_given_back();
        }
        let session = place.start(&["trip.json"]);
        session.wait_for_frame("leg 1: distance 142 -> 150.5 km");
    }
}

#[test]
fn two_windows_on_one_trip_know_of_each_other() {
    let place = Place::new();
    let mut first = place.edited();
    first.wait_until("journal", |_| place.journal().contains("150.5"));
    let mut second = place.start(&["trip.json"]);
    second.wait_for_frame("the trip is also open in another window");
    assert!(!second.text().contains("unsaved"), "{}", second.text());
    second.send(&lengthening().replace("150,5", "77"));
    second.wait_for_frame("* Four days");
    // Each writes its own edits down.
    second.wait_until("journal of the second", |_| {
        let entries = fs::read_dir(place.path("state/drystage"))
            .into_iter()
            .flatten();
        let paths = entries.map(|entry| entry.unwrap().path());
        let texts = paths.filter_map(|path| fs::read_to_string(path).ok());
        texts.into_iter().any(|text| text.contains("142 -> 77 km"))
    });
    assert!(place.journal().contains("150.5") && !place.journal().contains("77 km"));
    first.send(SAVE);
    first.wait_for_frame("saved in");
    second.wait_for_frame("changed on disk; saving asks first");
    second.send(SAVE);
    second.wait_for_frame("y overwrites it");
    second.send("n");
    second.wait_for_frame("row ");
    assert!(is_longer(&place));
    // What the second did is still written down.
    second.signal("KILL");
    second.ended();
    let again = place.start(&["trip.json"]);
    again.wait_for_frame("leg 1: distance 142 -> 77 km");
}

/// A pipe has no end to wait for, and nothing can be saved in it.
#[test]
fn a_trip_through_a_named_pipe_is_a_new_one() {
    let place = Place::new();
    let pipe = place.path("pipe");
    assert!(
        Command::new("mkfifo")
            .arg(&pipe)
            .status()
            .unwrap()
            .success()
    );
    let text = fs::read(place.path("trip.json")).unwrap();
    let to = pipe.clone();
    let writer = std::thread::spawn(move || fs::write(to, text).unwrap());
    let mut session = place.start(&["pipe"]);
    session.wait_for_frame("leg 1 of 6");
    writer.join().unwrap();
    session.send("S");
    session.wait_for_frame("save as");
    session.send(EMPTY);
    session.send(pipe.to_str().unwrap());
    session.send("\r");
    session.wait_for_frame("is a pipe or a device, not a file");
    // It was left as it is, so nothing is asked.
    session.send("\u{1b}q");
    assert_eq!(session.ended(), 0);
}

/// What was a file and is something else by now.
#[test]
fn a_file_that_turns_into_something_else_is_reported() {
    for (make, message) in [
        ("mkfifo", "is a pipe or a device, not a file"),
        ("mkdir", "is a folder, not a file"),
    ] {
        let place = Place::new();
        let mut session = place.edited();
        let path = place.path("trip.json");
        fs::remove_file(&path).unwrap();
        assert!(Command::new(make).arg(&path).status().unwrap().success());
        session.wait_for_frame("changed on disk");
        session.send(SAVE);
        if make == "mkdir" {
            session.wait_for_frame("y overwrites it");
            session.send("y");
        }
        session.wait_for_frame(message);
        // The edit is where it was, and goes elsewhere.
        session.send("S");
        session.wait_for_frame("save as");
        session.send(EMPTY);
        session.send(place.path("elsewhere.json").to_str().unwrap());
        session.send("\r");
        session.wait_for_frame("saved in");
        let km = place.trip("elsewhere.json").legs[0].distance_km;
        assert_eq!(km, Some(Kilometres::new(150.5)));
    }
}

/// The file has become another one, and of the edits of the last time only the first fits it: that one can be taken up,
/// and what is done after that is as safe as ever.
#[test]
fn edits_that_no_longer_fit_are_reported_and_keep_nothing_from_being_written_down() {
    let place = Place::new();
    let path = place.path("trip.json");
    let trip = place.trip("trip.json");
    let set = |at: &str, km: f64| Deed::Made(Change::set(&trip, at, Some(km.into())));
    let deeds = [
        set("/legs/0/distance_km", 150.5),
        set("/legs/5/distance_km", 99.0),
        set("/legs/1/distance_km", 60.0),
    ];
    let head = Head::of_file(
        dunce::canonicalize(&path).unwrap(),
        Fingerprint::from_bytes(b"another"),
    );
    let journal = place.path(".trip.json.edits");
    drop(Journal::begin(&System, &[journal], &head, &deeds).unwrap());
    let theirs = Trip {
        legs: trip.legs[..3].to_vec(),
        log: None,
        ..trip.clone()
    };
    fs::write(&path, serde_json::to_string(&theirs).unwrap()).unwrap();

    let mut session = place.start(&["trip.json"]);
    session.wait_for_frame("Restore 1 change, unsaved");
    session.wait_for_frame("edits that no longer fit the file were left out: 2");
    session.send("y");
    session.wait_for_frame("* Four days");
    session.send(&lengthening().replace("150,5", "77"));
    session.wait_until("journal", |_| place.journal().contains("150.5 -> 77 km"));
    session.signal("KILL");
    session.ended();
    let session = place.start(&["trip.json"]);
    session.wait_for_frame("leg 1: distance 150.5 -> 77 km");
    session.wait_for_frame("Restore 2 changes, unsaved");
}
