//! Random legal trips, made from the table of fields: whatever the format allows, edges included.

#![expect(
    clippy::unwrap_used,
    reason = "what is taken is required by the format, so the generator made it"
)]

use drystage::model::field::{self, Kind, Node};
use drystage::model::route::FIRST_DAY;
use drystage::model::vehicle::ROAD_PRESSURE;
use drystage::quantity::Factor;
use proptest::prelude::*;
use proptest::sample::select;
use serde_json::{Map, Value, json};

/// Documents that `check` has nothing to say about.
pub fn documents() -> impl Strategy<Value = Value> {
    value_of(field::tree()).prop_map(|mut document| {
        mend(&mut document);
        document
    })
}

fn value_of(node: &'static Node) -> BoxedStrategy<Value> {
    match node.kind() {
        Kind::Number { min, max, .. } => number(min, max),
        Kind::Whole { min, max } => prop_oneof![
            4 => (min..=max).prop_map(Value::from),
            1 => Just(json!(min)),
            1 => Just(json!(max)),
        ]
        .boxed(),
        Kind::Text { lines, .. } => if lines {
            "[^\\p{C}]{1,12}[\n\t]?"
        } else {
            "[^\\p{C}]{1,12}"
        }
        .prop_map(Value::from)
        .boxed(),
        Kind::Choice(words) => select(words).prop_map(Value::from).boxed(),
        Kind::Flag => any::<bool>().prop_map(Value::from).boxed(),
        Kind::TyreSize => {
            prop_oneof!["[1-3][0-9]{2}/[3-9][0-9][R-]1[0-9]", "[1-3][0-9]{2}R2[0-4]",]
                .prop_map(Value::from)
                .boxed()
        }
        Kind::Date => "20[0-9]{2}-(0[1-9]|1[0-2])-(0[1-9]|1[0-9]|2[0-8])"
            .prop_map(Value::from)
            .boxed(),
        Kind::UtcOffset => "([+](0[0-9]|1[01])|-(0[1-9]|1[01])):(00|30|45)"
            .prop_map(Value::from)
            .boxed(),
        Kind::ClockTime => "([01][0-9]|2[0-3]):[0-5][0-9]"
            .prop_map(Value::from)
            .boxed(),
        Kind::Object => object(node),
        Kind::List { at_least, at_most } => {
            let item = node.item.as_deref().expect("a list has an item");
            // A trip without legs has no plan.
            let is_legs = node.field.is_some_and(|field| field.path == "/legs");
            let at_least = if is_legs { 1 } else { at_least };
            prop::collection::vec(value_of(item), at_least..=at_most.min(at_least + 2))
                .prop_map(Value::from)
                .boxed()
        }
        Kind::Track => track(),
        Kind::Patch => patch(),
    }
}

/// Any double of the range, its ends, whole numbers and short decimals.
fn number(min: f64, max: f64) -> BoxedStrategy<Value> {
    let rounded = move |value: f64, to: f64| ((value * to).round() / to).clamp(min, max);
    prop_oneof![
        4 => (min..=max).prop_map(Value::from),
        2 => (min..=max).prop_map(move |value| json!(rounded(value, 100.0))),
        2 => (min..=max).prop_map(move |value| {
            json!(Factor::new(rounded(value, 1.0)))
        }),
        1 => Just(json!(min)),
        1 => Just(json!(max)),
    ]
    .boxed()
}

fn object(node: &'static Node) -> BoxedStrategy<Value> {
    let fields: Vec<BoxedStrategy<Option<(String, Value)>>> = node
        .children
        .iter()
        .map(|child| {
            let named = value_of(child).prop_map(|value| (child.key.to_owned(), value));
            if child.is_required() {
                named.prop_map(Some).boxed()
            } else {
                prop::option::of(named).boxed()
            }
        })
        .collect();
    fields
        .prop_map(|fields| Value::from(fields.into_iter().flatten().collect::<Map<_, _>>()))
        .boxed()
}

