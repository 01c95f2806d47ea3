//! What works beside the screen: a thread each that plans, simulates, simulates further, seeks where sliders change the
//! verdict, simulates what is compared side by side, looks for ways to make a trip fit, and reads files that changes
//! are proposed from.
//!
//! What each is asked for follows from the state alone. A short trip is planned and simulated while the frame waits,
//! and is in it; a long one comes with a later frame, and until then the screen shows the plan of before, marked as
//! such.

use std::sync::Arc;
use std::time::Duration;

use super::message::Message;
use super::outside::Proposer;
use super::picture::Picture;
use super::planner::{self, Made};
use super::proposal::{self, Answer};
use super::side_by_side::{self, Named};
use super::simulator;
use super::sliders;
use super::state::State;
use super::update::update;
use super::worker::{JobHandle, Worker};
use crate::model::Trip;
use crate::plan::Plan;

/// A frame waits so long for its plan: with the frame itself less than a sixtieth of a second.
const PATIENCE: Duration = Duration::from_millis(10);

/// The threads beside the screen.
pub struct Workers {
    plans: Worker<planner::Job, (planner::Job, Made)>,
    first: Worker<Arc<Trip>, Arc<Picture>>,
    /// Of its own, so that another trip's first answer never waits for it.
    refined: Worker<Arc<Trip>, Arc<Picture>>,
    changes: Worker<sliders::Job, Message>,
    table: Worker<Named, (Named, Plan)>,
    /// What is found is written into the plan.
    ways: Worker<Arc<Plan>, ()>,
    proposals: Worker<proposal::Job, Answer>,
}

impl Workers {
    /// Starts the threads; without enough of them nothing is simulated.
    pub fn start(state: &mut State, proposer: Proposer) -> Self {
        let units = state.units();
        let plan = move |job: planner::Job, handle: &JobHandle<_>| {
            let made = job.done(units);
            handle.send((job, made));
        };
        let simulate = |named: Named, handle: &JobHandle<_>| {
            if let Some(plan) = side_by_side::simulated(&named) {
                handle.send((named, plan));
            }
        };
        let search_fixes = |plan: Arc<Plan>, handle: &JobHandle<()>| {
            if plan.search_fixes(&|| handle.is_wanted()) {
                handle.send(());
            }
        };
        let workers = Self {
            plans: Worker::start("plans", plan),
            first: simulator::first(units),
            refined: simulator::further(units),
            changes: Worker::start("verdict changes", sliders::seek),
            table: Worker::start("side by side", simulate),
            ways: Worker::start("ways", search_fixes),
            proposals: proposal::reader(proposer, units),
        };
        if !(workers.first.has_thread() && workers.refined.has_thread()) {
            state.set_simulation(false);
        }
        workers
    }

    /// Whether answers are still to come.
    pub const fn is_busy(&self) -> bool {
        self.plans.is_busy()
            || self.first.is_busy()
            || self.refined.is_busy()
            || self.changes.is_busy()
            || self.table.is_busy()
            || self.ways.is_busy()
            || self.proposals.is_busy()
    }

    /// Before a frame: looks at what is tried, and plans and simulates what is to be shown, as far as that is done
    /// soon.
    pub fn before_frame(&mut self, state: &mut State) {
        state.look_at_trials();
        if self.plans.has_thread() {
            self.plan(state);
        } else {
            state.attend();
        }
        if let Some(trip) = state.trip_to_simulate().map(Arc::clone)
            && Arc::ptr_eq(&trip, &state.plan().trip)
        {
            let is_short = trip.legs.len() <= simulator::AT_ONCE;
            self.first.want(Some(trip));
            let found = is_short.then(|| self.first.wait(simulator::PATIENCE));
            if let Some(picture) = found.flatten() {
                state.show_simulated(&picture);
            }
        }
        state.work_out_ledger();
    }

    /// Plans what is to be planned, as far as that is done soon; whether there is something new to be shown.
    fn plan(&mut self, state: &mut State) -> bool {
        let mut is_new = false;
        let mut made = self.plans.found();
        loop {
            for (job, made) in made.drain(..) {
                state.take_planned(&job, made);
                is_new = true;
            }
            let Some(job) = state.to_plan() else {
                // What was planned may be wanted again after it was forgotten.
                self.plans.want(None);
                return is_new;
            };
            self.plans.want(Some(job));
            made.extend(self.plans.wait(PATIENCE));
            if made.is_empty() {
                return is_new;
            }
        }
    }

    /// Asks for what is wanted and takes what was found; whether there is something new to be shown.
    pub fn serve(&mut self, state: &mut State) -> bool {
        let mut is_new = self.plans.is_busy() && self.plan(state);
        self.changes.want(state.changes_to_seek());
        for message in self.changes.found() {
            update(state, message);
            is_new = true;
        }
        let first = self.first.found();
        for picture in first.into_iter().chain(self.refined.found()) {
            state.show_simulated(&picture);
            is_new = true;
        }
        if let Some(trip) = state.trip_to_simulate() {
            self.first.want(Some(Arc::clone(trip)));
        }
        self.refined.want(state.trip_to_refine().map(Arc::clone));
        for (named, plan) in self.table.found() {
            state.take_beside_simulated(&named, &plan);
            is_new = true;
        }
        if let Some(next) = state.beside_to_simulate() {
            self.table.want(Some(next));
        }
        self.ways.want(state.fixes_to_search().map(Arc::clone));
        if !self.ways.found().is_empty() {
            update(state, Message::FixesFound);
            is_new = true;
        }
        self.proposals.want(state.proposal_to_make());
        for answer in self.proposals.found() {
            state.take_proposal(answer);
            is_new = true;
        }
        is_new |= state.list_proposal();
        let troubles = [
            self.plans.trouble(),
            self.first.trouble(),
            self.refined.trouble(),
            self.changes.trouble(),
            self.table.trouble(),
            self.ways.trouble(),
            self.proposals.trouble(),
        ];
        for panicked in troubles.into_iter().flatten() {
            state.notify(panicked.to_string());
            is_new = true;
        }
        is_new
    }
}
