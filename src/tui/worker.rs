//! A thread beside the screen that does one kind of job, so that no key waits for it: always the one that was asked for
//! last. Whoever asks for another job gets no more answers to the one before.
//!
//! A job that panics ends itself alone: it is told as trouble, and the thread takes the next job.

use std::any::Any;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{self, Receiver, Sender};
use std::thread;
use std::time::{Duration, Instant};

/// How often a job that rests looks whether it is still wanted.
const GLANCE: Duration = Duration::from_millis(10);

/// The thread, seen from the screen. It ends when this is dropped.
#[derive(Debug)]
pub struct Worker<J, A> {
    jobs: Sender<(u64, J)>,
    told: Receiver<(u64, Told<A>)>,
    /// Number of the job whose answers are wanted.
    wanted: Arc<AtomicU64>,
    is_busy: bool,
    trouble: Option<String>,
}

/// What comes back of a job.
enum Told<A> {
    Answer(A),
    /// It is done, or what it said when it panicked.
    Ended(Result<(), String>),
}

/// The screen, seen from a job.
pub struct Desk<'a, A> {
    number: u64,
    wanted: &'a AtomicU64,
    tell: &'a Sender<(u64, Told<A>)>,
}

impl<A> Desk<'_, A> {
    /// Whether anybody still waits for this job's answers.
    pub fn is_wanted(&self) -> bool {
        self.wanted.load(Ordering::Relaxed) == self.number
    }

    /// Gives an answer; a job may have several.
    pub fn tell(&self, answer: A) {
        // Where the screen is gone nobody misses it.
        let _ = self.tell.send((self.number, Told::Answer(answer)));
    }

    /// Waits; whether the job is still wanted after that.
    pub fn rest(&self, so_long: Duration) -> bool {
        let until = Instant::now() + so_long;
        while self.is_wanted() && Instant::now() < until {
            thread::sleep(GLANCE);
        }
        self.is_wanted()
    }
}

impl<J: Send + 'static, A: Send + 'static> Worker<J, A> {
    /// Starts the thread; nothing where the system has no more threads.
    pub fn start(
        name: &str,
        mut work: impl FnMut(J, &Desk<'_, A>) + Send + 'static,
    ) -> Option<Self> {
        let (jobs, todo) = mpsc::channel::<(u64, J)>();
        let (tell, told) = mpsc::channel();
        let wanted = Arc::new(AtomicU64::new(0));
        let current = Arc::clone(&wanted);
        let run = move || {
            for (number, job) in todo {
                let desk = Desk {
                    number,
                    wanted: &current,
                    tell: &tell,
                };
                if !desk.is_wanted() {
                    continue;
                }
                let ended = catch_unwind(AssertUnwindSafe(|| work(job, &desk)));
                let ended = ended.map_err(|panic| said(&*panic));
                if tell.send((number, Told::Ended(ended))).is_err() {
                    return;
                }
            }
        };
        thread::Builder::new()
            .name(name.to_owned())
            .spawn(run)
            .ok()?;
        Some(Self {
            jobs,
            told,
            wanted,
            is_busy: false,
            trouble: None,
        })
    }

    /// Takes a job in place of any other.
    pub fn ask(&mut self, job: J) {
        let number = self.wanted.fetch_add(1, Ordering::Relaxed) + 1;
        self.is_busy = self.jobs.send((number, job)).is_ok();
    }

    /// Nobody waits for answers any more.
    pub fn rest(&mut self) {
        self.wanted.fetch_add(1, Ordering::Relaxed);
        self.is_busy = false;
    }

    /// Whether answers to the job may still come.
    pub const fn is_busy(&self) -> bool {
        self.is_busy
    }

    /// The answers that have come since the last look, to the job that was asked for last.
    pub fn found(&mut self) -> Vec<A> {
        let mut answers = Vec::new();
        while let Ok(told) = self.told.try_recv() {
            answers.extend(self.heard(told));
        }
        answers
    }

    /// The next answer, if it comes soon.
    pub fn wait(&mut self, patience: Duration) -> Option<A> {
        let until = Instant::now() + patience;
        while self.is_busy {
            let left = until.saturating_duration_since(Instant::now());
            let told = self.told.recv_timeout(left).ok()?;
            if let Some(answer) = self.heard(told) {
                return Some(answer);
            }
        }
        None
    }

    /// What a job said when it panicked, told once.
    pub fn trouble(&mut self) -> Option<String> {
        self.trouble.take()
    }

    fn heard(&mut self, (number, told): (u64, Told<A>)) -> Option<A> {
        if number != self.wanted.load(Ordering::Relaxed) {
            return None;
        }
        match told {
            Told::Answer(answer) => return Some(answer),
            Told::Ended(Ok(())) => {}
            Told::Ended(Err(says)) => self.trouble = Some(says),
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

/// What the user is told of a job's panic.
pub(super) fn own_mistake(says: &str) -> String {
    format!("a mistake of drystage's own, what is typed is safe: {says}")
}

/// What was said with a panic.
fn said(panic: &(dyn Any + Send)) -> String {
    let text = panic.downcast_ref::<&str>().map(|text| (*text).to_owned());
    text.or_else(|| panic.downcast_ref::<String>().cloned())
        .unwrap_or_else(|| "no reason was given".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    const PATIENCE: Duration = Duration::from_secs(60);

    #[test]
    fn only_the_last_job_is_answered() {
        let work = |job: u32, desk: &Desk<'_, u32>| {
            while desk.is_wanted() && job == 0 {
                thread::sleep(Duration::from_millis(1));
            }
            desk.tell(job);
            desk.tell(job + 1);
        };
        let mut worker = Worker::start("test", work).unwrap();
        worker.ask(0);
        assert!(worker.is_busy());
        worker.ask(7);
        assert_eq!(worker.wait(PATIENCE), Some(7));
        assert_eq!(worker.wait(PATIENCE), Some(8));
        assert_eq!(worker.wait(PATIENCE), None);
        assert!(!worker.is_busy() && worker.trouble().is_none());
    }

    #[test]
    fn a_job_that_panics_is_told_and_the_next_one_is_done() {
        let work = |job: u32, desk: &Desk<'_, u32>| {
            assert_ne!(job, 1, "on purpose");
            desk.tell(job);
        };
        let mut worker = Worker::start("test", work).unwrap();
        worker.ask(1);
        assert_eq!(worker.wait(PATIENCE), None);
        assert!(!worker.is_busy());
        assert!(worker.trouble().unwrap().contains("on purpose"));
        assert!(worker.trouble().is_none());
        worker.ask(2);
        assert_eq!(worker.wait(PATIENCE), Some(2));
    }

    #[test]
    fn who_rests_hears_no_more() {
        let mut worker = Worker::start("test", |job: u32, desk: &Desk<'_, u32>| {
            desk.rest(Duration::from_millis(20));
            desk.tell(job);
        })
        .unwrap();
        worker.ask(1);
        worker.rest();
        assert!(!worker.is_busy());
        assert_eq!(worker.wait(Duration::from_millis(60)), None);
        assert!(worker.found().is_empty());
    }
}
