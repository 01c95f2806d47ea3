//! A trip from files that hold no trip: GPX and `GeoJSON` tracks, routes and waypoints, and leg tables as CSV.
//!
//! [`import`] lines the legs of all files up to one trip, in the order given unless another joins better;
//! [`measure`] only measures. What kind a file is shows in its first character, not in its name. Nothing is
//! guessed in silence: whatever was taken, left out or filled in is reported in [`Imported::notes`].
//!
//! What no file states stays unstated: surfaces, sand. A point whose symbol or type means one is a fuel stop;
//! one beside the track has a detour. Time stamps give speeds and days, and halts in the
//! notes. A trip needs a vehicle,
//! so an imported one has a placeholder that is called so in its name, unless another trip lends its own.

mod along;
mod heights;
mod into;
mod legs;
mod line;
pub(crate) mod map;
mod measurement;
mod names;
mod notes;
mod order;
mod pace;
mod plane;
mod problem;
mod routes;
mod snap;
mod source;
mod speeds;
mod stop;
mod thin;
mod trip_line;

use std::path::{Path, PathBuf};
use std::str::FromStr;

use super::csv::column_of;
use super::osm::Extract;
use super::reading::LONGEST_NAME;
use super::text::plain;
use crate::model::climb::THRESHOLD;
use crate::model::line::Polyline;
use crate::model::route::{Leg, Start};
use crate::model::survey::Profile;
use crate::model::track::{Point, Track};
use crate::model::trip::FORMAT_VERSION;
use crate::model::vehicle::Vehicle;
use crate::model::vocabulary::{SurfaceFrom, UnitSystem};
use crate::model::{Trip, check, starter};
use crate::present::number::Units;
use crate::quantity::{Kilometres, Metres};
pub use heights::{AltitudeSource, Altitudes, TileChoice};
pub use into::Merged;
use legs::Draft;
pub use map::MapChoice;
use measurement::measurement;
pub use measurement::{FileMeasured, LineMeasured, Measurement, Pace, schema};
use notes::{Notes, counted};
pub use problem::{ImportError, ImportProblem};
use source::{Content, Source, read_all};
pub(crate) use stop::PROPOSED;

/// Default for the largest distance of a waypoint from the track to count as a place on it.
pub(crate) const SNAP_WITHIN: Metres = Metres::new(250.0);
/// Default for the largest distance of a fuel stop from the track to be included with a detour: a fuel stop in a
/// village off the road, not one in the next valley. Common practice, no source.
pub(crate) const DETOUR_WITHIN: Kilometres = Kilometres::new(5.0);

/// Points of all tracks that a trip keeps; a file of more may not be read again.
const MOST_KEPT: usize = 1_000_000;

/// Where a line is cut into legs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Split {
    /// At each waypoint on the route, and between lines.
    Waypoints,
    /// Between lines only: each track segment or route is a leg.
    Segments,
    /// After each so many kilometres of a line, and between lines.
    Every(Kilometres),
}

/// What the user decides about an import.
#[derive(Clone, Debug)]
pub struct Options {
    /// Where lines are split; `None` means at waypoints if any are near, otherwise between lines.
    pub split: Option<Split>,
    /// Smallest change of altitude that counts as climb or descent.
    pub climb_threshold: Metres,
    /// Largest distance of a waypoint from the track to count as a place on it.
    pub snap_within: Metres,
    /// Largest distance of a fuel stop from the track to be included with a detour.
    pub detour_within: Kilometres,
    /// Units of the notes.
    pub units: Units,
    /// Whether the part of a damaged file before the damage is imported.
    pub salvage: bool,
    /// Elevation tiles for the altitudes of tracks.
    pub tiles: Option<TileChoice>,
    /// A map for surfaces, hazards and fuel stops.
    pub map: Option<MapChoice>,
    /// A trip whose vehicle, load and rules are taken over.
    pub vehicle_from: Option<Box<Trip>>,
    /// A trip whose start and legs are replaced, all else staying.
    pub into: Option<Box<Trip>>,
    /// Whether the legs up to the last fuel reading of that trip stay, so that only those after it are replaced.
    pub is_after_reading: bool,
}

/// What came of an import.
#[derive(Clone, Debug)]
pub struct Imported {
    /// The trip; it keeps the rules of the trip file.
    pub trip: Trip,
    /// The measured lines and waypoints of the files.
    pub measurement: Measurement,
    /// Notes for the user, without control characters.
    pub notes: Vec<String>,
    /// With [`Options::into`], what changes of that trip.
    pub into: Option<Merged>,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            split: None,
            climb_threshold: THRESHOLD,
            snap_within: SNAP_WITHIN,
            detour_within: DETOUR_WITHIN,
            units: Units(UnitSystem::Metric),
            salvage: false,
            tiles: None,
            map: None,
            vehicle_from: None,
            into: None,
            is_after_reading: false,
        }
    }
}

/// A text that states no places at which a line is to be cut.
#[derive(Debug, PartialEq, thiserror::Error)]
#[error(
    "must be waypoints, segments, or a distance of 0.1 to 10000 km such as 50km, got `{}`",
    plain(.0, 40)
)]
pub struct NoSplit(String);

