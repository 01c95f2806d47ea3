//! The thread that looks for ways to make a trip fit, so that no key waits for it.
//!
//! It writes what it found into the plan that it was given; a search that nobody waits for any more is dropped between two
//! changes that it tries.

use std::sync::Arc;

use super::worker::Worker;
use crate::plan::Plan;

/// The thread, seen from the screen.
pub struct Wayfinder {
    worker: Worker<Arc<Plan>, ()>,
    /// The plan whose ways are looked for.
    asked: Option<Arc<Plan>>,
}

impl Wayfinder {
    /// Starts the thread; nothing where the system has no more threads, and then no ways are found.
    pub fn start() -> Option<Self> {
        let worker = Worker::start("ways", |plan: Arc<Plan>, desk| {
            if plan.search_ways(&|| desk.is_wanted()) {
                desk.tell(());
            }
        });
        Some(Self {
            worker: worker?,
            asked: None,
        })
    }

    /// Looks for the ways of a plan, unless it does so already; of none, where nothing is to be looked for any more.
    pub fn follow(&mut self, plan: Option<&Arc<Plan>>) {
        let is_asked = match (&self.asked, plan) {
            (Some(asked), Some(plan)) => Arc::ptr_eq(asked, plan),
            (asked, plan) => asked.is_none() && plan.is_none(),
        };
        if is_asked {
            return;
        }
        self.asked = plan.cloned();
        match plan {
            Some(plan) => self.worker.ask(Arc::clone(plan)),
            None => self.worker.rest(),
        }
    }

    /// Whether an answer is still to come.
    pub const fn is_busy(&self) -> bool {
        self.worker.is_busy()
    }

    /// What a search said when it panicked.
    pub fn trouble(&mut self) -> Option<String> {
        self.worker.trouble()
    }

    /// Whether the search that is waited for has found what it finds since the last look.
    pub fn found(&mut self) -> bool {
        !self.worker.found().is_empty()
    }
}

#[cfg(test)]
mod tests {
    use std::thread;
    use std::time::{Duration, Instant};

    use super::*;

    /// A plan is searched behind the screen; one that is given up for another is not searched to its end.
    #[test]
    fn the_last_plan_that_was_asked_for_is_searched() {
        let text = include_str!("../../sample-routes/long-dry-stage.json");
        let trip: crate::model::Trip = serde_json::from_str(text).unwrap();
        let plan = || Arc::new(Plan::of(trip.clone()));
        let (given_up, wanted) = (plan(), plan());
        let mut finder = Wayfinder::start().unwrap();
        finder.follow(Some(&given_up));
        finder.follow(Some(&wanted));
        let begun = Instant::now();
        while !finder.found() {
            assert!(begun.elapsed() < Duration::from_secs(120));
            thread::sleep(Duration::from_millis(5));
        }
        assert!(wanted.known_ways().is_some());
        assert!(given_up.known_ways().is_none());
        finder.follow(None);
        assert!(!finder.is_busy() && !finder.found());
    }
}
