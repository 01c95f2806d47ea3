//! The files of one trip while it is on the screen: saving, the journal, and what others do to the file.

use std::error::Error;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use anyhow::Context;

use super::failure::shown_path;
use super::shelf::vehicles_folder;
use super::{Common, files, proposals, recent};
use crate::io::disk::Disk;
use crate::io::folders;
use crate::io::journal::{self, Fingerprint, Head, Journal, Kept};
use crate::io::json::{self, ReadError};
use crate::io::reason::plain_reason;
use crate::io::save::{self, SaveError};
use crate::model::Trip;
use crate::model::change::{Deed, History};
use crate::model::check::Problem;
use crate::model::route::Start;
use crate::plan;
use crate::tui::outside::{LeftOver, NotSaved, Opened, Outside, Proposer};

/// The files of the trip that is open.
#[derive(Debug)]
pub struct Session {
    disk: &'static dyn Disk,
    /// Where the trip is kept; `None` for one that is new.
    path: Option<PathBuf>,
    /// What the file held when it was read or saved.
    print: Option<Fingerprint>,
    /// When it was changed, and how long it was, when it was last looked at.
    seen: Option<(SystemTime, u64)>,
    /// Where new trips and what cannot be beside a trip are written down.
    state: Option<PathBuf>,
    /// The trip of which no file is known.
    new: Option<Trip>,
    journal: Option<Journal>,
    /// What was done and is written down nowhere, since no place was found for a journal: it comes first in the next.
    unwritten: Vec<Deed>,
    /// Journals whose edits were offered: they go when their edits are decided on.
    offered: Vec<PathBuf>,
    /// What must be shown, in order.
    troubles: Vec<String>,
    /// The map and the folder of elevation tiles that the user prefers; empty for none.
    map_files: [String; 2],
}

impl Session {
    /// Opens the trip in a file, with what the last time left unsaved. One that comes through a pipe is in no
    /// file, so it is written down at once.
    ///
    /// # Errors
    /// When it cannot be read, or is no trip.
    pub fn open(path: &Path, disk: &'static dyn Disk) -> Result<(Self, Opened), super::Failure> {
        if path.as_os_str() == "-" || fs::metadata(path).is_ok_and(|about| !about.is_file()) {
            let (session, opened) = Self::open_new(files::read_trip(path)?, disk);
            // It is where it came from, so leaving it as it is loses nothing.
            let is_new = false;
            return Ok((session, Opened { is_new, ..opened }));
        }
        let mut session = Self::new(disk);
        // Looked at before it is read: if it is changed meanwhile, that is noticed and not taken for what was read.
        session.seen = seen(path);
        session.print = Fingerprint::of_file(path);
        let trip = files::read_trip(path)?;
        session.path = Some(path.to_owned());
        let deeds = session.deeds_left(path);
        let mut opened = Opened {
            file: Some(path.to_string_lossy().into_owned()),
            ..Opened::new(trip)
        };
        opened.left_over = session.left_over(opened.history(), deeds);
        opened.notice = session.trouble();
        recent::remember(path, disk);
        Ok((session, opened))
    }

    /// Opens a trip that is in no file, so that it is written down at once.
    pub fn open_new(trip: Trip, disk: &'static dyn Disk) -> (Self, Opened) {
        let mut session = Self::of_new(&trip, disk);
        session.record(&[]);
        let opened = Opened {
            is_new: true,
            notice: session.trouble(),
            ..Opened::new(trip)
        };
        (session, opened)
    }

    /// The files of a trip that has none yet.
    pub(crate) fn of_new(trip: &Trip, disk: &'static dyn Disk) -> Self {
        Self {
            new: Some(trip.clone()),
            ..Self::new(disk)
        }
    }

