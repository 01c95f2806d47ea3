//! What is said of chances: the samples against the exact recursion and run, against closed forms, and their laws.
//!
//! Seeds are fixed. Bounds of counted odds are those of the binomial at one in a million (4.9 standard deviations).

#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

mod legal;

use std::num::NonZeroUsize;
use std::sync::Arc;

use drystage::model::Trip;
use drystage::plan::{Effort, Plan};
use drystage::quantity::Litres;
use serde_json::{Value, json};

/// Standard deviations of a normal that are passed once in a million, both ways together.
const ONE_IN_A_MILLION: f64 = 4.9;

/// On 2,048 samples.
fn planned(trip: Value) -> Plan {
    let effort = Effort {
        blocks: 8,
        threads: NonZeroUsize::MIN,
    };
    planned_with(trip, effort)
}

fn planned_with(trip: Value, effort: Effort) -> Plan {
    let trip: Trip = serde_json::from_value(trip).unwrap();
    Plan::at_confidence(trip, effort)
}

/// One leg of sealed road by a vehicle with a small tank, cans of 5 L without end, and no reserve.
fn one_leg(km: f64) -> Value {
    json!({
        "drystage": 1,
        "vehicle": { "fuel": "petrol", "engine_l": 1.8, "base_l_per_100km": 9, "base_from": "label", "tank_l": 40,
                     "unusable_l": 0, "kerb_mass_kg": 1300 },
        "load": { "cans": [{ "size_l": 5, "empty_kg": 1, "owned": 0, "may_buy": 12, "places": ["rear"] }] },
        "rules": { "reserve": { "litres": 0, "km": 0, "percent": 0 } },
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

fn spare_by_confidence(plan: &Plan) -> Vec<Litres> {
    let doubt = plan.doubt.as_ref().unwrap();
    doubt
        .by_confidence
        .iter()
        .map(|(_, spare)| spare.litres)
        .collect()
}

/// More confidence never needs fewer litres, whether it is read off one plan or asked for.
#[test]
fn more_confidence_never_needs_less() {
    for name in [
        "tests/data/example-trip.json",
        "sample-routes/plateau-loop.json",
    ] {
        for rule in ["carry-past", "turn-back"] {
            let trip = with(file(name), "/rules/doubtful_stops", json!(rule));
            let mut last = Litres::ZERO;
            for confidence in [0.5, 0.7, 0.8, 0.9, 0.95, 0.99] {
                let plan = planned(with(trip.clone(), "/rules/confidence", json!(confidence)));
                let needed = plan.doubt.as_ref().unwrap().spare.litres;
                // Another confidence may ask for other cans, whose own mass moves the litres a little.
                assert!(
                    needed > last - Litres::new(0.5),
                    "{name} {rule} {confidence}: {needed:?} after {last:?}"
                );
                assert!(
                    spare_by_confidence(&plan).is_sorted_by(|a, b| a <= b),
                    "{name} {rule}"
                );
                last = needed;
            }
        }
    }
}

/// A base figure that is trusted less never needs less at a high confidence.
#[test]
fn more_doubt_never_needs_less() {
    let mut last = Litres::ZERO;
    for from in ["fills", "label", "guess"] {
        let plan = planned(with(
            file("tests/data/example-trip.json"),
            "/vehicle/base_from",
            json!(from),
        ));
        let needed = *spare_by_confidence(&plan).last().unwrap();
        assert!(needed > last, "{from}");
        last = needed;
    }
}

/// With one leg and one can after another to be had, the plan takes as many as the samples ask for, and of the samples
/// that are driven with them so many get through as was asked for, or a few more because cans are whole.
#[test]
fn the_cans_follow_the_confidence() {
    let mut cans = Vec::new();
    for confidence in [0.5, 0.8, 0.95, 0.99] {
        let mut trip = one_leg(480.0);
        trip["rules"]["confidence"] = json!(confidence);
        let plan = planned(trip);
        let doubt = plan.doubt.as_ref().unwrap();
        assert!(plan.spare.covers);
        assert!(doubt.spare.litres <= plan.spare.carried);
        let bound =
            ONE_IN_A_MILLION * (confidence * (1.0 - confidence) / doubt.samples as f64).sqrt();
        assert!(
            doubt.through.share.get() > confidence - bound,
            "{confidence}: {:?}",
            doubt.through
        );
        // With one can less it would not be enough.
        let one_less = plan.spare.carried - plan.spare.cans[0].fill;
        assert!(one_less < plan.spare.needed);
        cans.push(plan.spare.cans[0].count);
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
    #![proptest_config(proptest::test_runner::Config {
        cases: 24,
        failure_persistence: Some(Box::new(proptest::test_runner::FileFailurePersistence::Direct(
            "tests/regressions/doubt.txt",
        ))),
        ..Default::default()
    })]

    /// Whatever a legal trip holds, the odds of all ends are one, every figure is finite and in order, and what is laid
    /// out at the confidence never carries less than what it says is needed without saying so.
    #[test]
    fn any_legal_trip_can_be_studied(document in legal::documents()) {
        let trip: Trip = serde_json::from_value(document).unwrap();
        let trip = Arc::new(trip);
        let effort = Effort { blocks: 2, threads: NonZeroUsize::MIN };
        let plan = Plan::at_confidence(Arc::clone(&trip), effort);
        let doubt = plan.doubt.as_ref().unwrap();
        let ends = [doubt.through, doubt.on_reserve, doubt.turned_back, doubt.stranded];
        let sum: f64 = ends.iter().map(|odds| odds.share.get()).sum();
        proptest::prop_assert!((sum - 1.0).abs() < 1e-9);
        proptest::prop_assert!(spare_by_confidence(&plan).is_sorted_by(|a, b| a <= b));
        for (_, spare) in &doubt.by_confidence {
            proptest::prop_assert!(spare.litres.get().is_finite() && spare.error.get().is_finite());
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
