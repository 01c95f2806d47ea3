//! What-ifs side by side: the trip as stated, slider settings, and up to four sets that are kept with it.
//!
//! The kept ones are planned with best estimates first (`planner`), which shows whether they still fit the trip, then
//! simulated by a thread of their own, as the trip itself is. A row has no figures until as many trips are simulated for
//! it as ever are, so that all rows go by the same. Without simulation all figures are best estimates.

use std::sync::Arc;

use super::picture::Picture;
use super::planner::{Job, Made};
use super::state::{Mode, State};
use super::worker;
use crate::model::Trip;
use crate::plan::doubt::MOST_LEGS;
use crate::plan::{Effort, Plan};
use crate::present::compare::{AS_STATED, Row};
use crate::present::number::Units;

/// The most kept sets that are compared side by side, besides the trip as stated.
pub(crate) const SIDE_BY_SIDE: usize = 4;

/// The kept sets of a trip, as far as they are planned.
#[derive(Clone, Debug, Default)]
pub(crate) struct Table {
    /// The first kept set that is beside the trip as stated.
    from: usize,
    of: Option<Arc<Trip>>,
    kept: Vec<Kept>,
}

/// A kept set: by the best-estimate plan, and by the target plan once it is simulated.
#[derive(Clone, Debug)]
struct Kept {
    name: String,
    best_estimate: ComparisonRow,
    simulated: Option<Row>,
    is_too_long: bool,
}

/// A row of the comparison.
#[derive(Clone, Debug)]
pub enum ComparisonRow {
    /// A plan's figures.
    Plan(Row),
    /// A plan that is still being calculated.
    Calculating {
        /// Name of the plan.
        name: String,
    },
    /// A what-if that does not fit the trip any more.
    Stale {
        /// Name of the what-if.
        name: String,
        /// Why it does not fit the trip.
        why: String,
    },
}

/// A kept set of a trip.
pub(crate) type Named = (Arc<Trip>, String);

impl worker::Job for Named {
    fn is_answered_by(&self, (of, name): &Self) -> bool {
        Arc::ptr_eq(of, &self.0) && *name == self.1
    }
}

impl State {
    /// The rows of the comparison, the trip as stated first.
    pub fn comparison_rows(&self) -> Vec<ComparisonRow> {
        let mut rows = vec![self.comparison_row(AS_STATED, self.settled_picture())];
        if let Some(sliders) = self.of_sliders().filter(|_| self.board.is_turned()) {
            rows.push(self.comparison_row("slider settings", &sliders));
        }
        let is_simulation = self.is_simulation();
        let kept = self
            .kept_beside()
            .map(|name| match self.known_beside(name) {
                None => calculating(name),
                Some(kept) => match (&kept.simulated, &kept.best_estimate) {
                    (Some(row), _) => ComparisonRow::Plan(row.clone()),
                    (None, ComparisonRow::Plan(_)) if is_simulation && !kept.is_too_long => {
                        calculating(name)
                    }
                    (None, best_estimate) => best_estimate.clone(),
                },
            });
        rows.extend(kept);
        rows
    }

    /// The row of the current trip, or as the sliders make it.
    fn comparison_row(&self, name: &str, picture: &Picture) -> ComparisonRow {
        if self.is_final(picture) && !self.is_behind() {
            ComparisonRow::Plan(row(name, picture.plan(), self.units()))
        } else {
            calculating(name)
        }
    }

    /// Which of the kept ones these are, where not all are shown.
    pub(crate) fn which_beside(&self) -> String {
        let count = self.trip().what_ifs().len();
        let from = self.board.table.from;
        if count > SIDE_BY_SIDE {
            let to = (from + SIDE_BY_SIDE).min(count);
            format!(": {} to {to} of {count} what-ifs", from + 1)
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

    /// The next of the compared sets that is to be planned.
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

    /// The next of them that is to be simulated: once the trip itself is, and all of them are planned.
    pub fn beside_to_simulate(&self) -> Option<Named> {
        let is_wanted = self.mode == Mode::SideBySide
            && self.is_simulation()
            && self.is_final(self.settled_picture())
            && self.to_plan().is_none();
        let mut kept = self
            .kept_beside()
            .filter_map(|name| self.known_beside(name));
        let next = kept.find(|kept| {
            let is_plan = matches!(kept.best_estimate, ComparisonRow::Plan(_));
            kept.simulated.is_none() && is_plan && !kept.is_too_long
        });
        next.filter(|_| is_wanted)
            .map(|kept| (Arc::clone(self.trip()), kept.name.clone()))
    }

    /// Takes the plan of a what-if that is beside, or why there is none.
    pub(super) fn take_beside(&mut self, name: &str, made: Made) {
        let made_legs = made
            .as_ref()
            .map_or(0, |picture| picture.plan().trip.legs.len());
        let best_estimate = match made {
            Ok(picture) => ComparisonRow::Plan(row(name, picture.plan(), self.units())),
            Err(error) => ComparisonRow::Stale {
                name: name.to_owned(),
                why: error.reason(),
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
            best_estimate,
            simulated: None,
            is_too_long: made_legs > MOST_LEGS,
        });
    }

    /// Takes the figures of a what-if that was simulated.
    pub fn take_beside_simulated(&mut self, (of, name): &Named, plan: &Plan) {
        let row = row(name, plan, self.units());
        let table = &mut self.board.table;
        if table
            .of
            .as_ref()
            .is_some_and(|known| Arc::ptr_eq(known, of))
            && let Some(kept) = table.kept.iter_mut().find(|kept| kept.name == *name)
        {
            kept.simulated = Some(row);
        }
    }
}

/// The target plan of a kept set, simulated as far as that of the trip; `None` if the set does not fit.
pub fn simulated((of, name): &Named) -> Option<Plan> {
    let trip = of.with_what_if(name).ok()?;
    Some(Plan::at_target(trip, Effort::refined()))
}

fn calculating(name: &str) -> ComparisonRow {
    ComparisonRow::Calculating {
        name: name.to_owned(),
    }
}

/// The figures of a plan; a best-estimate plan has no verdict.
fn row(name: &str, plan: &Plan, units: Units) -> Row {
    let mut row = Row::new(name, plan, units);
    if plan.doubt.is_none() {
        "-".clone_into(&mut row.cells[0]);
    }
    row
}
