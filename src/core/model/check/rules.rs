//! The rules between fields of a trip.
//!
//! They look only at parts that are sound by themselves: each error is listed once, and what depends on it only after
//! it is mended.

use std::collections::HashMap;

use serde::de::DeserializeOwned;
use serde_json::Value;

use super::{Found, within};
use crate::model::Trip;
use crate::model::calibration::{COMPONENTS, Calibration};
use crate::model::field::route::GRADE;
use crate::model::field::{self, Kind, Node, as_percent};
use crate::model::load::Load;
use crate::model::log::Reading;
use crate::model::part::TripPart;
use crate::model::route::{FIRST_DAY, FuelStop, Leg, Place, Position, Start};
use crate::model::rules::Rules;
use crate::model::vehicle::Vehicle;
use crate::quantity::{Degrees, Grade, Kilograms, Kilometres, Litres, MoneyPerLitre, Share};

/// What must be left of the kerb mass once fuel, driver and accessories are taken from it.
const LEAST_EMPTY: Kilograms = Kilograms::new(300.0);
/// No petrol or diesel is heavier (EN 590 ends at 0.845 kg/L), in kg/L.
const HEAVIEST_FUEL: f64 = 0.85;
/// Sums of shares and quotients may miss their limit by this much, since decimals are not exact.
const ROUNDING: f64 = 1e-9;
/// Two positions of one place may differ by this much, about a kilometre.
const SAME_PLACE: Degrees = Degrees::new(0.01);

/// The parts of a trip, as far as they are sound by themselves.
pub(in crate::model) struct Parts<'a> {
    pub(crate) vehicle: Option<&'a Vehicle>,
    pub(crate) load: Option<&'a Load>,
    pub(crate) rules: Option<&'a Rules>,
    pub(crate) start: Option<&'a Start>,
    pub(crate) legs: Vec<Option<&'a Leg>>,
    pub(crate) what_ifs: Vec<Option<&'a str>>,
    pub(crate) log: Vec<Option<&'a Reading>>,
}

impl<'a> From<&'a Trip> for Parts<'a> {
    fn from(trip: &'a Trip) -> Self {
        let names = trip.what_ifs().iter().map(|kept| Some(kept.name.as_str()));
        Self {
            vehicle: Some(&trip.vehicle),
            load: trip.load.as_ref(),
            rules: trip.rules.as_ref(),
            start: Some(&trip.start),
            legs: trip.legs.iter().map(Some).collect(),
            what_ifs: names.collect(),
            log: trip.log().iter().map(Some).collect(),
        }
    }
}

impl Parts<'_> {
    /// Has nothing looked at that a part is needed for, as one that is not sound.
    pub(in crate::model) fn leave_out(&mut self, part: TripPart) {
        match part {
            TripPart::Version | TripPart::Name | TripPart::Notice => {}
            TripPart::Vehicle => self.vehicle = None,
            TripPart::Load => self.load = None,
            TripPart::Rules => self.rules = None,
            TripPart::Start => self.start = None,
            TripPart::Legs => self.legs.clear(),
            TripPart::Leg(number) => self.legs[number] = None,
            TripPart::WhatIfs => self.what_ifs.clear(),
            TripPart::Log => self.log.clear(),
        }
    }
}

/// The parts of a document in which something is wrong, as far as they can be read.
pub(super) struct Draft<'a> {
    vehicle: Option<Vehicle>,
    load: Option<Load>,
    rules: Option<Rules>,
    start: Option<Start>,
    legs: Vec<Option<Leg>>,
    what_ifs: Vec<Option<&'a str>>,
    log: Vec<Option<Reading>>,
}

impl<'a> Draft<'a> {
    pub(super) fn new(document: &'a Value) -> Self {
        let names = items(document, "what_ifs").iter();
        Self {
            vehicle: part(document, "vehicle"),
            load: part(document, "load"),
            rules: part(document, "rules"),
            start: part(document, "start"),
            legs: list(document, "legs"),
            what_ifs: names.map(|kept| kept.get("name")?.as_str()).collect(),
            log: list(document, "log"),
        }
    }

