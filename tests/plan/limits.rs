//! Where the plan draws its lines: on which side of each a trip falls.

use drystage::model::check;
use drystage::model::vocabulary::{CarryingPlace, UnitSystem};
use drystage::plan::{Plan, Verdict};
use drystage::present::number::{Toward, Units};
use drystage::present::{card, finding, margin, verdict};
use drystage::quantity::{Kilometres, Litres};
use serde_json::{Value, json};

use crate::EFFORT;

const METRIC: Units = Units(UnitSystem::Metric);

/// A small petrol 4x4 on one sealed leg, with whatever `change` makes of it.
fn plan(change: impl FnOnce(&mut Value)) -> Plan {
    let mut document = json!({
        "drystage": 1,
        "vehicle": {
            "fuel": "petrol", "engine_l": 1.5, "baseline_l_per_100km": 8, "baseline_speed_kmh": 90,
            "tank_l": 40, "kerb_mass_kg": 1090, "gvm_kg": 1450
        },
        "load": { "people": [{ "name": "driver", "mass_kg": 75 }] },
        "start": { "name": "here", "fuel": {} },
        "legs": [{ "to": "there", "distance_km": 100 }]
    });
    change(&mut document);
    Plan::best_estimate(check::read(document).unwrap_or_else(|problems| panic!("{problems:?}")))
}

fn has_finding(plan: &Plan, code: &str) -> bool {
    plan.findings.iter().any(|found| found.code() == code)
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
        let mut stops = plan.stops.iter();
        stops.find(|stop| stop.place_number == 1).unwrap().counted
    };
    assert!(counted(json!({ "chance": 0.5 })));
    assert!(!counted(json!({ "chance": 0.49 })));
    assert!(!counted(json!({ "litres": 0 })));
    assert!(counted(json!({ "chance": 0.01, "rely": "always" })));
    assert!(!counted(json!({ "chance": 1, "rely": "never" })));
    assert!(!counted(json!({ "chance": 0, "rely": "always" })));
    assert!(!counted(json!({ "litres": 0, "rely": "always" })));
}

