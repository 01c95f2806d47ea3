//! What the screen needs of files, handed in by the one who starts it: the screen itself knows none.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::model::Trip;
use crate::model::change::{Change, Deed, History};
use crate::present::number::Units;
use crate::quantity::{Kilometres, Share};

/// A trip as it was opened.
#[derive(Clone, Debug)]
pub struct Opened {
    /// The trip as it was read or made.
    pub trip: Arc<Trip>,
    /// The file that it is kept in; none for one that is new.
    pub file: Option<String>,
    /// Whether it is nowhere yet, so that leaving it loses something.
    pub is_new: bool,
    /// What was done to it the last time and is in no file.
    pub left_over: Option<LeftOver>,
    /// What is to be done to it at once.
    pub edits: Vec<Change>,
    /// What must be known about it.
    pub notice: Option<String>,
}

/// Edits that were left unsaved the last time.
#[derive(Clone, Debug)]
pub struct LeftOver {
    /// The trip with those of them that fit it and keep it sound.
    pub history: History,
    /// The changes themselves, in their order.
    pub deeds: Vec<Deed>,
}

impl Opened {
    /// A trip about which nothing else is known.
    pub fn new(trip: impl Into<Arc<Trip>>) -> Self {
        Self {
            trip: trip.into(),
            file: None,
            is_new: false,
            left_over: None,
            edits: Vec::new(),
            notice: None,
        }
    }

    /// The trip with what is in its file.
    pub(crate) fn history(&self) -> History {
        if self.is_new {
            History::unsaved(Arc::clone(&self.trip))
        } else {
            History::new(Arc::clone(&self.trip))
        }
    }
}

/// Why a trip was not saved.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotSaved {
    /// Somebody else changed the file since it was read.
    #[error("it has changed on disk since it was read")]
    Changed,
    /// The name is that of another file.
    #[error("it already exists")]
    Exists,
    /// The message of the system.
    #[error("{0}")]
    Failed(String),
}

/// Files from which a change of the trip can be proposed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum FromFiles {
    /// What the trip does not state, from a map and from elevation tiles.
    Map {
        /// An extract or a folder of them; empty for none.
        map: String,
        /// A folder of tiles; empty for none.
        heights: String,
        /// Whether legs are split where the surface changes lastingly.
        is_split: bool,
    },
    /// Calibration factors from a fill-up log.
    FillLog(String),
    /// Vehicle, load and rules of another trip.
    Vehicle(String),
    /// Other legs: all of them, or under way those after the last fuel reading. Paths divided by `;`.
    Route(String),
}

/// A change that is made once the user has seen and accepted it.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposal {
    /// The change; it may change nothing.
    pub change: Change,
    /// What it changes and why, a line each.
    pub lines: Vec<String>,
}

/// Called with the part of the reading that is done; the answer is whether to continue.
pub type Progress = Arc<dyn Fn(Share) -> bool + Send + Sync>;

/// What reads the files of a proposal; it may take long, and is called on a thread of its own.
pub type Proposer =
    Arc<dyn Fn(&FromFiles, &Trip, Units, Progress) -> anyhow::Result<Proposal> + Send + Sync>;

/// The files of one trip.
pub trait Outside {
    /// What reads the files of proposals.
    fn proposer(&self) -> Proposer;

    /// The map and the folder of elevation tiles that the user prefers; empty for none.
    fn map_files(&self) -> [String; 2] {
        Default::default()
    }

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

    /// Puts the vehicle, load and rules of a trip on the shelf of vehicles, in a file of that name; gives its path.
    ///
    /// # Errors
    /// When a file of that name is there and is not to be replaced, or the system refuses.
    fn keep_vehicle(&mut self, trip: &Trip, file: &str, over: bool) -> Result<String, NotSaved>;

    /// Notes the verdict with which the trip of the file is left, for the list of recent trips.
    fn remember_verdict(&mut self, _verdict: &str) {}

    /// What went wrong with writing down, shown once.
    fn trouble(&mut self) -> Option<String>;

    /// Whether somebody else changed the file since it was last looked at; shown once.
    fn is_changed(&mut self) -> bool;

    /// Reads the file again.
    ///
    /// # Errors
    /// What is wrong with it.
    fn reload(&mut self) -> anyhow::Result<Trip>;

    /// Reads the track files that a trip names and that were not read yet.
    ///
    /// # Errors
    /// What is wrong with them.
    fn read_tracks(&mut self, trip: &mut Trip) -> anyhow::Result<()>;
}

/// A trip that was open before.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Recent {
    /// Path of its file.
    pub path: String,
    /// Its name, or that of the file.
    pub name: String,
    /// `None` if the file cannot be read.
    pub distance: Option<Kilometres>,
    /// `None` if the legs have no days.
    pub days: Option<u32>,
    /// When it was last open, `2 days ago`; empty if unknown.
    pub opened: String,
    /// The verdict with which it was left; empty if there was none or the file has changed since.
    pub verdict: String,
}

/// Something that can be opened when no trip was named.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// A trip that was never saved.
    Unsaved {
        /// Name of the trip.
        name: String,
        /// Where it is written down.
        at: PathBuf,
    },
    /// A trip that was open before.
    Recent(Recent),
    /// A new trip.
    New,
    /// A new trip with a vehicle of the shelf.
    Vehicle {
        /// Name of the vehicle.
        name: String,
        /// File of the vehicle.
        at: PathBuf,
    },
    /// A trip from tracks or a table.
    Import,
    /// The name of a sample.
    Sample(&'static str),
}

/// What can be opened when no trip was named.
pub trait Shelf {
    /// Keeps the answers to the questions about a new trip until there is one; none forgets them.
    fn keep_answers(&mut self, _answers: &[String]) {}

    /// The answers that were kept the last time.
    fn kept_answers(&self) -> Vec<String> {
        Vec::new()
    }

    /// What there is, in the order in which it is shown.
    fn items(&self) -> Vec<Item>;

    /// Opens something.
    ///
    /// # Errors
    /// What is wrong with it.
    fn open(&mut self, item: &Item) -> anyhow::Result<Opened>;

    /// Reads a vehicle of the shelf: a trip that may have no legs.
    ///
    /// # Errors
    /// What is wrong with it.
    fn vehicle(&self, at: &Path) -> anyhow::Result<Trip>;

    /// Makes a trip of the files at these paths, divided by `;`, with the vehicle, load and rules of another trip or of a
    /// vehicle of the shelf; with an empty name with those of a placeholder.
    ///
    /// # Errors
    /// What is wrong with them.
    fn import(&self, paths: &str, vehicle: &str, units: Units) -> anyhow::Result<Imported>;

    /// Takes a new trip.
    fn create(&mut self, trip: Trip) -> Opened;
}

/// A trip that was made of files and is not accepted yet.
#[derive(Clone, Debug)]
pub struct Imported {
    /// The trip that was made.
    pub trip: Arc<Trip>,
    /// What was read, the legs, and notes, a line each.
    pub lines: Vec<String>,
}
