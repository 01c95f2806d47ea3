//! A sound trip, read from a text straight into its types, each value looked at beside the table of fields as it
//! comes in.
//!
//! Nearly every file is sound, and this is the short way for those: there is no tree of the document, and nothing
//! is explained. At the first thing that is wrong it gives up; then the document is read into a tree and walked
//! ([`super::walk`]), which tells everything. So what is refused here is only read more slowly, but what is taken
//! here must be what the long way takes, and give the same trip: tests hold the two to one another.

use std::fmt;

use serde::de::value::{BorrowedStrDeserializer, StringDeserializer};
use serde::de::{DeserializeSeed, Error, IntoDeserializer, MapAccess, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer, forward_to_deserialize_any};

use super::walk::lies_below;
use super::{between, is_sound, once};
use crate::model::Trip;
use crate::model::field::{self, Kind, LATITUDE, LONGITUDE, MOST_ITEMS, Node, TRACK_HEIGHT};
use crate::model::track::{Point, Track};

/// Reads a trip that is sound in every way.
///
/// # Errors
/// When anything is wrong; what, is for [`super::read`] to tell.
pub fn read_sound<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Trip, D::Error> {
    let trip = Trip::deserialize(Beside {
        node: field::tree(),
        inner: deserializer,
    })?;
    let mut tracks = trip.legs.iter().filter_map(|leg| leg.track.as_ref());
    if !tracks.all(is_sound_track) || !between(&trip, None).is_empty() {
        return Err(refused());
    }
    Ok(trip)
}

fn refused<E: Error>() -> E {
    E::custom("is no sound trip")
}

/// What reads a value, or takes one in, beside the field of the value.
struct Beside<I> {
    node: &'static Node,
    inner: I,
}

/// Hands the value on to the type that reads it, through the look at it.
impl<'de, D: Deserializer<'de>> Deserializer<'de> for Beside<D> {
    type Error = D::Error;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, D::Error> {
        match self.node.kind() {
            // What a track is made of is strict by its type, but for its range, which is looked at afterwards.
            Kind::Track => self.inner.deserialize_any(visitor),
            Kind::Patch => {
                let (patch, twice) = once::document(self.inner)?;
                if !twice.is_empty() || !is_sound(self.node, &patch) {
                    return Err(refused());
                }
                patch.deserialize_any(visitor).map_err(Error::custom)
            }
            _ => self.inner.deserialize_any(Beside {
                node: self.node,
                inner: visitor,
            }),
        }
    }

    /// A value that is there; a null, which says nothing, is refused as one.
    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, D::Error> {
        visitor.visit_some(self)
    }

    /// A word, and no other form in which serde takes a choice.
    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, D::Error> {
        let word: StringDeserializer<D::Error> = String::deserialize(self)?.into_deserializer();
        visitor.visit_enum(word)
    }

    forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf unit unit_struct
        newtype_struct seq tuple tuple_struct map struct identifier ignored_any
    }
}

/// Looks at the value. What has no function here, as null, is refused.
impl<'de, V: Visitor<'de>> Visitor<'de> for Beside<V> {
    type Value = V::Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.node.kind())
    }

    fn visit_bool<E: Error>(self, value: bool) -> Result<V::Value, E> {
        self.only_if(|kind| kind == Kind::Flag)?.visit_bool(value)
    }

    fn visit_i64<E: Error>(self, value: i64) -> Result<V::Value, E> {
        self.only_if(|kind| kind.admits_number(value as f64))?
            .visit_i64(value)
    }

    fn visit_u64<E: Error>(self, value: u64) -> Result<V::Value, E> {
        self.only_if(|kind| kind.admits_whole(value))?
            .visit_u64(value)
    }

    fn visit_f64<E: Error>(self, value: f64) -> Result<V::Value, E> {
        self.only_if(|kind| kind.admits_number(value))?
            .visit_f64(value)
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<V::Value, E> {
        self.only_if(|kind| kind.admits_text(text))?.visit_str(text)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, list: A) -> Result<V::Value, A::Error> {
        let (Kind::List { at_least }, Some(item)) = (self.node.kind(), &self.node.item) else {
            return Err(refused());
        };
        self.inner.visit_seq(Items {
            list,
            item,
            at_least,
            met: 0,
        })
    }

    fn visit_map<A: MapAccess<'de>>(self, object: A) -> Result<V::Value, A::Error> {
        let node = self.node;
        self.only_if(|kind| kind == Kind::Object)?
            .visit_map(Fields {
                object,
                node,
                next: 0,
            })
    }
}

