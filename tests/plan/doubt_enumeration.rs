//! Odds with fuel stops that may be dry, against exact enumeration of what is dry.
//!
//! Two unconfirmed stops on the route, 80 and 60 %, dry independently of each other: four cases, of 48, 12, 32 and 8 %.
//! Seeds are fixed; bounds are those of the binomial at one in a million (4.9 standard deviations).

use std::num::NonZeroUsize;
use std::sync::Arc;

use drystage::consumption::usage::Usage;
use drystage::doubt::checks::{CheckRoute, FuelChecks, Obeyed};
use drystage::doubt::driven::{Dryness, Instructions, Luck, Passing};
use drystage::doubt::study::{AtStops, Drawn};
use drystage::doubt::vehicle::VehicleDoubt;
use drystage::doubt::world::{Held, LegDoubt, Unknown, World};
use drystage::model::check;
use drystage::model::vocabulary::{BaselineFrom, Surface};
use drystage::plan::{Effort, Plan};
use drystage::quantity::{Factor, Kilometres, Litres, Share};
use drystage::solver::drive::Conditions;
use drystage::solver::fuel::{FuelStopVisit, Problem};
use serde_json::{Value, json};

const ONE_IN_A_MILLION: f64 = 4.9;
const CHANCES: [f64; 2] = [0.8, 0.6];
/// Litres in a full tank.
const TANK: f64 = 100.0;
/// Share on top of all use that the instructions ask for.
const EXTRA: f64 = 0.1;

/// How likely it is that so and so much is dry.
fn odds_of(dry: [bool; 2]) -> f64 {
    dry.iter()
        .zip(CHANCES)
        .map(|(&dry, chance)| if dry { 1.0 - chance } else { chance })
        .product()
}

const CASES: [[bool; 2]; 4] = [[false, false], [true, false], [false, true], [true, true]];

/// What drivers do about fuel stops that may be dry.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Drivers {
    /// They rely on none, fill the tank where there is fuel, and check nothing.
    Skip,
    /// They rely on each and obey the check on arrival: with no fuel there, continue with what leads to the next stop,
    /// else return with what leads to the start with the reserve, else do what runs out less.
    ObeyChecks,
}

/// How a trip of three legs ends, worked out by hand: a full tank at the start, filled again at each stop that has
/// fuel.
fn by_hand(legs: [f64; 3], reserve: f64, drivers: Drivers, dry: [bool; 2]) -> Obeyed {
    let (mut on_board, mut driven, mut kept) = (TANK, 0.0, true);
    for (leg, litres) in legs.into_iter().enumerate() {
        on_board -= litres;
        driven += litres;
        if on_board < 0.0 {
            return Obeyed::RanOut;
        }
        kept &= on_board >= reserve;
        match dry.get(leg) {
            Some(false) => on_board = TANK,
            Some(true) if drivers == Drivers::ObeyChecks && on_board < legs[leg + 1] => {
                return if on_board < driven {
                    Obeyed::RanOut
                } else if kept && on_board >= driven + reserve {
                    Obeyed::TurnedBackIntact
                } else {
                    Obeyed::TurnedBackUsing
                };
            }
            _ => {}
        }
    }
    if kept {
        Obeyed::FinishIntact
    } else {
        Obeyed::FinishUsing
    }
}

/// 10 L for each 100 km of level sealed road, 1 % more with a full tank and as much less with an empty one.
fn trip(legs: [f64; 3]) -> Value {
    let names = ["one", "two", "finish"];
    let legs: Vec<Value> = names
        .iter()
        .zip(legs)
        .map(|(to, litres)| json!({ "to": to, "distance_km": litres * 10.0, "surface": "sealed" }))
        .collect();
    json!({
        "drystage": 1,
        "vehicle": {
            "fuel": "petrol", "engine_l": 1.8, "baseline_l_per_100km": 10, "baseline_from": "fills", "tank_l": TANK,
            "unusable_l": 0, "kerb_mass_kg": 1300, "gvm_kg": 2000
        },
        "load": { "people": [{ "name": "driver", "mass_kg": 75 }] },
        "rules": { "reserve": { "litres": 5 }, "contingency_percent": EXTRA * 100.0, "success_target": 0.95 },
        "start": { "name": "start", "fuel": {} },
        "legs": legs
    })
}

