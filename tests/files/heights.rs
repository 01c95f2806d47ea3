//! Altitudes from elevation tiles: what the tiles contain, and what an import makes of them. All is invented and lies in
//! mid-ocean.

use std::fs;
use std::path::Path;

use drystage::io::heights::{NoTiles, Tiles};
use drystage::io::import::{AltitudeSource, Imported, Options, TileChoice};
use drystage::model::route::Position;
use drystage::quantity::{Degrees, Metres};
use proptest::prelude::*;
use proptest::test_runner::TestRunner;

use crate::imported::{import, note};
use crate::kept::cases;
use crate::tiles::{Posts, geotiff, hgt};

fn at(lat: f64, lon: f64) -> Position {
    Position {
        lat: Degrees::new(lat),
        lon: Degrees::new(lon),
    }
}

/// A plane: between posts it is what is interpolated.
fn plane(lat: f64, lon: f64) -> f64 {
    1000.0 + 300.0 * (lat + 48.0) - 200.0 * (lon + 131.0)
}

/// Three tiles in a folder: an `.hgt`, and two of GLO-30's layout beside each other that meet at −130.9 E.
fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    #[expect(clippy::cast_possible_truncation, reason = "a few hundred metres")]
    let metres = |row: u32, column: u32| {
        if (500..510).contains(&row) && (500..510).contains(&column) {
            -32768
        } else {
            plane(
                -47.0 - f64::from(row) / 1200.0,
                -130.0 + f64::from(column) / 1200.0,
            )
            .round() as i16
        }
    };
    fs::write(folder.path().join("S48W130.hgt"), hgt(1201, metres)).unwrap();
    for (name, west) in [("a.tif", -131.0), ("b.TIFF", -130.9)] {
        let posts = Posts {
            west,
            north: -47.0,
            east_step: 0.1 / 60.0,
            south_step: 0.1 / 90.0,
            columns: 60,
            rows: 90,
        };
        #[expect(clippy::cast_possible_truncation, reason = "to a millimetre")]
        let tile = geotiff(posts, 32, |lat, lon| plane(lat, lon) as f32);
        fs::write(folder.path().join(name), tile).unwrap();
    }
    folder
}

/// Bilinear interpolation gives a plane back, over the seam of two tiles, too.
#[test]
fn a_plane_is_read_back() {
    let folder = folder();
    let points = prop::collection::vec((0.0_f64..0.0988, 0.0_f64..0.1983), 1..40);
    TestRunner::new(cases("heights", 64))
        .run(&points, |points| {
            let mut tiles = Tiles::in_folder(folder.path()).unwrap();
            for (south, east) in points {
                let at = at(-47.0 - south, -131.0 + east);
                let height = tiles.height(at).map(Metres::get);
                let plane = plane(at.lat.get(), at.lon.get());
                prop_assert!(
                    height.is_some_and(|height| (height - plane).abs() < 0.01),
                    "{at:?}: {height:?}, {plane}"
                );
            }
            Ok(())
        })
        .unwrap();
}

#[test]
fn voids_and_places_off_the_tiles_have_no_height() {
    let folder = folder();
    let mut tiles = Tiles::in_folder(folder.path()).unwrap();
    let post = |row: f64, column: f64| at(-47.0 - row / 1200.0, -130.0 + column / 1200.0);
    let near = |height: Option<Metres>, at: Position| {
        let plane = plane(at.lat.get(), at.lon.get());
        height.is_some_and(|height| (height.get() - plane).abs() < 1.0)
    };
    for (row, column) in [(0.0, 0.0), (1200.0, 1200.0), (0.0, 1200.0), (600.5, 20.25)] {
        let at = post(row, column);
        assert!(near(tiles.height(at), at), "{at:?}");
    }
    // Each of the four posts counts, and one that is met exactly counts alone.
    assert_eq!(tiles.height(post(505.0, 505.0)), None);
    assert_eq!(tiles.height(post(499.5, 499.5)), None);
    let edge = post(499.0, 499.0);
    assert!(near(tiles.height(edge), edge));
    for off in [
        at(-48.1, -129.5),
        at(-46.9, -129.5),
        at(-47.5, -128.9),
        at(-47.05, -131.1),
    ] {
        assert_eq!(tiles.height(off), None, "{off:?}");
    }
    // The last column of the eastern tile has no neighbour.
    assert_eq!(tiles.height(at(-47.05, -130.9 + 0.0995)), None);
    assert_eq!(tiles.used(), ["S48W130.hgt"]);
}

