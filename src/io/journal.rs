//! What was done to a trip since it was saved, written down as it is done.
//!
//! A journal is a file of lines: a head that says which trip it is about, then one line for each deed.
//! A thread of its own appends each line at once, so that a killed program loses nothing that was shown,
//! and brings them to the disk after a second's rest, so that a power cut loses at most the last second.
//! The trip itself is written only in the head, and only when no file holds it. A last line that was
//! cut short is left out. While it is written a journal is locked, so that the same trip opened twice does
//! not take up what is still being done.
//!
//! It lies beside the trip as `.NAME.edits`; where that folder cannot be written, or there is no file
//! yet, in the user's state folder: `$XDG_STATE_HOME/drystage` (XDG Base Directory Specification 0.8),
//! by default `~/.local/state/drystage`.

use std::fs::{self, File, TryLockError};
use std::io::{self, BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{self, Receiver, RecvTimeoutError, Sender};
use std::thread::JoinHandle;
use std::time::Duration;

use serde::{Deserialize, Serialize};

use crate::model::Trip;
use crate::model::change::Deed;

/// The version of the journal that this program reads and writes.
const VERSION: u32 = 1;
/// After this rest what was written is brought to the disk.
const REST: Duration = Duration::from_secs(1);

/// The first line.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Head {
    drystage_edits: u32,
    /// The file that the deeds were done to, with what it held.
    pub file: Option<(PathBuf, Print)>,
    /// The trip that they were done to, where no file held it.
    pub trip: Option<Box<Trip>>,
}

/// What a file held, in short: equal prints are equal bytes for all that an accident can do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Print {
    bytes: u64,
    hash: u64,
}

impl Print {
    /// The print of some bytes: their number and their FNV-1a hash (Fowler, Noll and Vo; RFC 9923).
    pub fn of(bytes: &[u8]) -> Self {
        let hash = bytes
            .iter()
            .fold(0xcbf2_9ce4_8422_2325, |hash: u64, &byte| {
                (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
            });
        Self {
            bytes: bytes.len() as u64,
            hash,
        }
    }
}

impl Head {
    /// The head for a trip that is kept in a file.
    pub const fn of_file(path: PathBuf, print: Print) -> Self {
        Self {
            drystage_edits: VERSION,
            file: Some((path, print)),
            trip: None,
        }
    }

    /// The head for a trip that is in no file.
    pub fn of_trip(trip: &Trip) -> Self {
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
    path: PathBuf,
    lines: Option<Sender<String>>,
    thread: Option<JoinHandle<()>>,
    trouble: Receiver<io::Error>,
}

impl Journal {
    /// Begins a journal in the first of the places that can be written. One that lies there and that nobody writes
    /// any more gives way in one step.
    ///
    /// # Errors
    /// When none can; the last refusal.
    pub fn begin(places: &[PathBuf], head: &Head, deeds: &[Deed]) -> io::Result<Self> {
        let mut text = line(head)?;
        for deed in deeds {
            text += &line(deed)?;
        }
        let mut refused = io::Error::other("no folder to write in");
        for path in places {
            match create(path, &text) {
                Ok(file) => return Self::on(path, file),
                Err(error) => refused = error,
            }
        }
        Err(refused)
    }

    /// Where it lies.
    pub fn path(&self) -> &Path {
        &self.path
    }

    fn on(path: &Path, mut file: File) -> io::Result<Self> {
        let (lines, taken) = mpsc::channel();
        let (tell, trouble) = mpsc::channel();
        let thread = std::thread::Builder::new()
            .name("journal".to_owned())
            .spawn(move || {
                // Whoever does not listen does not want to know.
                if let Err(error) = append(&mut file, &taken) {
                    let _ = tell.send(error);
                }
            })?;
        Ok(Self {
            path: path.to_owned(),
            lines: Some(lines),
            thread: Some(thread),
            trouble,
        })
    }

    /// Writes a deed down.
    pub fn add(&self, deed: &Deed) {
        if let (Some(lines), Ok(text)) = (&self.lines, line(deed)) {
            // A thread that is gone has told why.
            let _ = lines.send(text);
        }
    }

    /// Why nothing is written any more, told once.
    pub fn trouble(&self) -> Option<io::Error> {
        self.trouble.try_recv().ok()
    }