    pub(super) fn parts(&self) -> Parts<'_> {
        Parts {
            vehicle: self.vehicle.as_ref(),
            load: self.load.as_ref(),
            rules: self.rules.as_ref(),
            start: self.start.as_ref(),
            legs: self.legs.iter().map(Option::as_ref).collect(),
            what_ifs: self.what_ifs.clone(),
            log: self.log.iter().map(Option::as_ref).collect(),
        }
    }
}

fn part<T: DeserializeOwned>(document: &Value, key: &str) -> Option<T> {
    sound(field::tree().child(key)?, document.get(key)?)
}

fn items<'a>(document: &'a Value, key: &str) -> &'a [Value] {
    let list = document.get(key).and_then(Value::as_array);
    list.map_or(&[], Vec::as_slice)
}

fn list<T: DeserializeOwned>(document: &Value, key: &str) -> Vec<Option<T>> {
    let node = field::tree().child(key).and_then(|list| list.item.as_ref());
    let item = |value| node.and_then(|node| sound(node, value));
    items(document, key).iter().map(item).collect()
}

/// A value of the document, if nothing is wrong with it but unknown keys.
fn sound<T: DeserializeOwned>(node: &'static Node, value: &Value) -> Option<T> {
    let known = known(node, value);
    let is_sound = within(node, &known, "").is_empty();
    is_sound.then(|| serde_json::from_value(known).ok())?
}

fn known(node: &Node, value: &Value) -> Value {
    match (value, &node.item) {
        (Value::Object(object), _) if node.kind() == Kind::Object => object
            .iter()
            .filter_map(|(key, value)| Some((key.clone(), known(node.child(key)?, value))))
            .collect(),
        (Value::Array(list), Some(item)) => list.iter().map(|value| known(item, value)).collect(),
        _ => value.clone(),
    }
}

/// Adds to `found` whatever is wrong between fields.
pub(super) fn between(parts: &Parts<'_>, found: &mut Found) {
    if let Some(vehicle) = parts.vehicle {
        masses(vehicle, found);
        pressures(vehicle, found);
        if let Some(fitted) = &vehicle.calibration {
            covariance(fitted, found);
        }
        fuel(vehicle, parts, found);
    }
    for (number, can) in parts.load.map_or(&[][..], Load::cans).iter().enumerate() {
        let places = can.places();
        for (index, place) in places.iter().enumerate() {
            if places[..index].contains(place) {
                let message = format!("names {place} twice; name each place once");
                found.add(format!("/load/cans/{number}/places"), message);
            }
        }
    }
    legs(parts, found);
    names(&parts.what_ifs, found);
    readings(parts, found);
}

/// Whatever is in the tank fits into it.
fn fuel(vehicle: &Vehicle, parts: &Parts<'_>, found: &mut Found) {
    let tank = vehicle.tank_l;
    if let Some(unusable) = vehicle.unusable_l.filter(|&unusable| unusable >= tank) {
        let (tank, got) = (tank.get(), unusable.get());
        let message = format!("must be less than {tank} L, the tank capacity, got {got}");
        found.add("/vehicle/unusable_l", message);
    }
    let start = parts.rules.and_then(|rules| rules.start_l);
    let start = start.map(|start| ("/rules/start_l".to_owned(), start));
    let log = parts
        .log
        .iter()
        .enumerate()
        .filter_map(|(number, reading)| {
            Some((
                format!("/log/{number}/tank_left_l"),
                (*reading)?.tank_left_l,
            ))
        });
    for (at, litres) in start.into_iter().chain(log) {
        if litres > tank {
            let (tank, got) = (tank.get(), litres.get());
            found.add(
                at,
                format!("must be at most {tank} L, the tank capacity, got {got}"),
            );
        }
    }
}

