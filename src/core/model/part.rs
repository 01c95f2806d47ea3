//! The trip part by part, each as one JSON value: so a value is read or changed without writing out the rest of the
//! trip, the points of its tracks above all.

use std::collections::BTreeMap;

use json_patch::jsonptr::Pointer;
use serde::Serialize;
use serde_json::{Map, Value};

use super::Trip;
use super::check::{self, Parts, Problem, shown};
use super::field::{self, Kind, Node};
use super::route::Leg;
use super::trip::keep_read_tracks;

/// A part of the trip that is read and written as one, in the order of a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum TripPart {
    Version,
    Name,
    Notice,
    Vehicle,
    Load,
    Rules,
    Start,
    Legs,
    Leg(usize),
    WhatIfs,
    Log,
}

/// Why no value can be at a pointer.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PointerError {
    /// The text is no pointer, or one to the whole trip.
    #[error("must be a JSON Pointer such as /legs/0/surface")]
    Malformed,
    /// The trip has no such part.
    #[error("a trip has no part `{0}`")]
    Outside(
        /// First step of the pointer.
        String,
    ),
    /// There is no such leg.
    #[error("there is no such leg; {}", legs(*.count))]
    Leg {
        /// How many legs there are.
        count: usize,
    },
    /// An object on the route has no such field.
    #[error("{0}")]
    UnknownKey(
        /// The message, with the keys that the object has.
        String,
    ),
    /// A list on the route has no such item.
    #[error("there is no item `{step}`; the list has items 0 to {last}")]
    Item {
        /// The greatest number that an item has.
        last: usize,
        /// What the pointer has instead of one.
        step: String,
    },
    /// The list has no items at all.
    #[error("there is no item `{0}`; the list is empty")]
    Empty(
        /// What the pointer has for a number.
        String,
    ),
    /// A value on the route has no parts.
    #[error("there is no `{step}` in {found}")]
    Leaf {
        /// The value that is there instead.
        found: String,
        /// The step that cannot be made.
        step: String,
    },
    /// Legs are inserted as legs.
    #[error("a leg cannot be inserted as an item of a list")]
    ListOfLegs,
}

fn legs(count: usize) -> String {
    match count {
        1 => "the trip has 1 leg, /legs/0".to_owned(),
        count => format!(
            "the trip has {count} legs, /legs/0 to /legs/{}",
            count.saturating_sub(1)
        ),
    }
}

impl TripPart {
    /// All that a trip is made of.
    const ALL: [Self; 10] = [
        Self::Version,
        Self::Name,
        Self::Notice,
        Self::Vehicle,
        Self::Load,
        Self::Rules,
        Self::Start,
        Self::Legs,
        Self::WhatIfs,
        Self::Log,
    ];

