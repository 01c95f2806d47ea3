//! Editing in place: rows, fields, legs that are cut and moved, undo, quitting.

use drystage::model::vocabulary::{Surface, UnitSystem};
use drystage::plan::Plan;
use drystage::present::name::width;
use drystage::present::number::Units;
use drystage::quantity::Share;
use drystage::tui::line::Reach;
use drystage::tui::message::{Effect, Message};
use drystage::tui::sheet::Topic;
use drystage::tui::state::{Mode, Question, State};
use drystage::tui::update::update;
use drystage::tui::view::view;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::{PLAIN, after, drawn, state, text, trip, typed};

/// While a value is typed the plan is that of the trip with it; given up, it is the plan of before.
#[test]
fn the_plan_follows_what_is_typed() {
    let litres = |state: &State| state.plan().totals.fuel;
    let before = litres(&state(trip()));
    let mut messages = vec![Message::Edit];
    messages.extend([Message::ScrollDown; 4]);
    messages.extend(typed("200"));
    let typing = after(state(trip()), &messages);
    assert!(litres(&typing) > before);
    assert_eq!(typing.settled().totals.fuel, before);
    assert_eq!(**typing.trip(), trip(), "nothing is changed yet");
    let given_up = after(typing.clone(), &[Message::Close]);
    assert_eq!(litres(&given_up), before);
    let taken = after(typing, &[Message::Enter]);
    assert!(litres(&taken) > before && taken.history().is_changed());
    let undone = after(taken.clone(), &[Message::Undo]);
    assert_eq!(
        (litres(&undone), undone.history().is_changed()),
        (before, false)
    );
    let again = after(undone, &[Message::Redo]);
    assert_eq!(again.trip(), taken.trip());
}

/// The cursor of the terminal stands where the next letter comes.
#[test]
fn the_cursor_stands_in_the_text() {
    let mut messages = vec![Message::Edit, Message::Enter, Message::Erase(Reach::Start)];
    messages.extend(typed("漢字"));
    let state = after(state(trip()), &messages);
    let area = Rect::new(0, 0, 80, 24);
    let mut buf = Buffer::empty(area);
    let cursor = view(&state, PLAIN, area, &mut buf).unwrap();
    let row = text(&buf).lines().nth(cursor.y.into()).unwrap().to_owned();
    let before: String = row.chars().take_while(|&c| c != '字').collect();
    assert_eq!(width(&before) + 2, usize::from(cursor.x), "{row}");
}

#[test]
fn words_are_chosen_and_units_are_the_readers() {
    let us = State::new(Plan::best_estimate(trip()), Units(UnitSystem::Us));
    let mut messages = vec![Message::Edit];
    messages.extend([Message::ScrollDown; 4]);
    messages.push(Message::Enter);
    let typing = after(us.clone(), &messages);
    let screen = text(&drawn(&typing, PLAIN, 100, 30));
    assert!(
        screen.contains("88.2347") && screen.contains(" mi"),
        "{screen}"
    );
    // As it was it changes nothing, whatever digits were cut.
    let same = after(typing, &[Message::Enter]);
    assert!(!same.history().is_changed());
    messages.extend([Message::Erase(Reach::Start)]);
    messages.extend(typed("100"));
    messages.push(Message::Enter);
    let hundred = after(us, &messages);
    let km = hundred.trip().legs[0].distance_km.unwrap();
    assert!((km.get() - 160.9344).abs() < 1e-9);
    // The row below is the ground: a letter chooses the next word that begins with it.
    let muddy = after(
        hundred,
        &[Message::Enter, Message::Type('m'), Message::Enter],
    );
    assert_eq!(muddy.trip().legs[0].surface, Some(Surface::Mud));
}

