//! The GPX files that the legs of a trip follow, read beside the trip.

use std::collections::HashMap;
use std::fs::{self, File};
use std::path::Path;
use std::sync::Arc;

use super::gpx;
use crate::model::Trip;
use crate::model::check::Problem;
use crate::model::line::Line;
use crate::model::track::Track;

/// Reads every track file of `trip` that was not read yet; paths are relative to `folder`.
///
/// # Errors
/// Each file that cannot be read or is damaged, at the first leg that names it.
pub fn read(trip: &mut Trip, folder: &Path) -> Result<(), Vec<Problem>> {
    let mut known: HashMap<String, Option<Arc<[Line]>>> = HashMap::new();
    let mut problems = Vec::new();
    for (index, leg) in trip.legs.iter_mut().enumerate() {
        let Some(Track::File {
            path,
            lines: lines @ None,
        }) = &mut leg.track
        else {
            continue;
        };
        let read = known.entry(path.clone()).or_insert_with(|| {
            let read = read_one(&folder.join(&*path));
            read.map_err(|says| {
                problems.push(Problem {
                    at: format!("/legs/{index}/track"),
                    says: format!(
                        "must be a GPX file beside the trip, or be left out, got `{path}`: {says}"
                    ),
                });
            })
            .ok()
        });
        lines.clone_from(read);
    }
    if problems.is_empty() {
        Ok(())
    } else {
        Err(problems)
    }
}

fn read_one(path: &Path) -> Result<Arc<[Line]>, String> {
    let about = fs::metadata(path).map_err(|error| error.to_string())?;
    if !about.is_file() {
        // Whoever opens a pipe waits until somebody writes to it, and this one was named by a file.
        return Err("it is a folder, a pipe or a device".to_owned());
    }
    let file = File::open(path).map_err(|error| error.to_string())?;
    let reading = gpx::read(file, false).map_err(|damage| {
        let all: Vec<String> = damage.iter().map(ToString::to_string).collect();
        all.join("; ")
    })?;
    if reading.lines.is_empty() {
        return Err("it holds no track and no route".to_owned());
    }
    Ok(reading
        .lines
        .into_iter()
        .map(|line| Line::new(line.points))
        .collect())
}
