//! What was done to a trip since it was saved, written down as it is done.
//!
//! A journal is a file of lines: a head that names the trip it is about, then one line for each deed.
//! A thread of its own appends each line at once, so that a killed program loses nothing that was shown,
//! and brings them to the disk after a second's rest, so that a power cut loses at most the last second.
//! The trip itself is written only in the head, and only when no file holds it. A last line that was
//! cut short is left out. While it is written a journal is locked, so that the same trip opened twice does
//! not take up what is still being done.
//!
//! Before the trip is saved, a line states in which file and what that file will hold. If the program is killed after
//! that, the file itself shows whether the save came about, and with it whether the deeds are in it.
//!
//! It is beside the trip as `.NAME.edits`; where that folder cannot be written, or there is no file
//! yet, in the user's state folder: `$XDG_STATE_HOME/drystage` (XDG Base Directory Specification 0.8),
//! by default `~/.local/state/drystage`; on Windows `%LOCALAPPDATA%\drystage`. A name that is no Unicode or too long
//! for that is cut, and its hash follows.
//! Only a journal of this program, known by its first line, ever gives way to another one.

use std::ffi::OsStr;
use std::fs::{self, File, TryLockError};
use std::io::{self, BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{self, Receiver, RecvTimeoutError, Sender};
use std::thread::JoinHandle;
use std::time::Duration;

use serde::{Deserialize, Serialize};

use super::disk::{self, Disk, Readers, Stream};
use super::save::folder_of;
use crate::model::Trip;
use crate::model::change::Deed;

/// The version of the journal that this program reads and writes.
const VERSION: u32 = 1;
/// After this rest what was written is brought to the disk.
const REST: Duration = Duration::from_secs(1);
/// The longest journal that is read.
const MOST_BYTES: u64 = 256 * 1024 * 1024;
/// How the first line of every journal of this version begins.
const MARK: &[u8] = br#"{"drystage_edits":1,"#;
/// Bytes of the longest name that every usual file system takes.
const LONGEST_NAME: usize = 255;
/// Most deeds of a journal that are read; nobody makes so many between two saves.
const MOST_DEEDS: usize = 10_000;
/// Most saves of a journal that are looked after: each that came about ends it, so there are few.
const MOST_SAVES: usize = 100;

/// A file, and what it holds.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Kept(#[serde(with = "any_path")] pub PathBuf, pub Fingerprint);

/// A path as text; one that is no Unicode as the system has it.
mod any_path {
    use std::ffi::OsString;
    use std::path::{Path, PathBuf};

    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    #[derive(Serialize, Deserialize)]
    #[serde(untagged)]
    enum Written {
        Text(String),
        Raw(OsString),
    }

    pub(super) fn serialize<S: Serializer>(path: &Path, to: S) -> Result<S::Ok, S::Error> {
        let raw = || Written::Raw(path.into());
        let written = path.to_str().map(|text| Written::Text(text.to_owned()));
        written.unwrap_or_else(raw).serialize(to)
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<PathBuf, D::Error> {
        Ok(match Written::deserialize(from)? {
            Written::Text(text) => text.into(),
            Written::Raw(raw) => raw.into(),
        })
    }
}

/// The first line of a journal: the trip that it is about.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Head {
    drystage_edits: u32,
    /// The file that the deeds were done to, with what it held.
    pub(crate) file: Option<Kept>,
    /// The trip that they were done to, where no file held it.
    pub(crate) trip: Option<Box<Trip>>,
}

#[derive(Serialize, Deserialize)]
#[serde(untagged)]
enum JournalLine {
    Saving {
        /// Where the trip goes with all that was done to it so far.
        saving: Kept,
    },
    Deed(Deed),
}

/// What a file held, in short: equal prints are equal bytes for all that an accident can do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Fingerprint {
    bytes: u64,
    hash: u64,
}

impl Fingerprint {
    /// The print of some bytes: their number and their FNV-1a hash (Fowler, Noll and Vo; RFC 9923).
    pub fn from_bytes(bytes: &[u8]) -> Self {
        Self::EMPTY.and(bytes)
    }

    /// The print of a file; `None` if there is none that can be read.
    pub(crate) fn of_file(path: &Path) -> Option<Self> {
        let mut file = BufReader::new(open(path)?);
        let mut print = Self::EMPTY;
        loop {
            let block = file.fill_buf().ok()?;
            if block.is_empty() {
                return Some(print);
            }
            let length = block.len();
            print = print.and(block);
            file.consume(length);
        }
    }

    const EMPTY: Self = Self {
        bytes: 0,
        hash: 0xcbf2_9ce4_8422_2325,
    };