#[test]
fn legs_are_cut_moved_and_taken_out() {
    let names = |state: &State| -> Vec<String> {
        state.trip().legs.iter().map(|leg| leg.to.clone()).collect()
    };
    let cut = [
        Message::Edit,
        Message::NextLeg,
        Message::Split,
        Message::Enter,
    ];
    let state = after(state(trip()), &cut);
    assert_eq!(names(&state)[1], "Two Cairns, 48 km before");
    assert_eq!(state.mode, Mode::Sheet);
    let state = after(state, &[Message::Later]);
    assert_eq!(names(&state)[2], "Two Cairns, 48 km before");
    assert_eq!(state.leg(), 3, "the chosen leg goes along");
    let state = after(
        state,
        &[Message::Delete, Message::Undo, Message::Undo, Message::Undo],
    );
    assert_eq!(**state.trip(), trip());
    let refused = after(state, &[Message::NextLeg, Message::Join]);
    let status = refused.status.as_deref().unwrap_or_default();
    assert!(
        status.contains("can be joined only if both have the same")
            || status.contains("across the fuel stop"),
        "{status}"
    );
    assert_eq!(**refused.trip(), trip());
}

#[test]
fn every_row_of_every_subject_can_be_typed_and_given_up() {
    let mut state = state(trip());
    update(&mut state, Message::Edit);
    for _ in 0..11 {
        for _ in 0..state.rows().len() {
            update(&mut state, Message::Enter);
            // A patch is not typed.
            if state.mode == Mode::Field {
                for message in [Message::Type('x'), Message::ScrollDown, Message::Close] {
                    update(&mut state, message);
                    state.attend();
                }
            }
            assert_eq!((state.mode, state.trip().as_ref()), (Mode::Sheet, &trip()));
            update(&mut state, Message::ScrollDown);
        }
        update(&mut state, Message::NextPanel);
    }
}

#[test]
fn quitting_with_changes_asks_and_without_does_not() {
    let state = state(trip());
    let mut clean = state.clone();
    assert_eq!(update(&mut clean, Message::Quit), Some(Effect::Quit));
    let edits = [Message::Edit, Message::OutAndBack, Message::Close];
    let mut changed = after(state, &edits);
    assert_eq!(update(&mut changed, Message::Quit), None);
    assert_eq!(changed.mode, Mode::Ask(Question::Quit));
    update(&mut changed, Message::Close);
    assert_eq!(changed.mode, Mode::Browse);
    update(&mut changed, Message::Quit);
    assert_eq!(update(&mut changed, Message::No), Some(Effect::Quit));
}

/// A letter that means something over the strip is a letter in a field; Esc closes one layer after the other.
#[test]
fn in_a_field_letters_are_letters_and_escape_leaves_it() {
    for is_changed in [false, true] {
        let mut open = vec![Message::Edit];
        if is_changed {
            open.push(Message::OutAndBack);
        }
        let mut state = after(state(trip()), &open);
        update(&mut state, Message::Enter);
        assert_eq!(state.mode, Mode::Field);
        assert_eq!(update(&mut state, Message::Type('q')), None);
        assert!(state.editor.as_ref().unwrap().line.text().ends_with('q'));
        for mode in [Mode::Sheet, Mode::Browse, Mode::Browse] {
            assert_eq!(update(&mut state, Message::Close), None);
            assert_eq!(state.mode, mode);
        }
        let asked = update(&mut state, Message::Quit).is_none();
        assert_eq!(asked, is_changed);
    }
}

#[test]
fn unsaved_changes_are_marked_before_the_name() {
    let title = |state: &State| {
        let shown = text(&drawn(state, PLAIN, 80, 24));
        shown.lines().next().unwrap().to_owned()
    };
    let mut changed = state(trip());
    changed.file = Some("trip.json".to_owned());
    assert!(!title(&changed).starts_with('*'));
    update(&mut changed, Message::Edit);
    update(&mut changed, Message::OutAndBack);
    changed.attend();
    assert!(title(&changed).starts_with("* Four days"));
    // One key, and no question.
    assert_eq!(
        update(&mut changed, Message::Save),
        Some(Effect::Save {
            over: false,
            then_quit: false
        })
    );
    update(&mut changed, Message::Undo);
    changed.attend();
    assert!(!title(&changed).starts_with('*'));
}

