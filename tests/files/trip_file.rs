//! The trip file: what is legal is read and written back the same, what is not is reported, all of it.

use crate::kept::cases;
use crate::legal;

use std::path::Path;
use std::sync::LazyLock;

use drystage::io;
use drystage::model::check;
use drystage::model::field::{self, Kind};
use drystage::model::schema::schema;
use jsonschema::Validator;
use proptest::prelude::*;
use serde_json::{Map, Value, json};

const EXAMPLE: &str = include_str!("../data/example-trip.json");

/// The schema, made ready once.
static VALIDATOR: LazyLock<Validator> =
    LazyLock::new(|| jsonschema::validator_for(&schema()).unwrap());

fn example() -> Value {
    serde_json::from_str(EXAMPLE).unwrap()
}

/// Trips that ship with the program.
fn samples() -> Vec<(String, String)> {
    let mut samples = vec![("example".to_owned(), EXAMPLE.to_owned())];
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-routes");
    for entry in std::fs::read_dir(folder).into_iter().flatten() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|kind| kind == "json") {
            let text = std::fs::read_to_string(&path).unwrap();
            samples.push((path.display().to_string(), text));
        }
    }
    samples
}

/// Whether two values have equal keys and values; numbers by their value, since 5.0 is written as 5.
fn same(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Number(a), Value::Number(b)) => {
            // To the last bit, but that a zero has no sign.
            let bits = |number: &serde_json::Number| number.as_f64().map(|v| (v + 0.0).to_bits());
            a == b || bits(a) == bits(b)
        }
        (Value::Array(a), Value::Array(b)) => {
            a.len() == b.len() && a.iter().zip(b).all(|(a, b)| same(a, b))
        }
        (Value::Object(a), Value::Object(b)) => {
            a.len() == b.len()
                && a.iter()
                    .all(|(key, a)| b.get(key).is_some_and(|b| same(a, b)))
        }
        _ => a == b,
    }
}

fn written(trip: &drystage::model::Trip) -> String {
    let mut bytes = Vec::new();
    io::json::write(trip, &mut bytes).unwrap();
    String::from_utf8(bytes).unwrap()
}

#[test]
fn samples_are_read_and_written_back_the_same() {
    for (name, text) in samples() {
        let trip =
            io::json::parse(text.as_bytes()).unwrap_or_else(|error| panic!("{name}: {error}"));
        let again = written(&trip);
        let document = |text: &str| serde_json::from_str::<Value>(text).unwrap();
        assert!(same(&document(&text), &document(&again)), "{name}: {again}");
        assert_eq!(io::json::parse(again.as_bytes()).unwrap(), trip, "{name}");
    }
}

#[test]
fn samples_fulfil_the_schema() {
    for (name, text) in samples() {
        let document = serde_json::from_str(&text).unwrap();
        if let Err(error) = VALIDATOR.validate(&document) {
            panic!("{name}: {error} at {}", error.instance_path());
        }
    }
}

