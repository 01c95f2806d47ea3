//! Edits that are written down, and saved: the program is killed at every step of it, or the disk refuses every step.
//!
//! Anyone who opens the trip afterwards finds each edit once: in the file, or offered.

use std::fs;
use std::os::unix::process::ExitStatusExt;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitStatus};
use std::time::{Duration, Instant};

use drystage::cli::session::Session;
use drystage::io::disk::System;
use drystage::io::{journal, json};
use drystage::model::Trip;
use drystage::model::change::{Change, Deed, History};
use drystage::quantity::Kilometres;
use drystage::tui::outside::{NotSaved, Opened, Outside};
use serde_json::{Value, json};
use signal_hook::consts::SIGKILL;
use tempfile::TempDir;

use super::faulty::{Fault, Faulty, NOSPC};

/// What is done to the trip of `trip.json`, one edit after the other: the trip and what comes of it. The second makes
/// another trip each time that it is made.
fn edited(history: &mut History) -> [Trip; 3] {
    let before = Trip::clone(history.trip());
    let longer = Change::set(&before, "/legs/0/distance_km", Some(json!(150.5)));
    history.make(&longer).unwrap();
    let first = Trip::clone(history.trip());
    let again = Change::duplicate_leg(&first, 0).unwrap();
    history.make(&again).unwrap();
    [before, first, Trip::clone(history.trip())]
}

/// How the trip is kept and where it is saved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Way {
    /// In its own file.
    Own,
    /// From its file to another one.
    Other,
    /// From no file to one.
    New,
}

const WAYS: [(Way, &str); 3] = [(Way::Own, "own"), (Way::Other, "other"), (Way::New, "new")];

/// A folder with the example in it, a state folder, and programs that are run there.
struct Place(TempDir);

impl Place {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let example = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/example-trip.json");
        fs::copy(example, folder.path().join("trip.json")).unwrap();
        Self(folder)
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    /// Edits and saves in one of the ways, with a fault at one of the steps.
    fn edit_and_save(&self, way: &str, fault: &str, at: usize) -> ExitStatus {
        let env = [
            ("DRYSTAGE_WAY", way),
            ("DRYSTAGE_FAULT", fault),
            ("DRYSTAGE_AT", &at.to_string()),
        ];
        self.run("child_edits_and_saves", &env)
    }

    /// Runs one of the children below.
    fn run(&self, child: &str, env: &[(&str, &str)]) -> ExitStatus {
        let mut command = Command::new(std::env::current_exe().unwrap());
        command.args([
            "--ignored",
            "--exact",
            &format!("edits::{child}"),
            "--nocapture",
        ]);
        command
            .env_clear()
            .env("XDG_STATE_HOME", self.path("state"));
        command.env("DRYSTAGE_FOLDER", self.0.path());
        command.envs(env.iter().copied());
        let output = command.output().unwrap();
        let text = String::from_utf8_lossy(&output.stdout);
        assert!(output.status.code() != Some(101), "{child} {env:?}: {text}");
        output.status
    }

    /// What anyone who opens a trip finds.
    fn opened(&self, name: &str) -> Found {
        assert!(
            self.run("child_opens", &[("DRYSTAGE_NAME", name)])
                .success()
        );
        let text = fs::read_to_string(self.path("found.json")).unwrap();
        serde_json::from_str(&text).unwrap()
    }

    /// What is written down of new trips and in no file.
    fn new_trips(&self) -> Vec<Trip> {
        let entries = fs::read_dir(self.path("state/drystage"));
        let mut trips = Vec::new();
        for entry in entries.into_iter().flatten() {
            let path = entry.unwrap().path();
            let Some(left) = journal::read(&path) else {
                continue;
            };
            if let Some(trip) = left.trip {
                let mut history = History::new(*trip);
                history.replay(left.deeds);
                trips.push(Trip::clone(history.trip()));
            }
        }
        trips
    }

    fn has_happened(&self, what: &str) -> bool {
        self.path(what).exists()
    }
}

/// What is found in a file: the trip, and with what is offered, if anything is.
#[derive(serde::Serialize, serde::Deserialize)]
struct Found {
    in_file: Trip,
    offered: Option<Trip>,
    notice: Option<String>,
}

impl Found {
    /// The trip with all that was done to it.
    fn whole(&self) -> &Trip {
        self.offered.as_ref().unwrap_or(&self.in_file)
    }
}

