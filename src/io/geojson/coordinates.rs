//! Positions, and lists of them to any depth that a geometry has.

use std::fmt;

use serde::de::{DeserializeSeed, Error, IgnoredAny, MapAccess, SeqAccess, Visitor};

use super::{LONGEST_VALUE, Reader, Step};
use crate::io::reading::MOST_POINTS;
use crate::io::text::plain;
use crate::model::field::TRACK_HEIGHT;
use crate::model::geodesic::wrapped;
use crate::model::track::Point;
use crate::quantity::{Degrees, Metres};

/// What `coordinates` holds.
pub(super) enum Coordinates {
    /// Nothing, or an empty list.
    None,
    Position(Point),
    /// Positions.
    Line(Vec<Point>),
    /// Lists of positions, or deeper.
    Lists(Vec<Coordinates>),
}

/// Reads coordinates.
pub(super) struct Place<'a>(pub(super) &'a mut Reader);

/// An element of a list.
enum Element {
    Number(f64),
    Null,
    /// Neither a number nor a list.
    Other(String),
    List(Coordinates),
}

struct ElementSeed<'a>(&'a mut Reader);

impl<'de> DeserializeSeed<'de> for Place<'_> {
    type Value = Coordinates;

    fn deserialize<D: serde::Deserializer<'de>>(self, json: D) -> Result<Coordinates, D::Error> {
        match ElementSeed(&mut *self.0).deserialize(json)? {
            Element::List(coordinates) => Ok(coordinates),
            Element::Null => Ok(Coordinates::None),
            Element::Number(number) => {
                self.0
                    .problem(format!("coordinates must be a list, got {number}"))?;
                Ok(Coordinates::None)
            }
            Element::Other(found) => {
                self.0
                    .problem(format!("coordinates must be a list, got {found}"))?;
                Ok(Coordinates::None)
            }
        }
    }
}

impl<'de> DeserializeSeed<'de> for ElementSeed<'_> {
    type Value = Element;

    fn deserialize<D: serde::Deserializer<'de>>(self, json: D) -> Result<Element, D::Error> {
        json.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for ElementSeed<'_> {
    type Value = Element;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("numbers, or lists of positions")
    }

    fn visit_f64<E>(self, number: f64) -> Result<Element, E> {
        Ok(Element::Number(number))
    }

    fn visit_i64<E>(self, number: i64) -> Result<Element, E> {
        Ok(Element::Number(number as f64))
    }

    fn visit_u64<E>(self, number: u64) -> Result<Element, E> {
        Ok(Element::Number(number as f64))
    }

    fn visit_unit<E>(self) -> Result<Element, E> {
        Ok(Element::Null)
    }

    fn visit_bool<E>(self, word: bool) -> Result<Element, E> {
        Ok(Element::Other(word.to_string()))
    }

    fn visit_str<E>(self, text: &str) -> Result<Element, E> {
        Ok(Element::Other(format!("`{}`", plain(text, LONGEST_VALUE))))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Element, A::Error> {
        while map.next_entry::<IgnoredAny, IgnoredAny>()?.is_some() {}
        Ok(Element::Other("an object".to_owned()))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, list: A) -> Result<Element, A::Error> {
        let reader = self.0;
        reader.check_depth()?;
        reader.path.push(Step::Index(0));
        let found = read_list(reader, list)?;
        reader.path.pop();
        Ok(Element::List(found))
    }
}

fn read_list<'de, A: SeqAccess<'de>>(
    reader: &mut Reader,
    mut list: A,
) -> Result<Coordinates, A::Error> {
    let first = match list.next_element_seed(ElementSeed(&mut *reader))? {
        None => return Ok(Coordinates::None),
        Some(Element::List(first)) => first,
        Some(number) => return position(reader, number, list).map(Coordinates::Position),
    };
    let mut points = Vec::new();
    let mut lists = Vec::new();
    let mut next = Some(first);
    let mut index = 0;
    while let Some(element) = next {
        match element {
            Coordinates::Position(point) if lists.is_empty() => {
                points.push(point);
                reader.points += 1;
                if reader.points > MOST_POINTS {
                    return Err(A::Error::custom(format!(
                        "must hold at most {MOST_POINTS} positions, got more"
                    )));
                }
            }
            Coordinates::None if points.is_empty() => {}
            list @ (Coordinates::Line(_) | Coordinates::Lists(_)) if points.is_empty() => {
                lists.push(list);
            }
            _ => reader
                .problem("a list must hold positions, or lists of them, got both".to_owned())?,
        }
        index += 1;
        reader.at_element(index);
        next = match list.next_element_seed(ElementSeed(&mut *reader))? {
            None => None,
            Some(Element::List(element)) => Some(element),
            Some(Element::Number(number)) => {
                return Err(A::Error::custom(format!(
                    "must be a position as [lon, lat] or a list of them, got {number}"
                )));
            }
            Some(_) => {
                return Err(A::Error::custom(
                    "must be a position as [lon, lat] or a list of them",
                ));
            }
        };
    }
    points.shrink_to_fit();
    Ok(match (points.is_empty(), lists.is_empty()) {
        (false, _) => Coordinates::Line(points),
        (true, false) => Coordinates::Lists(lists),
        (true, true) => Coordinates::None,
    })
}

/// A position of which the first element was read.
fn position<'de, A: SeqAccess<'de>>(
    reader: &mut Reader,
    first: Element,
    mut list: A,
) -> Result<Point, A::Error> {
    let mut elements = [first, Element::Null, Element::Null];
    let mut length = 1;
    while let Some(element) = list.next_element_seed(ElementSeed(&mut *reader))? {
        // What follows the height has no meaning (RFC 7946, 3.1.1).
        if let Some(place) = elements.get_mut(length) {
            *place = element;
        }
        length += 1;
    }
    // The path is that of the position.
    let inner = reader.path.pop();
    let point = checked(reader, &elements, length);
    reader.path.extend(inner);
    point
}

fn checked<E: Error>(
    reader: &mut Reader,
    elements: &[Element; 3],
    length: usize,
) -> Result<Point, E> {
    let nowhere = Point {
        lon: Degrees::ZERO,
        lat: Degrees::ZERO,
        height: None,
    };
    if length < 2 {
        reader.problem(format!(
            "a position must be [lon, lat] or [lon, lat, height], got {length} number"
        ))?;
        return Ok(nowhere);
    }
    let within = |element: &Element, most: f64| match element {
        Element::Number(number) if number.abs() <= most => Some(*number),
        _ => None,
    };
    let (lon, lat) = (within(&elements[0], 360.0), within(&elements[1], 90.0));
    let (Some(lon), Some(lat)) = (lon, lat) else {
        let (name, most, wrong) = if lon.is_none() {
            ("longitude", 180, &elements[0])
        } else {
            ("latitude", 90, &elements[1])
        };
        reader.problem(format!(
            "a position must be [lon, lat] with a {name} of -{most} to {most} degrees, got {}",
            told(wrong)
        ))?;
        return Ok(nowhere);
    };
    let height = match &elements[2] {
        Element::Null => None,
        Element::Number(height) if TRACK_HEIGHT.admits(&(*height).into()) => {
            Some(Metres::new(*height))
        }
        _ => {
            reader.reading.unusable_heights += 1;
            None
        }
    };
    Ok(Point {
        lon: wrapped(Degrees::new(lon)),
        lat: Degrees::new(lat),
        height,
    })
}

fn told(element: &Element) -> String {
    match element {
        Element::Number(number) => number.to_string(),
        Element::Null => "null".to_owned(),
        Element::Other(text) => text.clone(),
        Element::List(_) => "a list".to_owned(),
    }
}