    /// Opens a trip that was never saved, as its journal has it.
    ///
    /// # Errors
    /// What is wrong with it.
    pub(crate) fn open_unsaved(
        journal: PathBuf,
        disk: &'static dyn Disk,
    ) -> Result<(Self, Opened), super::Failure> {
        let gone = || super::Failure::Wrong("it no longer exists".to_owned());
        let left = journal::read(&journal).ok_or_else(gone)?;
        let trip = *left.trip.ok_or_else(gone)?;
        let unsound = |problems| super::Failure::Unusable {
            file: shown_path(&journal),
            problems,
        };
        as_in_a_file(&trip).map_err(unsound)?;
        let mut session = Self::of_new(&trip, disk);
        let mut opened = Opened {
            is_new: true,
            ..Opened::new(trip)
        };
        opened.left_over = session.left_over(opened.history(), left.deeds);
        opened.notice = session.trouble();
        session.offered.push(journal);
        Ok((session, opened))
    }

    /// The files of no trip.
    pub(crate) fn new(disk: &'static dyn Disk) -> Self {
        Self {
            disk,
            path: None,
            print: None,
            seen: None,
            state: folders::state(),
            new: None,
            journal: None,
            unwritten: Vec::new(),
            offered: Vec::new(),
            troubles: Vec::new(),
            map_files: Default::default(),
        }
    }

    /// The map and the folder of elevation tiles of the preferences.
    pub(crate) fn prefer_map_files(&mut self, common: &Common) {
        let named = |path: &Option<PathBuf>| path.as_deref().map_or_else(String::new, shown_path);
        self.map_files = [named(&common.map), named(&common.heights)];
    }

    /// What was written down the last time and is in no file.
    fn deeds_left(&mut self, path: &Path) -> Vec<Deed> {
        for place in journal::places(&absolute(path), self.state.as_deref()) {
            // Known first: on Windows only the program that has locked a file can read it.
            if journal::is_written(&place) {
                self.report("the trip is also open in another window");
                continue;
            }
            if journal::is_foreign(&place) {
                self.troubles.push(format!(
                    "{} was not written by drystage and stays untouched; unsaved edits are stored elsewhere",
                    shown_path(&place)
                ));
                continue;
            }
            let Some(left) = journal::read(&place) else {
                continue;
            };
            // It goes when its edits are decided on, or with the next journal.
            self.offered.push(place);
            if left.deeds.is_empty() {
                continue;
            }
            if left.file.map(|file| file.1) != self.print {
                self.report(
                    "the unsaved changes from last time belong to another version of the file",
                );
            }
            return left.deeds;
        }
        Vec::new()
    }

    /// What was done to a trip the last time, as far as it fits the trip and a file could hold what comes of it: a
    /// journal is beside a trip that may come from anybody.
    fn left_over(&mut self, base: History, mut deeds: Vec<Deed>) -> Option<LeftOver> {
        if deeds.is_empty() {
            return None;
        }
        let mut history = base.clone();
        let mut sound = 0;
        let mut left_out = None;
        for deed in &deeds {
            if history.replay([deed.clone()]) == 0 {
                left_out = Some("edits that no longer fit the file".to_owned());
                break;
            }
            // Undo leads back to each of these trips, so each has to be sound.
            if let Err(problems) = as_in_a_file(history.trip()) {
                let first = problems
                    .first()
                    .map_or_else(String::new, ToString::to_string);
                left_out = Some(format!("edits that make the trip invalid ({first})"));
                history = base;
                history.replay(deeds[..sound].iter().cloned());
                break;
            }
            sound += 1;
        }
        if let Some(what) = left_out {
            let count = deeds.len() - sound;
            // First, so that a narrow screen shows it.
            self.troubles
                .insert(0, format!("{what} were left out: {count}"));
        }
        // What is written down from now on must be found behind what is offered.
        deeds.truncate(sound);
        let mut trip = Trip::clone(history.trip());
        match self.read_tracks(&mut trip) {
            Ok(()) => history.with_tracks(trip),
            Err(error) => self.troubles.push(error.to_string()),
        }
        Some(LeftOver { history, deeds })
    }

