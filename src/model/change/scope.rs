//! Which rules between fields a change can break: only those are looked at again.
//!
//! The rules that bind legs to one another (days in order, one pump for one place, a length that can be
//! measured) speak of few fields; a change of any other field of a leg can break only what holds within
//! that leg, and a change of the vehicle, the load or the rules no rule about legs. So a key that is typed
//! costs the same on a trip of ten legs and of a thousand.

use super::{LEGS, Step};
use crate::model::Trip;
use crate::model::check::{self, Problem};

/// The fields of a leg that rules hold against other legs or the log.
const BINDING: [&str; 6] = ["to", "day", "lat", "lon", "fuel", "track"];

/// What a change touches.
#[derive(Debug, Default)]
pub(super) struct Scope {
    /// Whether it may break what holds between legs, the start and the log.
    whole: bool,
    /// Legs of which it may break what holds within them.
    legs: Vec<usize>,
}

impl Scope {
    /// Adds what a step touches.
    pub(super) fn add(&mut self, step: &Step, changed: &Trip) {
        match step {
            Step::Set { at, to } => self.add_value(at, to.is_some(), changed),
            Step::Insert { list, .. }
            | Step::Remove { list, .. }
            | Step::Move { list, .. }
            | Step::Reverse { list }
                if list != LEGS =>
            {
                self.add_value(list, true, changed);
            }
            _ => self.whole = true,
        }
    }

    /// Adds a value that is set, or else cleared.
    pub(super) fn add_value(&mut self, at: &str, is_set: bool, changed: &Trip) {
        let mut steps = at.split('/').skip(1);
        match (
            steps.next(),
            steps.next().map(str::parse::<usize>),
            steps.next(),
        ) {
            (Some("legs"), Some(Ok(leg)), Some(field)) => {
                let has_length = is_set || field != "distance_km";
                if BINDING.contains(&field) || !has_length || leg >= changed.legs.len() {
                    self.whole = true;
                } else {
                    self.legs.push(leg);
                }
            }
            (Some("legs" | "start" | "log"), ..) => self.whole = true,
            _ => {}
        }
    }

    /// Every problem that the change may have brought about.
    pub(super) fn problems(mut self, changed: &Trip) -> Vec<Problem> {
        self.legs.sort_unstable();
        self.legs.dedup();
        check::between(changed, (!self.whole).then_some(&self.legs))
    }
}
