//! The sliders: moving, saving, loading, side by side, and changes of the verdict that belong to what is shown.

use drystage::model::slider::Slider;
use drystage::model::vocabulary::UnitSystem;
use drystage::plan::Plan;
use drystage::plan::tipping::tips;
use drystage::present::number::{Toward, Units};
use drystage::quantity::{Kilograms, Litres};
use drystage::tui::beside::Workers;
use drystage::tui::message::Message;
use drystage::tui::side_by_side::{self, ComparisonRow};
use drystage::tui::sliders;
use drystage::tui::state::{Mode, State};
use drystage::tui::update::update;
use drystage::tui::view::click;
use ratatui::layout::{Position, Rect};

use super::{after_each, screen, simulated, state, trip, typed, wait};

/// The sliders in front, that one chosen.
fn on(slider: Slider) -> State {
    let mut state = after_each(state(trip()), &[Message::Sliders]);
    let row = state
        .slider_list()
        .iter()
        .position(|&d| d == slider)
        .unwrap();
    update(&mut state, Message::Row(row));
    assert_eq!(state.chosen_slider(), Some(slider));
    state
}

#[test]
fn a_turn_moves_strip_and_verdict_and_leaves_the_trip_alone() {
    let before = state(trip());
    let state = after_each(on(Slider::Cargo), &[Message::SliderUp; 3]);
    assert_eq!(*state.trip().as_ref(), trip());
    assert!(!state.history().is_changed());
    assert!(state.plan().totals.fuel > before.plan().totals.fuel);
    let difference = state.slider_difference().unwrap();
    assert!(difference.fuel > Litres::ZERO && difference.mass > Kilograms::new(29.0));
    assert!(state.saved_strip().is_some());
    let shown = screen(&state, 80, 24);
    assert!(shown.contains("what if: +"), "{shown}");
    assert!(shown.contains("30 kg"), "{shown}");
    let back = after_each(state, &[Message::ResetSlider]);
    assert_eq!(back.plan().totals, before.plan().totals);
    assert!(back.saved_strip().is_none() && back.slider_difference().is_none());
}

/// Beside the screen: once turned back, what was planned is forgotten and must be planned again.
#[test]
fn a_slider_turned_back_and_turned_again_is_shown_again() {
    let mut state = on(Slider::Cargo);
    let mut workers = Workers::start(&mut state, super::no_files());
    for turn in [Message::SliderUp, Message::SliderDown, Message::SliderUp] {
        update(&mut state, turn);
        workers.before_frame(&mut state);
        wait(&mut workers, &mut state, |state| !state.is_behind());
    }
    assert!(state.slider_difference().unwrap().mass > Kilograms::new(9.0));
}

#[test]
fn all_dials_go_back_at_once_and_stay_turned_when_the_layer_is_closed() {
    let turned = after_each(
        on(Slider::Headwind),
        &[Message::SliderUp, Message::ScrollUp, Message::SliderUp],
    );
    assert_eq!(turned.board.sliders().len(), 2);
    let closed = after_each(turned, &[Message::Close]);
    assert_eq!(closed.mode, Mode::Browse);
    assert!(closed.slider_difference().is_some());
    let reset = after_each(closed, &[Message::Sliders, Message::ResetSliders]);
    assert!(!reset.board.is_turned());
    assert_eq!(reset.plan().totals, state(trip()).plan().totals);
}

