//! Collections, features and geometries, in whatever order their members stand.

use std::fmt;
use std::sync::Arc;

use serde::de::{DeserializeSeed, Error, IgnoredAny, MapAccess, SeqAccess, Visitor};

use super::coordinates::{Coordinates, Place};
use super::properties::{Properties, Said, Text};
use super::{LONGEST_VALUE, Reader, Step};
use crate::io::reading::{
    LONGEST_NAME, Line, LineKind, MOST_LINES, MOST_WAYPOINTS, StatedLeg, Waypoint,
};
use crate::io::text::plain;
use crate::model::field::MOST_ITEMS;
use crate::model::route::Leg;
use crate::model::track::Point;

/// How near to each other two latitudes on the antimeridian are one, in degrees: a few millimetres.
const SAME_LATITUDE: f64 = 1e-7;

/// Reads an object of any type.
pub(super) struct Node<'a> {
    pub(super) reader: &'a mut Reader,
    pub(super) is_root: bool,
}

/// An object that was read, its features taken already.
#[derive(Default)]
pub(super) struct Found {
    kind: Option<String>,
    coordinates: Option<Coordinates>,
    geometry: Option<Box<Found>>,
    geometries: Vec<Found>,
    has_features: bool,
    properties: Option<Properties>,
}

impl<'de> DeserializeSeed<'de> for Node<'_> {
    type Value = Found;

    fn deserialize<D: serde::Deserializer<'de>>(self, json: D) -> Result<Found, D::Error> {
        json.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for Node<'_> {
    type Value = Found;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an object of GeoJSON: a FeatureCollection, a Feature or a geometry")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Found, A::Error> {
        let Node { reader, is_root } = self;
        reader.check_depth()?;
        let mut found = Found::default();
        while let Some(key) = map.next_key::<String>()? {
            reader.path.push(Step::Key(plain(&key, LONGEST_NAME)));
            let is_again = match key.as_str() {
                "type" => found.kind.is_some(),
                "coordinates" => found.coordinates.is_some(),
                "geometry" => found.geometry.is_some(),
                "properties" => found.properties.is_some(),
                "features" => found.has_features,
                _ => false,
            };
            if is_again {
                return Err(A::Error::custom("a member must stand once, got it again"));
            }
            match key.as_str() {
                "type" => {
                    let kind = map.next_value_seed(Text(LONGEST_VALUE))?;
                    found.kind = Some(kind.unwrap_or_default());
                }
                "coordinates" => {
                    found.coordinates = Some(map.next_value_seed(Place(&mut *reader))?);
                }
                "geometry" => {
                    found.geometry = map.next_value_seed(OrNull(&mut *reader))?.map(Box::new);
                }
                "geometries" => map.next_value_seed(List {
                    reader: &mut *reader,
                    take: |_: &mut Reader, geometry, all: &mut Vec<Found>| {
                        all.push(geometry);
                        Ok(())
                    },
                    all: &mut found.geometries,
                })?,
                "features" => {
                    found.has_features = true;
                    map.next_value_seed(List {
                        reader: &mut *reader,
                        take: |reader: &mut Reader, feature, _: &mut Vec<Found>| {
                            take(reader, feature)
                        },
                        all: &mut Vec::new(),
                    })?;
                }
                "properties" => {
                    found.properties = Some(map.next_value_seed(Said(&mut *reader))?);
                }
                "name" | "title" if is_root => {
                    let title = map.next_value_seed(Text(LONGEST_NAME))?;
                    reader.reading.title = title.map(Arc::from);
                }
                "creator" if is_root => {
                    reader.reading.creator = map.next_value_seed(Text(LONGEST_NAME))?;
                }
                "drystage" if is_root => {
                    return Err(A::Error::custom(
                        "must be tracks or places to import, got a trip: open it with `drystage FILE`",
                    ));
                }
                "id" | "bbox" => {
                    map.next_value::<IgnoredAny>()?;
                }
                _ => {
                    map.next_value::<IgnoredAny>()?;
                    reader
                        .reading
                        .pass_over(&key, |key| plain(key, LONGEST_NAME));
                }
            }
            reader.path.pop();
        }
        if is_root {
            // What stands alone is taken like a feature of a collection.
            let is_collection = found.kind.as_deref() == Some("FeatureCollection");
            if !is_collection || !found.has_features {
                take(reader, std::mem::take(&mut found)).map_err(A::Error::custom)?;
            }
        }
        Ok(found)
    }
}

