//! What is shown: the picture of the current trip, of what is tried, or of what the sliders make of it. The
//! best-estimate plan comes first and gives a picture, but no verdict; that comes from simulated trips. Which plan is
//! to be made next follows from here.

use std::sync::Arc;

use super::whereabouts::CLOSEST;
use super::{Basis, Panel, State};
use crate::model::change::{Change, ChangeError};
use crate::plan::Plan;
use crate::present::answers::Badge;
use crate::present::strip::Strip;
use crate::quantity::Kilometres;
use crate::tui::edit;
use crate::tui::fixes::Trying;
use crate::tui::picture::Picture;
use crate::tui::picture::Texts;
use crate::tui::planner::{Job, Made};

impl State {
    /// The strip of the plan that is shown.
    pub fn strip(&self) -> &Strip {
        &self.shown.strip
    }

    /// The texts about the whole plan that is shown.
    pub(crate) fn texts(&self) -> &Texts {
        &self.shown.texts
    }

    /// The plan that is shown: of the current trip, or as it would be with what is being typed.
    pub fn plan(&self) -> &Plan {
        &self.shown.plan
    }

    /// The picture of the current trip, to be kept; `None` while it is still to be planned.
    pub(in crate::tui) fn picture_to_keep(&self) -> Option<&Arc<Picture>> {
        self.is_settled().then_some(&self.settled)
    }

    /// The last picture of the current trip.
    pub(in crate::tui) fn settled_picture(&self) -> &Arc<Picture> {
        &self.settled
    }

    /// The plan that is shown, with its texts and its strip.
    pub(in crate::tui) const fn shown(&self) -> &Arc<Picture> {
        &self.shown
    }

    /// The ways to make it fit that were asked for, each in a sentence, and whether it is made now.
    pub fn fixes(&self) -> Vec<(String, bool)> {
        self.fixes
            .as_ref()
            .map_or_else(Vec::new, |trying| trying.listed(self))
    }

    /// The plan whose fixes the screen waits for; search them with [`Plan::search_fixes`] and send
    /// [`Message::FixesFound`]. `None` also while that plan is still being simulated.
    ///
    /// [`Message::FixesFound`]: crate::tui::message::Message::FixesFound
    pub fn fixes_to_search(&self) -> Option<&Arc<Plan>> {
        let sought = self.fixes.as_ref()?.sought()?;
        self.is_final(sought).then_some(&sought.plan)
    }

    /// The plan of the current trip.
    pub fn settled(&self) -> &Plan {
        &self.settled.plan
    }

    /// The best-estimate picture of the current trip, to compare others with.
    pub(in crate::tui) fn settled_best_estimate(&self) -> Arc<Picture> {
        match &self.settled.plan.doubt {
            Some(doubt) => Picture::of(Arc::clone(&doubt.best_estimate), self.units),
            None => Arc::clone(&self.settled),
        }
    }

    /// Whether the current trip is planned.
    pub(super) fn is_settled(&self) -> bool {
        Arc::ptr_eq(&self.settled.plan.trip, self.history.trip())
    }

    /// What is to be planned next: what is to be shown, then what is beside it.
    pub(crate) fn to_plan(&self) -> Option<Job> {
        self.shown_to_plan().or_else(|| self.beside_to_plan())
    }

    /// What is to be shown and not planned yet: the current trip, then what is tried, else what the sliders make
    /// of it.
    fn shown_to_plan(&self) -> Option<Job> {
        if !self.is_settled() {
            return Some(Job::Trip(Arc::clone(self.history.trip())));
        }
        match &self.trial {
            Some((trip, None)) => Some(Job::Trip(Arc::clone(trip))),
            Some(_) => None,
            None if self.editor.is_some() => None,
            None => self.sliders_to_plan(),
        }
    }

    /// Whether what is shown is not yet what is to be shown.
    pub fn is_behind(&self) -> bool {
        self.shown_to_plan().is_some()
    }

