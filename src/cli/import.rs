//! `drystage import`: a trip from tracks, routes, waypoints or a leg table.

use std::path::PathBuf;

use super::args::{Format, Import};
use super::failure::{Failure, shown_path};
use super::{Common, DONE, files, progress, units_asked};
use crate::io::import::{self, Imported, LineMeasured, MapChoice, Measurement, Merged, TileChoice};
use crate::io::osm;
use crate::io::reading::LineKind;
use crate::model::route::FuelStop;
use crate::model::vocabulary::{Surface, UnitSystem};
use crate::present::name::plain;
use crate::present::number::{Toward, Units, percent};
use crate::present::verdict::counted;
use crate::quantity::{Kilometres, Metres};
use crate::report::json;
use crate::tui::outside::Progress;

/// Makes a trip from the files, or only measures them where no trip is to be written.
pub(crate) fn run(asked: &Import, common: &Common) -> Result<u8, Failure> {
    let units = Units(units_asked(common).unwrap_or(UnitSystem::Metric));
    let (into, own) = match &asked.into {
        Some(path) => {
            let (trip, own) = files::Own::read(path)?;
            (Some(Box::new(trip)), Some(own))
        }
        None => (None, None),
    };
    let options = import::Options {
        split: asked.split,
        climb_threshold: Metres::new(asked.climb_threshold),
        snap_within: Metres::new(asked.snap_within),
        detour_within: Kilometres::new(asked.detour_within),
        units,
        salvage: asked.salvage,
        tiles: (asked.heights.clone().or_else(|| common.heights.clone())).map(|folder| {
            TileChoice {
                folder,
                preferred: asked.prefer_tiles,
            }
        }),
        map: map_choice(&asked.map, common)?,
        vehicle_from: match &asked.vehicle_from {
            Some(path) => Some(Box::new(files::read_lender(path)?)),
            None => None,
        },
        into,
        is_after_reading: asked.after_reading,
    };
    let Some(output) = &asked.output else {
        files::print(&match asked.format {
            // Only a trip has legs to which a map applies.
            Some(Format::Json) if options.map.is_some() => {
                json::written(&import::import(&asked.files, &options)?.measurement)
            }
            Some(Format::Json) => json::written(&import::measure(&asked.files, &options)?),
            _ => {
                listed(&import::import(&asked.files, &options)?, units)
                    + "\nPreview only. To save this trip, add --output TRIP\n"
            }
        })?;
        return Ok(DONE);
    };
    let to_stdout = output.as_os_str() == "-";
    if to_stdout && asked.format.is_some() {
        return Err(Failure::Wrong(
            "--format prints to standard output, so --output must be a file".to_owned(),
        ));
    }
    let imported = import::import(&asked.files, &options)?;
    match own {
        // So that a change on disk since it was read is not lost.
        Some(own) if common.force && own.is_at(output) => own.write(&imported.trip)?,
        _ => files::write_trip(output, &imported.trip, common.force)?,
    }
    // What was assumed or ignored must be known.
    files::note(&imported.notes, common.errors);
    match asked.format {
        Some(Format::Json) => files::print(&json::written(&imported.measurement))?,
        Some(_) => files::print(&lines(&imported.measurement, units))?,
        None if to_stdout => {}
        None => {
            let legs = counted(imported.trip.legs.len(), "leg", "legs");
            let changed = imported.into.as_ref().map_or_else(String::new, |into| {
                let lines = into.differences.len();
                format!(", {}", counted(lines, "change", "changes"))
            });
            files::print(&format!("{}: {legs}{changed}\n", shown_path(output)))?;
        }
    }
    Ok(DONE)
}

/// The extracts of `--map` or of the preferences, with their progress on stderr.
pub(crate) fn map_choice(given: &[PathBuf], common: &Common) -> Result<Option<MapChoice>, Failure> {
    let named = if given.is_empty() {
        common.map.as_slice()
    } else {
        given
    };
    if named.is_empty() {
        return Ok(None);
    }
    map_of(named, progress::counted("Reading the map")).map(Some)
}

/// The extracts at some paths as one map, each path a file or a folder of them.
pub(super) fn map_of(paths: &[PathBuf], progress: Progress) -> Result<MapChoice, Failure> {
    let mut files = Vec::new();
    for path in paths {
        let found = osm::extracts(path);
        files.extend(found.map_err(|error| Failure::unreadable(shown_path(path), &error))?);
    }
    Ok(MapChoice { files, progress })
}

