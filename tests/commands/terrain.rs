//! Maps and elevation tiles on the command line: an import with both, a trip that is filled later, preferences that name
//! the files, and the notice that goes with the data. The map is invented.

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use assert_cmd::cargo::cargo_bin;
use serde_json::{Value, json};

const NOTICE: &str = "Invented map: its ways and places do not exist";

fn run(arguments: &[&str], home: &Path) -> Output {
    Command::new(cargo_bin("drystage"))
        .env_clear()
        .env("XDG_CONFIG_HOME", home)
        .stdin(Stdio::null())
        .args(arguments)
        .output()
        .unwrap()
}

fn out(output: &Output) -> String {
    assert!(output.status.success(), "{output:?}");
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn sample(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-routes");
    path.join(name).to_str().unwrap().to_owned()
}

fn trip(path: &str) -> Value {
    serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap()
}

fn in_folder(folder: &Path, name: &str) -> String {
    folder.join(name).to_str().unwrap().to_owned()
}

/// Without line ends, since text is wrapped.
fn in_one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_notice_of_a_map_is_in_the_trip_and_in_every_report() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path();
    let (track, map, tile) = (
        sample("salt-basin.gpx"),
        sample("salt-basin.osm.pbf"),
        sample("salt-basin.tif"),
    );
    let saved = in_folder(home, "basin.json");
    let import = [
        "import",
        &track,
        "--map",
        &map,
        "--heights",
        &tile,
        "-o",
        &saved,
    ];
    out(&run(&import, home));
    let full = trip(&saved);
    assert_eq!(full["notice"], json!(NOTICE));
    assert_eq!(full["legs"][0]["surface_from"], json!("invented-map"));
    for format in ["text", "json", "html", "gpx", "geojson"] {
        let report = ["report", &saved, "--best-estimate", "--format", format];
        let report = out(&run(&report, home));
        assert!(in_one_line(&report).contains(NOTICE), "{format}: {report}");
    }
    let home_page = out(&run(&["report", &saved, "--home"], home));
    assert!(in_one_line(&home_page).contains(NOTICE), "{home_page}");
}

#[test]
fn an_existing_trip_gets_what_it_does_not_state() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path();
    let bare = in_folder(home, "bare.json");
    out(&run(
        &["import", &sample("salt-basin.gpx"), "-o", &bare],
        home,
    ));
    let mut before = trip(&bare);
    assert_eq!(before["legs"][0].get("surface"), None);
    before["legs"][0]["surface"] = json!("rock");
    fs::write(&bare, before.to_string()).unwrap();
    let (map, tile) = (sample("salt-basin.osm.pbf"), sample("salt-basin.tif"));
    let filled = in_folder(home, "filled.json");
    let call = ["terrain", &bare, "--map", &map, "--heights", &tile];
    let shown = out(&run(&call, home));
    assert!(shown.contains("Preview only"), "{shown}");
    assert!(shown.contains("leg 2 to"), "{shown}");
    assert!(shown.contains(NOTICE), "{shown}");
    assert_eq!(trip(&bare), before, "a preview writes nothing");
    let written = [&call[..], &["--split", "-o", &filled]].concat();
    out(&run(&written, home));
    let after = trip(&filled);
    assert_eq!(after["notice"], json!(NOTICE));
    assert_eq!(after["legs"][0]["surface"], json!("rock"), "stated");
    assert!(after["legs"][0]["ascent_m"].is_number());
    let legs = after["legs"].as_array().unwrap();
    assert!(legs.len() > 3, "split where the surface changes: {legs:?}");
    let again = ["terrain", &filled, "--map", &map, "--heights", &tile];
    let again = out(&run(&again, home));
    assert!(again.contains("Nothing to add"), "{again}");
}

#[test]
fn preferences_name_map_and_tiles() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path();
    fs::create_dir_all(home.join("drystage")).unwrap();
    let preferences =
        json!({ "map": sample("salt-basin.osm.pbf"), "heights": sample("salt-basin.tif") });
    fs::write(home.join("drystage/config.json"), preferences.to_string()).unwrap();
    let shown = out(&run(&["import", &sample("salt-basin.gpx")], home));
    assert!(shown.contains("sealed (100 % known)"), "{shown}");
    assert!(shown.contains("climb"), "{shown}");
}

#[test]
fn a_call_without_map_and_tiles_is_a_usage_error() {
    let folder = tempfile::tempdir().unwrap();
    let call = ["terrain", &sample("plateau-loop.json")];
    let refused = run(&call, folder.path());
    assert_eq!(refused.status.code(), Some(2));
    let why = String::from_utf8(refused.stderr).unwrap();
    assert!(why.contains("give a map with --map"), "{why}");
}