/// A geometry or `null`.
struct OrNull<'a>(&'a mut Reader);

impl<'de> DeserializeSeed<'de> for OrNull<'_> {
    type Value = Option<Found>;

    fn deserialize<D: serde::Deserializer<'de>>(self, json: D) -> Result<Self::Value, D::Error> {
        json.deserialize_option(self)
    }
}

impl<'de> Visitor<'de> for OrNull<'_> {
    type Value = Option<Found>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a geometry or null")
    }

    fn visit_none<E>(self) -> Result<Self::Value, E> {
        Ok(None)
    }

    fn visit_unit<E>(self) -> Result<Self::Value, E> {
        Ok(None)
    }

    fn visit_some<D: serde::Deserializer<'de>>(self, json: D) -> Result<Self::Value, D::Error> {
        let node = Node {
            reader: self.0,
            is_root: false,
        };
        node.deserialize(json).map(Some)
    }
}

/// A list of objects, each taken as soon as it was read.
struct List<'a, T> {
    reader: &'a mut Reader,
    take: T,
    all: &'a mut Vec<Found>,
}

type Taken = Result<(), String>;

impl<'de, T: FnMut(&mut Reader, Found, &mut Vec<Found>) -> Taken> DeserializeSeed<'de>
    for List<'_, T>
{
    type Value = ();

    fn deserialize<D: serde::Deserializer<'de>>(self, json: D) -> Result<(), D::Error> {
        json.deserialize_seq(self)
    }
}

impl<'de, T: FnMut(&mut Reader, Found, &mut Vec<Found>) -> Taken> Visitor<'de> for List<'_, T> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a list")
    }

    fn visit_seq<A: SeqAccess<'de>>(mut self, mut list: A) -> Result<(), A::Error> {
        self.reader.path.push(Step::Index(0));
        let mut index = 0;
        while let Some(found) = list.next_element_seed(Node {
            reader: &mut *self.reader,
            is_root: false,
        })? {
            (self.take)(self.reader, found, self.all).map_err(A::Error::custom)?;
            index += 1;
            self.reader.at_element(index);
        }
        self.reader.path.pop();
        Ok(())
    }
}

/// Takes a feature, or a geometry that stands alone.
fn take(reader: &mut Reader, found: Found) -> Taken {
    if found.kind.as_deref() != Some("Feature") {
        return take_geometry(reader, found, &Properties::default());
    }
    let mut said = found.properties.unwrap_or_default();
    if let Some(start) = said.start.take() {
        reader.reading.stated.start = Some(start);
    }
    if let Some(leg) = said.leg.take() {
        let stated = StatedLeg {
            at: format!("{}/properties/trip_leg", reader.at()),
            leg: Leg { track: None, ..leg },
            track: match found.geometry {
                Some(line) if said.is_track => track(*line),
                _ => Vec::new(),
            },
        };
        let legs = &mut reader.reading.stated.legs;
        legs.push(stated);
        return if legs.len() > MOST_ITEMS {
            Err(format!("must hold at most {MOST_ITEMS} legs, got more"))
        } else {
            Ok(())
        };
    }
    if let Some(geometry) = found.geometry {
        return take_geometry(reader, *geometry, &said);
    }
    let name = "feature without a geometry";
    reader.reading.pass_over(name, str::to_owned);
    Ok(())
}

fn take_geometry(reader: &mut Reader, found: Found, said: &Properties) -> Taken {
    let kind = found.kind.unwrap_or_default();
    let coordinates = found.coordinates.unwrap_or(Coordinates::None);
    match (kind.as_str(), coordinates) {
        ("GeometryCollection", _) => {
            for geometry in found.geometries {
                take_geometry(reader, geometry, said)?;
            }
        }
        ("Polygon" | "MultiPolygon", _) => reader.reading.pass_over(&kind, str::to_owned),
        ("Point" | "MultiPoint" | "LineString" | "MultiLineString", Coordinates::None) => {
            let name = format!("{kind} without coordinates");
            reader.reading.pass_over(&name, str::to_owned);
        }
        ("Point", Coordinates::Position(point)) => take_points(reader, vec![point], said)?,
        ("MultiPoint", Coordinates::Line(points)) => take_points(reader, points, said)?,
        ("LineString", Coordinates::Line(points)) => take_lines(reader, vec![points], said)?,
        ("MultiLineString", Coordinates::Lists(lists)) => match lines(lists) {
            Some(lines) => take_lines(reader, lines, said)?,
            None => return wrong_depth(reader, &kind),
        },
        ("Point" | "MultiPoint" | "LineString" | "MultiLineString", _) => {
            return wrong_depth(reader, &kind);
        }
        ("FeatureCollection", _) => {
            return Err(
                "a FeatureCollection must have a list `features` and lie in no other".to_owned(),
            );
        }
        _ => {
            let got = if kind.is_empty() {
                "none".to_owned()
            } else {
                format!("`{kind}`")
            };
            return reader
                .problem::<serde_json::Error>(format!(
                    "type must be FeatureCollection, Feature, Point, MultiPoint, LineString, MultiLineString, Polygon, \
                     MultiPolygon or GeometryCollection, got {got}"
                ))
                .map_err(|error| error.to_string());
        }
    }
    Ok(())
}

