//! Changes that are proposed from files: a form, reading beside the screen, a list, one undo.

use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use drystage::model::change::Change;
use drystage::model::{Trip, check};
use drystage::quantity::{Kilometres, Share};
use drystage::tui::beside::Workers;
use drystage::tui::message::{Effect, Message};
use drystage::tui::outside::{FromFiles, Proposal, Proposer};
use drystage::tui::state::{Mode, Question, State};
use drystage::tui::update::update;

use super::{after, screen, state, trip, typed, wait};

/// Proposes that all gravel is corrugated; the files that were named are noted, with the trip that they were read for.
fn corrugated(calls: &Arc<Mutex<Vec<(FromFiles, Trip)>>>) -> Proposer {
    let calls = Arc::clone(calls);
    Arc::new(move |from, trip, _, _| {
        calls.lock().unwrap().push((from.clone(), trip.clone()));
        let mut after = trip.clone();
        after.legs[0].to = format!("{}, seen", trip.legs[0].to);
        Ok(Proposal {
            change: Change::restated(trip, &after, "rename").unwrap(),
            lines: (1..=40).map(|nth| format!("line {nth}")).collect(),
        })
    })
}

fn press(state: &mut State, messages: &[Message]) {
    for &message in messages {
        update(state, message);
    }
}

/// The screen with a proposal that is listed.
pub(super) fn listing(trip: &Trip) -> State {
    let mut state = state(trip.clone());
    let mut workers = Workers::start(&mut state, corrugated(&Arc::default()));
    press(&mut state, &[Message::Calibrate]);
    press(&mut state, &typed("fills.csv"));
    press(&mut state, &[Message::Enter]);
    wait(&mut workers, &mut state, |state| state.mode != Mode::Browse);
    state.attend();
    state
}

const FORM_OF_LOG: [Message; 1] = [Message::Calibrate];

#[test]
fn a_proposal_is_listed_made_when_accepted_and_taken_back_by_one_undo() {
    let calls = Arc::default();
    let mut state = state(trip());
    let mut workers = Workers::start(&mut state, corrugated(&calls));
    let before = state.trip().clone();
    press(&mut state, &FORM_OF_LOG);
    assert!(screen(&state, 80, 24).contains("fill-up log"));
    press(&mut state, &[Message::Enter]);
    assert!(screen(&state, 80, 24).contains("type the path of a file"));
    press(&mut state, &typed("fills.csv"));
    press(&mut state, &[Message::Enter]);
    let reading = screen(&state, 80, 24);
    assert!(
        reading.contains("reading the files; Esc stops it"),
        "{reading}"
    );
    wait(&mut workers, &mut state, |state| state.mode != Mode::Browse);
    let listed = screen(&state, 80, 24);
    assert!(listed.contains("Make this change?") && listed.contains("line 1"));
    assert!(!listed.contains("line 40") && listed.contains("y makes it"));
    press(&mut state, &[Message::TripEnd]);
    assert!(screen(&state, 80, 24).contains("line 40"));
    assert_eq!(*state.trip(), before);
    press(&mut state, &[Message::Yes]);
    assert_eq!(state.mode, Mode::Browse);
    assert!(state.trip().legs[0].to.ends_with(", seen"));
    press(&mut state, &[Message::Undo]);
    assert_eq!(*state.trip(), before);
    let calls = calls.lock().unwrap();
    assert_eq!(calls.len(), 1);
    assert_eq!(calls[0].0, FromFiles::FillLog("fills.csv".to_owned()));
}

#[test]
fn ctrl_c_at_a_proposal_leaves_it_and_asks_for_what_is_unsaved() {
    let mut state = listing(&trip());
    let before = state.trip().clone();
    assert_eq!(update(&mut state, Message::Quit), Some(Effect::Quit));
    assert_eq!(*state.trip(), before);
    let mut edited = state;
    let longer = Change::set(edited.trip(), "/legs/1/distance_km", Some(77.into()));
    edited.make(&longer).unwrap();
    let mut workers = Workers::start(&mut edited, corrugated(&Arc::default()));
    press(&mut edited, &FORM_OF_LOG);
    press(&mut edited, &typed("fills.csv"));
    press(&mut edited, &[Message::Enter]);
    wait(&mut workers, &mut edited, |state| {
        state.mode != Mode::Browse
    });
    assert_eq!(update(&mut edited, Message::Quit), None);
    assert_eq!(edited.mode, Mode::Ask(Question::Quit));
}

