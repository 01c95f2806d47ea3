//! What is said of chances: the samples against the exact recursion and run, against closed forms, and their laws.
//!
//! Seeds are fixed. Bounds of counted odds are those of the binomial at one in a million (4.9 standard deviations).

use crate::{EFFORT, kept, legal};

use std::num::NonZeroUsize;
use std::sync::Arc;

use drystage::model::Trip;
use drystage::plan::{Effort, Plan};
use drystage::present::verdict;
use drystage::quantity::Litres;
use serde_json::{Value, json};

/// Standard deviations of a normal that are passed once in a million, both ways together.
const ONE_IN_A_MILLION: f64 = 4.9;

/// On 2,048 samples.
/// A full tank is enough for 310 km; so much the fuel checks on the route may ask for on top.
const FOR_CHECKS: Litres = Litres::new(2.0);

fn planned(trip: Value) -> Plan {
    planned_with(trip, EFFORT)
}

fn planned_with(trip: Value, effort: Effort) -> Plan {
    let trip: Trip = serde_json::from_value(trip).unwrap();
    Plan::at_target(trip, effort)
}

/// One leg of sealed road by a vehicle with a small tank, cans of 5 L without end, and no reserve.
fn one_leg(km: f64) -> Value {
    json!({
        "drystage": 1,
        "vehicle": { "fuel": "petrol", "engine_l": 1.8, "baseline_l_per_100km": 9, "baseline_from": "label", "tank_l": 40,
                     "unusable_l": 0, "kerb_mass_kg": 1300 },
        "load": { "cans": [{ "size_l": 5, "empty_kg": 1, "owned": 0, "may_buy": 12, "places": ["rear"] }] },
        "rules": { "reserve": { "litres": 0, "km": 0 }, "contingency_percent": 0 },
        "start": { "name": "a", "fuel": {} },
        "legs": [{ "to": "b", "distance_km": km, "surface": "sealed" }]
    })
}

fn file(name: &str) -> Value {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(name);
    serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap()
}

fn with(mut trip: Value, pointer: &str, value: Value) -> Value {
    *trip.pointer_mut(pointer).unwrap() = value;
    trip
}

fn cans_by_target(plan: &Plan) -> Vec<Litres> {
    let doubt = plan.doubt.as_ref().unwrap();
    doubt
        .by_target
        .iter()
        .map(|(_, in_cans)| in_cans.litres)
        .collect()
}

/// More success target never needs fewer litres, whether it is read off one plan or asked for.
#[test]
fn more_confidence_never_needs_less() {
    for name in [
        "tests/data/example-trip.json",
        "sample-routes/plateau-loop.json",
    ] {
        for rule in ["skip", "turn-back"] {
            let trip = with(file(name), "/rules/unconfirmed_stops", json!(rule));
            let mut last = Litres::ZERO;
            for success_target in [0.5, 0.7, 0.8, 0.9, 0.95, 0.99] {
                let plan = planned(with(
                    trip.clone(),
                    "/rules/success_target",
                    json!(success_target),
                ));
                let needed = plan.doubt.as_ref().unwrap().in_cans.litres;
                // Another success target may ask for other cans, whose own mass moves the litres a little.
                assert!(
                    needed > last - Litres::new(0.5),
                    "{name} {rule} {success_target}: {needed:?} after {last:?}"
                );
                assert!(
                    cans_by_target(&plan).is_sorted_by(|a, b| a <= b),
                    "{name} {rule}"
                );
                last = needed;
            }
        }
    }
}

/// A baseline consumption that is trusted less never needs less at a high success target.
#[test]
fn more_doubt_never_needs_less() {
    let mut last = Litres::ZERO;
    for from in ["fills", "label", "guess"] {
        let plan = planned(with(
            file("tests/data/example-trip.json"),
            "/vehicle/baseline_from",
            json!(from),
        ));
        let needed = *cans_by_target(&plan).last().unwrap();
        assert!(needed > last, "{from}");
        last = needed;
    }
}

