//! What the screen needs of files, handed in by whoever starts it: the screen itself knows none.

use std::sync::Arc;

use crate::model::Trip;
use crate::model::change::{Deed, History};

/// A trip as it was opened.
#[derive(Clone, Debug)]
pub struct Opened {
    /// The trip.
    pub trip: Arc<Trip>,
    /// The file that it is kept in; none for one that is new.
    pub file: Option<String>,
    /// What was done to it the last time and is in no file.
    pub left_over: Vec<Deed>,
    /// What must be known about it.
    pub notice: Option<String>,
}

impl Opened {
    /// The trip with its file as it stands, or without one.
    pub(super) fn history(&self) -> History {
        if self.file.is_some() {
            History::new(Arc::clone(&self.trip))
        } else {
            History::unsaved(Arc::clone(&self.trip))
        }
    }
}

/// Why a trip was not saved.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotSaved {
    /// Somebody else changed the file since it was read.
    Changed,
    /// The name is that of another file.
    Exists,
    /// What the system said.
    Failed(String),
}

/// The files of one trip.
pub trait Outside {
    /// Saves the trip in its file, or in another one, which is its file from then on; gives the name of the file.
    ///
    /// # Errors
    /// When the file is not as it was read, or another one is there, and neither is to be put aside; or when the
    /// system refuses. Then nothing has changed.
    fn save(&mut self, trip: &Trip, to: Option<&str>, over: bool) -> Result<String, NotSaved>;

    /// Writes down what was done, so that nothing is lost in an accident.
    fn record(&mut self, deeds: &[Deed]);

    /// Forgets what was written down: it is saved, or not wanted.
    fn forget(&mut self);

    /// What went wrong with writing down, told once.
    fn trouble(&mut self) -> Option<String>;

    /// Whether somebody else changed the file since it was last looked at; told once.
    fn is_changed(&mut self) -> bool;

    /// Reads the file again.
    ///
    /// # Errors
    /// What is wrong with it.
    fn reload(&mut self) -> Result<Trip, String>;

    /// Reads the track files that a trip names and that were not read yet.
    ///
    /// # Errors
    /// What is wrong with them.
    fn read_tracks(&mut self, trip: &mut Trip) -> Result<(), String>;
}
