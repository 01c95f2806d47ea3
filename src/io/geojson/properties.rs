//! What a feature's properties say of its line or point.

use std::fmt;

use serde::de::{DeserializeSeed, Error, IgnoredAny, MapAccess, SeqAccess, Visitor};

use super::{Reader, Step};
use crate::io::moment::Moment;
use crate::io::reading::{LONGEST_NAME, LONGEST_NOTE, MOST_POINTS, Words};
use crate::io::text::plain;
use crate::model::route::{Leg, Start};

/// The properties that are taken.
#[derive(Default)]
pub(super) struct Properties {
    pub(super) words: Words,
    /// Times of each part of a line.
    pub(super) times: Vec<Vec<Option<Moment>>>,
    /// A leg or a start as the trip file states it.
    pub(super) leg: Option<Leg>,
    pub(super) start: Option<Start>,
    /// Whether the line of a stated leg is its track, and not a straight line in its stead.
    pub(super) is_track: bool,
}

/// Reads properties.
pub(super) struct Said<'a>(pub(super) &'a mut Reader);

impl<'de> DeserializeSeed<'de> for Said<'_> {
    type Value = Properties;

    fn deserialize<D: serde::Deserializer<'de>>(self, json: D) -> Result<Properties, D::Error> {
        json.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Said<'_> {
    type Value = Properties;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("properties to be an object or null")
    }

    fn visit_unit<E>(self) -> Result<Properties, E> {
        Ok(Properties::default())
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Properties, A::Error> {
        let reader = self.0;
        let mut found = Properties::default();
        let mut title = None;
        while let Some(key) = map.next_key::<String>()? {
            reader.path.push(Step::Key(plain(&key, LONGEST_NAME)));
            let words = &mut found.words;
            match key.as_str() {
                "name" => words.name = map.next_value_seed(Text(LONGEST_NAME))?,
                "title" => title = map.next_value_seed(Text(LONGEST_NAME))?,
                "desc" | "description" | "says" => {
                    words.description = map.next_value_seed(Text(LONGEST_NOTE))?;
                }
                "sym" | "symbol" | "marker-symbol" => {
                    words.symbol = map.next_value_seed(Text(LONGEST_NAME))?;
                }
                "type" | "kind" => words.kind = map.next_value_seed(Text(LONGEST_NAME))?,
                "coordTimes" => found.times = map.next_value_seed(Times(&mut reader.times))?,
                "coordinateProperties" => {
                    found.times = map.next_value_seed(InnerTimes(&mut reader.times))?;
                }
                "is_track" => {
                    let word = map.next_value_seed(Text(LONGEST_NAME))?;
                    found.is_track = word.as_deref() == Some("true");
                }
                "trip_leg" => found.leg = Some(map.next_value()?),
                "trip_start" => found.start = Some(map.next_value()?),
                _ => {
                    map.next_value::<IgnoredAny>()?;
                    reader
                        .reading
                        .pass_over(&key, |key| plain(key, LONGEST_NAME));
                }
            }
            reader.path.pop();
        }
        found.words.name = found.words.name.or(title);
        Ok(found)
    }
}

/// A text, shortened; nothing where there is something else or nothing in it.
pub(super) struct Text(pub(super) usize);

impl<'de> DeserializeSeed<'de> for Text {
    type Value = Option<String>;

    fn deserialize<D: serde::Deserializer<'de>>(self, json: D) -> Result<Self::Value, D::Error> {
        json.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Text {
    type Value = Option<String>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a text")
    }

    fn visit_str<E>(self, text: &str) -> Result<Self::Value, E> {
        Ok(Some(plain(text, self.0)).filter(|text| !text.is_empty()))
    }

    fn visit_f64<E>(self, number: f64) -> Result<Self::Value, E> {
        Ok(Some(number.to_string()))
    }

    fn visit_i64<E>(self, number: i64) -> Result<Self::Value, E> {
        Ok(Some(number.to_string()))
    }

    fn visit_u64<E>(self, number: u64) -> Result<Self::Value, E> {
        Ok(Some(number.to_string()))
    }

