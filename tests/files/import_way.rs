//! What an import makes of tracks as they are recorded: time stamps, halts, fuel stops beside the way, several files,
//! lines that cross themselves. All tracks are invented and lie in mid-ocean.

use crate::imported;

use std::fmt::Write as _;

use drystage::io::import::{Imported, Options, Split};
use drystage::model::vocabulary::UnitSystem;
use drystage::present::number::Units;
use drystage::quantity::{Kilometres, KilometresPerHour};
use imported::{import, note, places, refusal};

/// Kilometres north of a place in mid-ocean and east of it.
fn position(north: f64, east: f64) -> String {
    let (lat, lon) = (-48.0 + north / 111.2, -130.0 + east / 74.4);
    format!("lat=\"{lat:.7}\" lon=\"{lon:.7}\"")
}

fn waypoint(name: &str, symbol: &str, north: f64, east: f64) -> String {
    format!(
        "<wpt {}><name>{name}</name><sym>{symbol}</sym></wpt>",
        position(north, east)
    )
}

/// Seconds after a midnight.
fn stamp(second: i64) -> String {
    let (day, second) = (1 + second.div_euclid(86_400), second.rem_euclid(86_400));
    let (hour, minute, second) = (second / 3600, second / 60 % 60, second % 60);
    format!("2020-02-{day:02}T{hour:02}:{minute:02}:{second:02}Z")
}

/// A track through points of kilometres north, east, and seconds where there are any.
fn track(name: &str, points: impl IntoIterator<Item = (f64, f64, Option<i64>)>) -> String {
    let mut text = format!("<trk><name>{name}</name><trkseg>");
    for (north, east, second) in points {
        let time = second.map_or_else(String::new, |second| {
            format!("<time>{}</time>", stamp(second))
        });
        write!(text, "<trkpt {}>{time}</trkpt>", position(north, east)).unwrap();
    }
    text + "</trkseg></trk>"
}

fn gpx(content: &str) -> String {
    format!(
        "<gpx version=\"1.1\" creator=\"test\" xmlns=\"http://www.topografix.com/GPX/1/1\">{content}</gpx>"
    )
}

/// North from one kilometre to another, a point each 100 m, so many seconds apart from a second on.
fn drive(from: i32, to: i32, each: i64, start: i64) -> Vec<(f64, f64, Option<i64>)> {
    let steps = (to - from).abs() * 10;
    (0..=steps)
        .map(|n| {
            let north = f64::from(from) + f64::from(n) * 0.1 * f64::from((to - from).signum());
            (north, 0.0, Some(start + i64::from(n) * each))
        })
        .collect()
}

fn timeless(points: Vec<(f64, f64, Option<i64>)>) -> Vec<(f64, f64, Option<i64>)> {
    points
        .into_iter()
        .map(|(north, east, _)| (north, east, None))
        .collect()
}

fn one(content: &str) -> Imported {
    import(&[("a.gpx", gpx(content).as_bytes())], &Options::default()).unwrap()
}

fn import_all(files: &[(String, String)]) -> Imported {
    let files = files.iter();
    let named = files.map(|(name, text)| (name.as_str(), text.as_bytes()));
    import(&named.collect::<Vec<_>>(), &Options::default()).unwrap()
}

/// 5 s for 100 m are 72 km/h, 10 s are 36 km/h; between them half an hour at the well.
#[test]
fn time_stamps_give_the_speeds_of_legs_and_the_halts_between() {
    let well = waypoint("Well", "Water", 20.0, 0.05);
    let first = drive(0, 20, 5, 0);
    let standing = (0..180).map(|n| {
        let east = 0.02 * f64::from(n % 3 - 1);
        (20.0, east, Some(1000 + i64::from(n) * 10))
    });
    let second = drive(20, 40, 10, 2800);
    let all = first.into_iter().chain(standing).chain(second);
    let imported = one(&(well + &track("Day", all)));
    assert_eq!(places(&imported.trip), ["Well", "end of Day"]);
    let legs = imported.trip.legs.iter();
    let speeds = legs.clone().map(|leg| leg.speed_kmh.unwrap().get());
    assert_eq!(speeds.collect::<Vec<_>>(), [72.0, 36.0]);
    let length: f64 = legs.map(|leg| leg.distance_km.unwrap().get()).sum();
    assert!((length - 40.0).abs() < 0.15, "{length}");
    assert!(note(&imported, "`speed_kmh`").contains("leg 1 72 km/h, leg 2 36 km/h"));
    note(&imported, "1 halt in the time stamps: 30 min at `Well`");
    // 3.6 km of noise while it stood are no way.
    assert!(note(&imported, "GPS drift").contains(" km of GPS drift while parked were ignored"));
    let line = &imported.measurement.files[0].lines[0];
    let pace = line.pace.as_ref().unwrap();
    assert_eq!(pace.halts.len(), 1);
    assert!((pace.halts[0].minutes.get() - 30.0).abs() < 0.5, "{pace:?}");
    let moving = pace.moving_kmh.unwrap().get();
    assert!((moving - 48.0).abs() < 0.5, "{moving}");
}

