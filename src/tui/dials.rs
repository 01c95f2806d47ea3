//! The sliders on the screen: which is chosen, which are moved, what was found out about where the verdict changes.
//!
//! Moving a slider only notes it; what follows is planned once before the next frame (`State::to_plan`), however many
//! keys were pressed. Where the verdict changes is sought by a thread of its own and belongs to the state that
//! it was sought for: a count goes up with every move and every edit, and an answer to an older count is dropped.

use std::collections::HashMap;
use std::sync::Arc;

use super::editor::{Prompt, Purpose, Refused};
use super::message::Message;
use super::picture::Picture;
use super::planner::Job as ToPlan;
use super::side_by_side::Table;
use super::simulator::{AT_ONCE, FIRST_BLOCKS};
use super::state::{Mode, State};
use super::worker::{self, Desk, Job as _};
use crate::model::Trip;
use crate::model::change::Change;
use crate::model::dial::{Dial, Dials, Laid, what_if};
use crate::plan::Effort;
use crate::plan::difference::Difference;
use crate::plan::tipping::{Tips, tips};
use crate::present::strip::Strip;

/// The dials of a state.
#[derive(Clone, Debug, Default)]
pub struct Board {
    /// Those that are turned.
    dials: Dials,
    /// The what-if that they start from, where no dial says what it changes.
    beneath: Option<Beneath>,
    /// Number of the chosen one in the list.
    chosen: usize,
    /// What was planned last: for which trip, with which dials.
    tried: Option<Tried>,
    /// Changes of the verdict that are known for the present count.
    changes: HashMap<Dial, Tips>,
    /// Goes up whenever they become worthless.
    count: u64,
    /// The kept sets that stand side by side.
    pub(super) table: Table,
    /// The stored what-if that was taken up last, to go on with the next one.
    taken_up: Option<usize>,
}

/// A what-if beneath the dials.
#[derive(Clone, Debug)]
struct Beneath {
    name: String,
    /// The trip with it.
    trip: Arc<Trip>,
    /// The trip that it was laid over.
    stated: Arc<Trip>,
}

#[derive(Clone, Debug)]
struct Tried {
    stated: Arc<Trip>,
    dials: Dials,
    base: Arc<Trip>,
    picture: Arc<Picture>,
    /// The best-estimate picture without them.
    saved: Arc<Picture>,
}

/// Changes of the verdict to be sought.
#[derive(Clone, Debug)]
pub struct Job {
    /// The count that the answers must bear.
    pub count: u64,
    /// The trip from which the dials start.
    pub base: Arc<Trip>,
    /// The turned dials.
    pub dials: Dials,
    /// The sliders to find the changes of, the most wanted first.
    pub wanted: Vec<Dial>,
}

/// The work that each notch is worth when changes of the verdict are sought: a target plan by the first simulated
/// trips, on one thread, so that the simulation of what is shown has the others.
pub const EFFORT: Effort = Effort {
    blocks: FIRST_BLOCKS,
    ..Effort::FIRST
};

impl worker::Job for Job {
    fn is_answered_by(&self, other: &Self) -> bool {
        let is_sought = |dial: &Dial| other.wanted.contains(dial);
        self.count == other.count && self.wanted.iter().all(is_sought)
    }
}

/// Seeks the changes of the verdict, one slider after the other, as long as anybody waits for them.
pub(super) fn seek(job: Job, desk: &Desk<'_, Message>) {
    let Job {
        count,
        base,
        dials,
        wanted,
    } = job;
    for dial in wanted {
        let Some(tips) = tips(&base, &dials, dial, EFFORT, &|| desk.is_wanted()) else {
            return;
        };
        desk.tell(Message::VerdictChanges(count, dial, tips));
    }
}

impl Board {
    /// Whether anything differs from the trip as stated.
    pub const fn is_turned(&self) -> bool {
        !self.dials.is_empty() || self.beneath.is_some()
    }

