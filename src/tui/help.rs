//! The list of keys in front: how far it is scrolled, and what its lines are to have.

use super::keymap::{Group, Layer};
use super::line::TypedLine;
use super::message::Message;
use super::view::help::{found, line_of};

/// Lines of a page.
const PAGE: usize = 10;

/// The list as it is read.
#[derive(Clone, Debug, Default)]
pub struct Help {
    /// Lines that it is scrolled by.
    pub(crate) scroll: usize,
    /// What the shown lines have; all are shown while it is empty.
    pub(crate) sought: TypedLine,
    /// Whether that is being typed.
    pub(crate) is_typed: bool,
}

/// What becomes of the list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Outcome {
    /// It stays in front.
    On,
    /// It is closed.
    Closed,
    /// The message is none of its own.
    NotMine,
}

impl Help {
    /// The list at the keys of a layer.
    pub(crate) fn of(layer: Layer) -> Self {
        let group = match layer {
            Layer::Sheet | Layer::Legs => Group::Editing,
            Layer::Typing => Group::Typing,
            Layer::Sliders | Layer::Table => Group::Sliders,
            Layer::Start => Group::Trip,
            Layer::Ask | Layer::Help => Group::Program,
            Layer::Browse | Layer::Opening => Group::Moving,
        };
        Self {
            scroll: line_of(group),
            ..Self::default()
        }
    }

    /// The layer that the keys are for.
    pub(crate) const fn layer(&self) -> Layer {
        if self.is_typed {
            Layer::Typing
        } else {
            Layer::Help
        }
    }

    /// Whether there is something to take away before the cursor.
    pub(crate) fn can_erase(&self) -> bool {
        !self.sought.halves().0.is_empty()
    }

    /// Whether there are lines below.
    pub(crate) fn goes_on(&self) -> bool {
        self.scroll + 1 < found(self.sought.text()).len()
    }

    /// Does what a message wants.
    pub(super) fn update(&mut self, message: Message) -> Outcome {
        if self.is_typed {
            return self.typed(message);
        }
        let last = found(self.sought.text()).len().saturating_sub(1);
        match message {
            // The last lines, and not the last one alone.
            Message::TripEnd => self.scroll = last.saturating_sub(PAGE),
            Message::Find => {
                *self = Self {
                    is_typed: true,
                    ..Self::default()
                };
            }
            Message::Help | Message::Close => return Outcome::Closed,
            message => match message.scrolled(self.scroll, PAGE, last) {
                Some(scroll) => self.scroll = scroll,
                None => return Outcome::NotMine,
            },
        }
        Outcome::On
    }

    /// The lines follow what is typed.
    fn typed(&mut self, message: Message) -> Outcome {
        match message {
            Message::Type(c) => self.sought.put(c),
            Message::Go(to) => self.sought.go(to),
            Message::Erase(to) => self.sought.erase(to),
            Message::Enter => self.is_typed = false,
            Message::Help | Message::Close => *self = Self::default(),
            _ => return Outcome::NotMine,
        }
        Outcome::On
    }
}