fn masses(vehicle: &Vehicle, found: &mut Found) {
    let kerb = vehicle.kerb_mass_kg;
    if let Some(gvm) = vehicle.gvm_kg.filter(|&gvm| gvm <= kerb) {
        let (kerb, gvm) = (kerb.get(), gvm.get());
        let message = format!("must be more than the kerb mass of {kerb} kg, got {gvm}");
        found.add("/vehicle/gvm_kg", message);
    }
    let front = vehicle.axles.as_ref().and_then(|axles| axles.front_kerb_kg);
    if let Some(front) = front.filter(|&front| front >= kerb) {
        let (kerb, front) = (kerb.get(), front.get());
        let message = format!("must be less than the kerb mass of {kerb} kg, got {front}");
        found.add("/vehicle/axles/front_kerb_kg", message);
    }
    let fuel = vehicle.tank_l.get() * vehicle.kerb_tank_share().get() * HEAVIEST_FUEL;
    let other = Kilograms::new(fuel) + vehicle.kerb_driver() + vehicle.kerb_accessories();
    if kerb - other < LEAST_EMPTY {
        let message = format!(
            "must be at least {:.0} kg: {:.0} kg of fuel, driver and accessories, and {} kg for the empty vehicle; got {}",
            (LEAST_EMPTY + other).get(),
            other.get(),
            LEAST_EMPTY.get(),
            kerb.get()
        );
        found.add("/vehicle/kerb_mass_kg", message);
    }
}

fn pressures(vehicle: &Vehicle, found: &mut Found) {
    let road = vehicle.road_pressure();
    let soft = vehicle.tyres.as_ref().and_then(|tyres| tyres.soft_bar);
    if let Some(soft) = soft.filter(|&soft| soft > road) {
        let (road, soft) = (road.get(), soft.get());
        let message = format!("must be at most the road pressure of {road} bar, got {soft}");
        found.add("/vehicle/tyres/soft_bar", message);
    }
}

/// A covariance is the same across its diagonal, and no two factors are correlated more than fully.
fn covariance(fitted: &Calibration, found: &mut Found) {
    let number = |row: usize, column: usize| fitted.covariance[row][column].get();
    for row in 0..COMPONENTS {
        for column in 0..=row {
            let (here, across) = (number(row, column), number(column, row));
            let (a, b) = (number(row, row), number(column, column));
            let message = if row == column {
                if here >= 0.0 {
                    continue;
                }
                format!("must be 0 or more, since it is a variance, got {here}")
            } else if a < 0.0 || b < 0.0 {
                continue;
            } else if (here - across).abs() > ROUNDING * (a * b).sqrt() {
                format!("must equal {across}, the value at {column}/{row}, got {here}")
            } else if here * here > a * b * (1.0 + ROUNDING) {
                let most = (a * b).sqrt();
                format!(
                    "must be at most {most} in size, the root of the product of its variances, got {here}"
                )
            } else {
                continue;
            };
            found.add(
                format!("/vehicle/calibration/covariance/{row}/{column}"),
                message,
            );
        }
    }
}

/// No two what-ifs have one name.
fn names(names: &[Option<&str>], found: &mut Found) {
    let mut named = HashMap::new();
    for (number, name) in names.iter().enumerate() {
        let Some(name) = name else { continue };
        if let Some(first) = named.insert(name, number) {
            let message =
                format!("/what_ifs/{first} has the same name, `{name}`; change one of the two");
            found.add(format!("/what_ifs/{number}/name"), message);
        }
    }
}

/// Readings are in the order in which they were taken, at places that exist, the last of which is the finish.
fn readings(parts: &Parts<'_>, found: &mut Found) {
    let finish = parts.legs.len();
    let (mut node, mut odometer) = (0, Kilometres::ZERO);
    for (number, reading) in parts.log.iter().enumerate() {
        let Some(reading) = reading else { continue };
        let mut report = |key: &str, message| found.add(format!("/log/{number}/{key}"), message);
        let stated = reading.place_number as usize;
        // Without a list of legs it is not known where the finish is.
        if finish > 0 && stated > finish {
            let message = format!(
                "there is no place {stated}; the places are 0 (start) to {finish} (finish)"
            );
            report("place_number", message);
        } else if stated < node {
            let message =
                format!("must be {node} or more, the place of the reading before, got {stated}");
            report("place_number", message);
        }
        node = stated.max(node);
        if let Some(km) = reading
            .to_next_km
            .filter(|_| finish > 0 && stated >= finish)
        {
            let message = format!(
                "must be absent at the finish, after which there is no place, got {}",
                km.get()
            );
            report("to_next_km", message);
        }
        let stated = reading.odometer_km;
        if stated < odometer {
            let message = format!(
                "must be {} km or more, the odometer of the reading before, got {}",
                odometer.get(),
                stated.get()
            );
            report("odometer_km", message);
        }
        odometer = stated.max(odometer);
    }
}

