//! Clicks, pastes, and sizes that come in a burst.

use drystage::platform::Platform;
use drystage::tui::message::Message;
use drystage::tui::state::{Panel, State};
use drystage::tui::update::update;
use drystage::tui::view::{click, wheel};
use drystage::tui::{coalesce, meanings};
use ratatui::crossterm::event::{
    Event, KeyCode, KeyModifiers, MouseButton, MouseEvent, MouseEventKind,
};
use ratatui::layout::{Position, Rect};

use super::keys::press;
use super::{short_trip, state, trip};

#[test]
fn pasted_text_is_no_command_and_only_the_last_size_counts() {
    let state = state(trip());
    let area = Rect::new(0, 0, 80, 24);
    assert_eq!(meanings(&state, area, &Event::Paste("q\rq".to_owned())), []);
    let events = vec![
        Event::Resize(80, 24),
        Event::Key(press(KeyCode::Char('l'), false)),
        Event::Resize(90, 30),
    ];
    assert_eq!(coalesce(events.clone(), Platform::HERE), events[1..]);
}

#[test]
fn a_click_chooses_the_leg_under_it() {
    let mut state = state(trip());
    let area = Rect::new(0, 0, 80, 24);
    let message = click(&state, area, Position::new(79, 8)).unwrap();
    update(&mut state, message);
    assert_eq!(state.leg(), 6);
    assert_eq!(click(&state, area, Position::new(0, 23)), None);
    assert_eq!(
        click(&state, area, Position::new(60, 20)),
        Some(Message::Focus(Panel::Do))
    );
    assert_eq!(
        click(&state, Rect::new(0, 0, 9, 3), Position::new(1, 1)),
        None
    );
}

/// The wheel moves along the route over the strip; over a panel it scrolls that panel, once it is the chosen one.
#[test]
fn the_wheel_scrolls_what_lies_under_it() {
    let mut state = state(short_trip());
    let area = Rect::new(0, 0, 80, 24);
    let turn = |state: &mut State, x, y| {
        let message = wheel(state, area, Position::new(x, y), true);
        update(state, message);
    };
    turn(&mut state, 40, 9);
    assert_eq!((state.leg(), state.focus), (2, Panel::Do));
    update(&mut state, Message::Focus(Panel::Findings));
    turn(&mut state, 60, 20);
    assert_eq!(state.scroll_of(Panel::Findings), 1);
    assert_eq!(state.leg(), 2);
}

/// With the button held the cursor follows over the strip, and a panel is not chosen by passing over it.
#[test]
fn dragging_moves_the_cursor_and_chooses_nothing_else() {
    let mut state = state(trip());
    let area = Rect::new(0, 0, 80, 24);
    let drag = |state: &mut State, column, row| {
        let event = Event::Mouse(MouseEvent {
            kind: MouseEventKind::Drag(MouseButton::Left),
            column,
            row,
            modifiers: KeyModifiers::NONE,
        });
        for message in meanings(state, area, &event) {
            update(state, message);
        }
    };
    let mut before = state.at();
    for column in [20, 40, 60, 79] {
        drag(&mut state, column, 9);
        assert!(state.at() > before);
        before = state.at();
    }
    drag(&mut state, 60, 20);
    assert_eq!((state.at(), state.focus), (before, Panel::Do));
}

/// Esc and a key in one packet are two keys, and Alt with a key of line editing moves by words as Ctrl does.
#[test]
fn a_key_with_alt_is_two_keys_or_moves_by_words() {
    use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
    let key = |code, held| Event::Key(KeyEvent::new(code, held));
    let with_alt = |code, platform| coalesce(vec![key(code, KeyModifiers::ALT)], platform);
    assert_eq!(
        with_alt(KeyCode::Char('q'), Platform::Unix),
        [
            key(KeyCode::Esc, KeyModifiers::NONE),
            key(KeyCode::Char('q'), KeyModifiers::NONE)
        ]
    );
    // There the two come as two, so that this is a key of its own, which means nothing.
    assert_eq!(with_alt(KeyCode::Char('q'), Platform::Windows), []);
    for (code, like) in [
        (KeyCode::Char('b'), KeyCode::Left),
        (KeyCode::Char('f'), KeyCode::Right),
        (KeyCode::Backspace, KeyCode::Char('w')),
    ] {
        for platform in [Platform::Unix, Platform::Windows] {
            let expected = [key(like, KeyModifiers::CONTROL)];
            assert_eq!(with_alt(code, platform), expected, "{platform:?}");
        }
    }
}

/// A console of Windows reports each key twice, and `AltGr` as Ctrl with Alt.
#[test]
fn keys_of_a_console_are_taken_once_and_altgr_makes_a_character() {
    use ratatui::crossterm::event::{KeyEvent, KeyEventKind};
    let of_kind = |code, held, kind| Event::Key(KeyEvent::new_with_kind(code, held, kind));
    let typed = |code, held| {
        let kinds = [KeyEventKind::Press, KeyEventKind::Release];
        let events = kinds.map(|kind| of_kind(code, held, kind)).to_vec();
        coalesce(events, Platform::Windows)
    };
    let one = |code, held| vec![of_kind(code, held, KeyEventKind::Press)];
    let alt_gr = KeyModifiers::CONTROL | KeyModifiers::ALT;
    for (code, held, expected) in [
        (
            KeyCode::Char('@'),
            alt_gr,
            one(KeyCode::Char('@'), KeyModifiers::NONE),
        ),
        (
            KeyCode::Char('l'),
            KeyModifiers::NONE,
            one(KeyCode::Char('l'), KeyModifiers::NONE),
        ),
        (
            KeyCode::Char('b'),
            KeyModifiers::ALT,
            one(KeyCode::Left, KeyModifiers::CONTROL),
        ),
        (
            KeyCode::Char('s'),
            KeyModifiers::CONTROL,
            one(KeyCode::Char('s'), KeyModifiers::CONTROL),
        ),
    ] {
        assert_eq!(typed(code, held), expected, "{code:?} {held:?}");
    }
}