/// What serde would take and the format does not have: lists for objects, objects for words, text after the end.
#[test]
fn other_shapes_are_refused() {
    let is_read = |text: &str| io::json::parse(text.as_bytes()).is_ok();
    for field in field::all() {
        let pointer = field.path.replace('*', "0");
        let whole = example_with(&pointer, json!({}));
        let other = match field.kind {
            Kind::Object => {
                let stated = example_with("/drystage", json!(1));
                let values = stated.pointer(&pointer).and_then(Value::as_object);
                values.into_iter().flat_map(Map::values).cloned().collect()
            }
            Kind::Choice(words) => json!({ words[0]: null }),
            Kind::List { .. } => json!({ "0": whole }),
            Kind::Patch => json!([{ "op": "remove", "path": "/name", "path": "/name", "why": 1 }]),
            Kind::Whole { min, .. } => json!(min as f64),
            _ => json!([1, "a"]),
        };
        let text = example_with(&pointer, other).to_string();
        assert!(!is_read(&text), "{text}");
    }
    assert!(!is_read(&format!("{EXAMPLE} 1")));
    assert!(!is_read(&format!("[{EXAMPLE}]")));
    let twice = r#"[{"op":"add","path":"/rules","value":{"reserve":{"km":1,"km":2}}}]"#;
    let text = example_with("/what_ifs/0/change", json!("here")).to_string();
    assert!(!is_read(&text.replace("\"here\"", twice)));
    let once = twice.replace(r#","km":2"#, "");
    assert!(is_read(&text.replace("\"here\"", &once)));
}

/// The example with a reading and a fitted vehicle, and the value at `pointer` replaced or added.
fn example_with(pointer: &str, value: Value) -> Value {
    let mut document = example();
    document["log"] = json!([{ "place_number": 0, "odometer_km": 48064, "tank_left_l": 55 }]);
    document["vehicle"]["calibration"] = json!({
        "base": 1.06, "sand": 1.2, "low_range": 0.95, "roof": 1, "idle": 1,
        "covariance": [
            [0.0009, -0.001, 0, 0, 0], [-0.001, 0.02, 0, 0, 0], [0, 0, 0.03, 0, 0], [0, 0, 0, 0.09, 0], [0, 0, 0, 0, 0.04]
        ],
        "residual_share": 0.06, "road_day_share": 0.05, "off_road_day_share": 0.09, "tank_share": 0.03, "intervals": 12, "distance_km": 4210, "litres": 512, "baseline_l_per_100km": 11.4,
        "predictions": [{ "used_l": 33.1, "predicted_l": 34.2, "predicted_sd_l": 2.1 }]
    });
    let mut here = &mut document;
    for step in pointer.split('/').skip(1) {
        if here.is_null() {
            let is_index = step.parse::<usize>().is_ok();
            *here = if is_index { json!([]) } else { json!({}) };
        }
        here = match here {
            Value::Array(list) => {
                let at = step.parse::<usize>().unwrap();
                if list.len() == at {
                    list.push(Value::Null);
                }
                &mut list[at]
            }
            object => &mut object[step],
        };
    }
    *here = value;
    document
}

fn problems(document: &Value) -> Vec<String> {
    check::problems(document)
        .iter()
        .map(ToString::to_string)
        .collect()
}

/// Null is no value: wherever it is it is reported there, and the schema refuses it too.
#[test]
fn null_is_refused_in_every_field() {
    for field in field::all() {
        let pointer = field.path.replace('*', "0");
        let document = example_with(&pointer, Value::Null);
        let problems = problems(&document);
        let here = format!("{pointer}: must be ");
        let is_it = |line: &String| line.starts_with(&here) && line.ends_with("got null");
        assert!(problems.iter().any(is_it), "{problems:?}");
        assert!(!VALIDATOR.is_valid(&document), "{pointer}");
    }
}

/// One step beyond either end of a range is reported, and nothing else of that value.
#[test]
fn ranges_end_where_the_table_says() {
    for field in field::all() {
        let pointer = field.path.replace('*', "0");
        let beyond = match field.kind {
            Kind::Number { min, max, .. } => vec![json!(min - 0.001), json!(max + 0.001)],
            Kind::Whole { min, max } => {
                vec![json!(max + 1), json!(min.wrapping_sub(1).cast_signed())]
            }
            Kind::Text { longest, .. } => {
                vec![json!(""), json!("x".repeat(longest + 1)), json!("a\u{1b}b")]
            }
            Kind::Choice(_) => vec![json!(""), json!("Sealed")],
            _ => continue,
        };
        for value in beyond {
            let document = example_with(&pointer, value.clone());
            let problems = problems(&document);
            let begin = format!("{pointer}:");
            let here = problems.iter().filter_map(|line| line.strip_prefix(&begin));
            let here: Vec<&str> = here.collect();
            assert_eq!(here.len(), 1, "{pointer} {value}: {problems:?}");
            assert!(here[0].starts_with(" must be "), "{problems:?}");
            assert!(!VALIDATOR.is_valid(&document), "{pointer} {value}");
        }
    }
}

/// A covariance that no factors can have is reported with the number at fault.
#[test]
fn a_covariance_must_be_one() {
    let at = |place: &str, value: Value| {
        let pointer = format!("/vehicle/calibration/covariance{place}");
        problems(&example_with(&pointer, value))
    };
    assert_eq!(at("/0/1", json!(-0.001)), Vec::<String>::new());
    assert_eq!(
        at("/0/1", json!(-0.002)),
        ["/vehicle/calibration/covariance/1/0: must equal -0.002, the value at 0/1, got -0.001"]
    );
    assert_eq!(
        at("/2/2", json!(-1)),
        ["/vehicle/calibration/covariance/2/2: must be 0 or more, since it is a variance, got -1"]
    );
    assert_eq!(
        at("/1", json!([-0.001, 0.0005, 0, 0, 0])),
        [
            "/vehicle/calibration/covariance/1/0: must be at most 0.0006708203932499369 in size, the root of the product of its variances, got -0.001"
        ]
    );
    assert_eq!(
        at("/1", json!([0, 0, 0, 0, 0, 0])),
        ["/vehicle/calibration/covariance/1: must have at most 5 items, got 6"]
    );
}

/// A key that is required is missed where it should stand.
#[test]
fn missing_keys_are_reported() {
    for field in field::all().filter(|field| field.is_required()) {
        let pointer = field.path.replace('*', "0");
        let mut document = example_with(&pointer, Value::Null);
        let (parent, key) = pointer.rsplit_once('/').unwrap();
        let parent = document.pointer_mut(parent).unwrap();
        parent.as_object_mut().unwrap().remove(key);
        let missing = format!("{pointer}: is missing; must be {}", field.kind);
        let problems = problems(&document);
        assert!(problems.contains(&missing), "{missing}: {problems:?}");
        assert!(!VALIDATOR.is_valid(&document), "{pointer}");
    }
}

/// Makes a document wrong.
type Break = fn(&mut Value);

fn assert_reported(cases: &[(&str, Break)]) {
    for (name, break_it) in cases {
        let mut document = example();
        break_it(&mut document);
        let problems = problems(&document);
        assert!(!problems.is_empty(), "{name}");
        assert!(check::read(document).is_err(), "{name}");
        insta::assert_snapshot!(*name, problems.join("\n"));
    }
}

#[test]
fn values_that_are_wrong_by_themselves() {
    assert_reported(&[
        ("no_object", |trip| *trip = json!([1, 2])),
        ("empty_object", |trip| *trip = json!({})),
        ("wrong_version", |trip| trip["drystage"] = json!(2)),
        ("legs_no_list", |trip| trip["legs"] = json!({})),
        ("misspelt_keys", |trip| {
            trip["vehicle"]["tank_litres"] = json!(55);
            trip["vehicle"]["gvm"] = json!(1790);
            trip["legs"][1]["distnce_km"] = json!(96);
            trip["tank_l"] = json!(55);
            trip["comment"] = json!("ours");
            trip["load"]["roof"]["tent"] = json!(true);
        }),
        ("wrong_types", |trip| {
            trip["vehicle"]["engine_l"] = json!("1.8");
            trip["vehicle"]["cylinders"] = json!(4.0);
            trip["vehicle"]["tyres"] = json!("215/75R15");
            trip["load"]["people"] = json!({ "name": "driver" });
            trip["load"]["gear"][0]["water"] = json!("yes");
            trip["load"]["gear"][1] = json!(22);
            trip["legs"][0]["day"] = json!([1]);
            trip["legs"][0]["surface"] = json!(7);
        }),
        ("outside_ranges", |trip| {
            trip["vehicle"]["baseline_l_per_100km"] = json!(0);
            trip["vehicle"]["kerb_mass_kg"] = json!(-1320);
            trip["vehicle"]["driveline_efficiency"] = json!(86.5);
            trip["rules"]["success_target"] = json!(1);
            trip["start"]["lat"] = json!(-91);
            trip["legs"][0]["distance_km"] = json!(-142);
            trip["legs"][3]["sand_share"] = json!(40);
            trip["legs"][5]["ascent_grade"] = json!(6);
            trip["legs"][5]["lon"] = json!(1e300);
        }),
        ("unknown_words", |trip| {
            trip["vehicle"]["fuel"] = json!("lpg");
            trip["vehicle"]["tyres"]["tread"] = json!("mud-terrain");
            trip["load"]["roof"]["shape"] = json!("Box");
            trip["load"]["cans"][0]["places"] = json!(["bonnet", "roof"]);
            trip["legs"][2]["surface"] = json!("rocks");
            trip["rules"]["units"] = json!("mpg");
        }),
        ("tyre_sizes", |trip| {
            trip["vehicle"]["tyres"]["standard"] = json!("205/70 R15");
            trip["vehicle"]["tyres"]["fitted"] = json!("31x10.5R15");
        }),
        ("texts", |trip| {
            trip["name"] = json!("");
            trip["start"]["name"] = json!("Harrow\u{1b}[31m Cross");
            trip["legs"][0]["note"] = json!("x".repeat(5000));
            trip["legs"][1]["note"] = json!("two lines\nare allowed");
        }),
    ]);
}

/// A path leads below the folder of the trip on every system: no root, no drive, no way up.
#[test]
fn a_track_lies_below_its_trip() {
    let is_legal =
        |path: &str| check::problems(&example_with("/legs/0/track", json!(path))).is_empty();
    for path in ["a.gpx", "tracks/a.gpx", "tracks/..a.gpx", "höhe.gpx"] {
        assert!(is_legal(path), "{path}");
    }
    for path in [
        "",
        "/a.gpx",
        "../a.gpx",
        "tracks/../a.gpx",
        "tracks//a.gpx",
        "C:a.gpx",
        "c:/a.gpx",
        "tracks\\a.gpx",
        "a\n.gpx",
    ] {
        assert!(!is_legal(path), "{path:?}");
    }
}

/// A vehicle whose limit is its kerb mass bears nobody.
#[test]
fn the_mass_limit_is_over_the_kerb_mass() {
    let problems = |kg: f64| check::problems(&example_with("/vehicle/gvm_kg", json!(kg))).len();
    let kerb = example()["vehicle"]["kerb_mass_kg"].as_f64().unwrap();
    assert_eq!((problems(kerb), problems(kerb + 1.0)), (1, 0));
}

/// 600 m up at 6 % take 10 km: they fit a leg of 10 km, and not one of 9.9 km.
#[test]
fn a_climb_may_fill_its_leg() {
    let problems = |km: f64| {
        let mut trip = example();
        for key in ["descent_m", "descent_grade", "track"] {
            trip["legs"][0].as_object_mut().unwrap().remove(key);
        }
        trip["legs"][0]["distance_km"] = json!(km);
        trip["legs"][0]["ascent_m"] = json!(600);
        trip["legs"][0]["ascent_grade"] = json!(0.06);
        check::problems(&trip).len()
    };
    assert_eq!((problems(10.0), problems(9.9)), (0, 1));
}

#[test]
fn values_that_contradict_each_other() {
    assert_reported(&[
        ("vehicle_against_itself", |trip| {
            trip["vehicle"]["unusable_l"] = json!(55);
            trip["vehicle"]["gvm_kg"] = json!(1300);
            trip["vehicle"]["axles"]["front_kerb_kg"] = json!(1400);
            trip["vehicle"]["tyres"]["soft_bar"] = json!(2.4);
            trip["rules"]["start_l"] = json!(60);
        }),
        ("more_read_than_the_tank_holds", |trip| {
            trip["log"] = json!([{ "place_number": 0, "odometer_km": 48064, "tank_left_l": 60 }]);
        }),
        ("nothing_left_of_the_vehicle", |trip| {
            trip["vehicle"]["kerb_includes"]["accessories_kg"] = json!(1000);
        }),
        ("shares", |trip| {
            trip["legs"][2]["sand_share"] = json!(0.9);
            trip["legs"][2]["both_share"] = json!(0.1);
            trip["legs"][3]["both_share"] = json!(0.2);
        }),
        ("climbs", |trip| {
            trip["legs"][0]["distance_km"] = json!(1);
            trip["legs"][5]["ascent_grade"] = json!(0.005);
            trip["legs"][4]["distance_km"] = json!(0);
        }),
        ("positions", |trip| {
            trip["start"].as_object_mut().unwrap().remove("lon");
            trip["legs"][2].as_object_mut().unwrap().remove("lat");
            trip["legs"][3]
                .as_object_mut()
                .unwrap()
                .remove("distance_km");
            trip["legs"][4]
                .as_object_mut()
                .unwrap()
                .remove("distance_km");
        }),
        ("days_in_disorder", |trip| {
            trip["legs"][0]["day"] = json!(2);
            trip["legs"][3]["day"] = json!(1);
        }),
        ("one_place_two_fuel_stops", |trip| {
            trip["legs"][5]["fuel"] = json!({ "price_per_l": 1.6, "litres": 40, "chance": 0.5 });
            trip["legs"][5]["lat"] = json!(-48.3);
        }),
        ("tracks", |trip| {
            trip["legs"][0]["track"] = json!("/etc/passwd");
            trip["legs"][1]["track"] = json!("tracks/../../secret.gpx");
            trip["legs"][2]["track"] = json!("C:\\trip.gpx");
            trip["legs"][3]["track"] = json!([[-128.2, -49.7]]);
            trip["legs"][4]["track"] = json!([[-128.2, -49.7, null], [-128.2], [-128.2, 95], "x"]);
            trip["legs"][5]["track"] = json!(17);
        }),
        ("cans_without_a_place", |trip| {
            trip["load"]["cans"][0]["places"] = json!([]);
            trip["load"]["cans"][1]["places"] = json!(["rear", "roof", "rear"]);
            trip["load"]["cans"][2]["owned"] = json!(-1);
        }),
        ("what_ifs", |trip| {
            trip["what_ifs"] = json!([
                { "name": "same", "change": [{ "op": "replace", "path": "legs/0", "value": 1 }] },
                { "name": "same", "change": [{ "op": "put", "path": "/legs" }, { "path": "/legs" }, 3] },
                { "name": "more", "change": [
                    { "op": "add", "path": "/name" },
                    { "op": "move", "path": "/name", "value": 1 },
                    { "op": "remove", "path": "/name", "why": "x" }
                ] },
                { "name": "none" }
            ]);
        }),
        ("log", |trip| {
            trip["log"] = json!([
                { "place_number": 2, "odometer_km": 48300, "tank_left_l": 20, "how": "eye" },
                { "place_number": 1, "odometer_km": 48199, "tank_left_l": 39 },
                { "place_number": 7, "odometer_km": 48400, "tank_left_l": -1 },
                { "odometer_km": 48500 }
            ]);
        }),
        ("many_things_at_once", |trip| {
            trip["drystage"] = json!("1");
            trip["vehicle"].as_object_mut().unwrap().remove("tank_l");
            trip["rules"]["start_l"] = json!(500);
            trip["legs"][3]["surfce"] = json!("sand");
            trip["legs"][3]["day"] = json!(1);
            trip["log"] = json!(null);
        }),
    ]);
}

/// Planning takes its time for each leg, so nobody's file may bring millions.
#[test]
fn a_list_has_an_end() {
    let with_legs = |count: usize| {
        let mut trip = example();
        for key in ["log", "what_ifs"] {
            trip.as_object_mut().unwrap().remove(key);
        }
        trip["legs"] = vec![json!({ "to": "A", "distance_km": 1 }); count].into();
        io::json::parse(trip.to_string().as_bytes())
    };
    assert_eq!(with_legs(10_000).unwrap().legs.len(), 10_000);
    assert_eq!(
        with_legs(10_001).unwrap_err().to_string(),
        "/legs: must have at most 10000 items, got 10001"
    );
}

/// A track with millions of damaged points is reported without filling the memory.
#[test]
fn a_flood_of_problems_is_cut_and_counted() {
    let mut document = example();
    document["legs"][0]["track"] = vec![json!(0); 20_000].into();
    document["legs"][1]["day"] = json!(0);
    let problems = problems(&document);
    assert_eq!(problems.len(), 10_001);
    assert_eq!(problems[10_000], "and 10001 more errors");
}

/// Any value, also of the kinds that the fields have.
fn any_json() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        any::<i64>().prop_map(Value::from),
        any::<u64>().prop_map(Value::from),
        any::<f64>().prop_map(Value::from),
        (-10.0..100.0).prop_map(Value::from),
        (0..10).prop_map(Value::from),
        ".{0,12}".prop_map(Value::from),
        "(/[a-z0-9]{1,4}){0,3}".prop_map(Value::from),
        "[1-4][0-9]{2}/[0-9]{2,3}[R-][0-9]{2}".prop_map(Value::from),
    ];
    leaf.prop_recursive(3, 20, 4, |inner| {
        let key = "[a-z_]{1,8}|op|path|name|value";
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..4).prop_map(Value::from),
            prop::collection::vec((key, inner), 0..4)
                .prop_map(|fields| Value::from(fields.into_iter().collect::<Map<_, _>>())),
        ]
    })
}