#[test]
fn a_set_is_kept_undone_and_taken_up_again() {
    let turned = after_each(
        on(Slider::People),
        &[Message::SliderUp, Message::SaveWhatIf],
    );
    assert_eq!(turned.mode, Mode::Prompt);
    let mut keys = vec![Message::Erase(drystage::tui::line::Reach::Start)];
    keys.extend(typed("three up"));
    keys.push(Message::Enter);
    let kept = after_each(turned, &keys);
    assert_eq!(kept.mode, Mode::Sliders);
    let names: Vec<&str> = kept
        .trip()
        .what_ifs()
        .iter()
        .map(|w| w.name.as_str())
        .collect();
    assert_eq!(names, ["tent on the roof", "twice the sand", "three up"]);
    let turned_plan = kept.plan().totals;
    let fresh = after_each(kept, &[Message::ResetSliders]);
    assert_ne!(fresh.plan().totals, turned_plan);
    let taken = after_each(fresh, &[Message::NextWhatIf; 3]);
    assert_eq!(taken.plan().totals, turned_plan);
    assert_eq!(taken.board.sliders().len(), 1);
    let undone = after_each(taken, &[Message::Undo]);
    assert_eq!(undone.trip().what_ifs().len(), 2);
}

/// The example's first what-if names a mass that no slider has.
#[test]
fn what_no_slider_sets_is_the_base_and_is_reported() {
    let state = after_each(state(trip()), &[Message::Sliders, Message::NextWhatIf]);
    assert_eq!(state.board.beneath(), Some("tent on the roof"));
    let with_it = trip().with_what_if("tent on the roof").unwrap();
    assert_eq!(state.plan().totals, Plan::best_estimate(with_it).totals);
    assert!(screen(&state, 80, 24).contains("what if tent on the roof"));
}

#[test]
fn kept_sets_stand_side_by_side() {
    let state = after_each(on(Slider::Cargo), &[Message::SliderUp, Message::SideBySide]);
    assert_eq!(state.mode, Mode::SideBySide);
    let shown = screen(&state, 80, 24);
    for row in [
        "as in the trip",
        "slider settings",
        "tent on the roof",
        "twice the sand",
    ] {
        assert!(shown.contains(row), "{row}\n{shown}");
    }
    assert!(shown.contains(" margin "), "{shown}");
    let narrow = screen(&state, 40, 20);
    assert!(narrow.contains("4 of 8 columns"), "{narrow}");
    assert_eq!(after_each(state, &[Message::Close]).mode, Mode::Sliders);
}

/// An answer that was sought for an older state is dropped; the right one is shown.
#[test]
fn changes_belong_to_the_state_that_they_were_sought_for() {
    let mut state = after_each(simulated(trip()), &[Message::Sliders]);
    let row = state.slider_list().iter().position(|&d| d == Slider::Cargo);
    update(&mut state, Message::Row(row.unwrap()));
    let job = state.changes_to_seek().unwrap();
    assert_eq!(job.wanted.first(), Some(&Slider::Cargo));
    let found = tips(
        &job.base,
        &job.sliders,
        Slider::Cargo,
        sliders::EFFORT,
        &|| true,
    )
    .unwrap();
    let found = Message::VerdictChanges(job.count, Slider::Cargo, found);
    update(&mut state, found);
    assert!(state.board.changes(Slider::Cargo).is_some());
    let shown = screen(&state, 100, 30);
    assert!(
        shown.contains("from") && shown.contains("verdict changes at"),
        "{shown}"
    );
    update(&mut state, Message::SliderUp);
    assert_eq!(
        state.board.changes(Slider::Cargo),
        None,
        "worth nothing any more"
    );
    update(&mut state, found);
    assert_eq!(state.board.changes(Slider::Cargo), None, "too late");
    state.attend();
    assert!(state.changes_to_seek().is_none(), "not simulated yet");
    state.simulate(true);
    assert_ne!(state.changes_to_seek().unwrap().count, job.count);
    assert!(
        after_each(state, &[Message::Close])
            .changes_to_seek()
            .is_none()
    );
}

/// Where no trip is simulated, no mark says where a verdict changes.
#[test]
fn best_estimates_have_no_changes_of_a_verdict() {
    let state = after_each(state(trip()), &[Message::Sliders]);
    assert!(state.changes_to_seek().is_none());
    assert!(!screen(&state, 120, 40).contains("verdict changes"));
}