    fn and(self, bytes: &[u8]) -> Self {
        Self {
            bytes: self.bytes + bytes.len() as u64,
            hash: bytes.iter().fold(self.hash, |hash: u64, &byte| {
                (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
            }),
        }
    }
}

impl Head {
    /// The head for a trip that is kept in a file.
    pub const fn of_file(path: PathBuf, print: Fingerprint) -> Self {
        Self {
            drystage_edits: VERSION,
            file: Some(Kept(path, print)),
            trip: None,
        }
    }

    /// The head for a trip that is in no file.
    pub(crate) fn of_trip(trip: &Trip) -> Self {
        Self {
            drystage_edits: VERSION,
            file: None,
            trip: Some(Box::new(trip.clone())),
        }
    }
}

/// A journal that is being written.
#[derive(Debug)]
pub struct Journal {
    disk: &'static dyn Disk,
    path: PathBuf,
    lines: Option<Sender<Work>>,
    thread: Option<JoinHandle<()>>,
    trouble: Receiver<io::Error>,
}

/// What the thread of a journal is given to do.
enum Work {
    /// Append this line.
    Append(String),
    /// Bring all that was appended to the disk, and answer then.
    Settle(Sender<()>),
}

impl Journal {
    /// Begins a journal in the first of the places that can be written. One that is there and that nobody writes
    /// any more gives way in one step.
    ///
    /// # Errors
    /// When none can; the last refusal.
    pub fn begin(
        disk: &'static dyn Disk,
        places: &[PathBuf],
        head: &Head,
        deeds: &[Deed],
    ) -> io::Result<Self> {
        let mut text = line(head)?;
        for deed in deeds {
            text += &line(deed)?;
        }
        let mut refused = io::Error::other("no folder to write in");
        for path in places {
            match create(disk, path, &text) {
                Ok(file) => return Self::on(disk, path, file),
                Err(error) => refused = error,
            }
        }
        Err(refused)
    }

    pub(crate) fn path(&self) -> &Path {
        &self.path
    }

    fn on(disk: &'static dyn Disk, path: &Path, file: File) -> io::Result<Self> {
        let (lines, taken) = mpsc::channel();
        let (sender, trouble) = mpsc::channel();
        let thread = std::thread::Builder::new()
            .name("journal".to_owned())
            .spawn(move || {
                // Anyone who does not listen does not want to know.
                if let Err(error) = append(disk, &file, &taken) {
                    let _ = sender.send(error);
                }
            })?;
        Ok(Self {
            disk,
            path: path.to_owned(),
            lines: Some(lines),
            thread: Some(thread),
            trouble,
        })
    }

    /// Writes a deed down.
    pub(crate) fn add(&self, deed: &Deed) {
        self.append(deed);
    }

    /// Writes down what is going to be saved and where, and waits until that is on the disk: if the program does not
    /// live to take the journal away, the next one knows what to do with it.
    pub(crate) fn saving(&self, to: Kept) {
        self.append(&JournalLine::Saving { saving: to });
        let (sender, settled) = mpsc::channel();
        self.give(Work::Settle(sender));
        // A thread that is gone has reported why, and what cannot be written down can still be saved.
        let _ = settled.recv();
    }

    fn append(&self, content: &impl Serialize) {
        if let Ok(text) = line(content) {
            self.give(Work::Append(text));
        }
    }

    fn give(&self, work: Work) {
        if let Some(lines) = &self.lines {
            // A thread that is gone has reported why.
            let _ = lines.send(work);
        }
    }

    /// Why nothing is written any more, shown once.
    pub(crate) fn trouble(&self) -> Option<io::Error> {
        self.trouble.try_recv().ok()
    }

    /// Ends the journal and takes it away.
    pub(crate) fn remove(mut self) {
        self.stop();
        // One that stays is offered once more; nothing is lost by it.
        let _ = self.disk.remove(&self.path);
    }

