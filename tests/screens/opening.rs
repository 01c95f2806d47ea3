//! The screen until the first plan is there.

use std::sync::Arc;

use drystage::model::vocabulary::UnitSystem;
use drystage::present::number::Units;
use drystage::tui::keymap::Layer;
use drystage::tui::message::Message;
use drystage::tui::opening::Opening;
use drystage::tui::view::opening;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::{PLAIN, hold, text, trip};

fn drawn(opening: &Opening, width: u16, height: u16) -> String {
    let area = Rect::new(0, 0, width, height);
    let mut buf = Buffer::empty(area);
    let units = Units(UnitSystem::Metric);
    opening::render(opening, units, PLAIN, area, &mut buf);
    text(&buf)
}

#[test]
fn it_has_the_trip_at_any_size() {
    let mut opening = Opening::new(Arc::new(trip()));
    hold("opening-80x24", &drawn(&opening, 80, 24));
    for problem in [None, Some("what went wrong, at length ".repeat(60))] {
        opening.problem = problem;
        for size in [(0, 0), (1, 1), (39, 9), (40, 10), (80, 24), (300, 80)] {
            drawn(&opening, size.0, size.1);
        }
    }
}

#[test]
fn it_scrolls_helps_and_is_left() {
    let mut opening = Opening::new(Arc::new(trip()));
    assert!(!opening.update(Message::TripEnd));
    assert!(!drawn(&opening, 80, 24).contains("Cold Spring"));
    assert!(!opening.works_now(Message::ScrollDown));
    // What needs a plan does nothing.
    for message in [Message::Undo, Message::Edit, Message::Save, Message::Dials] {
        assert!(!opening.update(message));
    }
    assert!(!opening.update(Message::Help));
    assert_eq!(opening.layer(), Layer::Help);
    assert!(drawn(&opening, 80, 24).contains("next leg"));
    assert!(!opening.update(Message::Close));
    assert_eq!(opening.layer(), Layer::Opening);
    assert!(opening.update(Message::Quit));
}
