//! What-ifs as sliders: what they change, what is kept of them, and where they change the verdict.

use std::fs;

use drystage::model::change::Change;
use drystage::model::slider::{Reading, Recalled, Slider, SliderStep, Sliders, what_if};
use drystage::model::{Trip, check};
use drystage::plan::Plan;
use drystage::plan::difference::{Difference, Outcome};
use drystage::plan::tipping::tips;
use drystage::quantity::{Kilograms, Kilometres, Litres, Share};
use drystage::tui::sliders::EFFORT;
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

/// Every slider of a trip, the two about one leg for every leg.
fn sliders(trip: &Trip) -> Vec<Slider> {
    let mut sliders = Slider::all(trip, 1);
    for leg in 2..=trip.legs.len() {
        for slider in Slider::all(trip, leg) {
            if !sliders.contains(&slider) {
                sliders.push(slider);
            }
        }
    }
    sliders
}

/// Some steps of a slider: its ends and a few between them.
fn some_slider_steps(slider: Slider, trip: &Trip) -> Vec<SliderStep> {
    let last = slider.slider_steps(trip) - 1;
    let mut slider_steps: Vec<u32> = (0..=5).map(|part| last * part / 5).collect();
    slider_steps.dedup();
    slider_steps.into_iter().map(SliderStep::new).collect()
}

