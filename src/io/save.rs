//! Writing a file so that it is at every moment either the old one, whole, or the new one, whole.
//!
//! The text is written to a new file in the same folder, brought to the disk, and then takes the place
//! of the old one in one step. What is at the end of a symbolic link is replaced, not the link; mode
//! bits and, where that is allowed, the owner are kept. A device or a pipe is written to as it is. What
//! cannot be kept are hard links: the other names keep the old text.
//!
//! A program that is killed on the route leaves its part, `.drystage-*.part`, beside the file. A save in that
//! folder takes it away once it is an hour old and nobody works on it.

use std::fs::{self, DirEntry, File, OpenOptions};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

use super::disk::{self, Disk, PART, Readers, Stream};
use super::reason::{plain_reason, reason_of_folder, reason_of_placing};
use crate::platform::Platform;

/// Most symbolic links that are followed, one to the next.
const MOST_LINKS: usize = 40;
/// A part that was not written to for so long, and that nobody has locked, is nobody's.
const ABANDONED: Duration = Duration::from_secs(3600);

/// What is tried when a folder may be missing.
const MAKE: &str = "create a file in";

/// What is tried when something else may have the file open.
const PLACE: &str = "replace";

/// What to do when the file already exists.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Existing {
    /// Leave it and fail.
    Keep,
    /// Put the new one in its place.
    Replace,
}

/// Why a file was not saved. But for the last reason, what was there is as it was.
#[derive(Debug, thiserror::Error)]
pub enum SaveError {
    /// It is already there and was not to be replaced.
    #[error("{} already exists; add --force to overwrite it", .0.display())]
    Exists(PathBuf),
    /// It is a folder.
    #[error("{} is a folder, not a file", .0.display())]
    Folder(PathBuf),
    /// The system refused.
    #[error("cannot {act} {}: {}", .path.display(), reason(.act, .cause))]
    System {
        /// The step that failed, as a verb: `sync`.
        act: &'static str,
        /// On which file or folder.
        path: PathBuf,
        /// The system's reason.
        cause: io::Error,
    },
    /// The new file is there, but the system refused to bring its name to the disk.
    #[error("{} is saved, but a power cut now could undo that: {}", .path.display(), plain_reason(.cause))]
    Unsettled {
        /// The file that was saved.
        path: PathBuf,
        /// The system's reason.
        cause: io::Error,
    },
}

impl SaveError {
    /// The file or folder.
    pub(crate) fn path(&self) -> &Path {
        match self {
            Self::Exists(path)
            | Self::Folder(path)
            | Self::System { path, .. }
            | Self::Unsettled { path, .. } => path,
        }
    }
}

fn reason(act: &str, error: &io::Error) -> String {
    match act {
        MAKE => reason_of_folder(error),
        PLACE => reason_of_placing(error, Platform::HERE),
        _ => plain_reason(error),
    }
}