fn wrong_depth(reader: &mut Reader, kind: &str) -> Taken {
    let holds = match kind {
        "Point" => "a position",
        "MultiLineString" => "lists of positions",
        _ => "a list of positions",
    };
    reader
        .problem::<serde_json::Error>(format!(
            "the coordinates of a {kind} must be {holds}, got lists of another depth"
        ))
        .map_err(|error| error.to_string())
}

/// The lists as lines; nothing where any is none.
fn lines(lists: Vec<Coordinates>) -> Option<Vec<Vec<Point>>> {
    let line = |list| match list {
        Coordinates::Line(points) => Some(points),
        _ => None,
    };
    lists.into_iter().map(line).collect()
}

fn take_points(reader: &mut Reader, points: Vec<Point>, said: &Properties) -> Taken {
    let reading = &mut reader.reading;
    reading
        .waypoints
        .extend(points.into_iter().map(|point| Waypoint {
            point,
            words: said.words.clone(),
        }));
    if reading.waypoints.len() > MOST_WAYPOINTS {
        return Err(format!(
            "must hold at most {MOST_WAYPOINTS} points, got more"
        ));
    }
    Ok(())
}

fn take_lines(reader: &mut Reader, parts: Vec<Vec<Point>>, said: &Properties) -> Taken {
    let name: Option<Arc<str>> = said.words.name.as_deref().map(Arc::from);
    let mut lines: Vec<Line> = Vec::new();
    for (part, points) in parts.into_iter().enumerate() {
        let times = said.times.get(part).cloned().unwrap_or_default();
        if let Some(before) = lines.last_mut()
            && let (Some(end), Some(begin)) = (before.points.last(), points.first())
            && is_cut(end, begin)
        {
            before.times.resize(before.points.len(), None);
            before.times.extend(times.into_iter().skip(1));
            before.points.extend(points.into_iter().skip(1));
            continue;
        }
        let mut line = Line::new(LineKind::Track, lines.len() + 1);
        line.name.clone_from(&name);
        line.points = points;
        line.times = times;
        lines.push(line);
    }
    for line in &mut lines {
        line.times.truncate(line.points.len());
        if line.times.iter().all(Option::is_none) {
            line.times = Vec::new();
        }
    }
    reader.reading.lines.extend(lines);
    if reader.reading.lines.len() > MOST_LINES {
        return Err(format!("must hold at most {MOST_LINES} lines, got more"));
    }
    Ok(())
}

/// Whether a line was cut between two points because it crosses the antimeridian there.
fn is_cut(end: &Point, begin: &Point) -> bool {
    let (end_lon, begin_lon) = (end.lon.get(), begin.lon.get());
    end_lon.abs() >= 180.0
        && (end_lon + begin_lon).abs() <= 0.0
        && (end.lat - begin.lat).get().abs() <= SAME_LATITUDE
}

/// The lines of a leg's track that this program wrote: the points that it put on the antimeridian go.
fn track(geometry: Found) -> Vec<Vec<Point>> {
    let parts = match geometry.coordinates {
        Some(Coordinates::Line(points)) => vec![points],
        Some(Coordinates::Lists(lists)) => lines(lists).unwrap_or_default(),
        _ => Vec::new(),
    };
    let mut lines: Vec<Vec<Point>> = Vec::new();
    for part in parts {
        match lines.last_mut() {
            Some(before)
                if before
                    .last()
                    .zip(part.first())
                    .is_some_and(|(end, begin)| is_cut(end, begin)) =>
            {
                before.pop();
                before.extend(part.into_iter().skip(1));
            }
            _ => lines.push(part),
        }
    }
    lines
}
