//! What to learn first, against driving it: the way's litres drawn over all that it may find, the vehicle fitted to
//! each, and the trip planned with that.

use drystage::calibrate::{Factors, foreseen};
use drystage::model::Trip;
use drystage::model::calibration::Calibration;
use drystage::model::fills::Conditions;
use drystage::model::vocabulary::{Surface, UnitSystem};
use drystage::plan::learn::Kind;
use drystage::plan::{Effort, Plan};
use drystage::present::learn;
use drystage::present::number::Units;
use drystage::quantity::{Kilograms, Kilometres, Share};

fn dunes() -> Trip {
    let text = include_str!("../../sample-routes/dune-coast.json");
    let mut trip: Trip = serde_json::from_str(text).unwrap();
    let vehicle = &mut trip.vehicle;
    vehicle.calibration = Some(Factors::prior(vehicle).saved(vehicle.baseline_l_per_100km));
    trip
}

/// Middles of nine parts of a standard normal that are equally likely.
const MIDDLES: [f64; 9] = [
    -1.593_2, -0.967_4, -0.589_5, -0.282_2, 0.0, 0.282_2, 0.589_5, 0.967_4, 1.593_2,
];

/// Sand teaches most on a coast of dunes, and what it is reported to do to the fuel in cans fuel is what it does on the
/// mean.
#[test]
fn what_sand_teaches_is_as_announced() {
    let trip = dunes();
    let plan = Plan::at_target(trip.clone(), Effort::FIRST);
    let lesson = plan.lessons()[0];
    assert_eq!(
        (lesson.kind, lesson.distance),
        (Kind::Sand, Kilometres::new(60.0))
    );
    let [before, after] = lesson.in_cans;
    assert!((before - after).get() > 2.0, "{lesson:?}");
    // What is left out is said where the figure is.
    let sentences = learn::sentences(&plan, Units(UnitSystem::Metric));
    assert!(
        sentences[0].contains("60 km brim to brim on sand"),
        "{sentences:?}"
    );
    assert!(
        sentences.last().unwrap().contains("is not counted"),
        "{sentences:?}"
    );

    let known = Factors::calibrated(&trip.vehicle);
    let conditions = Conditions {
        surface: Surface::Earth,
        sand: Share::new(1.0),
        load: Kilograms::new(200.0),
        ..Conditions::default()
    };
    let likely = foreseen(&trip.vehicle, &known, lesson.distance, &conditions);
    let spread = known.spread_of(&likely);
    let mut in_cans = 0.0;
    for z in MIDDLES {
        let mut found = likely;
        found.litres += spread * z;
        let mut trip = trip.clone();
        let factors = known.with(&[found]);
        // One way says nothing of how far ways stray.
        trip.vehicle.calibration = Some(Calibration {
            residual_share: known.residual(),
            tank_share: Some(Share::ZERO),
            ..factors.saved(trip.vehicle.baseline_l_per_100km)
        });
        let plan = Plan::at_target(trip, Effort::FIRST);
        in_cans += plan.doubt.as_ref().unwrap().in_cans.litres.get();
    }
    let mean = in_cans / MIDDLES.len() as f64;
    assert!(
        (mean - after.get()).abs() < 1.5,
        "told {after:?}, found {mean}"
    );
    assert!(mean < before.get() - 2.0, "{mean} of {before:?}");
}
