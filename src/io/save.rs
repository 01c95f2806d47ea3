//! Writing a file so that it is at every moment either the old one, whole, or the new one, whole.
//!
//! The text is written to a new file in the same folder, brought to the disk, and then takes the place
//! of the old one in one step. What stands at the end of a symbolic link is replaced, not the link; mode
//! bits and, where that is allowed, the owner are kept. A device or a pipe is written to as it is. What
//! cannot be kept are hard links: the other names keep the old text.

use std::fs::{self, File, Metadata, OpenOptions};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

/// Most symbolic links that are followed, one to the next.
const MOST_LINKS: usize = 40;

/// What to do when the file is already there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Existing {
    /// Leave it and fail.
    Keep,
    /// Put the new one in its place.
    Replace,
}

/// Why a file was not saved. The file that stood there is as it was.
#[derive(Debug, thiserror::Error)]
pub enum SaveError {
    /// It is already there and was not to be replaced.
    #[error("{} is already there; it is replaced only with --force", .0.display())]
    Exists(PathBuf),
    /// It is a folder.
    #[error("{} must be a file, got a folder", .0.display())]
    Folder(PathBuf),
    /// The system refused.
    #[error("cannot {act} {}: {source}", .path.display())]
    System {
        /// What was tried.
        act: &'static str,
        /// On which file or folder.
        path: PathBuf,
        /// The system's reason.
        source: io::Error,
    },
}

/// Saves what `write` writes as the file `path`.
///
/// # Errors
/// When the file exists and is to be kept, or when the system refuses any step or `write` fails: then
/// nothing has changed. Only where `path` is a device or a pipe a part may have been written.
pub fn save(
    path: &Path,
    existing: Existing,
    write: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> Result<(), SaveError> {
    let path = &end_of_links(path)?;
    let old = match fs::metadata(path) {
        Ok(old) => Some(old),
        Err(error) if error.kind() == io::ErrorKind::NotFound => None,
        Err(error) => return Err(refused("look at", path)(error)),
    };
    match &old {
        Some(old) if old.is_dir() => return Err(SaveError::Folder(path.clone())),
        Some(old) if !old.is_file() => return write_through(path, write),
        Some(_) if existing == Existing::Keep => return Err(SaveError::Exists(path.clone())),
        _ => {}
    }
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let mut beside = new_file(folder).map_err(refused("make a file in", folder))?;
    fill(beside.as_file_mut(), old.as_ref(), write).map_err(refused("write", path))?;
    let placed = match existing {
        Existing::Keep => beside.persist_noclobber(path),
        Existing::Replace => beside.persist(path),
    };
    placed.map_err(|error| match error.error.kind() {
        io::ErrorKind::AlreadyExists => SaveError::Exists(path.clone()),
        _ => refused("replace", path)(error.error),
    })?;
    sync_folder(folder).map_err(refused("bring to the disk", folder))
}

fn refused<'a>(act: &'static str, path: &'a Path) -> impl FnOnce(io::Error) -> SaveError + 'a {
    move |source| SaveError::System {
        act,
        path: path.to_owned(),
        source,
    }
}

/// The file that `path` stands for, which need not exist yet.
fn end_of_links(path: &Path) -> Result<PathBuf, SaveError> {
    let mut end = path.to_owned();
    for _ in 0..MOST_LINKS {
        match fs::read_link(&end) {
            // A relative target counts from the link's own folder; an absolute one replaces it.
            Ok(target) => end = end.parent().unwrap_or(Path::new("")).join(target),
            Err(_) => return Ok(end),
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

fn new_file(folder: &Path) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".drystage-").suffix(".part");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // What any new file gets; the system takes the user's umask off it.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder)
}

fn fill(
    file: &mut File,
    old: Option<&Metadata>,
    write: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> io::Result<()> {
    if let Some(old) = old {
        #[cfg(unix)]
        {
            use std::os::unix::fs::{MetadataExt, fchown};
            // Only the superuser may give a file away; for everybody else the new file is their own.
            let _ = fchown(&*file, Some(old.uid()), Some(old.gid()));
        }
        file.set_permissions(old.permissions())?;
    }
    let mut buffered = BufWriter::new(&*file);
    write(&mut buffered)?;
    buffered.flush()?;
    drop(buffered);
    file.sync_all()
}

/// Brings the new name to the disk; elsewhere than on Unix a folder cannot be opened for that.
fn sync_folder(folder: &Path) -> io::Result<()> {
    if cfg!(unix) {
        File::open(folder)?.sync_all()
    } else {
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
    fn a_new_file_is_written_and_an_old_one_kept_unless_told() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("trip.json");
        save(&path, Existing::Keep, text("one")).unwrap();
        let error = save(&path, Existing::Keep, text("two")).unwrap_err();
        assert!(matches!(error, SaveError::Exists(_)), "{error}");
        assert_eq!(fs::read_to_string(&path).unwrap(), "one");
        save(&path, Existing::Replace, text("two")).unwrap();
        assert_eq!(fs::read_to_string(&path).unwrap(), "two");
        assert_eq!(names(folder.path()), ["trip.json"]);
    }

    #[test]
    fn a_failure_half_way_leaves_the_old_file_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("trip.json");
        save(&path, Existing::Keep, text("old")).unwrap();
        let half = |out: &mut dyn Write| {
            out.write_all(b"ne")?;
            Err(io::Error::other("no room"))
        };
        let error = save(&path, Existing::Replace, half).unwrap_err();
        assert!(error.to_string().ends_with("trip.json: no room"), "{error}");
        assert_eq!(fs::read_to_string(&path).unwrap(), "old");
        assert_eq!(names(folder.path()), ["trip.json"]);
    }

    #[test]
    fn folders_are_refused() {
        let folder = tempfile::tempdir().unwrap();
        let error = save(folder.path(), Existing::Replace, text("x")).unwrap_err();
        assert!(matches!(error, SaveError::Folder(_)), "{error}");
        let nowhere = folder.path().join("none").join("trip.json");
        let error = save(&nowhere, Existing::Keep, text("x")).unwrap_err();
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
        save(&link2, Existing::Keep, text("one")).unwrap();
        assert_eq!(fs::read_to_string(&real).unwrap(), "one");
        fs::set_permissions(&real, fs::Permissions::from_mode(0o640)).unwrap();
        save(&link2, Existing::Replace, text("two")).unwrap();
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
        let error = save(&ring, Existing::Replace, text("x")).unwrap_err();
        assert!(error.to_string().contains("too many"), "{error}");
    }

    #[cfg(unix)]
    #[test]
    fn a_device_is_written_to_and_not_replaced() {
        let null = Path::new("/dev/null");
        save(null, Existing::Keep, text("x")).unwrap();
        assert!(!fs::metadata(null).unwrap().is_file());
    }
}