/// What holds within each leg, from one to the next, and between places of one name.
fn legs(parts: &Parts<'_>, found: &mut Found) {
    let mut places = HashMap::with_capacity(parts.legs.len() + 1);
    let mut day = FIRST_DAY;
    // A place that cannot be read may well have a position.
    let mut located = true;
    if let Some(start) = parts.start {
        let place = Place::from(start);
        located = place.position.is_some();
        both_or_none(
            &place,
            ["lat", "lon"],
            [start.lat.is_some(), start.lon.is_some()],
            found,
        );
        as_met_before(&mut places, place, found);
    }
    for (number, leg) in parts.legs.iter().enumerate() {
        let Some(leg) = leg else {
            located = true;
            continue;
        };
        let place = Place::end_of(leg, number);
        let was_located = std::mem::replace(&mut located, place.position.is_some());
        if let Some(stated) = leg.day {
            if stated < day {
                let message =
                    format!("must be {day} or more, the day of the leg before, got {stated}");
                found.add(pointer(&place, "day"), message);
            }
            day = stated.max(day);
        }
        if leg.distance_km.is_none() && leg.track.is_none() && !(was_located && located) {
            let message = "is missing; set it, or give the leg a track, or give lat and lon to both of its places";
            found.add(pointer(&place, "distance_km"), message);
        }
        both_or_none(
            &place,
            ["lat", "lon"],
            [leg.lat.is_some(), leg.lon.is_some()],
            found,
        );
        both_or_none(
            &place,
            ["wind_kmh", "wind_from_deg"],
            [leg.wind_kmh.is_some(), leg.wind_from_deg.is_some()],
            found,
        );
        shares(leg, &place, found);
        climbs(leg, &place, found);
        as_met_before(&mut places, place, found);
    }
}

/// Pointer to what is stated of a place, where it is stated.
fn pointer(place: &Place<'_>, key: &str) -> String {
    match place.place_number.checked_sub(1) {
        None => format!("/start/{key}"),
        Some(leg) => format!("/legs/{leg}/{key}"),
    }
}

/// Finds a key that is missing beside another one.
fn both_or_none(place: &Place<'_>, keys: [&str; 2], stated: [bool; 2], found: &mut Found) {
    let (there, missing) = match stated {
        [true, false] => (keys[0], keys[1]),
        [false, true] => (keys[1], keys[0]),
        _ => return,
    };
    let message = format!("is missing; `{there}` is set, so set both or neither");
    found.add(pointer(place, missing), message);
}

/// Sand and dunes are parts of the leg. Soft ground and low range overlap at least by what their sum is over 1, at most
/// by the smaller of them.
fn shares(leg: &Leg, place: &Place<'_>, found: &mut Found) {
    let [sand, dunes] = [leg.sand_share().get(), leg.dune_share().get()];
    if sand + dunes > 1.0 + ROUNDING {
        let most = ((1.0 - sand) * 1e6).round() / 1e6;
        let message = format!("must be at most {most} with a sand share of {sand}, got {dunes}");
        found.add(pointer(place, "dune_share"), message);
        return;
    }
    let Some(both) = leg.both_share.map(Share::get) else {
        return;
    };
    let (soft, low) = (leg.soft_share().get(), leg.low_range_share().get());
    let (least, most) = ((soft + low - 1.0).max(0.0), soft.min(low));
    if !(least - ROUNDING..=most + ROUNDING).contains(&both) {
        // A sum of decimals without the noise of its last bits.
        let least = (least * 1e6).round() / 1e6;
        let range = if least < most {
            format!("{least} to {most}")
        } else {
            most.to_string()
        };
        let message = format!(
            "must be {range}, since the share in sand or dunes is {soft} and in low range {low}, got {both}"
        );
        found.add(pointer(place, "both_share"), message);
    }
}

