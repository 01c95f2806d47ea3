//! Going to what is named: places, findings, lines of the help; what the cursor tells of where it is.

use drystage::model::route::Leg;
use drystage::model::vocabulary::UnitSystem;
use drystage::plan::{Effort, Plan};
use drystage::present::number::Units;
use drystage::tui::message::Message;
use drystage::tui::state::{Mode, Panel, State};

use super::{after_each, screen, state, trip, typed};

#[test]
fn a_place_is_found_by_a_part_of_its_name_round_and_round() {
    let find = |state: State, text: &str| {
        let mut keys = vec![
            Message::Find,
            Message::Erase(drystage::tui::line::Reach::Start),
        ];
        keys.extend(typed(text));
        keys.push(Message::Enter);
        after_each(state, &keys)
    };
    let state = find(state(trip()), "SALT");
    // The leg to Salt Edge, which has its fuel stop, and not the leg from there.
    assert_eq!((state.mode, state.leg()), (Mode::Browse, 5));
    let state = find(state, "harrow");
    assert_eq!(state.at(), state.strip().length());
    let state = after_each(state, &[Message::Find, Message::Enter]);
    assert_eq!(state.leg(), 1, "the same again goes on, round and round");
    let nowhere = find(state, "atlantis");
    assert_eq!(nowhere.mode, Mode::Prompt);
    assert!(screen(&nowhere, 80, 24).contains("no place matches"));
}

#[test]
fn a_chosen_finding_leads_to_its_place() {
    let mut state = state(trip());
    state.focus = Panel::Findings;
    let findings = state.plan().findings.clone();
    for (nth, finding) in findings.iter().enumerate() {
        state = after_each(state, &[Message::TripStart, Message::Look]);
        match finding.at {
            drystage::plan::Where::Leg(leg) => assert_eq!(state.leg(), leg),
            drystage::plan::Where::Place(place_number) => {
                assert_eq!(state.at(), state.strip().place(place_number).at);
            }
            _ => assert!(state.status.is_some()),
        }
        state = after_each(state, &[Message::ScrollDown]);
        assert_eq!(
            state.scroll_of(Panel::Findings),
            (nth + 1).min(findings.len() - 1)
        );
    }
}

#[test]
fn the_help_shows_what_is_sought_in_it() {
    let mut keys = vec![Message::Help, Message::Find];
    keys.extend(typed("SLIDERS"));
    keys.push(Message::Enter);
    let state = after_each(state(trip()), &keys);
    assert_eq!(state.mode, Mode::Help);
    let shown = screen(&state, 80, 24);
    assert!(
        shown.contains("open the sliders") && !shown.contains("start of the trip"),
        "{shown}"
    );
    let again = after_each(state, &[Message::Close, Message::Help]);
    assert!(screen(&again, 80, 24).contains("start of the trip"));
}

/// What is the name of a key finds what that key does, in every layer, and nothing else; the lines follow each letter.
#[test]
fn the_help_is_sought_by_key_and_shows_what_is_found_while_it_is_typed() {
    for (key, finds, not) in [
        ("s", "split the leg", "reverse the leg"),
        ("S", "save under another name", "next leg"),
        ("ctrl-z", "suspend; fg", "undo"),
        ("Shift-Tab", "previous panel", "next panel"),
        ("f1", "this list, also while", "F2"),
        ("und", "undo", "next leg"),
    ] {
        let mut keys = vec![Message::Help, Message::Find];
        keys.extend(typed(key));
        let state = after_each(state(trip()), &keys);
        assert_eq!(state.mode, Mode::FindHelp, "still typed");
        let shown = screen(&state, 80, 24);
        assert!(
            shown.contains(finds) && !shown.contains(not),
            "{key}\n{shown}"
        );
        let given_up = after_each(state, &[Message::Close]);
        assert_eq!(given_up.mode, Mode::Help);
        assert!(screen(&given_up, 80, 24).contains("start of the trip"));
    }
}

