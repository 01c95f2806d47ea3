//! Whatever the trip, the size and the keys.

use drystage::model::vocabulary::Surface;
use drystage::model::{Trip, route::Leg};
use drystage::quantity::{Kilometres, Share};
use drystage::tui::keymap::BINDINGS;
use drystage::tui::message::Message;
use drystage::tui::theme::{Depth, Theme};
use drystage::tui::update::update;
use drystage::tui::view::Look;
use proptest::prelude::*;
use proptest::test_runner::FileFailurePersistence;

use super::{after, drawn, state, text, trip};

/// Any message, in any order.
fn messages() -> impl Strategy<Value = Vec<Message>> {
    // What doubles the trip each time would make one that takes all day.
    let of_keys = (0..BINDINGS.len())
        .prop_map(|nth| BINDINGS[nth].message)
        .prop_filter("doubles the trip", |message| {
            *message != Message::OutAndBack
        });
    let clicked = (-10.0..5000.0_f64).prop_map(|km| Message::GoTo(Kilometres::new(km)));
    prop::collection::vec(prop_oneof![9 => of_keys, 1 => clicked], 0..14)
}

fn any_leg() -> impl Strategy<Value = Leg> {
    let name = prop_oneof![
        "\\PC{0,24}",
        ".{0,24}",
        "[漢字かな🏜️e\u{301}\u{200b}\u{202e}]{0,12}"
    ];
    let surface = prop::sample::select(Surface::ALL);
    let length = prop_oneof![Just(0.0), Just(0.001), 0.1..2000.0_f64, Just(1e7)];
    (name, surface, length, 0.0..1.0_f64, 0_u32..3, any::<bool>()).prop_map(
        |(name, surface, length, share, days, fuel)| Leg {
            distance_km: Some(Kilometres::new(length)),
            surface: Some(surface),
            sand_share: Some(Share::new(share)),
            low_range_share: Some(Share::new(1.0 - share)),
            day: Some(days + 1),
            fuel: fuel.then(Default::default),
            ..Leg::to(name)
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 40,
        failure_persistence: Some(Box::new(FileFailurePersistence::Direct("tests/regressions/screens.txt"))),
        ..ProptestConfig::default()
    })]

    /// Whatever the trip, the size and the keys: no panic, and every row is as wide as the screen.
    #[test]
    fn any_trip_at_any_size(
        mut legs in prop::collection::vec(any_leg(), 1..12),
        (width, height) in (0_u16..=300, 0_u16..=80),
        messages in messages(),
        ascii in any::<bool>(),
    ) {
        legs.sort_by_key(|leg| leg.day);
        let state = after(state(Trip { legs, ..trip() }), &messages);
        let look = Look { theme: Theme::new(Depth::True), ascii };
        let buf = drawn(&state, look, width, height);
        for line in text(&buf).lines() {
            prop_assert_eq!(drystage::present::name::width(line), usize::from(width), "{}", line);
        }
    }

    /// Whatever is typed: undone to the last it is the trip of before, redone to the last the trip of after; and
    /// what only looks changes nothing.
    #[test]
    fn all_is_undone_and_done_again(
        keys in prop::collection::vec(prop_oneof![
            6 => (0..BINDINGS.len()).prop_map(|nth| BINDINGS[nth].message),
            3 => prop::sample::select(&['1', '5', '0', 'm', 'x', 'y'][..]).prop_map(Message::Type),
            2 => Just(Message::Edit),
        ], 0..60),
    ) {
        let mut state = state(trip());
        for message in keys {
            // What doubles the trip each time would make one that takes all day; what looks for ways, too.
            if matches!(message, Message::OutAndBack | Message::TryFix) {
                continue;
            }
            let before = state.trip().clone();
            update(&mut state, message);
            state.attend();
            prop_assert!(may_change(message) || *state.trip() == before, "{:?}", message);
        }
        // Out of whatever is in front.
        for _ in 0..4 {
            update(&mut state, Message::No);
            update(&mut state, Message::Close);
        }
        update(&mut state, Message::Redo);
        while state.history().last_undone().is_some() {
            update(&mut state, Message::Redo);
        }
        let end = state.trip().clone();
        let count = state.history().changes_made();
        for _ in 0..count {
            update(&mut state, Message::Undo);
            prop_assert!(state.status.as_ref().unwrap().starts_with("undone: "));
        }
        prop_assert_eq!(state.trip().as_ref(), &trip());
        prop_assert!(!state.history().is_changed());
        for _ in 0..count {
            update(&mut state, Message::Redo);
        }
        prop_assert_eq!(state.trip(), &end);
    }
}

/// Whether a message may change what would be saved.
fn may_change(message: Message) -> bool {
    use Message as M;
    matches!(
        message,
        M::Undo
            | M::Arrive
            | M::FuelStop
            | M::Redo
            | M::Enter
            | M::Clear
            | M::Add
            | M::Duplicate
            | M::Delete
            | M::Earlier
            | M::Later
            | M::Join
            | M::Reverse
            | M::ReverseTrip
            | M::OutAndBack
            | M::DayLater
            | M::DayEarlier
            | M::TryFix
    )
}
