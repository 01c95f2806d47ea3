//! The line that a leg follows over the ground: its points, shared and never copied by an edit.

use std::borrow::Cow;
use std::sync::Arc;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use crate::quantity::{Degrees, Metres};

/// A point of a track on WGS 84.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Degrees east.
    pub lon: Degrees,
    /// Degrees north.
    pub lat: Degrees,
    /// Height above the sea, where it is known.
    pub height: Option<Metres>,
}

/// Where a leg's points are.
#[derive(Clone, Debug, PartialEq)]
pub enum Track {
    /// In a GPX file beside the trip; the lines are there once the file was read.
    File {
        /// Path relative to the trip.
        path: String,
        /// The file's lines, each an unbroken run of points.
        lines: Option<Arc<[Arc<[Point]>]>>,
    },
    /// In the trip itself.
    Inline(Arc<[Point]>),
}

impl Serialize for Point {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self.height {
            Some(height) => (self.lon, self.lat, height).serialize(serializer),
            None => (self.lon, self.lat).serialize(serializer),
        }
    }
}

impl<'de> Deserialize<'de> for Point {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        #[derive(Deserialize)]
        #[serde(untagged)]
        enum Numbers {
            Solid(Degrees, Degrees, Option<Metres>),
            Flat(Degrees, Degrees),
        }
        Ok(match Numbers::deserialize(deserializer)? {
            Numbers::Solid(lon, lat, height) => Self { lon, lat, height },
            Numbers::Flat(lon, lat) => Self {
                lon,
                lat,
                height: None,
            },
        })
    }
}

impl Serialize for Track {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::File { path, .. } => path.serialize(serializer),
            Self::Inline(points) => serializer.collect_seq(points.iter()),
        }
    }
}

impl<'de> Deserialize<'de> for Track {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        #[derive(Deserialize)]
        #[serde(untagged)]
        enum Stated {
            Path(String),
            Points(Vec<Point>),
        }
        Ok(match Stated::deserialize(deserializer)? {
            Stated::Path(path) => Self::File { path, lines: None },
            Stated::Points(points) => Self::Inline(points.into()),
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
        json_schema!({
            "anyOf": [
                { "type": "string" },
                {
                    "type": "array",
                    "items": { "type": "array", "items": { "type": "number" }, "minItems": 2, "maxItems": 3 }
                }
            ]
        })
    }
}
