//! A trip from files that hold no trip: GPX and `GeoJSON` tracks, routes and waypoints, and leg tables as CSV.
//!
//! [`import`] lines the legs of all files up to one trip, in the order given unless another joins better;
//! [`measure`] only measures. What kind a file is shows in its first character, not in its name. Nothing is
//! guessed in silence: whatever was taken, left out or filled in is told in [`Imported::notes`].
//!
//! What no file says stays unstated: surfaces, sand. A point whose symbol or type says so is a fuel stop;
//! one beside the track has a detour. Time stamps give speeds and days, and halts in the
//! notes. A trip needs a vehicle,
//! so an imported one has a placeholder that says so in its name, unless another trip lends its own.

mod along;
mod legs;
mod line;
mod measurement;
mod names;
mod nights;
mod notes;
mod order;
mod pace;
mod plane;
mod problem;
mod pumps;
mod routes;
mod snap;
mod source;
mod speeds;
mod spine;
mod stop;
mod thin;
mod ways;

use std::path::{Path, PathBuf};

use serde_json::Value;

use super::csv::Row;
use super::reading::LONGEST_NAME;
use super::text::plain;
use crate::model::climb::THRESHOLD;
use crate::model::route::Start;
use crate::model::trip::FORMAT_VERSION;
use crate::model::vehicle::Vehicle;
use crate::model::vocabulary::{BaseFrom, Fuel, UnitSystem};
use crate::model::{Trip, check};
use crate::present::number::Units;
use crate::quantity::{Kilograms, Kilometres, Litres, LitresPer100Km, Metres};
use legs::{Draft, DraftLeg};
use measurement::measurement;
pub use measurement::{FileMeasured, LineMeasured, Measurement, Pace, schema};
use notes::counted;
pub use pace::Halt;
pub use problem::{ImportError, ImportProblem};
use source::{Content, Source, read_all};

/// How far from the track a waypoint may lie and still be a place on it, unless stated.
pub const SNAP_WITHIN: Metres = Metres::new(250.0);
/// How far from the track a fuel stop may lie and still be one of the way, unless stated: a pump in a village
/// off the road, not one in the next valley. Common practice, no source.
pub const DETOUR_WITHIN: Kilometres = Kilometres::new(5.0);
/// Name of the vehicle of a trip whose files know none.
pub const PLACEHOLDER: &str = "unknown vehicle: state yours";

/// Where a line is cut into legs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Split {
    /// At each waypoint on the way, and between lines.
    Waypoints,
    /// Between lines only: each track segment or route is a leg.
    Segments,
    /// After each so many kilometres of a line, and between lines.
    Every(Kilometres),
}

/// What the user decides about an import.
#[derive(Clone, Debug)]
pub struct Options {
    /// Where lines are cut; `None` means at waypoints where there are any on the way, else between lines.
    pub split: Option<Split>,
    /// How far the height must change before the change counts as climb or descent.
    pub climb_threshold: Metres,
    /// How far from the track a waypoint may lie and still be a place on it.
    pub snap_within: Metres,
    /// How far from the track a fuel stop may lie and still be one of the way, with a detour to it.
    pub detour_within: Kilometres,
    /// Units in which notes are told.
    pub units: Units,
    /// Whether what precedes damage in a file is taken instead of refusing the file.
    pub salvage: bool,
    /// A trip whose vehicle, load and rules are taken over.
    pub vehicle_from: Option<Box<Trip>>,
}

/// What came of an import.
#[derive(Clone, Debug)]
pub struct Imported {
    /// The trip; it keeps the rules of the trip file.
    pub trip: Trip,
    /// What was measured.
    pub measurement: Measurement,
    /// What the user has to know, a sentence each, without control characters.
    pub notes: Vec<String>,
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
            vehicle_from: None,
        }
    }
}

impl Split {
    /// Reads `waypoints`, `segments`, or a distance like `50km`.
    ///
    /// # Errors
    /// When the text is none of these; says what would be right.
    pub fn parse_split(text: &str) -> Result<Self, String> {
        match text {
            "waypoints" => Ok(Self::Waypoints),
            "segments" => Ok(Self::Segments),
            _ => text
                .strip_suffix("km")
                .and_then(|number| number.trim().parse().ok())
                .filter(|km| (0.1..=10_000.0).contains(km))
                .map(|km| Self::Every(Kilometres::new(km)))
                .ok_or_else(|| {
                    format!(
                        "must be waypoints, segments, or a distance of 0.1 to 10000 km like 50km, got `{}`",
                        plain(text, 40)
                    )
                }),
        }
    }
}

/// Makes a trip from `files`, `-` being the standard input.
///
/// # Errors
/// When a file cannot be read, or with every problem that was found in any of them: nothing is
/// imported in part.
pub fn import(files: &[PathBuf], options: &Options) -> Result<Imported, ImportError> {
    let sources = read_all(files, options)?;
    let measurement = measurement(&sources, options);
    let mut draft = legs::draft(&sources, options);
    if draft.legs.is_empty() {
        return Err(nothing_to_drive(&sources));
    }
    let notes = std::mem::take(&mut draft.notes.0);
    let trip = trip(draft, &sources, options)?;
    Ok(Imported {
        trip,
        measurement,
        notes,
    })
}