#[test]
fn a_speed_that_no_vehicle_drives_is_reported_and_not_stated() {
    let walked = one(&track("Walk", drive(0, 3, 72, 0)));
    assert_eq!(walked.trip.legs[0].speed_kmh, None);
    assert!(
        note(&walked, "were ignored").contains("outside 10 to 130 km/h were ignored: leg 1 5 km/h")
    );
    let flown = one(&track("Flight", drive(0, 90, 2, 0)));
    assert_eq!(flown.trip.legs[0].speed_kmh, None);
    assert!(note(&flown, "were ignored").contains("leg 1 180 km/h"));
    // Anyone who creeps may seem to stand: nothing is taken out of a slow line.
    let creeping = one(&track("Creep", drive(0, 2, 450, 0)));
    let length = creeping.trip.legs[0].distance_km.unwrap().get();
    assert!((length - 2.0).abs() < 0.01, "{length}");
}

#[test]
fn stamps_that_are_missing_equal_or_backward_do_not_spoil_the_speed() {
    let mut points = drive(0, 40, 5, 1000);
    points[50].2 = Some(0);
    points[51].2 = points[52].2;
    points[100].2 = Some(9_000_000);
    for point in &mut points[200..230] {
        point.2 = None;
    }
    // The clock was set: the rest lies a day before.
    for point in &mut points[390..] {
        point.2 = point.2.map(|second| second - 900);
    }
    let imported = one(&track("Day", points));
    assert_eq!(
        imported.trip.legs[0].speed_kmh,
        Some(KilometresPerHour::new(72.0))
    );
    let text = note(&imported, "backwards");
    assert!(text.contains("time stamps go backwards in time"), "{text}");
    let no_stamp = one(&gpx_without_valid_times());
    assert_eq!(no_stamp.trip.legs[0].speed_kmh, None);
    assert_eq!(no_stamp.measurement.files[0].lines[0].pace, None);
}

fn gpx_without_valid_times() -> String {
    track("Day", drive(0, 5, 5, 0)).replace("2020-02-", "2020-13-")
}

/// A recorder that was off for two hours and 60 km says nothing of how those were driven.
#[test]
fn a_gap_in_the_stamps_counts_neither_as_way_nor_as_time() {
    let points = drive(0, 40, 5, 0)
        .into_iter()
        .chain(drive(100, 140, 5, 9200));
    let imported = one(&track("Day", points));
    let leg = &imported.trip.legs[0];
    assert_eq!(leg.speed_kmh, Some(KilometresPerHour::new(72.0)));
    assert!(
        !imported
            .notes
            .iter()
            .any(|note| note.contains("halt ") || note.contains("halts ")),
        "{:?}",
        imported.notes
    );
    // Where most of the way has no stamps, they do not represent it.
    let points = drive(0, 10, 5, 0)
        .into_iter()
        .chain(drive(100, 110, 5, 9200));
    assert_eq!(one(&track("Day", points)).trip.legs[0].speed_kmh, None);
}