/// With one leg and one can after another to be had, the plan takes as many as the samples ask for, and of the samples
/// that are driven with them so many get through as was asked for, or a few more because cans are whole.
#[test]
fn the_cans_follow_the_confidence() {
    let mut cans = Vec::new();
    for success_target in [0.5, 0.8, 0.95, 0.99] {
        let mut trip = one_leg(480.0);
        trip["rules"]["success_target"] = json!(success_target);
        let plan = planned(trip);
        let doubt = plan.doubt.as_ref().unwrap();
        assert!(plan.in_cans.covers);
        assert!(doubt.in_cans.litres <= plan.in_cans.carried);
        let bound = ONE_IN_A_MILLION
            * (success_target * (1.0 - success_target) / doubt.samples as f64).sqrt();
        assert!(
            doubt.outcomes.finish_reserve_intact.share.get() > success_target - bound,
            "{success_target}: {:?}",
            doubt.outcomes
        );
        // With one can less it would not be enough.
        let one_less = plan.in_cans.carried - plan.in_cans.cans[0].fill;
        assert!(one_less < plan.in_cans.needed);
        cans.push(plan.in_cans.cans[0].count);
    }
    assert!(cans.is_sorted() && cans[0] < cans[3], "{cans:?}");
}

/// The answer is the same on any number of threads, and another with another seed.
#[test]
fn equal_seeds_agree_on_any_number_of_threads() {
    let trip = file("sample-routes/plateau-loop.json");
    let report = |trip: &Value, threads: usize| {
        let effort = Effort {
            blocks: 12,
            threads: NonZeroUsize::new(threads).unwrap(),
        };
        let plan = planned_with(trip.clone(), effort);
        drystage::report::json::report(drystage::report::Case::as_stated(&plan))
    };
    let one = report(&trip, 1);
    assert_eq!(one, report(&trip, 2));
    assert_eq!(one, report(&trip, 5));
    let mut other = trip;
    other["rules"]["seed"] = json!(2);
    assert_ne!(one, report(&other, 1));
}

proptest::proptest! {
    #![proptest_config(kept::cases("doubt", 24))]

    /// Whatever a legal trip holds, the odds of all ends are one, every figure is finite and in order, and what is laid
    /// out at the success target never carries less than what it says is needed without saying so.
    #[test]
    fn any_legal_trip_can_be_studied(document in legal::documents()) {
        let trip: Trip = serde_json::from_value(document).unwrap();
        let trip = Arc::new(trip);
        let effort = Effort { blocks: 2, threads: NonZeroUsize::MIN };
        let plan = Plan::at_target(Arc::clone(&trip), effort);
        let doubt = plan.doubt.as_ref().unwrap();
        for outcomes in [doubt.outcomes, doubt.outcomes_without_luck] {
            let sum: f64 = outcomes.ends().iter().map(|odds| odds.share.get()).sum();
            proptest::prop_assert!((sum - 1.0).abs() < 1e-9);
        }
        proptest::prop_assert!(cans_by_target(&plan).is_sorted_by(|a, b| a <= b));
        for (_, in_cans) in &doubt.by_target {
            proptest::prop_assert!(in_cans.litres.get().is_finite() && in_cans.error.get().is_finite());
        }
        for band in &doubt.bands {
            for end in [band.start, band.end] {
                proptest::prop_assert!(end.low <= end.middle && end.middle <= end.high);
                proptest::prop_assert!(end.low >= Litres::ZERO && end.high.get().is_finite());
            }
        }
        for driver in doubt.drivers() {
            proptest::prop_assert!(driver.of_variance.is_none_or(|share| (0.0..=1.0).contains(&share.get())));
        }
    }
}

/// Two legs of 300 km on a tank of 40 L, which does for the first and not for both; fuel between them with a chance.
fn fuel_between(chance: f64, rely: &str) -> Value {
    let mut trip = one_leg(300.0);
    trip["legs"][0]["fuel"] = json!({ "chance": chance, "rely": rely });
    let back = json!({ "to": "c", "distance_km": 300, "surface": "sealed" });
    trip["legs"].as_array_mut().unwrap().push(back);
    trip
}

fn codes(plan: &Plan) -> Vec<&'static str> {
    let findings = plan.findings.iter();
    findings.map(drystage::plan::Finding::code).collect()
}

/// A stop that is surer than the target is relied on, one that is never to be relied on costs the cans that pass it,
/// and the more so however sure it is.
#[test]
fn a_stop_that_is_never_to_be_relied_on_is_passed() {
    let [auto, never] = ["auto", "never"].map(|rely| planned(fuel_between(0.999, rely)));
    assert!(auto.stops[1].counted && auto.in_cans.needed < FOR_CHECKS);
    assert!(!never.stops[1].counted && never.in_cans.needed > Litres::ZERO);
    let without = planned(fuel_between(0.0, "auto"));
    assert_eq!(never.in_cans.needed, without.in_cans.needed);
    assert!(!codes(&never).contains(&"stop-not-relied-on"));
}