fn folder() -> PathBuf {
    std::env::var_os("DRYSTAGE_FOLDER").unwrap().into()
}

/// Not a test: opens a trip as the screen does and tells what it finds.
#[test]
#[ignore = "is started by the tests below"]
fn child_opens() {
    let name = std::env::var("DRYSTAGE_NAME").unwrap();
    let (_, opened) = Session::open(&folder().join(name), &System).unwrap();
    let offered = opened.left_over.filter(|left| !left.deeds.is_empty());
    let found = Found {
        in_file: Trip::clone(&opened.trip),
        offered: offered.map(|left| Trip::clone(left.history.trip())),
        notice: opened.notice,
    };
    let text = serde_json::to_string(&found).unwrap();
    fs::write(folder().join("found.json"), text).unwrap();
}

/// Waits until so many deeds stand in a journal; not for ever, since a disk may refuse them.
fn wait_for_deeds(folder: &Path, count: usize) -> bool {
    let state = fs::read_dir(folder.join("state/drystage"))
        .into_iter()
        .flatten();
    let places = state.map(|entry| entry.unwrap().path());
    let places: Vec<_> = places.chain([folder.join(".trip.json.edits")]).collect();
    let until = Instant::now() + Duration::from_millis(300);
    while Instant::now() < until {
        let left = places.iter().filter_map(|place| journal::read(place));
        if left
            .map(|left| left.deeds.len())
            .any(|deeds| deeds == count)
        {
            return true;
        }
        std::thread::sleep(Duration::from_millis(2));
    }
    false
}

/// Not a test: opens the trip, edits it twice, and saves it, while the disk does what it is reported.
#[test]
#[ignore = "is started by the tests below"]
fn child_edits_and_saves() {
    let [way, fault, at] =
        ["DRYSTAGE_WAY", "DRYSTAGE_FAULT", "DRYSTAGE_AT"].map(|name| std::env::var(name).unwrap());
    let (way, _) = WAYS.into_iter().find(|(_, name)| *name == way).unwrap();
    let fault = match fault.as_str() {
        "kill" => Fault::Kill,
        "full" => Fault::Full(NOSPC),
        _ => Fault::Error(NOSPC),
    };
    let folder = folder();
    let disk: &'static Faulty = Box::leak(Box::new(Faulty::new(fault, at.parse().unwrap())));
    let trip = folder.join("trip.json");
    let (mut session, opened): (Session, Opened) = match way {
        Way::New => Session::open_new(json::read(&trip).unwrap(), disk),
        Way::Own | Way::Other => Session::open(&trip, disk).unwrap(),
    };
    let mut history = History::new(opened.trip);
    let mut messages = opened.notice.into_iter().collect::<Vec<_>>();
    edited(&mut history);
    let happened = |what: &str| fs::write(folder.join(what), "").unwrap();
    for (number, deed) in history.take_news().into_iter().enumerate() {
        session.record(&[deed]);
        if wait_for_deeds(&folder, number + 1) {
            happened(&format!("edit {number} is written down"));
        }
    }
    messages.extend(session.trouble());
    let other = folder.join("other.json");
    let to = (way != Way::Own).then_some(other.to_str().unwrap());
    let mut save = || session.save(history.trip(), to, false);
    let mut done = save();
    if let Err(NotSaved::Failed(why)) = &done {
        messages.push(why.clone());
        happened("save failed");
        if fault == Fault::Error(NOSPC) {
            // The disk has room again.
            done = save();
            if done == Err(NotSaved::Exists) {
                // It stood there after all, though not for certain.
                done = session.save(history.trip(), to, true);
            }
        }
    }
    messages.extend(session.trouble());
    if done.is_ok() {
        happened("saved");
    }
    fs::write(folder.join("says"), messages.join("\n")).unwrap();
    fs::write(folder.join("steps"), disk.steps().join("\n")).unwrap();
    // As when it is killed now: what goes in an orderly way is not what is tried here.
    std::mem::forget(session);
}