proptest! {
    #![proptest_config(cases("trip_file", 200))]

    #[test]
    fn legal_trips_are_read_and_written_back_the_same(document in legal::documents()) {
        let text = serde_json::to_string(&document).unwrap();
        let trip = io::json::parse(text.as_bytes()).map_err(|error| TestCaseError::fail(error.to_string()))?;
        let again = written(&trip);
        let after: Value = serde_json::from_str(&again).unwrap();
        prop_assert!(same(&document, &after), "{}\n{}", document, after);
        prop_assert_eq!(&io::json::parse(again.as_bytes()).unwrap(), &trip);
        let ends = again.ends_with("}\n");
        prop_assert!(ends);
    }

    #[test]
    fn legal_trips_fulfil_the_schema(document in legal::documents()) {
            if let Err(error) = VALIDATOR.validate(&document) {
            prop_assert!(false, "{} at {}", error, error.instance_path());
        }
    }

    /// Whatever is in whichever field: what is not shown can be read, and what the schema refuses is reported.
    #[test]
    fn anything_anywhere_is_reported_or_read(
        field in prop::sample::select(field::all().collect::<Vec<_>>()),
        value in any_json(),
    ) {
        let document = example_with(&field.path.replace('*', "0"), value);
        let problems = problems(&document);
        let read = io::json::parse(document.to_string().as_bytes());
        prop_assert_eq!(problems.is_empty(), read.is_ok(), "{:?}", problems);
        prop_assert!(!problems.is_empty() || VALIDATOR.is_valid(&document), "{}", document);
    }

    /// Damage to the bytes of a file gives an error or a trip, never a panic.
    #[test]
    fn damaged_files_never_panic(at in 0..EXAMPLE.len(), cut in 0..40_usize, put in any::<Vec<u8>>()) {
        let mut bytes = EXAMPLE.as_bytes().to_vec();
        let end = (at + cut).min(bytes.len());
        bytes.splice(at..end, put);
        if let Err(error) = io::json::parse(&bytes) {
            prop_assert!(!error.to_string().is_empty());
        }
    }
}