#[test]
fn edits_go_on_beneath_turned_sliders() {
    let turned = after_each(on(Slider::Cargo), &[Message::SliderUp]);
    let count = turned.board.count();
    let mut edited = turned;
    let change = drystage::model::change::Change::delete_legs(edited.trip(), 5, 1).unwrap();
    edited.make(&change).unwrap();
    edited.attend();
    assert_eq!(edited.plan().legs.len(), 5);
    assert!(edited.board.count() > count);
    let expected = Plan::best_estimate(edited.board.sliders().trip(edited.trip()));
    assert_eq!(edited.plan().totals, expected.totals);
    let difference = edited.slider_difference().unwrap();
    assert!(difference.mass > Kilograms::new(9.0) && difference.mass < Kilograms::new(11.0));
}

#[test]
fn a_click_chooses_a_slider() {
    let mut state = on(Slider::Roof);
    let area = Rect::new(0, 0, 80, 24);
    let lines: Vec<String> = screen(&state, 80, 24).lines().map(str::to_owned).collect();
    let y = lines
        .iter()
        .position(|line| line.starts_with("people"))
        .unwrap();
    let message = click(&state, area, Position::new(3, u16::try_from(y).unwrap())).unwrap();
    update(&mut state, message);
    assert_eq!(state.chosen_slider(), Some(Slider::People));
}

/// What is not seen of the list has a mark.
#[test]
fn a_mark_tells_that_there_is_more_of_the_list() {
    let open = after_each(state(trip()), &[Message::Sliders]);
    let heading = |state: &State| {
        let shown = screen(state, 80, 24);
        let line = shown.lines().find(|line| line.contains("what if: "));
        line.unwrap().to_owned()
    };
    assert!(heading(&open).ends_with('↓'));
    let end = after_each(open, &[Message::TripEnd]);
    assert!(!heading(&end).ends_with('↓'));
}

/// Side by side every row is calculated until its plan is the one that is taken up; without simulation the figures are
/// best estimates, are called that, and have no verdict.
#[test]
fn what_stands_side_by_side_is_simulated_or_called_a_best_estimate() {
    let side_by_side = [Message::Sliders, Message::SideBySide];
    let estimated = after_each(state(trip()), &side_by_side);
    let shown = screen(&estimated, 80, 24);
    assert!(shown.contains("side by side, best estimate"), "{shown}");
    for row in estimated.comparison_rows() {
        let ComparisonRow::Plan(row) = row else {
            panic!("{row:?}");
        };
        assert_eq!(row.cells[0], "-");
    }

    let mut state = state(trip()).with_simulation(true);
    state = after_each(state, &side_by_side);
    let is_calculating = |row: &ComparisonRow| matches!(row, ComparisonRow::Calculating { .. });
    assert!(state.comparison_rows().iter().all(is_calculating));
    assert!(
        state.beside_to_simulate().is_none(),
        "first the trip itself"
    );
    state.simulate(false);
    assert!(state.comparison_rows().iter().all(is_calculating));
    state.simulate(true);
    assert!(!is_calculating(&state.comparison_rows()[0]));
    for (nth, name) in ["tent on the roof", "twice the sand"].iter().enumerate() {
        assert!(screen(&state, 80, 24).contains("calculating"));
        let next = state.beside_to_simulate().unwrap();
        assert_eq!(next.1, *name);
        let plan = side_by_side::simulated(&next).unwrap();
        state.take_beside_simulated(&next, &plan);
        let ComparisonRow::Plan(row) = &state.comparison_rows()[nth + 1] else {
            panic!("{name}");
        };
        let needed = Units(UnitSystem::Metric).fuel_tenths(plan.in_cans.needed, Toward::Up);
        assert_eq!(row.cells[3], needed.number);
        assert!(["yes", "NO"].contains(&row.cells[0].as_str()));
    }
    assert!(state.beside_to_simulate().is_none());
    assert!(!screen(&state, 80, 24).contains("calculating"));
}