#[test]
fn a_kill_at_any_step_leaves_each_edit_once() {
    for (way, name) in WAYS {
        let mut killed = 0;
        for at in 0.. {
            let place = Place::new();
            let original = json::read(&place.path("trip.json")).unwrap();
            let [before, first, second] = edited(&mut History::new(original));
            let status = place.edit_and_save(name, "kill", at);
            let case = format!("{way:?}, killed at step {at}");
            let saved = place
                .has_happened("other.json")
                .then(|| place.opened("other.json"));
            if let Some(saved) = &saved {
                assert!(saved.in_file == second && saved.offered.is_none(), "{case}");
            }
            // What is found of the trip as it was edited, in files and in journals.
            let mut found: Vec<Trip> = saved.into_iter().map(|saved| saved.in_file).collect();
            match way {
                Way::Own | Way::Other => {
                    let opened = place.opened("trip.json");
                    assert_eq!(opened.notice, None, "{case}");
                    assert!([&before, &second].contains(&&opened.in_file), "{case}");
                    if opened.offered.is_some() || *opened.whole() != before || found.is_empty() {
                        found.push(opened.whole().clone());
                    }
                }
                Way::New => found.extend(place.new_trips()),
            }
            let safe = (0..2)
                .take_while(|number| place.has_happened(&format!("edit {number} is written down")))
                .count();
            let expected = [
                vec![&before, &first, &second],
                vec![&first, &second],
                vec![&second],
            ];
            match found.as_slice() {
                [one] => assert!(
                    expected[safe].contains(&one),
                    "{case}: {safe} edits were safe"
                ),
                [] => assert!(way == Way::New && safe == 0, "{case}: nothing found"),
                _ => panic!("{case}: found {} times", found.len()),
            }
            if status.success() {
                break;
            }
            assert_eq!(status.signal(), Some(SIGKILL), "{case}");
            killed += 1;
        }
        // Journal: made, filled, named, two deeds, what is going to be saved, brought to the disk; seven steps of a
        // save; the journal goes, and the list of recent trips is saved.
        println!("{way:?}: killed at {killed} steps");
        assert!(killed >= 15, "{way:?}: {killed}");
    }
}

#[test]
fn a_step_that_is_refused_loses_no_edit_and_is_reported() {
    for (way, name) in WAYS {
        let (mut tried, mut refused) = (Vec::new(), Vec::new());
        for at in 0.. {
            let place = Place::new();
            let original = json::read(&place.path("trip.json")).unwrap();
            let [_, _, second] = edited(&mut History::new(original));
            let status = place.edit_and_save(name, "error", at);
            let case = format!("{way:?}, refused at step {at}");
            assert!(status.success(), "{case}");
            // The second time, if not the first, it is saved, and nothing is offered any more.
            assert!(place.has_happened("saved"), "{case}");
            let in_file = if way == Way::Own {
                "trip.json"
            } else {
                "other.json"
            };
            let opened = place.opened(in_file);
            assert!(opened.in_file == second, "{case}");
            assert!(opened.offered.is_none(), "{case}");
            let steps = fs::read_to_string(place.path("steps")).unwrap();
            let Some(step) = steps.lines().nth(at) else {
                break;
            };
            let message = fs::read_to_string(place.path("says")).unwrap();
            let is_reported = message.contains("the disk is full");
            let of_save = place.has_happened("save failed");
            assert!(!of_save || is_reported, "{case} ({step}): {message}");
            tried.push(step.to_owned());
            if is_reported {
                refused.push(step.to_owned());
            }
        }
        // A deed that cannot be written down, and each step of the save. A journal that cannot lie beside the trip lies
        // elsewhere, and only a new trip has no other place.
        let of_journal = if way == Way::New {
            ["make", "write", "name", "write", "write"].as_slice()
        } else {
            &["write"]
        };
        let of_save = if way == Way::Own {
            [
                "look",
                "make",
                "copy_mode_and_owner",
                "write",
                "sync",
                "replace",
            ]
            .as_slice()
        } else {
            &["look", "make", "write", "sync", "name"]
        };
        let expected = [of_journal, of_save, &["sync the folder"]].concat();
        assert_eq!(refused, expected, "{way:?}: {tried:?}");
    }
}