/// A key that had another name before is refused with the name to write, in the trip and in the changes of a what-if.
#[test]
fn former_keys_are_refused_with_the_name_to_write() {
    for (pointer, name) in [
        ("/rules/confidence", "success_target"),
        ("/rules/doubtful_stops", "unconfirmed_stops"),
        ("/rules/most_spare_l", "most_in_cans_l"),
        ("/rules/reserve/percent", "/rules/contingency_percent"),
        ("/load/crew", "people"),
        ("/load/items", "gear"),
        ("/vehicle/base_l_per_100km", "baseline_l_per_100km"),
        ("/vehicle/base_speed_kmh", "baseline_speed_kmh"),
        ("/vehicle/base_from", "baseline_from"),
        ("/vehicle/base_condition", "baseline_conditions"),
        ("/vehicle/fitted", "calibration"),
    ] {
        let (parent, key) = pointer.rsplit_once('/').unwrap();
        let mut document = example();
        document.pointer_mut(parent).unwrap()[key] = json!(1);
        let problems = problems(&document);
        let refusal = format!("{pointer}: `{key}` is now `{name}`");
        assert!(problems.contains(&refusal), "{problems:?}");
    }
    let mut document = example();
    document["log"] =
        json!([{ "node": 0, "place_number": 0, "odometer_km": 48064, "tank_left_l": 55 }]);
    assert_eq!(
        problems(&document),
        ["/log/0/node: `node` is now `place_number`"]
    );
}
