//! A trip with all that was done to it, to be undone and done again without end.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::{Change, ChangeError};
use crate::model::Trip;

/// A trip, and the way back to how it was.
///
/// A change is kept as its inverse, which is as small as the edit; the trip itself is never copied
/// for undo. The point at which the file on disk was saved is marked, so that the trip is known to be
/// unchanged again when it was undone to there.
#[derive(Clone, Debug)]
pub struct History {
    trip: Arc<Trip>,
    /// What undoes each change that was made, the last one last.
    done: Vec<Change>,
    /// What does each change again that was undone, the last undone last.
    undone: Vec<Change>,
    /// How many changes are in the file; `None` if it holds what can no longer be reached.
    saved: Option<usize>,
    /// What was done since it was last asked for.
    news: Vec<Deed>,
}

/// What was done, to be done again after an accident.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Deed {
    /// A change was made.
    Made(Change),
    /// One was undone by this inverse.
    Undone(Change),
    /// One was made again.
    Redone(Change),
}

impl History {
    /// The history of a trip that is as in its file.
    pub fn new(trip: impl Into<Arc<Trip>>) -> Self {
        Self {
            trip: trip.into(),
            done: Vec::new(),
            undone: Vec::new(),
            saved: Some(0),
            news: Vec::new(),
        }
    }

    /// The history of a trip that is in no file yet.
    pub fn unsaved(trip: impl Into<Arc<Trip>>) -> Self {
        Self {
            saved: None,
            ..Self::new(trip)
        }
    }

    /// The trip as it is now.
    pub const fn trip(&self) -> &Arc<Trip> {
        &self.trip
    }

    /// Makes a change. What was undone before can no longer be done again.
    ///
    /// # Errors
    /// When the change does not fit the trip; then nothing has changed.
    pub fn make(&mut self, change: &Change) -> Result<(), ChangeError> {
        let (trip, inverse) = change.apply(&self.trip)?;
        self.trip = trip.into();
        if self.saved.is_some_and(|saved| saved > self.done.len()) {
            self.saved = None;
        }
        self.done.push(inverse);
        self.undone.clear();
        self.news.push(Deed::Made(change.clone()));
        Ok(())
    }

    /// Undoes the last change; its name; `None` if there is none.
    pub fn undo(&mut self) -> Option<String> {
        let back = self.done.pop()?;
        self.news.push(Deed::Undone(back.clone()));
        self.turn(back, |history| &mut history.undone)
    }

    /// Does again what was undone last; its name; `None` if there is none.
    pub fn redo(&mut self) -> Option<String> {
        let again = self.undone.pop()?;
        self.news.push(Deed::Redone(again.clone()));
        self.turn(again, |history| &mut history.done)
    }

    fn turn(&mut self, change: Change, to: fn(&mut Self) -> &mut Vec<Change>) -> Option<String> {
        // The trip is the one that the inverse was made for, so it fits.
        let (trip, inverse) = change.apply(&self.trip).ok()?;
        self.trip = trip.into();
        to(self).push(inverse);
        Some(change.name)
    }

    /// What was done since this was last asked for, to be written down.
    pub fn take_news(&mut self) -> Vec<Deed> {
        std::mem::take(&mut self.news)
    }

    /// Does again what was written down, up to the first that does not fit; it is not shown as news. How much of it was
    /// done.
    pub fn replay(&mut self, deeds: impl IntoIterator<Item = Deed>) -> usize {
        let news = self.take_news();
        let mut done = 0;
        for deed in deeds {
            let fits = match deed {
                Deed::Made(change) => self.make(&change).is_ok(),
                // What was undone beyond the file has nothing before it here.
                Deed::Undone(change) if self.done.is_empty() => self.make(&change).is_ok(),
                Deed::Undone(_) => self.undo().is_some(),
                Deed::Redone(change) if self.undone.is_empty() => self.make(&change).is_ok(),
                Deed::Redone(_) => self.redo().is_some(),
            };
            if !fits {
                break;
            }
            done += 1;
        }
        self.news = news;
        done
    }

    /// What undo would undo.
    pub fn last_done(&self) -> Option<&str> {
        self.done.last().map(|change| change.name.as_str())
    }

    /// What redo would do again.
    pub fn last_undone(&self) -> Option<&str> {
        self.undone.last().map(|change| change.name.as_str())
    }

    /// How many changes have been made and not undone.
    pub const fn changes_made(&self) -> usize {
        self.done.len()
    }

    /// The names of the changes since the file, the first one first; all when it cannot be reached.
    pub fn since_saved(&self) -> impl Iterator<Item = &str> {
        let from = self.saved.unwrap_or(0).min(self.done.len());
        self.done[from..].iter().map(|change| change.name.as_str())
    }

    /// Marks that the file holds the trip as it is now.
    pub const fn mark_saved(&mut self) {
        self.saved = Some(self.done.len());
    }

    /// Whether the trip is not as in its file.
    pub fn is_changed(&self) -> bool {
        self.saved != Some(self.done.len())
    }

    /// Takes the tracks of another reading of the same trip, which was made to read their files.
    pub fn with_tracks(&mut self, read: impl Into<Arc<Trip>>) {
        self.trip = read.into();
    }
}
