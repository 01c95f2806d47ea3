//! Every field of the trip file once: its path, its range, its default, one sentence of help.
//!
//! The checks, the JSON Schema, an editor and the generators of random trips all read [`all`]; a
//! test holds the table to the types that serde reads. A range limits what the model can still
//! compute with, not what is wise: it is wide, and what is unwise is a finding of the plan. What
//! must hold between several fields is in [`super::check`].

mod calibration;
mod fraction;
mod label;
mod load;
pub(super) mod route;
mod row;
mod trip;
mod vehicle;

use std::fmt;
use std::sync::LazyLock;

use serde_json::Value;

use super::calendar::{ClockTime, Date, UtcOffset};
use super::tyre::TyreSize;
pub use fraction::{PERCENT, TwoReadings, as_fraction, as_percent, of_percent, percent_text};
pub use row::{LATITUDE, LONGITUDE, SHARE, TRACK_HEIGHT};

/// One field of the trip file.
#[derive(Debug)]
pub struct Field {
    /// JSON Pointer with `*` for the index in a list: `/legs/*/distance_km`.
    pub path: &'static str,
    /// What the value may be.
    pub kind: Kind,
    /// What it means when the field is not there.
    pub if_absent: IfAbsent,
    /// One sentence of help.
    pub help: &'static str,
}

/// The last word of a key that names its unit.
const UNIT_WORDS: [&str; 10] = ["km", "m", "mm", "m2", "l", "kg", "kmh", "c", "h", "bar"];

/// Items of the longest list, as of legs and of fuel readings. A trip has 10 to 100 legs; planning takes time and
/// memory for each.
pub const MOST_ITEMS: usize = 10_000;
/// Items of a list of what is carried, or of which one or some are chosen.
pub(crate) const MOST_CHOICES: usize = 1000;

/// What the value of a field may be. Ranges include both ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    /// A number of `unit`.
    Number {
        /// The unit, as it is printed.
        unit: &'static str,
        /// The least that is accepted.
        min: f64,
        /// The most that is accepted.
        max: f64,
    },
    /// A whole number.
    Whole {
        /// The least that is accepted.
        min: u64,
        /// The most that is accepted.
        max: u64,
    },
    /// Text without control characters.
    Text {
        /// The most characters; the fewest is 1.
        longest: usize,
        /// Whether it may hold line breaks and tabs.
        lines: bool,
    },
    /// One word of a closed vocabulary.
    Choice(&'static [&'static str]),
    /// True or false.
    Flag,
    /// A tyre size as it is moulded on the tyre.
    TyreSize,
    /// A day of the calendar.
    Date,
    /// What local time is ahead of UTC.
    UtcOffset,
    /// A time of day.
    ClockTime,
    /// An object whose keys are fields of the table.
    Object,
    /// A list whose items are fields of the table.
    List {
        /// The fewest items.
        at_least: usize,
        /// The most items.
        at_most: usize,
    },
    /// The path of a GPX file beside the trip, or a list of `[lon, lat]` or `[lon, lat, height]`.
    Track,
    /// The operations of a JSON Patch (RFC 6902).
    Patch,
}

