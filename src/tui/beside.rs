//! What works beside the screen: the threads that plan, sample and seek tips and ways, what they are asked for, and their answers.

use super::message::Message;
use super::planner::Planner;
use super::sampler::Sampler;
use super::seek::Seeker;
use super::side_by_side::TableSampler;
use super::state::State;
use super::update::update;
use super::wayfinder::Wayfinder;

/// The threads beside the screen; each is missing where the system has no more threads.
pub struct Beside {
    planner: Option<Planner>,
    /// Whether all but the planner were started; the first frame does not wait for them.
    is_complete: bool,
    seeker: Option<Seeker>,
    sampler: Option<Sampler>,
    table: Option<TableSampler>,
    wayfinder: Option<Wayfinder>,
}

impl Beside {
    /// Starts the one that the first frame needs; the others follow when they are first served.
    pub fn start(state: &State) -> Self {
        Self {
            planner: Planner::start(state.units()),
            is_complete: false,
            seeker: None,
            sampler: None,
            table: None,
            wayfinder: None,
        }
    }

    fn complete(&mut self) {
        if !self.is_complete {
            self.is_complete = true;
            self.seeker = Seeker::start();
            self.sampler = Sampler::start();
            self.table = TableSampler::start();
            self.wayfinder = Wayfinder::start();
        }
    }

    /// Whether answers are still to come.
    pub fn is_busy(&self) -> bool {
        self.planner.as_ref().is_some_and(Planner::is_busy)
            || self.seeker.as_ref().is_some_and(Seeker::is_busy)
            || self.sampler.as_ref().is_some_and(Sampler::is_busy)
            || self.table.as_ref().is_some_and(TableSampler::is_busy)
            || self.wayfinder.as_ref().is_some_and(Wayfinder::is_busy)
    }

    /// Before a frame: looks at what is tried, and plans what is to be shown, as far as that is done soon.
    pub fn before_frame(&mut self, state: &mut State) {
        state.look_at_trials();
        match &mut self.planner {
            Some(planner) => {
                planner.serve(state);
                state.attribute();
            }
            None => state.attend(),
        }
    }

    /// Asks for what is wanted and takes what was found; whether there is something new to be shown.
    pub fn serve(&mut self, state: &mut State) -> bool {
        self.complete();
        let mut is_new = false;
        let mut troubles = Vec::new();
        if let Some(planner) = &mut self.planner {
            is_new |= planner.is_busy() && planner.serve(state);
            troubles.extend(planner.trouble());
        }
        if let Some(seeker) = &mut self.seeker {
            match state.tips_to_seek() {
                Some(job) => seeker.ask(job),
                None => seeker.rest(),
            }
            for message in seeker.found() {
                update(state, message);
                is_new = true;
            }
            troubles.extend(seeker.trouble());
        }
        if let Some(sampler) = &mut self.sampler {
            if let Some(trip) = state.trip_to_sample() {
                sampler.ask(trip);
            }
            if let Some(plan) = sampler.found() {
                state.show_sampled(plan);
                is_new = true;
            }
            troubles.extend(sampler.trouble());
        }
        if let Some(table) = &mut self.table {
            for (named, plan) in table.found() {
                state.take_beside_sampled(&named, &plan);
                is_new = true;
            }
            if let Some(next) = state.beside_to_sample() {
                table.ask(next);
            }
            troubles.extend(table.trouble());
        }
        if let Some(finder) = &mut self.wayfinder {
            finder.follow(state.ways_to_search());
            if finder.found() {
                update(state, Message::WaysFound);
                is_new = true;
            }
            troubles.extend(finder.trouble());
        }
        if let Some(says) = troubles.pop() {
            state.tell(told(&says));
            is_new = true;
        }
        is_new
    }
}

/// What is told about a thread's panic.
fn told(says: &str) -> String {
    format!("a mistake of drystage's own, what is typed is safe: {says}")
}