fn track() -> BoxedStrategy<Value> {
    let coordinates = (
        number(-180.0, 180.0),
        number(-90.0, 90.0),
        prop::option::of(number(-1000.0, 10_000.0)),
    );
    let point = coordinates.prop_map(|(lon, lat, height)| match height {
        Some(height) => json!([lon, lat, height]),
        None => json!([lon, lat]),
    });
    prop_oneof![
        "[a-z0-9 ._-]{1,8}x(/[a-z]{1,5})?\\.gpx".prop_map(Value::from),
        prop::collection::vec(point, 2..6).prop_map(Value::from),
    ]
    .boxed()
}

fn patch() -> BoxedStrategy<Value> {
    let pointer = || "(/([a-z0-9 é]|~[01]){0,4}){0,3}";
    let value = prop_oneof![
        Just(Value::Null),
        any::<i64>().prop_map(Value::from),
        any::<u64>().prop_map(Value::from),
        (-1e300..1e300).prop_map(Value::from),
        ".{0,8}".prop_map(Value::from),
        ".{0,3}".prop_map(|key| json!({ key: [1, { "a": 0.5 }] })),
    ];
    let operation = prop_oneof![
        (select(&["add", "replace", "test"][..]), pointer(), value)
            .prop_map(|(op, path, value)| json!({ "op": op, "path": path, "value": value })),
        (select(&["move", "copy"][..]), pointer(), pointer())
            .prop_map(|(op, from, path)| json!({ "op": op, "from": from, "path": path })),
        pointer().prop_map(|path| json!({ "op": "remove", "path": path })),
    ];
    prop::collection::vec(operation, 0..3)
        .prop_map(Value::from)
        .boxed()
}

/// Changes what breaks a rule between fields, and only that.
fn mend(trip: &mut Value) {
    let tank = number_at(trip, "/vehicle/tank_l").expect("the tank is required");
    vehicle(&mut trip["vehicle"], tank);
    if number_at(trip, "/rules/start_l").is_some_and(|start| start > tank) {
        trip["rules"]["start_l"] = json!(tank);
    }
    for can in list(trip, "/load/cans") {
        if let Some(places) = can.get_mut("places").and_then(Value::as_array_mut) {
            let all = std::mem::take(places);
            for place in all {
                if !places.contains(&place) {
                    places.push(place);
                }
            }
        }
    }
    route(trip);
    for (number, what_if) in list(trip, "/what_ifs").iter_mut().enumerate() {
        what_if["name"] = json!(format!("{} {number}", what_if["name"].as_str().unwrap()));
    }
    let places = trip["legs"].as_array().unwrap().len() as u64 + 1;
    let (mut node, mut odometer) = (0, 0.0);
    for reading in list(trip, "/log") {
        node = (reading["place_number"].as_u64().unwrap() % places).max(node);
        odometer = f64::max(number_at(reading, "/odometer_km").unwrap(), odometer);
        reading["place_number"] = json!(node);
        reading["odometer_km"] = json!(odometer);
        let left = number_at(reading, "/tank_left_l").unwrap();
        reading["tank_left_l"] = json!(left.min(tank));
        if node + 1 == places {
            reading.as_object_mut().unwrap().remove("to_next_km");
        }
    }
}

fn vehicle(vehicle: &mut Value, tank: f64) {
    let stated = |vehicle: &Value, at: &str| number_at(vehicle, at);
    if stated(vehicle, "/unusable_l").is_some_and(|unusable| unusable >= tank) {
        vehicle["unusable_l"] = json!(tank / 2.0);
    }
    let kerb = stated(vehicle, "/kerb_mass_kg").expect("the kerb mass is required");
    let held = tank
        + stated(vehicle, "/kerb_includes/driver_kg").unwrap_or(0.0)
        + stated(vehicle, "/kerb_includes/accessories_kg").unwrap_or(0.0);
    let kerb = if kerb - held < 300.0 { 6000.0 } else { kerb };
    vehicle["kerb_mass_kg"] = json!(kerb);
    if stated(vehicle, "/gvm_kg").is_some_and(|gvm| gvm <= kerb) {
        vehicle["gvm_kg"] = json!(kerb + 0.5);
    }
    if stated(vehicle, "/axles/front_kerb_kg").is_some_and(|front| front >= kerb) {
        vehicle["axles"]["front_kerb_kg"] = json!(kerb / 2.0);
    }
    if let Some(rows) = vehicle.pointer_mut("/calibration/covariance") {
        // Each factor by itself, two of them leaning on one another.
        *rows = json!(std::array::from_fn::<[f64; 5], 5, _>(|row| {
            std::array::from_fn(|column| match (row, column) {
                (0, 1) | (1, 0) => 0.03,
                _ if row == column => 0.04,
                _ => 0.0,
            })
        }));
    }
    let road = stated(vehicle, "/tyres/road_bar").unwrap_or(ROAD_PRESSURE.get());
    if stated(vehicle, "/tyres/soft_bar").is_some_and(|soft| soft > road) {
        vehicle["tyres"]["soft_bar"] = json!(road);
    }
}

