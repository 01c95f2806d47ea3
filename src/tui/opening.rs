//! The screen until the first plan is there: the trip as it was opened, without figures, and the way out.
//!
//! Most trips are planned sooner than anybody could read this. A trip that takes longer is planned by a thread, so that
//! keys are read all the while.

use std::io;
use std::sync::Arc;
use std::time::Duration;

use ratatui::crossterm::event;

use super::help::{self, Help};
use super::keymap::Layer;
use super::message::Message;
use super::picture::Picture;
use super::terminal::{self, Screen};
use super::view::{self, Look};
use super::worker::{JobHandle, Worker};
use super::{GLANCE, coalesce, gather, layer_meanings};
use crate::model::Trip;
use crate::platform::Platform;
use crate::present::number::Units;

/// A plan that is there by then is waited for: a picture that represents a blink only disturbs.
const PATIENCE: Duration = Duration::from_millis(50);
/// Legs of a page.
const PAGE: usize = 8;

/// What is shown meanwhile.
#[derive(Clone, Debug)]
pub struct Opening {
    /// The trip that is being planned.
    pub trip: Arc<Trip>,
    /// Legs that the list is scrolled by.
    pub scroll: usize,
    /// Why there will be no plan.
    pub problem: Option<String>,
    /// The list of keys, while it is in front.
    pub help: Option<Help>,
}

impl Opening {
    /// The trip from its first leg on.
    pub const fn new(trip: Arc<Trip>) -> Self {
        Self {
            trip,
            scroll: 0,
            problem: None,
            help: None,
        }
    }

    /// The layer that the keys are for.
    pub fn layer(&self) -> Layer {
        self.help.as_ref().map_or(Layer::Opening, Help::layer)
    }

    /// Whether a message would change anything now.
    pub fn works_now(&self, message: Message) -> bool {
        match message {
            Message::ScrollDown => match &self.help {
                Some(help) => help.goes_on(),
                None => self.scroll + 1 < self.trip.legs.len(),
            },
            Message::Erase(_) => self.help.as_ref().is_some_and(Help::can_erase),
            Message::Close => self.help.is_some(),
            Message::Help => self.help.is_none(),
            _ => true,
        }
    }

    /// Does what a message wants; whether that is to end the program.
    pub fn update(&mut self, message: Message) -> bool {
        if let Some(help) = &mut self.help {
            match help.update(message) {
                help::Outcome::Closed => self.help = None,
                help::Outcome::On => {}
                help::Outcome::NotMine => return message == Message::Quit,
            }
            return false;
        }
        let last = self.trip.legs.len().saturating_sub(1);
        if let Some(scroll) = message.scrolled(self.scroll, PAGE, last) {
            self.scroll = scroll;
        }
        if message == Message::Help {
            self.help = Some(Help::of(Layer::Opening));
        }
        message == Message::Quit
    }
}

/// The picture of a trip by its first plan, which `plan` makes on a thread of its own; `None` if the user left before it
/// was there.
///
/// # Errors
/// When the terminal goes away.
pub fn first_picture(
    trip: &Arc<Trip>,
    screen: &mut Screen,
    look: Look,
    units: Units,
    plan: fn(&Arc<Trip>, Units) -> Arc<Picture>,
) -> io::Result<Option<Arc<Picture>>> {
    let plans = move |trip: Arc<Trip>, handle: &JobHandle<Arc<Picture>>| {
        handle.send(plan(&trip, units));
    };
    let mut worker = Worker::start("first plan", plans);
    if !worker.has_thread() {
        return Ok(Some(plan(trip, units)));
    }
    worker.want(Some(Arc::clone(trip)));
    if let Some(picture) = worker.wait(PATIENCE) {
        return Ok(Some(picture));
    }
    let mut opening = Opening::new(Arc::clone(trip));
    loop {
        let look = look.on(screen.ground());
        screen.draw(|area, buf| view::opening::render(&opening, units, look, area, buf))?;
        while !event::poll(GLANCE)? {
            if let Some(picture) = worker.found().pop() {
                return Ok(Some(picture));
            }
            if let Some(panicked) = worker.trouble() {
                opening.problem = Some(panicked.to_string());
                break;
            }
            if terminal::is_stale() {
                break;
            }
        }
        if !event::poll(super::MOMENT)? {
            continue;
        }
        for event in coalesce(screen.heard(gather()?), Platform::HERE) {
            for message in layer_meanings(opening.layer(), &event) {
                match message {
                    Message::Suspend => screen.suspend()?,
                    Message::Repaint => terminal::repaint(),
                    message if opening.update(message) => return Ok(None),
                    _ => {}
                }
            }
        }
    }
}