#[test]
fn esc_stops_a_reading_in_the_fields_before_it_closes_them() {
    let mut state = state(trip());
    press(&mut state, &[Message::Edit, Message::Calibrate]);
    press(&mut state, &typed("fills.csv"));
    press(&mut state, &[Message::Enter, Message::Close]);
    assert_eq!(state.mode, Mode::Sheet);
    assert!(screen(&state, 80, 24).contains("reading stopped"));
    press(&mut state, &[Message::Close]);
    assert_eq!(state.mode, Mode::Browse);
}

#[test]
fn a_rejected_proposal_changes_nothing() {
    for no in [Message::No, Message::Close] {
        let mut state = state(trip());
        let mut workers = Workers::start(&mut state, corrugated(&Arc::default()));
        let before = state.trip().clone();
        press(&mut state, &[Message::TakeVehicle]);
        press(&mut state, &typed("other.json"));
        press(&mut state, &[Message::Enter]);
        wait(&mut workers, &mut state, |state| state.mode != Mode::Browse);
        press(&mut state, &[no]);
        assert_eq!(state.mode, Mode::Browse);
        assert_eq!(*state.trip(), before);
        assert!(screen(&state, 80, 24).contains("the trip is unchanged"));
        // It is not listed again.
        workers.serve(&mut state);
        assert_eq!(state.mode, Mode::Browse);
    }
}

#[test]
fn a_trip_that_is_edited_meanwhile_has_its_files_read_again() {
    let calls = Arc::default();
    let (go, wait_for) = std::sync::mpsc::channel::<()>();
    let inner = corrugated(&calls);
    let wait_for = Mutex::new(wait_for);
    let slow: Proposer = Arc::new(move |from, trip, units, progress| {
        wait_for.lock().unwrap().recv().unwrap();
        inner(from, trip, units, progress)
    });
    let mut state = state(trip());
    let mut workers = Workers::start(&mut state, slow);
    press(&mut state, &[Message::TakeRoute]);
    press(&mut state, &typed("way.gpx"));
    press(&mut state, &[Message::Enter]);
    workers.serve(&mut state);
    let longer = Change::set(state.trip(), "/legs/1/distance_km", Some(77.into()));
    state.make(&longer).unwrap();
    workers.serve(&mut state);
    go.send(()).unwrap();
    go.send(()).unwrap();
    wait(&mut workers, &mut state, |state| state.mode != Mode::Browse);
    press(&mut state, &[Message::Yes]);
    let changed = state.trip();
    assert!(changed.legs[0].to.ends_with(", seen"));
    assert_eq!(changed.legs[1].distance_km, Some(Kilometres::new(77.0)));
}

#[test]
fn esc_stops_a_reading_and_its_end_is_not_waited_for() {
    let stopped = Arc::new(Mutex::new(false));
    let seen = Arc::clone(&stopped);
    let endless: Proposer = Arc::new(move |_, _, _, progress| {
        let mut done = 0.0;
        while progress(Share::new(done)) {
            std::thread::sleep(Duration::from_millis(1));
            done = f64::min(done + 1e-4, 0.9);
        }
        *seen.lock().unwrap() = true;
        anyhow::bail!("cancelled")
    });
    let mut state = state(trip());
    let mut workers = Workers::start(&mut state, endless);
    press(&mut state, &[Message::FillFromMap]);
    press(&mut state, &typed("region.osm.pbf"));
    press(
        &mut state,
        &[Message::Enter, Message::Enter, Message::Enter],
    );
    wait(&mut workers, &mut state, |state| {
        screen(state, 80, 24).contains("reading the map: ")
    });
    // The screen goes on meanwhile.
    press(&mut state, &[Message::NextLeg]);
    assert!(screen(&state, 80, 24).contains("Esc stops it"));
    press(&mut state, &[Message::Close]);
    assert!(screen(&state, 80, 24).contains("reading stopped; the trip is unchanged"));
    workers.serve(&mut state);
    wait(&mut workers, &mut state, |_| *stopped.lock().unwrap());
    workers.serve(&mut state);
    assert_eq!(state.mode, Mode::Browse);
}

