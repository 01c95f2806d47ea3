//! What-ifs side by side: the trip as stated, as the dials stand, and up to four sets that are kept with it.
//!
//! The kept ones are planned plainly first (`planner`), then sampled by a thread of their own, as the trip itself is.
//! All rows go by the same: plain until the last of them is sampled.

use std::sync::Arc;

use super::picture::Picture;
use super::planner::Job;
use super::state::{Mode, State, plain};
use super::worker::{Desk, Worker};
use crate::model::Trip;
use crate::plan::{Effort, Plan};
use crate::present::compare::{AS_STATED, Row};

/// Kept sets that stand side by side at most, besides the trip as stated.
pub const SIDE_BY_SIDE: usize = 4;

/// The kept sets of a trip, as far as they are planned.
#[derive(Clone, Debug, Default)]
pub struct Table {
    /// The first kept set that stands beside the trip as stated.
    from: usize,
    of: Option<Arc<Trip>>,
    kept: Vec<Kept>,
}

/// A kept set: by the plain plan, and at its confidence once it is sampled.
#[derive(Clone, Debug)]
struct Kept {
    name: String,
    plain: Beside,
    sampled: Option<Row>,
}

/// A row of what stands side by side.
#[derive(Clone, Debug)]
pub enum Beside {
    /// A plan's figures.
    Plan(Row),
    /// A what-if that is not planned yet.
    Awaited {
        /// Its name.
        name: String,
    },
    /// A what-if that does not fit the trip any more.
    Stale {
        /// Its name.
        name: String,
        /// Why not.
        why: String,
    },
}

/// A kept set of a trip.
pub type Named = (Arc<Trip>, String);

impl State {
    /// The rows that stand side by side, and whether they are at the confidence.
    pub fn beside(&self) -> (Vec<Beside>, bool) {
        let sampled = self.rows_beside(true);
        let is_whole = |row: &Beside| !matches!(row, Beside::Awaited { .. });
        match sampled {
            Some(rows) if rows.iter().all(is_whole) => (rows, true),
            _ => (self.rows_beside(false).unwrap_or_default(), false),
        }
    }

    /// The rows at the confidence, or by the plain plan; nothing where the trip or what the dials make of it is not
    /// sampled.
    fn rows_beside(&self, sampled: bool) -> Option<Vec<Beside>> {
        let row = |name: &str, plan: &Plan| {
            let is_there = !sampled || plan.doubt.is_some();
            let plan = if sampled { plan } else { plain(plan) };
            is_there.then(|| Beside::Plan(Row::of(name, plan, self.units())))
        };
        let mut rows = vec![row(AS_STATED, self.settled())?];
        if let Some(dials) = self.of_dials().filter(|_| self.board.is_turned()) {
            rows.push(row("as the dials stand", dials.plan())?);
        }
        let kept = self
            .kept_beside()
            .map(|name| match self.known_beside(name) {
                Some(
                    kept @ Kept {
                        plain: Beside::Plan(_),
                        ..
                    },
                ) if sampled => kept
                    .sampled
                    .clone()
                    .map_or_else(|| awaited(name), Beside::Plan),
                Some(kept) => kept.plain.clone(),
                None => awaited(name),
            });
        rows.extend(kept);
        Some(rows)
    }

    /// Which of the kept ones these are, where not all are shown.
    pub fn which_beside(&self) -> String {
        let count = self.trip().what_ifs().len();
        let from = self.board.table.from;
        if count > SIDE_BY_SIDE {
            let to = (from + SIDE_BY_SIDE).min(count);
            format!(": {} to {to} of {count} kept", from + 1)
        } else {
            String::new()
        }
    }

    /// Shows the kept ones from `by` further on.
    pub(super) fn scroll_table(&mut self, by: isize) {
        let last = self.trip().what_ifs().len().saturating_sub(SIDE_BY_SIDE);
        let from = self.board.table.from.min(last);
        self.board.table.from = from.saturating_add_signed(by).min(last);
    }

    /// The names of the kept ones that are shown.
    fn kept_beside(&self) -> impl Iterator<Item = &str> {
        let kept = self.trip().what_ifs().iter();
        let shown = kept.skip(self.board.table.from).take(SIDE_BY_SIDE);
        shown.map(|kept| kept.name.as_str())
    }