#[test]
fn a_fuel_stop_beside_the_track_has_a_detour() {
    let fuel_stops = waypoint("Pump", "Fuel", 20.0, 3.0)
        + &waypoint("Far pump", "Fuel", 30.0, 9.0)
        + &waypoint("Hut", "Lodging", 10.0, 3.0);
    let imported = one(&(fuel_stops + &track("Day", timeless(drive(0, 40, 1, 0)))));
    let trip = &imported.trip;
    assert_eq!(places(trip), ["Pump", "end of Day"]);
    let fuel = trip.legs[0].fuel.as_ref().unwrap();
    // 3.02 km there, 3.02 km back, by road 1.3 times as far, rounded up.
    assert_eq!(fuel.detour_km, Some(Kilometres::new(7.9)));
    let beside = fuel.note.as_deref().unwrap();
    assert!(beside.contains("3 km off the track"), "{beside}");
    assert!((trip.legs[0].distance_km.unwrap().get() - 20.0).abs() < 0.05);
    let [lat, lon] = [trip.legs[0].lat, trip.legs[0].lon].map(|degrees| degrees.unwrap().get());
    assert!((lat - (-48.0 + 20.0 / 111.2)).abs() < 1e-4 && (lon + 130.0).abs() < 1e-4);
    assert!(note(&imported, "fuel stop was").contains("no track is within 5.0 km: Far pump"));
    assert!(note(&imported, "waypoint was").contains("Hut"));

    let none = Options {
        detour_within: Kilometres::ZERO,
        ..Options::default()
    };
    let text =
        gpx(&(waypoint("Pump", "Fuel", 20.0, 3.0) + &track("Day", timeless(drive(0, 40, 1, 0)))));
    let trip = import(&[("a.gpx", text.as_bytes())], &none).unwrap().trip;
    assert_eq!(places(&trip), ["end of Day"]);
}

/// A fuel stop off the road is had from the village that the road passes, when that is near the turn.
#[test]
fn a_fuel_stop_beside_a_place_is_that_places_fuel_stop() {
    let points = waypoint("Village", "City", 20.0, 0.0) + &waypoint("Pump", "Fuel", 20.1, -2.0);
    let imported = one(&(points + &track("Day", timeless(drive(0, 40, 1, 0)))));
    assert_eq!(places(&imported.trip), ["Village", "end of Day"]);
    let fuel = imported.trip.legs[0].fuel.as_ref().unwrap();
    assert_eq!(
        fuel.note.as_deref(),
        Some("Pump, 2 km off the track in a straight line")
    );
    // And at the very end of the track.
    let imported =
        one(&(waypoint("Pump", "Fuel", 41.0, 0.0) + &track("Day", timeless(drive(0, 40, 1, 0)))));
    assert_eq!(places(&imported.trip), ["Pump"]);
    assert_eq!(
        imported.trip.legs[0].fuel.as_ref().unwrap().detour_km,
        Some(Kilometres::new(2.6))
    );
}

/// Out over a place and back over it: the fuel stop is met twice and is one place; its own leg ends there both times.
#[test]
fn a_fuel_stop_on_a_way_out_and_back_is_met_on_both_passes() {
    let points = timeless(
        drive(0, 40, 1, 0)
            .into_iter()
            .chain(drive(40, 0, 1, 0))
            .collect(),
    );
    for (east, detour) in [(0.1, None), (3.0, Some(Kilometres::new(7.9)))] {
        let imported = one(&(waypoint("Pump", "Fuel", 15.0, east) + &track("Day", points.clone())));
        assert_eq!(places(&imported.trip), ["Pump", "Pump", "start of Day"]);
        for (leg, km) in imported.trip.legs.iter().zip([15.0, 50.0, 15.0]) {
            assert!((leg.distance_km.unwrap().get() - km).abs() < 0.1, "{leg:?}");
        }
        for leg in &imported.trip.legs[..2] {
            assert_eq!(leg.fuel.as_ref().unwrap().detour_km, detour);
        }
    }
}

/// A figure of eight: at the crossing the place is passed twice, elsewhere once.
#[test]
fn a_track_that_crosses_itself_meets_the_crossing_twice() {
    let corners = [(0.0, 0.0), (20.0, 20.0), (20.0, 0.0), (0.0, 20.0)];
    let points = corners.into_iter().map(|(north, east)| (north, east, None));
    let named = waypoint("Crossing", "Flag", 10.0, 10.0) + &waypoint("Corner", "Flag", 20.0, 10.0);
    let imported = one(&(named + &track("Eight", points)));
    assert_eq!(
        places(&imported.trip),
        ["Crossing", "Corner", "Crossing", "end of Eight"]
    );
}

