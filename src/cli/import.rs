//! `drystage import`: a trip from tracks, routes, waypoints or a leg table.

use std::io::{self, Write};

use super::args::{Format, Import};
use super::failure::{Failure, shown_path};
use super::{Common, DONE, files};
use crate::io::gpx::LineKind;
use crate::io::import::{self, LineMeasured, Measurement};
use crate::model::vocabulary::UnitSystem;
use crate::present::name::plain;
use crate::present::number::{Toward, Units};
use crate::quantity::{Kilometres, Metres};
use crate::report::json;

/// Makes a trip from the files, or only measures them where no trip is to be written.
pub fn run(asked: &Import, common: &Common) -> Result<u8, Failure> {
    let options = import::Options {
        split: asked.split,
        climb_threshold: Metres::new(asked.climb_threshold),
        salvage: asked.salvage,
        vehicle_from: match &asked.vehicle_from {
            Some(path) => Some(Box::new(files::read_trip(path)?)),
            None => None,
        },
        ..import::Options::default()
    };
    let Some(output) = &asked.output else {
        let found = import::measure(&asked.files, &options)?;
        files::print(&measured(&found, asked.format))?;
        return Ok(DONE);
    };
    let to_stdout = output.as_os_str() == "-";
    if to_stdout && asked.format.is_some() {
        return Err(Failure::Wrong(
            "--format prints on stdout, so --output must be a file, got -".to_owned(),
        ));
    }
    let imported = import::import(&asked.files, &options)?;
    files::write_trip(output, &imported.trip, common.force)?;
    let mut notes = imported.notes.join("\n");
    if !notes.is_empty() {
        notes.push('\n');
        // What was filled in or left out must be known, but nobody need be there to read it.
        let _ = io::stderr().write_all(notes.as_bytes());
    }
    if asked.format.is_some() {
        files::print(&measured(&imported.measurement, asked.format))?;
    } else if !to_stdout {
        let legs = imported.trip.legs.len();
        files::print(&format!("{}: {legs} legs\n", shown_path(output)))?;
    }
    Ok(DONE)
}

/// What was measured, as asked for.
fn measured(measurement: &Measurement, format: Option<Format>) -> String {
    match format {
        Some(Format::Json) => json::written(measurement),
        _ => lines(measurement),
    }
}

/// What was measured, a line for each file and each of its tracks and routes.
fn lines(measurement: &Measurement) -> String {
    let mut text = Vec::new();
    for file in &measurement.files {
        text.push(format!(
            "{}: {} waypoints, {} tracks or routes\n",
            plain(&file.path),
            file.waypoints,
            file.lines.len()
        ));
        text.extend(file.lines.iter().map(line));
        if !file.passed_over.is_empty() {
            text.push(format!(
                "  passed over: {}\n",
                plain(&file.passed_over.join(", "))
            ));
        }
    }
    text.concat()
}

fn line(line: &LineMeasured) -> String {
    let units = Units(UnitSystem::Metric);
    let height = |metres: Option<Metres>| {
        metres.map_or_else(|| "?".to_owned(), |metres| units.height(metres).to_string())
    };
    format!(
        "  {} {}, segment {}: {} points, {}, {} up, {} down\n",
        match line.kind {
            LineKind::Track => "track",
            LineKind::Route => "route",
        },
        plain(line.name.as_deref().unwrap_or("without a name")),
        line.segment,
        line.points,
        units.distance(Kilometres::from(line.length_m), Toward::Nearest),
        height(line.ascent_m),
        height(line.descent_m),
    )
}