/// A disk that is full from some step on: what was written down before is there, the rest is reported.
#[test]
fn a_full_disk_keeps_what_was_written_down_and_is_reported() {
    for (way, name) in WAYS {
        for at in 0.. {
            let place = Place::new();
            let original = json::read(&place.path("trip.json")).unwrap();
            let [before, first, second] = edited(&mut History::new(original));
            let status = place.edit_and_save(name, "full", at);
            let case = format!("{way:?}, full from step {at}");
            assert!(status.success(), "{case}");
            let is_saved = place.has_happened("saved");
            let safe = (0..2)
                .take_while(|number| place.has_happened(&format!("edit {number} is written down")))
                .count();
            let kept = match way {
                _ if place.has_happened("other.json") => Some(place.opened("other.json").in_file),
                Way::Own | Way::Other => Some(place.opened("trip.json").whole().clone()),
                Way::New => place.new_trips().pop(),
            };
            let expected = [&before, &first, &second][safe];
            match kept {
                Some(kept) => assert!(kept == *expected || kept == second, "{case}: {safe} safe"),
                None => assert!(way == Way::New && safe == 0, "{case}"),
            }
            if is_saved {
                break;
            }
            let message = fs::read_to_string(place.path("says")).unwrap();
            assert!(message.contains("the disk is full"), "{case}: {message}");
        }
    }
}

/// A file that was changed by somebody else between reading and saving is not written over unasked, whenever that was.
#[test]
fn a_change_by_somebody_else_is_noticed() {
    let place = Place::new();
    assert!(place.run("child_is_overtaken", &[]).success());
}

/// Not a test: needs a state folder of its own.
#[test]
#[ignore = "is started by the test above"]
fn child_is_overtaken() {
    let path = folder().join("trip.json");
    let (mut session, opened) = Session::open(&path, &System).unwrap();
    let theirs = fs::read_to_string(&path)
        .unwrap()
        .replace("Four days", "Five days");
    fs::write(&path, &theirs).unwrap();
    let mut history = History::new(opened.trip);
    let [_, _, second] = edited(&mut history);
    session.record(&history.take_news());
    assert_eq!(session.save(&second, None, false), Err(NotSaved::Changed));
    assert_eq!(fs::read_to_string(&path).unwrap(), theirs);
    assert!(session.is_changed());
    // It is asked once, and done if that is wanted.
    session.save(&second, None, true).unwrap();
    assert!(json::read(&path).unwrap() == second);
    session.save(&second, None, false).unwrap();
    // Taken away, it is made anew.
    fs::remove_file(&path).unwrap();
    session.save(&second, None, false).unwrap();
    // A folder in its place is reported.
    fs::remove_file(&path).unwrap();
    fs::create_dir(&path).unwrap();
    let message = format!("{:?}", session.save(&second, None, true));
    assert!(message.contains("is a folder, not a file"), "{message}");
    let document: Value = serde_json::to_value(&second).unwrap();
    assert_eq!(document["legs"].as_array().unwrap().len(), 7);
}

/// An edit for which there was no place is written down with the next one, since the next one is of no use without it.
#[test]
fn edits_without_a_place_are_written_down_as_soon_as_there_is_one() {
    let place = Place::new();
    // Neither beside the trip nor in the state folder.
    fs::create_dir(place.path(".trip.json.edits")).unwrap();
    fs::write(place.path("state"), "").unwrap();
    assert!(place.run("child_finds_a_place", &[]).success());
    let original = json::read(&place.path("trip.json")).unwrap();
    let [_, _, second] = edited(&mut History::new(original));
    assert!(*place.opened("trip.json").whole() == second);
}

/// Not a test: needs a state folder of its own.
#[test]
#[ignore = "is started by the test above"]
fn child_finds_a_place() {
    let (mut session, opened) = Session::open(&folder().join("trip.json"), &System).unwrap();
    let mut history = History::new(opened.trip);
    edited(&mut history);
    let [first, second] = <[Deed; 2]>::try_from(history.take_news()).unwrap();
    session.record(&[first]);
    let message = session.trouble().unwrap();
    assert!(
        message.starts_with("unsaved edits are not backed up ("),
        "{message}"
    );
    fs::remove_dir(folder().join(".trip.json.edits")).unwrap();
    fs::remove_file(folder().join("state")).unwrap();
    session.record(&[second]);
    assert!(wait_for_deeds(&folder(), 2));
    assert_eq!(session.trouble(), None);
}