impl FromStr for Split {
    type Err = NoSplit;

    /// Reads `waypoints`, `segments`, or a distance like `50km`.
    fn from_str(text: &str) -> Result<Self, NoSplit> {
        match text {
            "waypoints" => Ok(Self::Waypoints),
            "segments" => Ok(Self::Segments),
            _ => text
                .strip_suffix("km")
                .and_then(|number| number.trim().parse().ok())
                .filter(|km| (0.1..=10_000.0).contains(km))
                .map(|km| Self::Every(Kilometres::new(km)))
                .ok_or_else(|| NoSplit(text.to_owned())),
        }
    }
}

/// Makes a trip from `files`, `-` being the standard input.
///
/// # Errors
/// When a file cannot be read, or with every problem that was found in any of them: nothing is
/// imported in part.
pub fn import(files: &[PathBuf], options: &Options) -> Result<Imported, ImportError> {
    let mut notes = Notes::default();
    let sources = sources(files, options, &mut notes)?;
    let extract = map::read(&sources, options)?;
    let mut draft = legs::draft(&sources, notes, extract.as_ref(), options)
        .map_err(|too_many| of_all(&sources, too_many.to_string()))?;
    if draft.legs.is_empty() {
        return Err(nothing_to_drive(&sources));
    }
    let tracks = draft.legs.iter().filter_map(|leg| leg.track.as_ref());
    let lines = tracks.flat_map(Track::lines);
    let kept: usize = lines.map(|line| line.points().len()).sum();
    if kept > MOST_KEPT {
        let message = format!(
            "the tracks have {kept} points, although straight parts were thinned; a trip can have {MOST_KEPT}. Import them in parts"
        );
        return Err(of_all(&sources, message));
    }
    map::note(&draft.legs, &draft.on_map, options.units, &mut draft.notes);
    let legs = std::mem::take(&mut draft.on_map);
    let measurement = Measurement {
        legs: extract.is_some().then_some(legs),
        ..measurement(&sources, options)
    };
    let notice = extract.as_ref().map(Extract::notice);
    let (trip, mut notes) = trip(draft, &sources, notice, options)?;
    let (trip, into) = match &options.into {
        None => (trip, None),
        Some(before) => {
            let merged = into::merged(before, trip, options.is_after_reading, &mut notes);
            let (trip, merged) = merged.map_err(|message| of_all(&sources, message))?;
            (trip, Some(merged))
        }
    };
    Ok(Imported {
        trip,
        measurement,
        notes: notes.0,
        into,
    })
}

/// The files, with altitudes from tiles where they are wanted; notes on how each was read.
fn sources(
    files: &[PathBuf],
    options: &Options,
    notes: &mut Notes,
) -> Result<Vec<Source>, ImportError> {
    let mut sources = read_all(files, options)?;
    for source in &sources {
        notes.tell_of(source);
    }
    heights::add(&mut sources, options, notes)?;
    Ok(sources)
}

/// What is wrong with the files together.
fn of_all(sources: &[Source], message: String) -> ImportError {
    let paths: Vec<&str> = sources.iter().map(|source| source.path.as_str()).collect();
    let file = plain(&paths.join(", "), 400);
    ImportError::Problems(vec![ImportProblem::new(file, message)])
}

/// That the files hold no way, and what they hold instead.
fn nothing_to_drive(sources: &[Source]) -> ImportError {
    let readings = || sources.iter().filter_map(Source::reading);
    let waypoints = readings().map(|reading| reading.waypoints.len()).sum();
    let lines = readings().flat_map(|reading| &reading.lines);
    let points = lines.map(|line| line.points.len()).sum();
    let message = format!(
        "nothing to import: {} and {} of tracks and routes. An import needs a track or route with a length, two waypoints, or a leg table; drystage new makes a trip without them",
        counted(waypoints, "waypoint", "waypoints"),
        counted(points, "point", "points")
    );
    of_all(sources, message)
}

/// A leg that ends at a point, with what was measured on it, as far as a road can be like that.
pub(crate) fn measured(name: &str, ends_at: &Point, profile: &Profile) -> Leg {
    line::measured_leg(name, ends_at, profile, &stop::Stop::default()).0
}

/// Measures `files`, `-` being the standard input, and makes no trip.
///
/// # Errors
/// As [`import`], but what was read need be no sound trip.
pub fn measure(files: &[PathBuf], options: &Options) -> Result<Measurement, ImportError> {
    let sources = sources(files, options, &mut Notes::default())?;
    let measurement = measurement(&sources, options);
    let mut files = measurement.files.iter();
    let waypoints: usize = measurement.files.iter().map(|file| file.waypoints).sum();
    let is_driven = files.any(|file| {
        file.legs.is_some() || file.lines.iter().any(|line| line.length_m > Metres::ZERO)
    });
    if is_driven || waypoints >= 2 {
        Ok(measurement)
    } else {
        Err(nothing_to_drive(&sources))
    }
}