/// Climb and descent at their grades must fit into the distance of the leg.
fn climbs(leg: &Leg, place: &Place<'_>, found: &mut Found) {
    // What is not stated is as steep as can be.
    let (Kind::Number { max: steepest, .. }, Some(km)) = (GRADE, leg.distance_km) else {
        return;
    };
    let [up, down] = [leg.ascent_m, leg.descent_m].map(|climb| climb.unwrap_or_default().get());
    let [up_grade, down_grade] =
        [leg.ascent_grade, leg.descent_grade].map(|grade| grade.map_or(steepest, Grade::get));
    let needed_km = (up / up_grade + down / down_grade) / 1000.0;
    if needed_km > km.get() * (1.0 + ROUNDING) {
        let key = if leg.ascent_m.is_some() {
            "ascent_m"
        } else {
            "descent_m"
        };
        let message = format!(
            "the climb does not fit: {up} m up at {} % and {down} m down at {} % take {needed_km:.1} km, but the leg has {} km",
            as_percent(Share::new(up_grade)).get(),
            as_percent(Share::new(down_grade)).get(),
            km.get()
        );
        found.add(pointer(place, key), message);
    }
}

/// Where something of a place is stated first.
#[derive(Default)]
struct First<'a> {
    position: Option<(Place<'a>, Position)>,
    fuel_stop: Option<(Place<'a>, &'a FuelStop)>,
}

/// Two places of one name are one place with one position and one fuel stop. Finds what differs from where it is set
/// first.
fn as_met_before<'a>(met: &mut HashMap<&'a str, First<'a>>, place: Place<'a>, found: &mut Found) {
    if place.position.is_none() && place.fuel.is_none() {
        return;
    }
    let first = met.entry(place.name).or_default();
    if let Some(here) = place.position {
        let (first, there) = first.position.get_or_insert((place, here));
        for (key, there, here) in [("lat", there.lat, here.lat), ("lon", there.lon, here.lon)] {
            if (there - here).abs() > SAME_PLACE {
                let message = format!(
                    "`{}` is at two positions: {key} is {} at {}, and {} here; use one position, or two names",
                    place.name,
                    there.get(),
                    pointer(first, key),
                    here.get()
                );
                found.add(pointer(&place, key), message);
            }
        }
    }
    if let Some(here) = place.fuel {
        let (first, there) = first.fuel_stop.get_or_insert((place, here));
        for (key, there, here) in unlike(there, here) {
            let stock =
                |value: Option<f64>| value.map_or("unlimited".to_owned(), |v| v.to_string());
            let message = format!(
                "`{}` is one fuel stop with two values: {key} is {} at {}, and {} here; use one value, or two names",
                place.name,
                stock(there),
                pointer(first, "fuel"),
                stock(here)
            );
            found.add(pointer(&place, "fuel"), message);
        }
    }
}

type Unlike = (&'static str, Option<f64>, Option<f64>);

/// The values of one fuel stop that differ between two visits.
fn unlike(a: &FuelStop, b: &FuelStop) -> impl Iterator<Item = Unlike> {
    let litres = [a, b].map(|stop| stop.litres.map(Litres::get));
    let chances = [a, b].map(|stop| Some(stop.chance().get()));
    // A price that is not set is unknown; a stock that is not set is unlimited.
    let prices = match [a, b].map(|stop| stop.price_per_l.map(MoneyPerLitre::get)) {
        known @ [Some(_), Some(_)] => known,
        _ => [None, None],
    };
    [
        ("litres", litres),
        ("chance", chances),
        ("price_per_l", prices),
    ]
    .into_iter()
    .filter(|(_, [a, b])| a != b)
    .map(|(key, [a, b])| (key, a, b))
}
