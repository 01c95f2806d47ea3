//! Trying the fixes to make a trip fit, one after the other.
//!
//! They are looked for behind the screen; what comes too late for the trip is dropped. A fix is made like any other
//! change, so that undo takes it back; asked for again, the next replaces it.

use std::sync::Arc;

use super::picture::Picture;
use super::state::{Mode, Panel, State};
use crate::model::change::Change;
use crate::present::fixes;

/// The notice during the search for fixes.
pub(crate) const LOOKING: &str = "searching for fixes ...";

/// The fixes of a plan that does not fit, and which of them is made now.
#[derive(Clone, Debug)]
pub(crate) struct Trying {
    picture: Arc<Picture>,
    /// Whether they are still looked for.
    awaited: bool,
    /// Whether the first is made once they are known; otherwise they are only listed.
    is_wanted: bool,
    made: Option<(usize, String)>,
}

impl Trying {
    /// Every fix in a few words, and whether it is made now; what the search left out comes last.
    pub(crate) fn listed(&self, state: &State) -> Vec<(String, bool)> {
        let now = self.made_now(state);
        let Some(known) = self.picture.plan.known_fixes().filter(|_| !self.awaited) else {
            return vec![(LOOKING.to_owned(), false)];
        };
        let fixes = known.found.iter().enumerate();
        let fixes = fixes.map(|(at, fix)| {
            let sentence = fixes::sentence(fix, &self.picture.plan, state.units());
            (sentence, now == Some(at))
        });
        let left_out = fixes::left_out(known).map(|sentence| (sentence, false));
        fixes.chain(left_out).collect()
    }

    /// The picture of the plan whose fixes are still looked for.
    pub(super) fn sought(&self) -> Option<&Arc<Picture>> {
        self.awaited.then_some(&self.picture)
    }

    /// Looks for the fixes of a plan of the same trip with more simulated trips instead, if that comes meanwhile.
    pub(super) fn turn_to(&mut self, picture: &Arc<Picture>) {
        let is_same = Arc::ptr_eq(&self.picture.plan.trip, &picture.plan.trip);
        if is_same && self.awaited && !self.picture.is_refined() {
            self.picture = Arc::clone(picture);
        }
    }

    /// The search for the fixes of a picture that needs some, to be listed.
    pub(super) fn listing(picture: &Arc<Picture>) -> Option<Self> {
        picture.plan.needs_fixes().then(|| Self {
            picture: Arc::clone(picture),
            awaited: picture.plan.known_fixes().is_none(),
            is_wanted: false,
            made: None,
        })
    }

    /// Whether they are fixes of the trip as it is now.
    fn is_of(&self, state: &State) -> bool {
        Arc::ptr_eq(&self.picture.plan.trip, state.trip())
    }

    /// The fix that was made last, if nothing was done since.
    fn made_now(&self, state: &State) -> Option<usize> {
        let (at, name) = self.made.as_ref()?;
        (state.history().last_done() == Some(name)).then_some(*at)
    }
}

/// Makes the next fix, in place of the one before; where the fixes are not known yet, has them looked for.
pub(super) fn try_next(state: &mut State) {
    state.focus = Panel::Findings;
    let before = state.fixes.take();
    let (trying, next) = match before {
        Some(trying) if trying.made_now(state).is_some() => {
            let next = trying.made_now(state).map_or(0, |at| at + 1);
            state.history.undo();
            state.settle();
            (trying, next)
        }
        Some(mut trying) if trying.is_of(state) => {
            trying.is_wanted = true;
            (trying, 0)
        }
        _ => {
            let Some(picture) = state.picture_to_keep().map(Arc::clone) else {
                state.status = Some("the trip is still being planned; press f again".into());
                return;
            };
            // What another plan of this trip will need is not known yet.
            let is_open = !state.is_final(&picture) || picture.plan.needs_fixes();
            let awaited = is_open && picture.plan.known_fixes().is_none();
            let trying = Trying {
                picture,
                awaited,
                is_wanted: true,
                made: None,
            };
            (trying, 0)
        }
    };
    if trying.awaited {
        state.status = Some(LOOKING.into());
        state.fixes = Some(trying);
    } else {
        make(state, trying, next);
    }
}

/// The fixes that were looked for are known: the first is made, unless something else is being done now.
pub(super) fn found(state: &mut State) {
    let is_free = state.mode == Mode::Browse;
    match state.fixes.take() {
        Some(mut trying) if trying.awaited => {
            trying.awaited = false;
            if is_free && trying.is_wanted {
                make(state, trying, 0);
            } else {
                state.fixes = Some(trying);
            }
        }
        other => state.fixes = other,
    }
}

/// Nobody waits any more for fixes that are still looked for.
pub(super) fn give_up(state: &mut State) -> bool {
    let is_sought = |trying: &Trying| trying.awaited && trying.is_wanted;
    let is_sought = state.fixes.as_ref().is_some_and(is_sought);
    if is_sought {
        state.fixes = None;
    }
    is_sought
}

fn make(state: &mut State, mut trying: Trying, next: usize) {
    let fixes = &trying.picture.plan.fixes().found;
    let Some(fix) = fixes.get(next) else {
        let status = if !trying.picture.plan.needs_fixes() {
            "nothing to fix: nothing is short of fuel or too heavy"
        } else if fixes.is_empty() {
            "no fix found"
        } else {
            "that was the last fix; the trip is unchanged"
        };
        state.status = Some(status.into());
        trying.made = None;
        state.fixes = Some(trying);
        return;
    };
    let name = fixes::name(fix, &trying.picture.plan, state.units());
    let change = Change::of_operations(&name, &fix.changes);
    match state.make(&change) {
        Ok(()) => {
            trying.made = Some((next, name));
            state.fixes = Some(trying);
        }
        Err(error) => state.status = Some(error.to_string().into()),
    }
}
