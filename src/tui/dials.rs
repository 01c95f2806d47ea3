//! The dials on the screen: which is chosen, which are turned, what was found out about where they tip.
//!
//! Turning a dial only notes it; what follows is planned once before the next frame ([`State::attend`]), however many
//! keys were pressed. Tips are sought by a thread of its own (`seek`) and belong to the state they were
//! sought for: a count goes up with every turn and every edit, and an answer to an older count is dropped.

use std::collections::HashMap;
use std::sync::Arc;

use super::message::Message;
use super::prompt::{Prompt, Purpose};
use super::state::{Mode, State};
use crate::model::Trip;
use crate::model::change::Change;
use crate::model::dial::{Dial, Dials, Laid, what_if};
use crate::plan::Plan;
use crate::plan::difference::Difference;
use crate::plan::tipping::Tips;
use crate::present::compare::{AS_STATED, Row};
use crate::present::strip::Strip;

/// Kept sets that stand side by side at most, besides the trip as stated.
pub const SIDE_BY_SIDE: usize = 4;

/// The dials of a state.
#[derive(Clone, Debug, Default)]
pub struct Board {
    /// Those that are turned.
    dials: Dials,
    /// The what-if that they start from, where no dial says what it changes.
    beneath: Option<(String, Arc<Trip>)>,
    /// Number of the chosen one in the list.
    chosen: usize,
    /// What was planned last: for which trip, with which dials.
    tried: Option<Tried>,
    /// Tips that are known for the present count.
    tips: HashMap<Dial, Tips>,
    /// Goes up whenever tips become worthless.
    count: u64,
    /// The rows that stand side by side.
    beside: Vec<Beside>,
    /// The first kept set among them, and how many there are.
    beside_from: [usize; 2],
    /// The stored what-if that was taken up last, to go on with the next one.
    taken_up: Option<usize>,
}

#[derive(Clone, Debug)]
struct Tried {
    stated: Arc<Trip>,
    dials: Dials,
    base: Arc<Trip>,
    plan: Arc<Plan>,
    /// The strip of the plan without them.
    saved: Strip,
}

/// A row of what stands side by side.
#[derive(Clone, Debug)]
pub enum Beside {
    /// A plan's figures.
    Plan(Row),
    /// A what-if that does not fit the trip any more.
    Stale {
        /// Its name.
        name: String,
        /// Why not.
        why: String,
    },
}

/// Tips to be sought.
#[derive(Clone, Debug)]
pub struct Job {
    /// The count that the answers must bear.
    pub count: u64,
    /// The trip from which the dials start.
    pub base: Arc<Trip>,
    /// The turned dials.
    pub dials: Dials,
    /// The dials to find the tips of, the most wanted first.
    pub wanted: Vec<Dial>,
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
        self.beneath.as_ref().map(|(name, _)| name.as_str())
    }

    /// Where a dial tips, if that is known for how everything stands now.
    pub fn tips(&self, dial: Dial) -> Option<&Tips> {
        self.tips.get(&dial)
    }

    /// The count of the present state.
    pub const fn count(&self) -> u64 {
        self.count
    }

    /// The rows that stand side by side: as stated, as the dials stand, and up to four that are kept.
    pub fn beside(&self) -> &[Beside] {
        &self.beside
    }

    /// Which of the kept ones these are, where not all are shown.
    pub fn which(&self) -> String {
        let [from, count] = self.beside_from;
        if count > SIDE_BY_SIDE {
            let to = (from + SIDE_BY_SIDE).min(count);
            format!(": {} to {to} of {count} kept", from + 1)
        } else {
            String::new()
        }
    }

    fn touch(&mut self) {
        self.count += 1;
        self.tips.clear();
    }
}

