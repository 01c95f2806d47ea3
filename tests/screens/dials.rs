//! The dials: turning, keeping, taking up, side by side, and tips that belong to what is shown.

use drystage::model::dial::Dial;
use drystage::model::vocabulary::UnitSystem;
use drystage::plan::tipping::tips;
use drystage::plan::{Effort, Plan};
use drystage::present::number::{Toward, Units};
use drystage::quantity::{Kilograms, Litres};
use drystage::tui::message::Message;
use drystage::tui::side_by_side::{self, Beside};
use drystage::tui::state::{Mode, State};
use drystage::tui::update::update;
use drystage::tui::view::click;
use ratatui::layout::{Position, Rect};

use super::{after_each, screen, state, trip, typed};

/// The dials in front, that one chosen.
fn on(dial: Dial) -> State {
    let mut state = after_each(state(trip()), &[Message::Dials]);
    let row = state.dial_list().iter().position(|&d| d == dial).unwrap();
    update(&mut state, Message::Row(row));
    assert_eq!(state.chosen_dial(), Some(dial));
    state
}

#[test]
fn a_turn_moves_strip_and_verdict_and_leaves_the_trip_alone() {
    let before = state(trip());
    let state = after_each(on(Dial::Cargo), &[Message::TurnOn; 3]);
    assert_eq!(*state.trip().as_ref(), trip());
    assert!(!state.history().is_changed());
    assert!(state.plan().totals.fuel > before.plan().totals.fuel);
    let difference = state.dial_difference().unwrap();
    assert!(difference.fuel > Litres::ZERO && difference.mass > Kilograms::new(29.0));
    assert!(state.saved_strip().is_some());
    let shown = screen(&state, 80, 24);
    assert!(shown.contains("what if: +"), "{shown}");
    assert!(shown.contains("30 kg"), "{shown}");
    let back = after_each(state, &[Message::ResetDial]);
    assert_eq!(back.plan().totals, before.plan().totals);
    assert!(back.saved_strip().is_none() && back.dial_difference().is_none());
}

#[test]
fn all_dials_go_back_at_once_and_stay_turned_when_the_layer_is_closed() {
    let turned = after_each(
        on(Dial::Headwind),
        &[Message::TurnOn, Message::ScrollUp, Message::TurnOn],
    );
    assert_eq!(turned.board.dials().len(), 2);
    let closed = after_each(turned, &[Message::Close]);
    assert_eq!(closed.mode, Mode::Browse);
    assert!(closed.dial_difference().is_some());
    let reset = after_each(closed, &[Message::Dials, Message::ResetDials]);
    assert!(!reset.board.is_turned());
    assert_eq!(reset.plan().totals, state(trip()).plan().totals);
}

#[test]
fn a_set_is_kept_undone_and_taken_up_again() {
    let turned = after_each(on(Dial::Crew), &[Message::TurnOn, Message::KeepDials]);
    assert_eq!(turned.mode, Mode::Prompt);
    let mut keys = vec![Message::Erase(drystage::tui::line::Reach::Start)];
    keys.extend(typed("three up"));
    keys.push(Message::Enter);
    let kept = after_each(turned, &keys);
    assert_eq!(kept.mode, Mode::Dials);
    let names: Vec<&str> = kept
        .trip()
        .what_ifs()
        .iter()
        .map(|w| w.name.as_str())
        .collect();
    assert_eq!(names, ["tent on the roof", "twice the sand", "three up"]);
    let turned_plan = kept.plan().totals;
    let fresh = after_each(kept, &[Message::ResetDials]);
    assert_ne!(fresh.plan().totals, turned_plan);
    let taken = after_each(fresh, &[Message::NextWhatIf; 3]);
    assert_eq!(taken.plan().totals, turned_plan);
    assert_eq!(taken.board.dials().len(), 1);
    let undone = after_each(taken, &[Message::Undo]);
    assert_eq!(undone.trip().what_ifs().len(), 2);
}

