//! Imports with a map: extracts that are read, matched, and made surfaces and fuel stops of legs. All maps are invented
//! and lie in mid-ocean, but for the one that the environment names.

use std::collections::{HashMap, HashSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use drystage::io::import::{Imported, MapChoice, Options};
use drystage::io::osm::{self, Corridor, Extract, OsmError};
use drystage::model::route::Position;
use drystage::model::track::Point;
use drystage::model::vocabulary::{Hazard, Surface, SurfaceFrom};
use drystage::quantity::{Degrees, Kilometres, KilometresPerHour, Metres, Share};
use drystage::roads::matching::{matched, nearest};
use drystage::roads::network::RawWay;
use drystage::roads::{Along, Ground, Network, WayTags};
use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::drawn_routes::{DEGREE, Drawing, Map, score};
use crate::extract::{Node, Tags, Way, extract, id_after, tags};
use crate::imported::{import, note};

/// Metres east and north of a place in mid-ocean as latitude and longitude.
fn place(east: f64, north: f64) -> (f64, f64) {
    let lat = -48.0 + north / DEGREE;
    (
        lat,
        -130.0 + east / (DEGREE * (-48.0_f64).to_radians().cos()),
    )
}

fn point(east: f64, north: f64) -> Point {
    let (lat, lon) = place(east, north);
    Point {
        lat: Degrees::new(lat),
        lon: Degrees::new(lon),
        height: None,
    }
}

/// A line to the east in steps of 40 m, `north` metres north.
fn east(from: f64, to: f64, north: f64) -> Vec<Point> {
    #[expect(clippy::cast_possible_truncation, reason = "a few thousand steps")]
    let steps = ((to - from) / 40.0) as i32;
    (0..=steps)
        .map(|n| point(from + f64::from(n) * 40.0, north))
        .collect()
}

/// A map of ways that each run to the east: from, to, north, tags. Ways that meet share a node.
fn map_of(ways: &[(f64, f64, f64, &str)], points: &[(f64, f64, &str)]) -> (Vec<Node>, Vec<Way>) {
    let mut nodes: Vec<Node> = Vec::new();
    let mut known: HashMap<(i64, i64), i64> = HashMap::new();
    let mut node = |east: f64, north: f64, tags: Tags| {
        #[expect(clippy::cast_possible_truncation, reason = "metres")]
        let key = (east as i64, north as i64);
        *known.entry(key).or_insert_with(|| {
            let (lat, lon) = place(east, north);
            let id = id_after(nodes.len());
            nodes.push((id, lat, lon, tags));
            id
        })
    };
    for &(east, north, text) in points {
        node(east, north, tags(text));
    }
    let ways = ways
        .iter()
        .enumerate()
        .map(|(n, &(from, to, north, text))| {
            let steps = ((to - from) / 500.0).ceil();
            let mut ids = Vec::new();
            let mut step = 0.0;
            while step <= steps {
                ids.push(node(from + (to - from) * step / steps, north, Vec::new()));
                step += 1.0;
            }
            (id_after(n + 99), ids, tags(text))
        });
    let ways = ways.collect();
    (nodes, ways)
}

struct OnDisk {
    _folder: tempfile::TempDir,
    path: PathBuf,
}

fn saved(bytes: &[u8]) -> OnDisk {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("map.osm.pbf");
    std::fs::write(&path, bytes).unwrap();
    OnDisk {
        _folder: folder,
        path,
    }
}

fn read(path: &Path, track: &[Point]) -> Result<Extract, OsmError> {
    let corridor = Corridor::new([track], Kilometres::new(5.0));
    osm::read(&[path.to_owned()], &corridor, &|_| true)
}

#[test]
fn an_extract_gives_the_ways_and_fuel_stops_near_a_track() {
    let (nodes, ways) = map_of(
        &[
            (0.0, 5000.0, 0.0, "highway=track surface=gravel maxspeed=40"),
            (5000.0, 9000.0, 0.0, "highway=track ford=yes"),
            (0.0, 5000.0, 20_000.0, "highway=track surface=sand"),
            (0.0, 5000.0, 100.0, "waterway=river"),
        ],
        &[
            (
                2000.0,
                900.0,
                "amenity=fuel name=Brine+Pier opening_hours=Mo-Fr+08:00-17:00 fuel:diesel=yes",
            ),
            (2000.0, 40_000.0, "amenity=fuel name=Far+Off"),
        ],
    );
    let file = saved(&extract("invented by the tests", &nodes, &ways));
    let read = read(&file.path, &east(0.0, 9000.0, 3.0)).unwrap();
    assert_eq!(read.network.len(), 18);
    assert!(read.is_invented);
    assert_eq!(read.notice(), osm::INVENTED);
    assert_eq!(read.fuel.len(), 1);
    assert_eq!(read.fuel[0].name.as_deref(), Some("Brine Pier"));
    assert_eq!(
        read.fuel[0].tags,
        ["opening_hours=Mo-Fr 08:00-17:00", "fuel:diesel=yes"]
    );
    let file = saved(&extract("survey", &nodes, &ways));
    let read = super::maps::read(&file.path, &east(0.0, 900.0, 3.0)).unwrap();
    assert_eq!(read.notice(), osm::NOTICE);
}

#[test]
fn what_is_no_extract_is_refused() {
    let track = east(0.0, 900.0, 0.0);
    let refused = |bytes: &[u8]| {
        let file = saved(bytes);
        read(&file.path, &track).err().unwrap().to_string()
    };
    for foreign in [b"".as_slice(), b"<osm version=\"0.6\"/>", &[0xff; 200]] {
        let reason = refused(foreign);
        assert!(reason.contains("not an OpenStreetMap extract"), "{reason}");
    }
    let (nodes, ways) = map_of(&[(0.0, 5000.0, 0.0, "highway=track")], &[]);
    let whole = extract("invented", &nodes, &ways);
    let cut = refused(&whole[..whole.len() - 30]);
    assert!(cut.contains("damaged after"), "{cut}");
    let missing = read(Path::new("no/such.osm.pbf"), &track)
        .err()
        .unwrap()
        .to_string();
    assert!(missing.contains("file not found"), "{missing}");
    let corridor = Corridor::new([track.as_slice()], Kilometres::new(5.0));
    let file = saved(&whole);
    let cancelled = osm::read(std::slice::from_ref(&file.path), &corridor, &|_| false);
    assert!(matches!(cancelled, Err(OsmError::Cancelled)));
}

/// Changed bytes give an error or a map, and never a panic. The contents are compressed, so bytes inside are changed
/// before they are.
fn mutated(files: u32, seed: u64) {
    let (nodes, ways) = map_of(
        &[(
            0.0,
            3000.0,
            0.0,
            "highway=track surface=gravel ford=yes maxspeed=40",
        )],
        &[(900.0, 30.0, "amenity=fuel name=Brine+Pier")],
    );
    let whole = extract("invented", &nodes, &ways);
    let raw = crate::extract::uncompressed("invented", &nodes, &ways);
    let track = east(0.0, 3000.0, 3.0);
    let mut random = Xoshiro256PlusPlus::seed_from_u64(seed);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("map.osm.pbf");
    for n in 0..files {
        let mut bytes = if n % 4 == 0 {
            whole.clone()
        } else {
            raw.clone()
        };
        for _ in 0..random.random_range(1..6) {
            let at = random.random_range(0..bytes.len());
            match random.random_range(0..4) {
                0 => bytes[at] = random.random(),
                1 => bytes[at] ^= 1 << random.random_range(0..8),
                2 => {
                    bytes.remove(at);
                }
                _ => bytes.insert(at, random.random()),
            }
        }
        std::fs::write(&path, &bytes).unwrap();
        if let Ok(read) = read(&path, &track) {
            let matched = matched(&read.network, &track);
            let along = Along::new(&read.network, &matched);
            let summary = along.summary(Metres::ZERO, Metres::new(1e9));
            assert!((0.0..=1.0).contains(&summary.known.get()), "{summary:?}");
        }
    }
}

#[test]
fn mutated_extracts_never_panic() {
    mutated(400, 1);
}

#[test]
#[ignore = "ten thousand files"]
fn ten_thousand_mutated_extracts_never_panic() {
    mutated(10_000, 2);
}

/// What a track was driven on, by its grounds and kilometres.
fn along(ways: &[(f64, f64, f64, &str)], track: &[Point]) -> (Along, Metres) {
    let (nodes, ways) = map_of(ways, &[]);
    let positions = nodes.iter().map(|(id, lat, lon, _)| {
        let position = Position {
            lat: Degrees::new(*lat),
            lon: Degrees::new(*lon),
        };
        (*id, position)
    });
    let raw = ways.into_iter().filter_map(|(id, nodes, tags)| {
        let tags = WayTags::read(
            tags.iter()
                .map(|(key, value)| (key.as_str(), value.as_str())),
        )?;
        Some(RawWay { id, tags, nodes })
    });
    let network = Network::new(raw.collect(), &positions.collect(), &HashSet::new());
    let matched = matched(&network, track);
    let end = matched.steps.last().map_or(Metres::ZERO, |step| step.to);
    (Along::new(&network, &matched), end)
}

#[test]
fn a_track_off_the_map_is_left_open() {
    let ways = [
        (0.0, 4000.0, 0.0, "highway=track surface=gravel"),
        (4000.0, 12_000.0, 400.0, "highway=track surface=asphalt"),
        (
            8000.0,
            12_000.0,
            0.0,
            "highway=track surface=sand 4wd_only=yes",
        ),
    ];
    let (ground, end) = along(&ways, &east(0.0, 12_000.0, 4.0));
    let whole = ground.summary(Metres::ZERO, end);
    let km = |of: Ground| (whole.of(of).get() / 100.0).round() / 10.0;
    assert!(
        (3.9..=4.1).contains(&km(Ground::Known(Surface::Gravel))),
        "{whole:?}"
    );
    assert!((3.9..=4.1).contains(&km(Ground::Unmapped)), "{whole:?}");
    assert!((3.9..=4.1).contains(&km(Ground::Sand)), "{whole:?}");
    assert!(km(Ground::Known(Surface::Sealed)) < 0.1, "{whole:?}");
    assert!((0.64..=0.68).contains(&whole.known.get()), "{whole:?}");
    assert_eq!(whole.ways, [100, 102]);
    let first = whole.hazards.first().unwrap();
    assert_eq!(first.0, Hazard::FourWheelOnly);
    assert!((7900.0..=8100.0).contains(&first.1.get()), "{first:?}");
    let changes = ground.changes(Metres::ZERO, end, Metres::new(2000.0));
    assert_eq!(changes.len(), 2, "{changes:?}");
    assert_eq!(ground.changes(Metres::ZERO, end, Metres::new(5000.0)), []);
}

/// An invented map of crossing ways, each with a surface of its own.
fn town_and_country(seed: u64) -> Map {
    let mut random = Xoshiro256PlusPlus::seed_from_u64(seed);
    let mut map = Map {
        ways: Vec::new(),
        positions: HashMap::new(),
    };
    let size = 60_i64;
    let id = |column: i64, row: i64| row * size + column + 1;
    for row in 0..size {
        for column in 0..size {
            let (jitter_x, jitter_y) = (
                random.random_range(-90.0..90.0),
                random.random_range(-90.0..90.0),
            );
            let (lat, lon) = place(
                column as f64 * 250.0 + jitter_x,
                row as f64 * 250.0 + jitter_y,
            );
            let position = Position {
                lat: Degrees::new(lat),
                lon: Degrees::new(lon),
            };
            map.positions.insert(id(column, row), position);
        }
    }
    let surfaces = ["asphalt", "gravel", "ground", "rock", "sand"];
    let mut add = |nodes: Vec<i64>, random: &mut Xoshiro256PlusPlus| {
        let surface = surfaces[random.random_range(0..surfaces.len())];
        let tags = [("highway", "track"), ("surface", surface)];
        map.ways.push(RawWay {
            id: id_after(map.ways.len()),
            tags: WayTags::read(tags.into_iter()).unwrap(),
            nodes,
        });
    };
    for line in 0..size {
        for part in 0..size / 6 {
            let steps = || part * 6..=(part * 6 + 6).min(size - 1);
            if random.random::<f64>() < 0.75 {
                add(steps().map(|at| id(at, line)).collect(), &mut random);
            }
            if random.random::<f64>() < 0.75 {
                add(steps().map(|at| id(line, at)).collect(), &mut random);
            }
        }
    }
    map
}

const DRAWING: Drawing = Drawing {
    routes: 20,
    spacing: (30.0, 50.0),
    noise: 5.0,
    removed: 0.0,
    shortest_km: 6.0,
    seed: 7,
};

#[test]
fn drawn_routes_get_the_surfaces_of_their_ways() {
    let map = town_and_country(3);
    let whole = score(&map, DRAWING, matched);
    assert!(whole.percent(whole.right) >= 98.5, "{whole:?}");
    assert!(whole.percent(whole.wrong) <= 1.5, "{whole:?}");
    let by_nearest = score(&map, DRAWING, nearest);
    assert!(by_nearest.right < whole.right, "{by_nearest:?}");
    let gaps = score(
        &map,
        Drawing {
            removed: 0.1,
            ..DRAWING
        },
        matched,
    );
    assert!(gaps.percent(gaps.wrong) <= 2.0, "{gaps:?}");
    assert!(gaps.filled <= 0.1 * gaps.missing, "{gaps:?}");
    assert!(
        whole.largest_error() <= 0.05 && gaps.largest_error() <= 0.05,
        "{whole:?} {gaps:?}"
    );
}

/// The ways of an extract, read by the library and not by the program.
fn map_at(path: &Path) -> Map {
    let mut map = Map {
        ways: Vec::new(),
        positions: HashMap::new(),
    };
    let reader = osmpbf::ElementReader::from_path(path).unwrap();
    reader
        .for_each(|element| match element {
            osmpbf::Element::DenseNode(node) => {
                let position = Position {
                    lat: Degrees::new(node.lat()),
                    lon: Degrees::new(node.lon()),
                };
                map.positions.insert(node.id(), position);
            }
            osmpbf::Element::Way(way) => {
                if let Some(tags) = WayTags::read(way.tags()) {
                    let (id, nodes) = (way.id(), way.refs().collect());
                    map.ways.push(RawWay { id, tags, nodes });
                }
            }
            _ => {}
        })
        .unwrap();
    map
}

/// `DRYSTAGE_MAP` names an extract; a table of spacings, noises and shares of missing ways is printed.
#[test]
#[ignore = "needs an extract, named by DRYSTAGE_MAP"]
fn routes_drawn_on_a_real_map() {
    let path = std::env::var_os("DRYSTAGE_MAP").expect("DRYSTAGE_MAP names an extract");
    let map = map_at(Path::new(&path));
    let mut failed = Vec::new();
    for (spacing, noise) in [
        ((30.0, 50.0), 5.0),
        ((100.0, 100.0), 10.0),
        ((1000.0, 1000.0), 10.0),
    ] {
        for removed in [0.0, 0.1, 0.3] {
            let drawing = Drawing {
                routes: 60,
                spacing,
                noise,
                removed,
                shortest_km: 8.0,
                seed: 20_261_130,
            };
            let ours = score(&map, drawing, matched);
            let beside = score(&map, drawing, nearest);
            println!(
                "{:>4} m ±{noise:>2} m, {:>2.0} % removed: {:.0} km, right {:.1} %, wrong {:.1} %, open {:.1} %, filled {:.1} % of the missing, largest error of probability {:.3}; nearest way: right {:.1} %, wrong {:.1} %, filled {:.1} %",
                spacing.1,
                removed * 100.0,
                ours.km,
                ours.percent(ours.right),
                ours.percent(ours.wrong),
                ours.percent(ours.open),
                100.0 * ours.filled / ours.missing.max(1e-9),
                ours.largest_error(),
                beside.percent(beside.right),
                beside.percent(beside.wrong),
                100.0 * beside.filled / beside.missing.max(1e-9),
            );
            let is_fine = spacing.1 <= 50.0;
            let is_met = match removed {
                0.0 => ours.percent(ours.right) >= 98.5 && ours.percent(ours.wrong) <= 1.5,
                0.1 => ours.percent(ours.wrong) <= 2.0 && ours.filled <= 0.1 * ours.missing,
                _ => true,
            };
            if is_fine && (!is_met || ours.largest_error() > 0.05) {
                failed.push((removed, ours));
            }
        }
    }
    assert!(failed.is_empty(), "{failed:?}");
}

fn imported_with(map: &[u8], track: &[Point], options: Options) -> Imported {
    let file = saved(map);
    let points = track.iter().map(|point| {
        format!(
            "<trkpt lat=\"{}\" lon=\"{}\"/>",
            point.lat.get(),
            point.lon.get()
        )
    });
    let gpx = format!(
        "<gpx version=\"1.1\" creator=\"test\" xmlns=\"http://www.topografix.com/GPX/1/1\"><trk><name>Invented</name><trkseg>{}</trkseg></trk></gpx>",
        points.collect::<String>()
    );
    let options = Options {
        map: Some(MapChoice {
            files: vec![file.path.clone()],
            progress: Arc::new(|_| true),
        }),
        ..options
    };
    import(&[("track.gpx", gpx.as_bytes())], &options).unwrap()
}

#[test]
fn legs_get_surfaces_hazards_limits_and_proposed_fuel() {
    let (nodes, ways) = map_of(
        &[
            (
                0.0,
                9000.0,
                0.0,
                "highway=tertiary surface=asphalt maxspeed=60",
            ),
            (
                9000.0,
                20_000.0,
                0.0,
                "highway=track surface=gravel ford=yes",
            ),
            (
                20_000.0,
                21_000.0,
                0.0,
                "highway=track surface=sand smoothness=horrible",
            ),
            (21_000.0, 30_000.0, 0.0, "highway=track"),
        ],
        &[
            (
                9000.0,
                700.0,
                "amenity=fuel name=Brine+Pier opening_hours=24/7",
            ),
            (10_500.0, 900.0, "amenity=fuel name=Second+Choice"),
        ],
    );
    let map = extract("invented by the tests", &nodes, &ways);
    let found = imported_with(&map, &east(0.0, 30_000.0, 4.0), Options::default());
    let legs = &found.trip.legs;
    let surfaces: Vec<Option<Surface>> = legs.iter().map(|leg| leg.surface).collect();
    assert_eq!(
        surfaces,
        [Some(Surface::Sealed), Some(Surface::Gravel), None],
        "{:?}",
        found.notes
    );
    assert_eq!(legs[0].speed_kmh.map(KilometresPerHour::get), Some(60.0));
    assert_eq!(legs[1].speed_kmh, None);
    assert_eq!(legs[1].hazards(), [Hazard::Ford, Hazard::VeryRough]);
    assert!(legs[1].sand_share().get() > 0.05 && legs[1].low_range_share().get() > 0.05);
    assert_eq!(legs[0].surface_known_share, Some(Share::new(1.0)));
    assert!(legs[2].surface_known_share() <= Share::new(0.02));
    let from = Some(SurfaceFrom::InventedMap);
    assert!(legs.iter().all(|leg| leg.surface_from == from));
    assert_eq!(found.trip.notice.as_deref(), Some(osm::INVENTED));
    let fuel: Vec<_> = legs
        .iter()
        .filter_map(|leg| Some((leg.to.as_str(), leg.fuel.as_ref()?)))
        .collect();
    assert_eq!(fuel.len(), 1, "{fuel:?}");
    assert_eq!(fuel[0].0, "Brine Pier");
    assert_eq!(fuel[0].1.chance, Some(Share::new(0.5)));
    let of_stop = fuel[0].1.note.as_deref().unwrap();
    let unconfirmed = "not confirmed: opening_hours=24/7";
    assert!(of_stop.contains(unconfirmed), "{of_stop}");
    for part in [
        "gravel",
        "1 fuel stop of the map was not proposed",
        "Proposed by the map and unconfirmed",
        "The map shows no surface before",
    ] {
        note(&found, part);
    }
    let on_map = found.measurement.legs.as_ref().unwrap();
    assert_eq!(on_map.len(), 3);
    assert_eq!(on_map[0].ways, [100]);
    assert!(on_map[0].probability.get() > 0.98, "{on_map:?}");
}

/// 1,500 km whose surface changes every 3 to 20 km.
#[test]
fn a_long_trip_has_ten_to_thirty_legs() {
    let mut random = Xoshiro256PlusPlus::seed_from_u64(5);
    let surfaces = ["asphalt", "gravel", "ground"];
    let mut ways = Vec::new();
    let mut from = 0.0;
    while from < 1.5e6 {
        let to = from + 1000.0 * f64::from(random.random_range(3..20));
        let surface = surfaces[random.random_range(0..3)];
        ways.push((from, to, 0.0, format!("highway=track surface={surface}")));
        from = to;
    }
    let ways: Vec<_> = ways
        .iter()
        .map(|(from, to, north, tags)| (*from, *to, *north, tags.as_str()))
        .collect();
    let (nodes, ways) = map_of(&ways, &[]);
    let track = east(0.0, 1.5e6, 3.0);
    let found = imported_with(
        &extract("invented", &nodes, &ways),
        &track,
        Options::default(),
    );
    let legs = &found.trip.legs;
    assert!((10..=30).contains(&legs.len()), "{} legs", legs.len());
    assert!(legs.iter().all(|leg| leg.surface.is_some()));
    let km: f64 = legs
        .iter()
        .filter_map(|leg| leg.distance_km)
        .map(Kilometres::get)
        .sum();
    assert!((km - 1500.0).abs() < 15.0, "{km}");
}