#[test]
fn a_proposal_waits_while_something_is_typed() {
    let mut state = state(trip());
    let mut workers = Workers::start(&mut state, corrugated(&Arc::default()));
    press(&mut state, &[Message::Calibrate]);
    press(&mut state, &typed("fills.csv"));
    press(&mut state, &[Message::Enter, Message::Edit, Message::Enter]);
    assert_eq!(state.mode, Mode::Field);
    let until = Instant::now() + Duration::from_millis(300);
    while Instant::now() < until {
        workers.before_frame(&mut state);
        workers.serve(&mut state);
    }
    assert_eq!(state.mode, Mode::Field);
    press(&mut state, &[Message::Close]);
    wait(&mut workers, &mut state, |state| {
        matches!(state.mode, Mode::Ask(_))
    });
}

#[test]
fn what_is_wrong_with_a_file_is_shown() {
    let state = after(state(trip()), &FORM_OF_LOG);
    let mut state = after(state, &typed("nowhere.csv"));
    let mut workers = Workers::start(&mut state, super::no_files());
    press(&mut state, &[Message::Enter]);
    wait(&mut workers, &mut state, |state| {
        screen(state, 80, 24).contains("no file")
    });
    assert_eq!(state.mode, Mode::Browse);
}

#[test]
fn a_map_or_heights_must_be_named() {
    let enter = [
        Message::FillFromMap,
        Message::Enter,
        Message::Enter,
        Message::Enter,
    ];
    let state = after(state(trip()), &enter);
    assert_eq!(state.mode, Mode::Form);
    assert!(screen(&state, 80, 24).contains("name a map, a folder of elevation tiles, or both"));
}

/// What the screen of a trip file makes of a proposal that is accepted, by the real readers.
mod of_real_files {
    use std::fs;
    use std::path::{Path, PathBuf};

    use super::*;
    use drystage::cli::session::Session;
    use drystage::io::disk::System;
    use drystage::tui::outside::Outside;
    use serde_json::{Value, json};

    fn sample(name: &str) -> String {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-routes");
        path.join(name).to_str().unwrap().to_owned()
    }

    /// Opens a file, fills in the form of a message, and gives the screen with what is proposed.
    fn proposed(trip: &Path, message: Message, answers: &[&str]) -> (State, Workers) {
        let (session, opened) = Session::open(trip, &System).unwrap();
        let mut state = state((*opened.trip).clone());
        let mut workers = Workers::start(&mut state, session.proposer());
        press(&mut state, &[message]);
        for answer in answers {
            press(&mut state, &typed(answer));
            press(&mut state, &[Message::Enter]);
        }
        wait(&mut workers, &mut state, |state| state.mode != Mode::Browse);
        (state, workers)
    }

    fn written(folder: &tempfile::TempDir, name: &str, trip: &Value) -> PathBuf {
        let path = folder.path().join(name);
        fs::write(&path, trip.to_string()).unwrap();
        path
    }

    fn example() -> Value {
        serde_json::from_str(include_str!("../data/example-trip.json")).unwrap()
    }

