//! The rules between fields of a trip.

use std::collections::HashMap;

use serde_json::{Map, Value};

use super::Found;
use crate::model::field::{self, Kind, Node, fitted};
use crate::model::fitted::COMPONENTS;
use crate::model::{route, vehicle};

/// What must be left of the kerb mass once fuel, driver and accessories are taken from it, in kg.
const LEAST_EMPTY_KG: f64 = 300.0;
/// No petrol or diesel is heavier (EN 590 ends at 0.845 kg/L), in kg/L.
const HEAVIEST_FUEL: f64 = 0.85;
/// Two positions of one place may differ by this many degrees, about a kilometre.
const SAME_PLACE_DEGREES: f64 = 0.01;
/// Sums of shares and quotients may miss their limit by this much, since decimals are not exact.
const ROUNDING: f64 = 1e-9;

/// Adds to `found` whatever is wrong between values that are sound by themselves.
pub(super) fn across(document: &Value, found: &mut Found) {
    let Some(trip) = Part::trip(document) else {
        return;
    };
    let vehicle = trip.part("vehicle");
    if let Some(vehicle) = &vehicle {
        masses(vehicle, found);
        pressures(vehicle, found);
        covariance(vehicle, found);
    }
    let tank = vehicle.as_ref().and_then(|vehicle| {
        let tank = vehicle.number("tank_l")?;
        if let Some(unusable) = vehicle.number("unusable_l")
            && unusable >= tank
        {
            let says = format!("must be less than the tank's {tank} L, got {unusable}");
            vehicle.tell("unusable_l", says, found);
        }
        Some(tank)
    });
    if let (Some(rules), Some(tank)) = (trip.part("rules"), tank)
        && let Some(start) = rules.number("start_l")
        && start > tank
    {
        let says = format!("must be at most the tank's {tank} L, got {start}");
        rules.tell("start_l", says, found);
    }
    for reading in trip.items("log") {
        if let (Some(left), Some(tank)) = (reading.number("tank_left_l"), tank)
            && left > tank
        {
            let says = format!("must be at most the tank's {tank} L, got {left}");
            reading.tell("tank_left_l", says, found);
        }
    }
    if let Some(load) = trip.part("load") {
        for can in load.items("cans") {
            twice_carried(&can, found);
        }
    }
    legs(&trip, found);
    same_places(&trip, found);
    same_names(&trip, found);
    readings(&trip, found);
}

fn masses(vehicle: &Part, found: &mut Found) {
    let Some(kerb) = vehicle.number("kerb_mass_kg") else {
        return;
    };
    if let Some(gvm) = vehicle.number("gvm_kg")
        && gvm <= kerb
    {
        let says = format!("must be more than the kerb mass of {kerb} kg, got {gvm}");
        vehicle.tell("gvm_kg", says, found);
    }
    if let Some(axles) = vehicle.part("axles")
        && let Some(front) = axles.number("front_kerb_kg")
        && front >= kerb
    {
        let says = format!("must be less than the kerb mass of {kerb} kg, got {front}");
        axles.tell("front_kerb_kg", says, found);
    }
    let includes = vehicle.part("kerb_includes");
    let included = |key| includes.as_ref().and_then(|part| part.number(key));
    let fuel = included("tank_share").unwrap_or(vehicle::KERB_TANK_SHARE.get())
        * vehicle.number("tank_l").unwrap_or_default()
        * HEAVIEST_FUEL;
    let other =
        included("driver_kg").unwrap_or_default() + included("accessories_kg").unwrap_or_default();
    let empty = kerb - fuel - other;
    if empty < LEAST_EMPTY_KG {
        let says = format!(
            "must leave at least {LEAST_EMPTY_KG} kg of empty vehicle, got {kerb} kg less {:.0} kg of fuel, driver and accessories",
            fuel + other
        );
        vehicle.tell("kerb_mass_kg", says, found);
    }
}

