//! The GPX files that the legs of a trip follow, read beside the trip: each once, however its path is spelt, and
//! together no more points than one file may have.
//!
//! A trip is often sent without them. Where a leg states its distance, a missing file leaves its lines unread, and the
//! plan reports it as a finding. A file that is there and cannot be read is an error.

use std::collections::{HashMap, HashSet};
use std::fs::{self, File};
use std::io;
use std::path::Path;
use std::sync::Arc;

use super::gpx;
use super::reading::MOST_POINTS;
use super::reason::plain_reason;
use crate::model::Trip;
use crate::model::check::Problem;
use crate::model::line::Polyline;
use crate::model::track::Track;

/// Why a file gave no track.
#[derive(Debug, thiserror::Error)]
enum NoTrack {
    #[error("{}", plain_reason(.0))]
    System(#[from] io::Error),
    /// Opening a pipe would wait until something writes to it, and this one was named by a trip.
    #[error("it is a folder, a pipe or a device")]
    NoFile,
    #[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))]
    Damaged(Vec<gpx::Damage>),
    #[error("it contains no track and no route")]
    NoLine,
    #[error("the tracks of the trip have more than {MOST_POINTS} points together")]
    TooManyPoints,
}

impl NoTrack {
    fn is_missing(&self) -> bool {
        matches!(self, Self::System(error) if error.kind() == io::ErrorKind::NotFound)
    }

    /// The message for the file that a trip names.
    fn of_file(&self, path: &str) -> String {
        match self {
            Self::System(error) if error.kind() == io::ErrorKind::NotFound => {
                format!(
                    "track file not found: `{path}`. Put it beside the trip, or set `distance_km` and plan without it"
                )
            }
            why => format!("cannot read the track file `{path}`: {why}"),
        }
    }
}

/// Reads every track file of `trip` that was not read yet; paths are relative to `folder`.
///
/// # Errors
/// Each file that is damaged or cannot be read, at the first leg that names it; of those that are missing, at the first such
/// leg that states no distance.
pub fn read(trip: &mut Trip, folder: &Path) -> Result<(), Vec<Problem>> {
    let (mut known, mut reported) = (HashMap::new(), HashSet::new());
    let mut problems = Vec::new();
    let mut points = 0;
    for (index, leg) in trip.legs.iter_mut().enumerate() {
        let Some(Track::File {
            path,
            lines: lines @ None,
        }) = &mut leg.track
        else {
            continue;
        };
        let file = folder.join(&*path);
        let file = dunce::canonicalize(&file).unwrap_or(file);
        let mut problem = |why: &NoTrack| {
            problems.push(Problem {
                named: Some(format!("leg {} to {}", index + 1, leg.to)),
                ..Problem::new(format!("/legs/{index}/track"), why.of_file(path))
            });
        };
        let read = known
            .entry(file.clone())
            .or_insert_with_key(|file| read_one(file, &mut points));
        match read {
            Ok(read) => *lines = Some(Arc::clone(read)),
            Err(why) if why.is_missing() && leg.distance_km.is_some() => {}
            Err(why) if reported.insert(file) => problem(why),
            Err(_) => {}
        }
    }
    if problems.is_empty() {
        Ok(())
    } else {
        Err(problems)
    }
}

/// The lines of a file; `points` counts those of all files.
fn read_one(path: &Path, points: &mut usize) -> Result<Arc<[Polyline]>, NoTrack> {
    if *points > MOST_POINTS {
        return Err(NoTrack::TooManyPoints);
    }
    if !fs::metadata(path)?.is_file() {
        return Err(NoTrack::NoFile);
    }
    let lines = gpx::read(File::open(path)?, false)
        .map_err(NoTrack::Damaged)?
        .lines;
    *points += lines.iter().map(|line| line.points.len()).sum::<usize>();
    if lines.is_empty() {
        return Err(NoTrack::NoLine);
    }
    if *points > MOST_POINTS {
        return Err(NoTrack::TooManyPoints);
    }
    Ok(lines
        .into_iter()
        .map(|line| Polyline::new(line.points))
        .collect())
}
