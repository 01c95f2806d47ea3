//! Maps and elevation tiles on the command line: an import with both, a trip that is filled later, preferences that name
//! the files, and the notice that goes with the data. The map is invented.

use std::fs;
use std::path::Path;
use std::process::Output;

use serde_json::{Value, json};

use super::program::{assert_parts, done, drystage, in_one_line, parsed, refused, root};

const NOTICE: &str = "Invented map: its ways and places do not exist";

fn run(arguments: &[&str], home: &Path) -> Output {
    let mut command = drystage();
    command.env("XDG_CONFIG_HOME", home).args(arguments);
    command.output().unwrap()
}

fn sample(name: &str) -> String {
    root(&format!("sample-routes/{name}"))
}

fn trip(path: &str) -> Value {
    parsed(&fs::read_to_string(path).unwrap())
}

fn in_folder(folder: &Path, name: &str) -> String {
    folder.join(name).to_str().unwrap().to_owned()
}

#[test]
fn the_notice_of_a_map_is_in_the_trip_and_in_every_report() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path();
    let [track, map, tile] = ["salt-basin.gpx", "salt-basin.osm.pbf", "salt-basin.tif"].map(sample);
    let saved = in_folder(home, "basin.json");
    let import = ["import", &track, "--map", &map, "--heights", &tile];
    done(run(&[&import[..], &["-o", &saved]].concat(), home));
    let full = trip(&saved);
    assert_eq!(full["notice"], json!(NOTICE));
    assert_eq!(full["legs"][0]["surface_from"], json!("invented-map"));
    for format in ["text", "json", "html", "gpx", "geojson"] {
        let report = ["report", &saved, "--best-estimate", "--format", format];
        let report = done(run(&report, home));
        assert!(in_one_line(&report).contains(NOTICE), "{format}: {report}");
    }
    let home_page = done(run(&["report", &saved, "--home"], home));
    assert!(in_one_line(&home_page).contains(NOTICE), "{home_page}");
}

#[test]
fn an_existing_trip_gets_what_it_does_not_state() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path();
    let bare = in_folder(home, "bare.json");
    let track = sample("salt-basin.gpx");
    done(run(&["import", &track, "-o", &bare], home));
    let mut before = trip(&bare);
    assert_eq!(before["legs"][0].get("surface"), None);
    before["legs"][0]["surface"] = json!("rock");
    fs::write(&bare, before.to_string()).unwrap();
    let (map, tile) = (sample("salt-basin.osm.pbf"), sample("salt-basin.tif"));
    let filled = in_folder(home, "filled.json");
    let call = ["terrain", &bare, "--map", &map, "--heights", &tile];
    let shown = done(run(&call, home));
    assert_parts(&shown, &["Preview only", "leg 2 to", NOTICE]);
    assert_eq!(trip(&bare), before, "a preview writes nothing");
    let written = [&call[..], &["--split", "-o", &filled]].concat();
    done(run(&written, home));
    let after = trip(&filled);
    assert_eq!(after["notice"], json!(NOTICE));
    assert_eq!(after["legs"][0]["surface"], json!("rock"), "stated");
    assert!(after["legs"][0]["ascent_m"].is_number());
    let legs = after["legs"].as_array().unwrap();
    assert!(legs.len() > 3, "split where the surface changes: {legs:?}");
    let again = ["terrain", &filled, "--map", &map, "--heights", &tile];
    let again = done(run(&again, home));
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
    let shown = done(run(&["import", &sample("salt-basin.gpx")], home));
    assert_parts(&shown, &["sealed (100 % known)", "climb"]);
}

#[test]
fn a_call_without_map_and_tiles_is_a_usage_error() {
    let folder = tempfile::tempdir().unwrap();
    let call = ["terrain", &sample("plateau-loop.json")];
    let why = refused(run(&call, folder.path()));
    assert!(why.contains("give a map with --map"), "{why}");
}
