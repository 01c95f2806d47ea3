//! Reads `GeoJSON` (RFC 7946): a collection, a feature or a bare geometry.
//!
//! Taken: lines as tracks, each part of a `MultiLineString` a segment, points as waypoints; of a feature's
//! properties its name (or title), description, symbol and type, and the times of a line's points where they
//! are in `coordTimes` or `coordinateProperties.times` (common practice, no source). Positions are longitude,
//! latitude and height; a longitude up to 360 is turned back into −180 to 180, and a line that was cut at the
//! antimeridian, as the RFC requires, is one line again. Areas, other members and other properties are passed over
//! and listed.
//!
//! A leg as this program's own reports state it (`trip_leg`) comes back as it was.
//!
//! The `geojson` crate reads the objects; a collection is taken feature by feature, so that no more than one is held
//! at a time. What one may hold is bounded by the bytes and by the values of the file; nesting is bounded by the JSON
//! reader. Damage is reported with its line, a wrong position with its path (RFC 6901).

mod fault;
mod features;

use std::fmt;
use std::io::{self, BufReader, Read};

use ::geojson::GeoJson;
use serde::Deserialize;
use serde::de::value::MapAccessDeserializer;
use serde::de::{DeserializeSeed, Error, IntoDeserializer, MapAccess, SeqAccess, Visitor};
use serde_json::Value;
use serde_path_to_error::{Deserializer, Track};

use super::reading::Reading;
pub(crate) use fault::{Cause, Fault};

/// Problems that are reported before reading stops.
const MOST_PROBLEMS: usize = 20;
/// A file larger than this is refused.
const LARGEST: u64 = 128 << 20;
/// Values of one file: one in a feature needs up to two hundred bytes until the feature is taken, so that all of them
/// in one take about a gigabyte.
const MOST_VALUES: u64 = 5_000_000;

/// Reads a file. With `salvage`, damage is no error: what precedes it is taken, and
/// [`Reading::salvaged_before`] is where it stopped.
///
/// # Errors
/// Every wrong position up to twenty, or whatever made it impossible to read on.
pub fn read(mut bytes: impl Read, salvage: bool) -> Result<Reading, Vec<Fault>> {
    read_from(&mut bytes, salvage)
}

/// Reads from any source; not generic, so that it is compiled once.
fn read_from(bytes: &mut dyn Read, salvage: bool) -> Result<Reading, Vec<Fault>> {
    let mut reader = Reader {
        salvage,
        ..Reader::default()
    };
    reader.reading.encoding = "UTF-8";
    let bytes = Bounded {
        bytes,
        read: 0,
        values: 0,
    };
    let mut json = serde_json::Deserializer::from_reader(BufReader::new(bytes));
    let mut track = Track::new();
    let done = Root(&mut reader)
        .deserialize(Deserializer::new(&mut json, &mut track))
        .and_then(|()| json.end());
    if let Err(error) = done {
        let line = error.line() as u64;
        let fault = match reader.stopped.take() {
            Some(fault) => fault,
            None => Fault::new(error, &track.path()),
        };
        if salvage {
            reader.reading.salvaged_before = Some(super::text::TextError {
                line,
                message: fault.cause.to_string(),
            });
        } else {
            reader.problems.push(fault);
        }
    }
    if reader.problems.is_empty() {
        Ok(reader.reading)
    } else {
        Err(reader.problems)
    }
}

/// A stream that must not hold more than so many bytes and values.
struct Bounded<'a> {
    bytes: &'a mut dyn Read,
    read: u64,
    values: u64,
}

impl Read for Bounded<'_> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let length = self.bytes.read(into)?;
        self.read += length as u64;
        // Each value but the first follows one of these.
        let begins = |byte: &&u8| matches!(byte, b',' | b'[' | b'{');
        self.values += into[..length].iter().filter(begins).count() as u64;
        if self.read > LARGEST {
            return Err(io::Error::other(Cause::Large));
        }
        if self.values > MOST_VALUES {
            return Err(io::Error::other(Cause::ManyValues));
        }
        Ok(length)
    }
}

/// What has been read.
#[derive(Default)]
struct Reader {
    salvage: bool,
    reading: Reading,
    problems: Vec<Fault>,
    /// What ended the reading, unless the JSON did.
    stopped: Option<Fault>,
}

/// The object of the whole file.
struct Root<'a>(&'a mut Reader);

impl<'de> DeserializeSeed<'de> for Root<'_> {
    type Value = ();

    fn deserialize<D: serde::Deserializer<'de>>(self, json: D) -> Result<(), D::Error> {
        json.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for Root<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an object of GeoJSON: a FeatureCollection, a Feature or a geometry")
    }

    fn visit_map<A: MapAccess<'de>>(self, members: A) -> Result<(), A::Error> {
        let streamed = Streamed {
            members,
            reader: &mut *self.0,
            at_features: false,
        };
        let root = GeoJson::deserialize(MapAccessDeserializer::new(streamed))?;
        self.0.take_root(root).map_err(|fault| self.0.stop(fault))
    }
}

/// The members of the file's object, of which the features are taken one by one; the list that is left is empty.
struct Streamed<'a, A> {
    members: A,
    reader: &'a mut Reader,
    at_features: bool,
}

impl<'de, A: MapAccess<'de>> MapAccess<'de> for Streamed<'_, A> {
    type Error = A::Error;

    fn next_key_seed<K: DeserializeSeed<'de>>(
        &mut self,
        seed: K,
    ) -> Result<Option<K::Value>, A::Error> {
        let Some(key) = self.members.next_key::<String>()? else {
            return Ok(None);
        };
        match key.as_str() {
            "features" => {
                self.members.next_value_seed(Features(self.reader))?;
                self.at_features = true;
            }
            "drystage" => return Err(self.reader.stop(Fault::at("", Cause::IsTrip))),
            _ => {}
        }
        seed.deserialize(key.into_deserializer()).map(Some)
    }

    fn next_value_seed<V: DeserializeSeed<'de>>(&mut self, seed: V) -> Result<V::Value, A::Error> {
        if std::mem::take(&mut self.at_features) {
            let none = Value::Array(Vec::new());
            return seed.deserialize(none).map_err(A::Error::custom);
        }
        self.members.next_value_seed(seed)
    }
}

/// The features of a collection.
struct Features<'a>(&'a mut Reader);

impl<'de> DeserializeSeed<'de> for Features<'_> {
    type Value = ();

    fn deserialize<D: serde::Deserializer<'de>>(self, json: D) -> Result<(), D::Error> {
        json.deserialize_seq(self)
    }
}

impl<'de> Visitor<'de> for Features<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a list of features")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<(), A::Error> {
        let mut index = 0;
        while let Some(feature) = list.next_element::<GeoJson>()? {
            self.0
                .take(feature, &format!("/features/{index}"))
                .map_err(|fault| self.0.stop(fault))?;
            index += 1;
        }
        Ok(())
    }
}

impl Reader {
    fn stop<E: Error>(&mut self, fault: Fault) -> E {
        let error = E::custom(&fault.cause);
        self.stopped = Some(fault);
        error
    }
}