    fn stop(&mut self) {
        self.lines = None;
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

impl Drop for Journal {
    fn drop(&mut self) {
        self.stop();
    }
}

/// Whether a journal is being written by a program that runs.
pub(crate) fn is_written(path: &Path) -> bool {
    let locked = |file: File| matches!(file.try_lock_shared(), Err(TryLockError::WouldBlock));
    open(path).is_some_and(locked)
}

/// Whether something is at a path that no journal may take the place of: whatever is neither a journal of this
/// version nor a file without a byte in it, which a power cut may leave of one.
pub(crate) fn is_foreign(path: &Path) -> bool {
    let Ok(about) = fs::metadata(path) else {
        return false;
    };
    let mut begins = Vec::new();
    let read = open(path).map(|file| file.take(MARK.len() as u64).read_to_end(&mut begins));
    about.len() > 0 && (!about.is_file() || !matches!(read, Some(Ok(_))) || begins != MARK)
}

/// Opens a file to be read; what is none, a pipe for one, could keep who opens it waiting for ever.
fn open(path: &Path) -> Option<File> {
    fs::metadata(path).ok().filter(fs::Metadata::is_file)?;
    File::open(path).ok()
}

fn create(disk: &dyn Disk, path: &Path, text: &str) -> io::Result<File> {
    // Known first: on Windows only the program that has locked a file can read it.
    let in_another_window = || io::Error::other("the trip is open in another window");
    if is_written(path) {
        return Err(in_another_window());
    }
    if is_foreign(path) {
        return Err(io::Error::other(format!(
            "{} is no journal of drystage's",
            path.display()
        )));
    }
    let before = open(path);
    let lock = before.as_ref().map(File::try_lock);
    if matches!(lock, Some(Err(TryLockError::WouldBlock))) {
        return Err(in_another_window());
    }
    let replaces = before.is_some();
    // Held until another is in its place, so that of two programs that begin at once one is refused. A guarded file
    // has to be closed before; what the first has put in its place is open, which refuses the second.
    let _held = before.filter(|_| !disk.guards_files());
    let folder = folder_of(path);
    // Only the state folder is ever missing.
    fs::create_dir_all(folder)?;
    let part = disk.make(folder, Readers::Owner)?;
    Stream(disk, part.as_file()).write_all(text.as_bytes())?;
    if replaces {
        disk::replace(disk, part, path)
    } else {
        disk::name(disk, part, path)
    }
}

fn line(content: &impl Serialize) -> io::Result<String> {
    Ok(serde_json::to_string(content)? + "\n")
}

/// Appends what comes, and brings it to the disk when nothing came for a while.
fn append(disk: &dyn Disk, file: &File, work: &Receiver<Work>) -> io::Result<()> {
    let mut unsynced = true;
    loop {
        let next = if unsynced {
            work.recv_timeout(REST)
        } else {
            work.recv().map_err(|_| RecvTimeoutError::Disconnected)
        };
        match next {
            Ok(Work::Append(text)) => {
                Stream(disk, file).write_all(text.as_bytes())?;
                unsynced = true;
            }
            Ok(Work::Settle(sender)) => {
                disk.sync(file)?;
                unsynced = false;
                let _ = sender.send(());
            }
            Err(RecvTimeoutError::Timeout) => {
                disk.sync(file)?;
                unsynced = false;
            }
            Err(RecvTimeoutError::Disconnected) if unsynced => return disk.sync(file),
            Err(RecvTimeoutError::Disconnected) => return Ok(()),
        }
    }
}

/// What was left in a journal.
#[derive(Clone, Debug, PartialEq)]
pub struct Left {
    /// The file that the deeds were done to, with what it held.
    pub file: Option<Kept>,
    /// The trip that they were done to, where no file held it.
    pub trip: Option<Box<Trip>>,
    /// What was done and is in no file.
    pub deeds: Vec<Deed>,
}

impl Left {
    /// Whether all of it is in a file.
    pub(crate) fn is_nothing(&self) -> bool {
        self.trip.is_none() && self.deeds.is_empty()
    }

    /// Takes out what is in the file to which it was being saved, if that came about.
    fn saved(&mut self, to: Kept, is_last: bool) {
        if Fingerprint::of_file(&to.0) != Some(to.1) {
            return;
        }
        if self.file.as_ref().is_some_and(|own| own.0 == to.0) {
            self.file = Some(to);
            self.deeds.clear();
        } else if is_last {
            // Under another name; what was done after that would have to be done to that one.
            self.trip = None;
            self.deeds.clear();
        }
    }
}

/// Reads a journal: its head and all that was written whole and is in no file. `None` if there is no journal,
/// or none that this program wrote.
pub fn read(path: &Path) -> Option<Left> {
    let mut lines = BufReader::new(open(path)?).take(MOST_BYTES).lines();
    let head: Head = serde_json::from_str(&lines.next()?.ok()?).ok()?;
    if head.drystage_edits != VERSION {
        return None;
    }
    let mut left = Left {
        file: head.file,
        trip: head.trip,
        deeds: Vec::new(),
    };
    let mut saves = 0;
    let mut lines = lines
        .map_while(Result::ok)
        .map_while(|line| serde_json::from_str(&line).ok())
        .peekable();
    while let Some(line) = lines.next() {
        match line {
            JournalLine::Deed(_) if left.deeds.len() == MOST_DEEDS => break,
            JournalLine::Deed(deed) => left.deeds.push(deed),
            JournalLine::Saving { saving } if saves < MOST_SAVES => {
                saves += 1;
                left.saved(saving, lines.peek().is_none());
            }
            JournalLine::Saving { .. } => {}
        }
    }
    Some(left)
}

/// The places for the journal of a trip in a file, the best first.
pub(crate) fn places(trip: &Path, state: Option<&Path>) -> Vec<PathBuf> {
    let name = trip.file_name().unwrap_or_default();
    let hash = |text: &OsStr| {
        format!(
            "-{:016x}.edits",
            Fingerprint::from_bytes(text.as_encoded_bytes()).hash
        )
    };
    let plain = name.to_str().map(|name| format!(".{name}.edits"));
    let plain = plain.filter(|beside| beside.len() <= LONGEST_NAME);
    let beside = plain.unwrap_or_else(|| before(&format!(".{}", name.display()), &hash(name)));
    let elsewhere = |state: &Path| {
        let name = name.display().to_string();
        state.join(before(&name, &hash(trip.as_os_str())))
    };
    let beside = trip.with_file_name(beside);
    std::iter::once(beside)
        .chain(state.map(elsewhere))
        .collect()
}

/// As much of a name as there is room for before its end.
fn before(name: &str, end: &str) -> String {
    let mut room = name.len().min(LONGEST_NAME - end.len());
    while !name.is_char_boundary(room) {
        room -= 1;
    }
    format!("{}{end}", &name[..room])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::io::disk::System;
    use crate::model::change::Change;
    use crate::model::check;

    fn trip() -> Trip {
        let text = include_str!("../../tests/data/example-trip.json");
        check::read(serde_json::from_str(text).unwrap()).unwrap()
    }

    fn deed(km: u32) -> Deed {
        Deed::Made(Change::set(&trip(), "/legs/0/distance_km", Some(km.into())))
    }

    #[test]
    fn what_was_added_is_read_and_a_line_cut_short_is_left_out() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(".trip.json.edits");
        let head = Head::of_file("trip.json".into(), Fingerprint::from_bytes(b"x"));
        let journal = Journal::begin(&System, std::slice::from_ref(&path), &head, &[]).unwrap();
        journal.add(&deed(150));
        journal.add(&deed(160));
        assert!(is_written(&path));
        let again = Journal::begin(&System, std::slice::from_ref(&path), &head, &[]);
        assert_eq!(
            again.unwrap_err().to_string(),
            "the trip is open in another window"
        );
        drop(journal);
        assert!(!is_written(&path));
        let whole = fs::read(&path).unwrap();
        let left = |deeds: &[Deed]| Left {
            file: head.file.clone(),
            trip: None,
            deeds: deeds.to_vec(),
        };
        assert_eq!(read(&path), Some(left(&[deed(150), deed(160)])));
        fs::write(&path, &whole[..whole.len() - 9]).unwrap();
        assert_eq!(read(&path), Some(left(&[deed(150)])));
        fs::write(&path, "{}\n").unwrap();
        assert_eq!(read(&path), None);
    }

    #[test]
    fn a_trip_in_no_file_stands_in_the_head() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("deep/new.edits");
        let journal = Journal::begin(
            &System,
            std::slice::from_ref(&path),
            &Head::of_trip(&trip()),
            &[],
        )
        .unwrap();
        journal.add(&deed(150));
        let left = loop {
            // The thread writes at once, but it is another thread.
            match read(&path) {
                Some(left) if !left.deeds.is_empty() => break left,
                _ => std::thread::sleep(Duration::from_millis(5)),
            }
        };
        assert_eq!(left.trip.as_deref(), Some(&trip()));
        assert_eq!(left.deeds, [deed(150)]);
        journal.remove();
        assert!(!path.exists());
    }

