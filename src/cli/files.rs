//! Input and output by name, `-` for the standard streams.

use std::io::{self, ErrorKind, Write};
use std::path::Path;

use super::failure::{Failure, shown_path};
use crate::io::json::{self, ReadError};
use crate::io::save::{self, Existing};
use crate::io::tracks;
use crate::model::Trip;
use crate::model::check::Problem;

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

/// Writes a whole text; nothing that exists is overwritten unless `force`.
pub fn write(path: &Path, text: &str, force: bool) -> Result<(), Failure> {
    if path.as_os_str() == "-" {
        let mut out = io::stdout().lock();
        return match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
            // A reader who closes the pipe has read enough.
            Err(error) if error.kind() != ErrorKind::BrokenPipe => {
                Err(Failure::Failed(anyhow::Error::new(error).context("stdout")))
            }
            _ => Ok(()),
        };
    }
    let existing = if force {
        Existing::Replace
    } else {
        Existing::Keep
    };
    save::save(path, existing, |stream| stream.write_all(text.as_bytes()))
        .map_err(|error| Failure::Failed(error.into()))
}
