//! A thread beside the screen that does one kind of job, so that no key waits for it: always the one that was asked for
//! last. Anyone who asks for another job gets no more answers to the one before.
//!
//! A job that panics ends itself alone: it is reported as trouble, and the thread takes the next job.

use std::any::Any;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{self, Receiver, Sender};
use std::thread;
use std::time::{Duration, Instant};

/// How often a job that rests looks whether it is still wanted.
const GLANCE: Duration = Duration::from_millis(10);

/// What a worker does.
pub trait Job: Clone + Send + 'static {
    /// Whether the answers to the other one answer this one.
    fn is_answered_by(&self, other: &Self) -> bool;
}

/// The very same thing, whatever is in it.
impl<T: Send + Sync + 'static> Job for Arc<T> {
    fn is_answered_by(&self, other: &Self) -> bool {
        Self::ptr_eq(self, other)
    }
}

/// The thread, seen from the screen. It ends when this is dropped.
#[derive(Debug)]
pub struct Worker<J, A> {
    /// `None` if the system has no more threads.
    jobs: Option<Sender<(u64, J)>>,
    sent: Receiver<(u64, Sent<A>)>,
    /// Number of the job whose answers are wanted.
    wanted: Arc<AtomicU64>,
    /// The job that was asked for last, and when.
    asked: Option<(J, Instant)>,
    is_busy: bool,
    took: Duration,
    trouble: Option<Panicked>,
}

/// What comes back of a job.
enum Sent<A> {
    Answer(A),
    /// It is done, or the message with which it panicked.
    Ended(Result<(), Panicked>),
}

/// A job ended in a panic.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("internal error (your edits are safe): {0}")]
pub struct Panicked(
    /// The message of the panic.
    String,
);

/// The screen, seen from a job.
pub struct JobHandle<A> {
    number: u64,
    wanted: Arc<AtomicU64>,
    sender: Sender<(u64, Sent<A>)>,
}

impl<A> Clone for JobHandle<A> {
    fn clone(&self) -> Self {
        Self {
            number: self.number,
            wanted: Arc::clone(&self.wanted),
            sender: self.sender.clone(),
        }
    }
}

impl<A> JobHandle<A> {
    /// Whether anybody still waits for this job's answers.
    pub(crate) fn is_wanted(&self) -> bool {
        self.wanted.load(Ordering::Relaxed) == self.number
    }

    /// Gives an answer; a job may have several.
    pub(crate) fn send(&self, answer: A) {
        // Where the screen is gone nobody misses it.
        let _ = self.sender.send((self.number, Sent::Answer(answer)));
    }

    /// Waits; whether the job is still wanted after that.
    pub(crate) fn sleep_unless_cancelled(&self, so_long: Duration) -> bool {
        let until = Instant::now() + so_long;
        while self.is_wanted() && Instant::now() < until {
            thread::sleep(GLANCE);
        }
        self.is_wanted()
    }
}

