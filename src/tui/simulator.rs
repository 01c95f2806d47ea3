//! The threads that simulate the trip on the screen, so that no key waits longer for it than for a frame.
//!
//! A first answer comes from 2,048 simulated trips, and a frame may wait for it; after a rest without another trip the
//! same trip is simulated until the litres needed are sure, and what moves them and what they are for is worked out. A
//! second thread does that, so that another trip's first answer never waits for it. Nobody gets answers to a trip that
//! is no longer asked for.

use std::sync::Arc;
use std::time::{Duration, Instant};

use super::picture::Picture;
use super::worker::{Desk, Worker};
use crate::model::Trip;
use crate::plan::{Effort, Plan};
use crate::present::load;
use crate::present::number::Units;

/// Blocks of a first answer: 2,048 simulated trips.
pub(super) const FIRST_BLOCKS: usize = 8;
/// Trips of no more legs are simulated as soon as they are asked for, and a frame waits for it, so that the verdict
/// follows a slider that is held down.
pub(super) const AT_ONCE: usize = 64;
/// A frame waits so long for a first answer. Longer than a frame lasts, shorter than what feels late (100 ms; Card,
/// Robertson and Mackinlay 1991, from memory).
const PATIENCE: Duration = Duration::from_millis(60);
/// So long nothing else is asked for before a longer trip is simulated: for each key of a typed number would be waste.
const PAUSE: Duration = Duration::from_millis(40);
/// So long nothing else is asked for before a trip is simulated further.
const REST: Duration = Duration::from_millis(150);

/// The work that a first answer is worth, on all threads.
fn first_effort() -> Effort {
    Effort {
        blocks: FIRST_BLOCKS,
        ..Effort::FIRST.on_all_threads()
    }
}

/// A trip by its first simulated trips.
pub(super) fn first_simulated(trip: &Arc<Trip>, units: Units) -> Arc<Picture> {
    Picture::of(simulated(trip, first_effort()), units)
}

/// A trip by as many simulated trips as ever are.
pub(super) fn refined(trip: &Arc<Trip>, units: Units) -> Arc<Picture> {
    let plan = simulated(trip, Effort::refined());
    plan.dry();
    Picture::of_refined(plan, units)
}

/// The plan with what the panels need of it, so that no frame has to work that out.
fn simulated(trip: &Arc<Trip>, effort: Effort) -> Plan {
    let plan = Plan::at_confidence(Arc::clone(trip), effort);
    // What a log is compared with, and what follows if it says to turn back.
    plan.as_planned();
    plan.return_plan();
    load::why_these_cans(&plan);
    plan
}

/// Works out what the panels show of a refined plan.
fn work_out(picture: &Picture, desk: &Desk<'_, Arc<Picture>>) {
    let plan = picture.plan();
    if let Some(doubt) = plan.doubt.as_ref().filter(|_| desk.is_wanted()) {
        doubt.drivers();
    }
    if desk.is_wanted() {
        plan.ledger();
        plan.lessons();
        picture.mark_worked_out();
    }
}

/// One of the threads, and the trip that it was asked for last.
struct Simulation {
    worker: Worker<Arc<Trip>, Arc<Picture>>,
    asked: Option<(Arc<Trip>, Instant)>,
}

impl Simulation {
    fn of(worker: Worker<Arc<Trip>, Arc<Picture>>) -> Self {
        Self {
            worker,
            asked: None,
        }
    }

    /// Asks for a trip, unless it was asked for already.
    fn ask(&mut self, trip: &Arc<Trip>) {
        let is_asked = |(asked, _): &(Arc<Trip>, Instant)| Arc::ptr_eq(asked, trip);
        if !self.asked.as_ref().is_some_and(is_asked) {
            self.asked = Some((Arc::clone(trip), Instant::now()));
            self.worker.ask(Arc::clone(trip));
        }
    }

    /// Nobody waits for the trip any more.
    fn rest(&mut self) {
        if self.asked.take().is_some() {
            self.worker.rest();
        }
    }
}

/// The threads, seen from the screen. They end when this is dropped.
pub struct Simulator {
    first: Simulation,
    refined: Simulation,
    /// How long the last first answer took.
    took: Duration,
}