/// Puts the trip together, holds it to the rules of the trip file, and gives its notes.
fn trip(
    draft: Draft,
    sources: &[Source],
    notice: Option<&str>,
    options: &Options,
) -> Result<(Trip, Notes), ImportError> {
    let before = options.into.as_deref();
    let lender = options.vehicle_from.as_deref().or(before);
    let stated = draft.start.unwrap_or_else(|| Start::named("start"));
    let start = match before {
        Some(before) if !options.is_after_reading => {
            into::start(&before.start, stated, !draft.is_start_unnamed)
        }
        _ => stated,
    };
    // A mass limit of a placeholder is no vehicle's limit.
    let placeholder = || Vehicle {
        gvm_kg: None,
        ..starter::trip().vehicle
    };
    let trip = Trip {
        drystage: FORMAT_VERSION,
        name: Some(name(sources)),
        notice: notice.or(notice_of(&draft.legs)).map(str::to_owned),
        vehicle: lender.map_or_else(placeholder, |trip| trip.vehicle.clone()),
        load: lender.and_then(|trip| trip.load.clone()),
        rules: lender.and_then(|trip| trip.rules.clone()),
        start,
        legs: draft.legs,
        what_ifs: None,
        log: None,
    };
    let found = check::problems(&outline(&trip).to_document());
    if found.is_empty() {
        return Ok((trip, draft.notes));
    }
    let problems = found
        .iter()
        .map(|problem| locate(problem, &trip, &draft.stated, sources));
    Err(ImportError::Problems(problems.collect()))
}

/// The notice that legs need which a file states and a map gave.
fn notice_of(legs: &[Leg]) -> Option<&'static str> {
    let is_from = |from| legs.iter().any(|leg| leg.surface_from == Some(from));
    if is_from(SurfaceFrom::Map) {
        Some(super::osm::NOTICE)
    } else {
        is_from(SurfaceFrom::InventedMap).then_some(super::osm::INVENTED)
    }
}

/// The trip with the ends of its tracks in their stead: their points were checked as they were read.
fn outline(trip: &Trip) -> Trip {
    let ends = |track: &Track| {
        let points = || track.lines().iter().flat_map(Polyline::points);
        Polyline::new(
            points()
                .next()
                .into_iter()
                .chain(points().last())
                .copied()
                .collect(),
        )
    };
    let legs = trip.legs.iter().map(|leg| Leg {
        track: leg.track.as_ref().map(|track| Track::Inline(ends(track))),
        ..leg.clone()
    });
    Trip {
        legs: legs.collect(),
        ..trip.clone()
    }
}

/// Where the files state what the trip's checks found a problem in.
fn locate(
    problem: &check::Problem,
    trip: &Trip,
    stated: &[(usize, usize)],
    sources: &[Source],
) -> ImportProblem {
    let message = problem.message.clone();
    let of_trip = |message| ImportProblem {
        pointer: Some(problem.pointer.clone()).filter(|at| !at.is_empty()),
        ..ImportProblem::new("the imported trip", message)
    };
    let of_leg = problem.pointer.strip_prefix("/legs/");
    let of_leg = of_leg.and_then(|rest| rest.split_once('/'));
    let (leg, within) = match (of_leg, problem.pointer.strip_prefix("/start/")) {
        (Some((leg, key)), _) => (leg.parse().unwrap_or(usize::MAX), format!("/{key}")),
        (None, Some(key)) => (0, format!("/{key}")),
        (None, None) => return of_trip(message),
    };
    let Some(&(source, row)) = stated.get(leg) else {
        let to = trip.legs.get(leg).map_or("", |leg| &leg.to);
        return of_trip(match within.as_str() {
            "/distance_km" => {
                format!(
                    "{message} on the leg to `{}`; split the track with --split 100km",
                    plain(to, 40)
                )
            }
            _ => message,
        });
    };
    let source = &sources[source];
    let of_file = ImportProblem::new(source.path.clone(), message);
    match &source.content {
        Content::Table { table, .. } => ImportProblem {
            line: Some(table.rows[row].line),
            column: column_of(&within, of_leg.is_none()).map(str::to_owned),
            ..of_file
        },
        Content::Map(reading) if of_leg.is_some() => ImportProblem {
            pointer: Some(format!("{}{within}", reading.stated.legs[row].at)),
            ..of_file
        },
        Content::Map(_) => ImportProblem {
            pointer: Some(problem.pointer.clone()),
            ..of_file
        },
    }
}

/// The title of the first file that has one, else the first file's name.
fn name(sources: &[Source]) -> String {
    let title = sources.iter().find_map(|source| {
        let reading = source.reading()?;
        let of_line = reading.lines.first().and_then(|line| line.name.clone());
        reading.title.clone().or(of_line)
    });
    if let Some(title) = title {
        return title.to_string();
    }
    let path = sources.first().map_or("", |source| source.path.as_str());
    let stem = Path::new(path).file_stem().and_then(|stem| stem.to_str());
    match plain(stem.unwrap_or_default(), LONGEST_NAME) {
        stem if stem.is_empty() || stem == "-" => "imported trip".to_owned(),
        stem => stem,
    }
}
