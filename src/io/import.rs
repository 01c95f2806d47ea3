//! A trip from files that hold no trip: GPX tracks, routes and waypoints, and leg tables as CSV.
//!
//! [`import`] reads files in the order given and lines their legs up to one trip; [`measure`] only
//! measures. What kind a file is shows in its first character, not in its name. Nothing is guessed
//! in silence: whatever was taken, left out or filled in is told in [`Imported::notes`].
//!
//! What no file says stays unstated: surfaces, sand, days, fuel. A trip needs a vehicle, so an
//! imported one has a placeholder that says so in its name, unless another trip lends its own.

use std::fmt;
use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use serde::Serialize;
use serde_json::Value;

use super::csv::{self, Row, Table};
use super::gpx::{self, LineKind, Reading};
use super::legs::{self, Draft};
use super::text::{self, TextError, plain};
use crate::model::climb::THRESHOLD;
use crate::model::route::Start;
use crate::model::survey::{Extent, Profile};
use crate::model::trip::FORMAT_VERSION;
use crate::model::vehicle::Vehicle;
use crate::model::vocabulary::{BaseFrom, Fuel};
use crate::model::{Trip, check};
use crate::quantity::{Kilograms, Kilometres, Litres, LitresPer100Km, Metres};

/// How far from the track a waypoint may lie and still be a place on it, unless stated.
pub const SNAP_WITHIN: Metres = Metres::new(250.0);
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
    /// Whether what precedes damage in a GPX file is taken instead of refusing the file.
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

/// Why there is no import.
#[derive(Debug, thiserror::Error)]
pub enum ImportError {
    /// A file could not be read at all.
    #[error("{path}: cannot be read: {source}")]
    Unreadable {
        /// The file.
        path: String,
        /// Why.
        source: io::Error,
    },
    /// Everything that is wrong with the files.
    #[error("{}", lines(.0))]
    Problems(Vec<ImportProblem>),
}

/// One thing that is wrong, where it stands, and what would be right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ImportProblem {
    /// The file as it was named.
    pub file: String,
    /// The line, from 1, where it can be told.
    pub line: Option<u64>,
    /// The column of a table, where it is about one.
    pub column: Option<String>,
    /// What would be right, then what was found.
    pub says: String,
}

/// What was measured: the answer to `import --format json`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Measurement {
    /// Version of this format.
    pub drystage_import: u32,
    /// The files in the order given.
    pub files: Vec<FileMeasured>,
}

/// What one file holds.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FileMeasured {
    /// The file as it was named.
    pub path: String,
    /// Number of waypoints.
    pub waypoints: usize,
    /// Track segments and routes, never joined.
    pub lines: Vec<LineMeasured>,
    /// Names of elements that were not read.
    pub passed_over: Vec<String>,
    /// Line at which damage begins, where what precedes it was salvaged.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub salvaged_before_line: Option<u64>,
}

/// What one line measures.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LineMeasured {
    /// Track or route.
    pub kind: LineKind,
    /// Its name.
    pub name: Option<String>,
    /// Number of the segment within its track, from 1.
    pub segment: usize,
    /// Number of points.
    pub points: usize,
    /// Geodesic length on WGS 84.
    pub length_m: Metres,
    /// Climb by the moves of a reference height.
    pub ascent_m: Option<Metres>,
    /// Descent likewise.
    pub descent_m: Option<Metres>,
    /// Sum of every rise.
    pub ascent_raw_m: Option<Metres>,
    /// West, south, east, north.
    #[serde(rename = "box")]
    pub extent: Option<Extent>,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            split: None,
            climb_threshold: THRESHOLD,
            snap_within: SNAP_WITHIN,
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

impl fmt::Display for ImportProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if let Some(line) = self.line {
            write!(f, ":{line}")?;
        }
        if let Some(column) = &self.column {
            write!(f, ": {column}")?;
        }
        write!(f, ": {}", self.says)
    }
}

fn lines(problems: &[ImportProblem]) -> String {
    let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
    lines.join("\n")
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
        return Err(ImportError::Problems(vec![ImportProblem {
            file: sources.iter().map(|source| source.path.as_str()).collect::<Vec<_>>().join(", "),
            line: None,
            column: None,
            says: "must hold a track or route of at least two points, two waypoints, or a table of legs, got none"
                .to_owned(),
        }]));
    }
    let notes = std::mem::take(&mut draft.notes);
    let trip = trip(draft, &sources, options)?;
    Ok(Imported {
        trip,
        measurement,
        notes,
    })
}

/// Measures `files`, `-` being the standard input, and makes no trip.
///
/// # Errors
/// As [`import`], but a file that holds nothing to drive is none.
pub fn measure(files: &[PathBuf], options: &Options) -> Result<Measurement, ImportError> {
    Ok(measurement(&read_all(files, options)?, options))
}

/// A file that was read.
pub(super) struct Source {
    pub(super) path: String,
    pub(super) content: Content,
}

pub(super) enum Content {
    Gpx(Reading),
    Table {
        table: Table,
        encoding: &'static str,
    },
}