/// Numbers of programs come again, in a container with every start: the edits of one that was killed stay.
#[test]
fn a_new_trip_never_takes_the_place_of_another() {
    let place = Place::new();
    for count in 1..=2 {
        assert!(place.run("child_begins_a_new_trip", &[]).success());
        let program = fs::read_to_string(place.path("program")).unwrap();
        let journals = fs::read_dir(place.path("state/drystage")).unwrap();
        // As if the next program had the number of this one.
        for journal in journals.map(|entry| entry.unwrap().path()) {
            let name = journal.file_name().unwrap().to_str().unwrap();
            let again = name.replace(&program, "same");
            fs::rename(&journal, journal.with_file_name(again)).unwrap();
        }
        assert_eq!(place.new_trips().len(), count);
    }
}

/// Not a test: needs a state folder of its own.
#[test]
#[ignore = "is started by the test above"]
fn child_begins_a_new_trip() {
    let state = folder().join("state/drystage");
    let program = std::process::id().to_string();
    for journal in fs::read_dir(&state).into_iter().flatten() {
        let journal = journal.unwrap().path();
        let name = journal.file_name().unwrap().to_str().unwrap();
        let again = name.replace("same", &program);
        fs::rename(&journal, journal.with_file_name(again)).unwrap();
    }
    let trip = json::read(&folder().join("trip.json")).unwrap();
    let (session, _) = Session::open_new(trip, &System);
    fs::write(folder().join("program"), program).unwrap();
    std::mem::forget(session);
}

/// Lays a journal with these lines beside `trip.json`, as a trip that is handed on may bring one along.
fn hand_on(place: &Place, deeds: &[Value]) {
    let trip = place.path("trip.json");
    let text = fs::read(&trip).unwrap();
    let head = journal::Head::of_file(trip, journal::Fingerprint::from_bytes(&text));
    let head = serde_json::to_string(&head).unwrap();
    let deeds = deeds.iter().map(Value::to_string);
    let lines: Vec<String> = std::iter::once(head).chain(deeds).collect();
    fs::write(place.path(".trip.json.edits"), lines.join("\n") + "\n").unwrap();
}

fn made(steps: &Value) -> Value {
    json!({ "made": { "name": "shorter", "steps": steps } })
}

/// What comes of edits that are offered is checked as a file is, and so is every trip that undo would lead back to.
#[test]
fn edits_that_no_file_may_hold_are_not_offered() {
    let original = json::read(&Place::new().path("trip.json")).unwrap();
    let sound = serde_json::to_value(Deed::Made(Change::set(
        &original,
        "/legs/0/distance_km",
        Some(json!(150.5)),
    )))
    .unwrap();
    let mut leg = serde_json::to_value(&original.legs[0]).unwrap();
    leg["track"] = json!("../outside.gpx");
    let count = original.legs.len();
    for (steps, part) in [
        (
            json!([{ "replace-leg": { "at": 0, "leg": leg } }]),
            "/legs/0/track",
        ),
        (
            json!([{ "remove": { "list": "/legs", "at": 0, "count": count } }]),
            "/legs",
        ),
    ] {
        let place = Place::new();
        let back = json!({ "undone": { "name": "shorter", "steps": [] } });
        hand_on(&place, &[sound.clone(), made(&steps), back]);
        let found = place.opened("trip.json");
        let offered = found.offered.expect("what comes before is sound");
        assert_eq!(offered.legs.len(), count);
        assert_eq!(offered.legs[0].distance_km, Some(Kilometres::new(150.5)));
        assert!(offered.legs[0].track.is_none());
        assert_eq!(offered.vehicle, original.vehicle);
        let notice = found.notice.unwrap();
        assert!(
            notice.contains("edits that make the trip invalid"),
            "{notice}"
        );
        assert!(
            notice.contains(part) && notice.contains("left out: 2"),
            "{notice}"
        );
    }
}

/// A file that only has the name of a journal is somebody's own.
#[test]
fn a_file_with_the_name_of_a_journal_is_left_alone_and_reported() {
    let place = Place::new();
    fs::write(place.path(".trip.json.edits"), "notes of mine\n").unwrap();
    let found = place.opened("trip.json");
    let notice = found.notice.unwrap();
    assert!(notice.contains("was not written by drystage"), "{notice}");
    let status = place.edit_and_save("own", "kill", 40);
    assert!(status.success() || status.signal() == Some(SIGKILL));
    let theirs = fs::read_to_string(place.path(".trip.json.edits")).unwrap();
    assert_eq!(theirs, "notes of mine\n");
}
