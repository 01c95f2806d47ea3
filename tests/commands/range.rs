//! `drystage range`, and trips without legs on every command.

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use assert_cmd::cargo::cargo_bin;
use serde_json::{Value, json};

fn run(arguments: &[&str]) -> Output {
    Command::new(cargo_bin("drystage"))
        .env_clear()
        .stdin(Stdio::null())
        .args(arguments)
        .output()
        .unwrap()
}

fn text(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).unwrap()
}

fn root(path: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
    path.to_str().unwrap().to_owned()
}

/// A sample without its legs, in a folder that is removed with the guard.
fn without_legs() -> (tempfile::TempDir, String) {
    let sample = fs::read_to_string(root("sample-routes/plateau-loop.json")).unwrap();
    let mut trip: Value = serde_json::from_str(&sample).unwrap();
    trip["legs"] = json!([]);
    trip.as_object_mut().unwrap().remove("what_ifs");
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("vehicle.json");
    fs::write(&path, trip.to_string()).unwrap();
    let name = path.to_str().unwrap().to_owned();
    (folder, name)
}

#[test]
fn the_range_as_it_is_printed() {
    let output = run(&["range", &root("tests/data/example-trip.json")]);
    assert_eq!(output.status.code(), Some(0));
    insta::assert_snapshot!(text(&output.stdout));
}

/// Vehicle, load and rules are enough, and the JSON says the same as the text.
#[test]
fn a_vehicle_without_legs_has_a_range() {
    let (_folder, name) = without_legs();
    let printed = run(&["range", &name]);
    assert_eq!(printed.status.code(), Some(0), "{}", text(&printed.stderr));
    let json: Value =
        serde_json::from_slice(&run(&["range", &name, "--format", "json"]).stdout).unwrap();
    let sealed = &json["range"]["as_in_trip"]["surfaces"][0];
    assert_eq!(sealed["surface"], "sealed");
    let [target, best] = ["to_minimum_km", "to_minimum_best_estimate_km"]
        .map(|key| sealed[key].as_f64().unwrap().floor());
    let row = text(&printed.stdout)
        .lines()
        .find(|line| line.starts_with("tank, as in trip"))
        .unwrap();
    assert_eq!(
        row.split_whitespace().nth(4),
        Some(&*format!("{target}/{best}"))
    );
    let with_larger_tank = run(&["range", &name, "--set", "/vehicle/tank_l=60"]);
    assert_ne!(with_larger_tank.stdout, printed.stdout);
}

/// What plans a trip refuses one without legs and says what to use it with; what needs no legs accepts it.
#[test]
fn commands_that_need_legs_say_so() {
    let (_folder, name) = without_legs();
    for arguments in [
        &["report", &name][..],
        &["report", &name, "--format", "html"],
        &["arrive", &name, "0", "--odometer", "88210", "--left", "40"],
        &[&name],
    ] {
        let output = run(arguments);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        let message = text(&output.stderr);
        assert!(
            message.contains("/legs: this needs at least one leg, got none"),
            "{message}"
        );
        assert!(
            message.contains("vehicle.json") && message.contains("`range`"),
            "{message}"
        );
    }
    let checked = run(&["check", &name]);
    assert_eq!(checked.status.code(), Some(0), "{}", text(&checked.stderr));
    let fills = root("sample-routes/plateau-loop-fills.csv");
    let calibrated = run(&["calibrate", &name, &fills, "--save"]);
    assert_eq!(
        calibrated.status.code(),
        Some(0),
        "{}",
        text(&calibrated.stderr)
    );
    let saved: Value = serde_json::from_str(&fs::read_to_string(&name).unwrap()).unwrap();
    assert!(saved["vehicle"]["calibration"].is_object());
    let lent = run(&["new", "--vehicle-from", &name, "-o", "-"]);
    let lent: Value = serde_json::from_slice(&lent.stdout).unwrap();
    assert_eq!(lent["vehicle"], saved["vehicle"]);
    assert!(!lent["legs"].as_array().unwrap().is_empty());
}

/// A trip with legs keeps one, whatever is set.
#[test]
fn no_setting_takes_the_last_leg() {
    let trip = root("tests/data/example-trip.json");
    let output = run(&["report", &trip, "--set", "/legs=[]"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        text(&output.stderr).contains("/legs: must keep a leg"),
        "{}",
        text(&output.stderr)
    );
}