/// Saves what `write` writes as the file `path`.
///
/// # Errors
/// When the file exists and is to be kept, or when the system refuses any step or `write` fails: then
/// nothing has changed, but for [`SaveError::Unsettled`]. Only where `path` is a device or a pipe a part may have
/// been written.
pub fn save(
    disk: &dyn Disk,
    path: &Path,
    existing: Existing,
    write: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> Result<(), SaveError> {
    let path = &end_of_links(path)?;
    let old = match disk.look(path) {
        Ok(old) => Some(old),
        Err(error) if error.kind() == io::ErrorKind::NotFound => None,
        Err(error) => return Err(refused("access", path)(error)),
    };
    match &old {
        Some(old) if old.is_dir() => return Err(SaveError::Folder(path.clone())),
        Some(old) if !old.is_file() => return write_through(path, write),
        Some(_) if existing == Existing::Keep => return Err(SaveError::Exists(path.clone())),
        _ => {}
    }
    let folder = folder_of(path);
    let part = disk
        .make(folder, Readers::Usual)
        .map_err(refused(MAKE, folder))?;
    let guards_files = disk.guards_files();
    if let Some(old) = old.as_ref().filter(|_| !guards_files) {
        disk.copy_mode_and_owner(part.as_file(), old)
            .map_err(refused("keep the permissions of", path))?;
    }
    let mut stream = BufWriter::new(Stream(disk, part.as_file()));
    write(&mut stream)
        .and_then(|()| stream.flush())
        .map_err(refused("write", path))?;
    drop(stream);
    disk.sync(part.as_file())
        .map_err(refused("flush to the disk", path))?;
    let placed = match existing {
        Existing::Keep => disk::name(disk, part, path),
        Existing::Replace => disk::replace(disk, part, path),
    };
    let file = placed.map_err(|error| match error.kind() {
        io::ErrorKind::AlreadyExists => SaveError::Exists(path.clone()),
        _ => refused(PLACE, path)(error),
    })?;
    if let Some(old) = old.filter(|_| guards_files) {
        // A part with the mark of a read-only file would be guarded itself. Without it no text is lost.
        let _ = disk.copy_mode_and_owner(&file, &old);
    }
    drop(file);
    disk.sync_folder(folder)
        .map_err(|cause| SaveError::Unsettled {
            path: path.clone(),
            cause,
        })?;
    sweep(folder);
    Ok(())
}

/// The folder in which a file is.
pub(super) fn folder_of(path: &Path) -> &Path {
    path.parent()
        .filter(|folder| !folder.as_os_str().is_empty())
        .unwrap_or(Path::new("."))
}

fn refused<'a>(act: &'static str, path: &'a Path) -> impl FnOnce(io::Error) -> SaveError + 'a {
    move |cause| SaveError::System {
        act,
        path: path.to_owned(),
        cause,
    }
}

/// The file that `path` represents, which need not exist yet.
fn end_of_links(path: &Path) -> Result<PathBuf, SaveError> {
    let mut end = path.to_owned();
    for _ in 0..MOST_LINKS {
        match fs::read_link(&end) {
            // A relative target counts from the link's own folder; an absolute one replaces it.
            Ok(target) => end = end.parent().unwrap_or(Path::new("")).join(target),
            Err(_) => return Ok(dunce::simplified(&end).to_owned()),
        }
    }
    Err(refused("follow the links of", path)(io::Error::other(
        "too many symbolic links",
    )))
}

fn write_through(
    path: &Path,
    write: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> Result<(), SaveError> {
    OpenOptions::new()
        .write(true)
        .open(path)
        .and_then(|mut file| {
            write(&mut file)?;
            file.flush()
        })
        .map_err(refused("write", path))
}

/// Takes the parts away that killed programs left in a folder. What is not understood stays.
fn sweep(folder: &Path) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        if is_abandoned(&entry).unwrap_or(false) {
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// Whether a file is a part on which nobody works. It is old as well as not locked: one that was only just made may
/// not be locked yet.
fn is_abandoned(entry: &DirEntry) -> io::Result<bool> {
    let name = entry.file_name();
    let name = name.as_encoded_bytes();
    let [before, after] = PART.map(str::as_bytes);
    if !(name.starts_with(before) && name.ends_with(after)) {
        return Ok(false);
    }
    // Of the entry itself, not of what a link leads to.
    let about = entry.metadata()?;
    let is_old = about.modified()?.elapsed().is_ok_and(|age| age > ABANDONED);
    Ok(about.is_file() && is_old && File::open(entry.path())?.try_lock().is_ok())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::io::disk::System;

    fn text(text: &str) -> impl FnOnce(&mut dyn Write) -> io::Result<()> + '_ {
        |out| out.write_all(text.as_bytes())
    }

    /// Names of everything in a folder.
    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn a_new_file_is_written_and_an_old_one_kept_unless_forced() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("trip.json");
        save(&System, &path, Existing::Keep, text("one")).unwrap();
        let error = save(&System, &path, Existing::Keep, text("two")).unwrap_err();
        assert!(matches!(error, SaveError::Exists(_)), "{error}");
        assert_eq!(fs::read_to_string(&path).unwrap(), "one");
        save(&System, &path, Existing::Replace, text("two")).unwrap();
        assert_eq!(fs::read_to_string(&path).unwrap(), "two");
        assert_eq!(names(folder.path()), ["trip.json"]);
    }

    #[test]
    fn a_failure_half_way_leaves_the_old_file_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("trip.json");
        save(&System, &path, Existing::Keep, text("old")).unwrap();
        let half = |out: &mut dyn Write| {
            out.write_all(b"ne")?;
            Err(io::Error::other("no room"))
        };
        let error = save(&System, &path, Existing::Replace, half).unwrap_err();
        assert!(error.to_string().ends_with("trip.json: no room"), "{error}");
        assert_eq!(fs::read_to_string(&path).unwrap(), "old");
        assert_eq!(names(folder.path()), ["trip.json"]);
    }

    #[test]
    fn folders_are_refused() {
        let folder = tempfile::tempdir().unwrap();
        let error = save(&System, folder.path(), Existing::Replace, text("x")).unwrap_err();
        assert!(matches!(error, SaveError::Folder(_)), "{error}");
        let nowhere = folder.path().join("none").join("trip.json");
        let error = save(&System, &nowhere, Existing::Keep, text("x")).unwrap_err();
        assert!(matches!(error, SaveError::System { .. }), "{error}");
    }

    #[cfg(unix)]
    #[test]
    fn links_are_followed_and_mode_bits_kept() {
        use std::os::unix::fs::{PermissionsExt, symlink};
        let folder = tempfile::tempdir().unwrap();
        fs::create_dir(folder.path().join("inner")).unwrap();
        let (real, link, link2) = (
            folder.path().join("inner/real.json"),
            folder.path().join("inner/link.json"),
            folder.path().join("link2.json"),
        );
        symlink("real.json", &link).unwrap();
        symlink("inner/link.json", &link2).unwrap();
        // The end of the links does not exist yet.
        save(&System, &link2, Existing::Keep, text("one")).unwrap();
        assert_eq!(fs::read_to_string(&real).unwrap(), "one");
        fs::set_permissions(&real, fs::Permissions::from_mode(0o640)).unwrap();
        save(&System, &link2, Existing::Replace, text("two")).unwrap();
        assert!(fs::symlink_metadata(&link2).unwrap().is_symlink());
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::read_to_string(&real).unwrap(), "two");
        let mode = fs::metadata(&real).unwrap().permissions().mode();
        assert_eq!(mode & 0o7777, 0o640);
    }

    #[cfg(unix)]
    #[test]
    fn a_ring_of_links_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        let ring = folder.path().join("ring.json");
        std::os::unix::fs::symlink("ring.json", &ring).unwrap();
        let error = save(&System, &ring, Existing::Replace, text("x")).unwrap_err();
        assert!(error.to_string().contains("too many"), "{error}");
    }

    #[cfg(unix)]
    #[test]
    fn a_device_is_written_to_and_not_replaced() {
        let null = Path::new("/dev/null");
        save(&System, null, Existing::Keep, text("x")).unwrap();
        assert!(!fs::metadata(null).unwrap().is_file());
    }
}