    /// Ends the journal and takes it away.
    pub fn remove(mut self) {
        self.stop();
        // One that stays is offered once more; nothing is lost by it.
        let _ = fs::remove_file(&self.path);
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
pub fn is_written(path: &Path) -> bool {
    let locked = |file: File| matches!(file.try_lock_shared(), Err(TryLockError::WouldBlock));
    File::open(path).is_ok_and(locked)
}

fn create(path: &Path, text: &str) -> io::Result<File> {
    if is_written(path) {
        return Err(io::Error::other("the trip is open in another window"));
    }
    let folder = path
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty());
    let folder = folder.unwrap_or(Path::new("."));
    // Only the state folder is ever missing.
    fs::create_dir_all(folder)?;
    // Readable for its owner only, as every temporary file is.
    let mut beside = tempfile::Builder::new()
        .prefix(".drystage-")
        .suffix(".part")
        .tempfile_in(folder)?;
    beside.write_all(text.as_bytes())?;
    // A file system without locks still keeps what is written.
    let _ = beside.as_file().try_lock();
    Ok(beside.persist(path)?)
}

fn line(content: &impl Serialize) -> io::Result<String> {
    Ok(serde_json::to_string(content)? + "\n")
}

/// Appends what comes, and brings it to the disk when nothing came for a while.
fn append(file: &mut File, lines: &Receiver<String>) -> io::Result<()> {
    let mut unsynced = true;
    loop {
        let next = if unsynced {
            lines.recv_timeout(REST)
        } else {
            lines.recv().map_err(|_| RecvTimeoutError::Disconnected)
        };
        match next {
            Ok(text) => {
                file.write_all(text.as_bytes())?;
                unsynced = true;
            }
            Err(RecvTimeoutError::Timeout) => {
                file.sync_data()?;
                unsynced = false;
            }
            Err(RecvTimeoutError::Disconnected) => return file.sync_data(),
        }
    }
}

/// Reads a journal: its head and all deeds that were written whole. Nothing where there is none, or none that this
/// program wrote.
pub fn read(path: &Path) -> Option<(Head, Vec<Deed>)> {
    let mut lines = BufReader::new(File::open(path).ok()?).lines();
    let head: Head = serde_json::from_str(&lines.next()?.ok()?).ok()?;
    if head.drystage_edits != VERSION {
        return None;
    }
    let deeds = lines
        .map_while(Result::ok)
        .map_while(|line| serde_json::from_str(&line).ok())
        .collect();
    Some((head, deeds))
}

/// The places for the journal of a trip in a file, the best first.
pub fn places(trip: &Path, state: Option<&Path>) -> Vec<PathBuf> {
    let name = trip.file_name().unwrap_or_default().to_string_lossy();
    let beside = trip.with_file_name(format!(".{name}.edits"));
    let whole = trip.to_string_lossy();
    let print = Print::of(whole.as_bytes()).hash;
    let elsewhere = state.map(|state| state.join(format!("{name}-{print:016x}.edits")));
    std::iter::once(beside).chain(elsewhere).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
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
        let head = Head::of_file("trip.json".into(), Print::of(b"x"));
        let journal = Journal::begin(std::slice::from_ref(&path), &head, &[]).unwrap();
        journal.add(&deed(150));
        journal.add(&deed(160));
        assert!(is_written(&path));
        let again = Journal::begin(std::slice::from_ref(&path), &head, &[]);
        assert_eq!(
            again.unwrap_err().to_string(),
            "the trip is open in another window"
        );
        drop(journal);
        assert!(!is_written(&path));
        let whole = fs::read(&path).unwrap();
        assert_eq!(
            read(&path),
            Some((head.clone(), vec![deed(150), deed(160)]))
        );
        fs::write(&path, &whole[..whole.len() - 9]).unwrap();
        assert_eq!(read(&path), Some((head, vec![deed(150)])));
        fs::write(&path, "{}\n").unwrap();
        assert_eq!(read(&path), None);
    }

    #[test]
    fn a_trip_in_no_file_stands_in_the_head() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("deep/new.edits");
        let journal =
            Journal::begin(std::slice::from_ref(&path), &Head::of_trip(&trip()), &[]).unwrap();
        journal.add(&deed(150));
        let (head, deeds) = loop {
            // The thread writes at once, but it is another thread.
            match read(&path) {
                Some((head, deeds)) if !deeds.is_empty() => break (head, deeds),
                _ => std::thread::sleep(Duration::from_millis(5)),
            }
        };
        assert_eq!(head.trip.as_deref(), Some(&trip()));
        assert_eq!(deeds, [deed(150)]);
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
        let head = Head::of_file("trip.json".into(), Print::of(b""));
        let journal = Journal::begin(&places, &head, &[]).unwrap();
        assert!(journal.path.starts_with(&state), "{:?}", journal.path);
        assert!(Journal::begin(&places[..1], &head, &[]).is_err());
    }
}
