//! Changes that are proposed from files: the files are read beside the screen, what would change is listed, and the change
//! is made once the user accepts it.
//!
//! A proposal is of one trip: where that is edited meanwhile, the files are read again. It is listed once no other layer
//! is in front.

use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use super::message::Message;
use super::outside::{FromFiles, Progress, Proposal, Proposer};
use super::state::{Mode, Question, State};
use super::worker::{self, JobHandle, Worker};
use crate::model::Trip;
use crate::present::number::Units;
use crate::quantity::Share;

/// How often it is shown how far the reading is.
const EVERY: Duration = Duration::from_millis(250);
/// Rows of a page of the list.
const PAGE_ROWS: usize = 8;

/// What is to be read, for which trip.
#[derive(Clone, Debug)]
pub(crate) struct Job {
    from: FromFiles,
    trip: Arc<Trip>,
}

impl worker::Job for Job {
    fn is_answered_by(&self, other: &Self) -> bool {
        self.from == other.from && Arc::ptr_eq(&self.trip, &other.trip)
    }
}

/// What comes of a job.
pub(crate) enum Answer {
    /// How far the work is, as a sentence.
    Progress(String),
    /// The proposal, or why there is none.
    Made(Job, Result<Proposal, String>),
}

/// Starts the thread that reads.
pub(crate) fn reader(proposer: Proposer, units: Units) -> Worker<Job, Answer> {
    Worker::start("proposals", move |job: Job, handle: &JobHandle<Answer>| {
        let made = proposer(&job.from, &job.trip, units, progress(handle.clone()));
        let made = made.map_err(|error| format!("{error:#}"));
        handle.send(Answer::Made(job, made));
    })
}

/// Tells the screen now and then how far the reading is and how long the rest takes; it ends when nobody waits for it.
fn progress(handle: JobHandle<Answer>) -> Progress {
    let start = Instant::now();
    let last = Mutex::new(start);
    Arc::new(move |done: Share| {
        let mut last = last.lock().unwrap_or_else(PoisonError::into_inner);
        if last.elapsed() >= EVERY {
            *last = Instant::now();
            let left = start.elapsed().as_secs_f64() * (1.0 - done.get()) / done.get().max(1e-3);
            handle.send(Answer::Progress(format!(
                "reading the map: {:.0} %, {left:.0} s left",
                done.get() * 100.0
            )));
        }
        handle.is_wanted()
    })
}

/// A proposal that was asked for.
#[derive(Clone, Debug)]
pub(crate) struct Proposed {
    from: FromFiles,
    /// How far the reading is.
    progress: String,
    /// The trip that it is of, and what would change; `None` while the files are read.
    made: Option<(Arc<Trip>, Proposal)>,
    /// The first row that is shown of the list.
    from_row: usize,
}

impl Proposed {
    /// The first row that is shown, and all rows; none while the files are read.
    pub(super) fn listed(&self) -> (usize, &[String]) {
        let made = self.made.as_ref();
        (self.from_row, made.map_or(&[], |(_, made)| &made.lines))
    }

    /// Whether there is something to accept.
    pub(super) fn changes_something(&self) -> bool {
        let made = self.made.as_ref();
        made.is_some_and(|(_, made)| !made.change.is_nothing())
    }

    /// The proposal, if it is of that trip.
    fn of(&self, trip: &Arc<Trip>) -> Option<&Proposal> {
        let made = self.made.as_ref();
        made.filter(|(of, _)| Arc::ptr_eq(of, trip))
            .map(|(_, made)| made)
    }
}

impl State {
    /// Has the files of a proposal read.
    pub(super) fn propose(&mut self, from: FromFiles) {
        self.proposed = Some(Proposed {
            from,
            progress: "reading the files".to_owned(),
            made: None,
            from_row: 0,
        });
    }

    /// What is to be read.
    pub(crate) fn proposal_to_make(&self) -> Option<Job> {
        let proposed = self.proposed.as_ref()?;
        proposed.of(self.trip()).is_none().then(|| Job {
            from: proposed.from.clone(),
            trip: Arc::clone(self.trip()),
        })
    }

    /// Takes what came of a job.
    pub(crate) fn take_proposal(&mut self, answer: Answer) {
        match (answer, &mut self.proposed) {
            (Answer::Progress(progress), Some(proposed)) => proposed.progress = progress,
            (Answer::Made(job, Ok(made)), Some(proposed)) => proposed.made = Some((job.trip, made)),
            (Answer::Made(_, Err(message)), Some(_)) => {
                self.proposed = None;
                self.status = Some(message.into());
            }
            (_, None) => {}
        }
    }

    /// Whether files are being read.
    pub(crate) fn is_reading(&self) -> bool {
        self.proposal_to_make().is_some()
    }

    /// How far the reading of files is; `None` if none are read.
    pub(crate) fn reading_says(&self) -> Option<String> {
        let proposed = self.proposed.as_ref().filter(|_| self.is_reading())?;
        Some(format!("{}; Esc stops it", proposed.progress))
    }

    /// Lists the proposal once it is there and no other layer is in front, and shows the trip as it would be; whether it
    /// is listed now and was not before.
    pub(crate) fn list_proposal(&mut self) -> bool {
        let proposed = self.proposed.as_ref();
        let is_made = proposed.is_some_and(|proposed| proposed.of(self.trip()).is_some());
        let is_free = matches!(self.mode, Mode::Browse | Mode::Sheet | Mode::Legs);
        if !(is_made && is_free) {
            return false;
        }
        self.mode = Mode::Ask(Question::Proposal);
        let made = proposed.and_then(|proposed| proposed.made.as_ref());
        let change = made.map(|(_, made)| made.change.clone());
        if let Some(Err(error)) = change.map(|change| self.try_out(&change)) {
            self.proposed = None;
            self.mode = self.resting();
            self.status = Some(error.to_string().into());
        }
        true
    }

    /// Stops a reading that goes on; whether there was one.
    pub(super) fn stop_reading(&mut self) -> bool {
        let was = self.is_reading();
        if was {
            self.proposed = None;
            self.status = Some("reading stopped; the trip is unchanged".into());
        }
        was
    }

    /// A proposal is listed: it is scrolled, accepted or rejected. Whether the message meant that.
    pub(super) fn of_proposal(&mut self, message: Message) -> bool {
        let Some(proposed) = &mut self.proposed else {
            return false;
        };
        let last = proposed.listed().1.len().saturating_sub(1);
        if let Some(row) = message.scrolled(proposed.from_row, PAGE_ROWS, last) {
            proposed.from_row = row;
            return true;
        }
        let is_accepted = message == Message::Yes && proposed.changes_something();
        if !is_accepted && !matches!(message, Message::Yes | Message::No | Message::Close) {
            return false;
        }
        let made = self.proposed.take().and_then(|proposed| proposed.made);
        self.mode = self.resting();
        self.give_up_trial();
        match made {
            Some((_, made)) if is_accepted => {
                if let Err(error) = self.make(&made.change) {
                    self.status = Some(error.to_string().into());
                }
            }
            _ => self.status = Some("the trip is unchanged".into()),
        }
        true
    }
}