impl<V> Beside<V> {
    fn only_if<E: Error>(self, admitted: impl FnOnce(Kind) -> bool) -> Result<V, E> {
        if admitted(self.node.kind()) {
            Ok(self.inner)
        } else {
            Err(refused())
        }
    }
}

impl<'de, S: DeserializeSeed<'de>> DeserializeSeed<'de> for Beside<S> {
    type Value = S::Value;

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<S::Value, D::Error> {
        self.inner.deserialize(Beside {
            node: self.node,
            inner: deserializer,
        })
    }
}

/// A list, each of its values beside the field of the item.
struct Items<A> {
    list: A,
    item: &'static Node,
    at_least: usize,
    /// How many have come.
    met: usize,
}

impl<'de, A: SeqAccess<'de>> SeqAccess<'de> for Items<A> {
    type Error = A::Error;

    fn next_element_seed<S: DeserializeSeed<'de>>(
        &mut self,
        inner: S,
    ) -> Result<Option<S::Value>, A::Error> {
        let node = self.item;
        let value = self.list.next_element_seed(Beside { node, inner })?;
        self.met += usize::from(value.is_some());
        let too_few = value.is_none() && self.met < self.at_least;
        if too_few || self.met > MOST_ITEMS {
            return Err(refused());
        }
        Ok(value)
    }
}

/// An object, each of its values beside the field of its key. That no key stands twice and none is missing, the
/// type sees to.
struct Fields<A> {
    object: A,
    node: &'static Node,
    /// The number, among the fields of the object, of the one behind the one last met.
    next: usize,
}

impl<'de, A: MapAccess<'de>> MapAccess<'de> for Fields<A> {
    type Error = A::Error;

    fn next_key_seed<S: DeserializeSeed<'de>>(
        &mut self,
        seed: S,
    ) -> Result<Option<S::Value>, A::Error> {
        let name = Name {
            fields: &self.node.children,
            next: self.next,
        };
        let Some(here) = self.object.next_key_seed(name)? else {
            return Ok(None);
        };
        self.next = here + 1;
        let key = BorrowedStrDeserializer::new(self.node.children[here].key);
        seed.deserialize(key).map(Some)
    }

    fn next_value_seed<S: DeserializeSeed<'de>>(&mut self, inner: S) -> Result<S::Value, A::Error> {
        let node = &self.node.children[self.next - 1];
        self.object.next_value_seed(Beside { node, inner })
    }
}

/// The number of the field of a key. It is mostly one of the next, since files are written in the order of the table.
struct Name {
    fields: &'static [Node],
    next: usize,
}

impl<'de> DeserializeSeed<'de> for Name {
    type Value = usize;

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<usize, D::Error> {
        deserializer.deserialize_str(self)
    }
}

impl Visitor<'_> for Name {
    type Value = usize;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a key of the table")
    }

    fn visit_str<E: Error>(self, key: &str) -> Result<usize, E> {
        let (before, behind) = self.fields.split_at(self.next);
        let is_it = |field: &Node| field.key == key;
        let behind = behind.iter().position(is_it).map(|nth| self.next + nth);
        behind
            .or_else(|| before.iter().position(is_it))
            .ok_or_else(refused)
    }
}

/// Whether a track is what the walk lets through.
fn is_sound_track(track: &Track) -> bool {
    let is_sound_point = |point: &Point| {
        LONGITUDE.admits_number(point.lon.get())
            && LATITUDE.admits_number(point.lat.get())
            && TRACK_HEIGHT.admits_number(point.height.unwrap_or_default().get())
    };
    if let Track::File { path, .. } = track {
        return lies_below(path);
    }
    track.lines().iter().all(|line| {
        let points = line.points();
        points.len() >= 2 && points.iter().all(is_sound_point)
    })
}