    /// The part that a pointer leads to or into, and the steps from there.
    pub(super) fn from_pointer<'p>(
        pointer: &'p str,
        trip: &Trip,
    ) -> Result<(Self, &'p Pointer), PointerError> {
        let pointer = Pointer::parse(pointer).map_err(|_| PointerError::Malformed)?;
        let (first, rest) = pointer.split_front().ok_or(PointerError::Malformed)?;
        let first = first.decoded();
        let part = Self::ALL.into_iter().find(|part| part.key() == first);
        let part = part.ok_or_else(|| PointerError::Outside(first.into_owned()))?;
        if part == Self::Legs
            && let Some((number, inside)) = rest.split_front()
            && let Ok(index) = number.to_index()
            && let Ok(number) = index.for_len(trip.legs.len())
        {
            return Ok((Self::Leg(number), inside));
        }
        Ok((part, rest))
    }

    const fn key(self) -> &'static str {
        match self {
            Self::Version => "drystage",
            Self::Name => "name",
            Self::Notice => "notice",
            Self::Vehicle => "vehicle",
            Self::Load => "load",
            Self::Rules => "rules",
            Self::Start => "start",
            Self::Legs | Self::Leg(_) => "legs",
            Self::WhatIfs => "what_ifs",
            Self::Log => "log",
        }
    }

    /// The pointer to the part.
    pub(super) fn pointer(self) -> String {
        match self {
            Self::Leg(number) => format!("/legs/{number}"),
            whole => format!("/{}", whole.key()),
        }
    }

    /// The part in the table of fields.
    pub(super) fn node(self) -> &'static Node {
        let node = field::tree().child(self.key());
        let node = match self {
            Self::Leg(_) => node.and_then(|legs| legs.item.as_deref()),
            _ => node,
        };
        node.expect("the table has every part")
    }

    /// Whether a pointer that leads on by these steps refers to a leg's track, of all its points.
    pub(super) fn speaks_of_track(self, steps: &Pointer) -> bool {
        let first = steps.first();
        matches!(self, Self::Leg(_)) && first.is_none_or(|step| step.decoded() == "track")
    }

    /// The part as JSON; null where it is absent. A leg's track only if asked for.
    pub(super) fn read(self, trip: &Trip, with_track: bool) -> Value {
        fn json(part: &impl Serialize) -> Value {
            serde_json::to_value(part).expect("text keys and finite numbers")
        }
        match self {
            Self::Version => json(&trip.drystage),
            Self::Name => json(&trip.name),
            Self::Notice => json(&trip.notice),
            Self::Vehicle => json(&trip.vehicle),
            Self::Load => json(&trip.load),
            Self::Rules => json(&trip.rules),
            Self::Start => json(&trip.start),
            Self::Legs => json(&trip.legs),
            Self::Leg(index) if with_track => json(&trip.legs[index]),
            Self::Leg(index) => {
                // All but the points is small; a clone shares them.
                let mut leg = trip.legs[index].clone();
                leg.track = None;
                json(&leg)
            }
            Self::WhatIfs => json(&trip.what_ifs),
            Self::Log => json(&trip.log),
        }
    }

    /// Puts a value of the part into the trip, null for none.
    ///
    /// # Errors
    /// Everything that is wrong with the value by itself; then the trip is as it was.
    pub(super) fn write(
        self,
        trip: &mut Trip,
        value: Value,
        with_track: bool,
    ) -> Result<(), Vec<Problem>> {
        let may_be_absent = !self.node().is_required() && !matches!(self, Self::Leg(_));
        if !(may_be_absent && value.is_null()) {
            let problems = check::within(self.node(), &value, &self.pointer());
            if !problems.is_empty() {
                return Err(problems);
            }
        }
        // Nothing is known that passes the check and fails here; should there be, it is reported.
        self.put(trip, value, with_track)
            .map_err(|error| vec![Problem::new(self.pointer(), error.to_string())])
    }

    fn put(self, trip: &mut Trip, value: Value, with_track: bool) -> serde_json::Result<()> {
        use serde_json::from_value;
        match self {
            Self::Version => trip.drystage = from_value(value)?,
            Self::Name => trip.name = from_value(value)?,
            Self::Notice => trip.notice = from_value(value)?,
            Self::Vehicle => trip.vehicle = from_value(value)?,
            Self::Load => trip.load = from_value(value)?,
            Self::Rules => trip.rules = from_value(value)?,
            Self::Start => trip.start = from_value(value)?,
            Self::Legs => {
                let mut legs: Vec<Leg> = from_value(value)?;
                keep_read_tracks(&mut legs, &trip.legs);
                trip.legs = legs;
            }
            Self::Leg(index) => {
                let mut leg: Leg = from_value(value)?;
                if with_track {
                    keep_read_tracks(std::slice::from_mut(&mut leg), &trip.legs);
                } else {
                    leg.track = trip.legs[index].track.take();
                }
                trip.legs[index] = leg;
            }
            Self::WhatIfs => trip.what_ifs = from_value(value)?,
            Self::Log => trip.log = from_value(value)?,
        }
        Ok(())
    }
}

/// A document of those parts of a trip that some pointers refer to, to be changed.
pub(super) struct Excerpt<'a> {
    trip: &'a Trip,
    /// The parts, and whether legs are there with their tracks.
    parts: BTreeMap<TripPart, bool>,
    pub(super) document: Value,
}

