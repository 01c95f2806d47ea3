//! Clicks, pastes, and sizes that come in a burst.

use drystage::tui::message::Message;
use drystage::tui::state::Panel;
use drystage::tui::update::update;
use drystage::tui::view::click;
use drystage::tui::{coalesce, meaning};
use ratatui::crossterm::event::{Event, KeyCode};
use ratatui::layout::{Position, Rect};

use super::keys::press;
use super::{state, trip};

#[test]
fn pasted_text_is_no_command_and_only_the_last_size_counts() {
    let state = state(trip());
    let area = Rect::new(0, 0, 80, 24);
    assert_eq!(
        meaning(&state, area, &Event::Paste("q\rq".to_owned())),
        None
    );
    let events = vec![
        Event::Resize(80, 24),
        Event::Key(press(KeyCode::Char('l'), false)),
        Event::Resize(90, 30),
    ];
    assert_eq!(coalesce(events.clone()), events[1..]);
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
        Some(Message::Focus(Panel::Findings))
    );
    assert_eq!(
        click(&state, Rect::new(0, 0, 9, 3), Position::new(1, 1)),
        None
    );
}
