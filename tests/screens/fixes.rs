//! Fixes to make a trip fit: looked for behind the screen, listed in the load panel, tried one after the other.

use drystage::model::change::Change;
use drystage::model::vocabulary::UnitSystem;
use drystage::plan::Plan;
use drystage::present::number::Units;
use drystage::tui::message::Message;
use drystage::tui::state::State;
use drystage::tui::update::update;

/// Presses the key for fixes, and searches for them as is done behind the screen.
fn look_for_ways(state: &mut State) {
    update(state, Message::TryFix);
    assert_eq!(state.fixes().len(), 1, "looking for them");
    let plan = state.fixes_to_search().unwrap().clone();
    assert!(plan.search_fixes(&|| true));
    update(state, Message::FixesFound);
    state.attend();
}

/// What is looked for is dropped when the trip is another, and when it is asked for no more; and nothing is made while
/// something else is done.
#[test]
fn ways_that_come_too_late_change_nothing() {
    let document = include_str!("../../sample-routes/long-dry-stage.json");
    let trip = drystage::model::check::read(serde_json::from_str(document).unwrap()).unwrap();
    let mut state = State::new(Plan::best_estimate(trip), Units(UnitSystem::Metric));
    let stated = state.trip().clone();
    update(&mut state, Message::TryFix);
    assert!(state.fixes_to_search().is_some());
    update(&mut state, Message::Close);
    assert!(state.fixes_to_search().is_none());
    update(&mut state, Message::FixesFound);
    assert_eq!(state.trip(), &stated);

    update(&mut state, Message::TryFix);
    let change = Change::set(&stated, "/load/gear/2/mass_kg", Some(37.into()));
    state.make(&change).unwrap();
    state.attend();
    assert!(state.fixes_to_search().is_none());
    let changed = state.trip().clone();
    update(&mut state, Message::FixesFound);
    assert_eq!(state.trip(), &changed);
    assert!(state.fixes().is_empty());

    update(&mut state, Message::TryFix);
    update(&mut state, Message::Help);
    state.fixes_to_search().unwrap().search_fixes(&|| true);
    update(&mut state, Message::FixesFound);
    assert_eq!(state.trip(), &changed);
    assert!(state.fixes().len() > 1);
}

/// The key for fixes lists the fixes in the load panel and makes the first; again, the next in its place; undo takes
/// it back.
#[test]
fn ways_to_make_it_fit_are_tried_one_after_the_other() {
    let document = include_str!("../data/example-trip.json");
    let mut document: serde_json::Value = serde_json::from_str(document).unwrap();
    document["load"]["gear"][2]["mass_kg"] = 55.into();
    let trip = drystage::model::check::read(document).unwrap();
    let mut state = State::new(Plan::best_estimate(trip), Units(UnitSystem::Metric));
    let stated = state.trip().clone();
    look_for_ways(&mut state);
    let fixes = state.fixes();
    assert!(fixes.len() > 1, "{fixes:?}");
    assert!(fixes[0].1 && !fixes[1].1);
    let over = |state: &State| {
        state
            .plan()
            .load
            .bars
            .iter()
            .any(drystage::plan::LoadBar::is_over)
    };
    assert!(!over(&state));
    update(&mut state, Message::TryFix);
    state.attend();
    assert!(state.fixes()[1].1);
    assert!(!over(&state));
    update(&mut state, Message::Undo);
    state.attend();
    assert_eq!(state.trip(), &stated);
    assert!(over(&state));
}
