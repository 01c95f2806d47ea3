//! The screen: messages in, the text of a terminal out.

#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

mod answers;
mod any;
mod begun;
mod colours;
mod editing;
mod every;
mod finding;
mod fixes;
mod keys;
mod log;
mod map;
mod opening;
mod pictures;
mod pointer;
mod proposals;
mod sliders;
mod speed;
mod spoken;
mod strip;
mod verdict;

#[path = "../common/wishes.rs"]
mod wishes;

use std::sync::Arc;
use std::time::{Duration, Instant};

use drystage::model::vocabulary::UnitSystem;
use drystage::model::{Trip, check};
use drystage::plan::Plan;
use drystage::present::name::width;
use drystage::present::number::Units;
use drystage::tui::beside::Workers;
use drystage::tui::message::Message;
use drystage::tui::outside::Proposer;
use drystage::tui::state::State;
use drystage::tui::theme::{Depth, Theme};
use drystage::tui::update::update;
use drystage::tui::view::{Look, view};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

fn trip() -> Trip {
    let text = include_str!("../data/example-trip.json");
    check::read(serde_json::from_str(text).unwrap()).unwrap()
}

/// The example with a tank that is too small, no can, and no drums on the route.
fn short_trip() -> Trip {
    let mut trip = trip();
    trip.load.as_mut().unwrap().cans = None;
    trip.legs[1].fuel = None;
    trip
}

/// No file to propose a change from.
fn no_files() -> Proposer {
    Arc::new(|_, _, _, _| anyhow::bail!("no file"))
}

/// Serves the screen until something is so.
fn wait(workers: &mut Workers, state: &mut State, is_so: impl Fn(&State) -> bool) {
    let until = Instant::now() + Duration::from_secs(60);
    while !is_so(state) {
        assert!(Instant::now() < until, "{}", screen(state, 80, 24));
        workers.before_frame(state);
        workers.serve(state);
        std::thread::sleep(Duration::from_millis(2));
    }
}

fn state(trip: Trip) -> State {
    State::new(Plan::best_estimate(trip), Units(UnitSystem::Metric))
}

/// The screen as it is once all trips are simulated.
fn simulated(trip: Trip) -> State {
    let mut state = state(trip).with_simulation(true);
    state.simulate(true);
    state
}

const PLAIN: Look = Look {
    theme: Theme::new(Depth::None),
    ascii: false,
};

fn drawn(state: &State, look: Look, width: u16, height: u16) -> Buffer {
    let area = Rect::new(0, 0, width, height);
    let mut buf = Buffer::empty(area);
    view(state, look, area, &mut buf);
    buf
}

/// The cells as text, a row a line.
fn text(buf: &Buffer) -> String {
    let rows = buf.content.chunks(usize::from(buf.area.width.max(1)));
    let line = |row: &[ratatui::buffer::Cell]| {
        let mut text = String::new();
        let mut hidden = 0;
        for cell in row {
            if hidden == 0 {
                text.push_str(cell.symbol());
                hidden = width(cell.symbol()).saturating_sub(1);
            } else {
                hidden -= 1;
            }
        }
        text
    };
    rows.map(line).collect::<Vec<_>>().join("\n")
}

fn after(mut state: State, messages: &[Message]) -> State {
    for &message in messages {
        update(&mut state, message);
    }
    state.attend();
    state
}

/// As [`after`], a frame after each message.
fn after_each(mut state: State, messages: &[Message]) -> State {
    for &message in messages {
        update(&mut state, message);
        state.attend();
    }
    state
}

/// Types a text, one character after the other.
fn typed(text: &str) -> Vec<Message> {
    text.chars().map(Message::Type).collect()
}

/// The text of a screen without colour.
fn screen(state: &State, width: u16, height: u16) -> String {
    text(&drawn(state, PLAIN, width, height))
}

/// Holds a picture to the one in `tests/screens/snapshots`.
fn hold(name: &str, picture: &str) {
    let mut settings = insta::Settings::clone_current();
    settings.set_prepend_module_to_snapshot(false);
    settings.bind(|| insta::assert_snapshot!(format!("screens__{name}"), picture));
}