fn pressures(vehicle: &Part, found: &mut Found) {
    let Some(tyres) = vehicle.part("tyres") else {
        return;
    };
    let road = tyres
        .number("road_bar")
        .unwrap_or(vehicle::ROAD_PRESSURE.get());
    if let Some(soft) = tyres.number("soft_bar")
        && soft > road
    {
        let says = format!("must be at most the road pressure of {road} bar, got {soft}");
        tyres.tell("soft_bar", says, found);
    }
}

/// A covariance is a square that is the same across its diagonal, and no two factors lean on one another more than
/// fully.
fn covariance(vehicle: &Part, found: &mut Found) {
    let Some(part) = vehicle.part("fitted") else {
        return;
    };
    let rows = part.list("covariance");
    if rows.is_empty() {
        return;
    }
    let number = |row: usize, column: usize| rows.get(row)?.get(column)?.as_f64();
    let sized = rows.len() == COMPONENTS
        && rows
            .iter()
            .all(|row| row.as_array().is_some_and(|row| row.len() == COMPONENTS));
    if !sized {
        let says = format!("must be {COMPONENTS} rows of {COMPONENTS} numbers");
        return part.tell("covariance", says, found);
    }
    for row in 0..COMPONENTS {
        for column in 0..=row {
            let (Some(here), Some(across), Some(a), Some(b)) = (
                number(row, column),
                number(column, row),
                number(row, row),
                number(column, column),
            ) else {
                continue;
            };
            let variances = row == column || (a >= 0.0 && b >= 0.0);
            if !variances || !fitted::COVARIANCE.admits(&here.into()) {
                continue;
            }
            let says = if row == column && here < 0.0 {
                format!("must be 0 or more, since it is a variance, got {here}")
            } else if (here - across).abs() > ROUNDING * (a * b).abs().sqrt() {
                format!("must be as at {column}/{row}, {across}, got {here}")
            } else if row != column && here * here > a * b * (1.0 + ROUNDING) {
                format!(
                    "must be at most {} in size, the root of the product of its variances, got {here}",
                    (a * b).max(0.0).sqrt()
                )
            } else {
                continue;
            };
            part.tell(&format!("covariance/{row}/{column}"), says, found);
        }
    }
}

fn twice_carried(can: &Part, found: &mut Found) {
    let places: Vec<&str> = can
        .list("places")
        .iter()
        .filter_map(Value::as_str)
        .collect();
    for (index, place) in places.iter().enumerate() {
        if places[..index].contains(place) {
            let says = format!("must name each place once, got {place} again");
            can.tell("places", says, found);
        }
    }
}

fn legs(trip: &Part, found: &mut Found) {
    let mut day = f64::from(route::FIRST_DAY);
    let mut located = trip
        .part("start")
        .is_some_and(|start| position(&start, found));
    for leg in trip.items("legs") {
        if let Some(stated) = leg.number("day") {
            if stated < day {
                let says = format!("must be {day} or more, as on the leg before, got {stated}");
                leg.tell("day", says, found);
            }
            day = stated.max(day);
        }
        let was_located = located;
        located = position(&leg, found);
        let measurable = leg.has("distance_km") || leg.has("track") || (was_located && located);
        if !measurable {
            let says =
                "is missing; needed unless the leg has a track or both its places have lat and lon";
            leg.tell("distance_km", says.to_owned(), found);
        }
        shares(&leg, found);
        climbs(&leg, found);
    }
}

/// Tells of a latitude without a longitude and the reverse; whether the place has a position.
fn position(place: &Part, found: &mut Found) -> bool {
    for (there, missing) in [("lat", "lon"), ("lon", "lat")] {
        if place.has(there) && !place.has(missing) {
            let says = format!("is missing; needed beside `{there}`");
            place.tell(missing, says, found);
        }
    }
    place.has("lat") && place.has("lon")
}