    fn begin(&self, deeds: &[Deed]) -> io::Result<Journal> {
        match (&self.path, self.print, &self.new) {
            (Some(path), Some(print), _) => {
                let path = absolute(path);
                let places = journal::places(&path, self.state.as_deref());
                Journal::begin(self.disk, &places, &Head::of_file(path, print), deeds)
            }
            (_, _, Some(trip)) => {
                Journal::begin(self.disk, &self.place_of_new(), &Head::of_trip(trip), deeds)
            }
            _ => Err(io::Error::other("the file can no longer be read")),
        }
    }

    /// Where a new trip is written down: where it was, or under a name that nobody has. The number of this program
    /// keeps others that run off it, but one that was killed may have had the same.
    fn place_of_new(&self) -> Vec<PathBuf> {
        let program = std::process::id();
        let numbered = |state: &PathBuf| {
            (1..=u32::MAX)
                .map(|number| state.join(format!("new-{program}-{number}.edits")))
                .find(|place| !place.exists())
        };
        let before = self.offered.first().cloned();
        let place = before.or_else(|| self.state.as_ref().and_then(numbered));
        place.into_iter().collect()
    }

    fn report(&mut self, message: &str) {
        self.troubles.push(message.to_owned());
    }

    fn drop_offered(&mut self) {
        for place in self.offered.drain(..) {
            // One that stays is offered once more; nothing is lost by it.
            let _ = self.disk.remove(&place);
        }
    }
}

impl Outside for Session {
    fn proposer(&self) -> Proposer {
        proposals::proposer()
    }

    fn map_files(&self) -> [String; 2] {
        self.map_files.clone()
    }

    fn save(&mut self, trip: &Trip, to: Option<&str>, over: bool) -> Result<String, NotSaved> {
        let other = to.map(folders::at_home);
        let Some(path) = other.as_ref().or(self.path.as_ref()).cloned() else {
            return Err(NotSaved::Failed(
                "the trip has no file yet: save it under a name".to_owned(),
            ));
        };
        if fs::metadata(&path).is_ok_and(|about| !about.is_file() && !about.is_dir()) {
            // It would not be there to be read again, and might keep the screen waiting for a reader.
            let message = format!("{} is a pipe or a device, not a file", shown_path(&path));
            return Err(NotSaved::Failed(message));
        }
        let own = other.is_none();
        if own
            && !over
            && self.print.is_some()
            && path.exists()
            && Fingerprint::of_file(&path) != self.print
        {
            return Err(NotSaved::Changed);
        }
        let existing = files::existing(own || over);
        let failed = |error: &dyn Error| NotSaved::Failed(error.to_string());
        let mut text = Vec::new();
        json::write(trip, &mut text).map_err(|error| failed(&error))?;
        let print = Some(Fingerprint::from_bytes(&text));
        if let (Some(journal), Some(print)) = (&self.journal, print) {
            journal.saving(Kept(absolute(&path), print));
        }
        let done = save::save(self.disk, &path, existing, |stream| stream.write_all(&text));
        match done {
            Ok(()) => {}
            Err(SaveError::Exists(_)) => return Err(NotSaved::Exists),
            Err(error) => {
                if own && matches!(error, SaveError::Unsettled { .. }) {
                    (self.print, self.seen) = (print, seen(&path));
                }
                return Err(failed(&error));
            }
        }
        self.forget();
        (self.print, self.seen) = (print, seen(&path));
        let shown = shown_path(&path);
        recent::remember(&path, self.disk);
        self.path = Some(path);
        self.new = None;
        Ok(shown)
    }

    fn record(&mut self, deeds: &[Deed]) {
        if let Some(journal) = &self.journal {
            for deed in deeds {
                journal.add(deed);
            }
            return;
        }
        self.unwritten.extend_from_slice(deeds);
        match self.begin(&self.unwritten) {
            Ok(journal) => {
                self.unwritten.clear();
                // Where the new one is in another place, the one that was offered is used up.
                self.offered.retain(|place| place != journal.path());
                self.drop_offered();
                self.journal = Some(journal);
            }
            Err(error) => self.troubles.push(not_backed_up(&error)),
        }
    }