/// A stop that is always to be relied on is, whatever its chance; that chance is counted, so that the target is missed
/// where it is less, and no cans are asked for that could not make up for it.
#[test]
fn a_stop_that_is_always_to_be_relied_on_counts_with_its_chance() {
    for (chance, may_go) in [(0.3, false), (0.75, false), (0.94, false), (0.96, true)] {
        let plan = planned(fuel_between(chance, "always"));
        assert!(plan.stops[1].counted, "{chance}");
        // Cans would not make up for a stop without fuel that is relied on.
        assert!(
            may_go || plan.in_cans.needed < FOR_CHECKS,
            "{:?}",
            plan.in_cans
        );
        assert_eq!(codes(&plan).contains(&"target-missed"), !may_go, "{chance}");
        assert_eq!(verdict::may_go(&plan), may_go, "{chance}");
        let doubt = plan.doubt.as_ref().unwrap();
        let through = doubt.outcomes.finish_reserve_intact.share.get();
        let bound = ONE_IN_A_MILLION * (chance * (1.0 - chance) / doubt.samples as f64).sqrt();
        let least = if may_go { 0.95 } else { 0.95 * chance };
        assert!(through >= least - bound, "{chance} {through}");
        assert!(through <= chance + bound + 0.03, "{chance} {through}");
        // What no number of cans reaches is not shown.
        let targets = doubt.by_target.iter().map(|(share, _)| share.get());
        assert!(targets.clone().all(|share| share <= chance), "{chance}");
        assert_eq!(targets.count() < 5, chance < 0.99, "{chance}");
    }
    let none = planned(fuel_between(0.0, "always"));
    assert!(!none.stops[1].counted && !codes(&none).contains(&"target-missed"));
}

/// Where one turns back from a stop without fuel, its chance is not that of the trip; where that cannot be, it is.
#[test]
fn a_stop_to_turn_back_from_does_not_miss_the_target() {
    for possible in [true, false] {
        let mut trip = fuel_between(0.75, "always");
        trip["rules"]["unconfirmed_stops"] = json!("turn-back");
        trip["legs"][0]["distance_km"] = json!(150);
        trip["legs"][1]["distance_km"] = json!(310);
        trip["legs"][0]["return"] = json!({ "possible": possible });
        let plan = planned(trip);
        assert!(plan.stops[1].counted, "{possible}");
        assert_eq!(codes(&plan).contains(&"target-missed"), !possible);
    }
}

/// Who can do without the fuel of a stop needs none to turn back from it: though the trip says to rely on it, the plan
/// does not, needs no more than without the stop, and says why.
#[test]
fn a_stop_from_which_it_takes_more_to_turn_back_is_not_relied_on() {
    let mut trip = fuel_between(0.75, "always");
    trip["rules"]["unconfirmed_stops"] = json!("turn-back");
    trip["legs"][0]["distance_km"] = json!(400);
    trip["legs"][1]["distance_km"] = json!(20);
    let plan = planned(trip.clone());
    trip["legs"][0]["fuel"]["chance"] = json!(0);
    let without = planned(trip);
    assert!(!plan.stops[1].counted);
    assert!((plan.in_cans.needed - without.in_cans.needed).abs() < Litres::new(1e-9));
    assert!(
        codes(&plan).contains(&"stop-not-relied-on"),
        "{:?}",
        codes(&plan)
    );
}

/// A chance that equals the target leaves no trip that may fail for another reason, so the stop is not relied on, and
/// the plan says why; a chance well over it is relied on.
#[test]
fn a_stop_as_sure_as_the_target_is_not_relied_on_and_reported() {
    let plan = planned(fuel_between(0.95, "auto"));
    assert!(codes(&plan).contains(&"stop-not-relied-on") != plan.stops[1].counted);
    let tight = |chance: f64| {
        let mut trip = fuel_between(chance, "auto");
        // A tank that does for the longer leg in most trips and not in all.
        trip["legs"][1]["distance_km"] = json!(385);
        trip["legs"][0]["distance_km"] = json!(20);
        planned(trip)
    };
    let (equal, sure) = (tight(0.95), tight(0.9999));
    assert!(!equal.stops[1].counted && codes(&equal).contains(&"stop-not-relied-on"));
    assert!(sure.stops[1].counted && !codes(&sure).contains(&"stop-not-relied-on"));
}