impl State {
    /// The trip from which the dials start.
    pub fn dial_base(&self) -> &Arc<Trip> {
        match &self.board.beneath {
            Some((_, trip)) => trip,
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

    /// What the turned dials change, against the trip as it stands.
    pub fn dial_difference(&self) -> Option<Difference> {
        let tried = self.board.tried.as_ref()?;
        let shown = Arc::ptr_eq(&tried.plan, self.plan_arc());
        shown.then(|| Difference::between(tried.saved.plan(), &tried.plan))
    }

    /// The strip of the plan without the dials, while another one is shown.
    pub fn saved_strip(&self) -> Option<&Strip> {
        let tried = self.board.tried.as_ref()?;
        let shown = Arc::ptr_eq(&tried.plan, self.plan_arc());
        shown.then_some(&tried.saved)
    }

    /// Plans and shows what the dials make of the trip. Called once before a frame and not once for each key.
    pub(super) fn try_dials(&mut self) {
        if !self.board.is_turned() {
            if self.board.tried.take().is_some() {
                self.give_up_trial();
            }
            return;
        }
        self.renew_beneath();
        let stated = Arc::clone(self.trip());
        let base = Arc::clone(self.dial_base());
        let is_known = self.board.tried.as_ref().is_some_and(|tried| {
            Arc::ptr_eq(&tried.stated, &stated)
                && Arc::ptr_eq(&tried.base, &base)
                && tried.dials == self.board.dials
        });
        if !is_known {
            let saved = match &self.board.tried {
                Some(tried) if Arc::ptr_eq(&tried.stated, &stated) => tried.saved.clone(),
                _ => Strip::of(self.settled_plain()),
            };
            self.board.tried = Some(Tried {
                plan: Arc::new(Plan::of(self.board.dials.trip(&base))),
                dials: self.board.dials.clone(),
                stated,
                base,
                saved,
            });
        }
        if let Some(tried) = &self.board.tried
            && !Arc::ptr_eq(&tried.plan, self.plan_arc())
        {
            self.try_plan(Arc::clone(&tried.plan));
        }
    }

    /// After an edit the what-if beneath is laid over the trip as it is now.
    fn renew_beneath(&mut self) {
        let stale = match (&self.board.beneath, &self.board.tried) {
            (Some(_), Some(tried)) => !Arc::ptr_eq(&tried.stated, self.trip()),
            _ => false,
        };
        if !stale {
            return;
        }
        if let Some((name, _)) = self.board.beneath.take() {
            match self.trip().with_what_if(&name) {
                Ok(trip) => self.board.beneath = Some((name, Arc::new(trip))),
                Err(error) => self.status = Some(error.to_string().into()),
            }
            self.board.touch();
        }
    }

    /// The tips that are shown and not known yet.
    pub fn tips_to_seek(&self) -> Option<Job> {
        if self.mode != Mode::Dials {
            return None;
        }
        let mut wanted: Vec<Dial> = self
            .dial_list()
            .into_iter()
            .filter(|&dial| dial != Dial::Confidence && !self.board.tips.contains_key(&dial))
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
    pub(super) fn forget_tips(&mut self) {
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
        Message::Tipped(count, dial, tips) => {
            if count == state.board.count {
                state.board.tips.insert(dial, tips);
            }
        }
        Message::Close if state.mode == Mode::SideBySide => state.mode = Mode::Dials,
        Message::ScrollUp if state.mode == Mode::SideBySide => put_side_by_side(state, -1),
        Message::ScrollDown if state.mode == Mode::SideBySide => put_side_by_side(state, 1),
        _ if state.mode != Mode::Dials => return false,
        Message::GoTo(km) => state.go_to(km),
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
            put_side_by_side(state, 0);
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
        state.status = Some("all dials are as stated".into());
        return;
    }
    state.board.dials = Dials::default();
    state.board.beneath = None;
    state.board.touch();
    state.status = Some("all dials as stated".into());
}

fn keep(state: &mut State) {
    if !state.board.is_turned() {
        state.status = Some("turn a dial first: there is nothing to keep".into());
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
pub(super) fn keep_as(state: &mut State, name: &str) -> Result<(), String> {
    if name.is_empty() {
        return Err("must be a name, got nothing".to_owned());
    }
    let turned = state.board.dials.trip(state.dial_base());
    let kept = what_if(name, state.trip(), &turned);
    let change = Change::keep_what_if(state.trip(), &kept).map_err(|error| error.to_string())?;
    state.make(&change)
}

/// Plans what stands side by side, the kept ones from `by` further on.
fn put_side_by_side(state: &mut State, by: isize) {
    let units = state.units();
    let trip = Arc::clone(state.trip());
    let kept = trip.what_ifs();
    let last = kept.len().saturating_sub(SIDE_BY_SIDE);
    let from = state.board.beside_from[0]
        .min(last)
        .saturating_add_signed(by)
        .min(last);
    let mut rows = vec![Beside::Plan(Row::of(
        AS_STATED,
        &state.settled_plain(),
        units,
    ))];
    if state.board.is_turned() {
        rows.push(Beside::Plan(Row::of(
            "as the dials stand",
            state.plan(),
            units,
        )));
    }
    rows.extend(kept.iter().skip(from).take(SIDE_BY_SIDE).map(|kept| {
        match trip.with_what_if(&kept.name) {
            Ok(changed) => Beside::Plan(Row::of(&kept.name, &Plan::of(changed), units)),
            Err(error) => Beside::Stale {
                name: kept.name.clone(),
                why: error.reason(),
            },
        }
    }));
    state.board.beside = rows;
    state.board.beside_from = [from, kept.len()];
}

/// Takes up the next of the stored what-ifs.
fn take_up_next(state: &mut State) {
    let count = state.trip().what_ifs().len();
    if count == 0 {
        state.status = Some("no what-if is kept with this trip yet".into());
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
                    "on the dials"
                }
                Laid::Beneath(trip) => {
                    state.board.dials = Dials::default();
                    state.board.beneath = Some((name.clone(), Arc::new(*trip)));
                    "beneath the dials, which start from it"
                }
            };
            state.status = Some(format!("{} of {count}: {name}, {how}", next + 1).into());
        }
        Err(error) => state.status = Some(error.to_string().into()),
    }
}
