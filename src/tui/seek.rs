//! The thread that seeks where dials tip, so that no key waits for it.
//!
//! It works on one job at a time, tells each dial's tips as soon as it has them, and drops the job between two plans
//! when another count has come up meanwhile.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{self, Receiver, Sender};
use std::thread;

use super::dials::Job;
use super::message::Message;
use crate::plan::tipping::tips;

/// The thread, seen from the screen. It ends when this is dropped.
pub struct Seeker {
    jobs: Sender<Job>,
    found: Receiver<Message>,
    /// The count that answers are wanted for.
    wanted: Arc<AtomicU64>,
    /// Answers still to come for it.
    open: usize,
}

impl Seeker {
    /// Starts the thread; nothing where the system has no more threads, and then no tips are told.
    pub fn start() -> Option<Self> {
        let (jobs, todo) = mpsc::channel::<Job>();
        let (tell, found) = mpsc::channel();
        let wanted = Arc::new(AtomicU64::new(u64::MAX));
        let current = Arc::clone(&wanted);
        let work = move || {
            for job in todo {
                let is_wanted = || current.load(Ordering::Relaxed) == job.count;
                for &dial in &job.wanted {
                    let Some(tips) = tips(&job.base, &job.dials, dial, &is_wanted) else {
                        break;
                    };
                    if tell.send(Message::Tipped(job.count, dial, tips)).is_err() {
                        return;
                    }
                }
            }
        };
        let named = thread::Builder::new().name("tips".to_owned());
        named.spawn(work).ok()?;
        Some(Self {
            jobs,
            found,
            wanted,
            open: 0,
        })
    }

    /// Takes a job, unless it is at work on the same count.
    pub fn ask(&mut self, job: Job) {
        if self.wanted.swap(job.count, Ordering::Relaxed) != job.count || self.open == 0 {
            self.open = job.wanted.len();
            // Where the thread is gone there are no tips, and the screen goes on.
            if self.jobs.send(job).is_err() {
                self.open = 0;
            }
        }
    }

    /// Nobody looks at tips any more.
    pub fn rest(&mut self) {
        self.wanted.store(u64::MAX, Ordering::Relaxed);
        self.open = 0;
    }

    /// Whether answers are still to come.
    pub const fn is_busy(&self) -> bool {
        self.open > 0
    }

    /// What was found since the last time.
    pub fn found(&mut self) -> Vec<Message> {
        let found: Vec<Message> = self.found.try_iter().collect();
        let wanted = self.wanted.load(Ordering::Relaxed);
        let of_now = found
            .iter()
            .filter(|message| matches!(message, Message::Tipped(count, ..) if *count == wanted));
        self.open = self.open.saturating_sub(of_now.count());
        found
    }
}

impl Drop for Seeker {
    fn drop(&mut self) {
        self.rest();
    }
}
