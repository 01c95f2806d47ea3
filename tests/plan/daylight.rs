//! Sunrise and sunset against two libraries, arrivals and their findings, and trips that state no date.

use chrono::{DateTime, Utc};
use drystage::model::calendar::{Date, UtcOffset};
use drystage::model::route::Position;
use drystage::model::{Trip, check};
use drystage::plan::{Effort, Plan};
use drystage::quantity::{Degrees, Hours};
use drystage::solver::sun::{Light, sun};
use serde_json::{Value, json};
use spa::StdFloatOps;

fn at(lat: f64, lon: f64) -> Position {
    Position {
        lat: Degrees::new(lat),
        lon: Degrees::new(lon),
    }
}

fn date(text: &str) -> Date {
    Date::try_from(text.to_owned()).unwrap()
}

fn offset(text: &str) -> UtcOffset {
    UtcOffset::try_from(text.to_owned()).unwrap()
}

/// Altitude of the centre of the sun in degrees at a Julian date in UTC.
type AltitudeAt = fn(f64, Position) -> f64;

/// The PSA algorithm (Blanco-Muriel et al. 2001), by the crate `spa`.
fn altitude_by_psa(julian: f64, at: Position) -> f64 {
    let since_1970 = std::time::Duration::from_secs_f64((julian - 2_440_587.5) * 86_400.0);
    let moment = DateTime::UNIX_EPOCH + since_1970;
    let sun = spa::solar_position::<StdFloatOps>(moment, at.lat.get(), at.lon.get()).unwrap();
    90.0 - sun.zenith_angle
}

/// VSOP87 by the formulas of Meeus, Astronomical Algorithms (1998), by the crate `astro`.
fn altitude_by_vsop(julian: f64, at: Position) -> f64 {
    const DELTA_T_S: f64 = 69.0;
    let ephemeris = astro::time::julian_ephemeris_day(julian, DELTA_T_S);
    let (sun, distance) = astro::sun::geocent_ecl_pos(ephemeris);
    let (in_longitude, in_obliquity) = astro::nutation::nutation(ephemeris);
    let obliquity = astro::ecliptic::mn_oblq_IAU(ephemeris) + in_obliquity;
    let aberration = (20.4898_f64 / 3600.0).to_radians() / distance;
    let longitude = sun.long + in_longitude - aberration;
    let ascension = astro::coords::asc_frm_ecl(longitude, sun.lat, obliquity);
    let declination = astro::coords::dec_frm_ecl(longitude, sun.lat, obliquity);
    let mean = astro::time::mn_sidr(julian);
    let sidereal = astro::time::apprnt_sidr(mean, in_longitude, obliquity);
    let hour_angle = sidereal + at.lon.get().to_radians() - ascension;
    let latitude = at.lat.get().to_radians();
    astro::coords::alt_frm_eq(hour_angle, declination, latitude).to_degrees()
}

/// Minutes by which a library has the sun at that altitude later.
fn minutes_later(altitude_at: AltitudeAt, julian: f64, at: Position, altitude: f64) -> f64 {
    let minute = 1.0 / 1440.0;
    let found = |after: f64| altitude_at(julian + after * minute, at);
    (altitude - found(0.0)) / (found(0.5) - found(-0.5))
}

