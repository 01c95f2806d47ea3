//! `drystage calibrate`: calibration factors from a fill-up log.

use std::fs::File;
use std::io;
use std::path::Path;

use super::args::{Calibrate, Format};
use super::failure::{Failure, shown_path};
use super::files::Own;
use super::{Common, DONE, files, planned, set, units};
use crate::calibrate::FillCalibration;
use crate::io::csv::fills;
use crate::io::import::ImportProblem;
use crate::io::text::TextError;
use crate::model::Trip;
use crate::model::calibration::Calibration;
use crate::plan::{Effort, Plan};
use crate::present::number::Units;
use crate::report::calibration;

/// Calibrates the trip's vehicle from a fill-up log, prints the calibration, and saves it if `--save` is given.
pub(crate) fn run(asked: &Calibrate, common: &Common) -> Result<u8, Failure> {
    let (mut trip, file) = Own::read(&asked.trip)?;
    let units = units(&trip, common);
    let name = shown_path(&asked.log);
    let fitted = fitted(&trip, &asked.log, &asked.keep)?;
    let is_usable = !fitted.intervals.is_empty();
    let has_legs = !trip.legs.is_empty();
    let of_trip = if is_usable {
        let before = set::with_changes(trip.clone(), &asked.changes, common)?;
        trip.vehicle.calibration = Some(saved(&fitted, &asked.log));
        let after = set::with_changes(trip.clone(), &asked.changes, common)?;
        // Without legs there is no trip on which the factors could have an effect.
        has_legs.then(|| calibration::Effect {
            before: planned(before, common),
            after: planned(after, common),
        })
    } else {
        None
    };
    if asked.save {
        if !is_usable {
            return Err(Failure::Wrong(format!(
                "nothing to save: {name} has no usable brim-to-brim interval"
            )));
        }
        // The trip's own file is what is to change, so it may be replaced.
        file.write(&trip)?;
    }
    files::print(&match asked.format {
        Format::Text => calibration::text(&fitted, of_trip.as_ref(), units),
        Format::Json => calibration::json(&fitted, of_trip.as_ref(), units),
    })?;
    Ok(DONE)
}

/// The vehicle of a trip calibrated from a log; suspect intervals that end in the rows to keep count.
fn fitted(trip: &Trip, log: &Path, keep: &[u64]) -> Result<FillCalibration, Failure> {
    let name = shown_path(log);
    let read = if log.as_os_str() == "-" {
        fills::read(io::stdin().lock())
    } else {
        File::open(log).and_then(fills::read)
    };
    let fills = read
        .map_err(|error| unread(name.clone(), &error))?
        .map_err(|problems| {
            let problems = problems.into_iter().map(|problem| ImportProblem {
                line: Some(problem.line),
                column: problem.column,
                ..ImportProblem::new(name.as_str(), problem.message)
            });
            Failure::Unimportable(problems.collect())
        })?;
    let fitted = FillCalibration::from_fills(&trip.vehicle, &fills, keep);
    let suspects = &fitted.left_out;
    let is_kept = |row: u64| suspects.iter().any(|found| found.kept && found.row == row);
    match keep.iter().find(|&&row| !is_kept(row)) {
        None => Ok(fitted),
        Some(row) => Err(Failure::Wrong(format!(
            "--keep {row}: no suspect interval ends in row {row} of {name}"
        ))),
    }
}

/// The calibration as the trip file keeps it, with the name of its log.
fn saved(fitted: &FillCalibration, log: &Path) -> Calibration {
    let name = log.file_name();
    fitted.saved(name.map(|name| crate::io::text::plain(&name.to_string_lossy(), 200)))
}

/// The trip calibrated from a log, and the report of it; no trip where the log has no usable interval.
pub(super) fn proposed(
    trip: &Trip,
    log: &Path,
    units: Units,
) -> Result<(Option<Trip>, String), Failure> {
    let fitted = fitted(trip, log, &[])?;
    if fitted.intervals.is_empty() {
        return Ok((None, calibration::text(&fitted, None, units)));
    }
    let mut after = trip.clone();
    after.vehicle.calibration = Some(saved(&fitted, log));
    let planned = |trip: &Trip| Plan::at_target(trip.clone(), Effort::refined());
    let effect = calibration::Effect {
        before: planned(trip),
        after: planned(&after),
    };
    let text = calibration::text(&fitted, Some(&effect), units);
    Ok((Some(after), text))
}

/// A log that cannot be read, or that is no text.
fn unread(file: String, error: &io::Error) -> Failure {
    let fault = error.get_ref().and_then(|inner| inner.downcast_ref());
    match fault {
        Some(TextError { line, message }) => Failure::Unimportable(vec![ImportProblem {
            line: Some(*line),
            ..ImportProblem::new(file, message.clone())
        }]),
        None => Failure::unreadable(file, error),
    }
}
