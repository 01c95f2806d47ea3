//! The dials on the screen: turning, keeping, taking up, side by side, and tips that belong to what is shown.

#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use drystage::model::dial::Dial;
use drystage::model::vocabulary::UnitSystem;
use drystage::model::{Trip, check};
use drystage::plan::Plan;
use drystage::plan::tipping::tips;
use drystage::present::number::Units;
use drystage::quantity::{Kilograms, Litres};
use drystage::tui::message::Message;
use drystage::tui::state::{Mode, Panel, State};
use drystage::tui::theme::{Depth, Theme};
use drystage::tui::update::update;
use drystage::tui::view::{Look, click, view};
use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};

fn trip() -> Trip {
    let text = include_str!("data/example-trip.json");
    check::read(serde_json::from_str(text).unwrap()).unwrap()
}

fn opened() -> State {
    State::new(Plan::of(trip()), Units(UnitSystem::Metric))
}

fn after(mut state: State, messages: &[Message]) -> State {
    for &message in messages {
        update(&mut state, message);
        state.attend();
    }
    state
}

/// The dials in front, that one chosen.
fn on(dial: Dial) -> State {
    let mut state = after(opened(), &[Message::Dials]);
    let row = state.dial_list().iter().position(|&d| d == dial).unwrap();
    update(&mut state, Message::Row(row));
    assert_eq!(state.chosen_dial(), Some(dial));
    state
}

fn screen(state: &State, width: u16, height: u16) -> String {
    let area = Rect::new(0, 0, width, height);
    let mut buf = Buffer::empty(area);
    let look = Look {
        theme: Theme::new(Depth::None),
        ascii: false,
    };
    view(state, look, area, &mut buf);
    let lines = buf.content.chunks(usize::from(width));
    let line =
        |cells: &[ratatui::buffer::Cell]| cells.iter().map(ratatui::buffer::Cell::symbol).collect();
    lines.map(line).collect::<Vec<String>>().join("\n")
}

fn typed(text: &str) -> Vec<Message> {
    text.chars().map(Message::Type).collect()
}

#[test]
fn a_turn_moves_strip_and_verdict_and_leaves_the_trip_alone() {
    let before = opened();
    let state = after(on(Dial::Cargo), &[Message::TurnOn; 3]);
    assert_eq!(*state.trip().as_ref(), trip());
    assert!(!state.history().is_changed());
    assert!(state.plan().totals.fuel > before.plan().totals.fuel);
    let difference = state.dial_difference().unwrap();
    assert!(difference.fuel > Litres::ZERO && difference.mass > Kilograms::new(29.0));
    assert!(state.saved_strip().is_some());
    let shown = screen(&state, 80, 24);
    assert!(shown.contains("what if: +"), "{shown}");
    assert!(shown.contains("30 kg"), "{shown}");
    let back = after(state, &[Message::ResetDial]);
    assert_eq!(back.plan().totals, before.plan().totals);
    assert!(back.saved_strip().is_none() && back.dial_difference().is_none());
}

#[test]
fn all_dials_go_back_at_once_and_stay_turned_when_the_layer_is_closed() {
    let turned = after(
        on(Dial::Headwind),
        &[Message::TurnOn, Message::ScrollUp, Message::TurnOn],
    );
    assert_eq!(turned.board.dials().len(), 2);
    let closed = after(turned, &[Message::Close]);
    assert_eq!(closed.mode, Mode::Browse);
    assert!(closed.dial_difference().is_some());
    let reset = after(closed, &[Message::Dials, Message::ResetDials]);
    assert!(!reset.board.is_turned());
    assert_eq!(reset.plan().totals, opened().plan().totals);
}

#[test]
fn a_set_is_kept_undone_and_taken_up_again() {
    let turned = after(on(Dial::Crew), &[Message::TurnOn, Message::KeepDials]);
    assert_eq!(turned.mode, Mode::Prompt);
    let mut keys = vec![Message::Erase(drystage::tui::line::Reach::Start)];
    keys.extend(typed("three up"));
    keys.push(Message::Enter);
    let kept = after(turned, &keys);
    assert_eq!(kept.mode, Mode::Dials);
    let names: Vec<&str> = kept
        .trip()
        .what_ifs()
        .iter()
        .map(|w| w.name.as_str())
        .collect();
    assert_eq!(names, ["tent on the roof", "twice the sand", "three up"]);
    let turned_plan = kept.plan().totals;
    let fresh = after(kept, &[Message::ResetDials]);
    assert_ne!(fresh.plan().totals, turned_plan);
    let taken = after(fresh, &[Message::NextWhatIf; 3]);
    assert_eq!(taken.plan().totals, turned_plan);
    assert_eq!(taken.board.dials().len(), 1);
    let undone = after(taken, &[Message::Undo]);
    assert_eq!(undone.trip().what_ifs().len(), 2);
}

