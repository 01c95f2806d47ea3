//! The table of keys: no key means two things, every line does what it says, everything has a key.

use drystage::tui::keymap::{BINDINGS, Layer, lookup};
use drystage::tui::line::Reach;
use drystage::tui::message::{Effect, Message};
use drystage::tui::state::{Mode, Question};
use drystage::tui::update::update;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

use super::{PLAIN, after, drawn, state, text, trip};

const LAYERS: [(Layer, Mode); 7] = [
    (Layer::Browse, Mode::Browse),
    (Layer::Help, Mode::Help { scroll: 0 }),
    (Layer::Sheet, Mode::Sheet),
    (Layer::Typing, Mode::Field),
    (Layer::Ask, Mode::Ask(Question::Quit)),
    (Layer::Dials, Mode::Dials),
    (Layer::Table, Mode::SideBySide),
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
                assert_eq!(message, Some(binding.message), "{key:?} in {layer:?}");
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

/// Everything that can be meant has a key, but what needs a place to click at.
#[test]
#[expect(clippy::too_many_lines, reason = "a line for each message")]
fn every_message_has_a_key() {
    use Message as M;
    let needs_key = |message: &Message| match message {
        M::GoTo(_) | M::Focus(_) | M::Row(_) | M::Type(_) | M::Tipped(..) | M::WaysFound => false,
        M::PreviousLeg
        | M::NextLeg
        | M::TripStart
        | M::TripEnd
        | M::PageBack
        | M::PageOn
        | M::StepBack
        | M::StepOn
        | M::PreviousMark
        | M::NextMark
        | M::ZoomIn
        | M::ZoomOut
        | M::ZoomLeg
        | M::ZoomTrip
        | M::NextPanel
        | M::PreviousPanel
        | M::ScrollUp
        | M::ScrollDown
        | M::TryWay
        | M::Arrive
        | M::Help
        | M::Close
        | M::ToggleMouse
        | M::Repaint
        | M::Suspend
        | M::Edit
        | M::Undo
        | M::Redo
        | M::Save
        | M::SaveAs
        | M::Enter
        | M::Clear
        | M::Add
        | M::Duplicate
        | M::Delete
        | M::Earlier
        | M::Later
        | M::Split
        | M::Join
        | M::Reverse
        | M::ReverseTrip
        | M::OutAndBack
        | M::DayLater
        | M::DayEarlier
        | M::Yes
        | M::No
        | M::Go(_)
        | M::Erase(_)
        | M::Dials
        | M::TurnOn
        | M::TurnBack
        | M::TurnFinelyOn
        | M::TurnFinelyBack
        | M::ResetDial
        | M::ResetDials
        | M::KeepDials
        | M::NextWhatIf
        | M::SideBySide
        | M::Find
        | M::Look
        | M::Quit => true,
    };
    let all = [
        M::TryWay,
        M::Arrive,
        M::PreviousLeg,
        M::NextLeg,
        M::TripStart,
        M::TripEnd,
        M::PageBack,
        M::PageOn,
        M::StepBack,
        M::StepOn,
        M::PreviousMark,
        M::NextMark,
        M::ZoomIn,
        M::ZoomOut,
        M::ZoomLeg,
        M::ZoomTrip,
        M::NextPanel,
        M::PreviousPanel,
        M::ScrollUp,
        M::ScrollDown,
        M::Help,
        M::Close,
        M::ToggleMouse,
        M::Repaint,
        M::Suspend,
        M::Edit,
        M::Undo,
        M::Redo,
        M::Save,
        M::SaveAs,
        M::Enter,
        M::Clear,
        M::Add,
        M::Duplicate,
        M::Delete,
        M::Earlier,
        M::Later,
        M::Split,
        M::Join,
        M::Reverse,
        M::ReverseTrip,
        M::OutAndBack,
        M::DayLater,
        M::DayEarlier,
        M::Yes,
        M::No,
        M::Go(Reach::Word),
        M::Erase(Reach::Letter),
        M::Dials,
        M::TurnOn,
        M::TurnBack,
        M::TurnFinelyOn,
        M::TurnFinelyBack,
        M::ResetDial,
        M::ResetDials,
        M::KeepDials,
        M::NextWhatIf,
        M::SideBySide,
        M::Find,
        M::Look,
        M::Quit,
    ];
    for message in all.iter().filter(|message| needs_key(message)) {
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
    assert!(matches!(state.mode, Mode::Help { .. }));
    assert_eq!(update(&mut state, Message::Close), None);
    assert_eq!(state.mode, Mode::Browse);
    assert_eq!(update(&mut state, Message::Quit), Some(Effect::Quit));
}
