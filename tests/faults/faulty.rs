//! A disk that does as it is reported, up to one step: that one fails, or the program is killed there.

use std::fs::{File, Metadata};
use std::io;
use std::path::Path;
use std::sync::Mutex;

use drystage::io::disk::{Disk, Readers, System};
use signal_hook::consts::SIGKILL;
use signal_hook::low_level::raise;
use tempfile::{NamedTempFile, PersistError};

/// Error numbers of Linux (errno(3)).
pub const IO: i32 = 5;
pub const ACCES: i32 = 13;
pub const NOSPC: i32 = 28;
pub const DQUOT: i32 = 122;

/// What happens at the step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// The step is done.
    None,
    /// The program is killed before it, or, where something is written, half way through it.
    Kill,
    /// The system gives this error number; of what is written it has taken half.
    Error(i32),
    /// As the error, but at this step and all that come after it.
    Full(i32),
}

/// The disk, and what was done on it.
#[derive(Debug)]
pub struct Faulty {
    fault: Fault,
    /// The number of the step, from 0.
    at: usize,
    /// Most bytes that are written at once.
    most: usize,
    /// Whether every other time a write is interrupted.
    interrupted: bool,
    done: Mutex<Vec<&'static str>>,
}

impl Faulty {
    pub const fn new(fault: Fault, at: usize) -> Self {
        Self {
            fault,
            at,
            most: usize::MAX,
            interrupted: false,
            done: Mutex::new(Vec::new()),
        }
    }

    /// Writes a few bytes at a time, and is interrupted in between.
    pub fn slow(fault: Fault, at: usize, most: usize) -> Self {
        Self {
            most,
            interrupted: true,
            ..Self::new(fault, at)
        }
    }

    /// The steps that were tried.
    pub fn steps(&self) -> Vec<&'static str> {
        self.done.lock().unwrap().clone()
    }

    /// Comes to the next step; what is to happen at it.
    fn fault(&self, step: &'static str) -> Fault {
        let mut done = self.done.lock().unwrap();
        let number = done.len();
        done.push(step);
        match self.fault {
            Fault::Full(_) if number > self.at => self.fault,
            fault if number == self.at => fault,
            _ => Fault::None,
        }
    }

    fn step(&self, step: &'static str) -> io::Result<()> {
        match self.fault(step) {
            Fault::None => Ok(()),
            Fault::Kill => die(),
            Fault::Error(number) | Fault::Full(number) => Err(io::Error::from_raw_os_error(number)),
        }
    }
}

fn die() -> ! {
    raise(SIGKILL).unwrap();
    unreachable!("nobody outlives that signal")
}

impl Disk for Faulty {
    fn look(&self, path: &Path) -> io::Result<Metadata> {
        self.step("look")?;
        System.look(path)
    }

    fn make(&self, folder: &Path, readers: Readers) -> io::Result<NamedTempFile> {
        self.step("make")?;
        System.make(folder, readers)
    }

    fn copy_mode_and_owner(&self, file: &File, to: &Metadata) -> io::Result<()> {
        self.step("copy_mode_and_owner")?;
        System.copy_mode_and_owner(file, to)
    }

    fn write(&self, file: &File, bytes: &[u8]) -> io::Result<usize> {
        let half = &bytes[..bytes.len() / 2];
        match self.fault("write") {
            Fault::Kill => {
                System.write(file, half)?;
                die()
            }
            Fault::Error(number) | Fault::Full(number) => {
                System.write(file, half)?;
                Err(io::Error::from_raw_os_error(number))
            }
            Fault::None
                if self.interrupted && self.done.lock().unwrap().len().is_multiple_of(2) =>
            {
                Err(io::ErrorKind::Interrupted.into())
            }
            Fault::None => System.write(file, &bytes[..bytes.len().min(self.most)]),
        }
    }

    fn sync(&self, file: &File) -> io::Result<()> {
        self.step("sync")?;
        System.sync(file)
    }

    fn name(&self, part: NamedTempFile, path: &Path) -> Result<File, PersistError> {
        match self.step("name") {
            Ok(()) => System.name(part, path),
            Err(error) => Err(PersistError { error, file: part }),
        }
    }

    fn replace(&self, part: NamedTempFile, path: &Path) -> Result<File, PersistError> {
        match self.step("replace") {
            Ok(()) => System.replace(part, path),
            Err(error) => Err(PersistError { error, file: part }),
        }
    }

    fn sync_folder(&self, folder: &Path) -> io::Result<()> {
        self.step("sync the folder")?;
        System.sync_folder(folder)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        self.step("remove")?;
        System.remove(path)
    }
}