    fn known_beside(&self, name: &str) -> Option<&Kept> {
        let table = &self.board.table;
        let of = table.of.as_ref().filter(|of| Arc::ptr_eq(of, self.trip()));
        of.and_then(|_| table.kept.iter().find(|kept| kept.name == name))
    }

    /// The next of those that stand side by side that is to be planned.
    pub(super) fn beside_to_plan(&self) -> Option<Job> {
        let next = self
            .kept_beside()
            .find(|name| self.known_beside(name).is_none());
        next.filter(|_| self.mode == Mode::SideBySide)
            .map(|name| Job::WhatIf {
                stated: Arc::clone(self.trip()),
                name: name.to_owned(),
            })
    }

    /// The next of them that is to be sampled: once the trip itself is, and all of them are planned.
    pub fn beside_to_sample(&self) -> Option<Named> {
        let is_wanted = self.mode == Mode::SideBySide
            && self.settled().doubt.is_some()
            && self.to_plan().is_none();
        let mut kept = self
            .kept_beside()
            .filter_map(|name| self.known_beside(name));
        let next =
            kept.find(|kept| kept.sampled.is_none() && matches!(kept.plain, Beside::Plan(_)));
        next.filter(|_| is_wanted)
            .map(|kept| (Arc::clone(self.trip()), kept.name.clone()))
    }

    /// Takes the plan of a what-if that stands beside, or why there is none.
    pub(super) fn take_beside(&mut self, name: &str, made: Result<Arc<Picture>, String>) {
        let plain = match made {
            Ok(picture) => Beside::Plan(Row::of(name, picture.plan(), self.units())),
            Err(why) => Beside::Stale {
                name: name.to_owned(),
                why,
            },
        };
        if self.known_beside(name).is_some() {
            return;
        }
        let trip = Arc::clone(self.trip());
        let table = &mut self.board.table;
        if !table.of.as_ref().is_some_and(|of| Arc::ptr_eq(of, &trip)) {
            (table.of, table.kept) = (Some(trip), Vec::new());
        }
        table.kept.push(Kept {
            name: name.to_owned(),
            plain,
            sampled: None,
        });
    }

    /// Takes the figures of a what-if that was sampled.
    pub fn take_beside_sampled(&mut self, (of, name): &Named, plan: &Plan) {
        let row = Row::of(name, plan, self.units());
        let table = &mut self.board.table;
        if table
            .of
            .as_ref()
            .is_some_and(|known| Arc::ptr_eq(known, of))
            && let Some(kept) = table.kept.iter_mut().find(|kept| kept.name == *name)
        {
            kept.sampled = Some(row);
        }
    }
}

/// The plan of a kept set at its confidence, drawn until it is as sure as that of the trip; nothing where the set does
/// not fit.
pub fn sampled((of, name): &Named) -> Option<Plan> {
    let trip = of.with_what_if(name).ok()?;
    Some(Plan::at_confidence(trip, Effort::refined()))
}

fn awaited(name: &str) -> Beside {
    Beside::Awaited {
        name: name.to_owned(),
    }
}

/// The thread that samples them, seen from the screen. It ends when this is dropped.
pub(super) struct TableSampler {
    worker: Worker<Named, (Named, Plan)>,
    asked: Option<Named>,
}

impl TableSampler {
    /// Starts the thread; nothing where the system has no more threads.
    pub(super) fn start() -> Option<Self> {
        let work = |job: Named, desk: &Desk<'_, (Named, Plan)>| {
            if let Some(plan) = sampled(&job) {
                desk.tell((job, plan));
            }
        };
        Some(Self {
            worker: Worker::start("side by side", work)?,
            asked: None,
        })
    }

    /// Samples a set, unless that was asked for already.
    pub(super) fn ask(&mut self, job: Named) {
        let is_asked = |(of, name): &Named| Arc::ptr_eq(of, &job.0) && *name == job.1;
        if !self.asked.as_ref().is_some_and(is_asked) {
            self.asked = Some(job.clone());
            self.worker.ask(job);
        }
    }

    /// Whether answers are still to come.
    pub(super) const fn is_busy(&self) -> bool {
        self.worker.is_busy()
    }

    /// What a job said when it panicked.
    pub(super) fn trouble(&mut self) -> Option<String> {
        self.worker.trouble()
    }

    /// What was found since the last time.
    pub(super) fn found(&mut self) -> Vec<(Named, Plan)> {
        self.worker.found()
    }
}