/// Two libraries of the registry with methods of their own have the sun 50 arc minutes below the horizon at our sunrise and
/// sunset, and 6 degrees at the ends of civil twilight, within a minute: both within
/// half a minute, most where the sun sinks slowest, at 60 degrees in June. Places on both hemispheres
/// and both sides of Greenwich, at every season.
#[test]
fn two_libraries_have_the_sun_there_to_half_a_minute() {
    let places = [
        (0.0, 0.0),
        (-41.9, -119.4),
        (35.0, 100.0),
        (52.0, -30.0),
        (-20.0, 134.5),
        (60.0, 25.0),
    ];
    let days = [
        "2026-01-15",
        "2026-03-20",
        "2026-06-21",
        "2026-09-23",
        "2027-02-13",
        "2026-11-30",
    ];
    let libraries: [(&str, AltitudeAt); 2] =
        [("PSA", altitude_by_psa), ("VSOP87", altitude_by_vsop)];
    let mut compared = 0;
    for (lat, lon) in places {
        for day in days {
            let place = at(lat, lon);
            let midnight = format!("{day}T00:00:00Z").parse::<DateTime<Utc>>().unwrap();
            let midnight = 2_440_587.5 + midnight.timestamp() as f64 / 86_400.0;
            let found = sun(date(day), offset("+00:00"), place).unwrap();
            for (light, altitude) in [(found.day, -50.0 / 60.0), (found.twilight, -6.0)] {
                let Light::Between(rise, set) = light else {
                    continue;
                };
                for hours in [rise, set] {
                    for (name, library) in libraries {
                        let julian = midnight + hours.get() / 24.0;
                        let later = minutes_later(library, julian, place, altitude);
                        let seconds = (later * 60.0).abs();
                        assert!(seconds < 30.0, "{name} {day} {lat} {lon}: {seconds}");
                        compared += 1;
                    }
                }
            }
        }
    }
    assert!(compared >= 280, "{compared}");
}

fn example() -> Value {
    serde_json::from_str(include_str!("../data/example-trip.json")).unwrap()
}

/// The example with a date; its local time is within half an hour of the sun's.
fn dated() -> Value {
    let mut trip = example();
    trip["start"]["date"] = json!("2026-03-20");
    trip["start"]["utc_offset"] = json!("-09:00");
    trip
}

fn at_target(trip: Value) -> Plan {
    Plan::at_target(check::read(trip).unwrap(), Effort::FIRST)
}

/// By hand: a day's arrival is its departure, and the driving time and halts of its legs.
#[test]
fn a_day_takes_its_driving_and_its_halts() {
    let mut trip = dated();
    trip["legs"][0]["depart"] = json!("07:30");
    trip["rules"]["halt_min_per_h"] = json!(15);
    let plan = Plan::best_estimate(check::read(trip).unwrap());
    let light = plan.daylight.as_ref().unwrap();
    let first = &light.days[0];
    assert_eq!(first.date.to_string(), "2026-03-20");
    let legs: Vec<_> = plan.legs.iter().filter(|leg| leg.day == 1).collect();
    let driving: f64 = legs.iter().map(|leg| leg.driving.get()).sum();
    let idle: f64 = legs
        .iter()
        .filter_map(|leg| plan.trip.legs[leg.n - 1].idle_h)
        .map(Hours::get)
        .sum();
    let arrival = first.arrivals.last().unwrap().expected.get();
    assert!(
        (arrival - (7.5 + driving * 1.25 + idle)).abs() < 1e-9,
        "{arrival}"
    );
    assert_eq!(first.arrivals.len(), legs.len());
    // The next days depart an hour after sunrise, one day later each.
    let second = &light.days[1];
    assert_eq!(second.date.to_string(), "2026-03-21");
    let Light::Between(sunrise, _) = second.sun_at_start.day else {
        panic!("{second:?}");
    };
    assert!((second.depart - sunrise - Hours::new(1.0)).abs() < Hours::new(1e-9));
}

/// The simulated arrivals are in order, and more halts or a later departure make them later; with the latest departure the
/// day ends at sunset, at the target.
#[test]
fn arrivals_have_their_uncertainty() {
    let plan = at_target(dated());
    for day in &plan.daylight.as_ref().unwrap().days {
        let mut last = day.depart;
        for arrival in &day.arrivals {
            let simulated = arrival.simulated.unwrap();
            assert!(simulated.earliest < simulated.at_target);
            assert!(simulated.at_target < simulated.nearly_all);
            assert!(
                simulated.earliest < arrival.expected && arrival.expected < simulated.nearly_all
            );
            assert!(arrival.expected >= last);
            last = arrival.expected;
        }
        let end = day.arrivals.last().unwrap();
        let latest = end.simulated.unwrap().at_target.max(end.expected);
        let Light::Between(_, sunset) = day.sun_at_end.day else {
            panic!("{day:?}");
        };
        let too_late = latest - sunset;
        let by = day.depart - day.latest_departure.unwrap();
        assert!((too_late - by).abs() < Hours::new(1e-9));
    }
    let mut slower = dated();
    slower["rules"]["halt_min_per_h"] = json!(40);
    let slower = at_target(slower);
    let pairs = plan.daylight.iter().zip(&slower.daylight);
    for (quick, slow) in pairs.flat_map(|(a, b)| a.days.iter().zip(&b.days)) {
        assert!(quick.arrivals.last().unwrap().expected < slow.arrivals.last().unwrap().expected);
        assert!(quick.latest_departure > slow.latest_departure);
    }
}

