//! Input and output by name, `-` for the standard streams.

use std::io::{self, ErrorKind, Write};
use std::path::Path;

use super::failure::{Failure, shown_path};
use crate::io::json::{self, ReadError};
use crate::io::save::{self, Existing};
use crate::io::tracks;
use crate::model::Trip;
use crate::model::check::Problem;
use crate::report::json::harmless;

/// The trip in a file, with the track files that its legs follow.
pub fn read_trip(path: &Path) -> Result<Trip, Failure> {
    let read = if path.as_os_str() == "-" {
        json::read_from(io::stdin().lock())
    } else {
        json::read(path)
    };
    let mut trip = read.map_err(|error| {
        let file = shown_path(path);
        let problems = match error {
            ReadError::System(_) => {
                return Failure::Failed(anyhow::Error::new(error).context(file));
            }
            ReadError::Problems(problems) => problems,
            whole => vec![Problem {
                at: String::new(),
                says: whole.to_string(),
            }],
        };
        Failure::Unusable { file, problems }
    })?;
    read_tracks(&mut trip, path)?;
    Ok(trip)
}

/// Reads the track files of a trip that were not read yet; they lie beside the trip's own file.
pub fn read_tracks(trip: &mut Trip, path: &Path) -> Result<(), Failure> {
    let folder = path.parent().unwrap_or(Path::new(""));
    tracks::read(trip, folder).map_err(|problems| Failure::Unusable {
        file: shown_path(path),
        problems,
    })
}

/// Saves a trip; nothing that exists is overwritten unless `force`.
pub fn write_trip(path: &Path, trip: &Trip, force: bool) -> Result<(), Failure> {
    if path.as_os_str() == "-" {
        let mut text = Vec::new();
        json::write(trip, &mut text).map_err(|error| Failure::Failed(error.into()))?;
        // Escapes are loss-free, and a name must not act on the terminal.
        return print(&harmless(&String::from_utf8_lossy(&text)));
    }
    json::save(trip, path, existing(force)).map_err(|error| Failure::Failed(error.into()))
}

/// Writes a whole text; nothing that exists is overwritten unless `force`.
pub fn write(path: &Path, text: &str, force: bool) -> Result<(), Failure> {
    if path.as_os_str() == "-" {
        return print(text);
    }
    save::save(path, existing(force), |stream| {
        stream.write_all(text.as_bytes())
    })
    .map_err(|error| Failure::Failed(error.into()))
}

const fn existing(force: bool) -> Existing {
    if force {
        Existing::Replace
    } else {
        Existing::Keep
    }
}

/// Writes an answer to stdout.
pub fn print(text: &str) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        // A reader who closes the pipe has read enough.
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            Err(Failure::Failed(anyhow::Error::new(error).context("stdout")))
        }
        _ => Ok(()),
    }
}