    fn visit_bool<E>(self, word: bool) -> Result<Self::Value, E> {
        Ok(Some(word.to_string()))
    }

    fn visit_unit<E>(self) -> Result<Self::Value, E> {
        Ok(None)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Self::Value, A::Error> {
        while list.next_element::<IgnoredAny>()?.is_some() {}
        Ok(None)
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
        while map.next_entry::<IgnoredAny, IgnoredAny>()?.is_some() {}
        Ok(None)
    }
}

/// Times of the points of a line, or of each part of it.
struct Times<'a>(&'a mut usize);

enum Timed {
    Moment(Option<Moment>),
    List(Vec<Timed>),
}

impl<'de> DeserializeSeed<'de> for Times<'_> {
    type Value = Vec<Vec<Option<Moment>>>;

    fn deserialize<D: serde::Deserializer<'de>>(self, json: D) -> Result<Self::Value, D::Error> {
        let Timed::List(list) = OneTime(self.0).deserialize(json)? else {
            return Ok(Vec::new());
        };
        let moment = |time: &Timed| match time {
            Timed::Moment(moment) => *moment,
            Timed::List(_) => None,
        };
        if list.iter().any(|time| matches!(time, Timed::List(_))) {
            let parts = list.iter().map(|part| match part {
                Timed::List(part) => part.iter().map(moment).collect(),
                Timed::Moment(_) => Vec::new(),
            });
            return Ok(parts.collect());
        }
        Ok(vec![list.iter().map(moment).collect()])
    }
}

struct OneTime<'a>(&'a mut usize);

impl<'de> DeserializeSeed<'de> for OneTime<'_> {
    type Value = Timed;

    fn deserialize<D: serde::Deserializer<'de>>(self, json: D) -> Result<Timed, D::Error> {
        json.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for OneTime<'_> {
    type Value = Timed;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("times")
    }

    fn visit_str<E>(self, text: &str) -> Result<Timed, E> {
        Ok(Timed::Moment(Moment::parse(text)))
    }

    fn visit_f64<E>(self, _: f64) -> Result<Timed, E> {
        Ok(Timed::Moment(None))
    }

    fn visit_i64<E>(self, _: i64) -> Result<Timed, E> {
        Ok(Timed::Moment(None))
    }

    fn visit_u64<E>(self, _: u64) -> Result<Timed, E> {
        Ok(Timed::Moment(None))
    }

    fn visit_bool<E>(self, _: bool) -> Result<Timed, E> {
        Ok(Timed::Moment(None))
    }

    fn visit_unit<E>(self) -> Result<Timed, E> {
        Ok(Timed::Moment(None))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Timed, A::Error> {
        let mut times = Vec::new();
        while let Some(time) = list.next_element_seed(OneTime(&mut *self.0))? {
            times.push(time);
            *self.0 += 1;
            if *self.0 > MOST_POINTS {
                return Err(A::Error::custom(format!(
                    "must hold at most {MOST_POINTS} times, got more"
                )));
            }
        }
        Ok(Timed::List(times))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Timed, A::Error> {
        while map.next_entry::<IgnoredAny, IgnoredAny>()?.is_some() {}
        Ok(Timed::Moment(None))
    }
}

/// The times within `coordinateProperties`.
struct InnerTimes<'a>(&'a mut usize);

impl<'de> DeserializeSeed<'de> for InnerTimes<'_> {
    type Value = Vec<Vec<Option<Moment>>>;

    fn deserialize<D: serde::Deserializer<'de>>(self, json: D) -> Result<Self::Value, D::Error> {
        json.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for InnerTimes<'_> {
    type Value = Vec<Vec<Option<Moment>>>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("coordinateProperties to be an object")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
        let mut times = Vec::new();
        while let Some(key) = map.next_key::<String>()? {
            if key == "times" {
                times = map.next_value_seed(Times(&mut *self.0))?;
            } else {
                map.next_value::<IgnoredAny>()?;
            }
        }
        Ok(times)
    }
}
