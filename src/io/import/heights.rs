//! Altitudes of tracks from elevation tiles.
//!
//! A receiver's own altitudes are better than any tile, so tiles are used for a line that has none, or for every line
//! if the user prefers tiles. For each line the climb by the other source is kept for comparison.

use super::Options;
use super::notes::Notes;
use super::problem::{ImportError, ImportProblem};
use super::source::{Content, Source};
use super::trip_line::TripLine;
use crate::io::heights::Tiles;
use crate::io::reading::{Line, LineKind, MOST_POINTS};
use crate::model::drape::{Draped, EVERY, draped};
use crate::model::geodesic;
use crate::model::survey::Profile;
use crate::present::number::Toward;
use crate::quantity::{Kilometres, Metres};

/// Elevation tiles for an import.
#[derive(Clone, Debug)]
pub struct TileChoice {
    /// Folder of the tiles, or one tile.
    pub folder: std::path::PathBuf,
    /// Whether tiles replace a track's own altitudes.
    pub preferred: bool,
}

/// Where the altitudes of a line come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum AltitudeSource {
    /// The file.
    File,
    /// Elevation tiles.
    Tiles,
}

/// Where the altitudes of a line come from, and what the other source measures.
#[derive(Clone, Debug, PartialEq, serde::Serialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Altitudes {
    /// The source that was used.
    pub source: AltitudeSource,
    /// Climb by the other source; absent if it has no altitude here.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub other_ascent_m: Option<Metres>,
    /// Descent by the other source.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub other_descent_m: Option<Metres>,
    /// Distance for which the tiles have no altitude.
    pub without_tile_m: Metres,
}

/// Part of the points of a line that must have an altitude for the line to count as one with altitudes.
const OWN_FROM: f64 = 0.5;

/// Gives the lines of all sources the altitudes of tiles where they are wanted.
pub(super) fn add(
    sources: &mut [Source],
    options: &Options,
    notes: &mut Notes,
) -> Result<(), ImportError> {
    let Some(choice) = &options.tiles else {
        return Ok(());
    };
    let of_folder =
        |message: String| ImportError::Problems(vec![ImportProblem::new("--heights", message)]);
    let mut tiles = Tiles::in_folder(&choice.folder).map_err(|none| of_folder(none.to_string()))?;
    let mut stations = 0.0;
    for source in sources {
        let Content::Map(reading) = &mut source.content else {
            continue;
        };
        let mut summary = Summary::default();
        for line in &mut reading.lines {
            // The points of a route are places, and the road between them is not known.
            if line.kind == LineKind::Route && !TripLine::new(line, 1).is_drawn() {
                continue;
            }
            stations += length(line) / EVERY + line.points.len() as f64;
            if stations > MOST_POINTS as f64 {
                return Err(of_folder(format!(
                    "{}: the tracks are too long for heights from tiles; they need {MOST_POINTS} points or more. Import them in parts",
                    source.path
                )));
            }
            let draped = draped(&line.points, |at| tiles.height(at));
            let altitudes = choose(line, draped, choice.preferred, options.climb_threshold);
            summary.add(line, &altitudes, options);
            line.altitudes = Some(altitudes);
        }
        summary.note(&source.path, options, notes);
    }
    let used = tiles.used();
    notes.add_of(&used, |_, names| format!("Elevation tiles read: {names}"));
    notes.add_of(&tiles.ignored(), |_, reasons| {
        format!("Elevation tiles: {reasons}")
    });
    Ok(())
}

fn length(line: &Line) -> Metres {
    let pairs = line.points.windows(2);
    pairs
        .map(|pair| geodesic::distance(pair[0].position(), pair[1].position()))
        .sum()
}

/// Gives a line the altitudes of the tiles, or keeps its own.
fn choose(line: &mut Line, draped: Draped, prefers_tiles: bool, threshold: Metres) -> Altitudes {
    let own = line.points.iter().filter(|point| point.height.is_some());
    let has_own = own.count() as f64 >= OWN_FROM * line.points.len() as f64;
    let by_tiles = Profile::from_points(&draped.points, threshold).climbed;
    let by_file = Profile::from_points(&line.points, threshold).climbed;
    let uses_tiles = by_tiles.is_some() && (prefers_tiles || !has_own);
    let other = if uses_tiles { by_file } else { by_tiles };
    // Heights are known to a decimetre at best.
    let millimetres = |metres: Metres| Metres::new((metres.get() * 1000.0).round() / 1000.0);
    let altitudes = Altitudes {
        source: if uses_tiles {
            AltitudeSource::Tiles
        } else {
            AltitudeSource::File
        },
        other_ascent_m: other.map(|climbed| millimetres(climbed.ascent)),
        other_descent_m: other.map(|climbed| millimetres(climbed.descent)),
        without_tile_m: millimetres(draped.unknown),
    };
    if uses_tiles {
        let times = std::mem::take(&mut line.times);
        if !times.is_empty() {
            line.times = vec![None; draped.points.len()];
            for (&at, time) in draped.original.iter().zip(times) {
                line.times[at] = time;
            }
        }
        for (point, _) in &mut line.words {
            *point = draped.original[*point];
        }
        line.points = draped.points;
    }
    altitudes
}

/// The lines of a file, added up.
#[derive(Default)]
struct Summary {
    by_tiles: Sums,
    by_file: Sums,
    without_tile: Metres,
}

/// Lines that use one source: climb and descent by it and by the other.
#[derive(Default)]
struct Sums {
    lines: usize,
    used: (Metres, Metres),
    other: Option<(Metres, Metres)>,
}

impl Summary {
    fn add(&mut self, line: &Line, altitudes: &Altitudes, options: &Options) {
        let climbed = Profile::from_points(&line.points, options.climb_threshold)
            .climbed
            .unwrap_or_default();
        let sums = match altitudes.source {
            AltitudeSource::Tiles => &mut self.by_tiles,
            AltitudeSource::File => &mut self.by_file,
        };
        sums.lines += 1;
        sums.used = (sums.used.0 + climbed.ascent, sums.used.1 + climbed.descent);
        if let Some((up, down)) = altitudes.other_ascent_m.zip(altitudes.other_descent_m) {
            let (climb, descent) = sums.other.unwrap_or_default();
            sums.other = Some((climb + up, descent + down));
        }
        self.without_tile += altitudes.without_tile_m;
    }

    fn note(&self, path: &str, options: &Options, notes: &mut Notes) {
        let units = options.units;
        let climb = |(up, down): (Metres, Metres)| {
            format!("{} climb, {} descent", units.height(up), units.height(down))
        };
        if self.by_tiles.lines > 0 {
            let other = self.by_tiles.other.map_or_else(
                || "the file has none".to_owned(),
                |other| format!("those of the file would give {}", climb(other)),
            );
            notes.add(format!(
                "{path}: altitudes from the elevation tiles, {}; {other}",
                climb(self.by_tiles.used)
            ));
        }
        if self.by_file.lines > 0 {
            let other = self.by_file.other.map_or_else(
                || "the tiles have none here".to_owned(),
                |other| format!("the elevation tiles would give {}", climb(other)),
            );
            notes.add(format!(
                "{path}: altitudes of the file, {}; {other}",
                climb(self.by_file.used)
            ));
        }
        if self.without_tile > Metres::ZERO {
            notes.add(format!(
                "{path}: {} are on no elevation tile or in a gap of one; climb is unknown there",
                units.distance(Kilometres::from(self.without_tile), Toward::Up)
            ));
        }
    }
}
