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
use super::worker::{self, Job as _, JobHandle};
use crate::model::Trip;
use crate::model::change::Change;
use crate::model::slider::{Recalled, Slider, Sliders, what_if};
use crate::plan::Effort;
use crate::plan::difference::Difference;
use crate::plan::tipping::{Tips, tips};
use crate::present::strip::Strip;

/// The sliders of a state.
#[derive(Clone, Debug, Default)]
pub struct Board {
    /// Those that are turned.
    sliders: Sliders,
    /// The what-if that they start from, where no slider sets what it changes.
    beneath: Option<AsBaseTrip>,
    /// Number of the chosen one in the list.
    chosen: usize,
    /// What was planned last: for which trip, with which sliders.
    tried: Option<Tried>,
    /// Changes of the verdict that are known for the present count.
    changes: HashMap<Slider, Tips>,
    /// Goes up whenever they become worthless.
    count: u64,
    /// The kept sets that are compared side by side.
    pub(super) table: Table,
    /// The stored what-if that was taken up last, to go on with the next one.
    taken_up: Option<usize>,
}

/// A what-if beneath the sliders.
#[derive(Clone, Debug)]
struct AsBaseTrip {
    name: String,
    /// The trip with the what-if applied.
    trip: Arc<Trip>,
    /// The trip that it was laid over.
    stated: Arc<Trip>,
}

#[derive(Clone, Debug)]
struct Tried {
    stated: Arc<Trip>,
    sliders: Sliders,
    base: Arc<Trip>,
    picture: Arc<Picture>,
    /// The best-estimate picture without them.
    saved: Arc<Picture>,
}

/// Changes of the verdict to be sought.
#[derive(Clone, Debug)]
pub struct Job {
    /// The count that the answers must have.
    pub count: u64,
    /// The trip from which the sliders start.
    pub base: Arc<Trip>,
    /// The turned sliders.
    pub sliders: Sliders,
    /// The sliders to find the changes of, the most wanted first.
    pub wanted: Vec<Slider>,
}

/// The work that each step is worth when changes of the verdict are sought: a target plan by the first simulated
/// trips, on one thread, so that the simulation of what is shown has the others.
pub const EFFORT: Effort = Effort {
    blocks: FIRST_BLOCKS,
    ..Effort::FIRST
};

impl worker::Job for Job {
    fn is_answered_by(&self, other: &Self) -> bool {
        let is_sought = |slider: &Slider| other.wanted.contains(slider);
        self.count == other.count && self.wanted.iter().all(is_sought)
    }
}

/// Seeks the changes of the verdict, one slider after the other, as long as anybody waits for them.
pub(super) fn seek(job: Job, handle: &JobHandle<Message>) {
    let Job {
        count,
        base,
        sliders,
        wanted,
    } = job;
    for slider in wanted {
        let Some(tips) = tips(&base, &sliders, slider, EFFORT, &|| handle.is_wanted()) else {
            return;
        };
        handle.send(Message::VerdictChanges(count, slider, tips));
    }
}

impl Board {
    /// Whether anything differs from the trip as stated.
    pub const fn is_turned(&self) -> bool {
        !self.sliders.is_empty() || self.beneath.is_some()
    }

    /// The turned sliders.
    pub const fn sliders(&self) -> &Sliders {
        &self.sliders
    }

    /// The what-if beneath the sliders.
    pub fn beneath(&self) -> Option<&str> {
        self.beneath.as_ref().map(|beneath| beneath.name.as_str())
    }

