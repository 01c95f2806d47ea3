//! What-ifs as dials: what they change, what is kept of them, and where they change the verdict.

use std::fs;

use drystage::model::change::Change;
use drystage::model::dial::{Dial, Dials, Laid, Notch, Reading, what_if};
use drystage::model::{Trip, check};
use drystage::plan::Plan;
use drystage::plan::difference::{Difference, Outcome};
use drystage::plan::tipping::tips;
use drystage::quantity::{Kilograms, Kilometres, Litres, Share};
use drystage::tui::dials::EFFORT;
use serde_json::{Value, json};

fn example() -> Trip {
    let text = include_str!("../data/example-trip.json");
    check::read(serde_json::from_str(text).unwrap()).unwrap()
}

/// The example and the samples.
fn trips() -> Vec<Trip> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/sample-routes");
    let mut paths: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|kind| kind == "json"))
        .collect();
    paths.sort();
    let samples = paths.into_iter().map(|path| {
        let text = fs::read_to_string(path).unwrap();
        check::read(serde_json::from_str(&text).unwrap()).unwrap()
    });
    std::iter::once(example()).chain(samples).collect()
}

/// Every dial of a trip, the two about one leg for every leg.
fn dials(trip: &Trip) -> Vec<Dial> {
    let mut dials = Dial::all(trip, 1);
    for leg in 2..=trip.legs.len() {
        for dial in Dial::all(trip, leg) {
            if !dials.contains(&dial) {
                dials.push(dial);
            }
        }
    }
    dials
}

/// Some notches of a dial: its ends and a few between them.
fn some_notches(dial: Dial, trip: &Trip) -> Vec<Notch> {
    let last = dial.notches(trip) - 1;
    let mut notches: Vec<u32> = (0..=5).map(|part| last * part / 5).collect();
    notches.dedup();
    notches.into_iter().map(Notch::new).collect()
}

#[test]
fn every_notch_makes_a_sound_trip_and_is_kept_as_a_guarded_patch() {
    for trip in trips() {
        for dial in dials(&trip) {
            for notch in some_notches(dial, &trip) {
                let turned = Dials::default().trip_with(&trip, dial, Some(notch));
                let read = check::read(turned.to_document());
                assert!(read.is_ok(), "{dial:?} {notch:?}: {read:?}");
                let kept = what_if("kept", &trip, &turned);
                let change = Change::keep_what_if(&trip, &kept);
                let (with_it, _) = change.apply(&trip).unwrap();
                let mut back = with_it.with_what_if("kept").unwrap();
                back.what_ifs = trip.what_ifs.clone();
                assert_eq!(back, turned, "{dial:?} {notch:?}");
                let unguarded = kept.change.iter().filter(|operation| {
                    let path = operation.path().as_str();
                    let guard = path.split('/').take(3).collect::<Vec<_>>().join("/") + "/to";
                    path.starts_with("/legs/")
                        && !kept
                            .change
                            .iter()
                            .any(|other| other.path().as_str() == guard)
                });
                assert_eq!(unguarded.count(), 0, "{kept:?}");
            }
        }
    }
}

#[test]
fn a_kept_set_comes_back_to_the_dials() {
    for trip in [example()] {
        for dial in Dial::all(&trip, 4) {
            for notch in some_notches(dial, &trip) {
                let turned = Dials::default().trip_with(&trip, dial, Some(notch));
                let kept = what_if("kept", &trip, &turned);
                let change = Change::keep_what_if(&trip, &kept);
                let (with_it, _) = change.apply(&trip).unwrap();
                match Dials::of_what_if(&with_it, "kept").unwrap() {
                    Laid::OnDials(dials) => assert_eq!(dials.trip(&trip), turned, "{dial:?}"),
                    Laid::Beneath(_) => panic!("{dial:?} {notch:?}: {:?}", kept.change),
                }
            }
        }
    }
}

#[test]
fn several_dials_are_kept_together() {
    let trip = example();
    let mut dials = Dials::default();
    for (dial, notch) in [
        (Dial::Headwind, 80),
        (Dial::Sand, 50),
        (Dial::Roof, 0),
        (Dial::People, 0),
    ] {
        dials.set(dial, Some(Notch::new(notch)));
    }
    let turned = dials.trip(&trip);
    let kept = what_if("windy", &trip, &turned);
    let (with_it, _) = Change::keep_what_if(&trip, &kept).apply(&trip).unwrap();
    assert_eq!(
        Dials::of_what_if(&with_it, "windy").unwrap(),
        Laid::OnDials(dials)
    );
}

/// The example's own what-ifs: one is a dial, the other names a mass that no dial has.
#[test]
fn what_no_dial_says_is_laid_beneath_them() {
    let trip = example();
    match Dials::of_what_if(&trip, "twice the sand").unwrap() {
        Laid::OnDials(dials) => {
            assert_eq!(dials.len(), 1);
            assert_eq!(dials.at(Dial::SandOn(4)), Some(Notch::new(80)));
        }
        other @ Laid::Beneath(_) => panic!("{other:?}"),
    }
    match Dials::of_what_if(&trip, "tent on the roof").unwrap() {
        Laid::Beneath(laid) => assert_eq!(*laid, trip.with_what_if("tent on the roof").unwrap()),
        other @ Laid::OnDials(_) => panic!("{other:?}"),
    }
}