/// A can of 38 L fits a tank that may fall to 0 of its usable litres, and not one of which 5 L are to be left.
#[test]
fn a_can_that_cannot_be_decanted_is_not_carried() {
    let carried = |reserve: f64| {
        let plan = plan(|trip| {
            trip["vehicle"]["unusable_l"] = json!(1);
            trip["rules"] =
                json!({ "reserve": { "litres": reserve, "km": 0 }, "contingency_percent": 0 });
            trip["load"]["cans"] =
                json!([{ "size_l": 40, "empty_kg": 6, "owned": 1, "places": ["cargo"] }]);
            trip["legs"][0]["distance_km"] = json!(600);
        });
        plan.in_cans.carried
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
    assert!(has_finding(&plan, "gvm-over") && has_finding(&plan, "cans-short"));
    assert_eq!(plan.in_cans.carried, Litres::new(19.0));
}

/// A detour to a fuel stop is no kilometre of the trip, but its litres are burnt: of 30 km there and back, at more than
/// 5 and less than 12 L/100 km.
#[test]
fn the_detour_to_a_fuel_stop_is_in_the_total() {
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

/// A degree of the equator is 111.32 km; a stated length is reported from 5 % of it on.
#[test]
fn a_length_is_held_against_its_track() {
    let differs = |km: f64| {
        let plan = plan(|trip| {
            trip["legs"][0]["distance_km"] = json!(km);
            trip["legs"][0]["track"] = json!([[-30, 0], [-29, 0]]);
        });
        has_finding(&plan, "track-differs")
    };
    assert!(!differs(111.32 * 1.049) && !differs(111.32 * 0.951));
    assert!(differs(111.32 * 1.051) && differs(111.32 * 0.949));
}

/// Ten metres of climb are the noise of a track whose heights move by the threshold of 5 m, whatever share they are.
#[test]
fn a_climb_within_the_noise_of_its_track_is_not_reported() {
    let differs = |ascent: f64| {
        let plan = plan(|trip| {
            trip["legs"][0]["ascent_m"] = json!(ascent);
            trip["legs"][0]["distance_km"] = json!(111.32);
            trip["legs"][0]["track"] = json!([[-30, 0, 100], [-29, 0, 120]]);
        });
        has_finding(&plan, "track-differs")
    };
    assert!(!differs(29.0) && differs(31.0));
}

/// Two people for three days on the stated 5 L a person and day drink 30 L.
#[test]
fn water_is_for_everybody_and_every_day() {
    let short = |kg: f64| {
        let plan = plan(|trip| {
            trip["rules"] = json!({ "water_l_per_person_day": 5 });
            trip["load"]["people"] = json!([
                { "name": "driver", "mass_kg": 75 }, { "name": "passenger", "mass_kg": 75 }
            ]);
            trip["load"]["gear"] = json!([{ "name": "water", "mass_kg": kg, "water": true }]);
            trip["legs"][0]["day"] = json!(3);
        });
        has_finding(&plan, "water-short")
    };
    assert!(short(29.9) && !short(30.0));
}

/// A place met twice is one fuel stop, and the price that is stated at one meeting only is no other price.
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

/// What is required counts what decanting loses where the can is no longer needed, but the can is decanted at the halt
/// after it, and until then the loss is carried and takes fuel. Cans that hold just what is required are therefore some
/// millilitres too few, and the plan does not set out with them.
#[test]
fn a_can_that_holds_just_what_is_required_is_not_enough() {
    let with = |litres: f64| {
        plan(|trip| {
            trip["rules"] =
                json!({ "reserve": { "litres": 5, "km": 0 }, "contingency_percent": 0 });
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
    let is_enough = |litres: f64| !has_finding(&with(litres), "cans-short");
    let (mut low, mut high) = (2.0, 18.0);
    assert!(!is_enough(low) && is_enough(high));
    for _ in 0..50 {
        let middle = f64::midpoint(low, high);
        if is_enough(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    for leg in &with(high).legs {
        let least = leg.reserve - Litres::new(1e-6);
        assert!(leg.end >= least, "{high} L: {leg:?}");
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
        plan.equal_time(&plan.stages[0])
    };
    let km = halfway(false).unwrap().get();
    assert!((km - 90.0).abs() < 1e-9, "{km}");
    assert_eq!(halfway(true), None);
}

fn sentence_of(plan: &Plan, code: &str) -> String {
    let mut found = plan.findings.iter().filter(|found| found.code() == code);
    found
        .next()
        .map_or_else(String::new, |found| finding::sentence(found, plan, METRIC))
}

/// By hand: 5 kg left to the gross vehicle mass hold no can of 4 kg with 14 kg of petrol in it, and 25 kg hold one.
#[test]
fn where_mass_is_the_limit_it_is_named_first() {
    let with = |left: f64| {
        let gvm = |gvm: f64| {
            plan(|trip| {
                trip["vehicle"]["gvm_kg"] = json!(gvm);
                trip["load"]["cans"] =
                    json!([{ "size_l": 20, "empty_kg": 4, "owned": 2, "places": ["cargo"] }]);
                trip["legs"][0]["distance_km"] = json!(1500);
            })
        };
        let roomy = gvm(3000.0);
        let bare = plan(|trip| trip["legs"][0]["distance_km"] = json!(1500));
        assert!(has_finding(&roomy, "cans-short"));
        gvm(bare.load.mass.get() + left)
    };
    let none = with(5.0);
    assert_eq!(none.in_cans.carried, Litres::ZERO);
    let verdict = verdict::sentence(&none, METRIC);
    let first = "NO-GO: no room for more cans. On leaving here, 5 kg is left to the gross vehicle mass, too little for a can. The trip \
                 needs ";
    assert!(verdict.starts_with(first), "{verdict}");
    let brief = verdict::brief(&none, METRIC);
    assert!(brief.starts_with("NO-GO: GVM margin 5 kg; "), "{brief}");
    let one = with(25.0);
    assert_eq!(one.in_cans.carried, Litres::new(19.0));
    let sentence = sentence_of(&one, "cans-short");
    let reason = "too little for more than 19.0 L in cans";
    assert!(sentence.contains(reason), "{sentence}");
    let all = with(60.0);
    assert_eq!(all.in_cans.carried, Litres::new(38.0));
    let verdict = verdict::sentence(&all, METRIC);
    let most = "those that can be carried hold 38.0 L";
    assert!(verdict.contains(most), "{verdict}");
}

/// An overload names the limit and by how much, then what would be enough.
#[test]
fn an_overload_comes_before_the_fuel_that_would_be_enough() {
    let over = |cans: bool| {
        plan(|trip| {
            trip["vehicle"]["gvm_kg"] = json!(1100);
            trip["load"]["cans"] =
                json!([{ "size_l": 20, "empty_kg": 4, "owned": 7, "places": ["cargo"] }]);
            trip["legs"][0]["distance_km"] = json!(if cans { 600 } else { 100 });
        })
    };
    let verdict = verdict::sentence(&over(false), METRIC);
    let by = (over(false).load.mass.get() - 1100.0).ceil();
    let begin = "NO-GO: overloaded. On leaving here the vehicle weighs ";
    assert!(verdict.starts_with(begin), "{verdict}");
    let limit = format!("{by} kg over its gross vehicle mass (GVM) of 1100 kg.");
    assert!(verdict.contains(&limit), "{verdict}");
    let end = "The fuel would be enough: the best estimate needs none in cans.";
    assert!(verdict.ends_with(end), "{verdict}");
    let plan = over(true);
    let verdict = verdict::sentence(&plan, METRIC);
    let needed = plan.in_cans.needed;
    assert!(needed > Litres::ZERO && plan.in_cans.carried - needed < Litres::new(19.0));
    assert!(verdict.contains("The fuel would be enough: "), "{verdict}");
    let brief = verdict::brief(&plan, METRIC);
    assert!(brief.starts_with("NO-GO: overloaded, "), "{brief}");
}

/// Cans go to the first place in the order of the trip that has room, and where it has none that is reported with
/// kilograms.
#[test]
fn cans_go_to_the_first_place_that_has_room() {
    let with = |places: Value, rear: f64| {
        plan(|trip| {
            trip["vehicle"]["gvm_kg"] = json!(1700);
            trip["load"]["place_ratings_kg"] = json!({ "rear": rear });
            trip["load"]["cans"] =
                json!([{ "size_l": 20, "empty_kg": 4, "owned": 1, "places": places }]);
            trip["legs"][0]["distance_km"] = json!(550);
        })
    };
    let place = |plan: &Plan| plan.in_cans.cans[0].place;
    for (places, first) in [
        (json!(["rear", "cargo"]), CarryingPlace::Rear),
        (json!(["cargo", "rear"]), CarryingPlace::Cargo),
        (json!(["roof", "rear"]), CarryingPlace::Rear),
        (json!(["cabin", "rear"]), CarryingPlace::Rear),
    ] {
        let is_reported = places[0] == "roof";
        let plan = with(places, 50.0);
        assert_eq!(place(&plan), first);
        assert_eq!(has_finding(&plan, "cans-elsewhere"), is_reported);
    }
    let full = with(json!(["rear", "cargo"]), 10.0);
    assert_eq!(place(&full), CarryingPlace::Cargo);
    assert_eq!(
        sentence_of(&full, "cans-elsewhere"),
        "1 x 20 L can is in the cargo area, not on the rear carrier, which is listed first: only 10 kg is left to the rear \
         carrier's limit."
    );
}

/// A gram over a limit is not over it, as scales go, and does not send a can elsewhere.
#[test]
fn a_rounding_error_breaks_no_limit() {
    let with = |more: f64| {
        plan(|trip| {
            trip["vehicle"]["gvm_kg"] = json!(1700);
            let can = 4.0 + 19.0 * 0.745;
            trip["load"]["place_ratings_kg"] = json!({ "rear": can - more });
            trip["load"]["cans"] =
                json!([{ "size_l": 20, "empty_kg": 4, "owned": 1, "places": ["rear", "roof"] }]);
            trip["legs"][0]["distance_km"] = json!(480);
        })
    };
    let place = |more: f64| with(more).in_cans.cans[0].place;
    let heaviest = with(-50.0).load.departures[0].rear;
    let over = 4.0 + 19.0 * 0.745 - heaviest.get();
    assert_eq!(place(over + 0.0005), CarryingPlace::Rear);
    assert_eq!(place(over + 0.005), CarryingPlace::Roof);
}

/// Fuel that ends at nothing, give or take what sums round off, has not run out.
#[test]
fn what_sums_round_off_is_no_shortage() {
    let with = |start: f64| {
        plan(|trip| {
            trip["vehicle"]["unusable_l"] = json!(0);
            trip["rules"] = json!({ "start_l": start, "reserve": { "litres": 0, "km": 0 }, "contingency_percent": 0 });
            trip["start"]["fuel"] = json!({ "litres": 0 });
            trip["legs"][0]["distance_km"] = json!(300);
        })
    };
    let mut start = 30.0;
    for _ in 0..60 {
        start = with(start).legs[0].fuel.get();
    }
    let mut below = 0;
    for nth in -8..=8 {
        let plan = with(start + f64::from(nth) * 1e-14);
        let end = plan.legs[0].end;
        assert!(end.abs() < Litres::new(1e-9), "{end:?}");
        below += usize::from(end < Litres::ZERO);
        let runs_dry = has_finding(&plan, "reserve-runs-dry");
        assert!(!runs_dry && verdict::may_go(&plan), "{end:?}");
        let margin = margin::sentence(&plan, METRIC).unwrap();
        let begin = "Smallest margin: +0.0 L by the best estimate, ";
        assert!(margin.starts_with(begin), "{margin}");
    }
    assert!(below > 0);
}

/// A reserve that no full tank can give is named, and not shown as a want of cans.
#[test]
fn a_reserve_over_the_tank_is_named() {
    let with = |reserve: f64| {
        plan(|trip| {
            trip["vehicle"]["unusable_l"] = json!(2);
            trip["rules"] =
                json!({ "reserve": { "litres": reserve, "km": 0 }, "contingency_percent": 0 });
        })
    };
    assert!(!has_finding(&with(38.0), "reserve-over-tank"));
    let over = with(38.5);
    assert!(has_finding(&over, "reserve-over-tank") && !verdict::may_go(&over));
    let verdict = verdict::sentence(&over, METRIC);
    let begin = "NO-GO: fuel short. The reserve of 38.5 L is more than the 38.0 L of usable fuel ";
    assert!(verdict.starts_with(begin), "{verdict}");
}

/// Anyone who loses a can at the finish has arrived.
#[test]
fn no_can_is_lost_at_the_finish() {
    let plan = plan(|trip| {
        trip["load"]["cans"] =
            json!([{ "size_l": 20, "empty_kg": 4, "owned": 1, "places": ["cargo"] }]);
        trip["rules"] = json!({ "start_l": 40, "start_cans_l": 19 });
        trip["start"]["fuel"] = json!({ "litres": 0 });
        trip["legs"][0]["distance_km"] = json!(150);
        trip["legs"][0]["fuel"] = json!({});
    });
    let plan = Plan::at_target(plan.trip, EFFORT);
    assert!(plan.doubt.is_some() && !plan.in_cans.cans.is_empty());
    let lost = plan.dry().can_lost.as_ref().unwrap();
    assert!(lost.at_km < plan.totals.distance, "{lost:?}");
}

fn sample(name: &str) -> Value {
    let path = format!("{}/sample-routes/{name}.json", env!("CARGO_MANIFEST_DIR"));
    serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap()
}

/// What to leave with is never more than what the instructions put on board, as printed.
#[test]
fn no_instruction_is_to_leave_with_more_than_is_on_board() {
    let number = |text: &str, before: &str| -> Option<f64> {
        let (_, rest) = text.split_once(before)?;
        rest.split(' ').next()?.parse().ok()
    };
    let mut compared = 0;
    for name in [
        "plateau-loop",
        "dune-coast",
        "forest-weekend",
        "long-dry-stage",
    ] {
        for percent in [0, 10, 40] {
            let mut trip = sample(name);
            trip["rules"]["contingency_percent"] = json!(percent);
            let plan = Plan::at_target(check::read(trip).unwrap(), EFFORT);
            for stage in &plan.stages {
                let sentence = card::stage_sentence(stage, &plan, METRIC);
                let leave = number(&sentence, "leave with ").unwrap();
                let start = plan.legs[stage.from].start;
                let is_on_board = leave <= start.get() + 1e-6 || stage.required <= start;
                assert!(is_on_board, "{sentence} {start:?}");
                let mut stops = plan.stops.iter();
                let stop = stops.find(|stop| stop.place_number == stage.from);
                let fill = stop.map(|stop| card::fill_sentence(stop, &plan, METRIC));
                let Some(fill) = fill else { continue };
                let Some((before, _)) = fill.split_once(" L on board on departure") else {
                    continue;
                };
                let on_board: f64 = before.rsplit(' ').next().unwrap().parse().unwrap();
                compared += 1;
                assert!(leave <= on_board, "{name} {percent}: {sentence} {fill}");
            }
        }
    }
    assert!(compared > 8, "{compared}");
}

/// The smallest margin of a target plan is that which the target promises, wherever on the route it is: a plan for four
/// trips of five says what four of five have to spare, and a plan that goes has nothing less than the reserve.
#[test]
fn the_smallest_margin_is_that_of_the_target_plan() {
    let trip = sample("plateau-loop");
    for (target, of_hundred) in [(0.8, "80"), (0.95, "95"), (0.995, "99.5")] {
        let mut trip = trip.clone();
        trip["rules"]["success_target"] = target.into();
        let plan = Plan::at_target(check::read(trip).unwrap(), EFFORT);
        let bands = &plan.doubt.as_ref().unwrap().bands;
        let margins = plan.legs.iter().zip(bands);
        let margins = margins.map(|(leg, band)| (band.end_at_target - leg.fixed_reserve, leg));
        let least = margins.min_by(|a, b| a.0.get().total_cmp(&b.0.get()));
        let (least, leg) = least.unwrap();
        let is_short = matches!(plan.verdict(), Verdict::FuelShort(_));
        assert!(!is_short && least >= Litres::ZERO, "{target}: {least:?}");
        let sentence = margin::sentence(&plan, METRIC).unwrap();
        assert!(sentence.contains(&format!("(leg {})", leg.n)), "{sentence}");
        let shown = METRIC.fuel_tenths(least, Toward::Down);
        let begin = format!("Smallest margin: +{shown} in {of_hundred} % of trips, ");
        assert!(sentence.starts_with(&begin), "{sentence}");
    }
}