/// Drives samples of which nothing is unknown but the fuel stops and some 2 % of the distances, and holds how they end
/// to the four cases.
fn compare(litres: [f64; 3], reserve: f64, drivers: Drivers) {
    let relies = drivers == Drivers::ObeyChecks;
    let plan = Plan::best_estimate(check::read(trip(litres)).unwrap());
    let full = Litres::new(TANK);
    let usages: Vec<Usage> = (1..=3).map(|leg| plan.formula(leg).usage(full)).collect();
    let doubts: Vec<LegDoubt> = (1..=3)
        .map(|leg| LegDoubt::new(&plan.formula(leg).response(full), Surface::Sealed, 1))
        .collect();
    let world = World {
        seed: 7,
        vehicle: VehicleDoubt::Prior(BaselineFrom::Fills),
        legs: doubts.clone(),
        chances: [CHANCES[0], CHANCES[1], 1.0].map(Share::new).to_vec(),
        held: Held::all_but(Unknown::Distance),
        reading: Litres::ZERO,
    };
    let fuel_stop = |number| {
        Some(FuelStopVisit {
            supply: None,
            number,
            detour: Usage::NONE,
        })
    };
    let relied_on = |number| fuel_stop(number).filter(|_| relies);
    let problem = Problem {
        tank: full,
        legs: usages,
        reserve: vec![Litres::new(reserve); 4],
        extra: Share::new(EXTRA),
        fuel_stops: vec![fuel_stop(2), relied_on(0), relied_on(1), None],
        cans: Vec::new(),
    };
    let passed = |number| {
        (!relies).then_some(Passing {
            number,
            supply: None,
        })
    };
    let route = CheckRoute {
        by_gauge: Vec::new(),
        gauge: Litres::ZERO,
        points: if relies {
            vec![(0, Share::new(1.0)), (1, Share::new(1.0))]
        } else {
            Vec::new()
        },
        from: 0,
        full,
        at_start: full,
        back: (1..=3)
            .map(|leg| Some(plan.formula(leg).reversed(Factor::new(1.0)).usage(full)))
            .collect(),
        refuge: vec![true, false, false, false],
        to_fuel: vec![Usage::NONE; 4],
        aside: None,
    };
    let distances: Vec<Kilometres> = plan.legs.iter().map(|leg| leg.distance).collect();
    let instructions = Instructions {
        problem: &problem,
        need: &problem.need(),
        conditions: Conditions {
            start_tank: full,
            start_cans: Litres::ZERO,
            cans: &[],
            distances: &distances,
            rough: &[false; 3],
            driven: 0,
        },
        legs: &doubts,
        passing: &[None, passed(0), passed(1), None],
        dryness: Dryness::AsDrawn,
        luck: Luck::Counted,
    };
    let effort = Effort {
        blocks: 256,
        threads: NonZeroUsize::MIN,
    };
    let drawn = Drawn::new(world.clone(), effort);
    let checks = FuelChecks::fitted(
        &drawn,
        (instructions.problem, instructions.need),
        route,
        effort.blocks,
    );
    let first = drawn.first_driven(instructions, &Arc::new(checks), None);
    let outcomes = drawn.outcomes((&first, AtStops::AsDrawn), instructions, effort.blocks);
    let trips = outcomes.trips() as f64;
    assert!(trips >= 65_536.0);
    for end in Obeyed::ALL {
        let exact: f64 = CASES
            .into_iter()
            .filter(|&dry| by_hand(litres, reserve, drivers, dry) == end)
            .map(odds_of)
            .sum();
        let counted = outcomes.odds(end).share.get();
        let bound = ONE_IN_A_MILLION * (exact * (1.0 - exact) / trips).sqrt();
        assert!(
            (counted - exact).abs() <= bound + 1e-12,
            "{litres:?}, {drivers:?}, {end:?}: {counted}, exactly {exact} within {bound}"
        );
    }
}