fn read_all(files: &[PathBuf], options: &Options) -> Result<Vec<Source>, ImportError> {
    let mut sources = Vec::new();
    let mut problems = Vec::new();
    for file in files {
        let path = plain(&file.display().to_string(), 200);
        let unreadable = |source| ImportError::Unreadable {
            path: path.clone(),
            source,
        };
        let read = if file.as_path() == Path::new("-") {
            read_content(io::stdin().lock(), options.salvage)
        } else {
            read_content(File::open(file).map_err(unreadable)?, options.salvage)
        };
        match read.map_err(unreadable)? {
            Ok(content) => sources.push(Source { path, content }),
            Err(found) => problems.extend(found.into_iter().map(|problem| ImportProblem {
                file: path.clone(),
                ..problem
            })),
        }
    }
    if problems.is_empty() {
        Ok(sources)
    } else {
        Err(ImportError::Problems(problems))
    }
}

/// Reads a file of either kind; its problems are still without its name.
fn read_content(
    mut bytes: impl Read,
    salvage: bool,
) -> io::Result<Result<Content, Vec<ImportProblem>>> {
    let mut head = Vec::new();
    bytes.by_ref().take(64).read_to_end(&mut head)?;
    let is_xml = head.iter().find(|byte| {
        !matches!(
            byte,
            0 | b' ' | b'\t' | b'\r' | b'\n' | 0xEF | 0xBB | 0xBF | 0xFE | 0xFF
        )
    }) == Some(&b'<');
    let bytes = head.as_slice().chain(bytes);
    let from_text = |error: TextError| ImportProblem {
        file: String::new(),
        line: Some(error.line),
        column: None,
        says: error.says,
    };
    if is_xml {
        return Ok(gpx::read(bytes, salvage)
            .map(Content::Gpx)
            .map_err(|damage| damage.into_iter().map(from_text).collect()));
    }
    let (text, encoding) = match text::read_table(bytes) {
        Ok(read) => read,
        Err(error) => {
            return match error
                .get_ref()
                .and_then(|inner| inner.downcast_ref::<TextError>())
            {
                Some(inner) => Ok(Err(vec![from_text(inner.clone())])),
                None => Err(error),
            };
        }
    };
    Ok(csv::read(&text)
        .map(|table| Content::Table { table, encoding })
        .map_err(|problems| {
            let problems = problems.into_iter().map(|problem| ImportProblem {
                file: String::new(),
                line: Some(problem.line),
                column: problem.column,
                says: problem.says,
            });
            problems.collect()
        }))
}

fn measurement(sources: &[Source], options: &Options) -> Measurement {
    let files = sources.iter().map(|source| match &source.content {
        Content::Gpx(reading) => FileMeasured {
            path: source.path.clone(),
            waypoints: reading.waypoints.len(),
            lines: reading
                .lines
                .iter()
                .map(|line| line_measured(line, options))
                .collect(),
            passed_over: reading
                .passed_over
                .iter()
                .map(|(name, _)| name.clone())
                .collect(),
            salvaged_before_line: reading.salvaged_before.as_ref().map(|damage| damage.line),
        },
        Content::Table { .. } => FileMeasured {
            path: source.path.clone(),
            waypoints: 0,
            lines: Vec::new(),
            passed_over: Vec::new(),
            salvaged_before_line: None,
        },
    });
    Measurement {
        drystage_import: 1,
        files: files.collect(),
    }
}

fn line_measured(line: &gpx::Line, options: &Options) -> LineMeasured {
    let profile = Profile::of(&line.points, options.climb_threshold);
    // Heights are known to a decimetre at best; sums of them need no more than a millimetre.
    let millimetres = |metres: Metres| Metres::new((metres.get() * 1000.0).round() / 1000.0);
    LineMeasured {
        kind: line.kind,
        name: line.name.as_deref().map(str::to_owned),
        segment: line.segment,
        points: profile.points,
        length_m: profile.length,
        ascent_m: profile.climbed.map(|climbed| millimetres(climbed.ascent)),
        descent_m: profile.climbed.map(|climbed| millimetres(climbed.descent)),
        ascent_raw_m: profile
            .climbed
            .map(|climbed| millimetres(climbed.ascent_raw)),
        extent: profile.extent,
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
    document["legs"] = draft
        .legs
        .iter()
        .map(|leg| Value::Object(leg.stated.clone()))
        .collect();
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
fn locate(problem: &check::Problem, legs: &[legs::DraftLeg], sources: &[Source]) -> ImportProblem {
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
            Row::column_of(&format!("/{key}"), true),
        ),
        _ => (None, None),
    };
    let table_row = row.and_then(|(source, row)| match &sources[source].content {
        Content::Table { table, .. } => table.rows.get(row).map(|row| (source, row)),
        Content::Gpx(_) => None,
    });
    match table_row {
        Some((source, row)) => ImportProblem {
            file: sources[source].path.clone(),
            line: Some(row.line),
            column: column.map(str::to_owned),
            says: problem.says.clone(),
        },
        None => ImportProblem {
            file: "the trip".to_owned(),
            line: None,
            column: Some(problem.at.clone()).filter(|at| !at.is_empty()),
            says: problem.says.clone(),
        },
    }
}

/// The title of the first file that has one, else the first file's name.
fn name(sources: &[Source]) -> String {
    let title = sources.iter().find_map(|source| match &source.content {
        Content::Gpx(reading) => reading
            .title
            .clone()
            .or_else(|| reading.lines.first().and_then(|line| line.name.clone())),
        Content::Table { .. } => None,
    });
    title.as_deref().map_or_else(
        || {
            let path = sources.first().map_or("", |source| source.path.as_str());
            let stem = Path::new(path).file_stem().and_then(|stem| stem.to_str());
            stem.filter(|stem| *stem != "-")
                .unwrap_or("imported trip")
                .to_owned()
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
        odometer_factor: None,
    }
}
