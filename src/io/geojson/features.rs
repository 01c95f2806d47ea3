//! What features and geometries add to the reading.

use std::sync::Arc;

use ::geojson::{Feature, GeoJson, Geometry, GeometryValue, JsonObject, Position};
use serde::de::DeserializeOwned;
use serde_json::Value;

use super::fault::{Cause, Fault, pointer};
use super::{MOST_PROBLEMS, Reader};
use crate::io::moment::Moment;
use crate::io::reading::{
    LONGEST_NAME, LONGEST_NOTE, Line, LineKind, MOST_LINES, MOST_WAYPOINTS, StatedLeg, Waypoint,
    Words,
};
use crate::io::text::plain;
use crate::model::field::{MOST_ITEMS, TRACK_HEIGHT};
use crate::model::geodesic::wrapped;
use crate::model::route::{Leg, Start};
use crate::model::track::Point;
use crate::quantity::{Degrees, Metres};

/// How near to each other two latitudes on the antimeridian are one, in degrees: a few millimetres.
const SAME_LATITUDE: f64 = 1e-7;

/// The properties that are taken.
#[derive(Default)]
struct Properties {
    words: Words,
    /// Times of each part of a line.
    times: Vec<Vec<Option<Moment>>>,
    /// A leg or a start as the trip file states it.
    leg: Option<Leg>,
    start: Option<Start>,
    /// Whether the line of a stated leg is its track, and not a straight line in its stead.
    is_track: bool,
}

impl Reader {
    /// Takes what the file's object holds besides features.
    pub(super) fn take_root(&mut self, mut root: GeoJson) -> Result<(), Fault> {
        let members = match &mut root {
            GeoJson::FeatureCollection(all) => &mut all.foreign_members,
            GeoJson::Feature(feature) => &mut feature.foreign_members,
            GeoJson::Geometry(geometry) => &mut geometry.foreign_members,
        };
        if let Some(members) = members {
            for key in ["title", "name"] {
                if let Some(title) = members.shift_remove(key) {
                    self.reading.title = text(&title, LONGEST_NAME).map(Arc::from);
                }
            }
            if let Some(creator) = members.shift_remove("creator") {
                self.reading.creator = text(&creator, LONGEST_NAME);
            }
        }
        match root {
            GeoJson::FeatureCollection(all) => {
                self.pass_over(all.foreign_members);
                Ok(())
            }
            // What is alone is taken like a feature of a collection.
            alone => self.take(alone, ""),
        }
    }

    /// Takes a feature, or a geometry that is alone.
    pub(super) fn take(&mut self, found: GeoJson, at: &str) -> Result<(), Fault> {
        match found {
            GeoJson::Feature(feature) => self.take_feature(feature, at),
            GeoJson::Geometry(geometry) => self.take_geometry(geometry, at, &Properties::default()),
            GeoJson::FeatureCollection(_) => Err(Fault::at(at, Cause::NestedCollection)),
        }
    }

    fn take_feature(&mut self, feature: Feature, at: &str) -> Result<(), Fault> {
        self.pass_over(feature.foreign_members);
        let properties = feature.properties.unwrap_or_default();
        let mut properties = self.properties(properties, &format!("{at}/properties"))?;
        let at_geometry = format!("{at}/geometry");
        if let Some(start) = properties.start.take() {
            self.reading.stated.start = Some(start);
        }
        if let Some(leg) = properties.leg.take() {
            let stated = StatedLeg {
                at: format!("{at}/properties/trip_leg"),
                leg: Leg { track: None, ..leg },
                track: match feature.geometry {
                    Some(geometry) if properties.is_track => {
                        self.track(geometry.value, &at_geometry)?
                    }
                    _ => Vec::new(),
                },
            };
            let legs = &mut self.reading.stated.legs;
            legs.push(stated);
            return within(legs.len(), MOST_ITEMS, at, Cause::ManyLegs);
        }
        if let Some(geometry) = feature.geometry {
            return self.take_geometry(geometry, &at_geometry, &properties);
        }
        let name = "feature without a geometry";
        self.reading.pass_over(name, str::to_owned);
        Ok(())
    }

