//! What writing asks of the file system, one step after the other.
//!
//! The program writes on [`System`]. Every step is a method of its own, so that a test may hand in a [`Disk`] that
//! fails at one of them, or ends the program there.
#![expect(
    clippy::missing_errors_doc,
    reason = "every step fails as the system does"
)]

use std::fmt::Debug;
use std::fs::{self, File, Metadata};
use std::io::{self, ErrorKind, Write};
use std::path::Path;

use tempfile::NamedTempFile;

/// How the name of a part begins and ends: of a file that is to take the place of another and is not whole yet.
pub(super) const PART: [&str; 2] = [".drystage-", ".part"];

/// Who may read a new file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Readers {
    /// Its owner alone.
    Owner,
    /// Anyone who may read what the user makes.
    Usual,
}

/// The steps of writing, as the system does them.
pub trait Disk: Debug + Sync {
    /// What the file at the end of a path is like.
    fn look(&self, path: &Path) -> io::Result<Metadata> {
        fs::metadata(path)
    }

    /// Makes a part in a folder, under a name that nothing has; it is locked as long as somebody works on it.
    fn make(&self, folder: &Path, readers: Readers) -> io::Result<NamedTempFile> {
        let mut builder = tempfile::Builder::new();
        builder.prefix(PART[0]).suffix(PART[1]);
        #[cfg(unix)]
        if readers == Readers::Usual {
            use std::os::unix::fs::PermissionsExt;
            // What any new file gets; the system takes the user's umask off it.
            builder.permissions(fs::Permissions::from_mode(0o666));
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

    /// Gives a part its name, unless something has that name.
    fn name(&self, part: NamedTempFile, path: &Path) -> io::Result<File> {
        Ok(part.persist_noclobber(path)?)
    }

    /// Puts a part in the place of whatever has its name.
    fn replace(&self, part: NamedTempFile, path: &Path) -> io::Result<File> {
        Ok(part.persist(path)?)
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