/// What it means when a field is not there.
#[derive(Clone, Copy, Debug)]
pub enum IfAbsent {
    /// The trip cannot be read.
    Refused,
    /// Nothing is known, or there is none.
    Nothing,
    /// A default number, in the field's unit.
    Number(f64),
    /// A default whole number.
    Whole(u64),
    /// A default word of the field's vocabulary.
    Word(&'static str),
    /// A default yes or no.
    Flag(bool),
    /// A phrase for a default that follows from other fields.
    Phrase(&'static str),
    /// Such a phrase with figures of the program in it.
    Derived(fn() -> String),
}

impl Field {
    /// The key of the field; `*` for the item of a list.
    pub fn key(&self) -> &'static str {
        self.path.rsplit('/').next().unwrap_or_default()
    }

    /// The plain name of the field, without its unit: `distance` for `distance_km`.
    pub fn label(&self) -> String {
        if let Some(name) = label::name(self.path) {
            return name.to_owned();
        }
        let key = self.key();
        let bare = key.strip_suffix("_l_per_100km").unwrap_or(key);
        let words: Vec<&str> = bare.split('_').collect();
        let is_unit = |word: &&str| UNIT_WORDS.contains(word);
        let kept = match words.as_slice() {
            [kept @ .., unit] if !kept.is_empty() && is_unit(unit) => kept,
            all => all,
        };
        kept.join(" ")
    }

    /// Whether the trip cannot be read without the field.
    pub fn is_required(&self) -> bool {
        matches!(self.if_absent, IfAbsent::Refused)
    }
}

impl Kind {
    /// Whether `value` is of this kind, its parts not looked at.
    pub fn admits(&self, value: &Value) -> bool {
        match value {
            Value::Null => false,
            Value::Bool(_) => matches!(self, Self::Flag),
            Value::Number(number) => match number.as_u64() {
                Some(whole) => self.admits_whole(whole),
                None => number.as_f64().is_some_and(|v| self.admits_number(v)),
            },
            Value::String(text) => self.admits_text(text),
            Value::Array(list) => match *self {
                Self::List { at_least, at_most } => (at_least..=at_most).contains(&list.len()),
                _ => matches!(self, Self::Track | Self::Patch),
            },
            Value::Object(_) => matches!(self, Self::Object),
        }
    }

    /// Whether a whole number that is not below 0 is of this kind.
    fn admits_whole(&self, value: u64) -> bool {
        match *self {
            Self::Whole { min, max } => (min..=max).contains(&value),
            _ => self.admits_number(value as f64),
        }
    }

    /// Whether any other number is of this kind.
    pub(in crate::model) fn admits_number(&self, value: f64) -> bool {
        matches!(*self, Self::Number { min, max, .. } if (min..=max).contains(&value))
    }

    /// Whether a text is of this kind.
    pub(in crate::model) fn admits_text(&self, text: &str) -> bool {
        match *self {
            Self::Text { longest, lines } => {
                let clean = |c: char| !c.is_control() || (lines && matches!(c, '\n' | '\t'));
                let mut length = 0;
                text.chars().all(|c| {
                    length += 1;
                    clean(c)
                }) && (1..=longest).contains(&length)
            }
            Self::Choice(words) => words.contains(&text),
            Self::TyreSize => TyreSize::parse(text).is_ok(),
            Self::Date => Date::parse(text).is_some(),
            Self::UtcOffset => UtcOffset::parse(text).is_some(),
            Self::ClockTime => ClockTime::parse(text).is_some(),
            _ => matches!(self, Self::Track),
        }
    }

    /// Whether `value` has the JSON type of this kind, whatever its size.
    pub(crate) fn has_type_of(&self, value: &Value) -> bool {
        match self {
            Self::Number { .. } | Self::Whole { .. } => value.is_number(),
            Self::Text { .. }
            | Self::Choice(_)
            | Self::TyreSize
            | Self::Date
            | Self::UtcOffset
            | Self::ClockTime => value.is_string(),
            Self::List { .. } => value.is_array(),
            Self::Flag | Self::Object | Self::Track | Self::Patch => self.admits(value),
        }
    }
}

/// What would be right: `0.5 to 8 L`.
impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::Number { unit, min, max } => {
                let space = if unit.is_empty() { "" } else { " " };
                write!(f, "{min} to {max}{space}{unit}")
            }
            Self::Whole { min, max } if min == max => write!(f, "{min}"),
            Self::Whole { min, max } => write!(f, "a whole number, {min} to {max}"),
            Self::Text { longest, lines } => {
                let lines = if lines { " on any number of lines" } else { "" };
                write!(
                    f,
                    "1 to {longest} characters{lines}"
                )
            }
            Self::Choice(words) => match words {
                [others @ .., last] if !others.is_empty() => {
                    write!(f, "{} or {last}", others.join(", "))
                }
                _ => f.write_str(&words.join(", ")),
            },
            Self::Flag => f.write_str("true or false"),
            Self::TyreSize => f.write_str("a tyre size such as 215/75R15"),
            Self::Date => f.write_str("a date such as 2026-07-14"),
            Self::UtcOffset => f.write_str("a UTC offset such as +05:30"),
            Self::ClockTime => f.write_str("a time such as 07:30"),
            Self::Object => f.write_str("an object"),
            Self::List { at_least: 0, .. } => f.write_str("a list"),
            Self::List { at_least, at_most } if at_least == at_most => {
                write!(f, "a list of {at_least} items")
            }
            Self::List { at_least, .. } => write!(f, "a list with at least {at_least} item"),
            Self::Track => f.write_str(
                "the path of a GPX file beside the trip, a list of points [lon, lat] or [lon, lat, altitude], or a list of such lists",
            ),
            Self::Patch => f.write_str("a list of JSON Patch operations (RFC 6902)"),
        }
    }
}

