//! `drystage range`, and trips without legs on every command.

use std::fs;
use std::process::Output;

use serde_json::json;

use super::program::{assert_parts, done, drystage, parsed, refused, root};

fn run(arguments: &[&str]) -> Output {
    drystage().args(arguments).output().unwrap()
}

/// A sample without its legs, in a folder that is removed with the guard.
fn without_legs() -> (tempfile::TempDir, String) {
    let sample = fs::read_to_string(root("sample-routes/plateau-loop.json")).unwrap();
    let mut trip = parsed(&sample);
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
    let printed = done(run(&["range", &root("tests/data/example-trip.json")]));
    insta::assert_snapshot!(printed);
}

/// Vehicle, load and rules are enough, and the JSON says the same as the text.
#[test]
fn a_vehicle_without_legs_has_a_range() {
    let (_folder, name) = without_legs();
    let printed = done(run(&["range", &name]));
    let json = parsed(&done(run(&["range", &name, "--format", "json"])));
    let sealed = &json["range"]["as_in_trip"]["surfaces"][0];
    assert_eq!(sealed["surface"], "sealed");
    let [target, best] = ["to_minimum_km", "to_minimum_best_estimate_km"]
        .map(|key| sealed[key].as_f64().unwrap().floor());
    let mut rows = printed.lines();
    let row = rows.find(|line| line.starts_with("tank, as in trip"));
    let cell = row.unwrap().split_whitespace().nth(4);
    assert_eq!(cell, Some(&*format!("{target}/{best}")));
    let with_larger_tank = done(run(&["range", &name, "--set", "/vehicle/tank_l=60"]));
    assert_ne!(with_larger_tank, printed);
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
        assert_parts(
            &refused(run(arguments)),
            &[
                "/legs: this needs at least one leg, got none",
                "vehicle.json",
                "`range`",
            ],
        );
    }
    done(run(&["check", &name]));
    let fills = root("sample-routes/plateau-loop-fills.csv");
    done(run(&["calibrate", &name, &fills, "--save"]));
    let saved = parsed(&fs::read_to_string(&name).unwrap());
    assert!(saved["vehicle"]["calibration"].is_object());
    let lent = parsed(&done(run(&["new", "--vehicle-from", &name, "-o", "-"])));
    assert_eq!(lent["vehicle"], saved["vehicle"]);
    assert!(!lent["legs"].as_array().unwrap().is_empty());
}

/// A trip with legs keeps one, whatever is set.
#[test]
fn no_setting_takes_the_last_leg() {
    let trip = root("tests/data/example-trip.json");
    let message = refused(run(&["report", &trip, "--set", "/legs=[]"]));
    assert!(message.contains("/legs: must keep a leg"), "{message}");
}
