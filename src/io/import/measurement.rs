//! What was measured, as `import --format json` prints it.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::Options;
use super::heights::Altitudes;
use super::pace::{Halt, Timed};
use super::source::{Content, Source};
use crate::io::reading::{self, LineKind, Reading};
use crate::model::survey::{Extent, Profile};
use crate::quantity::{Hours, Kilometres, KilometresPerHour, Metres, Share};

/// What was measured: the answer to `import --format json`.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Measurement {
    /// Version of this format.
    pub drystage_import: u32,
    /// The files in the order given.
    pub files: Vec<FileMeasured>,
    /// What the legs of the trip were driven on; absent without a map.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub legs: Option<Vec<LegOnMap>>,
}

/// What a map shows along a leg.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LegOnMap {
    /// Number of the leg, from 1.
    pub leg: usize,
    /// The place where it ends.
    pub to: String,
    /// Distance by what it was driven on.
    pub km_by_ground: BTreeMap<String, Kilometres>,
    /// Share of the distance whose surface is known.
    pub known_share: Share,
    /// Mean probability of the surfaces taken, where one is.
    pub probability: Share,
    /// Numbers of the map's ways, in driving order.
    pub ways: Vec<i64>,
}

/// What one file holds.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FileMeasured {
    /// The file as it was named.
    pub path: String,
    /// Number of waypoints.
    pub waypoints: usize,
    /// Legs that the file states; absent where it states none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub legs: Option<usize>,
    /// Track segments and routes, never joined.
    pub lines: Vec<LineMeasured>,
    /// Names of elements that were not read.
    pub passed_over: Vec<String>,
    /// Line at which damage begins, where what precedes it was salvaged.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub salvaged_before_line: Option<u64>,
}

/// What one line measures.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LineMeasured {
    /// Track or route.
    pub kind: LineKind,
    /// Name of the line.
    pub name: Option<String>,
    /// Number of the segment within its track, from 1.
    pub segment: usize,
    /// Number of points.
    pub points: usize,
    /// Geodesic length on WGS 84.
    pub length_m: Metres,
    /// Climb by the moves of a reference height.
    pub ascent_m: Option<Metres>,
    /// Metres of descent, counted like the climb.
    pub descent_m: Option<Metres>,
    /// Sum of every rise.
    pub ascent_raw_m: Option<Metres>,
    /// West, south, east, north.
    #[serde(rename = "box")]
    pub extent: Option<Extent>,
    /// Where the altitudes come from; absent without elevation tiles.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub altitudes: Option<Altitudes>,
    /// What the time stamps say; absent where there are none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pace: Option<Pace>,
}

/// What the time stamps of a line say.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pace {
    /// Time between halts, gaps and leaps left out.
    pub moving_h: Hours,
    /// Mean speed in that time; `None` if there is none.
    pub moving_kmh: Option<KilometresPerHour>,
    /// Halts in driving order.
    pub halts: Vec<Halt>,
}

/// The JSON Schema of a measurement.
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(Measurement).to_value()
}

/// Measures every line of every file.
pub(super) fn measurement(sources: &[Source], options: &Options) -> Measurement {
    let files = sources.iter().map(|source| match &source.content {
        Content::Map(reading) => FileMeasured {
            path: source.path.clone(),
            waypoints: reading.waypoints.len(),
            legs: Some(reading.stated.legs.len()).filter(|legs| *legs > 0),
            lines: reading
                .lines
                .iter()
                .map(|line| line_measured(line, options))
                .chain(stated_tracks(reading, options))
                .collect(),
            passed_over: reading
                .passed_over
                .iter()
                .map(|(name, _)| name.clone())
                .collect(),
            salvaged_before_line: reading.salvaged_before.as_ref().map(|damage| damage.line),
        },
        Content::Table { table, .. } => FileMeasured {
            path: source.path.clone(),
            legs: Some(table.rows.len()),
            ..FileMeasured::default()
        },
    });
    Measurement {
        drystage_import: 1,
        files: files.collect(),
        legs: None,
    }
}

/// The tracks of legs that a report of this program stated.
fn stated_tracks(reading: &Reading, options: &Options) -> Vec<LineMeasured> {
    let mut lines = Vec::new();
    for leg in &reading.stated.legs {
        for (segment, points) in leg.track.iter().enumerate() {
            let mut line = reading::Line::new(LineKind::Track, segment + 1);
            line.name = Some(leg.leg.to.as_str().into());
            line.points.clone_from(points);
            lines.push(line_measured(&line, options));
        }
    }
    lines
}

fn line_measured(line: &reading::Line, options: &Options) -> LineMeasured {
    let profile = Profile::from_points(&line.points, options.climb_threshold);
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
        altitudes: line.altitudes.clone(),
        pace: Timed::from_line(line).map(|timed| {
            let driven = timed.driven(Metres::ZERO, Metres::new(f64::INFINITY));
            Pace {
                moving_h: driven.time,
                moving_kmh: driven.speed(),
                halts: timed.halts,
            }
        }),
    }
}