/// The default in words; `None` if the field is required or its absence means nothing.
impl fmt::Display for IfAbsent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Refused | Self::Nothing => Ok(()),
            Self::Number(value) => write!(f, "{value}"),
            Self::Whole(value) => write!(f, "{value}"),
            Self::Word(word) => f.write_str(word),
            Self::Flag(answer) => write!(f, "{answer}"),
            Self::Phrase(phrase) => f.write_str(phrase),
            Self::Derived(phrase) => f.write_str(&phrase()),
        }
    }
}

/// A field with the fields inside it, to walk a document and the table side by side.
#[derive(Debug)]
pub struct Node {
    /// The key of the field; `*` for the item of a list, nothing for the trip itself.
    pub key: &'static str,
    /// The field; the root, which is the trip itself, has none.
    pub field: Option<&'static Field>,
    /// The fields of an object, in the order of the table.
    pub children: Vec<Node>,
    /// The item of a list.
    pub item: Option<Box<Node>>,
}

impl Node {
    /// What the value may be.
    pub fn kind(&self) -> Kind {
        self.field.map_or(Kind::Object, |field| field.kind)
    }

    /// Whether the trip cannot be read without the field.
    pub fn is_required(&self) -> bool {
        self.field.is_some_and(Field::is_required)
    }

    /// The field inside this one that is under `key`.
    pub fn child(&self, key: &str) -> Option<&Self> {
        self.children.iter().find(|node| node.key == key)
    }

    fn at(path: &str, field: Option<&'static Field>) -> Self {
        let inside = |field: &&'static Field| {
            let parent = field.path.rsplit_once('/');
            parent.is_some_and(|(parent, _)| parent == path)
        };
        let mut node = Self {
            key: field.map_or("", Field::key),
            field,
            children: Vec::new(),
            item: None,
        };
        // Every start waits for this table, and most fields hold no others.
        if !matches!(node.kind(), Kind::Object | Kind::List { .. }) {
            return node;
        }
        for field in all().filter(inside) {
            let child = Self::at(field.path, Some(field));
            if field.key() == "*" {
                node.item = Some(Box::new(child));
            } else {
                node.children.push(child);
            }
        }
        node
    }
}

/// Every field, each object before its parts, in the order in which a file is written.
pub fn all() -> impl Iterator<Item = &'static Field> {
    [
        trip::HEAD,
        vehicle::FIELDS,
        calibration::FIELDS,
        load::FIELDS,
        trip::RULES,
        route::FIELDS,
        trip::TAIL,
    ]
    .into_iter()
    .flatten()
}

/// The table as a tree whose root is the trip.
pub fn tree() -> &'static Node {
    static TREE: LazyLock<Node> = LazyLock::new(|| Node::at("", None));
    &TREE
}

/// The field at a JSON Pointer, whose numbers represent the `*` of the table.
pub fn at_pointer(pointer: &str) -> Option<&'static Field> {
    let mut node = tree();
    for step in pointer.split('/').skip(1) {
        node = match node.item.as_deref() {
            Some(item) if step == "-" || step.parse::<usize>().is_ok() => item,
            _ => node.child(step)?,
        };
    }
    node.field
}