    /// The turned dials.
    pub const fn dials(&self) -> &Dials {
        &self.dials
    }

    /// The what-if beneath the dials.
    pub fn beneath(&self) -> Option<&str> {
        self.beneath.as_ref().map(|beneath| beneath.name.as_str())
    }

    /// Where a slider changes the verdict, if that is known for how everything is set now.
    pub fn changes(&self, dial: Dial) -> Option<&Tips> {
        self.changes.get(&dial)
    }

    /// The count of the present state.
    pub const fn count(&self) -> u64 {
        self.count
    }

    fn touch(&mut self) {
        self.count += 1;
        self.changes.clear();
    }
}

impl State {
    /// The trip from which the dials start.
    pub(crate) fn dial_base(&self) -> &Arc<Trip> {
        match &self.board.beneath {
            Some(beneath) => &beneath.trip,
            None => self.trip(),
        }
    }

    /// The dials as they are listed: those that say something about the trip, then those turned of other legs.
    pub fn dial_list(&self) -> Vec<Dial> {
        let mut list = Dial::all(self.dial_base(), self.leg());
        for (dial, _) in self.board.dials.iter() {
            if !list.contains(&dial) {
                list.push(dial);
            }
        }
        list
    }

    /// The chosen dial.
    pub fn chosen_dial(&self) -> Option<Dial> {
        let list = self.dial_list();
        list.get(self.board.chosen.min(list.len().saturating_sub(1)))
            .copied()
    }

    /// What was tried last, if it is what is shown.
    fn shown_dials(&self) -> Option<&Tried> {
        let tried = self.board.tried.as_ref();
        tried.filter(|tried| Arc::ptr_eq(&tried.picture, self.shown()))
    }

    /// What the moved sliders change, against the trip as it stands; `None` while that is being calculated.
    pub fn dial_difference(&self) -> Option<Difference> {
        self.shown_dials()?;
        let [before, now] = self.before_and_now()?;
        Some(Difference::between(before, now))
    }

    /// The strip of the plan without the dials, while another one is shown.
    pub fn saved_strip(&self) -> Option<&Strip> {
        let tried = self.shown_dials()?;
        let both = tried.picture.is_simulated() && self.settled_picture().is_simulated();
        let saved = if both {
            self.settled_picture()
        } else {
            &tried.saved
        };
        Some(saved.strip())
    }

    /// What the dials are to make of the trip, if that is not planned yet.
    pub(super) fn dials_to_plan(&self) -> Option<ToPlan> {
        let is_wanted = self.board.is_turned() && self.of_dials().is_none();
        is_wanted.then(|| ToPlan::Dials {
            base: Arc::clone(self.dial_base()),
            dials: self.board.dials.clone(),
        })
    }

    /// The picture of what the dials make of the trip, if it is planned.
    pub(super) fn of_dials(&self) -> Option<Arc<Picture>> {
        let tried = self.board.tried.as_ref()?;
        let is_of_now = Arc::ptr_eq(&tried.stated, self.trip())
            && Arc::ptr_eq(&tried.base, self.dial_base())
            && tried.dials == self.board.dials;
        is_of_now.then(|| Arc::clone(&tried.picture))
    }

    /// Takes the picture of what the dials make of the trip.
    pub(super) fn take_dials(&mut self, job: &ToPlan, picture: Arc<Picture>) {
        let is_wanted = self
            .dials_to_plan()
            .is_some_and(|wanted| wanted.is_answered_by(job));
        let ToPlan::Dials { base, dials } = job else {
            return;
        };
        if !is_wanted {
            return;
        }
        let stated = Arc::clone(self.trip());
        let saved = match &self.board.tried {
            Some(tried) if Arc::ptr_eq(&tried.stated, &stated) => Arc::clone(&tried.saved),
            _ => self.settled_best_estimate(),
        };
        self.board.tried = Some(Tried {
            stated,
            dials: dials.clone(),
            base: Arc::clone(base),
            picture,
            saved,
        });
    }

