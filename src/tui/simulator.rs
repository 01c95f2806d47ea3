//! The threads that simulate the trip on the screen, so that no key waits longer for it than for a frame.
//!
//! A first answer comes from 2,048 simulated trips, and a frame may wait for it; after a rest without another trip the
//! same trip is simulated until the litres needed are sure, and what moves them and what they are for is worked out. A
//! second thread does that, so that another trip's first answer never waits for it. Nobody gets answers to a trip that
//! is no longer asked for.

use std::sync::Arc;
use std::time::Duration;

use super::picture::Picture;
use super::worker::{JobHandle, Worker};
use crate::model::Trip;
use crate::plan::{Effort, Plan};
use crate::present::number::Units;

/// Blocks of a first answer: 2,048 simulated trips.
pub(super) const FIRST_BLOCKS: usize = 8;
/// Trips of no more legs are simulated as soon as they are asked for, and a frame waits for it, so that the verdict
/// follows a slider that is held down.
pub(super) const AT_ONCE: usize = 64;
/// A frame waits so long for a first answer. Longer than a frame lasts, shorter than what feels late (100 ms; Card,
/// Robertson and Mackinlay 1991, from memory).
pub(super) const PATIENCE: Duration = Duration::from_millis(60);
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
    let plan = Plan::at_target(Arc::clone(trip), effort);
    // What a log is compared with, and what follows if it leads to turning back.
    plan.as_planned();
    plan.return_plan();
    plan
}

/// Works out what the panels show of a refined plan.
fn work_out(picture: &Picture, handle: &JobHandle<Arc<Picture>>) {
    let plan = picture.plan();
    if let Some(doubt) = plan.doubt.as_ref().filter(|_| handle.is_wanted()) {
        doubt.drivers();
    }
    if handle.is_wanted() {
        plan.ledger();
        plan.lessons();
        plan.range();
        plan.range_left();
        picture.mark_worked_out();
    }
}

/// The thread that simulates the first trips.
pub(super) fn first(units: Units) -> Worker<Arc<Trip>, Arc<Picture>> {
    Worker::start("simulation", move |trip: Arc<Trip>, handle| {
        if trip.legs.len() <= AT_ONCE || handle.sleep_unless_cancelled(PAUSE) {
            handle.send(first_simulated(&trip, units));
        }
    })
}

/// The thread that simulates further.
pub(super) fn further(units: Units) -> Worker<Arc<Trip>, Arc<Picture>> {
    Worker::start("refined simulation", move |trip: Arc<Trip>, handle| {
        if !handle.sleep_unless_cancelled(REST) {
            return;
        }
        let picture = refined(&trip, units);
        // The verdict may wait for it, what else is worked out may not be waited for.
        handle.send(Arc::clone(&picture));
        work_out(&picture, handle);
        handle.send(picture);
    })
}

#[cfg(test)]
mod tests {
    use std::thread;
    use std::time::Instant;

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
        let units = Units(UnitSystem::Metric);
        let mut workers = [first(units), further(units)];
        for worker in &mut workers {
            for asked in [&other, &trip, &trip] {
                worker.want(Some(Arc::clone(asked)));
            }
        }
        let begun = Instant::now();
        let mut seen = Vec::new();
        while workers.iter().any(Worker::is_busy) {
            assert!(begun.elapsed() < Duration::from_secs(300));
            seen.extend(workers.iter_mut().flat_map(Worker::found));
            thread::sleep(Duration::from_millis(5));
        }
        let doubt = |picture: &Arc<Picture>| picture.plan().doubt.clone().unwrap();
        let of_trip = |picture: &Arc<Picture>| Arc::ptr_eq(&picture.plan().trip, &trip);
        assert!(seen.iter().all(of_trip));
        assert_eq!(doubt(&seen[0]).samples, 2_048);
        let last = seen.last().unwrap();
        assert!(last.is_refined() && last.is_worked_out());
        assert!(last.plan().known_ledger().is_some());
    }
}