/// Sand and low range overlap at least by what their sum is over 1, at most by the smaller of them.
fn shares(leg: &Part, found: &mut Found) {
    let (Some(sand), Some(low), Some(both)) = (
        leg.number_or("sand_share", 0.0),
        leg.number_or("low_range_share", 0.0),
        leg.number("both_share"),
    ) else {
        return;
    };
    let (least, most) = ((sand + low - 1.0).max(0.0), sand.min(low));
    if !(least - ROUNDING..=most + ROUNDING).contains(&both) {
        let range = if least < most {
            format!("{} to {most}", short(least))
        } else {
            most.to_string()
        };
        let says = format!(
            "must be {range} with a sand share of {sand} and a low-range share of {low}, got {both}"
        );
        leg.tell("both_share", says, found);
    }
}

/// A sum of decimals without the noise of its last bits.
fn short(sum: f64) -> f64 {
    (sum * 1e6).round() / 1e6
}

/// Climbs and descents at their grades must fit into the length of the leg.
fn climbs(leg: &Part, found: &mut Found) {
    let (Some(km), Some(up), Some(down)) = (
        leg.number("distance_km"),
        leg.number_or("ascent_m", 0.0),
        leg.number_or("descent_m", 0.0),
    ) else {
        return;
    };
    let steepest = |key| match leg.kind(key) {
        Some(Kind::Number { max, .. }) => leg.number_or(key, max),
        _ => None,
    };
    let (Some(up_grade), Some(down_grade)) = (steepest("ascent_grade"), steepest("descent_grade"))
    else {
        return;
    };
    let needed_km = (up / up_grade + down / down_grade) / 1000.0;
    if needed_km > km * (1.0 + ROUNDING) {
        let key = if leg.has("ascent_m") {
            "ascent_m"
        } else {
            "descent_m"
        };
        let says = format!(
            "must fit into the leg's {km} km, got {up} m up at a grade of {up_grade} and {down} m down at {down_grade}, which take {needed_km:.1} km"
        );
        leg.tell(key, says, found);
    }
}

/// Two places of one name are one place: one position, one pump.
fn same_places(trip: &Part, found: &mut Found) {
    let start = trip.part("start").map(|start| ("name", start));
    let ends = trip.items("legs").map(|leg| ("to", leg));
    let mut at: HashMap<&str, Part> = HashMap::new();
    let mut pump: HashMap<&str, Part> = HashMap::new();
    for (key, place) in start.into_iter().chain(ends) {
        let Some(name) = place.text(key) else {
            continue;
        };
        if place.number("lat").is_some() && place.number("lon").is_some() {
            let first = at.entry(name).or_insert(place);
            for key in ["lat", "lon"] {
                if let (Some(there), Some(here)) = (first.number(key), place.number(key))
                    && (there - here).abs() > SAME_PLACE_DEGREES
                {
                    let says = format!(
                        "must be as at {}, since both are `{name}`: {there} there, got {here}",
                        first.pointer(key)
                    );
                    place.tell(key, says, found);
                }
            }
        }
        if place.has("fuel") {
            let first = pump.entry(name).or_insert(place);
            for key in ["litres", "chance", "price_per_l"] {
                let (there, here) = (first.supply(key), place.supply(key));
                // A price that is not stated is unknown; litres that are not stated are without end.
                let unknown = key == "price_per_l" && (there.is_none() || here.is_none());
                if there != here && !unknown {
                    let told = |value: Option<f64>| {
                        value.map_or("as much as one likes".to_owned(), |v| v.to_string())
                    };
                    let says = format!(
                        "must be as at {}, since both are `{name}`: `{key}` is {} there, got {}",
                        first.pointer("fuel"),
                        told(there),
                        told(here)
                    );
                    place.tell("fuel", says, found);
                }
            }
        }
    }
}

fn same_names(trip: &Part, found: &mut Found) {
    let mut named: HashMap<&str, Part> = HashMap::new();
    for what_if in trip.items("what_ifs") {
        let Some(name) = what_if.text("name") else {
            continue;
        };
        if let Some(first) = named.insert(name, what_if) {
            let says = format!(
                "must differ from {}, got `{name}` again",
                first.pointer("name")
            );
            what_if.tell("name", says, found);
        }
    }
}

