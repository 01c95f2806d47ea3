//! The threads that sample the trip on the screen, so that no key waits for it.
//!
//! A first answer comes from 8,192 samples; after a rest without another trip the same trip is sampled until its spare
//! litres are sure, and what moves them and what they are for is worked out. That is done by a second thread, since
//! samples are not drawn by halves: another trip's first answer never waits for it. Who asks for another trip gets no
//! answers to the one before.

use std::sync::Arc;
use std::time::Duration;

use super::worker::Worker;
use crate::model::Trip;
use crate::plan::{Effort, Plan};
use crate::present::load;

/// Trips of no more legs are sampled as soon as they are asked for, so that odds follow a dial that is held down.
const AT_ONCE: usize = 64;
/// So long nothing else is asked for before a longer one is: who types on has no samples drawn for each key.
const PAUSE: Duration = Duration::from_millis(40);
/// So long nothing else is asked for before it is sampled further.
const REST: Duration = Duration::from_millis(150);

/// The threads, seen from the screen. They end when this is dropped.
pub struct Sampler {
    first: Worker<Arc<Trip>, Arc<Plan>>,
    sure: Worker<Arc<Trip>, Arc<Plan>>,
    /// The trip that was asked for last.
    asked: Option<Arc<Trip>>,
}

impl Sampler {
    /// Starts the threads; nothing where the system has no more threads, and then no odds are told.
    pub fn start() -> Option<Self> {
        let first = Worker::start("samples", |trip: Arc<Trip>, desk| {
            if trip.legs.len() <= AT_ONCE || desk.rest(PAUSE) {
                let first = Plan::at_confidence(trip, Effort::FIRST.on_all_threads());
                // What a log is held against is worked out here, too.
                first.as_planned();
                load::why_these_cans(&first);
                desk.tell(Arc::new(first));
            }
        });
        let sure = Worker::start("more samples", |trip: Arc<Trip>, desk| {
            if !desk.rest(REST) {
                return;
            }
            let sure = Plan::at_confidence(trip, Effort::refined());
            if let Some(doubt) = sure.doubt.as_ref().filter(|_| desk.is_wanted()) {
                doubt.drivers();
            }
            if desk.is_wanted() {
                sure.ledger();
                sure.as_planned();
                load::why_these_cans(&sure);
                sure.lessons();
                desk.tell(Arc::new(sure));
            }
        });
        Some(Self {
            first: first?,
            sure: sure?,
            asked: None,
        })
    }

    /// Asks for the plan of a trip at its confidence, unless it was asked for already.
    pub fn ask(&mut self, trip: &Arc<Trip>) {
        let is_asked = |asked: &Arc<Trip>| Arc::ptr_eq(asked, trip);
        if !self.asked.as_ref().is_some_and(is_asked) {
            self.asked = Some(Arc::clone(trip));
            self.sure.rest();
            self.first.ask(Arc::clone(trip));
        }
    }

    /// Whether answers are still to come.
    pub const fn is_busy(&self) -> bool {
        self.first.is_busy() || self.sure.is_busy()
    }

    /// What a job said when it panicked.
    pub fn trouble(&mut self) -> Option<String> {
        self.first.trouble().or_else(|| self.sure.trouble())
    }

    /// The last answer to what was asked for last, if one has come since the last look.
    pub fn found(&mut self) -> Option<Arc<Plan>> {
        let first = self.first.found().pop();
        if let Some(plan) = &first {
            self.sure.ask(Arc::clone(&plan.trip));
        }
        self.sure.found().pop().or(first)
    }
}

#[cfg(test)]
mod tests {
    use std::thread;
    use std::time::Instant;

    use super::*;

    fn sample(name: &str) -> Arc<Trip> {
        let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(name);
        let text = std::fs::read(path).unwrap();
        Arc::new(serde_json::from_slice(&text).unwrap())
    }

    /// Both answers come, the second from more samples and with what moves it; asking again asks for nothing.
    #[test]
    fn a_trip_is_answered_twice_and_the_one_before_it_no_more() {
        let (other, trip) = (
            sample("sample-routes/dune-coast.json"),
            sample("sample-routes/forest-weekend.json"),
        );
        let mut sampler = Sampler::start().unwrap();
        sampler.ask(&other);
        sampler.ask(&trip);
        sampler.ask(&trip);
        let begun = Instant::now();
        let mut seen = Vec::new();
        while sampler.is_busy() {
            assert!(begun.elapsed() < Duration::from_secs(300));
            seen.extend(sampler.found());
            thread::sleep(Duration::from_millis(5));
        }
        let last = seen.last().unwrap();
        assert!(seen.iter().all(|plan| Arc::ptr_eq(&plan.trip, &trip)));
        assert!(last.doubt.as_ref().unwrap().known_drivers().is_some());
        assert!(last.known_ledger().is_some());
    }
}
