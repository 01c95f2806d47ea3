//! What writing needs of the file system, one step after the other.
//!
//! The program writes on [`System`]. Every step is a method of its own, so that a test may hand in a [`Disk`] that
//! fails at one of them, or ends the program there.
#![expect(
    clippy::missing_errors_doc,
    reason = "every step fails as the system does"
)]

use std::fmt::Debug;
use std::fs::{self, File, Metadata, Permissions};
use std::io::{self, ErrorKind, Write};
use std::path::Path;
use std::thread;
use std::time::Duration;

use tempfile::{NamedTempFile, PersistError};

use crate::platform::Platform;

/// How the name of a part begins and ends: of a file that is to take the place of another and is not whole yet.
pub(super) const PART: [&str; 2] = [".drystage-", ".part"];

/// How long a guarded file is waited for, try by try, in milliseconds: a virus scanner or an indexer looks at each new file
/// for a moment. From memory.
const WAITS_MS: [u64; 5] = [10, 20, 40, 80, 160];

/// Who may read a new file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Readers {
    /// Only the owner of the file.
    Owner,
    /// Anyone who may read what the user makes.
    Usual,
}

impl Readers {
    /// What a file for them gets, unless that is what temporary files get anyway.
    #[cfg(unix)]
    fn permissions(self) -> Option<Permissions> {
        use std::os::unix::fs::PermissionsExt;
        // What any new file gets; the system takes the user's umask off it.
        (self == Self::Usual).then(|| Permissions::from_mode(0o666))
    }

    /// Nothing: a new file has the access list of its folder.
    #[cfg(not(unix))]
    fn permissions(self) -> Option<Permissions> {
        None
    }
}

/// The steps of writing, as the system does them.
pub trait Disk: Debug + Sync {
    /// Whether a file that is open or marked as read-only is guarded: it cannot be replaced. So it is on Windows.
    fn guards_files(&self) -> bool {
        Platform::HERE == Platform::Windows
    }

    /// What the file at the end of a path is like.
    fn look(&self, path: &Path) -> io::Result<Metadata> {
        fs::metadata(path)
    }

    /// Makes a part in a folder, under a name that nothing has; it is locked as long as somebody works on it.
    fn make(&self, folder: &Path, readers: Readers) -> io::Result<NamedTempFile> {
        let mut builder = tempfile::Builder::new();
        builder.prefix(PART[0]).suffix(PART[1]);
        if let Some(permissions) = readers.permissions() {
            builder.permissions(permissions);
        }
        let part = builder.tempfile_in(folder)?;
        // A file system without locks still keeps what is written.
        let _ = part.as_file().try_lock();
        Ok(part)
    }

    /// Gives a file the mode bits of another and, where that is allowed, its owner.
    fn copy_mode_and_owner(&self, file: &File, to: &Metadata) -> io::Result<()> {
        #[cfg(unix)]
        {
            use std::os::unix::fs::{MetadataExt, fchown};
            // Only the superuser may give a file away; for everybody else the new file is their own.
            let _ = fchown(file, Some(to.uid()), Some(to.gid()));
        }
        file.set_permissions(to.permissions())
    }

    /// Writes as much of some bytes as goes in at once.
    fn write(&self, mut file: &File, bytes: &[u8]) -> io::Result<usize> {
        file.write(bytes)
    }

    /// Brings what was written to the disk.
    fn sync(&self, file: &File) -> io::Result<()> {
        file.sync_all()
    }

    /// Says who may do what with a file.
    fn permit(&self, path: &Path, permissions: Permissions) -> io::Result<()> {
        fs::set_permissions(path, permissions)
    }

    /// Gives a part its name, unless something has that name.
    fn name(&self, part: NamedTempFile, path: &Path) -> Result<File, PersistError> {
        part.persist_noclobber(path)
    }

    /// Puts a part in the place of whatever has its name.
    fn replace(&self, part: NamedTempFile, path: &Path) -> Result<File, PersistError> {
        part.persist(path)
    }

    /// Brings the names in a folder to the disk, where the system can do that.
    fn sync_folder(&self, folder: &Path) -> io::Result<()> {
        if cfg!(not(unix)) {
            return Ok(());
        }
        let synced = File::open(folder).and_then(|folder| folder.sync_all());
        synced.or_else(|error| match error.kind() {
            // A folder that may be written to and not read; a file system that has nothing to do here (fsync(2)).
            ErrorKind::PermissionDenied | ErrorKind::InvalidInput | ErrorKind::Unsupported => {
                Ok(())
            }
            _ => Err(error),
        })
    }

    /// Takes a file away.
    fn remove(&self, path: &Path) -> io::Result<()> {
        fs::remove_file(path)
    }
}

/// The file system itself.
#[derive(Debug)]
pub struct System;

impl Disk for System {}

/// Gives a part its name, unless something has that name.
pub(super) fn name(disk: &dyn Disk, part: NamedTempFile, path: &Path) -> io::Result<File> {
    patiently(disk, part, |part| disk.name(part, path))
}

/// Puts a part in the place of a file. A guarded one loses the mark that it is read-only, unless it stays.
pub(super) fn replace(disk: &dyn Disk, part: NamedTempFile, path: &Path) -> io::Result<File> {
    let old = disk.guards_files().then(|| disk.look(path));
    let old = old.and_then(|old| Some(old.ok()?.permissions()));
    let read_only = old.filter(Permissions::readonly);
    if let Some(permissions) = &read_only {
        disk.permit(path, writable(permissions.clone()))?;
    }
    let placed = patiently(disk, part, |part| disk.replace(part, path));
    if let (Err(_), Some(permissions)) = (&placed, read_only) {
        // What refused the one may refuse the other; its text is as it was.
        let _ = disk.permit(path, permissions);
    }
    placed
}

/// Places a part, in several tries where something else may have the file open for a moment.
fn patiently(
    disk: &dyn Disk,
    mut part: NamedTempFile,
    place: impl Fn(NamedTempFile) -> Result<File, PersistError>,
) -> io::Result<File> {
    let waits = disk.guards_files().then_some(WAITS_MS);
    for wait in waits.into_iter().flatten() {
        match place(part) {
            Err(refused) if refused.error.kind() != ErrorKind::AlreadyExists => part = refused.file,
            done => return Ok(done?),
        }
        thread::sleep(Duration::from_millis(wait));
    }
    Ok(place(part)?)
}

/// Permissions with which the owner may write as well.
fn writable(mut permissions: Permissions) -> Permissions {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        permissions.set_mode(permissions.mode() | 0o200);
    }
    #[cfg(not(unix))]
    permissions.set_readonly(false);
    permissions
}

/// A file on a disk, for anyone who writes to any stream.
pub(super) struct Stream<'a>(pub &'a dyn Disk, pub &'a File);

impl Write for Stream<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.write(self.1, bytes)
    }

    /// There is nothing held back.
    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}