/// The example's first what-if names a mass that no dial has.
#[test]
fn what_no_dial_says_lies_beneath_and_is_told() {
    let state = after(opened(), &[Message::Dials, Message::NextWhatIf]);
    assert_eq!(state.board.beneath(), Some("tent on the roof"));
    let with_it = trip().with_what_if("tent on the roof").unwrap();
    assert_eq!(state.plan().totals, Plan::of(with_it).totals);
    assert!(screen(&state, 80, 24).contains("what if tent on the roof"));
}

#[test]
fn kept_sets_stand_side_by_side() {
    let state = after(on(Dial::Cargo), &[Message::TurnOn, Message::SideBySide]);
    assert_eq!(state.mode, Mode::SideBySide);
    let shown = screen(&state, 80, 24);
    for row in [
        "as stated",
        "as the dials stand",
        "tent on the roof",
        "twice the sand",
    ] {
        assert!(shown.contains(row), "{row}\n{shown}");
    }
    assert!(shown.contains(" mass left"), "{shown}");
    let narrow = screen(&state, 40, 20);
    assert!(narrow.contains("4 of 7 figures"), "{narrow}");
    assert_eq!(after(state, &[Message::Close]).mode, Mode::Dials);
}

/// An answer that was sought for an older state is dropped; the right one is shown.
#[test]
fn tips_belong_to_the_state_that_they_were_sought_for() {
    let mut state = on(Dial::Cargo);
    let job = state.tips_to_seek().unwrap();
    assert_eq!(job.wanted.first(), Some(&Dial::Cargo));
    let found = tips(&job.base, &job.dials, Dial::Cargo, &|| true).unwrap();
    update(&mut state, Message::Tipped(job.count, Dial::Cargo, found));
    assert_eq!(state.board.tips(Dial::Cargo), Some(&found));
    assert!(screen(&state, 100, 30).contains("from"));
    update(&mut state, Message::TurnOn);
    assert_eq!(
        state.board.tips(Dial::Cargo),
        None,
        "worth nothing any more"
    );
    update(&mut state, Message::Tipped(job.count, Dial::Cargo, found));
    assert_eq!(state.board.tips(Dial::Cargo), None, "too late");
    assert_ne!(state.tips_to_seek().unwrap().count, job.count);
    assert!(after(state, &[Message::Close]).tips_to_seek().is_none());
}

#[test]
fn edits_go_on_beneath_turned_dials() {
    let turned = after(on(Dial::Cargo), &[Message::TurnOn]);
    let count = turned.board.count();
    let mut edited = turned;
    let change = drystage::model::change::Change::delete_legs(edited.trip(), 5, 1).unwrap();
    edited.make(&change).unwrap();
    edited.attend();
    assert_eq!(edited.plan().legs.len(), 5);
    assert!(edited.board.count() > count);
    let expected = Plan::of(edited.board.dials().trip(edited.trip()));
    assert_eq!(edited.plan().totals, expected.totals);
    let difference = edited.dial_difference().unwrap();
    assert!(difference.mass > Kilograms::new(9.0) && difference.mass < Kilograms::new(11.0));
}

#[test]
fn a_place_is_found_by_a_part_of_its_name_round_and_round() {
    let find = |state: State, text: &str| {
        let mut keys = vec![
            Message::Find,
            Message::Erase(drystage::tui::line::Reach::Start),
        ];
        keys.extend(typed(text));
        keys.push(Message::Enter);
        after(state, &keys)
    };
    let state = find(opened(), "SALT");
    assert_eq!((state.mode, state.leg()), (Mode::Browse, 6));
    let state = find(state, "harrow");
    assert_eq!(state.at(), state.strip().length());
    let state = after(state, &[Message::Find, Message::Enter]);
    assert_eq!(state.leg(), 1, "the same again goes on, round and round");
    let nowhere = find(state, "atlantis");
    assert_eq!(nowhere.mode, Mode::Prompt);
    assert!(screen(&nowhere, 80, 24).contains("no place is named like"));
}