    fn forget(&mut self) {
        if let Some(journal) = self.journal.take() {
            journal.remove();
        }
        self.unwritten.clear();
        self.drop_offered();
    }

    fn keep_vehicle(&mut self, trip: &Trip, file: &str, over: bool) -> Result<String, NotSaved> {
        let failed = |error: &dyn Error| NotSaved::Failed(error.to_string());
        let Some(folder) = vehicles_folder() else {
            return Err(NotSaved::Failed(format!(
                "there is no folder for vehicles: {}",
                folders::UNNAMED
            )));
        };
        fs::create_dir_all(&folder).map_err(|error| failed(&error))?;
        let vehicle = Trip {
            name: trip.vehicle.name.clone(),
            vehicle: plan::learnt(trip),
            notice: None,
            start: Start::named("start"),
            legs: Vec::new(),
            what_ifs: None,
            log: None,
            ..trip.clone()
        };
        let mut text = Vec::new();
        json::write(&vehicle, &mut text).map_err(|error| failed(&error))?;
        let path = folder.join(file);
        let existing = files::existing(over);
        match save::save(self.disk, &path, existing, |stream| stream.write_all(&text)) {
            Ok(()) => Ok(shown_path(&path)),
            Err(SaveError::Exists(_)) => Err(NotSaved::Exists),
            Err(error) => Err(failed(&error)),
        }
    }

    fn remember_verdict(&mut self, verdict: &str) {
        if let Some(path) = &self.path {
            recent::remember_verdict(path, verdict, self.disk);
        }
    }

    fn trouble(&mut self) -> Option<String> {
        let of_journal = self.journal.as_ref().and_then(Journal::trouble);
        self.troubles
            .extend(of_journal.map(|error| not_backed_up(&error)));
        let troubles = std::mem::take(&mut self.troubles);
        (!troubles.is_empty()).then(|| troubles.join("; "))
    }

    fn is_changed(&mut self) -> bool {
        let Some(path) = &self.path else {
            return false;
        };
        let now = seen(path);
        if now == self.seen {
            return false;
        }
        self.seen = now;
        // A file that was only touched holds what it held.
        Fingerprint::of_file(path) != self.print
    }

    fn reload(&mut self) -> anyhow::Result<Trip> {
        let path = self.path.clone().context("the trip has no file yet")?;
        let (seen, print) = (seen(&path), Fingerprint::of_file(&path));
        let trip = files::read_trip(&path)?;
        (self.print, self.seen) = (print, seen);
        self.forget();
        Ok(trip)
    }

    fn read_tracks(&mut self, trip: &mut Trip) -> anyhow::Result<()> {
        let path = self.path.as_deref().unwrap_or(Path::new("trip.json"));
        Ok(files::read_tracks(trip, path)?)
    }
}

fn not_backed_up(error: &io::Error) -> String {
    let reason = plain_reason(error);
    format!("unsaved edits are not backed up ({reason}); save often")
}

/// Everything for which a trip file with this trip would be refused.
fn as_in_a_file(trip: &Trip) -> Result<(), Vec<Problem>> {
    let mut text = Vec::new();
    let written = json::write(trip, &mut text).map_err(ReadError::from);
    match written.and_then(|()| json::parse(&text)) {
        Ok(read) if read.legs.is_empty() => {
            Err(vec![Problem::new("/legs", "must keep a leg, got none")])
        }
        Ok(_) => Ok(()),
        Err(ReadError::Problems(problems)) => Err(problems),
        Err(other) => Err(vec![Problem::new("", other.to_string())]),
    }
}

fn seen(path: &Path) -> Option<(SystemTime, u64)> {
    let about = fs::metadata(path).ok()?;
    Some((about.modified().ok()?, about.len()))
}

/// The path from the root, so that it means the same wherever the program is started the next time.
fn absolute(path: &Path) -> PathBuf {
    dunce::canonicalize(path)
        .or_else(|_| std::path::absolute(path))
        .unwrap_or_else(|_| path.to_owned())
}
