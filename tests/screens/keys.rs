//! The table of keys: no key means two things, every line does what it says, everything has a key.

use drystage::tui::keymap::{BINDINGS, Layer, lookup};
use drystage::tui::line::Reach;
use drystage::tui::message::{Act, Effect, Message};
use drystage::tui::state::{Mode, Panel, Question};
use drystage::tui::update::update;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

use super::{PLAIN, after, drawn, state, text, trip};

const LAYERS: [(Layer, Mode); 8] = [
    (Layer::Browse, Mode::Browse),
    (Layer::Help, Mode::Help),
    (Layer::Sheet, Mode::Sheet),
    (Layer::Typing, Mode::Field),
    (Layer::Ask, Mode::Ask(Question::Quit)),
    (Layer::Sliders, Mode::Sliders),
    (Layer::Table, Mode::SideBySide),
    (Layer::Legs, Mode::Legs),
];

#[test]
fn no_key_means_two_things() {
    for (layer, _) in LAYERS {
        let mut keys = Vec::new();
        for binding in BINDINGS
            .iter()
            .filter(|binding| binding.layers.contains(&layer))
        {
            for key in binding.keys {
                assert!(!keys.contains(key), "{key:?} in {layer:?}");
                keys.push(*key);
            }
        }
    }
}

/// What a person presses to look must not edit elsewhere: a key that moves, opens or shows in one layer edits in none, and
/// a letter that edits moves no slider either. Enter and what is typed do not count: they accept what is shown.
#[test]
fn no_key_both_looks_and_edits() {
    let bound = |key, act| {
        let of_key = BINDINGS
            .iter()
            .filter(move |binding| binding.keys.contains(key));
        of_key.filter(move |binding| binding.message.act() == act)
    };
    for key in BINDINGS.iter().flat_map(|binding| binding.keys) {
        let edits: Vec<_> = bound(key, Act::Edits)
            .map(|binding| binding.label)
            .collect();
        let looks: Vec<_> = bound(key, Act::Looks)
            .map(|binding| binding.label)
            .collect();
        let tries: Vec<_> = bound(key, Act::Tries)
            .map(|binding| binding.label)
            .collect();
        assert!(
            edits.is_empty() || looks.is_empty(),
            "{key:?}: {edits:?}, {looks:?}"
        );
        let is_letter = matches!(key.code, KeyCode::Char(c) if c.is_alphabetic());
        assert!(
            !is_letter || edits.is_empty() || tries.is_empty(),
            "{key:?}: {edits:?}, {tries:?}"
        );
    }
}

/// A row or cell that takes a number takes what a number begins with.
#[test]
fn what_a_number_begins_with_is_typed_where_numbers_are() {
    for layer in [Layer::Sheet, Layer::Legs] {
        for c in "0123456789-.,".chars() {
            let message = lookup(layer, press(KeyCode::Char(c), false));
            assert_eq!(message, Some(Message::Type(c)), "{layer:?}");
        }
    }
}

/// Acts on the whole trip or on several legs are capitals or need Shift; those on one thing are small letters.
#[test]
fn acts_on_several_legs_are_capitals() {
    use Message as M;
    for (message, several) in [
        (M::ReverseTrip, true),
        (M::OutAndBack, true),
        (M::Join, true),
        (M::Earlier, true),
        (M::Later, true),
        (M::Reverse, false),
        (M::Duplicate, false),
        (M::Split, false),
    ] {
        let binding = BINDINGS.iter().find(|binding| binding.message == message);
        let KeyCode::Char(c) = binding.unwrap().keys[0].code else {
            panic!("{message:?} has a letter")
        };
        assert_eq!(c.is_uppercase(), several, "{message:?}: {c}");
    }
}

pub fn press(code: KeyCode, ctrl: bool) -> KeyEvent {
    let held = if ctrl {
        KeyModifiers::CONTROL
    } else {
        KeyModifiers::NONE
    };
    KeyEvent::new(code, held)
}

#[test]
fn every_line_of_the_table_does_what_it_says_and_stands_in_the_help() {
    let help = text(&drawn(
        &after(state(trip()), &[Message::Help]),
        PLAIN,
        100,
        200,
    ));
    for binding in BINDINGS {
        assert!(help.contains(binding.label), "{}", binding.label);
        for (layer, mode) in LAYERS
            .iter()
            .filter(|(layer, _)| binding.layers.contains(layer))
        {
            for key in binding.keys {
                let message = lookup(*mode, press(key.code, key.ctrl));
                let meant = match (binding.message, key.code) {
                    (Message::PanelByNumber, KeyCode::Char(digit)) => {
                        let number = digit.to_digit(10).unwrap() as usize;
                        Message::Focus(Panel::ALL[number - 1])
                    }
                    (message, _) => message,
                };
                assert_eq!(message, Some(meant), "{key:?} in {layer:?}");
            }
        }
        let reachable = binding.keys.iter().any(|key| {
            !matches!(
                key.code,
                KeyCode::Char('[' | ']' | '{' | '}' | '@' | '\\' | '|' | '~')
            )
        });
        assert!(
            reachable,
            "needs a key that every keyboard has: {}",
            binding.label
        );
    }
}