/// What came of an import: the measurements, the legs, the notes.
pub(super) fn listed(imported: &Imported, units: Units) -> String {
    let mut text = vec![lines(&imported.measurement, units)];
    let trip = &imported.trip;
    let fuel_stop = |fuel: &Option<FuelStop>| match fuel {
        None => String::new(),
        Some(FuelStop {
            detour_km: Some(way),
            ..
        }) => format!(", fuel ({} detour)", units.distance(*way, Toward::Up)),
        Some(_) => ", fuel".to_owned(),
    };
    text.push(format!(
        "\n{} from {}{}\n",
        counted(trip.legs.len(), "leg", "legs"),
        plain(&trip.start.name),
        fuel_stop(&trip.start.fuel)
    ));
    let days = trip.days();
    let has_days = days.last() > days.first();
    for (n, leg) in trip.legs.iter().enumerate() {
        let day = days.get(n).filter(|_| has_days);
        let day = day.map_or_else(String::new, |day| format!(", day {day}"));
        let length = leg.distance_km.map_or_else(
            || "no distance".to_owned(),
            |way| units.distance(way, Toward::Nearest).to_string(),
        );
        let surface = leg.surface.map_or("no surface", Surface::word);
        let known = leg.surface_from.map_or_else(String::new, |_| {
            format!(" ({} known)", percent(leg.surface_known_share()))
        });
        let ground = format!(", {surface}{known}");
        let climb = leg
            .ascent_m
            .map_or_else(String::new, |up| format!(", {} climb", units.height(up)));
        let speed = leg.speed_kmh.map_or_else(String::new, |speed| {
            format!(", {}", units.speed(speed, Toward::Nearest))
        });
        text.push(format!(
            "{:>3} {}: {length}{ground}{day}{climb}{speed}{}\n",
            n + 1,
            plain(&leg.to),
            fuel_stop(&leg.fuel)
        ));
    }
    if let Some(Merged { differences, .. }) = &imported.into {
        text.push(format!(
            "\n{}\n",
            match differences.len() {
                0 => "No changes to the trip".to_owned(),
                many => format!("{} to the trip:", counted(many, "change", "changes")),
            }
        ));
        let lines = differences.iter();
        text.extend(lines.map(|line| format!("- {}\n", plain(line))));
    }
    if !imported.notes.is_empty() {
        text.push("\n".to_owned());
        text.extend(
            imported
                .notes
                .iter()
                .map(|note| format!("- {}\n", plain(note))),
        );
    }
    text.concat()
}

/// The measurements, a line for each file and each of its tracks and routes.
fn lines(measurement: &Measurement, units: Units) -> String {
    let mut text = Vec::new();
    for file in &measurement.files {
        let holds = match file.legs {
            Some(legs) => counted(legs, "leg", "legs"),
            None => format!(
                "{}, {}",
                counted(file.waypoints, "waypoint", "waypoints"),
                counted(file.lines.len(), "track or route", "tracks or routes")
            ),
        };
        text.push(format!("{}: {holds}\n", plain(&file.path)));
        text.extend(file.lines.iter().map(|measured| line(measured, units)));
        if !file.passed_over.is_empty() {
            text.push(format!(
                "  ignored: {}\n",
                plain(&file.passed_over.join(", "))
            ));
        }
    }
    text.concat()
}

fn line(line: &LineMeasured, units: Units) -> String {
    let height = |metres: Option<Metres>| {
        metres.map_or_else(|| "?".to_owned(), |metres| units.height(metres).to_string())
    };
    let pace = line.pace.as_ref().map_or_else(String::new, |pace| {
        let speed = pace.moving_kmh.map_or_else(String::new, |speed| {
            format!(", moving at {}", units.speed(speed, Toward::Nearest))
        });
        let halts = match pace.halts.len() {
            0 => String::new(),
            halts => format!(", {}", counted(halts, "halt", "halts")),
        };
        speed + &halts
    });
    format!(
        "  {} {}, segment {}: {}, {}, {} climb, {} descent{pace}\n",
        match line.kind {
            LineKind::Track => "track",
            LineKind::Route => "route",
        },
        plain(line.name.as_deref().unwrap_or("unnamed")),
        line.segment,
        counted(line.points, "point", "points"),
        units.distance(Kilometres::from(line.length_m), Toward::Nearest),
        height(line.ascent_m),
        height(line.descent_m),
    )
}
