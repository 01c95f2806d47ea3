//! Where the plan draws its lines: on which side of each a trip falls.

use drystage::model::check;
use drystage::plan::{Finding, Plan};
use drystage::quantity::{Kilometres, Litres};
use serde_json::{Value, json};

/// A small petrol 4x4 on one sealed leg, with whatever `change` makes of it.
fn plan(change: impl FnOnce(&mut Value)) -> Plan {
    let mut document = json!({
        "drystage": 1,
        "vehicle": {
            "fuel": "petrol", "engine_l": 1.5, "base_l_per_100km": 8, "base_speed_kmh": 90,
            "tank_l": 40, "kerb_mass_kg": 1090, "gvm_kg": 1450
        },
        "load": { "crew": [{ "name": "driver", "mass_kg": 75 }] },
        "start": { "name": "here", "fuel": {} },
        "legs": [{ "to": "there", "distance_km": 100 }]
    });
    change(&mut document);
    Plan::of(check::read(document).unwrap_or_else(|problems| panic!("{problems:?}")))
}

fn tells(plan: &Plan, code: &str) -> bool {
    plan.findings
        .iter()
        .map(Finding::code)
        .any(|told| told == code)
}

/// A stop is relied on from a chance of a half on, and one with nothing to give never.
#[test]
fn a_stop_is_counted_from_a_half_on() {
    let counted = |fuel: Value| {
        let plan = plan(|trip| {
            trip["legs"] = json!([
                { "to": "pump", "distance_km": 100, "fuel": fuel },
                { "to": "there", "distance_km": 100 }
            ]);
        });
        plan.stops
            .iter()
            .find(|stop| stop.node == 1)
            .unwrap()
            .counted
    };
    assert!(counted(json!({ "chance": 0.5 })));
    assert!(!counted(json!({ "chance": 0.49 })));
    assert!(!counted(json!({ "litres": 0 })));
}

/// A can of 38 L fits a tank that may fall to 0 of its usable litres, and not one of which 5 L are to be left.
#[test]
fn a_can_that_cannot_be_poured_is_not_carried() {
    let carried = |reserve: f64| {
        let plan = plan(|trip| {
            trip["vehicle"]["unusable_l"] = json!(1);
            trip["rules"] = json!({ "reserve": { "litres": reserve, "km": 0, "percent": 0 } });
            trip["load"]["cans"] =
                json!([{ "size_l": 40, "empty_kg": 6, "owned": 1, "places": ["cargo"] }]);
            trip["legs"][0]["distance_km"] = json!(600);
        });
        plan.spare.carried
    };
    assert_eq!(carried(0.5), Litres::new(38.0));
    assert_eq!(carried(5.0), Litres::ZERO);
}

/// A mass limit that is broken without any can is no reason to leave the cans at home.
#[test]
fn a_limit_that_is_broken_anyway_is_not_held_against_the_cans() {
    let plan = plan(|trip| {
        trip["vehicle"]["gvm_kg"] = json!(1100);
        trip["load"]["cans"] =
            json!([{ "size_l": 20, "empty_kg": 4, "owned": 1, "places": ["cargo"] }]);
        trip["legs"][0]["distance_km"] = json!(1500);
    });
    assert!(tells(&plan, "gvm-over") && tells(&plan, "cans-short"));
    assert_eq!(plan.spare.carried, Litres::new(19.0));
}

/// A detour to a pump is no kilometre of the trip, but its litres are burnt: of 30 km there and back, at more than 5 and
/// less than 12 L/100 km.
#[test]
fn the_detour_to_a_pump_is_in_the_total() {
    let plan = plan(|trip| {
        trip["legs"] = json!([
            { "to": "turn-off", "distance_km": 250, "fuel": { "detour_km": 30 } },
            { "to": "there", "distance_km": 250 }
        ]);
    });
    let driven: Litres = plan.legs.iter().map(|leg| leg.fuel).sum();
    let detour = (plan.totals.fuel - driven).get();
    assert!((1.5..3.6).contains(&detour), "{detour}");
    assert_eq!(plan.totals.distance, Kilometres::new(500.0));
}