impl<J: Job, A: Send + 'static> Worker<J, A> {
    /// Starts the thread.
    pub fn start(name: &str, mut work: impl FnMut(J, &JobHandle<A>) + Send + 'static) -> Self {
        let (jobs, todo) = mpsc::channel::<(u64, J)>();
        let (sender, sent) = mpsc::channel();
        let wanted = Arc::new(AtomicU64::new(0));
        let current = Arc::clone(&wanted);
        let run = move || {
            for (number, job) in todo {
                let handle = JobHandle {
                    number,
                    wanted: Arc::clone(&current),
                    sender: sender.clone(),
                };
                if !handle.is_wanted() {
                    continue;
                }
                let ended = catch_unwind(AssertUnwindSafe(|| work(job, &handle)));
                let ended = ended.map_err(|panic| Panicked(message_of(&*panic)));
                if sender.send((number, Sent::Ended(ended))).is_err() {
                    return;
                }
            }
        };
        let thread = thread::Builder::new().name(name.to_owned()).spawn(run);
        Self {
            jobs: thread.ok().map(|_| jobs),
            sent,
            wanted,
            asked: None,
            is_busy: false,
            took: Duration::ZERO,
            trouble: None,
        }
    }

    /// Whether there is a thread; without one no job is ever answered.
    pub(crate) const fn has_thread(&self) -> bool {
        self.jobs.is_some()
    }

    /// Takes a job in place of any other, unless it is at work on it or has done it; without a job it rests.
    pub fn want(&mut self, job: Option<J>) {
        let Some(job) = job else {
            if self.asked.take().is_some() {
                self.wanted.fetch_add(1, Ordering::Relaxed);
                self.is_busy = false;
            }
            return;
        };
        let asked = self.asked.as_ref().map(|(asked, _)| asked);
        if asked.is_some_and(|asked| job.is_answered_by(asked)) {
            return;
        }
        let number = self.wanted.fetch_add(1, Ordering::Relaxed) + 1;
        self.asked = Some((job.clone(), Instant::now()));
        let jobs = self.jobs.as_ref();
        self.is_busy = jobs.is_some_and(|jobs| jobs.send((number, job)).is_ok());
    }

    /// Whether answers to the job may still come.
    pub(crate) const fn is_busy(&self) -> bool {
        self.is_busy
    }

    /// The answers that have come since the last look, to the job that was asked for last.
    pub fn found(&mut self) -> Vec<A> {
        let mut answers = Vec::new();
        while let Ok(sent) = self.sent.try_recv() {
            answers.extend(self.received(sent));
        }
        answers
    }

    /// The next answer, if it comes within so long after the job was asked for. If the last one took longer, this one
    /// will too, and is not waited for.
    pub(crate) fn wait(&mut self, patience: Duration) -> Option<A> {
        while self.is_busy && self.took <= patience {
            let (_, since) = self.asked.as_ref()?;
            let left = patience.saturating_sub(since.elapsed());
            let sent = self.sent.recv_timeout(left).ok()?;
            if let Some(answer) = self.received(sent) {
                return Some(answer);
            }
        }
        None
    }

    /// The panic of a job, shown once.
    pub const fn trouble(&mut self) -> Option<Panicked> {
        self.trouble.take()
    }

    fn received(&mut self, (number, sent): (u64, Sent<A>)) -> Option<A> {
        if number != self.wanted.load(Ordering::Relaxed) {
            return None;
        }
        match sent {
            Sent::Answer(answer) => {
                if let Some((_, since)) = &self.asked {
                    self.took = since.elapsed();
                }
                return Some(answer);
            }
            Sent::Ended(Ok(())) => {}
            Sent::Ended(Err(panicked)) => self.trouble = Some(panicked),
        }
        self.is_busy = false;
        None
    }
}

impl<J, A> Drop for Worker<J, A> {
    fn drop(&mut self) {
        self.wanted.store(u64::MAX, Ordering::Relaxed);
    }
}

/// The message of a panic.
fn message_of(panic: &(dyn Any + Send)) -> String {
    let text = panic.downcast_ref::<&str>().map(|text| (*text).to_owned());
    text.or_else(|| panic.downcast_ref::<String>().cloned())
        .unwrap_or_else(|| "no reason was given".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    const PATIENCE: Duration = Duration::from_secs(60);

    impl Job for u32 {
        fn is_answered_by(&self, other: &Self) -> bool {
            self == other
        }
    }

    #[test]
    fn only_the_last_job_is_answered() {
        let work = |job: u32, handle: &JobHandle<u32>| {
            while handle.is_wanted() && job == 0 {
                thread::sleep(Duration::from_millis(1));
            }
            handle.send(job);
            handle.send(job + 1);
        };
        let mut worker = Worker::start("test", work);
        worker.want(Some(0));
        assert!(worker.is_busy());
        worker.want(Some(7));
        worker.want(Some(7));
        assert_eq!(worker.wait(PATIENCE), Some(7));
        assert_eq!(worker.wait(PATIENCE), Some(8));
        assert_eq!(worker.wait(PATIENCE), None);
        assert!(!worker.is_busy() && worker.trouble().is_none());
    }

    #[test]
    fn a_job_that_panics_is_reported_and_the_next_one_is_done() {
        let work = |job: u32, handle: &JobHandle<u32>| {
            assert_ne!(job, 1, "on purpose");
            handle.send(job);
        };
        let mut worker = Worker::start("test", work);
        worker.want(Some(1));
        assert_eq!(worker.wait(PATIENCE), None);
        assert!(!worker.is_busy());
        assert!(worker.trouble().unwrap().0.contains("on purpose"));
        assert!(worker.trouble().is_none());
        worker.want(Some(2));
        assert_eq!(worker.wait(PATIENCE), Some(2));
    }

    #[test]
    fn who_rests_hears_no_more() {
        let mut worker = Worker::start("test", |job: u32, handle: &JobHandle<u32>| {
            handle.sleep_unless_cancelled(Duration::from_millis(20));
            handle.send(job);
        });
        worker.want(Some(1));
        worker.want(None);
        assert!(!worker.is_busy());
        assert_eq!(worker.wait(Duration::from_millis(60)), None);
        assert!(worker.found().is_empty());
    }
}