fn codes(plan: &Plan) -> Vec<&'static str> {
    plan.findings
        .iter()
        .map(drystage::plan::Finding::code)
        .collect()
}

/// A day that departs late ends in the dark; one that departs in time does not, and says so before it is too late to look
/// for a camp.
#[test]
fn days_that_end_too_late_are_found() {
    let departing = |hour: &str| {
        let mut trip = dated();
        trip["legs"][0]["depart"] = json!(hour);
        Plan::best_estimate(check::read(trip).unwrap())
    };
    let of_day_1 = |plan: &Plan| plan.daylight.as_ref().unwrap().days[0].clone();
    let early = departing("06:00");
    let day = of_day_1(&early);
    let takes = day.arrivals.last().unwrap().expected.get() - 6.0;
    let Light::Between(_, dusk) = day.sun_at_end.twilight else {
        panic!("{day:?}");
    };
    let Light::Between(_, sunset) = day.sun_at_end.day else {
        panic!("{day:?}");
    };
    let clock = |hours: f64| {
        format!(
            "{:02.0}:{:02.0}",
            hours.floor(),
            (hours.fract() * 60.0).floor()
        )
    };
    let dark = departing(&clock(dusk.get() - takes + 0.1));
    assert!(
        codes(&dark).contains(&"day-after-dark"),
        "{:?}",
        codes(&dark)
    );
    let late = departing(&clock(sunset.get() - takes - 0.5));
    assert!(codes(&late).contains(&"camp-search"), "{:?}", codes(&late));
    assert!(!codes(&late).contains(&"day-after-dark"));
    let in_time = departing(&clock(sunset.get() - takes - 1.2));
    let of_first = in_time.findings.iter().filter(|finding| {
        matches!(finding.code(), "camp-search" | "day-after-dark")
            && finding.at == drystage::plan::Where::Place(day.arrivals.last().unwrap().place_number)
    });
    assert_eq!(of_first.count(), 0);
}

/// Above 3,000 m and more than 500 m higher than the night before is a note; lower, less, or on the last day is none.
#[test]
fn nights_high_up_are_noted() {
    let slept = |start: f64, climb: f64, last: bool| {
        let mut trip = example();
        trip["start"]["altitude_m"] = json!(start);
        trip["legs"] = json!([
            { "to": "camp", "day": 1, "distance_km": 60, "ascent_m": climb },
            { "to": "end", "day": if last { 1 } else { 2 }, "distance_km": 60, "descent_m": climb, "fuel": {} }
        ]);
        trip["what_ifs"] = json!([]);
        let plan = Plan::best_estimate(check::read(trip).unwrap());
        codes(&plan).contains(&"sleep-altitude")
    };
    assert!(slept(2600.0, 501.0, false));
    assert!(!slept(2600.0, 499.0, false));
    assert!(!slept(2400.0, 590.0, false));
    assert!(!slept(2600.0, 900.0, true));
}

/// A date changes no litre, and without one there are no times.
#[test]
fn a_date_changes_no_fuel() {
    let without: Trip = check::read({
        let mut trip = dated();
        for key in ["date", "utc_offset"] {
            trip["start"].as_object_mut().unwrap().remove(key);
        }
        trip
    })
    .unwrap();
    let (with, without) = (at_target(dated()), Plan::at_target(without, Effort::FIRST));
    assert!(without.daylight.is_none() && with.daylight.is_some());
    assert_eq!(with.in_cans, without.in_cans);
    assert_eq!(with.legs, without.legs);
    assert_eq!(with.fuel_checks, without.fuel_checks);
    assert_eq!(with.stops, without.stops);
}