    /// Takes the picture of the same trip from simulated trips.
    pub(super) fn take_simulated_dials(&mut self, picture: &Arc<Picture>) {
        if let Some(tried) = &mut self.board.tried
            && Arc::ptr_eq(&tried.picture.plan().trip, &picture.plan().trip)
            && (picture.is_refined() || !tried.picture.is_refined())
        {
            tried.picture = Arc::clone(picture);
        }
    }

    /// After an edit the what-if beneath is laid over the trip as it is now; what no dial stands for is forgotten.
    pub(super) fn renew_beneath(&mut self) {
        if !self.board.is_turned() {
            self.board.tried = None;
        }
        let is_of_now = |beneath: &Beneath| Arc::ptr_eq(&beneath.stated, self.trip());
        if self.board.beneath.as_ref().is_none_or(is_of_now) {
            return;
        }
        if let Some(Beneath { name, .. }) = self.board.beneath.take() {
            match self.trip().with_what_if(&name) {
                Ok(trip) => self.lay_beneath(name, trip),
                Err(error) => self.status = Some(error.to_string().into()),
            }
            self.board.touch();
        }
    }

    fn lay_beneath(&mut self, name: String, trip: Trip) {
        self.board.beneath = Some(Beneath {
            name,
            trip: Arc::new(trip),
            stated: Arc::clone(self.trip()),
        });
    }

    /// Whether the screen shows where sliders change the verdict: on trips for which that takes a moment.
    pub(crate) fn shows_changes(&self) -> bool {
        let is_short = self.trip().legs.len() <= AT_ONCE;
        is_short && !self.basis().is_best_estimate()
    }

    /// The changes that are shown and not known yet. They wait for the simulation of what is shown.
    pub fn changes_to_seek(&self) -> Option<Job> {
        let is_time = self.shown().is_refined() && !self.is_behind();
        if self.mode != Mode::Dials || !self.shows_changes() || !is_time {
            return None;
        }
        let mut wanted: Vec<Dial> = self
            .dial_list()
            .into_iter()
            .filter(|dial| !self.board.changes.contains_key(dial))
            .collect();
        if let Some(chosen) = self.chosen_dial() {
            wanted.sort_by_key(|&dial| dial != chosen);
        }
        (!wanted.is_empty()).then(|| Job {
            count: self.board.count,
            base: Arc::clone(self.dial_base()),
            dials: self.board.dials.clone(),
            wanted,
        })
    }

    /// The trip was changed: what was found out about its dials is worth nothing.
    pub(super) fn forget_changes(&mut self) {
        self.board.touch();
    }

    fn set_dial(&mut self, dial: Dial, notch: Option<crate::model::dial::Notch>) {
        if self.board.dials.at(dial) != notch {
            self.board.dials.set(dial, notch);
            self.board.touch();
        }
    }
}

/// The dials are in front. Nothing when the message is none of theirs.
pub(super) fn of_dials(state: &mut State, message: Message) -> bool {
    match message {
        Message::Dials => state.mode = Mode::Dials,
        Message::VerdictChanges(count, dial, changes) => {
            if count == state.board.count {
                state.board.changes.insert(dial, changes);
            }
        }
        Message::Close if state.mode == Mode::SideBySide => state.mode = Mode::Dials,
        Message::ScrollUp if state.mode == Mode::SideBySide => state.scroll_table(-1),
        Message::ScrollDown if state.mode == Mode::SideBySide => state.scroll_table(1),
        Message::TripStart if state.mode == Mode::SideBySide => state.scroll_table(isize::MIN),
        Message::TripEnd if state.mode == Mode::SideBySide => state.scroll_table(isize::MAX),
        _ if state.mode != Mode::Dials => return false,
        Message::GoTo(km) => state.go_to(km),
        Message::TripStart => choose(state, isize::MIN),
        Message::TripEnd => choose(state, isize::MAX),
        Message::ScrollUp => choose(state, -1),
        Message::ScrollDown => choose(state, 1),
        Message::Row(row) => {
            let last = state.dial_list().len().saturating_sub(1);
            state.board.chosen = row.min(last);
        }
        Message::PageBack => state.choose(state.leg().saturating_sub(1)),
        Message::PageOn => state.choose(state.leg() + 1),
        Message::TurnOn => turn(state, true, false),
        Message::TurnBack => turn(state, false, false),
        Message::TurnFinelyOn => turn(state, true, true),
        Message::TurnFinelyBack => turn(state, false, true),
        Message::ResetDial => {
            if let Some(dial) = state.chosen_dial() {
                state.set_dial(dial, None);
            }
        }
        Message::ResetDials => reset(state),
        Message::KeepDials => keep(state),
        Message::NextWhatIf => take_up_next(state),
        Message::SideBySide => {
            state.mode = Mode::SideBySide;
            state.scroll_table(0);
        }
        Message::Close => state.mode = state.resting(),
        _ => return false,
    }
    true
}

