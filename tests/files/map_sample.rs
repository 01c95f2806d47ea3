//! The sample track with its map and its elevation tile: written here, read by the program. All is invented and lies in
//! mid-ocean. `UPDATE_SAMPLES=1 cargo test --test files map_sample` writes the files.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use drystage::io::import::{self, Imported, MapChoice, Options, TileChoice};
use drystage::io::osm;
use drystage::model::vocabulary::Surface;
use drystage::quantity::Metres;

use crate::drawn_routes::DEGREE;
use crate::extract::{Node, Way, extract, id_after, tags};
use crate::tiles::{Posts, geotiff};

const TRACK: &str = "sample-routes/salt-basin.gpx";
const MAP: &str = "sample-routes/salt-basin.osm.pbf";
const TILE: &str = "sample-routes/salt-basin.tif";

/// Latitude and longitude after so many metres of the route: to the east, with bends.
fn at(metres: f64) -> (f64, f64) {
    let north = 900.0 * (metres / 4100.0).sin() + 160.0 * (metres / 760.0).sin();
    let lat = -38.0 + north / DEGREE;
    (
        lat,
        -105.0 + metres / (DEGREE * (-38.0_f64).to_radians().cos()),
    )
}

/// Metres above the sea: a basin between two rims, to half a metre.
fn height(lat: f64, lon: f64) -> f64 {
    let east = (lon + 105.0) * DEGREE * (-38.0_f64).to_radians().cos();
    let basin = 640.0 + 520.0 * ((east - 31_000.0) / 30_000.0).powi(2);
    let hills = 60.0 * (east / 2300.0).sin() * (lat * 260.0).cos();
    ((basin + hills) * 2.0).round() / 2.0
}

fn track() -> String {
    let points = (0..=620).map(|n| {
        let (lat, lon) = at(f64::from(n) * 100.0);
        format!("      <trkpt lat=\"{lat:.6}\" lon=\"{lon:.6}\"/>\n")
    });
    let places = [
        ("Lantern Rim", 0.0),
        ("Brine Wells", 14_000.0),
        ("Anvil Rim", 62_000.0),
    ]
    .map(|(name, metres)| {
        let (lat, lon) = at(metres);
        format!("  <wpt lat=\"{lat:.6}\" lon=\"{lon:.6}\"><name>{name}</name></wpt>\n")
    });
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<gpx version=\"1.1\" creator=\"drystage sample\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n  <metadata>\n    <name>Across the salt basin (invented)</name>\n    <desc>Invented from end to end: the points lie in the open ocean, and nothing named here exists.</desc>\n  </metadata>\n{}  <trk>\n    <name>Across the salt basin (invented)</name>\n    <trkseg>\n{}    </trkseg>\n  </trk>\n</gpx>\n",
        places.concat(),
        points.collect::<String>()
    )
}

fn map() -> Vec<u8> {
    let parts = [
        (
            0.0,
            14_000.0,
            "highway=tertiary surface=asphalt maxspeed=70",
        ),
        (14_000.0, 32_000.0, "highway=track surface=gravel ford=yes"),
        (
            32_000.0,
            38_000.0,
            "highway=track surface=sand 4wd_only=yes",
        ),
        // From 38 to 43 km there is no way on the map.
        (43_000.0, 62_000.0, "highway=track tracktype=grade3"),
    ];
    let (lat, lon) = at(14_000.0);
    let fuel =
        "amenity=fuel name=Brine+Wells+(invented) opening_hours=Mo-Sa+07:00-19:00 fuel:diesel=yes";
    let mut nodes: Vec<Node> = vec![(1, lat + 0.004, lon, tags(fuel))];
    let mut ways: Vec<Way> = Vec::new();
    let mut add = |from: f64, to: f64, off: f64, text: &str| {
        let mut ids = Vec::new();
        let mut metres = from;
        while metres <= to {
            let (lat, lon) = at(metres);
            let here = (lat + off / DEGREE, lon);
            let known = nodes
                .iter()
                .find(|node| (node.1, node.2) == here)
                .map(|node| node.0);
            let id = known.unwrap_or(id_after(nodes.len()));
            if known.is_none() {
                nodes.push((id, here.0, here.1, Vec::new()));
            }
            ids.push(id);
            metres += 50.0;
        }
        ways.push((id_after(ways.len()), ids, tags(text)));
    };
    for (from, to, text) in parts {
        add(from, to, 0.0, text);
    }
    // A second track beside the gravel, which was not driven.
    add(18_000.0, 26_000.0, 180.0, "highway=track surface=rock");
    extract("invented: no place or way of it exists", &nodes, &ways)
}

fn tile() -> Vec<u8> {
    let posts = Posts {
        west: -105.02,
        north: -37.95,
        east_step: 1.0 / 600.0,
        south_step: 1.0 / 600.0,
        columns: 460,
        rows: 62,
    };
    #[expect(
        clippy::cast_possible_truncation,
        reason = "halves of a metre are exact"
    )]
    let metres = |lat: f64, lon: f64| height(lat, lon) as f32;
    geotiff(posts, 256, metres)
}

fn of_root(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

#[test]
fn the_samples_are_what_the_writers_write() {
    for (path, bytes) in [(TRACK, track().into_bytes()), (MAP, map()), (TILE, tile())] {
        let file = of_root(path);
        if std::env::var_os("UPDATE_SAMPLES").is_some() {
            fs::write(&file, &bytes).unwrap();
        }
        assert!(bytes.len() < 100_000, "{path}: {} bytes", bytes.len());
        assert!(
            fs::read(&file).is_ok_and(|saved| saved == bytes),
            "{path} differs"
        );
    }
}

fn imported(with_map: bool, with_tile: bool) -> Imported {
    let options = Options {
        map: with_map.then(|| MapChoice {
            files: vec![of_root(MAP)],
            progress: Arc::new(|_| true),
        }),
        tiles: with_tile.then(|| TileChoice {
            folder: of_root(TILE),
            preferred: false,
        }),
        ..Options::default()
    };
    import::import(&[of_root(TRACK)], &options).unwrap()
}

/// What is left to type: without map and tile surface, sand, hazards, climb and a fuel stop of every leg.
#[test]
fn track_map_and_tile_make_a_trip() {
    let bare = imported(false, false).trip;
    assert_eq!(bare.legs.len(), 2);
    assert!(
        bare.legs
            .iter()
            .all(|leg| leg.surface.is_none() && leg.ascent_m.is_none())
    );
    let full = imported(true, true);
    let surfaces: Vec<Option<Surface>> = full.trip.legs.iter().map(|leg| leg.surface).collect();
    let (sealed, gravel, earth) = (
        Some(Surface::Sealed),
        Some(Surface::Gravel),
        Some(Surface::Earth),
    );
    assert_eq!(
        surfaces,
        [sealed, gravel, earth, None, earth],
        "{:?}",
        full.notes
    );
    assert!(full.trip.legs[2].sand_share().get() > 0.9);
    assert!(full.trip.legs[3].surface_known_share().get() < 0.1);
    let climb: Metres = full.trip.legs.iter().filter_map(|leg| leg.ascent_m).sum();
    assert!((500.0..1500.0).contains(&climb.get()), "{climb:?}");
    assert!(full.trip.legs[0].fuel.is_some());
    assert_eq!(full.trip.notice.as_deref(), Some(osm::INVENTED));
    let names: Vec<&str> = full.trip.legs.iter().map(|leg| leg.to.as_str()).collect();
    assert_eq!((names[0], names[4]), ("Brine Wells", "Anvil Rim"));
}