    /// Takes what was planned, and shows what is to be shown now.
    pub(in crate::tui) fn take_planned(&mut self, job: &Job, made: Made) {
        match (job, made) {
            (Job::Trip(trip), Ok(picture)) if Arc::ptr_eq(trip, self.history.trip()) => {
                self.settled = picture;
            }
            (Job::Trip(trip), Ok(picture)) => {
                if let Some((tried, made)) = &mut self.trial
                    && Arc::ptr_eq(tried, trip)
                {
                    *made = Some(picture);
                }
            }
            (Job::Sliders { .. }, Ok(picture)) => self.take_sliders(job, picture),
            (Job::WhatIf { stated, name }, made) if Arc::ptr_eq(stated, self.history.trip()) => {
                self.take_beside(name, made);
            }
            _ => {}
        }
        self.refresh();
    }

    /// Shows what is to be shown, as far as it is planned; else what was shown before.
    pub(super) fn refresh(&mut self) {
        let wanted = match &self.trial {
            Some((_, picture)) => picture.clone(),
            None if self.editor.is_none() && self.board.is_turned() => self.of_sliders(),
            None => self.is_settled().then(|| Arc::clone(&self.settled)),
        };
        if let Some(picture) = wanted.filter(|picture| !Arc::ptr_eq(picture, &self.shown)) {
            self.show(picture);
        }
        if self.basis() != Basis::Calculating {
            let is_first = self.judged.is_none();
            self.judged = Some(Arc::clone(&self.shown));
            self.show_what_is_in_the_way(is_first);
        }
    }

    /// On a NO-GO of the trip as it is, has its fixes listed; the first verdict shows them at once.
    fn show_what_is_in_the_way(&mut self, is_first: bool) {
        let is_trip = Arc::ptr_eq(&self.shown, &self.settled) && self.is_settled();
        if !is_trip || self.shown.texts.answers.badge != Badge::NoGo {
            return;
        }
        if is_first && self.focus == Panel::Do {
            self.focus = Panel::Findings;
        }
        if self.fixes.is_none() && self.is_final(&self.shown) {
            self.fixes = Trying::listing(&self.shown);
        }
    }

    /// Shows another plan, the cursor and the zoom staying where they are as far as can be.
    fn show(&mut self, picture: Arc<Picture>) {
        let whole = self.shows_all();
        let (leg, at) = (self.leg, self.at);
        let into = self
            .chosen()
            .map_or(Kilometres::ZERO, |leg| at - leg.from_km);
        self.shown = picture;
        self.leg = leg.clamp(1, self.plan().legs.len().max(1));
        self.at = self.chosen().map_or(Kilometres::ZERO, |leg| {
            leg.from_km + into.max(Kilometres::ZERO).min(leg.distance)
        });
        let length = self.strip().length().max(CLOSEST);
        self.look.span = if whole {
            length
        } else {
            self.look.span.min(length)
        };
        self.follow();
    }

    /// The trip was changed: nothing is tried any more, and what was found out about it is worth nothing.
    pub(in crate::tui) fn settle(&mut self) {
        self.trial = None;
        // Ways are those of one trip; the one who makes one keeps them.
        self.fixes = None;
        self.forget_changes();
    }

    /// Tries what a change would make of the trip, without making it.
    ///
    /// # Errors
    /// When the change does not fit.
    pub(in crate::tui) fn try_out(&mut self, change: &Change) -> Result<(), ChangeError> {
        let (trip, _) = change.apply(self.history.trip())?;
        self.trial = Some((Arc::new(trip), None));
        Ok(())
    }

    /// Goes back to the current trip, whatever was tried.
    pub(in crate::tui) fn give_up_trial(&mut self) {
        self.trial = None;
    }

    /// Makes a change and shows what follows from it.
    ///
    /// # Errors
    /// What is wrong with it; then nothing has changed.
    pub fn make(&mut self, change: &Change) -> Result<(), ChangeError> {
        self.history.make(change)?;
        self.settle();
        self.status = Some(format!("{}; u undoes it", change.name).into());
        Ok(())
    }

    /// Plans what is to be shown, whatever time that takes, and works out what the chosen leg needs.
    pub fn attend(&mut self) {
        self.look_at_trials();
        while let Some(job) = self.to_plan() {
            let made = job.done(self.units);
            self.take_planned(&job, made);
        }
        self.work_out_ledger();
    }

    /// Looks at what is typed and at the sliders, once before a frame and not once for each key.
    pub(in crate::tui) fn look_at_trials(&mut self) {
        edit::try_what_is_typed(self);
        self.renew_beneath();
        self.refresh();
    }
}
