//! The trip file: what is legal is read and written back the same, what is not is told, all of it.

#![expect(clippy::unwrap_used, reason = "a test may stop where it cannot go on")]

mod legal;

use std::path::Path;

use drystage::io::json;
use drystage::model::check;
use drystage::model::schema::schema;
use proptest::prelude::*;
use proptest::test_runner::FileFailurePersistence;
use serde_json::Value;

const EXAMPLE: &str = include_str!("data/example-trip.json");

fn config() -> ProptestConfig {
    ProptestConfig {
        cases: 200,
        failure_persistence: Some(Box::new(FileFailurePersistence::Direct(
            "tests/regressions/trip_file.txt",
        ))),
        ..ProptestConfig::default()
    }
}

fn example() -> Value {
    serde_json::from_str(EXAMPLE).unwrap()
}

/// Trips that ship with the program.
fn samples() -> Vec<(String, String)> {
    let mut samples = vec![("example".to_owned(), EXAMPLE.to_owned())];
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-routes");
    for entry in std::fs::read_dir(folder).into_iter().flatten() {
        let path = entry.unwrap().path();
        if path
            .extension()
            .is_some_and(|extension| extension == "json")
        {
            let text = std::fs::read_to_string(&path).unwrap();
            samples.push((path.display().to_string(), text));
        }
    }
    samples
}

/// The same keys and values; numbers by their value, since 5.0 is written as 5.
fn same(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Number(a), Value::Number(b)) => {
            a == b || a.as_f64().map(f64::to_bits) == b.as_f64().map(f64::to_bits)
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
    json::write(trip, &mut bytes).unwrap();
    String::from_utf8(bytes).unwrap()
}

#[test]
fn samples_are_read_and_written_back_the_same() {
    for (name, text) in samples() {
        let trip = json::parse(text.as_bytes()).unwrap_or_else(|error| panic!("{name}: {error}"));
        let again = written(&trip);
        let (before, after): (Value, Value) = (
            serde_json::from_str(&text).unwrap(),
            serde_json::from_str(&again).unwrap(),
        );
        assert!(same(&before, &after), "{name}: {again}");
        assert_eq!(json::parse(again.as_bytes()).unwrap(), trip, "{name}");
    }
}

#[test]
fn samples_fulfil_the_schema() {
    let validator = jsonschema::validator_for(&schema()).unwrap();
    for (name, text) in samples() {
        let document = serde_json::from_str(&text).unwrap();
        if let Err(error) = validator.validate(&document) {
            panic!("{name}: {error} at {}", error.instance_path());
        }
    }
}

#[test]
fn every_problem_is_told_at_once_and_in_order() {
    let mut document = example();
    document["vehicle"]["tank_l"] = "much".into();
    document["rules"]["start_l"] = 500.into();
    document["legs"][3]["sand_share"] = 1.4.into();
    document["legs"][3]["surfce"] = "sand".into();
    document["start"]["name"] = Value::Null;
    let problems: Vec<String> = check::problems(&document)
        .iter()
        .map(ToString::to_string)
        .collect();
    assert_eq!(
        problems,
        [
            "/vehicle/tank_l: must be a number, 10 to 400 L, got \"much\"",
            "/rules/start_l: must be 0 to 400 L, got 500",
            "/start/name: must be text of 1 to 200 characters without control characters, got null",
            "/legs/3/sand_share: must be 0 to 1, got 1.4",
            "/legs/3/surfce: unknown key; the nearest known one is `surface`",
        ]
    );
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn legal_trips_are_read_and_written_back_the_same(document in legal::documents()) {
        let text = serde_json::to_string(&document).unwrap();
        let trip = json::parse(text.as_bytes()).map_err(|error| TestCaseError::fail(error.to_string()))?;
        let again = written(&trip);
        let after: Value = serde_json::from_str(&again).unwrap();
        prop_assert!(same(&document, &after), "{}\n{}", document, after);
        prop_assert_eq!(&json::parse(again.as_bytes()).unwrap(), &trip);
        let ends = again.ends_with("}\n");
        prop_assert!(ends);
    }

    #[test]
    fn legal_trips_fulfil_the_schema(document in legal::documents()) {
        let validator = jsonschema::validator_for(&schema()).unwrap();
        if let Err(error) = validator.validate(&document) {
            prop_assert!(false, "{} at {}", error, error.instance_path());
        }
    }
}