    #[test]
    fn a_map_and_tiles_fill_a_trip_and_one_undo_empties_it() {
        let folder = tempfile::tempdir().unwrap();
        let files = [PathBuf::from(sample("salt-basin.gpx"))];
        let imported =
            drystage::io::import::import(&files, &drystage::io::import::Options::default())
                .unwrap();
        let path = written(&folder, "basin.json", &imported.trip.to_document());
        let (map, tiles) = (sample("salt-basin.osm.pbf"), sample("salt-basin.tif"));
        let answers = [map.as_str(), &tiles, "y"];
        let (mut state, _beside) = proposed(&path, Message::FillFromMap, &answers);
        let before = state.trip().clone();
        let listed = screen(&state, 120, 40);
        assert!(listed.contains("Invented map"), "{listed}");
        assert!(listed.contains("2 legs became 5"), "{listed}");
        press(&mut state, &[Message::Yes]);
        let filled = state.trip().clone();
        assert_eq!(filled.legs.len(), 5);
        assert!(filled.notice.is_some());
        state.attend();
        // The leg panel shows where its surface comes from.
        press(
            &mut state,
            &[Message::Focus(drystage::tui::state::Panel::Leg)],
        );
        let panel = screen(&state, 120, 60);
        assert!(panel.contains("invented map"), "{panel}");
        press(&mut state, &[Message::Undo]);
        assert_eq!(*state.trip(), before);
    }

    #[test]
    fn a_fill_up_log_calibrates_the_vehicle() {
        let path = PathBuf::from(sample("plateau-loop.json"));
        let log = sample("plateau-loop-fills.csv");
        let (mut state, _beside) = proposed(&path, Message::Calibrate, &[&log]);
        press(
            &mut state,
            &[Message::TripEnd, Message::PageBack, Message::PageBack],
        );
        let listed = screen(&state, 120, 60);
        assert!(listed.contains("EFFECT ON THIS TRIP"), "{listed}");
        press(&mut state, &[Message::Yes]);
        let calibration = state.trip().vehicle.calibration.as_ref();
        let log = calibration.and_then(|calibration| calibration.from.as_deref());
        assert_eq!(log, Some("plateau-loop-fills.csv"));
    }

    #[test]
    fn the_vehicle_of_another_trip_replaces_vehicle_load_and_rules() {
        let folder = tempfile::tempdir().unwrap();
        let path = written(&folder, "trip.json", &example());
        let mut vehicle: Value =
            serde_json::from_str(&fs::read_to_string(sample("dune-coast.json")).unwrap()).unwrap();
        vehicle["legs"] = json!([]);
        let shelf = written(&folder, "vehicle.json", &vehicle);
        let named = shelf.to_str().unwrap();
        let (mut state, _beside) = proposed(&path, Message::TakeVehicle, &[named]);
        let listed = screen(&state, 120, 60);
        assert!(listed.contains("vehicle: "), "{listed}");
        press(&mut state, &[Message::Yes]);
        vehicle["legs"] = example()["legs"].clone();
        let lender = check::read(vehicle).unwrap();
        assert_eq!(state.trip().vehicle, lender.vehicle);
        assert_eq!(state.trip().load, lender.load);
        assert_eq!(state.trip().rules, lender.rules);
        assert_eq!(state.trip().legs, lender.legs);
    }

    #[test]
    fn under_way_only_the_legs_after_the_last_reading_are_replaced() {
        let folder = tempfile::tempdir().unwrap();
        let mut trip = example();
        trip["log"] = json!([{ "place_number": 0, "odometer_km": 1000, "tank_left_l": 40 },
            { "place_number": 1, "odometer_km": 1100, "tank_left_l": 30 }]);
        let path = written(&folder, "trip.json", &trip);
        let table = folder.path().join("round.csv");
        fs::write(&table, "to,distance_km\nRound the gorge,80\nFar end,40\n").unwrap();
        let named = table.to_str().unwrap();
        let (mut state, _beside) = proposed(&path, Message::TakeRoute, &[named]);
        press(&mut state, &[Message::Yes]);
        let now = state.trip().to_document();
        let legs = now["legs"].as_array().unwrap();
        assert_eq!(legs.len(), 3);
        assert_eq!(legs[0], trip["legs"][0]);
        assert_eq!(legs[1]["to"], "Round the gorge");
        assert_eq!(now["start"], trip["start"]);
        assert_eq!(now["log"].as_array().unwrap().len(), 2);
    }
}
