//! What the figures on the screen rest on: a verdict comes from simulated trips alone, and until there are enough of
//! them the last one is in its place. Which trip is to be simulated next follows from here.

use std::sync::Arc;

use super::State;
use crate::model::Trip;
use crate::plan::Plan;
use crate::plan::doubt::MOST_LEGS;
use crate::tui::picture::Picture;
use crate::tui::simulator::{first_simulated, refined};

/// What the figures on the screen rest on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// On simulated trips, enough of them for the verdict.
    Simulated,
    /// On too few simulated trips for a verdict, or on none yet; more are to come.
    Calculating,
    /// On best estimates, because no simulation is wanted.
    BestEstimate,
    /// On best estimates, because the trip has too many legs to be simulated.
    TooLong,
}

impl Basis {
    /// Whether there are best estimates and nothing else is to come.
    pub(crate) const fn is_best_estimate(self) -> bool {
        matches!(self, Self::BestEstimate | Self::TooLong)
    }
}

fn can_be_simulated(picture: &Picture) -> bool {
    picture.plan.trip.legs.len() <= MOST_LEGS
}

fn is_to_simulate(picture: &Picture) -> bool {
    !picture.is_simulated() && can_be_simulated(picture)
}

/// The best-estimate plan.
fn best_estimate(plan: &Plan) -> &Plan {
    plan.doubt
        .as_ref()
        .map_or(plan, |doubt| &doubt.best_estimate)
}

impl State {
    /// Whether trips are simulated at all.
    pub(in crate::tui) const fn is_simulation(&self) -> bool {
        self.simulation
    }

    /// Whether no other plan of the same trip is to come.
    pub(in crate::tui) fn is_final(&self, picture: &Picture) -> bool {
        picture.is_refined() || !self.simulation || !can_be_simulated(picture)
    }

    /// The trip whose first simulated trips are wanted: of what is shown, then of the current trip.
    pub fn trip_to_simulate(&self) -> Option<&Arc<Trip>> {
        self.wanted(is_to_simulate)
    }

    /// The trip that is to be simulated further: what is shown, then the current trip, once both have a first
    /// answer.
    pub(crate) fn trip_to_refine(&self) -> Option<&Arc<Trip>> {
        let is_to_refine = |picture: &Picture| picture.is_simulated() && !picture.is_worked_out();
        let refine = self.wanted(is_to_refine);
        refine.filter(|_| self.trip_to_simulate().is_none())
    }

    fn wanted(&self, is_wanted: impl Fn(&Picture) -> bool) -> Option<&Arc<Trip>> {
        let mut pictures = [&self.shown, &self.settled].into_iter();
        let next = pictures.find(|picture| is_wanted(picture));
        next.filter(|_| self.simulation && !self.is_behind())
            .map(|picture| &picture.plan.trip)
    }

    /// What the figures rest on.
    pub fn basis(&self) -> Basis {
        if self.is_behind() {
            Basis::Calculating
        } else if !self.simulation {
            if self.shown.is_simulated() {
                Basis::Simulated
            } else {
                Basis::BestEstimate
            }
        } else if !can_be_simulated(&self.shown) {
            Basis::TooLong
        } else if self.shown.is_certain() {
            Basis::Simulated
        } else {
            Basis::Calculating
        }
    }

    /// The picture that the verdict and all that goes with it come from: what is shown, and while that is being
    /// calculated the last one that had a verdict. `None` before the first verdict.
    pub(crate) fn judged(&self) -> Option<&Arc<Picture>> {
        if self.basis() == Basis::Calculating {
            self.judged.as_ref()
        } else {
            Some(&self.shown)
        }
    }

    /// The picture with a verdict; the one that is shown if none has one yet.
    pub(in crate::tui) fn judged_or_shown(&self) -> &Arc<Picture> {
        self.judged().unwrap_or(&self.shown)
    }

    /// Takes a picture from simulated trips in place of the one of the same trip, wherever that is.
    pub(crate) fn show_simulated(&mut self, picture: &Arc<Picture>) {
        let is_of = |other: &Picture| Arc::ptr_eq(&other.plan.trip, &picture.plan.trip);
        let replaces =
            |other: &Picture| is_of(other) && (picture.is_refined() || !other.is_refined());
        for other in [&self.settled, &self.shown] {
            if replaces(other) {
                picture.follow(other);
            }
        }
        if let Some(trying) = &mut self.fixes {
            trying.turn_to(picture);
        }
        if replaces(&self.settled) {
            self.settled = Arc::clone(picture);
        }
        if let Some((_, Some(made))) = &mut self.trial
            && replaces(made)
        {
            *made = Arc::clone(picture);
        }
        self.take_simulated_sliders(picture);
        self.refresh();
    }

    /// Simulates what is shown and the current trip, whatever time that takes: a first answer each, and with
    /// `to_the_end` as many trips as ever are.
    pub fn simulate(&mut self, to_the_end: bool) {
        while let Some(trip) = self.trip_to_simulate().map(Arc::clone) {
            self.show_simulated(&first_simulated(&trip, self.units));
        }
        while let Some(trip) = self.trip_to_refine().map(Arc::clone).filter(|_| to_the_end) {
            let picture = refined(&trip, self.units);
            picture.mark_worked_out();
            self.show_simulated(&picture);
        }
    }

    /// The plan of the current trip and the one that is shown, both by as many simulated trips or both best
    /// estimates, so that nothing differs but what is tried. `None` while one of them is still to come.
    pub fn before_and_now(&self) -> Option<[&Plan; 2]> {
        let pictures = [&self.settled, &self.shown];
        if self.is_behind() {
            return None;
        }
        if pictures.iter().all(|picture| picture.is_refined()) {
            return Some(pictures.map(|picture| picture.plan()));
        }
        if let [Some(before), Some(now)] = pictures.map(|picture| picture.first_simulated()) {
            return Some([before, now]);
        }
        let is_to_come = |picture: &&Arc<Picture>| self.simulation && can_be_simulated(picture);
        let is_known = !pictures.iter().any(is_to_come);
        is_known.then(|| pictures.map(|picture| best_estimate(picture.plan())))
    }
}