#[test]
fn a_dial_that_is_turned_on_and_back_is_at_rest() {
    for trip in trips() {
        for dial in dials(&trip) {
            for fine in [false, true] {
                for first in [false, true] {
                    let away = dial.turned(&trip, None, first, fine);
                    let Some(there) = away else { continue };
                    if dial.stated(&trip) == Reading::AsStated {
                        continue;
                    }
                    assert_eq!(
                        dial.turned(&trip, Some(there), !first, fine),
                        None,
                        "{dial:?} {there:?}"
                    );
                }
            }
        }
        assert_eq!(Dials::default().trip(&trip), trip);
    }
}

#[test]
fn strokes_end_on_round_values_and_stay_on_the_scale() {
    let mut trip = example();
    trip.rules
        .as_mut()
        .unwrap()
        .reserve
        .as_mut()
        .unwrap()
        .litres = Some(Litres::new(5.3));
    let next = Dial::Reserve.turned(&trip, None, true, false).unwrap();
    assert_eq!(
        Dial::Reserve.reading(&trip, next),
        Reading::Fuel(Litres::new(6.0))
    );
    let last = Notch::new(Dial::Cargo.notches(&trip) - 1);
    assert_eq!(
        Dial::Cargo.turned(&trip, Some(last), true, false),
        Some(last)
    );
    assert_eq!(
        Dial::Cargo.reading(&trip, last),
        Reading::Mass(Kilograms::new(400.0))
    );
    assert_eq!(
        Dial::SandOn(4).reading(&trip, Notch::new(55)),
        Reading::Share(Share::new(0.55))
    );
}

/// The plan that marks go by: a target plan by 2,048 simulated trips.
fn target_plan(trip: Trip) -> Plan {
    Plan::at_target(trip, EFFORT)
}

/// A weekend that is short to simulate, with a tank and cans so small that the sliders change the verdict.
fn small_trip() -> Trip {
    let text = include_str!("../../sample-routes/forest-weekend.json");
    let mut document: Value = serde_json::from_str(text).unwrap();
    document["vehicle"]["tank_l"] = 38.into();
    document["load"]["cans"] =
        json!([{ "size_l": 5, "empty_kg": 0.6, "owned": 2, "places": ["cargo"] }]);
    document["what_ifs"] = json!([]);
    check::read(document).unwrap()
}

/// The changes against every notch of the slider.
#[test]
fn a_verdict_changes_where_a_scan_of_all_notches_finds_it() {
    let trip = small_trip();
    let here = target_plan(trip.clone()).decided();
    let mut changes = 0;
    for dial in [
        Dial::People,
        Dial::Reserve,
        Dial::Contingency,
        Dial::Headwind,
        Dial::Roof,
        Dial::SuccessTarget,
    ] {
        let found = tips(&trip, &Dials::default(), dial, EFFORT, &|| true).unwrap();
        assert_eq!(found.here, here);
        let decided: Vec<_> = (0..dial.notches(&trip))
            .map(|n| {
                let notch = Some(Notch::new(n));
                target_plan(Dials::default().trip_with(&trip, dial, notch)).decided()
            })
            .collect();
        let first_above = dial.turned(&trip, None, true, true).map(Notch::number);
        let first_below = dial.turned(&trip, None, false, true).map(Notch::number);
        let above = first_above
            .and_then(|first| (first..dial.notches(&trip)).find(|&n| decided[n as usize] != here));
        let below =
            first_below.and_then(|first| (0..=first).rev().find(|&n| decided[n as usize] != here));
        for (tip, scanned) in [(found.above, above), (found.below, below)] {
            assert_eq!(tip.map(|tip| tip.at.number()), scanned, "{dial:?}");
            if let (Some(tip), Some(at)) = (tip, scanned) {
                assert_eq!(tip.becomes, decided[at as usize]);
                changes += 1;
            }
        }
    }
    assert!(changes > 3, "{changes}");
}

#[test]
fn changes_are_sought_from_where_the_slider_is_and_dropped_when_nobody_wants_them() {
    let trip = small_trip();
    let dial = Dial::Reserve;
    let at_rest = tips(&trip, &Dials::default(), dial, EFFORT, &|| true).unwrap();
    let above = at_rest.above.unwrap();
    let mut dials = Dials::default();
    dials.set(dial, Some(above.at));
    let moved = tips(&trip, &dials, dial, EFFORT, &|| true).unwrap();
    assert_eq!(moved.here, above.becomes);
    assert_eq!(moved.below.unwrap().at, above.holds.unwrap());
    assert_eq!(tips(&trip, &dials, dial, EFFORT, &|| false), None);
}

#[test]
fn more_load_burns_more_and_a_dry_stop_asks_for_cans() {
    let trip = example();
    let saved = Plan::of(trip.clone());
    let with = |dial: Dial, notch| {
        let turned = Dials::default().trip_with(&trip, dial, Some(Notch::new(notch)));
        Difference::between(&saved, &Plan::of(turned))
    };
    let heavier = with(Dial::Cargo, 60);
    assert!(heavier.fuel > Litres::ZERO && heavier.mass > Kilograms::new(55.0));
    assert_eq!(Difference::between(&saved, &saved).fuel, Litres::ZERO);
    let dry = Dials::default().trip_with(&trip, Dial::DryStop, Some(Notch::new(1)));
    let dry = Plan::of(dry);
    assert!(dry.spare.needed > saved.spare.needed + Litres::new(10.0));
    assert_ne!(dry.decided().outcome, Outcome::Go);
    assert_eq!(
        dry.totals.distance,
        saved.totals.distance.max(Kilometres::ZERO)
    );
}
