//! Trying the ways to make a trip fit, one after the other.
//!
//! A way is made like any other change, so that undo takes it back; asked for again, it gives way to the next.

use std::sync::Arc;

use super::state::{Panel, State};
use crate::model::change::Change;
use crate::plan::Plan;
use crate::present::ways;

/// The ways of a plan that does not fit, and which of them is made now.
#[derive(Clone, Debug)]
pub struct Trying {
    plan: Arc<Plan>,
    made: Option<(usize, String)>,
}

impl Trying {
    /// Every way in a few words, and whether it is made now.
    pub fn listed(&self, state: &State) -> Vec<(String, bool)> {
        let now = self.made_now(state);
        let ways = self.plan.ways().iter().enumerate();
        ways.map(|(at, way)| {
            let says = ways::sentence(way, &self.plan, state.units());
            (says, now == Some(at))
        })
        .collect()
    }

    /// The way that was made last, if nothing was done since.
    fn made_now(&self, state: &State) -> Option<usize> {
        let (at, name) = self.made.as_ref()?;
        (state.history().last_done() == Some(name)).then_some(*at)
    }
}

/// Makes the next way, in place of the one before.
pub(super) fn try_next(state: &mut State) {
    state.focus = Panel::Load;
    let before = state.ways.take();
    let (trying, next) = match before {
        Some(trying) if trying.made_now(state).is_some() => {
            let next = trying.made_now(state).map_or(0, |at| at + 1);
            state.history.undo();
            state.settle();
            (trying, next)
        }
        _ => {
            let plan = Arc::clone(state.shared_plan());
            (Trying { plan, made: None }, 0)
        }
    };
    let ways = trying.plan.ways();
    let Some(way) = ways.get(next) else {
        let says = if ways.is_empty() {
            "no way is to be tried: nothing is short or too heavy, or nothing that was tried helps"
        } else {
            "that was the last way; the trip is as it was"
        };
        state.status = Some(says.into());
        state.ways = Some(Trying {
            made: None,
            ..trying
        });
        return;
    };
    let name = ways::name(way, &trying.plan, state.units());
    let change = Change::of_operations(&name, &way.changes);
    match state.make(&change) {
        Ok(()) => {
            let made = Some((next, name));
            state.ways = Some(Trying { made, ..trying });
        }
        Err(says) => state.status = Some(says.into()),
    }
}