impl<'a> Excerpt<'a> {
    pub(super) fn new<'p>(trip: &'a Trip, pointers: impl IntoIterator<Item = &'p str>) -> Self {
        let mut parts = BTreeMap::new();
        for pointer in pointers {
            match TripPart::from_pointer(pointer, trip) {
                // The number of a leg holds only as long as none comes or goes.
                Ok((TripPart::Leg(_), steps)) if steps.is_root() => {
                    parts.insert(TripPart::Legs, true);
                }
                Ok((part, steps)) => {
                    *parts.entry(part).or_default() |= part.speaks_of_track(steps);
                }
                Err(_) if pointer.is_empty() => {
                    parts.extend(TripPart::ALL.map(|part| (part, true)));
                }
                // Nothing of the trip is there.
                Err(_) => {}
            }
        }
        if parts.contains_key(&TripPart::Legs) {
            parts.retain(|part, _| !matches!(part, TripPart::Leg(_)));
        }
        let mut document = Map::new();
        for (&part, &with_track) in &parts {
            let value = part.read(trip, with_track);
            if let TripPart::Leg(number) = part {
                let legs = document.entry(part.key());
                legs.or_insert_with(|| vec![Value::Null; trip.legs.len()].into())[number] = value;
            } else if !value.is_null() {
                document.insert(part.key().to_owned(), value);
            }
        }
        Self {
            trip,
            parts,
            document: document.into(),
        }
    }

    /// The trip with the parts of the document.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub(super) fn finish(self) -> Result<Trip, Vec<Problem>> {
        let Value::Object(mut document) = self.document else {
            return Err(check::within(field::tree(), &self.document, ""));
        };
        let mut changed = self.trip.clone();
        let mut problems = Vec::new();
        let mut unsound = Vec::new();
        for (part, with_track) in self.parts {
            let value = match part {
                TripPart::Leg(number) => {
                    document.get_mut(part.key()).map(|legs| legs[number].take())
                }
                _ => document.remove(part.key()),
            };
            let faults = match value {
                None if part.node().is_required() => {
                    vec![Problem::new(part.pointer(), check::missing(part.node()))]
                }
                // A null that was put in is a value, and a wrong one.
                Some(Value::Null) => check::within(part.node(), &Value::Null, &part.pointer()),
                value => {
                    let value = value.unwrap_or_default();
                    let written = part.write(&mut changed, value, with_track);
                    written.err().unwrap_or_default()
                }
            };
            if !faults.is_empty() {
                unsound.push(part);
            }
            problems.extend(faults);
        }
        document.retain(|key, _| key != TripPart::Legs.key());
        problems.extend(document.keys().map(|key| {
            Problem::new(
                format!("/{}", check::shown_key(key)),
                check::unknown(field::tree(), key),
            )
        }));
        let mut parts = Parts::from(&changed);
        for part in unsound {
            parts.leave_out(part);
        }
        problems.extend(check::between(&parts));
        if problems.is_empty() {
            return Ok(changed);
        }
        problems.sort_by_cached_key(|problem| check::position(&problem.pointer));
        Err(problems)
    }
}

/// Where a pointer leads in a document.
pub(super) struct Spot<'a> {
    pub(super) value: &'a mut Value,
    /// After how many steps the first object is that had to be made for it.
    pub(super) made: Option<usize>,
}

/// The value at the end of `way`, made where it and the objects and lists above it are missing. With `may_append` the
/// number after the last of a list, or `-`, represents a new item.
pub(super) fn spot<'a>(
    document: &'a mut Value,
    node: &'static Node,
    way: &Pointer,
    may_append: bool,
) -> Result<Spot<'a>, PointerError> {
    let mut node = Some(node);
    let mut here = document;
    let mut made = None;
    let mut steps = way.tokens().enumerate().peekable();
    while let Some((depth, token)) = steps.next() {
        let step = token.decoded();
        if here.is_null() {
            made.get_or_insert(depth);
            match node.map(Node::kind) {
                Some(Kind::Object) => *here = Map::new().into(),
                Some(Kind::List { .. }) if may_append => *here = Vec::<Value>::new().into(),
                _ => {}
            }
        }
        here = match here {
            Value::Object(object) => {
                let inner = node.and_then(|node| node.child(&step));
                // A key at the end is reported by the check of the whole.
                if let (Some(outer), None, Some(_)) = (node, inner, steps.peek()) {
                    return Err(PointerError::UnknownKey(check::unknown(outer, &step)));
                }
                node = inner;
                object.entry(step).or_insert(Value::Null)
            }
            Value::Array(list) => {
                node = node.and_then(|node| node.item.as_deref());
                let length = list.len();
                let are_legs =
                    depth == 1 && way.first().is_some_and(|step| step.decoded() == "legs");
                let last = if may_append {
                    length
                } else {
                    let last = length.checked_sub(1);
                    last.ok_or_else(|| PointerError::Empty(step.to_string()))?
                };
                let index = token.to_index().ok();
                let index = index.and_then(|index| index.for_len_incl(last).ok());
                let index = index.ok_or_else(|| match length {
                    count if are_legs => PointerError::Leg { count },
                    0 => PointerError::Empty(step.to_string()),
                    count => PointerError::Item {
                        last: count - 1,
                        step: step.to_string(),
                    },
                })?;
                if index == length {
                    list.push(Value::Null);
                }
                &mut list[index]
            }
            other => {
                let nothing = other.is_null().then(|| "nothing".to_owned());
                return Err(PointerError::Leaf {
                    found: nothing.unwrap_or_else(|| shown(other)),
                    step: step.into_owned(),
                });
            }
        };
    }
    Ok(Spot { value: here, made })
}