/// Litres of the legs and of the reserve such that every end comes about in some case, and each by a margin of many
/// times the 2 %.
const TRIPS: [([f64; 3], f64); 6] = [
    ([40.0, 40.0, 40.0], 5.0),
    ([30.0, 10.0, 75.0], 5.0),
    ([72.0, 40.0, 20.0], 5.0),
    ([25.0, 85.0, 30.0], 5.0),
    ([40.0, 30.0, 20.0], 20.0),
    ([44.0, 66.0, 8.0], 20.0),
];

#[test]
fn carrying_past_ends_as_the_four_cases_say() {
    for (litres, reserve) in TRIPS {
        compare(litres, reserve, Drivers::Skip);
    }
}

#[test]
fn obeying_checks_ends_as_the_four_cases_say() {
    for (litres, reserve) in TRIPS {
        compare(litres, reserve, Drivers::ObeyChecks);
    }
}

/// The cases that are enumerated are worth it: every end comes about among them.
#[test]
fn every_end_is_among_the_cases() {
    let has = |drivers: Drivers, end| {
        let mut ends = TRIPS
            .iter()
            .flat_map(|&(litres, reserve)| CASES.map(|dry| by_hand(litres, reserve, drivers, dry)));
        ends.any(|other| other == end)
    };
    for end in Obeyed::ALL {
        assert!(has(Drivers::ObeyChecks, end), "{end:?}");
    }
    for end in [Obeyed::FinishIntact, Obeyed::FinishUsing, Obeyed::RanOut] {
        assert!(has(Drivers::Skip, end), "{end:?}");
    }
}

/// A whole plan with all its uncertainty: its odds are those of the four plans in which each stop has fuel nearly
/// surely or not at all, weighed by how likely each is. None is relied on, so all five have the same instructions and
/// draw the same for the legs; only what is dry differs.
#[test]
fn a_plan_carrying_past_is_the_mean_of_its_four_cases() {
    /// Below the target, so that not even this is relied on.
    const NEARLY: f64 = 0.998;
    let planned = |chances: [f64; 2]| {
        let mut document = trip([34.0, 25.0, 28.0]);
        document["rules"]["success_target"] = json!(0.999);
        for (leg, chance) in chances.into_iter().enumerate() {
            document["legs"][leg]["fuel"] = json!({ "chance": chance });
        }
        let plan = Plan::at_target(check::read(document).unwrap(), Effort::FIRST);
        plan.doubt.clone().unwrap()
    };
    let all = planned(CHANCES);
    let odds = |doubt: &drystage::plan::Doubt| doubt.outcomes.ends().map(|odds| odds.share.get());
    let mut exact = [0.0; 5];
    for dry in CASES {
        let case = planned(dry.map(|dry| if dry { 0.0 } else { NEARLY }));
        assert_eq!(case.outcomes_without_luck, all.outcomes_without_luck);
        for (exact, share) in exact.iter_mut().zip(odds(&case)) {
            *exact += odds_of(dry) * share;
        }
    }
    let samples = all.samples as f64;
    for (counted, exact) in odds(&all).into_iter().zip(exact) {
        let bound = ONE_IN_A_MILLION * (exact * (1.0 - exact) / samples).sqrt();
        assert!(
            (counted - exact).abs() <= bound + 2.0 * (1.0 - NEARLY),
            "{counted}, exactly {exact} within {bound}"
        );
    }
    // Something of each way to end is there to be counted.
    assert!(exact[0] > 0.4 && exact[2] + exact[3] > 0.02, "{exact:?}");
}
