//! A disk that guards files that are open or read-only, as Windows and some network shares do: such a file can be neither replaced nor taken away.

use std::fs::{self, File, Permissions};
use std::io;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::thread;
use std::time::Duration;

use drystage::io::disk::{Disk, System};
use drystage::io::journal::{self, Fingerprint, Head, Journal};
use drystage::io::save::{Existing, SaveError, save};
use tempfile::{NamedTempFile, PersistError, TempDir};

const OLD: &str = "the old text";
const NEW: &str = "the new text";

#[derive(Debug)]
struct Guarded {
    /// Whether it is known to guard files; otherwise it only does.
    is_known: bool,
}

static GUARDED: Guarded = Guarded { is_known: true };
static SECRETLY: Guarded = Guarded { is_known: false };

impl Disk for Guarded {
    fn guards_files(&self) -> bool {
        self.is_known
    }

    fn name(&self, part: NamedTempFile, path: &Path) -> Result<File, PersistError> {
        forget_mark(&part);
        System.name(part, path)
    }

    fn replace(&self, part: NamedTempFile, path: &Path) -> Result<File, PersistError> {
        if is_guarded(path) {
            let error = io::ErrorKind::PermissionDenied.into();
            return Err(PersistError { error, file: part });
        }
        forget_mark(&part);
        System.replace(part, path)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        if is_guarded(path) {
            return Err(io::ErrorKind::PermissionDenied.into());
        }
        System.remove(path)
    }
}

/// Whether a file is read-only, or this program has it open.
fn is_guarded(path: &Path) -> bool {
    let Ok(about) = fs::metadata(path) else {
        return false;
    };
    let path = dunce::canonicalize(path).unwrap();
    let handles = fs::read_dir("/proc/self/fd").unwrap();
    let mut open = handles.filter_map(|handle| fs::read_link(handle.ok()?.path()).ok());
    about.permissions().readonly() || open.any(|open| open == path)
}

/// On Windows a part that gets its name is an ordinary file from then on, whatever it was marked as.
fn forget_mark(part: &NamedTempFile) {
    let mode = mode(part.path()) | 0o200;
    fs::set_permissions(part.path(), Permissions::from_mode(mode)).unwrap();
}

fn mode(path: &Path) -> u32 {
    fs::metadata(path).unwrap().permissions().mode() & 0o777
}

/// A folder with a trip of these mode bits.
fn trip_with(mode: u32) -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("trip.json");
    fs::write(&path, OLD).unwrap();
    fs::set_permissions(&path, Permissions::from_mode(mode)).unwrap();
    (folder, path)
}

fn save_new(disk: &dyn Disk, path: &Path) -> Result<(), SaveError> {
    save(disk, path, Existing::Replace, |out| {
        out.write_all(NEW.as_bytes())
    })
}

/// The text of the trip and its mode bits; nothing may lie beside it.
fn found(folder: &TempDir) -> (String, u32) {
    let names: Vec<_> = fs::read_dir(folder.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name())
        .collect();
    assert_eq!(names, ["trip.json"]);
    let path = folder.path().join("trip.json");
    (fs::read_to_string(&path).unwrap(), mode(&path))
}

#[test]
fn a_read_only_file_is_saved_and_stays_read_only() {
    for before in [0o444, 0o644] {
        let (folder, path) = trip_with(before);
        save_new(&GUARDED, &path).unwrap();
        assert_eq!(found(&folder), (NEW.to_owned(), before));
        // A second time, since the mark was kept.
        save_new(&GUARDED, &path).unwrap();
        assert_eq!(found(&folder), (NEW.to_owned(), before));
    }
    let (folder, path) = trip_with(0o444);
    save_new(&SECRETLY, &path).expect_err("the disk guards it");
    assert_eq!(found(&folder), (OLD.to_owned(), 0o444));
}

#[test]
fn a_file_that_stays_open_is_as_it_was() {
    for before in [0o444, 0o644] {
        let (folder, path) = trip_with(before);
        let open = File::open(&path).unwrap();
        let message = save_new(&GUARDED, &path).unwrap_err().to_string();
        let expected = format!("cannot replace {}: permission denied", path.display());
        assert_eq!(message, expected);
        assert_eq!(found(&folder), (OLD.to_owned(), before));
        drop(open);
        save_new(&GUARDED, &path).unwrap();
        assert_eq!(found(&folder), (NEW.to_owned(), before));
    }
}

#[test]
fn a_file_that_is_open_for_a_moment_is_waited_for() {
    let (folder, path) = trip_with(0o644);
    let open = File::open(&path).unwrap();
    thread::scope(|scope| {
        scope.spawn(move || {
            thread::sleep(Duration::from_millis(50));
            drop(open);
        });
        save_new(&GUARDED, &path).unwrap();
    });
    assert_eq!(found(&folder), (NEW.to_owned(), 0o644));
}

/// A name that is taken is no reason to wait, nor to replace what has it.
#[test]
fn a_file_that_is_to_be_kept_is_kept() {
    let (folder, path) = trip_with(0o444);
    let appears = AppearsMeanwhile(path.clone());
    fs::remove_file(&path).unwrap();
    let done = save(&appears, &path, Existing::Keep, |out| out.write_all(b"x"));
    assert!(matches!(done, Err(SaveError::Exists(_))), "{done:?}");
    assert_eq!(found(&folder).0, OLD);
}

/// The disk, and a file that somebody else makes while another is written.
#[derive(Debug)]
struct AppearsMeanwhile(PathBuf);

impl Disk for AppearsMeanwhile {
    fn guards_files(&self) -> bool {
        true
    }

    fn sync(&self, file: &File) -> io::Result<()> {
        fs::write(&self.0, OLD)?;
        System.sync(file)
    }
}

/// A journal in the place of one that was left there.
fn journal_over_old(disk: &'static dyn Disk, mode: u32) -> (TempDir, PathBuf, io::Result<Journal>) {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().join(".trip.json.edits");
    let head = |print: &[u8]| Head::of_file("trip.json".into(), Fingerprint::from_bytes(print));
    let begin = |disk, print| Journal::begin(disk, std::slice::from_ref(&place), &head(print), &[]);
    drop(begin(&System, b"old").unwrap());
    fs::set_permissions(&place, Permissions::from_mode(mode)).unwrap();
    let begun = begin(disk, b"new");
    (folder, place, begun)
}

#[test]
fn a_journal_takes_the_place_of_an_old_one_that_is_guarded() {
    // Read-only as it is after the folder was copied from a disc.
    for before in [0o600, 0o444] {
        let (folder, place, begun) = journal_over_old(&GUARDED, before);
        let journal = begun.unwrap();
        let left = journal::read(&place).unwrap();
        assert_eq!(left.file.unwrap().1, Fingerprint::from_bytes(b"new"));
        let again = Journal::begin(
            &GUARDED,
            std::slice::from_ref(&place),
            &Head::of_file("trip.json".into(), Fingerprint::from_bytes(b"x")),
            &[],
        );
        let message = again.unwrap_err().to_string();
        assert_eq!(message, "the trip is open in another window");
        drop(journal);
        assert_eq!(mode(&place), 0o600);
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
        // Closing it is what lets it be replaced and taken away.
        let (_folder, _place, begun) = journal_over_old(&SECRETLY, before);
        begun.expect_err("the disk guards it");
    }
}