/// That the files hold no way, and what they hold instead.
fn nothing_to_drive(sources: &[Source]) -> ImportError {
    let (mut waypoints, mut points) = (0, 0);
    for source in sources {
        if let Content::Map(reading) = &source.content {
            waypoints += reading.waypoints.len();
            points += reading
                .lines
                .iter()
                .map(|line| line.points.len())
                .sum::<usize>();
        }
    }
    let says = format!(
        "must hold a track or route with a length, two waypoints, or a table of legs, got {} and {} of tracks and routes; `drystage new` makes a trip by hand",
        counted(waypoints, "waypoint", "waypoints"),
        counted(points, "point", "points")
    );
    let paths: Vec<&str> = sources.iter().map(|source| source.path.as_str()).collect();
    ImportError::Problems(vec![ImportProblem {
        file: paths.join(", "),
        line: None,
        column: None,
        says,
    }])
}

/// Measures `files`, `-` being the standard input, and makes no trip.
///
/// # Errors
/// As [`import`], but what was read need be no sound trip.
pub fn measure(files: &[PathBuf], options: &Options) -> Result<Measurement, ImportError> {
    let sources = read_all(files, options)?;
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

/// Puts the trip together and holds it to the rules of the trip file.
fn trip(draft: Draft, sources: &[Source], options: &Options) -> Result<Trip, ImportError> {
    let lender = options.vehicle_from.as_deref();
    let frame = Trip {
        drystage: FORMAT_VERSION,
        name: Some(name(sources)),
        vehicle: lender.map_or_else(placeholder, |trip| trip.vehicle.clone()),
        load: lender.and_then(|trip| trip.load.clone()),
        rules: lender.and_then(|trip| trip.rules.clone()),
        start: Start {
            name: String::new(),
            lat: None,
            lon: None,
            altitude_m: None,
            odometer_km: None,
            fuel: None,
        },
        legs: Vec::new(),
        what_ifs: None,
        log: None,
    };
    let mut document = frame.to_document();
    document["start"] = Value::Object(draft.start);
    document["legs"] = draft.legs.iter().map(DraftLeg::document).collect();
    let mut trip = check::read(document).map_err(|found| {
        let problems = found
            .into_iter()
            .map(|problem| locate(&problem, &draft.legs, sources));
        ImportError::Problems(problems.collect())
    })?;
    for (leg, drafted) in trip.legs.iter_mut().zip(draft.legs) {
        leg.track = drafted.track;
    }
    Ok(trip)
}

/// Finds the row and column of a problem that the trip's checks found in a leg.
fn locate(problem: &check::Problem, legs: &[DraftLeg], sources: &[Source]) -> ImportProblem {
    let mut steps = problem.at.splitn(4, '/').skip(1);
    let (object, index, rest) = (steps.next(), steps.next(), steps.next());
    let (row, column) = match (object, index) {
        (Some("legs"), Some(index)) => (
            index
                .parse::<usize>()
                .ok()
                .and_then(|index| legs.get(index)?.row),
            Row::column_of(&format!("/{}", rest.unwrap_or_default()), false),
        ),
        (Some("start"), Some(key)) => (
            legs.first().and_then(|leg| leg.row),
            Row::column_of(
                &rest.map_or_else(|| format!("/{key}"), |rest| format!("/{key}/{rest}")),
                true,
            ),
        ),
        _ => (None, None),
    };
    let Some((source, row)) = row else {
        return ImportProblem {
            file: "the trip".to_owned(),
            line: None,
            column: Some(problem.at.clone()).filter(|at| !at.is_empty()),
            says: problem.says.clone(),
        };
    };
    let (line, column) = match &sources[source].content {
        Content::Table { table, .. } => (
            table.rows.get(row).map(|row| row.line),
            column.map(str::to_owned),
        ),
        Content::Map(reading) => {
            let leg = reading.stated.legs.get(row).map(|leg| leg.at.as_str());
            let within = if object == Some("legs") {
                format!("{}/{}", leg.unwrap_or_default(), rest.unwrap_or_default())
            } else {
                problem.at.clone()
            };
            (None, Some(within))
        }
    };
    ImportProblem {
        file: sources[source].path.clone(),
        line,
        column,
        says: problem.says.clone(),
    }
}

/// The title of the first file that has one, else the first file's name.
fn name(sources: &[Source]) -> String {
    let title = sources.iter().find_map(|source| match &source.content {
        Content::Map(reading) => reading
            .title
            .clone()
            .or_else(|| reading.lines.first().and_then(|line| line.name.clone())),
        Content::Table { .. } => None,
    });
    title.as_deref().map_or_else(
        || {
            let path = sources.first().map_or("", |source| source.path.as_str());
            let stem = Path::new(path).file_stem().and_then(|stem| stem.to_str());
            let stem = plain(stem.unwrap_or_default(), LONGEST_NAME);
            if stem.is_empty() || stem == "-" {
                "imported trip".to_owned()
            } else {
                stem
            }
        },
        str::to_owned,
    )
}

/// A small petrol 4x4 as a stand-in. Invented figures of a usual size; marked as a guess.
fn placeholder() -> Vehicle {
    Vehicle {
        name: Some(PLACEHOLDER.to_owned()),
        fuel: Fuel::Petrol,
        induction: None,
        engine_l: Litres::new(1.5),
        cylinders: None,
        stroke_mm: None,
        base_l_per_100km: LitresPer100Km::new(8.5),
        base_speed_kmh: None,
        base_from: Some(BaseFrom::Guess),
        base_condition: None,
        tank_l: Litres::new(40.0),
        unusable_l: None,
        revs_per_km: None,
        drag_area_m2: None,
        driveline_efficiency: None,
        kerb_mass_kg: Kilograms::new(1150.0),
        kerb_from: None,
        kerb_includes: None,
        gvm_kg: None,
        roof_rating_kg: None,
        roof_rating_offroad_kg: None,
        axles: None,
        tyres: None,
        fitted: None,
        odometer_factor: None,
    }
}
