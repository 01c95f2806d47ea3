//! The line that a leg follows over the ground: its points, shared and never copied by an edit.

use std::borrow::Cow;
use std::sync::Arc;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Serialize, Serializer};
use serde_json::Value;

use super::field::TRACK_HEIGHT;
use super::line::Polyline;
use super::route::Position;
use super::survey::Profile;
use crate::quantity::{Degrees, Metres};

/// A point of a track on WGS 84.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[serde(try_from = "Vec<f64>")]
pub struct Point {
    /// Longitude, in degrees east.
    pub lon: Degrees,
    /// Latitude, in degrees north.
    pub lat: Degrees,
    /// Height above the sea, where it is known.
    pub height: Option<Metres>,
}

/// Where a leg's points are.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(try_from = "Value")]
pub enum Track {
    /// In a GPX file beside the trip; the lines are there once the file was read.
    File {
        /// Path relative to the trip.
        path: String,
        /// The file's lines, each an unbroken run of points.
        lines: Option<Arc<[Polyline]>>,
    },
    /// In the trip itself.
    Inline(Polyline),
    /// In the trip itself, several lines with gaps between them.
    Lines(Arc<[Polyline]>),
}

impl Point {
    /// The point at a position.
    pub const fn new(at: Position, height: Option<Metres>) -> Self {
        let Position { lat, lon } = at;
        Self { lon, lat, height }
    }

    /// The point without its height.
    pub fn position(&self) -> Position {
        Position {
            lat: self.lat,
            lon: self.lon,
        }
    }
}

/// Whether a height is one that a point may have.
pub fn is_height(height: Metres) -> bool {
    TRACK_HEIGHT.admits_number(height.get())
}

impl Track {
    /// The unbroken lines of the track; none when its file was not read.
    pub fn lines(&self) -> &[Polyline] {
        match self {
            Self::File { lines, .. } => lines.as_deref().unwrap_or_default(),
            Self::Inline(line) => std::slice::from_ref(line),
            Self::Lines(lines) => lines,
        }
    }

    /// The track along lines that are in the trip itself.
    pub fn of_lines(mut lines: Vec<Polyline>) -> Self {
        match lines.len() {
            1 => Self::Inline(lines.remove(0)),
            _ => Self::Lines(lines.into()),
        }
    }

    /// The track from its other end. That of a file stays as it is: the file is not ours to change, and its length and
    /// heights are the same from either end.
    #[must_use]
    pub(crate) fn reversed(&self) -> Self {
        match self {
            Self::Inline(line) => Self::Inline(line.reversed()),
            Self::Lines(lines) => {
                Self::of_lines(lines.iter().rev().map(Polyline::reversed).collect())
            }
            Self::File { .. } => self.clone(),
        }
    }

    /// What was measured along all its lines, the gaps between them left out; `None` if there are none.
    pub fn profile(&self) -> Option<Profile> {
        let profiles = self.lines().iter().map(|line| *line.profile());
        profiles.reduce(Profile::and)
    }
}

impl Serialize for Point {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self.height {
            Some(height) => (self.lon, self.lat, height).serialize(serializer),
            None => (self.lon, self.lat).serialize(serializer),
        }
    }
}

impl TryFrom<Vec<f64>> for Point {
    type Error = &'static str;

    fn try_from(numbers: Vec<f64>) -> Result<Self, Self::Error> {
        let (lon, lat, height) = match numbers[..] {
            [lon, lat] => (lon, lat, None),
            [lon, lat, height] => (lon, lat, Some(Metres::new(height))),
            _ => return Err("must be [lon, lat] or [lon, lat, height]"),
        };
        Ok(Self {
            lon: Degrees::new(lon),
            lat: Degrees::new(lat),
            height,
        })
    }
}

impl Serialize for Track {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::File { path, .. } => path.serialize(serializer),
            Self::Inline(line) => serializer.collect_seq(line.points()),
            Self::Lines(lines) => serializer.collect_seq(lines.iter().map(Polyline::points)),
        }
    }
}

impl TryFrom<Value> for Track {
    type Error = serde_json::Error;

    fn try_from(stated: Value) -> Result<Self, Self::Error> {
        let first = stated.get(0).and_then(|first| first.get(0));
        let has_lines = first.is_some_and(Value::is_array);
        Ok(match stated {
            Value::String(path) => Self::File { path, lines: None },
            lines if has_lines => {
                let lines: Vec<Vec<Point>> = serde_json::from_value(lines)?;
                Self::of_lines(lines.into_iter().map(Polyline::new).collect())
            }
            points => Self::Inline(Polyline::new(serde_json::from_value(points)?)),
        })
    }
}

impl JsonSchema for Track {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        "Track".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let line = json_schema!({
            "type": "array",
            "items": { "type": "array", "items": { "type": "number" }, "minItems": 2, "maxItems": 3 }
        });
        json_schema!({
            "anyOf": [{ "type": "string" }, line, { "type": "array", "items": line }]
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_track_is_a_path_or_points() {
        let read = |text| serde_json::from_str::<Track>(text);
        let file = Track::File {
            path: "a/b.gpx".to_owned(),
            lines: None,
        };
        assert_eq!(read("\"a/b.gpx\"").unwrap(), file);
        let point = |lon, lat, height: Option<f64>| Point {
            lon: Degrees::new(lon),
            lat: Degrees::new(lat),
            height: height.map(Metres::new),
        };
        let points = [point(-130.5, -48.25, None), point(1.0, 2.0, Some(-3.5))];
        let track = Track::Inline(Polyline::new(points.to_vec()));
        let text = "[[-130.5,-48.25],[1,2,-3.5]]";
        assert_eq!(read(text).unwrap(), track);
        assert_eq!(serde_json::to_string(&track).unwrap(), text);
        let line = |points: &[Point]| Polyline::new(points.to_vec());
        let track = Track::of_lines(vec![line(&points), line(&points[..1])]);
        let text = "[[[-130.5,-48.25],[1,2,-3.5]],[[-130.5,-48.25]]]";
        assert_eq!(read(text).unwrap(), track);
        assert_eq!(serde_json::to_string(&track).unwrap(), text);
        for wrong in ["1", "[1, 2]", "[[1]]", "[[1, 2, 3, 4]]", "[[1, \"2\"]]"] {
            assert!(read(wrong).is_err(), "{wrong}");
        }
    }
}