/// A degree of the equator is 111.32 km; a stated length is told from 5 % of it on.
#[test]
fn a_length_is_held_against_its_track() {
    let differs = |km: f64| {
        let plan = plan(|trip| {
            trip["legs"][0]["distance_km"] = json!(km);
            trip["legs"][0]["track"] = json!([[-30, 0], [-29, 0]]);
        });
        tells(&plan, "track-differs")
    };
    assert!(!differs(111.32 * 1.049) && !differs(111.32 * 0.951));
    assert!(differs(111.32 * 1.051) && differs(111.32 * 0.949));
}

/// Ten metres of climb are the noise of a track whose heights move by the threshold of 5 m, whatever share they are.
#[test]
fn a_climb_within_the_noise_of_its_track_is_not_told() {
    let differs = |ascent: f64| {
        let plan = plan(|trip| {
            trip["legs"][0]["ascent_m"] = json!(ascent);
            trip["legs"][0]["distance_km"] = json!(111.32);
            trip["legs"][0]["track"] = json!([[-30, 0, 100], [-29, 0, 120]]);
        });
        tells(&plan, "track-differs")
    };
    assert!(!differs(29.0) && differs(31.0));
}

/// Two people for three days on the stated 5 L a person and day drink 30 L.
#[test]
fn water_is_for_everybody_and_every_day() {
    let short = |kg: f64| {
        let plan = plan(|trip| {
            trip["rules"] = json!({ "water_l_per_person_day": 5 });
            trip["load"]["crew"] = json!([
                { "name": "driver", "mass_kg": 75 }, { "name": "passenger", "mass_kg": 75 }
            ]);
            trip["load"]["items"] = json!([{ "name": "water", "mass_kg": kg, "water": true }]);
            trip["legs"][0]["day"] = json!(3);
        });
        tells(&plan, "water-short")
    };
    assert!(short(29.9) && !short(30.0));
}

/// A place met twice is one pump, and the price that is stated at one meeting only is no other price.
#[test]
fn a_price_may_be_stated_once() {
    plan(|trip| {
        trip["legs"] = json!([
            { "to": "there", "distance_km": 100, "fuel": { "price_per_l": 1.5 } },
            { "to": "beyond", "distance_km": 100 },
            { "to": "there", "distance_km": 100, "fuel": {} }
        ]);
    });
}

/// What is required counts what pouring loses where the can is no longer needed, but the can is poured at the halt after
/// it, and until then the loss is carried and takes fuel. Cans that hold just what is required are therefore some
/// millilitres too few, and the plan does not set out with them.
#[test]
fn a_can_that_holds_just_what_is_required_is_not_enough() {
    let with = |litres: f64| {
        plan(|trip| {
            trip["rules"] = json!({ "reserve": { "litres": 5, "km": 0, "percent": 0 } });
            trip["load"]["cans"] = json!([
                { "size_l": 20, "empty_kg": 4, "fill_share": litres / 20.0, "owned": 1, "places": ["cargo"] }
            ]);
            trip["legs"] = json!([
                { "to": "there", "distance_km": 90, "surface": "gravel" },
                { "to": "yonder", "distance_km": 90, "surface": "gravel" },
                { "to": "beyond", "distance_km": 330, "surface": "gravel" }
            ]);
        })
    };
    let is_enough = |litres: f64| !tells(&with(litres), "cans-short");
    let (mut low, mut high) = (2.0, 18.0);
    assert!(!is_enough(low) && is_enough(high), "{:?}", with(high).spare);
    for _ in 0..50 {
        let middle = f64::midpoint(low, high);
        if is_enough(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    for leg in &with(high).legs {
        assert!(
            leg.end >= leg.reserve - Litres::new(1e-6),
            "{high} L: {leg:?}"
        );
    }
}

/// By hand: an hour for 90 km of sealed road and an hour for 70 km of gravel, so that halfway by the clock is where the
/// gravel begins; and no such point where the sealed road cannot be driven back.
#[test]
fn going_on_and_back_take_as_long_from_halfway_by_the_clock() {
    let halfway = |one_way: bool| {
        let plan = plan(|trip| {
            trip["legs"] = json!([
                { "to": "there", "distance_km": 90 },
                { "to": "beyond", "distance_km": 70, "surface": "gravel" }
            ]);
            if one_way {
                trip["legs"][0]["return"] = json!({ "possible": false });
            }
        });
        plan.equal_time(&plan.stretches[0])
    };
    let km = halfway(false).unwrap();
    assert!(
        (km - Kilometres::new(90.0)).abs() < Kilometres::new(1e-9),
        "{km:?}"
    );
    assert_eq!(halfway(true), None);
}
