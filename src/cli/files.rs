//! Input and output by name, `-` for the standard streams.

use std::io::{self, ErrorKind, Write};
use std::path::Path;

use serde_json::json;

use super::args::ErrorForm;
use super::failure::{Failure, shown_path};
use crate::io::disk::System;
use crate::io::journal::Fingerprint;
use crate::io::json::{self as trip_file, ReadError};
use crate::io::save::{self, Existing};
use crate::io::tracks;
use crate::model::Trip;
use crate::model::check::{Problem, TextPlace};
use crate::plan;
use crate::present::name::plain;
use crate::report::json::harmless;

/// The trip in a file, with the track files that its legs follow.
pub(crate) fn read_trip(path: &Path) -> Result<Trip, Failure> {
    with_legs(read_with_or_without_legs(path)?, path)
}

/// The trip, if it has legs.
fn with_legs(trip: Trip, path: &Path) -> Result<Trip, Failure> {
    if trip.legs.is_empty() {
        let message = "this needs at least one leg, got none; a trip without legs can be used with `range`, `check`, \
                    `calibrate` and --vehicle-from";
        return Err(Failure::Unusable {
            file: shown_path(path),
            problems: vec![Problem::new("/legs", message)],
        });
    }
    Ok(trip)
}

/// Reads a trip that may have no legs: then it describes a vehicle with its load and rules.
pub(crate) fn read_with_or_without_legs(path: &Path) -> Result<Trip, Failure> {
    let read = if path.as_os_str() == "-" {
        trip_file::read_from(io::stdin().lock())
    } else {
        trip_file::read(path)
    };
    let mut trip = read.map_err(|error| {
        let file = shown_path(path);
        let problems = match error {
            ReadError::Problems(problems) => problems,
            ReadError::Foreign(foreign) => {
                let message = format!("{error}. {}", foreign.advice(&file));
                vec![Problem::new("", message)]
            }
            ReadError::Syntax {
                line,
                column,
                message,
            } => vec![at(line, column, message)],
            ReadError::NotUtf8 { line, column, byte } => {
                vec![at(
                    line,
                    column,
                    format!("not UTF-8 text, byte 0x{byte:02x}"),
                )]
            }
            whole => vec![Problem::new("", whole.to_string())],
        };
        Failure::Unusable { file, problems }
    })?;
    read_tracks(&mut trip, path)?;
    Ok(trip)
}

/// A trip that lends its vehicle, load and rules: the vehicle with what its fuel readings taught.
pub(crate) fn read_lender(path: &Path) -> Result<Trip, Failure> {
    let trip = read_with_or_without_legs(path)?;
    Ok(Trip {
        vehicle: plan::learnt(&trip),
        ..trip
    })
}

/// An error at a place of a text.
fn at(line: usize, column: usize, message: String) -> Problem {
    Problem {
        place: Some(TextPlace {
            line: line as u64,
            column: column as u64,
        }),
        ..Problem::new("", message)
    }
}

/// A trip file that is to be changed.
pub(crate) struct Own<'a> {
    path: &'a Path,
    held: Option<Fingerprint>,
}

impl<'a> Own<'a> {
    /// The trip in a file, and the file to write it to again.
    pub(crate) fn read(path: &'a Path) -> Result<(Trip, Self), Failure> {
        // Taken before reading, so that a change during it is noticed.
        let held = Fingerprint::of_file(path);
        Ok((read_with_or_without_legs(path)?, Self { path, held }))
    }

    /// The trip in a file, which must have legs, and the file to write it to again.
    pub(crate) fn read_with_legs(path: &'a Path) -> Result<(Trip, Self), Failure> {
        let (trip, own) = Self::read(path)?;
        Ok((with_legs(trip, path)?, own))
    }

    /// Whether it is the file of that name.
    pub(crate) fn is_at(&self, path: &Path) -> bool {
        let whole = |path: &Path| dunce::canonicalize(path).ok();
        self.path == path || whole(self.path).is_some_and(|own| whole(path) == Some(own))
    }

    /// Writes the trip in the place of what was read.
    pub(crate) fn write(self, trip: &Trip) -> Result<(), Failure> {
        if Fingerprint::of_file(self.path) != self.held {
            return Err(Failure::Wrong(format!(
                "{} has changed on disk since it was read; nothing was written. Run the command again",
                shown_path(self.path)
            )));
        }
        write_trip(self.path, trip, true)
    }
}

/// Reads the track files of a trip that were not read yet; they are beside the trip's own file.
pub(crate) fn read_tracks(trip: &mut Trip, path: &Path) -> Result<(), Failure> {
    let folder = path.parent().unwrap_or(Path::new(""));
    tracks::read(trip, folder).map_err(|problems| Failure::Unusable {
        file: shown_path(path),
        problems,
    })
}

/// Saves a trip; nothing that exists is overwritten unless `force`.
pub(crate) fn write_trip(path: &Path, trip: &Trip, force: bool) -> Result<(), Failure> {
    if path.as_os_str() == "-" {
        let mut text = Vec::new();
        trip_file::write(trip, &mut text).map_err(|error| Failure::Failed(error.into()))?;
        // Escapes are loss-free, and a name must not act on the terminal.
        return print(&harmless(&String::from_utf8_lossy(&text)));
    }
    trip_file::save(trip, path, existing(force)).map_err(|error| Failure::Failed(error.into()))
}

/// Writes a whole text; nothing that exists is overwritten unless `force`.
pub(crate) fn write(path: &Path, text: &str, force: bool) -> Result<(), Failure> {
    if path.as_os_str() == "-" {
        return print(text);
    }
    save::save(&System, path, existing(force), |stream| {
        stream.write_all(text.as_bytes())
    })
    .map_err(|error| Failure::Failed(error.into()))
}

/// What to do with a file that exists.
pub(crate) const fn existing(force: bool) -> Existing {
    if force {
        Existing::Replace
    } else {
        Existing::Keep
    }
}

/// Writes notes to stderr, in the format of errors.
pub(crate) fn note<S: AsRef<str>>(notes: &[S], form: ErrorForm) {
    if notes.is_empty() {
        return;
    }
    let notes = notes.iter().map(AsRef::as_ref);
    let text = match form {
        ErrorForm::Text => notes.map(|note| plain(note).into_owned() + "\n").collect(),
        ErrorForm::Json => {
            let document = json!({ "drystage_notes": 1, "notes": notes.collect::<Vec<_>>() });
            harmless(&document.to_string()) + "\n"
        }
    };
    // A note that cannot be written is no failure.
    let _ = io::stderr().write_all(text.as_bytes());
}

/// Writes an answer to stdout.
pub(crate) fn print(text: &str) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        // A reader who closes the pipe has read enough.
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(Failure::Failed(
            anyhow::Error::new(error).context("standard output"),
        )),
        _ => Ok(()),
    }
}