#[test]
fn files_are_put_into_the_order_of_their_stamps_where_that_joins_them() {
    let day = |name: &str, from: i32, start: i64| {
        let text = gpx(&track(name, drive(from, from + 20, 5, start)));
        (format!("{name}.gpx"), text)
    };
    // A shell sorts the tenth day before the second.
    let files = [
        day("day1", 0, 0),
        day("day10", 40, 200_000),
        day("day2", 20, 100_000),
    ];
    let imported = import_all(&files);
    assert_eq!(
        places(&imported.trip),
        ["end of day1", "end of day2", "end of day10"]
    );
    let text = note(&imported, "reordered by time stamps");
    assert!(text.ends_with("day1, day2, day10"), "{text}");
    let mut legs = imported.trip.legs.iter();
    assert!(legs.all(|leg| leg.distance_km.is_some()));
    // The measurement stays in the order given.
    let read = imported.measurement.files.iter();
    let is_day_10 = read.map(|file| file.path.ends_with("day10.gpx"));
    assert_eq!(is_day_10.collect::<Vec<_>>(), [false, true, false]);
}

/// A night on the route, a night at a place, and a night between two files.
#[test]
fn a_long_halt_ends_a_day() {
    let hour = 3600;
    let night = |start: i64| (0..100).map(move |n| (start, n * 300));
    let camp = night(2 * hour).map(|(start, second)| (20.0, 0.0, Some(start + second)));
    let place = night(14 * hour).map(|(start, second)| (40.0, 0.0, Some(start + second)));
    let first = drive(0, 20, 5, 0)
        .into_iter()
        .chain(camp)
        .chain(drive(20, 40, 5, 11 * hour));
    let first = track("One", first.chain(place).chain(drive(40, 50, 5, 24 * hour)));
    let second = track("Two", drive(50, 60, 5, 50 * hour));
    let imported = one(&(waypoint("Well", "Water", 40.0, 0.0) + &first + &second));
    let days: Vec<_> = imported
        .trip
        .legs
        .iter()
        .map(|leg| (leg.to.as_str(), leg.day))
        .collect();
    let expected = [
        ("km 20", Some(1)),
        ("Well", Some(2)),
        ("end of One", Some(3)),
        ("end of Two", Some(4)),
    ];
    assert_eq!(days, expected);
    note(
        &imported,
        "Each halt of 6 h or more in the time stamps ends a day",
    );
    // Without a night, and where any line has no stamps, days are not stated.
    assert_eq!(
        one(&track("Day", drive(0, 20, 5, 0))).trip.legs[0].day,
        None
    );
    let mixed = track("One", drive(0, 20, 5, 0)) + &track("Two", timeless(drive(20, 40, 5, 0)));
    assert!(one(&mixed).trip.legs.iter().all(|leg| leg.day.is_none()));
}

#[test]
fn files_without_stamps_are_joined_by_their_ends_or_left_as_they_are() {
    let part = |name: &str, from: i32, to: i32| {
        let text = gpx(&track(name, timeless(drive(from, to, 1, 0))));
        (format!("{name}.gpx"), text)
    };
    let joined = import_all(&[part("b", 20, 40), part("c", 40, 50), part("a", 0, 20)]);
    assert_eq!(places(&joined.trip), ["end of a", "end of b", "end of c"]);
    assert!(note(&joined, "order").contains("reordered by matching ends"));
    // No order joins these: they stay, with a leg for the gap.
    let apart = import_all(&[part("b", 30, 40), part("a", 0, 20)]);
    assert_eq!(places(&apart.trip), ["end of b", "start of a", "end of a"]);
    assert!(
        !apart.notes.iter().any(|note| note.contains("order")),
        "{:?}",
        apart.notes
    );
    // A line is never turned round to fit.
    let against = import_all(&[part("a", 0, 20), part("b", 40, 20)]);
    assert_eq!(
        places(&against.trip),
        ["end of a", "start of b", "end of a"]
    );
}

