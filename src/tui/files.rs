//! What the state needs of the outside, and what it makes of the answers.

use std::sync::Arc;

use super::edit::ON_SHELF;
use super::message::Effect;
use super::outside::{LeftOver, NotSaved, Opened, Outside};
use super::picture::Picture;
use super::state::{Mode, Question, State};
use crate::model::change::History;
use crate::model::track::Track;
use crate::present::number::Units;

/// What comes after an effect.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Next {
    /// The screen goes on.
    On,
    /// The program ends after the effect.
    End,
}

impl State {
    /// The screen of a trip that was opened, by the picture of its plan; unsaved edits of the last time are offered first.
    pub fn open(opened: Opened, picture: &Arc<Picture>, units: Units) -> Self {
        let mut state = Self::of_picture(picture, units);
        state.history = opened.history();
        state.file.clone_from(&opened.file);
        state.notice.clone_from(&opened.notice);
        if let Some(left) = opened.left_over {
            state.recovered = Some(left);
            state.mode = Mode::Ask(Question::Recover);
            if !opened.edits.is_empty() {
                let message = "--set and --what-if are ignored until you restore or discard the edits of last time";
                state.notice = Some(message.to_owned());
            }
            return state;
        }
        for edit in &opened.edits {
            if let Err(error) = state.make(edit) {
                state.notice = Some(error.to_string());
            }
        }
        state
    }

    /// Does what only the outside can do.
    pub(super) fn perform(&mut self, effect: Effect, outside: &mut dyn Outside) -> Next {
        match effect {
            Effect::Save { over, then_quit } => return self.save(outside, over, then_quit),
            Effect::KeepVehicle { over } => self.keep_vehicle(outside, over),
            Effect::Recover(take) => self.recover(outside, take),
            Effect::Reload => match outside.reload() {
                Ok(trip) => {
                    self.history = History::new(trip);
                    self.notice = None;
                    self.settle();
                    self.status = Some("reloaded".into());
                }
                Err(error) => self.status = Some(format!("{error:#}").into()),
            },
            _ => {}
        }
        Next::On
    }

    fn save(&mut self, outside: &mut dyn Outside, over: bool, then_quit: bool) -> Next {
        let to = self.save_to.clone();
        match outside.save(self.history.trip(), to.as_deref(), over) {
            Ok(file) => {
                self.history.mark_saved();
                self.save_to = None;
                self.notice = None;
                self.status = Some(format!("saved in {file}").into());
                self.file = Some(file);
                if then_quit {
                    return Next::End;
                }
            }
            Err(NotSaved::Changed) => self.mode = Mode::Ask(Question::Overwrite { then_quit }),
            Err(NotSaved::Exists) => self.mode = Mode::Ask(Question::Replace { then_quit }),
            Err(NotSaved::Failed(reason)) => {
                self.save_to = None;
                self.status =
                    Some(format!("not saved: {reason}; S saves under another name").into());
            }
        }
        Next::On
    }

    fn keep_vehicle(&mut self, outside: &mut dyn Outside, over: bool) {
        let file = self.save_to.take().unwrap_or_default();
        match outside.keep_vehicle(self.history.trip(), &file, over) {
            Ok(path) => {
                self.prompt = None;
                self.mode = self.resting();
                self.status = Some(format!("on the shelf of vehicles: {path}").into());
            }
            Err(NotSaved::Exists) => self.problem_of_prompt(ON_SHELF.to_owned()),
            Err(error) => self.problem_of_prompt(error.to_string()),
        }
    }

    /// Notes the verdict of the trip in the file, if there is one.
    pub(super) fn leave(&self, outside: &mut dyn Outside) {
        let judged = self.judged().filter(|_| !self.history.is_changed());
        let of_file = judged.filter(|picture| Arc::ptr_eq(&picture.plan.trip, self.trip()));
        if let Some(picture) = of_file {
            outside.remember_verdict(picture.texts.answers.badge.words());
        }
    }

    fn recover(&mut self, outside: &mut dyn Outside, take: bool) {
        let Some(LeftOver { history, deeds }) = self.recovered.take() else {
            return;
        };
        if take {
            self.history = history;
            // They are unsaved as before, so they are written down as before.
            outside.record(&deeds);
            self.settle();
            self.status = Some("restored; u undoes them one by one".into());
        } else {
            outside.forget();
        }
    }

    /// The names of the edits that are offered, or what there is in their stead.
    pub(crate) fn left_over(&self) -> Vec<&str> {
        let Some(left) = &self.recovered else {
            return Vec::new();
        };
        let names: Vec<&str> = left.history.since_saved().collect();
        match (names.is_empty(), left.deeds.is_empty()) {
            (false, _) => names,
            (true, true) => vec!["nothing to restore: the edits no longer fit the file"],
            (true, false) => vec!["the undone edits"],
        }
    }

    /// Whether it is still to be decided what becomes of unsaved edits of the last time.
    pub(super) const fn is_offered(&self) -> bool {
        self.recovered.is_some()
    }

    /// Writes down what was done since the last time, and reads the tracks that it named.
    pub(super) fn write_down(&mut self, outside: &mut dyn Outside) {
        let news = self.history.take_news();
        if news.is_empty() {
            return;
        }
        outside.record(&news);
        let unread = |track: &Option<Track>| matches!(track, Some(Track::File { lines: None, .. }));
        if self.trip().legs.iter().any(|leg| unread(&leg.track)) {
            let mut trip = (**self.trip()).clone();
            match outside.read_tracks(&mut trip) {
                Ok(()) => {
                    self.history.with_tracks(trip);
                    self.settle();
                }
                Err(error) => self.status = Some(format!("{error:#}").into()),
            }
        }
    }

    /// Shows what must be known, in place of what was last done.
    pub(super) fn notify(&mut self, message: String) {
        self.status = None;
        self.notice = Some(message);
    }

    /// Looks whether the file was changed by somebody else, and whether writing down went wrong. Whether there is
    /// something to be shown.
    pub(super) fn look_outside(&mut self, outside: &mut dyn Outside) -> bool {
        let trouble = outside.trouble();
        let is_troubled = trouble.is_some();
        if let Some(message) = trouble {
            self.notify(message);
        }
        if !outside.is_changed() {
            return is_troubled;
        }
        if self.history.is_changed() || !matches!(self.mode, Mode::Browse | Mode::Sheet) {
            self.notify("the file has changed on disk; saving asks first".to_owned());
        } else {
            self.mode = Mode::Ask(Question::Reload);
        }
        true
    }
}