#[test]
fn what_is_no_tile_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path();
    assert!(matches!(
        Tiles::in_folder(&path.join("missing")),
        Err(NoTiles::System { .. })
    ));
    let Err(none) = Tiles::in_folder(path) else {
        panic!("an empty folder has no tile")
    };
    assert!(
        none.to_string().contains("contains no elevation tile"),
        "{none}"
    );
    let picture = geotiff(
        Posts {
            west: -131.0,
            north: 95.0,
            east_step: 0.1,
            south_step: 0.1,
            columns: 4,
            rows: 4,
        },
        16,
        |_, _| 1.0,
    );
    let files: [(&str, &[u8], &str); 4] = [
        (
            "S48W130.hgt",
            b"short",
            "it has 5 bytes, and an .hgt tile has 2884802 bytes (1201 x 1201 posts) or 25934402 bytes",
        ),
        ("elevation.hgt", b"", "begins with its south-west corner"),
        ("scan.tif", b"II*\0", "cannot be read as TIFF"),
        ("far.tif", &picture, "is not on the Earth"),
    ];
    for (name, bytes, _) in files {
        fs::write(path.join(name), bytes).unwrap();
    }
    assert!(Tiles::in_folder(path).is_err());
    fs::write(path.join("N00E000.hgt"), hgt(1201, |_, _| 7)).unwrap();
    let tiles = Tiles::in_folder(path).unwrap();
    let ignored = tiles.ignored();
    assert_eq!(ignored.len(), 4, "{ignored:?}");
    for (name, _, why) in files {
        let is_it = |of: &String| of.contains(name) && of.contains(why);
        assert!(ignored.iter().any(is_it), "{name}: {ignored:?}");
    }
}

/// A tile whose blocks are damaged has no heights, and is named.
#[test]
fn a_damaged_tile_is_named_and_does_not_stop_an_import() {
    let folder = folder();
    let path = folder.path().join("a.tif");
    let mut bytes = fs::read(&path).unwrap();
    let end = bytes.len() - 400;
    for byte in &mut bytes[8..end] {
        *byte ^= 0x5a;
    }
    fs::write(&path, bytes).unwrap();
    let mut tiles = Tiles::in_folder(folder.path()).unwrap();
    assert_eq!(tiles.height(at(-47.02, -130.97)), None);
    assert_eq!(
        tiles.ignored(),
        ["a.tif is damaged; its heights are unknown"]
    );
}

const HEAD: &str =
    r#"<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">"#;

/// A track of two points over the hgt tile, 50 km from north to south, with those altitudes.
fn track(altitudes: [&str; 2]) -> String {
    let [first, last] = altitudes;
    format!(
        "{HEAD}<trk><trkseg><trkpt lat=\"-47.1\" lon=\"-129.9\">{first}</trkpt><trkpt lat=\"-47.55\" lon=\"-129.9\">{last}</trkpt></trkseg></trk></gpx>"
    )
}

fn imported(track: &str, folder: &Path, preferred: bool) -> Imported {
    let options = Options {
        tiles: Some(TileChoice {
            folder: folder.to_owned(),
            preferred,
        }),
        ..Options::default()
    };
    import(&[("track.gpx", track.as_bytes())], &options).unwrap()
}

/// 0.45 degrees on a plane of 300 m a degree: 135 m down.
#[test]
fn a_track_without_altitudes_gets_those_of_the_tiles() {
    let folder = folder();
    let bare = imported(&track(["", ""]), folder.path(), false);
    let leg = &bare.trip.legs[0];
    let descent = leg.descent_m.unwrap().get();
    assert!((128.0..=136.0).contains(&descent), "{descent}");
    assert!(leg.ascent_m.unwrap() < Metres::new(1.0));
    let track = leg.track.as_ref().unwrap();
    // It is thinned in parts of a thousand points.
    assert!(
        track.lines()[0].points().len() <= 3,
        "stations are no part of the track"
    );
    note(
        &bare,
        "track.gpx: altitudes from the elevation tiles, 0 m climb, 140 m descent; the file has none",
    );
    note(&bare, "Elevation tiles read: S48W130.hgt");
    let line = &bare.measurement.files[0].lines[0];
    let measured = line.altitudes.as_ref().unwrap();
    assert_eq!(measured.source, AltitudeSource::Tiles);
    assert_eq!(measured.other_ascent_m, None);
}

#[test]
fn a_receivers_altitudes_win_unless_tiles_are_preferred() {
    let folder = folder();
    let own = track(["<ele>100</ele>", "<ele>180</ele>"]);
    let kept = imported(&own, folder.path(), false);
    assert_eq!(kept.trip.legs[0].ascent_m, Some(Metres::new(80.0)));
    note(
        &kept,
        "track.gpx: altitudes of the file, 80 m climb, 0 m descent; the elevation tiles would give 0 m climb, 140 m descent",
    );
    let line = &kept.measurement.files[0].lines[0];
    let measured = line.altitudes.as_ref().unwrap();
    assert_eq!(measured.source, AltitudeSource::File);
    let replaced = imported(&own, folder.path(), true);
    assert_eq!(replaced.trip.legs[0].ascent_m, Some(Metres::ZERO));
    note(
        &replaced,
        "track.gpx: altitudes from the elevation tiles, 0 m climb, 140 m descent; those of the file would give 80 m climb, 0 m descent",
    );
}

