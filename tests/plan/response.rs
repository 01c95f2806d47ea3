//! A leg's record of responses against the full formula that it represents.

use drystage::consumption::leg::{Burden, Formula, LegFormula};
use drystage::consumption::response::P99;
use drystage::consumption::spread::Drawn;
use drystage::consumption::terrain;
use drystage::model::Trip;
use drystage::quantity::{Deviations, Kilograms, Litres, SquareMetres};
use drystage::solver::load;

const TRIPS: [&str; 5] = [
    include_str!("../data/example-trip.json"),
    include_str!("../../sample-routes/plateau-loop.json"),
    include_str!("../../sample-routes/dune-coast.json"),
    include_str!("../../sample-routes/forest-weekend.json"),
    include_str!("../../sample-routes/long-dry-stage.json"),
];

/// Every leg of every trip, with the most litres that can be on board.
fn legs() -> Vec<(String, LegFormula, Litres)> {
    let mut legs = Vec::new();
    for text in TRIPS {
        let trip: Trip = serde_json::from_str(text).expect("a trip that reads");
        let formula = Formula::from_vehicle(&trip.vehicle);
        for (leg, terrain) in trip.legs.iter().zip(terrain::along(&trip)) {
            let burden = load::burden(&trip, &[], 1);
            legs.push((
                leg.to.clone(),
                formula.leg(leg, &terrain, burden),
                trip.vehicle.usable_tank(),
            ));
        }
    }
    assert!(legs.len() > 20);
    legs
}

#[test]
fn answers_follow_the_full_formula_within_one_per_cent() {
    for (name, leg, full) in legs() {
        let response = leg.response(full);
        let driving = |leg: &LegFormula| (leg.litres_at(full / 2.0) - leg.idle_litres()).get();
        if driving(&leg) <= 0.0 {
            continue;
        }
        for drawn in Drawn::ALL {
            // The 1st, 5th, 16th, 31st, 50th, 69th, 84th, 95th and 99th percentile.
            for z in [
                -P99.get(),
                -1.645,
                -1.0,
                -0.5,
                0.0,
                0.5,
                1.0,
                1.645,
                P99.get(),
            ] {
                let z = Deviations::new(z);
                let exact = driving(&leg.drawn(drawn, z)) / driving(&leg);
                let kept = response.answer(drawn).factor(z).get();
                assert!(
                    (kept / exact - 1.0).abs() < 0.01,
                    "{name}, {drawn:?} at {z:?}: {kept} for {exact}"
                );
            }
        }
    }
}

#[test]
fn components_add_up_to_the_leg() {
    for (name, leg, full) in legs() {
        let parts = leg.response(full).components;
        let whole = leg.litres_at(full / 2.0);
        assert!((parts.total() - whole).abs() < Litres::new(1e-9), "{name}");
    }
}

/// The leg driven in many short steps, each with the mass that is then on board, against the closed form between
/// empty and full: the curvature in the litres on board is under a thousandth of a litre.
#[test]
fn a_leg_is_linear_in_the_litres_on_board() {
    for (name, leg, full) in legs() {
        let usage = leg.usage(full);
        for start in [full, full / 2.0] {
            let steps = 500;
            let mut left = start;
            for _ in 0..steps {
                let half = leg.litres_at(left) / f64::from(2 * steps);
                left -= leg.litres_at(left - half) / f64::from(steps);
            }
            let stepped = start - left;
            let closed = usage.litres(start);
            assert!(
                (stepped - closed).abs() < Litres::new(1e-3),
                "{name}: {stepped:?} for {closed:?}"
            );
        }
    }
}

/// Without hills more mass never burns less. (Downhill it may: weight pushes.)
#[test]
fn more_load_never_burns_less_on_the_level() {
    let mut trip: Trip = serde_json::from_str(TRIPS[0]).unwrap();
    for leg in &mut trip.legs {
        leg.ascent_m = None;
        leg.descent_m = None;
    }
    let formula = Formula::from_vehicle(&trip.vehicle);
    for (leg, terrain) in trip.legs.iter().zip(terrain::along(&trip)) {
        let litres: Vec<f64> = (0..40)
            .map(|step| {
                let burden = Burden {
                    dry_mass: Kilograms::new(1000.0 + 50.0 * f64::from(step)),
                    roof_drag: SquareMetres::new(0.1),
                };
                formula
                    .leg(leg, &terrain, burden)
                    .litres_at(Litres::ZERO)
                    .get()
            })
            .collect();
        assert!(litres.is_sorted(), "{}: {litres:?}", leg.to);
    }
}