/// Messages, each once: those that a key must lead to, and those that come by a click, a letter or a thread.
macro_rules! messages {
    (keys: $($key:ident $(($reach:expr))?),+; others: $($other:ident $dots:tt),+;) => {
        const WITH_KEY: &[Message] = &[$(Message::$key $(($reach))?),+];

        /// Does not compile while a message is missing above.
        const fn needs_key(message: &Message) -> bool {
            match message {
                $(Message::$key $((messages!(any $reach)))? => true,)+
                $(messages!(of $other $dots) => false,)+
            }
        }
    };
    (any $reach:expr) => { _ };
    (of $other:ident (..)) => { Message::$other(..) };
    (of $other:ident ()) => { Message::$other };
}

messages! {
    keys: PreviousLeg, NextLeg, PreviousDay, NextDay, TripStart, TripEnd, PageBack, PageOn, StepBack, StepOn, PreviousMark, NextMark, ZoomIn,
        ZoomOut, ZoomLeg, ZoomTrip, NextPanel, PreviousPanel, ScrollUp, ScrollDown, TryFix, Arrive, FuelStop,
        FillFromMap, Calibrate, TakeVehicle, TakeRoute, KeepVehicle, Help, Close,
        ToggleMouse, Repaint, Suspend, Edit, Undo, Redo, Save, SaveAs, Enter, Clear, Add, Duplicate, Delete, Earlier,
        Later, Split, Join, Reverse, ReverseTrip, OutAndBack, DayLater, DayEarlier, Yes, No, Go(Reach::Word),
        Erase(Reach::Letter), Sliders, SliderUp, SliderDown, SliderUpFinely, SliderDownFinely, ResetSlider, ResetSliders, SaveWhatIf,
        NextWhatIf, SideBySide, Find, Look, Quit, PanelByNumber, CellLeft, CellRight, Range;
    others: GoTo(..), Focus(..), Row(..), Type(..), VerdictChanges(..), FixesFound(), Pause();
}

/// Everything that can be meant has a key, but what needs a place to click at.
#[test]
fn every_message_has_a_key() {
    for message in WITH_KEY {
        assert!(needs_key(message));
        assert!(
            BINDINGS.iter().any(|binding| binding.message == *message),
            "{message:?}"
        );
    }
}

#[test]
fn ctrl_z_only_stops_the_program() {
    for (_, mode) in LAYERS {
        assert_eq!(
            lookup(mode, press(KeyCode::Char('z'), true)),
            Some(Message::Suspend)
        );
    }
    let mut state = state(trip());
    let before = format!("{state:?}");
    assert_eq!(update(&mut state, Message::Suspend), Some(Effect::Suspend));
    assert_eq!(format!("{state:?}"), before);
}

#[test]
fn a_key_acts_when_pressed_and_repeated_and_not_when_released() {
    let kinds = [
        KeyEventKind::Press,
        KeyEventKind::Repeat,
        KeyEventKind::Release,
    ];
    let moves = kinds.map(|kind| {
        let key = KeyEvent::new_with_kind(KeyCode::Right, KeyModifiers::NONE, kind);
        lookup(Mode::Browse, key).is_some()
    });
    assert_eq!(moves, [true, true, false]);
    let other = KeyEvent::new(KeyCode::Char('q'), KeyModifiers::ALT);
    assert_eq!(lookup(Mode::Browse, other), None);
}

#[test]
fn escape_closes_the_top_layer_and_never_the_program() {
    let mut state = state(trip());
    assert_eq!(update(&mut state, Message::Close), None);
    update(&mut state, Message::Help);
    assert!(state.mode == Mode::Help);
    assert_eq!(update(&mut state, Message::Close), None);
    assert_eq!(state.mode, Mode::Browse);
    assert_eq!(update(&mut state, Message::Quit), Some(Effect::Quit));
}

/// Arrows and letters, pages and ends do the same in everything that is gone through.
#[test]
fn arrows_and_letters_do_the_same() {
    for (arrow, letter) in [
        (KeyCode::Left, 'h'),
        (KeyCode::Right, 'l'),
        (KeyCode::Up, 'k'),
        (KeyCode::Down, 'j'),
        (KeyCode::Home, 'g'),
        (KeyCode::End, 'G'),
        (KeyCode::PageUp, 'b'),
        (KeyCode::PageDown, ' '),
    ] {
        for layer in [
            Layer::Browse,
            Layer::Sheet,
            Layer::Sliders,
            Layer::Table,
            Layer::Legs,
            Layer::Help,
            Layer::Start,
            Layer::Opening,
        ] {
            let [by_arrow, by_letter] =
                [arrow, KeyCode::Char(letter)].map(|code| lookup(layer, press(code, false)));
            assert_eq!(by_arrow, by_letter, "{letter} in {layer:?}");
            let is_across = matches!(arrow, KeyCode::Left | KeyCode::Right);
            assert!(by_arrow.is_some() || is_across, "{letter} in {layer:?}");
        }
    }
    for mode in [Mode::Browse, Mode::Sheet, Mode::Sliders] {
        for across in [KeyCode::Left, KeyCode::Right] {
            assert!(lookup(mode, press(across, false)).is_some());
        }
    }
}
