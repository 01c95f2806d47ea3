//! The thread that plans what is to be shown.
//!
//! A short trip is planned while the frame waits, and is in it; a long one comes with a later frame, and until then the
//! screen shows the plan of before and says so. Which trip is to be planned next follows from the state alone
//! ([`State::to_plan`]).

use std::sync::Arc;
use std::time::{Duration, Instant};

use super::picture::Picture;
use super::state::State;
use super::worker::{Desk, Worker};
use crate::model::Trip;
use crate::model::dial::Dials;
use crate::plan::Plan;
use crate::present::load;
use crate::present::number::Units;

/// A frame waits so long for its plan: with the frame itself less than a sixtieth of a second.
const PATIENCE: Duration = Duration::from_millis(10);

/// The map of so many legs is made while a frame is drawn; that of more legs by the thread.
const MAP_OF: usize = 1_000;

/// What is to be planned.
#[derive(Clone, Debug)]
pub enum Job {
    /// A trip.
    Trip(Arc<Trip>),
    /// What dials make of a trip.
    Dials {
        /// The trip that they start from.
        base: Arc<Trip>,
        /// The dials.
        dials: Dials,
    },
    /// A what-if that is kept with a trip.
    WhatIf {
        /// The trip.
        stated: Arc<Trip>,
        /// The name of the what-if.
        name: String,
    },
}

/// The picture of what was to be planned, or why there is none.
pub type Made = Result<Arc<Picture>, String>;

impl Job {
    /// Does it.
    ///
    /// # Errors
    /// Why the what-if does not fit the trip.
    pub fn done(&self, units: Units) -> Made {
        let trip = match self {
            Self::Trip(trip) => Arc::clone(trip),
            Self::Dials { base, dials } => dials.trip(base).into(),
            Self::WhatIf { stated, name } => {
                let changed = stated.with_what_if(name);
                changed.map_err(|error| error.reason())?.into()
            }
        };
        Ok(planned(&trip, units))
    }

    /// Whether it is the same job.
    pub fn is(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Trip(one), Self::Trip(other)) => Arc::ptr_eq(one, other),
            (
                Self::Dials { base, dials },
                Self::Dials {
                    base: other_base,
                    dials: others,
                },
            ) => Arc::ptr_eq(base, other_base) && dials == others,
            (
                Self::WhatIf { stated, name },
                Self::WhatIf {
                    stated: other_stated,
                    name: other_name,
                },
            ) => Arc::ptr_eq(stated, other_stated) && name == other_name,
            _ => false,
        }
    }
}

/// A trip by its best-estimate plan.
pub fn planned(trip: &Arc<Trip>, units: Units) -> Arc<Picture> {
    let plan = Plan::of(Arc::clone(trip));
    // What the panels want to know, so that no frame has to look for it.
    load::why_these_cans(&plan);
    let picture = Picture::of(plan, units);
    if picture.plan().legs.len() > MAP_OF {
        picture.chart();
    }
    picture
}

/// The thread, seen from the screen.
pub struct Planner {
    worker: Worker<Job, Made>,
    asked: Option<(Job, Instant)>,
    /// How long the last job took.
    took: Duration,
}

impl Planner {
    /// Starts the thread; nothing where the system has no more threads.
    pub fn start(units: Units) -> Option<Self> {
        let worker = Worker::start("plans", move |job: Job, desk: &Desk<'_, Made>| {
            desk.tell(job.done(units));
        });
        Some(Self {
            worker: worker?,
            asked: None,
            took: Duration::ZERO,
        })
    }

    /// Whether a plan is still to come.
    pub const fn is_busy(&self) -> bool {
        self.worker.is_busy()
    }

    /// What a job said when it panicked.
    pub fn trouble(&mut self) -> Option<String> {
        self.worker.trouble()
    }

    /// Plans what the state wants to have planned, as far as that is done soon; whether it shows something new.
    pub fn serve(&mut self, state: &mut State) -> bool {
        let mut is_new = self.take_found(state);
        let until = Instant::now() + PATIENCE;
        while let Some(job) = state.to_plan() {
            let is_asked = |(asked, _): &(Job, Instant)| asked.is(&job);
            if !self.asked.as_ref().is_some_and(is_asked) {
                self.worker.ask(job.clone());
                self.asked = Some((job, Instant::now()));
            }
            // Who took longer the last time will do so again: then the frame comes first.
            if self.took > PATIENCE {
                break;
            }
            let left = until.saturating_duration_since(Instant::now());
            let Some(made) = self.worker.wait(left) else {
                break;
            };
            self.take(state, made);
            is_new = true;
        }
        is_new
    }

    fn take_found(&mut self, state: &mut State) -> bool {
        let found = self.worker.found().pop();
        found.is_some_and(|made| {
            self.take(state, made);
            true
        })
    }

    fn take(&mut self, state: &mut State, made: Made) {
        if let Some((job, since)) = self.asked.take() {
            self.took = since.elapsed();
            state.take_planned(&job, made);
        }
    }
}
