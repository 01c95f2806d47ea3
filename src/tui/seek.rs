//! The thread that seeks at which notches of the sliders the verdict changes, so that no key waits for it.
//!
//! Every notch that it tries is a target plan by the first simulated trips, on one thread, so that the simulation of what
//! is shown has the others. It works on one job at a time, gives each slider's changes as soon as it has them, and drops
//! the job between two plans when another count has come up meanwhile.

use super::dials::Job;
use super::message::Message;
use super::simulator::FIRST_BLOCKS;
use super::worker::{Desk, Worker};
use crate::model::dial::Dial;
use crate::plan::Effort;
use crate::plan::tipping::tips;

/// The work that each notch is worth.
pub const EFFORT: Effort = Effort {
    blocks: FIRST_BLOCKS,
    ..Effort::FIRST
};

/// The thread, seen from the screen. It ends when this is dropped.
pub struct Seeker {
    worker: Worker<Job, Message>,
    /// The count that answers are wanted for, and the dials that were asked for.
    asked: Option<(u64, Vec<Dial>)>,
}

impl Seeker {
    /// Starts the thread; `None` if the system has no more threads; then no changes are shown.
    pub fn start() -> Option<Self> {
        let worker = Worker::start("verdict changes", |job: Job, desk: &Desk<'_, Message>| {
            for &dial in &job.wanted {
                let is_wanted = || desk.is_wanted();
                let Some(tips) = tips(&job.base, &job.dials, dial, EFFORT, &is_wanted) else {
                    break;
                };
                desk.tell(Message::VerdictChanges(job.count, dial, tips));
            }
        });
        Some(Self {
            worker: worker?,
            asked: None,
        })
    }

    /// Takes a job, unless it is at work on the same count, or was and found nothing more.
    pub fn ask(&mut self, job: Job) {
        let is_asked = |(count, dials): &(u64, Vec<Dial>)| {
            let is_known = || job.wanted.iter().all(|dial| dials.contains(dial));
            *count == job.count && (self.worker.is_busy() || is_known())
        };
        if !self.asked.as_ref().is_some_and(is_asked) {
            self.asked = Some((job.count, job.wanted.clone()));
            self.worker.ask(job);
        }
    }

    /// Nobody looks at changes any more.
    pub fn rest(&mut self) {
        if self.asked.take().is_some() {
            self.worker.rest();
        }
    }

    /// Whether answers are still to come.
    pub const fn is_busy(&self) -> bool {
        self.worker.is_busy()
    }

    /// What a job said when it panicked.
    pub fn trouble(&mut self) -> Option<String> {
        self.worker.trouble()
    }

    /// What was found since the last time.
    pub fn found(&mut self) -> Vec<Message> {
        self.worker.found()
    }
}