/// The example's first what-if names a mass that no dial has.
#[test]
fn what_no_dial_says_lies_beneath_and_is_told() {
    let state = after_each(state(trip()), &[Message::Dials, Message::NextWhatIf]);
    assert_eq!(state.board.beneath(), Some("tent on the roof"));
    let with_it = trip().with_what_if("tent on the roof").unwrap();
    assert_eq!(state.plan().totals, Plan::of(with_it).totals);
    assert!(screen(&state, 80, 24).contains("what if tent on the roof"));
}

#[test]
fn kept_sets_stand_side_by_side() {
    let state = after_each(on(Dial::Cargo), &[Message::TurnOn, Message::SideBySide]);
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
    assert!(shown.contains(" left "), "{shown}");
    let narrow = screen(&state, 40, 20);
    assert!(narrow.contains("4 of 8 figures"), "{narrow}");
    assert_eq!(after_each(state, &[Message::Close]).mode, Mode::Dials);
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
    assert!(
        after_each(state, &[Message::Close])
            .tips_to_seek()
            .is_none()
    );
}

#[test]
fn edits_go_on_beneath_turned_dials() {
    let turned = after_each(on(Dial::Cargo), &[Message::TurnOn]);
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

/// Where the verdict goes by samples it is said of what goes by the plain plan; and what is not seen of the list has a mark.
#[test]
fn what_goes_by_the_plain_plan_beside_a_verdict_at_the_confidence_says_so() {
    let plain = after_each(state(trip()), &[Message::Dials]);
    let sampled = Plan::at_confidence(trip(), Effort::FIRST);
    let sampled = State::new(sampled, Units(UnitSystem::Metric));
    let sampled = after_each(sampled, &[Message::Dials]);
    for (open, says) in [
        (&[][..], "tips by the plain plan"),
        (&[Message::SideBySide], "by the plain plan"),
    ] {
        let [plain, sampled] = [&plain, &sampled].map(|state| after_each(state.clone(), open));
        for (width, height) in [(80, 24), (120, 40), (200, 60)] {
            assert!(!screen(&plain, width, height).contains(says));
            let shown = screen(&sampled, width, height);
            assert!(shown.contains(says), "{shown}");
        }
    }
    let heading = |state: &State| {
        let shown = screen(state, 80, 24);
        let line = shown.lines().find(|line| line.contains("what if: "));
        line.unwrap().to_owned()
    };
    assert!(heading(&sampled).ends_with('↓'));
    let end = after_each(sampled, &[Message::TripEnd]);
    assert!(!heading(&end).ends_with('↓'));
}

/// Side by side all rows go by the same: by the plain plan until each is sampled, then at the confidence, as the one that
/// is taken up.
#[test]
fn what_stands_side_by_side_is_at_the_confidence_once_all_of_it_is_sampled() {
    let sampled = State::new(
        Plan::at_confidence(trip(), Effort::refined()),
        Units(UnitSystem::Metric),
    );
    let mut state = after_each(sampled, &[Message::Dials, Message::SideBySide]);
    let spare = |state: &State| -> Vec<String> {
        let (rows, _) = state.beside();
        let cell = |row: Beside| match row {
            Beside::Plan(row) => row.cells[3].clone(),
            other => panic!("{other:?}"),
        };
        rows.into_iter().map(cell).collect()
    };
    let plain = spare(&state);
    let needed = |plan: &Plan| {
        let units = Units(UnitSystem::Metric);
        units.spare(plan.spare.needed, Toward::Up).number
    };
    let names = ["tent on the roof", "twice the sand"];
    let changed = names.map(|name| trip().with_what_if(name).unwrap());
    assert_eq!(plain[1..], changed.map(|trip| needed(&Plan::of(trip))));
    let at_confidence = names.map(|name| {
        let (_, at_confidence) = state.beside();
        assert!(!at_confidence);
        let next = state.beside_to_sample().unwrap();
        assert_eq!(next.1, name);
        let plan = side_by_side::sampled(&next).unwrap();
        state.take_beside_sampled(&next, &plan);
        needed(&plan)
    });
    assert!(state.beside_to_sample().is_none());
    let shown = screen(&state, 80, 24);
    assert!(shown.contains("side by side, at the confidence"), "{shown}");
    assert_eq!(spare(&state)[1..], at_confidence);
    assert_ne!(spare(&state), plain);
}