fn choose(state: &mut State, by: isize) {
    let last = state.dial_list().len().saturating_sub(1);
    let chosen = state.board.chosen.min(last);
    state.board.chosen = chosen.saturating_add_signed(by).min(last);
}

fn turn(state: &mut State, on: bool, fine: bool) {
    let Some(dial) = state.chosen_dial() else {
        return;
    };
    let here = state.board.dials.at(dial);
    let notch = dial.turned(state.dial_base(), here, on, fine);
    state.set_dial(dial, notch);
}

fn reset(state: &mut State) {
    if !state.board.is_turned() {
        state.status = Some("all sliders are as in the trip".into());
        return;
    }
    state.board.dials = Dials::default();
    state.board.beneath = None;
    state.board.touch();
    state.status = Some("all sliders as in the trip".into());
}

fn keep(state: &mut State) {
    if !state.board.is_turned() {
        state.status = Some("nothing to save: move a slider first".into());
        return;
    }
    let taken = |name: &str| state.trip().what_ifs().iter().any(|kept| kept.name == name);
    // One more name than there are what-ifs: one of them is free.
    let proposed = (1..=state.trip().what_ifs().len() + 1)
        .map(|number| format!("what if {number}"))
        .find(|name| !taken(name));
    state.prompt = Some(Prompt::new(
        Purpose::KeepDials,
        proposed.unwrap_or_default(),
    ));
    state.mode = Mode::Prompt;
}

/// Keeps what the dials make of the trip under a name, as a what-if of the trip.
pub(super) fn keep_as(state: &mut State, name: &str) -> Result<(), Refused> {
    if name.is_empty() {
        return Err(Refused::Value("enter a name".to_owned()));
    }
    let turned = state.board.dials.trip(state.dial_base());
    let kept = what_if(name, state.trip(), &turned);
    let change = Change::keep_what_if(state.trip(), &kept);
    Ok(state.make(&change)?)
}

/// Takes up the next of the stored what-ifs.
fn take_up_next(state: &mut State) {
    let count = state.trip().what_ifs().len();
    if count == 0 {
        state.status = Some("no saved what-ifs yet".into());
        return;
    }
    let next = state.board.taken_up.map_or(0, |last| (last + 1) % count);
    state.board.taken_up = Some(next);
    let name = state.trip().what_ifs()[next].name.clone();
    match Dials::of_what_if(state.trip(), &name) {
        Ok(laid) => {
            state.board.touch();
            let how = match laid {
                Laid::OnDials(dials) => {
                    (state.board.dials, state.board.beneath) = (dials, None);
                    "loaded on the sliders"
                }
                Laid::Beneath(trip) => {
                    state.board.dials = Dials::default();
                    state.lay_beneath(name.clone(), *trip);
                    "loaded as the base of the sliders"
                }
            };
            state.status = Some(format!("{} of {count}: {name}, {how}", next + 1).into());
        }
        Err(error) => state.status = Some(error.to_string().into()),
    }
}
