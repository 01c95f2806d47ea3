//! A document in which every key appears once.

use std::cell::RefCell;
use std::fmt;

use serde::Deserializer;
use serde::de::{DeserializeSeed, Error as _, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Number, Value};

use super::{Problem, shown_key};

/// What is wrong with a key that an object has twice.
pub const TWICE: &str = "this key appears twice; delete one of the two";
/// Most keys that appear twice and are listed.
const MOST_TWICE: usize = 1000;

/// The document, and the keys that appear twice; the first value of such a key counts.
///
/// # Errors
/// Those of the text, and when far too many keys appear twice.
pub fn document<'de, D: Deserializer<'de>>(
    deserializer: D,
) -> Result<(Value, Vec<Problem>), D::Error> {
    let twice = RefCell::new(Vec::new());
    let once = Once {
        twice: &twice,
        at: &At::Root,
    };
    let document = once.deserialize(deserializer)?;
    Ok((document, twice.into_inner()))
}

/// The way down to a value, kept on the stack and put into words only when needed.
enum At<'a> {
    Root,
    Key(&'a At<'a>, &'a str),
    Index(&'a At<'a>, usize),
}

/// As a JSON Pointer.
impl fmt::Display for At<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            At::Root => Ok(()),
            At::Key(above, key) => write!(f, "{above}/{}", shown_key(key)),
            At::Index(above, index) => write!(f, "{above}/{index}"),
        }
    }
}

/// Builds a document in which every key appears once, and notes those that appear twice.
struct Once<'a> {
    twice: &'a RefCell<Vec<Problem>>,
    at: &'a At<'a>,
}

impl<'de> DeserializeSeed<'de> for Once<'_> {
    type Value = Value;

    fn deserialize<D: serde::Deserializer<'de>>(self, deserializer: D) -> Result<Value, D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Once<'_> {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_unit<E>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_bool<E>(self, value: bool) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_i64<E>(self, value: i64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_u64<E>(self, value: u64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_f64<E: serde::de::Error>(self, value: f64) -> Result<Value, E> {
        let number = Number::from_f64(value).ok_or_else(|| E::custom("number out of range"))?;
        Ok(number.into())
    }

    fn visit_str<E>(self, value: &str) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_string<E>(self, value: String) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Value, A::Error> {
        let mut values = Vec::new();
        while let Some(value) = list.next_element_seed(Once {
            twice: self.twice,
            at: &At::Index(self.at, values.len()),
        })? {
            values.push(value);
        }
        Ok(values.into())
    }

    fn visit_map<A: MapAccess<'de>>(self, mut object: A) -> Result<Value, A::Error> {
        let mut map = Map::new();
        while let Some(key) = object.next_key::<String>()? {
            let at = At::Key(self.at, &key);
            let value = object.next_value_seed(Once {
                twice: self.twice,
                at: &at,
            })?;
            if map.contains_key(&key) {
                let mut twice = self.twice.borrow_mut();
                if twice.len() >= MOST_TWICE {
                    return Err(A::Error::custom("too many keys appear twice"));
                }
                twice.push(Problem::new(at.to_string(), TWICE));
            } else {
                map.insert(key, value);
            }
        }
        Ok(map.into())
    }
}