    /// Where a slider changes the verdict, if that is known for how everything is set now.
    pub fn changes(&self, slider: Slider) -> Option<&Tips> {
        self.changes.get(&slider)
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
    /// The trip from which the sliders start.
    pub(crate) fn slider_base(&self) -> &Arc<Trip> {
        match &self.board.beneath {
            Some(beneath) => &beneath.trip,
            None => self.trip(),
        }
    }

    /// The sliders as they are listed: those that apply to the trip, then those turned of other legs.
    pub fn slider_list(&self) -> Vec<Slider> {
        let mut list = Slider::all(self.slider_base(), self.leg());
        for (slider, _) in self.board.sliders.iter() {
            if !list.contains(&slider) {
                list.push(slider);
            }
        }
        list
    }

    /// The chosen slider.
    pub fn chosen_slider(&self) -> Option<Slider> {
        let list = self.slider_list();
        list.get(self.board.chosen.min(list.len().saturating_sub(1)))
            .copied()
    }

    /// What was tried last, if it is what is shown.
    fn shown_sliders(&self) -> Option<&Tried> {
        let tried = self.board.tried.as_ref();
        tried.filter(|tried| Arc::ptr_eq(&tried.picture, self.shown()))
    }

    /// What the moved sliders change, against the current trip; `None` while that is being calculated.
    pub fn slider_difference(&self) -> Option<Difference> {
        self.shown_sliders()?;
        let [before, now] = self.before_and_now()?;
        Some(Difference::between(before, now))
    }

    /// The strip of the plan without the sliders, while another one is shown.
    pub fn saved_strip(&self) -> Option<&Strip> {
        let tried = self.shown_sliders()?;
        let both = tried.picture.is_simulated() && self.settled_picture().is_simulated();
        let saved = if both {
            self.settled_picture()
        } else {
            &tried.saved
        };
        Some(saved.strip())
    }

    /// What the sliders are to make of the trip, if that is not planned yet.
    pub(super) fn sliders_to_plan(&self) -> Option<ToPlan> {
        let is_wanted = self.board.is_turned() && self.of_sliders().is_none();
        is_wanted.then(|| ToPlan::Sliders {
            base: Arc::clone(self.slider_base()),
            sliders: self.board.sliders.clone(),
        })
    }

    /// The picture of what the sliders make of the trip, if it is planned.
    pub(super) fn of_sliders(&self) -> Option<Arc<Picture>> {
        let tried = self.board.tried.as_ref()?;
        let is_of_now = Arc::ptr_eq(&tried.stated, self.trip())
            && Arc::ptr_eq(&tried.base, self.slider_base())
            && tried.sliders == self.board.sliders;
        is_of_now.then(|| Arc::clone(&tried.picture))
    }

    /// Takes the picture of what the sliders make of the trip.
    pub(super) fn take_sliders(&mut self, job: &ToPlan, picture: Arc<Picture>) {
        let is_wanted = self
            .sliders_to_plan()
            .is_some_and(|wanted| wanted.is_answered_by(job));
        let ToPlan::Sliders { base, sliders } = job else {
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
            sliders: sliders.clone(),
            base: Arc::clone(base),
            picture,
            saved,
        });
    }

    /// Takes the picture of the same trip from simulated trips.
    pub(super) fn take_simulated_sliders(&mut self, picture: &Arc<Picture>) {
        if let Some(tried) = &mut self.board.tried
            && Arc::ptr_eq(&tried.picture.plan().trip, &picture.plan().trip)
            && (picture.is_refined() || !tried.picture.is_refined())
        {
            tried.picture = Arc::clone(picture);
        }
    }

    /// After an edit the what-if beneath is laid over the trip as it is now; what no slider represents is forgotten.
    pub(super) fn renew_beneath(&mut self) {
        if !self.board.is_turned() {
            self.board.tried = None;
        }
        let is_of_now = |beneath: &AsBaseTrip| Arc::ptr_eq(&beneath.stated, self.trip());
        if self.board.beneath.as_ref().is_none_or(is_of_now) {
            return;
        }
        if let Some(AsBaseTrip { name, .. }) = self.board.beneath.take() {
            match self.trip().with_what_if(&name) {
                Ok(trip) => self.lay_beneath(name, trip),
                Err(error) => self.status = Some(error.to_string().into()),
            }
            self.board.touch();
        }
    }