#[test]
fn the_given_order_stays_where_it_joins_and_a_copy_is_reported() {
    let loops = track("second", drive(0, 20, 5, 100_000)) + &track("first", drive(20, 0, 5, 0));
    let imported = one(&loops);
    assert_eq!(places(&imported.trip), ["end of second", "start of second"]);
    note(
        &imported,
        "although the time stamps have another order: first, second",
    );
    let twice = track("one", drive(0, 20, 5, 0)) + &track("same", drive(0, 20, 5, 0));
    let imported = one(&twice);
    assert!(note(&imported, "possible duplicate").contains("one and same"));
}

/// Programs that draw routes along roads put a point at every bend: those are no places.
#[test]
fn a_route_with_a_point_at_every_bend_is_a_line() {
    let mut text = "<rte><name>Plan</name>".to_owned();
    for n in 0..200_u32 {
        let name = match n {
            0 => "<name>Start</name>",
            100 => "<name>Pump</name><sym>Fuel</sym>",
            199 => "<name>Camp</name>",
            _ => "",
        };
        write!(
            text,
            "<rtept {}>{name}</rtept>",
            position(f64::from(n) * 0.2, 0.0)
        )
        .unwrap();
    }
    let imported = one(&(text.clone() + "</rte>"));
    assert_eq!(
        (imported.trip.start.name.as_str(), places(&imported.trip)),
        ("Start", vec!["Pump", "Camp"])
    );
    assert!((imported.trip.legs[0].distance_km.unwrap().get() - 20.0).abs() < 0.05);
    assert!(imported.trip.legs[0].fuel.is_some());
    note(&imported, "read as a track");
    // Names at every bend are no places either.
    let every: String = text
        .replace("<name>Plan</name>", "")
        .replace("></rtept>", "><name>bend</name></rtept>");
    assert!(places(&one(&(every + "</rte>")).trip).len() <= 2);
}

#[test]
fn scraps_of_a_receiver_are_left_out() {
    let scrap = track("Scrap", [(20.0, 0.0, None), (20.02, 0.0, None)]);
    let imported = one(&(track("Day", timeless(drive(0, 20, 1, 0))) + &scrap));
    assert_eq!(places(&imported.trip), ["end of Day"]);
    assert!(note(&imported, "shorter than 50 m").ends_with("Scrap"));
    // Where there is nothing else, a scrap is the way.
    assert_eq!(one(&scrap).trip.legs.len(), 1);
}

#[test]
fn places_that_another_cut_leaves_out_are_reported() {
    let text =
        gpx(&(waypoint("Pump", "Fuel", 20.0, 0.0) + &track("Day", timeless(drive(0, 40, 1, 0)))));
    let options = Options {
        split: Some(Split::Segments),
        ..Options::default()
    };
    let imported = import(&[("a.gpx", text.as_bytes())], &options).unwrap();
    assert_eq!(places(&imported.trip), ["end of Day"]);
    note(
        &imported,
        "1 waypoint was ignored, because --split sets the places: Pump",
    );
}

#[test]
fn notes_are_reported_in_the_readers_units() {
    let text = gpx(&(waypoint("Hut", "Lodging", 10.0, 3.0)
        + &track("Day", drive(0, 40, 5, 0))
        + &track("Next", drive(60, 70, 5, 10_000))));
    let options = Options {
        units: Units(UnitSystem::Us),
        ..Options::default()
    };
    let imported = import(&[("a.gpx", text.as_bytes())], &options).unwrap();
    assert!(note(&imported, "A gap of 12 mi").contains("without a distance"));
    note(&imported, "no track is within 820 ft");
    note(&imported, "leg 1 45 mph");
    // The trip file itself is metric whatever is shown.
    assert_eq!(
        imported.trip.legs[0].speed_kmh,
        Some(KilometresPerHour::new(72.0))
    );
}

#[test]
fn what_cannot_be_driven_says_what_was_found() {
    let refused = refusal("a.gpx", &gpx(&waypoint("Pump", "Fuel", 0.0, 0.0)));
    let reason = "nothing to import: 1 waypoint and 0 points of tracks and routes";
    assert!(refused.contains(reason), "{refused}");
}