#[test]
fn every_notch_makes_a_sound_trip_and_is_kept_as_a_guarded_patch() {
    for trip in trips() {
        for slider in sliders(&trip) {
            for slider_step in some_slider_steps(slider, &trip) {
                let turned = Sliders::default().trip_with(&trip, slider, Some(slider_step));
                let read = check::read(turned.to_document());
                assert!(read.is_ok(), "{slider:?} {slider_step:?}: {read:?}");
                let kept = what_if("kept", &trip, &turned);
                let change = Change::keep_what_if(&trip, &kept);
                let (with_it, _) = change.apply(&trip).unwrap();
                let mut back = with_it.with_what_if("kept").unwrap();
                back.what_ifs = trip.what_ifs.clone();
                assert_eq!(back, turned, "{slider:?} {slider_step:?}");
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
fn a_kept_set_comes_back_to_the_sliders() {
    for trip in [example()] {
        for slider in Slider::all(&trip, 4) {
            for slider_step in some_slider_steps(slider, &trip) {
                let turned = Sliders::default().trip_with(&trip, slider, Some(slider_step));
                let kept = what_if("kept", &trip, &turned);
                let change = Change::keep_what_if(&trip, &kept);
                let (with_it, _) = change.apply(&trip).unwrap();
                match Sliders::of_what_if(&with_it, "kept").unwrap() {
                    Recalled::AsSliders(sliders) => {
                        assert_eq!(sliders.trip(&trip), turned, "{slider:?}");
                    }
                    Recalled::AsBaseTrip(_) => {
                        panic!("{slider:?} {slider_step:?}: {:?}", kept.change)
                    }
                }
            }
        }
    }
}

#[test]
fn several_dials_are_kept_together() {
    let trip = example();
    let mut sliders = Sliders::default();
    for (slider, slider_step) in [
        (Slider::Headwind, 80),
        (Slider::Sand, 50),
        (Slider::Roof, 0),
        (Slider::People, 0),
    ] {
        sliders.set(slider, Some(SliderStep::new(slider_step)));
    }
    let turned = sliders.trip(&trip);
    let kept = what_if("windy", &trip, &turned);
    let (with_it, _) = Change::keep_what_if(&trip, &kept).apply(&trip).unwrap();
    assert_eq!(
        Sliders::of_what_if(&with_it, "windy").unwrap(),
        Recalled::AsSliders(sliders)
    );
}

/// The example's own what-ifs: one is a slider, the other names a mass that no slider has.
#[test]
fn what_no_dial_says_is_laid_beneath_them() {
    let trip = example();
    match Sliders::of_what_if(&trip, "twice the sand").unwrap() {
        Recalled::AsSliders(sliders) => {
            assert_eq!(sliders.len(), 1);
            assert_eq!(sliders.at(Slider::SandOn(4)), Some(SliderStep::new(80)));
        }
        other @ Recalled::AsBaseTrip(_) => panic!("{other:?}"),
    }
    match Sliders::of_what_if(&trip, "tent on the roof").unwrap() {
        Recalled::AsBaseTrip(laid) => {
            assert_eq!(*laid, trip.with_what_if("tent on the roof").unwrap());
        }
        other @ Recalled::AsSliders(_) => panic!("{other:?}"),
    }
}

#[test]
fn a_dial_that_is_turned_on_and_back_is_at_rest() {
    for trip in trips() {
        for slider in sliders(&trip) {
            for fine in [false, true] {
                for first in [false, true] {
                    let away = slider.turned(&trip, None, first, fine);
                    let Some(there) = away else { continue };
                    if slider.stated(&trip) == Reading::AsStated {
                        continue;
                    }
                    assert_eq!(
                        slider.turned(&trip, Some(there), !first, fine),
                        None,
                        "{slider:?} {there:?}"
                    );
                }
            }
        }
        assert_eq!(Sliders::default().trip(&trip), trip);
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
    let next = Slider::Reserve.turned(&trip, None, true, false).unwrap();
    assert_eq!(
        Slider::Reserve.reading(&trip, next),
        Reading::Fuel(Litres::new(6.0))
    );
    let last = SliderStep::new(Slider::Cargo.slider_steps(&trip) - 1);
    assert_eq!(
        Slider::Cargo.turned(&trip, Some(last), true, false),
        Some(last)
    );
    assert_eq!(
        Slider::Cargo.reading(&trip, last),
        Reading::Mass(Kilograms::new(400.0))
    );
    assert_eq!(
        Slider::SandOn(4).reading(&trip, SliderStep::new(55)),
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

/// The changes against every step of the slider.
#[test]
fn a_verdict_changes_where_a_scan_of_all_notches_finds_it() {
    let trip = small_trip();
    let here = target_plan(trip.clone()).decided();
    let mut changes = 0;
    for slider in [
        Slider::People,
        Slider::Reserve,
        Slider::Contingency,
        Slider::Headwind,
        Slider::Roof,
        Slider::SuccessTarget,
    ] {
        let found = tips(&trip, &Sliders::default(), slider, EFFORT, &|| true).unwrap();
        assert_eq!(found.here, here);
        let decided: Vec<_> = (0..slider.slider_steps(&trip))
            .map(|n| {
                let slider_step = Some(SliderStep::new(n));
                target_plan(Sliders::default().trip_with(&trip, slider, slider_step)).decided()
            })
            .collect();
        let first_above = slider
            .turned(&trip, None, true, true)
            .map(SliderStep::number);
        let first_below = slider
            .turned(&trip, None, false, true)
            .map(SliderStep::number);
        let above = first_above.and_then(|first| {
            (first..slider.slider_steps(&trip)).find(|&n| decided[n as usize] != here)
        });
        let below =
            first_below.and_then(|first| (0..=first).rev().find(|&n| decided[n as usize] != here));
        for (tip, scanned) in [(found.above, above), (found.below, below)] {
            assert_eq!(tip.map(|tip| tip.at.number()), scanned, "{slider:?}");
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
    let slider = Slider::Reserve;
    let at_rest = tips(&trip, &Sliders::default(), slider, EFFORT, &|| true).unwrap();
    let above = at_rest.above.unwrap();
    let mut sliders = Sliders::default();
    sliders.set(slider, Some(above.at));
    let moved = tips(&trip, &sliders, slider, EFFORT, &|| true).unwrap();
    assert_eq!(moved.here, above.becomes);
    assert_eq!(moved.below.unwrap().at, above.holds.unwrap());
    assert_eq!(tips(&trip, &sliders, slider, EFFORT, &|| false), None);
}

#[test]
fn more_load_burns_more_and_a_dry_stop_asks_for_cans() {
    let trip = example();
    let saved = Plan::of(trip.clone());
    let with = |slider: Slider, slider_step| {
        let turned =
            Sliders::default().trip_with(&trip, slider, Some(SliderStep::new(slider_step)));
        Difference::between(&saved, &Plan::of(turned))
    };
    let heavier = with(Slider::Cargo, 60);
    assert!(heavier.fuel > Litres::ZERO && heavier.mass > Kilograms::new(55.0));
    assert_eq!(Difference::between(&saved, &saved).fuel, Litres::ZERO);
    let dry = Sliders::default().trip_with(&trip, Slider::DryStop, Some(SliderStep::new(1)));
    let dry = Plan::of(dry);
    assert!(dry.in_cans.needed > saved.in_cans.needed + Litres::new(10.0));
    assert_ne!(dry.decided().outcome, Outcome::Go);
    assert_eq!(
        dry.totals.distance,
        saved.totals.distance.max(Kilometres::ZERO)
    );
}