#[test]
fn a_chosen_finding_leads_to_its_place() {
    let mut state = opened();
    state.focus = Panel::Findings;
    let findings = state.plan().findings.clone();
    for (nth, finding) in findings.iter().enumerate() {
        state = after(state, &[Message::TripStart, Message::Look]);
        match finding.at {
            drystage::plan::Where::Leg(leg) => assert_eq!(state.leg(), leg),
            drystage::plan::Where::Node(node) => {
                assert_eq!(state.at(), state.strip().place(node).at);
            }
            _ => assert!(state.status.is_some()),
        }
        state = after(state, &[Message::ScrollDown]);
        assert_eq!(
            state.scroll_of(Panel::Findings),
            (nth + 1).min(findings.len() - 1)
        );
    }
}

#[test]
fn a_click_chooses_a_dial() {
    let mut state = on(Dial::Roof);
    let area = Rect::new(0, 0, 80, 24);
    let lines: Vec<String> = screen(&state, 80, 24).lines().map(str::to_owned).collect();
    let y = lines
        .iter()
        .position(|line| line.starts_with("people"))
        .unwrap();
    let message = click(&state, area, Position::new(3, u16::try_from(y).unwrap())).unwrap();
    update(&mut state, message);
    assert_eq!(state.chosen_dial(), Some(Dial::Crew));
}

#[test]
fn the_help_shows_what_is_sought_in_it() {
    let mut keys = vec![Message::Help, Message::Find];
    keys.extend(typed("DIALS"));
    keys.push(Message::Enter);
    let state = after(opened(), &keys);
    assert!(matches!(state.mode, Mode::Help { .. }));
    let shown = screen(&state, 80, 24);
    assert!(
        shown.contains("turn the dials") && !shown.contains("start of the trip"),
        "{shown}"
    );
    let again = after(state, &[Message::Close, Message::Help]);
    assert!(screen(&again, 80, 24).contains("start of the trip"));
}

/// Whatever the size: the map, with coordinates and without, draws inside its panel and says what is missing.
#[test]
fn the_map_is_drawn_at_every_size_and_says_what_is_missing() {
    let mut state = opened();
    state.focus = Panel::Map;
    let mut bare = trip();
    (bare.start.lat, bare.start.lon) = (None, None);
    for leg in &mut bare.legs {
        (leg.lat, leg.lon, leg.track) = (None, None, None);
    }
    let mut without = State::new(Plan::of(bare), Units(UnitSystem::Metric));
    without.focus = Panel::Map;
    for (width, height) in [
        (40, 10),
        (40, 12),
        (60, 20),
        (80, 24),
        (120, 40),
        (200, 60),
        (300, 80),
    ] {
        screen(&state, width, height);
        screen(&without, width, height);
    }
    assert!(screen(&without, 80, 30).contains("no map"));
    if state.chart().is_some() {
        assert!(screen(&state, 80, 30).contains("north"));
    }
}

#[test]
fn the_cursor_tells_hours_and_litres_to_the_pump_and_back() {
    let state = after(
        opened(),
        &[Message::NextLeg, Message::NextLeg, Message::NextLeg],
    );
    let shown = screen(&state, 200, 60);
    for words in ["driven, needs", "going back needs"] {
        assert!(shown.contains(words), "{words}\n{shown}");
    }
}

/// One turn of a dial, planned and drawn at 200 x 60.
/// Run with `cargo test --release --test board -- --ignored --nocapture`.
#[test]
#[ignore = "measures time: wants a release build and a quiet machine"]
fn a_turn_of_a_dial_on_forty_and_a_thousand_legs() {
    for legs in [40, 1_000] {
        let example = trip();
        let long = Trip {
            legs: (0..legs)
                .map(|nth| drystage::model::route::Leg {
                    to: format!("Place {nth}"),
                    day: None,
                    fuel: (nth % 5 == 4).then(Default::default),
                    ..example.legs[nth % 6].clone()
                })
                .collect(),
            what_ifs: None,
            ..example
        };
        let mut state = State::new(Plan::of(long), Units(UnitSystem::Metric));
        update(&mut state, Message::Dials);
        let row = state.dial_list().iter().position(|&d| d == Dial::Cargo);
        update(&mut state, Message::Row(row.unwrap()));
        let mut times = Vec::new();
        for nth in 0..100 {
            let started = std::time::Instant::now();
            let turn = if nth % 40 < 20 {
                Message::TurnOn
            } else {
                Message::TurnBack
            };
            update(&mut state, turn);
            state.attend();
            screen(&state, 200, 60);
            times.push(started.elapsed());
        }
        times.sort();
        println!(
            "{legs} legs: median {:?}, 99th percentile {:?}",
            times[50], times[98]
        );
        assert!(state.board.count() > 0);
    }
}