/// A can of another size weighs what such a can weighs, until its mass was typed; Enter leads to how many there are, and a
/// copied thing has a name of its own.
#[test]
fn things_are_proposed_as_they_are() {
    let mut state = after(state(trip()), &[Message::Edit]);
    state.topic = Topic::Cans;
    let keys = [Message::Add, Message::Erase(Reach::Start)];
    let mut state = after(state, &keys);
    let row = |state: &State| state.rows()[state.row].at.clone();
    assert_eq!(row(&state), "/load/cans/1/size_l");
    state = after(state, &typed("10"));
    state = after(state, &[Message::Enter]);
    let can = &state.trip().load().cans()[1];
    assert_eq!((can.size_l.get(), can.empty_kg.get()), (10.0, 2.2));
    assert_eq!(row(&state), "/load/cans/1/owned");
    state.topic = Topic::Gear;
    state.row = 0;
    state = after(state, &[Message::Duplicate]);
    let gear = state.trip().load().gear();
    assert_eq!(
        (gear[0].name.as_str(), gear[1].name.as_str()),
        ("drinking water", "drinking water 2")
    );
    // From the mass the place is next, and not what is used each day.
    let mass = "/load/gear/1/mass_kg";
    state.row = state.rows().iter().position(|row| row.at == mass).unwrap();
    state = after(state, &[Message::Enter, Message::Enter]);
    assert_eq!(row(&state), "/load/gear/1/place");
}

/// The letters typed at a choice are the beginning of the word that is meant.
#[test]
fn a_word_is_chosen_by_its_beginning() {
    for word in Surface::WORDS {
        let mut state = after(state(trip()), &[Message::Edit]);
        state.row = state
            .rows()
            .iter()
            .position(|row| row.at == "/legs/0/surface")
            .unwrap();
        state = after(state, &[Message::Enter]);
        state = after(state, &typed(word));
        state = after(state, &[Message::Enter]);
        assert_eq!(state.trip().legs[0].surface().word(), *word);
    }
}

/// Pressing Ctrl-C again at the question leaves, and what is unsaved is offered at the next start; only n discards it.
#[test]
fn only_no_discards_edits() {
    let mut changed = after(state(trip()), &[Message::Edit, Message::Delete]);
    assert!(changed.history().is_changed());
    assert_eq!(update(&mut changed, Message::Quit), None);
    assert_eq!(update(&mut changed, Message::Quit), Some(Effect::Leave));
    changed.mode = Mode::Ask(Question::Quit);
    assert_eq!(update(&mut changed, Message::No), Some(Effect::Quit));
}

/// One form has all of a fuel stop, and says what the plan makes of it; Esc changes nothing.
#[test]
fn a_fuel_stop_is_set_in_one_form() {
    let status_after = |chance: &str, reliance: &str| {
        let mut state = after(state(trip()), &[Message::FuelStop]);
        let shown = text(&drawn(&state, PLAIN, 100, 30));
        assert!(shown.contains("fuel stop at Cold Spring"), "{shown}");
        for answer in [chance, reliance, "", "", "", ""] {
            state = after(state, &typed(answer));
            state = after(state, &[Message::Enter]);
        }
        (state.status.clone().unwrap().into_owned(), state)
    };
    let (status, set) = status_after("75", "");
    assert_eq!(
        status,
        "Cold Spring: 75 %: not relied on at a target of 95 %; set always to rely on it; u undoes it"
    );
    let fuel = set.trip().legs[0].fuel.as_ref().unwrap();
    assert_eq!(fuel.chance(), Share::new(0.75));
    let (status, _) = status_after("75", "always");
    assert_eq!(status, "Cold Spring: relied on, as set; u undoes it");
    let (status, _) = status_after("", "");
    assert_eq!(status, "Cold Spring: confirmed, relied on; u undoes it");
    let closed = after(
        state(trip()),
        &[Message::FuelStop, Message::Type('5'), Message::Close],
    );
    assert!(!closed.history().is_changed());
}
