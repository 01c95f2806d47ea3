//! `drystage calibrate`: the vehicle's factors from its own fill-ups.

use std::fs::File;
use std::io;

use anyhow::Context;

use super::args::{Calibrate, Format};
use super::failure::{Failure, shown_path};
use super::files::Own;
use super::{Common, DONE, files, planned, set, units};
use crate::calibrate::FillCalibration;
use crate::io::csv::fills;
use crate::model::check::Problem;
use crate::report::calibration;

/// Fits the trip's vehicle to a log, prints the fit, and saves it where that is asked for.
pub(crate) fn run(asked: &Calibrate, common: &Common) -> Result<u8, Failure> {
    let (mut trip, file) = Own::read(&asked.trip)?;
    let units = units(&trip, common);
    let name = shown_path(&asked.log);
    let read = if asked.log.as_os_str() == "-" {
        fills::read(io::stdin().lock())
    } else {
        File::open(&asked.log).and_then(fills::read)
    };
    let fills = read
        .with_context(|| name.clone())
        .map_err(Failure::Failed)?
        .map_err(|problems| Failure::Unusable {
            file: name.clone(),
            problems: problems
                .into_iter()
                .map(|problem| Problem {
                    at: match problem.column {
                        Some(column) => format!("line {}, column {column}", problem.line),
                        None => format!("line {}", problem.line),
                    },
                    says: problem.says,
                })
                .collect(),
        })?;
    let fitted = FillCalibration::of(&trip.vehicle, &fills, &asked.keep);
    for row in &asked.keep {
        if !fitted
            .left_out
            .iter()
            .any(|found| found.kept && found.row == *row)
        {
            return Err(Failure::Wrong(format!(
                "--keep must be the row of a suspect way, got {row}"
            )));
        }
    }
    let of_trip = if fitted.ways.is_empty() {
        None
    } else {
        let from = asked
            .log
            .file_name()
            .map(|name| crate::io::text::plain(&name.to_string_lossy(), 200));
        let before = set::with_changes(trip.clone(), &asked.changes, common)?;
        trip.vehicle.calibration = Some(fitted.saved(from));
        let after = set::with_changes(trip.clone(), &asked.changes, common)?;
        Some(calibration::Effect {
            before: planned(before, common),
            after: planned(after, common),
        })
    };
    if asked.save {
        if of_trip.is_none() {
            return Err(Failure::Wrong(format!(
                "there is nothing to save: {name} has no way from brim to brim that counts"
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