    fn take_geometry(
        &mut self,
        geometry: Geometry,
        at: &str,
        properties: &Properties,
    ) -> Result<(), Fault> {
        self.pass_over(geometry.foreign_members);
        let kind = geometry.value.type_name();
        let inner = format!("{at}/coordinates");
        match geometry.value {
            GeometryValue::GeometryCollection { geometries } => {
                for (n, geometry) in geometries.into_iter().enumerate() {
                    self.take_geometry(geometry, &format!("{at}/geometries/{n}"), properties)?;
                }
                Ok(())
            }
            GeometryValue::Point { coordinates } => {
                let point = self.point(&coordinates, || inner)?;
                self.take_points(vec![point], at, properties)
            }
            GeometryValue::MultiPoint { coordinates } if !coordinates.is_empty() => {
                let points = self.points(&coordinates, &inner)?;
                self.take_points(points, at, properties)
            }
            GeometryValue::LineString { coordinates } if !coordinates.is_empty() => {
                let points = self.points(&coordinates, &inner)?;
                self.take_lines(vec![points], at, properties)
            }
            GeometryValue::MultiLineString { coordinates } if !coordinates.is_empty() => {
                let lines = self.lines(&coordinates, &inner)?;
                self.take_lines(lines, at, properties)
            }
            GeometryValue::Polygon { .. } | GeometryValue::MultiPolygon { .. } => {
                self.reading.pass_over(kind, str::to_owned);
                Ok(())
            }
            _ => {
                let name = format!("{kind} without coordinates");
                self.reading.pass_over(&name, str::to_owned);
                Ok(())
            }
        }
    }

    fn take_points(
        &mut self,
        points: Vec<Point>,
        at: &str,
        properties: &Properties,
    ) -> Result<(), Fault> {
        let all = &mut self.reading.waypoints;
        all.extend(points.into_iter().map(|point| Waypoint {
            point,
            words: properties.words.clone(),
        }));
        within(all.len(), MOST_WAYPOINTS, at, Cause::ManyWaypoints)
    }

