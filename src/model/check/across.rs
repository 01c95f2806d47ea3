//! The rules between fields of a trip other than its legs.

use std::collections::HashMap;

use serde_json::{Map, Value};

use super::Found;
use crate::model::field::{self, Kind, Node, fitted};
use crate::model::fitted::COMPONENTS;
use crate::model::vehicle;

/// What must be left of the kerb mass once fuel, driver and accessories are taken from it, in kg.
const LEAST_EMPTY_KG: f64 = 300.0;
/// No petrol or diesel is heavier (EN 590 ends at 0.845 kg/L), in kg/L.
const HEAVIEST_FUEL: f64 = 0.85;
/// Sums of shares and quotients may miss their limit by this much, since decimals are not exact.
pub(super) const ROUNDING: f64 = 1e-9;

/// Adds to `found` whatever is wrong between the vehicle, the load, the rules and what readings say of the tank.
pub(super) fn parts(trip: &Part, found: &mut Found) {
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

/// Adds to `found` what-ifs of one name.
pub(super) fn same_names(trip: &Part, found: &mut Found) {
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

/// Readings stand in the order in which they were taken, at places that exist, the last of which is `finish`.
pub(super) fn readings(trip: &Part, finish: usize, found: &mut Found) {
    let last = finish as f64;
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
pub(super) struct Part<'a> {
    node: &'static Node,
    object: &'a Map<String, Value>,
    /// Pointer to the object, or to the list that holds it.
    at: &'static str,
    /// Its number in the list.
    index: Option<usize>,
}

impl<'a> Part<'a> {
    pub(super) fn trip(document: &'a Value) -> Option<Self> {
        Some(Self {
            node: field::tree(),
            object: document.as_object()?,
            at: "",
            index: None,
        })
    }

    /// The object under `key`, in an object that itself is in no list.
    pub(super) fn part(&self, key: &str) -> Option<Self> {
        let node = self.node.child(key)?;
        Some(Self {
            node,
            object: self.object.get(key)?.as_object()?,
            at: node.field?.path,
            index: None,
        })
    }

    /// The list under `key`; nothing where there is none.
    pub(super) fn list(&self, key: &str) -> &'a [Value] {
        self.object
            .get(key)
            .and_then(Value::as_array)
            .map_or(&[], Vec::as_slice)
    }

    /// The objects of the list under `key`.
    pub(super) fn items(&self, key: &'static str) -> impl Iterator<Item = Self> + use<'a> {
        let part = *self;
        (0..self.list(key).len()).filter_map(move |number| part.item(key, number))
    }

    /// An object of the list under `key`.
    pub(super) fn item(&self, key: &str, number: usize) -> Option<Self> {
        let list = self.node.child(key)?;
        Some(Self {
            node: list.item.as_deref()?,
            object: self.list(key).get(number)?.as_object()?,
            at: list.field?.path,
            index: Some(number),
        })
    }

    fn kind(&self, key: &str) -> Option<Kind> {
        self.node.child(key).map(Node::kind)
    }

    pub(super) fn has(&self, key: &str) -> bool {
        self.object.contains_key(key)
    }

    /// The value under `key` if it is sound by itself.
    fn sound(&self, key: &str) -> Option<&'a Value> {
        let value = self.object.get(key)?;
        self.kind(key)?.admits(value).then_some(value)
    }

    pub(super) fn number(&self, key: &str) -> Option<f64> {
        self.sound(key)?.as_f64()
    }

    pub(super) fn text(&self, key: &str) -> Option<&'a str> {
        self.sound(key)?.as_str()
    }

    /// The number under `key` in the object under `part`, be it sound or not.
    pub(super) fn inside(&self, part: &str, key: &str) -> Option<f64> {
        self.object.get(part)?.get(key)?.as_f64()
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
