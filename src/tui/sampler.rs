//! The thread that samples the trip on the screen, so that no key waits for it.
//!
//! A first answer comes from 8,192 samples; after a rest without another trip the same trip is sampled until its spare
//! litres are sure, and what moves them is worked out. Who asks for another trip gets no answers to the one before.

use std::sync::Arc;
use std::sync::mpsc::{self, Receiver, RecvTimeoutError, Sender};
use std::thread;
use std::time::Duration;

use crate::model::Trip;
use crate::plan::{Effort, Plan};

/// So long nothing else is asked for before a trip is sampled further.
const REST: Duration = Duration::from_millis(150);

/// The thread, seen from the screen. It ends when this is dropped.
pub struct Sampler {
    jobs: Sender<Arc<Trip>>,
    found: Receiver<Arc<Plan>>,
    /// The trip that was asked for last.
    asked: Option<Arc<Trip>>,
    /// Answers still to come for it.
    open: usize,
}

impl Sampler {
    /// Starts the thread; nothing where the system has no more threads, and then no odds are told.
    pub fn start() -> Option<Self> {
        let (jobs, todo) = mpsc::channel::<Arc<Trip>>();
        let (tell, found) = mpsc::channel();
        let named = thread::Builder::new().name("samples".to_owned());
        named.spawn(move || work(&todo, &tell)).ok()?;
        Some(Self {
            jobs,
            found,
            asked: None,
            open: 0,
        })
    }

    /// Asks for the plan of a trip at its confidence, unless it was asked for already.
    pub fn ask(&mut self, trip: &Arc<Trip>) {
        let is_asked = |asked: &Arc<Trip>| Arc::ptr_eq(asked, trip);
        if self.asked.as_ref().is_some_and(is_asked) {
            return;
        }
        self.asked = Some(Arc::clone(trip));
        // Where the thread is gone there are no odds, and the screen goes on.
        self.open = if self.jobs.send(Arc::clone(trip)).is_ok() {
            2
        } else {
            0
        };
    }

    /// Whether answers are still to come.
    pub const fn is_busy(&self) -> bool {
        self.open > 0
    }

    /// The last answer to what was asked for last, if one has come since the last look.
    pub fn found(&mut self) -> Option<Arc<Plan>> {
        let asked = self.asked.as_ref()?;
        let answers = self.found.try_iter();
        let mut last = None;
        for plan in answers.filter(|plan| Arc::ptr_eq(&plan.trip, asked)) {
            self.open = self.open.saturating_sub(1);
            last = Some(plan);
        }
        last
    }
}

fn work(todo: &Receiver<Arc<Trip>>, tell: &Sender<Arc<Plan>>) {
    let mut next = todo.recv().ok();
    while let Some(trip) = next {
        // Only the last one that was asked for is still wanted.
        let trip = todo.try_iter().last().unwrap_or(trip);
        let first = Plan::at_confidence(Arc::clone(&trip), Effort::FIRST);
        if tell.send(Arc::new(first)).is_err() {
            return;
        }
        next = match todo.recv_timeout(REST) {
            Ok(other) => Some(other),
            Err(RecvTimeoutError::Disconnected) => return,
            Err(RecvTimeoutError::Timeout) => {
                let sure = Plan::at_confidence(trip, Effort::refined());
                if let Some(doubt) = &sure.doubt {
                    doubt.drivers();
                }
                if tell.send(Arc::new(sure)).is_err() {
                    return;
                }
                todo.recv().ok()
            }
        };
    }
}

#[cfg(test)]
mod tests {
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
    }
}