#[test]
fn the_cursor_tells_hours_and_litres_to_the_fuel_stop_and_back() {
    // What returning needs is known of simulated trips.
    let plan = Plan::at_target(trip(), Effort::FIRST);
    let state = after_each(
        State::new(plan, Units(UnitSystem::Metric)),
        &[
            Message::NextLeg,
            Message::NextLeg,
            Message::NextLeg,
            Message::Focus(Panel::Leg),
        ],
    );
    let shown = screen(&state, 200, 60);
    for words in ["driving; best estimate needs", "return needs"] {
        assert!(shown.contains(words), "{words}\n{shown}");
    }
}

/// After a search the keys for marks go from one place that was found to the next, until the search is closed.
#[test]
fn what_was_found_is_gone_through_on_and_back() {
    let mut keys = vec![Message::Find];
    keys.extend(typed("harrow"));
    keys.push(Message::Enter);
    let state = after_each(state(trip()), &keys);
    assert_eq!(state.at(), state.strip().length());
    assert!(state.status.as_deref().unwrap().contains("match 2 of 2"));
    let back = after_each(state, &[Message::PreviousMark]);
    assert_eq!(back.leg(), 1);
    let round = after_each(back, &[Message::PreviousMark]);
    assert_eq!(round.at(), round.strip().length());
    let ended = after_each(
        round,
        &[Message::Close, Message::TripStart, Message::NextMark],
    );
    let first = ended.strip().all_marks()[0].at;
    assert_eq!(ended.at(), first, "to a mark again");
}

/// Three days of two, one and two legs.
fn three_days() -> State {
    let mut trip = trip();
    let leg = trip.legs[0].clone();
    trip.legs = [1, 1, 2, 3, 3]
        .iter()
        .enumerate()
        .map(|(nth, day)| Leg {
            to: format!("place {nth}"),
            day: Some(*day),
            fuel: None,
            lat: None,
            lon: None,
            ..leg.clone()
        })
        .collect();
    trip.what_ifs = None;
    state(trip)
}

#[test]
fn one_moves_by_days() {
    use Message::{NextDay, NextLeg, PreviousDay};
    let leg = |messages: &[Message]| after_each(three_days(), messages).leg();
    assert_eq!(leg(&[NextDay]), 3);
    assert_eq!(leg(&[NextDay, NextDay]), 4);
    assert_eq!(leg(&[NextDay, NextDay, NextDay]), 4);
    assert_eq!(leg(&[NextDay, NextDay, NextLeg, PreviousDay]), 4);
    assert_eq!(leg(&[NextDay, NextDay, PreviousDay]), 3);
    assert_eq!(leg(&[NextLeg, PreviousDay]), 1);
    let last = after_each(three_days(), &[NextDay, NextDay, NextDay]);
    assert!(screen(&last, 80, 24).contains("no later day"));
    // In the fields and in the leg table as well.
    assert_eq!(leg(&[Message::Edit, NextDay]), 3);
    let table = [
        Message::Focus(Panel::Legs),
        Message::Edit,
        NextDay,
        PreviousDay,
    ];
    assert_eq!(leg(&table), 1);
}

#[test]
fn letters_after_a_pause_begin_another_word() {
    let mut state = after_each(three_days(), &[Message::Edit]);
    let rows = state.rows();
    state.row = rows
        .iter()
        .position(|row| row.field.path.ends_with("/surface"))
        .unwrap();
    let chosen = |letters: &[Message]| {
        let state = after_each(state.clone(), &[&[Message::Enter], letters].concat());
        state.editor.unwrap().line.text().to_owned()
    };
    let [s, a] = [Message::Type('s'), Message::Type('e')];
    assert_eq!(chosen(&[s, a]), "sealed");
    assert_eq!(chosen(&[s, Message::Pause, a]), "earth");
}