/// Readings stand in the order in which they were taken, at places that exist.
fn readings(trip: &Part, found: &mut Found) {
    let last = trip.list("legs").len() as f64;
    let (mut node, mut odometer) = (0.0, 0.0);
    for reading in trip.items("log") {
        if let Some(stated) = reading.number("node") {
            if stated > last {
                let says = format!("must be 0 to {last}, the number of the finish, got {stated}");
                reading.tell("node", says, found);
            } else if stated < node {
                let says =
                    format!("must be {node} or more, as in the reading before, got {stated}");
                reading.tell("node", says, found);
            }
            node = stated.max(node);
            if let Some(km) = reading.number("to_next_km").filter(|_| stated >= last) {
                let says = format!("must be absent at the finish, got {km}");
                reading.tell("to_next_km", says, found);
            }
        }
        if let Some(stated) = reading.number("odometer_km") {
            if stated < odometer {
                let says = format!(
                    "must be {odometer} km or more, as in the reading before, got {stated}"
                );
                reading.tell("odometer_km", says, found);
            }
            odometer = stated.max(odometer);
        }
    }
}

/// An object of the document beside its fields, and where it stands.
#[derive(Clone, Copy)]
struct Part<'a> {
    node: &'static Node,
    object: &'a Map<String, Value>,
    /// Pointer to the object, or to the list that holds it.
    at: &'static str,
    /// Its number in the list.
    index: Option<usize>,
}

impl<'a> Part<'a> {
    fn trip(document: &'a Value) -> Option<Self> {
        Some(Self {
            node: field::tree(),
            object: document.as_object()?,
            at: "",
            index: None,
        })
    }

    /// The object under `key`, in an object that itself is in no list.
    fn part(&self, key: &str) -> Option<Self> {
        let node = self.node.child(key)?;
        Some(Self {
            node,
            object: self.object.get(key)?.as_object()?,
            at: node.field?.path,
            index: None,
        })
    }

    /// The list under `key`; nothing where there is none.
    fn list(&self, key: &str) -> &'a [Value] {
        self.object
            .get(key)
            .and_then(Value::as_array)
            .map_or(&[], Vec::as_slice)
    }

    /// The objects of the list under `key`.
    fn items(&self, key: &str) -> impl Iterator<Item = Self> + use<'a> {
        let node = self.node.child(key);
        let item = node.and_then(|list| Some((list.field?.path, list.item.as_deref()?)));
        let list = self.list(key);
        item.into_iter().flat_map(move |(at, node)| {
            list.iter().enumerate().filter_map(move |(index, value)| {
                Some(Self {
                    node,
                    object: value.as_object()?,
                    at,
                    index: Some(index),
                })
            })
        })
    }

    fn kind(&self, key: &str) -> Option<Kind> {
        self.node.child(key).map(Node::kind)
    }

    fn has(&self, key: &str) -> bool {
        self.object.contains_key(key)
    }

    /// The value under `key` if it is sound by itself.
    fn sound(&self, key: &str) -> Option<&'a Value> {
        let value = self.object.get(key)?;
        self.kind(key)?.admits(value).then_some(value)
    }

    fn number(&self, key: &str) -> Option<f64> {
        self.sound(key)?.as_f64()
    }

    /// As [`Self::number`], with what its absence means; nothing where the value is unsound.
    fn number_or(&self, key: &str, absent: f64) -> Option<f64> {
        if self.has(key) {
            self.number(key)
        } else {
            Some(absent)
        }
    }

    fn text(&self, key: &str) -> Option<&'a str> {
        self.sound(key)?.as_str()
    }

    /// What the place's pump has under `key`.
    fn supply(&self, key: &str) -> Option<f64> {
        let stated = self.object.get("fuel")?.get(key).and_then(Value::as_f64);
        stated.or((key == "chance").then_some(route::CHANCE.get()))
    }

    fn pointer(&self, key: &str) -> String {
        let at = self.at;
        match self.index {
            Some(index) => format!("{at}/{index}/{key}"),
            None => format!("{at}/{key}"),
        }
    }

    fn tell(&self, key: &str, says: String, found: &mut Found) {
        found.add(self.pointer(key), says);
    }
}