fn route(trip: &mut Value) {
    place(&mut trip["start"]);
    let mut located = trip["start"].get("lat").is_some();
    let mut day = u64::from(FIRST_DAY);
    for (number, leg) in list(trip, "/legs").iter_mut().enumerate() {
        leg["to"] = json!(format!("{} {number}", leg["to"].as_str().unwrap()));
        place(leg);
        if let Some(stated) = leg.get("day").and_then(Value::as_u64) {
            day = day.max(stated);
            leg["day"] = json!(day);
        }
        let was_located = located;
        located = leg.get("lat").is_some();
        if !(was_located && located)
            && leg.get("track").is_none()
            && leg.get("distance_km").is_none()
        {
            leg["distance_km"] = json!(10.5);
        }
        shares(leg);
        wind(leg);
        climbs(leg);
    }
    // A trip with a name ends where it began.
    if trip.get("name").is_some() {
        let start = trip["start"].clone();
        let last = trip["legs"].as_array_mut().unwrap().last_mut().unwrap();
        last["to"] = start["name"].clone();
        for key in ["lat", "lon", "fuel"] {
            match start.get(key) {
                Some(value) => last[key] = value.clone(),
                None => drop(last.as_object_mut().unwrap().shift_remove(key)),
            }
        }
        if !located || start.get("lat").is_none() {
            last["distance_km"] = json!(5000);
        }
        climbs(last);
    }
}

fn place(place: &mut Value) {
    if place.get("lat").is_some() != place.get("lon").is_some() {
        let place = place.as_object_mut().unwrap();
        place.shift_remove("lat");
        place.shift_remove("lon");
    }
}

fn wind(leg: &mut Value) {
    if leg.get("wind_kmh").is_some() != leg.get("wind_from_deg").is_some() {
        let leg = leg.as_object_mut().unwrap();
        leg.shift_remove("wind_kmh");
        leg.shift_remove("wind_from_deg");
    }
}

fn shares(leg: &mut Value) {
    let sand = number_at(leg, "/sand_share").unwrap_or(0.0);
    if let Some(dunes) = number_at(leg, "/dune_share") {
        leg["dune_share"] = json!(dunes.min(1.0 - sand));
    }
    let sand = sand + number_at(leg, "/dune_share").unwrap_or(0.0);
    let low = number_at(leg, "/low_range_share").unwrap_or(0.0);
    if let Some(both) = number_at(leg, "/both_share") {
        let most = sand.min(low);
        leg["both_share"] = json!(both.clamp((sand + low - 1.0).clamp(0.0, most), most));
    }
}

fn climbs(leg: &mut Value) {
    let Some(km) = number_at(leg, "/distance_km") else {
        return;
    };
    let take = |way: &str| {
        let metres = number_at(leg, &format!("/{way}_m")).unwrap_or(0.0);
        metres / number_at(leg, &format!("/{way}_grade")).unwrap_or(0.6)
    };
    let needed = take("ascent") + take("descent");
    if needed > km * 1000.0 {
        for key in ["ascent_m", "descent_m"] {
            if let Some(metres) = number_at(leg, &format!("/{key}")) {
                leg[key] = json!(metres * (km * 999.0 / needed));
            }
        }
    }
}

fn number_at(value: &Value, pointer: &str) -> Option<f64> {
    value.pointer(pointer)?.as_f64()
}

fn list<'a>(value: &'a mut Value, pointer: &str) -> &'a mut [Value] {
    value
        .pointer_mut(pointer)
        .and_then(Value::as_array_mut)
        .map_or(&mut [], Vec::as_mut_slice)
}