/// The field at a pattern path.
pub fn field(path: &str) -> Option<&'static Field> {
    all().find(|field| field.path == path)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use serde_json::json;

    use super::*;
    use crate::model::schema::schema;
    use crate::model::{Trip, check};
    use crate::quantity::Percent;

    /// Adds the path of everything inside `schema`, and the paths of what is required.
    fn paths_of(
        schema: &Value,
        at: &str,
        all: &mut BTreeSet<String>,
        required: &mut BTreeSet<String>,
    ) {
        for (key, property) in schema["properties"].as_object().into_iter().flatten() {
            let path = format!("{at}/{key}");
            paths_of(property, &path, all, required);
            all.insert(path);
        }
        for key in schema["required"].as_array().into_iter().flatten() {
            required.insert(format!("{at}/{}", key.as_str().unwrap()));
        }
        let is_patch = field(at).is_some_and(|field| field.kind == Kind::Patch);
        if let Some(items) = schema.get("items").filter(|_| !is_patch) {
            let path = format!("{at}/*");
            paths_of(items, &path, all, required);
            all.insert(path);
        }
    }

    #[test]
    fn the_table_and_the_types_have_the_same_fields() {
        let (mut typed, mut typed_required) = (BTreeSet::new(), BTreeSet::new());
        paths_of(&schema(), "", &mut typed, &mut typed_required);
        let table: BTreeSet<String> = all().map(|field| field.path.to_owned()).collect();
        assert_eq!(table, typed);
        assert_eq!(table.len(), all().count(), "no field twice");
        let required = all()
            .filter(|field| field.is_required())
            .map(|field| field.path.to_owned())
            .collect();
        assert_eq!(typed_required, required);
    }

    #[test]
    fn every_default_is_legal() {
        for field in all() {
            let default = match field.if_absent {
                IfAbsent::Number(value) => json!(value),
                IfAbsent::Whole(value) => json!(value),
                IfAbsent::Word(word) => json!(word),
                IfAbsent::Flag(answer) => json!(answer),
                _ => continue,
            };
            assert!(field.kind.admits(&default), "{}: {default}", field.path);
        }
    }

    #[test]
    fn derived_defaults_are_said() {
        let default_of = |path| field(path).unwrap().if_absent.to_string();
        assert_eq!(
            default_of("/vehicle/cylinders"),
            "4; 3 below 1.1 L, 6 above 3.2 L"
        );
        assert_eq!(default_of("/vehicle/unusable_l"), "4 % of the tank");
        assert_eq!(
            default_of("/legs/*/both_share"),
            "0.7 × the smaller share + 0.3 × their product"
        );
        for field in all() {
            let empty = field.if_absent.to_string().is_empty();
            let has_none = matches!(field.if_absent, IfAbsent::Refused | IfAbsent::Nothing);
            assert_eq!(empty, has_none, "{}", field.path);
        }
    }

    /// What the accessors give when nothing is stated is the default of the table.
    #[test]
    fn accessors_give_the_documented_defaults() {
        let trip: Trip = check::read(json!({
            "drystage": 1,
            "vehicle": { "fuel": "petrol", "engine_l": 1.5, "baseline_l_per_100km": 9, "tank_l": 50, "kerb_mass_kg": 1200 },
            "load": {
                "people": [{ "name": "a", "mass_kg": 70 }],
                "gear": [{ "name": "b", "mass_kg": 5 }],
                "roof": { "shape": "bars" },
                "cans": [{ "size_l": 20, "empty_kg": 4 }]
            },
            "start": { "name": "c", "fuel": {} },
            "legs": [{ "to": "d", "distance_km": 10, "return": {} }],
            "log": [{ "place_number": 0, "odometer_km": 0, "tank_left_l": 50 }]
        }))
        .unwrap();
        let (vehicle, load, rules) = (&trip.vehicle, trip.load(), trip.rules());
        let (leg, stop) = (&trip.legs[0], trip.start.fuel.as_ref().unwrap());
        let (can, item, log) = (&load.cans()[0], &load.gear()[0], &trip.log()[0]);
        let given = [
            ("/vehicle/induction", json!(vehicle.induction())),
            (
                "/vehicle/baseline_speed_kmh",
                json!(vehicle.baseline_speed()),
            ),
            ("/vehicle/baseline_from", json!(vehicle.baseline_from())),
            ("/vehicle/drag_area_m2", json!(vehicle.drag_area())),
            (
                "/vehicle/driveline_efficiency",
                json!(vehicle.driveline_efficiency()),
            ),
            ("/vehicle/kerb_from", json!(vehicle.kerb_from())),
            (
                "/vehicle/kerb_includes/driver_kg",
                json!(vehicle.kerb_driver()),
            ),
            (
                "/vehicle/kerb_includes/tank_share",
                json!(vehicle.kerb_tank_share()),
            ),
            (
                "/vehicle/kerb_includes/accessories_kg",
                json!(vehicle.kerb_accessories()),
            ),
            ("/vehicle/tyres/tread", json!(vehicle.tread())),
            ("/vehicle/tyres/road_bar", json!(vehicle.road_pressure())),
            ("/load/people/*/seat", json!(load.people()[0].seat())),
            ("/load/gear/*/place", json!(item.place())),
            ("/load/gear/*/water", json!(item.is_water())),
            ("/load/roof/mass_kg", json!(load.roof_carrier_mass())),
            ("/load/cans/*/owned", json!(can.owned())),
            ("/load/cans/*/may_buy", json!(can.may_buy())),
            ("/load/cans/*/fill_share", json!(can.fill() / can.size_l)),
            ("/rules/reserve/km", json!(rules.reserve_km())),
            (
                "/rules/contingency_percent",
                json!(Percent::new(rules.contingency().get() * 100.0)),
            ),
            ("/rules/success_target", json!(rules.success_target())),
            ("/rules/unconfirmed_stops", json!(rules.unconfirmed_stops())),
            ("/rules/start_cans_l", json!(rules.start_cans())),
            ("/rules/objective", json!(rules.objective())),
            ("/rules/longest_day_h", json!(rules.longest_day())),
            (
                "/rules/water_l_per_person_day",
                json!(rules.water_per_person_day()),
            ),
            ("/rules/units", json!(rules.units())),
            ("/rules/seed", json!(rules.seed())),
            ("/start/fuel/chance", json!(stop.chance())),
            ("/start/fuel/rely", json!(stop.rely())),
            ("/start/fuel/detour_km", json!(stop.detour())),
            ("/legs/*/surface", json!(leg.surface())),
            (
                "/legs/*/surface_known_share",
                json!(leg.surface_known_share()),
            ),
            ("/legs/*/sand_share", json!(leg.sand_share())),
            ("/legs/*/dune_share", json!(leg.dune_share())),
            ("/legs/*/low_range_share", json!(leg.low_range_share())),
            ("/legs/*/aired_down", json!(leg.is_aired_down())),
            ("/legs/*/aircon", json!(leg.has_aircon())),
            ("/legs/*/return/possible", json!(leg.can_return())),
            ("/log/*/cans_left_l", json!(log.cans_left())),
            ("/log/*/how", json!(log.how())),
            ("/log/*/filled_l", json!(log.filled())),
        ];
        for (path, given) in given {
            let stated = match field(path).unwrap().if_absent {
                IfAbsent::Number(value) => value.to_string(),
                IfAbsent::Whole(value) => value.to_string(),
                IfAbsent::Word(word) => word.to_owned(),
                IfAbsent::Flag(answer) => answer.to_string(),
                other => panic!("{path}: {other:?}"),
            };
            let given = given.as_str().map_or(given.to_string(), str::to_owned);
            assert_eq!(given, stated, "{path}");
        }
    }
}
