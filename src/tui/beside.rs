//! What works beside the screen: the threads that plan, simulate, and seek where verdicts change and what would fix a
//! trip; what they are asked for, and their answers.

use std::sync::Arc;

use super::message::Message;
use super::planner::Planner;
use super::seek::Seeker;
use super::side_by_side::TableSimulator;
use super::simulator::Simulator;
use super::state::State;
use super::update::update;
use super::wayfinder::Wayfinder;
use super::worker::own_mistake;

/// The threads beside the screen; each is missing where the system has no more threads.
pub struct Beside {
    planner: Option<Planner>,
    simulator: Option<Simulator>,
    /// Whether the others were started; the first frame does not wait for them.
    is_complete: bool,
    seeker: Option<Seeker>,
    table: Option<TableSimulator>,
    wayfinder: Option<Wayfinder>,
}

impl Beside {
    /// Starts those that the first frame needs; the others follow when they are first served.
    pub fn start(state: &mut State) -> Self {
        let simulator = Simulator::start(state.units());
        if simulator.is_none() {
            state.set_simulation(false);
        }
        Self {
            planner: Planner::start(state.units()),
            simulator,
            is_complete: false,
            seeker: None,
            table: None,
            wayfinder: None,
        }
    }

    fn complete(&mut self) {
        if !self.is_complete {
            self.is_complete = true;
            self.seeker = Seeker::start();
            self.table = TableSimulator::start();
            self.wayfinder = Wayfinder::start();
        }
    }

    /// Whether answers are still to come.
    pub fn is_busy(&self) -> bool {
        self.planner.as_ref().is_some_and(Planner::is_busy)
            || self.seeker.as_ref().is_some_and(Seeker::is_busy)
            || self.simulator.as_ref().is_some_and(Simulator::is_busy)
            || self.table.as_ref().is_some_and(TableSimulator::is_busy)
            || self.wayfinder.as_ref().is_some_and(Wayfinder::is_busy)
    }

    /// Before a frame: looks at what is tried, and plans and simulates what is to be shown, as far as that is done soon.
    pub fn before_frame(&mut self, state: &mut State) {
        state.look_at_trials();
        match &mut self.planner {
            Some(planner) => {
                planner.serve(state);
            }
            None => state.attend(),
        }
        if let Some(simulator) = &mut self.simulator
            && let Some(trip) = state.trip_to_simulate().map(Arc::clone)
            && Arc::ptr_eq(&trip, &state.plan().trip)
            && let Some(picture) = simulator.wait(&trip)
        {
            state.show_simulated(&picture);
        }
        state.attribute();
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
            match state.changes_to_seek() {
                Some(job) => seeker.ask(job),
                None => seeker.rest(),
            }
            for message in seeker.found() {
                update(state, message);
                is_new = true;
            }
            troubles.extend(seeker.trouble());
        }
        if let Some(simulator) = &mut self.simulator {
            for picture in simulator.found() {
                state.show_simulated(&picture);
                is_new = true;
            }
            if let Some(trip) = state.trip_to_simulate() {
                simulator.ask(trip);
            }
            simulator.refine(state.trip_to_refine());
            troubles.extend(simulator.trouble());
        }
        if let Some(table) = &mut self.table {
            for (named, plan) in table.found() {
                state.take_beside_simulated(&named, &plan);
                is_new = true;
            }
            if let Some(next) = state.beside_to_simulate() {
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
            state.tell(own_mistake(&says));
            is_new = true;
        }
        is_new
    }
}