    #[test]
    fn a_folder_that_cannot_be_written_is_passed_over() {
        let folder = tempfile::tempdir().unwrap();
        let state = folder.path().join("state");
        // A file where a folder should be refuses even the superuser.
        fs::write(folder.path().join("file"), "x").unwrap();
        let places = places(&folder.path().join("file/trip.json"), Some(&state));
        let head = Head::of_file("trip.json".into(), Fingerprint::from_bytes(b""));
        let journal = Journal::begin(&System, &places, &head, &[]).unwrap();
        assert!(journal.path.starts_with(&state), "{:?}", journal.path);
        assert!(Journal::begin(&System, &places[..1], &head, &[]).is_err());
    }

    /// Letters beyond ASCII count by their bytes, so that names of any script fit.
    #[test]
    fn every_name_has_a_journal_beside_it_and_elsewhere() {
        let folder = tempfile::tempdir().unwrap();
        let state = folder.path().join("state");
        #[cfg_attr(
            not(unix),
            expect(unused_mut, reason = "only here any bytes are a name")
        )]
        let mut names = vec![
            "trip.json".into(),
            std::ffi::OsString::from("a".repeat(248)),
            "b".repeat(249).into(),
            "ä".repeat(127).into(),
            "c".repeat(255).into(),
        ];
        #[cfg(unix)]
        {
            use std::os::unix::ffi::OsStringExt;
            names.push(std::ffi::OsString::from_vec(b"trip-\xff.json".to_vec()));
            names.push(std::ffi::OsString::from_vec(b"trip-\xfe.json".to_vec()));
            names.push(std::ffi::OsString::from_vec(vec![0xff; 255]));
        }
        let mut taken = Vec::new();
        for name in &names {
            let trip = folder.path().join(name);
            let head = Head::of_file(trip.clone(), Fingerprint::from_bytes(b"x"));
            for place in places(&trip, Some(&state)) {
                let journal =
                    Journal::begin(&System, std::slice::from_ref(&place), &head, &[deed(150)]);
                drop(journal.unwrap_or_else(|error| panic!("{}: {error}", place.display())));
                assert_eq!(read(&place).unwrap().file, head.file, "{}", place.display());
                assert!(!taken.contains(&place), "{}", place.display());
                taken.push(place);
            }
        }
        assert!(taken[0].ends_with(".trip.json.edits"));
    }

    #[test]
    fn what_is_no_journal_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let trip = folder.path().join("trip.json");
        let places = places(&trip, Some(&folder.path().join("state")));
        let head = Head::of_file(trip, Fingerprint::from_bytes(b"x"));
        for theirs in [
            "notes on the trip",
            "{}",
            "{\"drystage_edits\":2,\"file\":null}\n",
        ] {
            fs::write(&places[0], theirs).unwrap();
            let journal = Journal::begin(&System, &places, &head, &[]).unwrap();
            assert_eq!(journal.path(), places[1]);
            journal.remove();
            assert_eq!(fs::read_to_string(&places[0]).unwrap(), theirs);
        }
        // What a power cut leaves of a journal gives way.
        fs::write(&places[0], "").unwrap();
        let journal = Journal::begin(&System, &places, &head, &[]).unwrap();
        assert_eq!(journal.path(), places[0]);
    }

    /// What is left of a journal on `trip.json` that has two deeds, of a save to `to` after the first, and perhaps
    /// of nothing after that save.
    fn left_after_save(to: &str, came_about: bool, goes_on: bool) -> Left {
        let folder = tempfile::tempdir().unwrap();
        let [trip, to] = ["trip.json", to].map(|name| folder.path().join(name));
        fs::write(&trip, "old").unwrap();
        let place = folder.path().join(".trip.json.edits");
        let head = Head::of_file(trip, Fingerprint::from_bytes(b"old"));
        let journal =
            Journal::begin(&System, std::slice::from_ref(&place), &head, &[deed(150)]).unwrap();
        journal.saving(Kept(to.clone(), Fingerprint::from_bytes(b"new")));
        if goes_on {
            journal.add(&deed(160));
        }
        drop(journal);
        if came_about {
            fs::write(&to, "new").unwrap();
        }
        read(&place).unwrap()
    }

    #[test]
    fn what_was_being_saved_is_left_unless_the_file_holds_it() {
        let none: [Deed; 0] = [];
        for to in ["trip.json", "other.json"] {
            assert_eq!(left_after_save(to, false, false).deeds, [deed(150)]);
            assert_eq!(
                left_after_save(to, false, true).deeds,
                [deed(150), deed(160)]
            );
            let left = left_after_save(to, true, false);
            assert!(left.is_nothing() && left.deeds == none, "{left:?}");
        }
        let left = left_after_save("trip.json", true, true);
        assert_eq!(left.file.unwrap().1, Fingerprint::from_bytes(b"new"));
        assert_eq!(left.deeds, [deed(160)]);
        // The other file is not this one: what was done to it since is of no use without what came before.
        let left = left_after_save("other.json", true, true);
        assert_eq!(left.file.unwrap().1, Fingerprint::from_bytes(b"old"));
        assert_eq!(left.deeds, [deed(150), deed(160)]);
    }
}