#[test]
fn a_track_beyond_the_tiles_has_its_length_without_heights_named() {
    let folder = folder();
    let beyond = track(["", ""]).replace("-47.55", "-48.5");
    let found = imported(&beyond, folder.path(), false);
    note(
        &found,
        "track.gpx: 56 km are on no elevation tile or in a gap of one; climb is unknown there",
    );
    let elsewhere = track(["", ""]).replace("-129.9", "-120");
    let none = imported(&elsewhere, folder.path(), false);
    assert_eq!(none.trip.legs[0].ascent_m, None);
}

/// A drawn route is measured, one whose points are places is not; time stamps keep their points.
#[test]
fn routes_and_time_stamps() {
    let folder = folder();
    let point = |n: u32| {
        format!(
            "<rtept lat=\"{}\" lon=\"-129.9\"/>",
            -47.1 - 0.004 * f64::from(n)
        )
    };
    let drawn: String = (0..60).map(point).collect();
    let route = |points: &str| {
        let gpx = format!("{HEAD}<rte>{points}</rte></gpx>");
        imported(&gpx, folder.path(), false)
    };
    let drawn = route(&drawn);
    let descent = drawn.trip.legs[0].descent_m.unwrap().get();
    assert!((62.0..=71.0).contains(&descent), "{descent}");
    let places = route(&(point(0) + &point(90)));
    assert_eq!(places.trip.legs[0].descent_m, None);
    let stamped = |time: &str| format!("<time>2020-02-01T{time}Z</time>");
    let timed = track([&stamped("10:00:00"), &stamped("10:09:00")]).replace("-47.55", "-47.15");
    let timed = imported(&timed, folder.path(), false);
    let speed = timed.trip.legs[0].speed_kmh.unwrap().get();
    assert!((36.0..=38.0).contains(&speed), "{speed}");
    assert!(timed.trip.legs[0].descent_m.is_some());
}

/// Nodes of ways of the classes track to secondary that are longer than 1.5 km.
fn long_ways(map: &Path) -> Vec<Vec<Position>> {
    let mut nodes = std::collections::HashMap::new();
    let mut ways = Vec::new();
    let classes = [
        "track",
        "unclassified",
        "residential",
        "tertiary",
        "secondary",
        "service",
    ];
    let reader = osmpbf::ElementReader::from_path(map).unwrap();
    reader
        .for_each(|element| match element {
            osmpbf::Element::DenseNode(node) => {
                nodes.insert(node.id(), at(node.lat(), node.lon()));
            }
            osmpbf::Element::Way(way) => {
                let is_road = |(key, value)| key == "highway" && classes.contains(&value);
                if way.tags().any(is_road) {
                    ways.push(way.refs().collect::<Vec<i64>>());
                }
            }
            _ => {}
        })
        .unwrap();
    let ways = ways.into_iter().map(|ids| {
        let known = ids.iter().filter_map(|id| nodes.get(id)).copied();
        known.collect::<Vec<Position>>()
    });
    ways.filter(|way| {
        let steps = way
            .windows(2)
            .map(|pair| drystage::model::geodesic::distance(pair[0], pair[1]));
        steps.sum::<Metres>() > Metres::new(1500.0)
    })
    .collect()
}

/// Mountain ways climb and descend 66 to 80 m a kilometre, where the net rise is 68; valley roads at most 1 m.
#[test]
#[ignore = "needs a tile and an extract of one region, named by DRYSTAGE_TILE and DRYSTAGE_MAP"]
fn a_real_tile_gives_the_climb_of_its_ways() {
    let named = |name: &str| std::path::PathBuf::from(std::env::var_os(name).expect(name));
    let (tile, map) = (named("DRYSTAGE_TILE"), named("DRYSTAGE_MAP"));
    let mut tiles = Tiles::in_folder(&tile).unwrap();
    let mut sums = [(0.0, 0.0, 0); 2];
    for way in long_ways(&map) {
        let heights: Option<Vec<f64>> = way
            .iter()
            .map(|at| tiles.height(*at).map(Metres::get))
            .collect();
        let Some(heights) = heights else { continue };
        let kind = if heights.iter().all(|height| *height > 600.0) {
            0
        } else if heights.iter().all(|height| *height < 480.0) {
            1
        } else {
            continue;
        };
        let points = way
            .iter()
            .map(|at| format!("<trkpt lat=\"{}\" lon=\"{}\"/>", at.lat.get(), at.lon.get()));
        let track = format!(
            "{HEAD}<trk><trkseg>{}</trkseg></trk></gpx>",
            points.collect::<String>()
        );
        let line = imported(&track, &tile, false).measurement.files[0].lines[0].clone();
        let climbed = line.ascent_m.unwrap() + line.descent_m.unwrap();
        sums[kind].0 += climbed.get();
        sums[kind].1 += line.length_m.get() / 1000.0;
        sums[kind].2 += 1;
    }
    let [mountain, valley] = sums.map(|(metres, km, _)| metres / km);
    println!("mountain ways {mountain:.1} m/km, valley roads {valley:.2} m/km: {sums:?}");
    assert!((66.0..=80.0).contains(&mountain), "{mountain}");
    assert!(valley <= 1.0, "{valley}");
}