    fn lay_beneath(&mut self, name: String, trip: Trip) {
        self.board.beneath = Some(AsBaseTrip {
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
        if self.mode != Mode::Sliders || !self.shows_changes() || !is_time {
            return None;
        }
        let mut wanted: Vec<Slider> = self
            .slider_list()
            .into_iter()
            .filter(|slider| !self.board.changes.contains_key(slider))
            .collect();
        if let Some(chosen) = self.chosen_slider() {
            wanted.sort_by_key(|&slider| slider != chosen);
        }
        (!wanted.is_empty()).then(|| Job {
            count: self.board.count,
            base: Arc::clone(self.slider_base()),
            sliders: self.board.sliders.clone(),
            wanted,
        })
    }

    /// The trip was changed: what was found out about its sliders is worth nothing.
    pub(super) fn forget_changes(&mut self) {
        self.board.touch();
    }

    fn set_slider(
        &mut self,
        slider: Slider,
        slider_step: Option<crate::model::slider::SliderStep>,
    ) {
        if self.board.sliders.at(slider) != slider_step {
            self.board.sliders.set(slider, slider_step);
            self.board.touch();
        }
    }
}

/// Updates the sliders in front; false if the message is none of theirs.
pub(super) fn of_sliders(state: &mut State, message: Message) -> bool {
    match message {
        Message::Sliders => state.mode = Mode::Sliders,
        Message::VerdictChanges(count, slider, changes) => {
            if count == state.board.count {
                state.board.changes.insert(slider, changes);
            }
        }
        Message::Close if state.mode == Mode::SideBySide => state.mode = Mode::Sliders,
        Message::ScrollUp if state.mode == Mode::SideBySide => state.scroll_table(-1),
        Message::ScrollDown if state.mode == Mode::SideBySide => state.scroll_table(1),
        Message::TripStart if state.mode == Mode::SideBySide => state.scroll_table(isize::MIN),
        Message::TripEnd if state.mode == Mode::SideBySide => state.scroll_table(isize::MAX),
        _ if state.mode != Mode::Sliders => return false,
        Message::GoTo(km) => state.go_to(km),
        Message::TripStart => choose(state, isize::MIN),
        Message::TripEnd => choose(state, isize::MAX),
        Message::ScrollUp => choose(state, -1),
        Message::ScrollDown => choose(state, 1),
        Message::Row(row) => {
            let last = state.slider_list().len().saturating_sub(1);
            state.board.chosen = row.min(last);
        }
        Message::PageBack => state.choose(state.leg().saturating_sub(1)),
        Message::PageOn => state.choose(state.leg() + 1),
        Message::SliderUp => turn(state, true, false),
        Message::SliderDown => turn(state, false, false),
        Message::SliderUpFinely => turn(state, true, true),
        Message::SliderDownFinely => turn(state, false, true),
        Message::ResetSlider => {
            if let Some(slider) = state.chosen_slider() {
                state.set_slider(slider, None);
            }
        }
        Message::ResetSliders => reset(state),
        Message::SaveWhatIf => keep(state),
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
    let last = state.slider_list().len().saturating_sub(1);
    let chosen = state.board.chosen.min(last);
    state.board.chosen = chosen.saturating_add_signed(by).min(last);
}

fn turn(state: &mut State, on: bool, fine: bool) {
    let Some(slider) = state.chosen_slider() else {
        return;
    };
    let here = state.board.sliders.at(slider);
    let slider_step = slider.turned(state.slider_base(), here, on, fine);
    state.set_slider(slider, slider_step);
}

fn reset(state: &mut State) {
    if !state.board.is_turned() {
        state.status = Some("all sliders are as in the trip".into());
        return;
    }
    state.board.sliders = Sliders::default();
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
        Purpose::SaveWhatIf,
        proposed.unwrap_or_default(),
    ));
    state.mode = Mode::Prompt;
}

/// Keeps what the sliders make of the trip under a name, as a what-if of the trip.
pub(super) fn keep_as(state: &mut State, name: &str) -> Result<(), Refused> {
    if name.is_empty() {
        return Err(Refused::Value("enter a name".to_owned()));
    }
    let turned = state.board.sliders.trip(state.slider_base());
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
    match Sliders::of_what_if(state.trip(), &name) {
        Ok(laid) => {
            state.board.touch();
            let how = match laid {
                Recalled::AsSliders(sliders) => {
                    (state.board.sliders, state.board.beneath) = (sliders, None);
                    "loaded on the sliders"
                }
                Recalled::AsBaseTrip(trip) => {
                    state.board.sliders = Sliders::default();
                    state.lay_beneath(name.clone(), *trip);
                    "loaded as the base of the sliders"
                }
            };
            state.status = Some(format!("{} of {count}: {name}, {how}", next + 1).into());
        }
        Err(error) => state.status = Some(error.to_string().into()),
    }
}