impl Simulator {
    /// Starts the threads; `None` if the system has no more threads.
    pub fn start(units: Units) -> Option<Self> {
        let first = Worker::start("simulation", move |trip: Arc<Trip>, desk| {
            if trip.legs.len() <= AT_ONCE || desk.rest(PAUSE) {
                desk.tell(first_simulated(&trip, units));
            }
        });
        let refined = Worker::start("refined simulation", move |trip: Arc<Trip>, desk| {
            if !desk.rest(REST) {
                return;
            }
            let picture = refined(&trip, units);
            // The verdict may wait for it, what else is worked out may not be waited for.
            desk.tell(Arc::clone(&picture));
            work_out(&picture, desk);
            desk.tell(picture);
        });
        Some(Self {
            first: Simulation::of(first?),
            refined: Simulation::of(refined?),
            took: Duration::ZERO,
        })
    }

    /// Asks for the first simulated trips of a trip, unless that was done already.
    pub fn ask(&mut self, trip: &Arc<Trip>) {
        self.first.ask(trip);
    }

    /// Asks for the trip to be simulated further, or for none to be.
    pub fn refine(&mut self, trip: Option<&Arc<Trip>>) {
        match trip {
            Some(trip) => self.refined.ask(trip),
            None => self.refined.rest(),
        }
    }

    /// The first answer to a trip that a frame waits for, if it comes soon enough.
    pub fn wait(&mut self, trip: &Arc<Trip>) -> Option<Arc<Picture>> {
        self.ask(trip);
        // Where the last one took longer, this one will too: then the frame comes first.
        if trip.legs.len() > AT_ONCE || self.took > PATIENCE {
            return None;
        }
        // Frames that follow while it is still to come share the one patience.
        let waited = self.first.asked.as_ref().map(|(_, since)| since.elapsed());
        let left = PATIENCE.saturating_sub(waited.unwrap_or_default());
        let picture = self.first.worker.wait(left)?;
        self.note_time();
        Some(picture)
    }

    /// Whether answers are still to come.
    pub const fn is_busy(&self) -> bool {
        self.first.worker.is_busy() || self.refined.worker.is_busy()
    }

    /// What a job said when it panicked.
    pub fn trouble(&mut self) -> Option<String> {
        let first = self.first.worker.trouble();
        first.or_else(|| self.refined.worker.trouble())
    }

    /// The answers that have come since the last look, first ones first.
    pub fn found(&mut self) -> Vec<Arc<Picture>> {
        let mut pictures = self.first.worker.found();
        if !pictures.is_empty() {
            self.note_time();
        }
        pictures.extend(self.refined.worker.found());
        pictures
    }

    fn note_time(&mut self) {
        if let Some((_, since)) = &self.first.asked {
            self.took = since.elapsed();
        }
    }
}

#[cfg(test)]
mod tests {
    use std::thread;

    use super::*;
    use crate::model::vocabulary::UnitSystem;

    fn sample(name: &str) -> Arc<Trip> {
        let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(name);
        let text = std::fs::read(path).unwrap();
        Arc::new(serde_json::from_slice(&text).unwrap())
    }

    /// First few simulated trips, then all, at last with what moves the litres; a trip asked for before gives none.
    #[test]
    fn a_trip_is_answered_twice_and_the_one_before_it_no_more() {
        let (other, trip) = (
            sample("sample-routes/dune-coast.json"),
            sample("sample-routes/forest-weekend.json"),
        );
        let mut simulator = Simulator::start(Units(UnitSystem::Metric)).unwrap();
        for asked in [&other, &trip, &trip] {
            simulator.ask(asked);
            simulator.refine(Some(asked));
        }
        let begun = Instant::now();
        let mut seen = Vec::new();
        while simulator.is_busy() {
            assert!(begun.elapsed() < Duration::from_secs(300));
            seen.extend(simulator.found());
            thread::sleep(Duration::from_millis(5));
        }
        let doubt = |picture: &Arc<Picture>| picture.plan().doubt.clone().unwrap();
        let of_trip = |picture: &Arc<Picture>| Arc::ptr_eq(&picture.plan().trip, &trip);
        assert!(seen.iter().all(of_trip));
        assert_eq!(doubt(&seen[0]).samples, 2_048);
        let last = seen.last().unwrap();
        assert!(last.is_refined() && last.is_worked_out());
        assert!(doubt(last).known_drivers().is_some());
        assert!(last.plan().known_ledger().is_some());
    }
}