    fn take_lines(
        &mut self,
        parts: Vec<Vec<Point>>,
        at: &str,
        properties: &Properties,
    ) -> Result<(), Fault> {
        let name: Option<Arc<str>> = properties.words.name.as_deref().map(Arc::from);
        let mut lines: Vec<Line> = Vec::new();
        for (part, points) in parts.into_iter().enumerate() {
            let times = properties.times.get(part).cloned().unwrap_or_default();
            if let Some(before) = lines.last_mut()
                && is_cut(&before.points, &points)
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
        self.reading.lines.extend(lines);
        within(self.reading.lines.len(), MOST_LINES, at, Cause::ManyLines)
    }

    /// The lines of a leg's track that this program wrote: the points that it put on the antimeridian go.
    fn track(&mut self, geometry: GeometryValue, at: &str) -> Result<Vec<Vec<Point>>, Fault> {
        let parts = match geometry {
            GeometryValue::LineString { coordinates } => vec![coordinates],
            GeometryValue::MultiLineString { coordinates } => coordinates,
            _ => Vec::new(),
        };
        let mut lines: Vec<Vec<Point>> = Vec::new();
        for part in self.lines(&parts, &format!("{at}/coordinates"))? {
            match lines.last_mut() {
                Some(before) if is_cut(before, &part) => {
                    before.pop();
                    before.extend(part.into_iter().skip(1));
                }
                _ => lines.push(part),
            }
        }
        Ok(lines)
    }

    fn lines(&mut self, lines: &[Vec<Position>], at: &str) -> Result<Vec<Vec<Point>>, Fault> {
        let lines = lines.iter().enumerate();
        lines
            .map(|(n, line)| self.points(line, &format!("{at}/{n}")))
            .collect()
    }

    fn points(&mut self, positions: &[Position], at: &str) -> Result<Vec<Point>, Fault> {
        let positions = positions.iter().enumerate();
        positions
            .map(|(n, position)| self.point(position, || format!("{at}/{n}")))
            .collect()
    }

    /// The point at a position. One that is wrong is noted, so that the rest is read, too, and represents a point
    /// that nobody will see.
    fn point(&mut self, position: &Position, at: impl FnOnce() -> String) -> Result<Point, Fault> {
        let wrong = match *position.as_slice() {
            [lon, ..] if lon.abs() > 360.0 => Cause::NoPosition {
                name: "longitude",
                most: 180,
                got: lon.to_string(),
            },
            [_, lat, ..] if lat.abs() > 90.0 => Cause::NoPosition {
                name: "latitude",
                most: 90,
                got: lat.to_string(),
            },
            // What follows the height has no meaning (RFC 7946, 3.1.1).
            [lon, lat, ref height @ ..] => {
                let stated = height.first().copied();
                let height = stated.filter(|&height| TRACK_HEIGHT.admits(&height.into()));
                self.reading.unusable_heights += u64::from(height.is_none() && stated.is_some());
                return Ok(Point {
                    lon: wrapped(Degrees::new(lon)),
                    lat: Degrees::new(lat),
                    height: height.map(Metres::new),
                });
            }
            ref short => Cause::ShortPosition(short.len()),
        };
        let fault = Fault::at(at(), wrong);
        if self.salvage || self.problems.len() + 1 >= MOST_PROBLEMS {
            return Err(fault);
        }
        self.problems.push(fault);
        Ok(Point {
            lon: Degrees::ZERO,
            lat: Degrees::ZERO,
            height: None,
        })
    }

    /// What a feature's properties state of its line or point.
    fn properties(&mut self, properties: JsonObject, at: &str) -> Result<Properties, Fault> {
        let mut found = Properties::default();
        let mut title = None;
        for (key, value) in properties {
            let words = &mut found.words;
            match key.as_str() {
                "name" => words.name = text(&value, LONGEST_NAME),
                "title" => title = text(&value, LONGEST_NAME),
                "desc" | "description" => words.description = text(&value, LONGEST_NOTE),
                "sym" | "symbol" | "marker-symbol" => words.symbol = text(&value, LONGEST_NAME),
                "type" | "kind" => words.kind = text(&value, LONGEST_NAME),
                "coordTimes" => found.times = times(&value),
                "coordinateProperties" => found.times = times(&value["times"]),
                "is_track" => {
                    found.is_track = text(&value, LONGEST_NAME).as_deref() == Some("true");
                }
                "trip_leg" => found.leg = Some(stated(value, &format!("{at}/{key}"))?),
                "trip_start" => found.start = Some(stated(value, &format!("{at}/{key}"))?),
                _ => self.reading.pass_over(&key, |key| plain(key, LONGEST_NAME)),
            }
        }
        found.words.name = found.words.name.or(title);
        Ok(found)
    }

    fn pass_over(&mut self, members: Option<JsonObject>) {
        for (key, _) in members.unwrap_or_default() {
            self.reading.pass_over(&key, |key| plain(key, LONGEST_NAME));
        }
    }
}

fn within(number: usize, most: usize, at: &str, otherwise: Cause) -> Result<(), Fault> {
    if number > most {
        Err(Fault::at(at, otherwise))
    } else {
        Ok(())
    }
}

/// A text, shortened; `None` where there is something else or nothing in it.
fn text(value: &Value, longest: usize) -> Option<String> {
    let text = match value {
        Value::String(text) => plain(text, longest),
        Value::Number(number) => number.to_string(),
        Value::Bool(word) => word.to_string(),
        Value::Null | Value::Array(_) | Value::Object(_) => String::new(),
    };
    (!text.is_empty()).then_some(text)
}

/// Times of the points of a line, or of each part of it.
fn times(value: &Value) -> Vec<Vec<Option<Moment>>> {
    let moments = |list: &[Value]| {
        let moment = |time: &Value| time.as_str().and_then(Moment::parse);
        list.iter().map(moment).collect()
    };
    let Some(list) = value.as_array() else {
        return Vec::new();
    };
    if list.iter().any(Value::is_array) {
        let parts = list.iter().map(|part| part.as_array());
        return parts
            .map(|part| part.map_or_else(Vec::new, |part| moments(part)))
            .collect();
    }
    vec![moments(list)]
}

/// A start or a leg as the trip file states it.
fn stated<T: DeserializeOwned>(value: Value, at: &str) -> Result<T, Fault> {
    serde_path_to_error::deserialize(value).map_err(|error| {
        let message = plain(&error.inner().to_string(), 400);
        let at = format!("{at}{}", pointer(error.path()));
        Fault::at(at, Cause::UnfitProperty(message))
    })
}

/// Whether a line was cut between two parts because it crosses the antimeridian there.
fn is_cut(before: &[Point], behind: &[Point]) -> bool {
    let (Some(end), Some(begin)) = (before.last(), behind.first()) else {
        return false;
    };
    let (end_lon, begin_lon) = (end.lon.get(), begin.lon.get());
    end_lon.abs() >= 180.0
        && (end_lon + begin_lon).abs() <= 0.0
        && (end.lat - begin.lat).get().abs() <= SAME_LATITUDE
}
