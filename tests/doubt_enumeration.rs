//! Odds with pumps that may be dry, against exact enumeration of what is dry.
//!
//! Two doubtful pumps on the way, 80 and 60 %, dry independently of each other: four cases, of 48, 12, 32 and 8 %. Seeds
//! are fixed; bounds are those of the binomial at one in a million (4.9 standard deviations).

#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use std::num::NonZeroUsize;

use drystage::consumption::usage::Usage;
use drystage::doubt::driven::{Instructions, Outcome, Passing};
use drystage::doubt::required::Homeward;
use drystage::doubt::study::{Drawn, MOST_BLOCKS};
use drystage::doubt::vehicle::VehicleDoubt;
use drystage::doubt::world::{Held, LegDoubt, Unknown, World};
use drystage::model::check;
use drystage::model::vocabulary::{BaseFrom, Surface};
use drystage::plan::{Effort, Plan};
use drystage::quantity::{Factor, Kilometres, Litres, Share};
use drystage::solver::drive::Conditions;
use drystage::solver::fuel::{Problem, Pump};
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

/// How a trip of three legs ends, worked out by hand: a full tank at the start, filled again at each pump that has fuel;
/// where the rules say so, from a dry pump on only with what the next leg takes and a tenth of it and the reserve, else
/// back to the start.
fn by_hand(legs: [f64; 3], reserve: f64, turns_back: bool, dry: [bool; 2]) -> Outcome {
    let (mut aboard, mut driven, mut kept) = (TANK, 0.0, true);
    for (leg, litres) in legs.into_iter().enumerate() {
        aboard -= litres;
        driven += litres;
        if aboard < 0.0 {
            return Outcome::Stranded;
        }
        kept &= aboard >= reserve;
        match dry.get(leg) {
            Some(false) => aboard = TANK,
            Some(true) if turns_back && aboard < legs[leg + 1] * (1.0 + EXTRA) + reserve => {
                return if aboard < driven {
                    Outcome::Stranded
                } else {
                    Outcome::TurnedBack
                };
            }
            _ => {}
        }
    }
    if kept {
        Outcome::Through
    } else {
        Outcome::OnReserve
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
            "fuel": "petrol", "engine_l": 1.8, "base_l_per_100km": 10, "base_from": "fills", "tank_l": TANK,
            "unusable_l": 0, "kerb_mass_kg": 1300, "gvm_kg": 2000
        },
        "load": { "crew": [{ "name": "driver", "mass_kg": 75 }] },
        "rules": { "reserve": { "litres": 5, "percent": EXTRA * 100.0 }, "confidence": 0.95 },
        "start": { "name": "start", "fuel": {} },
        "legs": legs
    })
}

/// Drives samples of which nothing is unknown but the pumps and some 2 % of the distances, and holds how they end to the
/// four cases.
fn compare(litres: [f64; 3], reserve: f64, turns_back: bool) {
    let plan = Plan::of(check::read(trip(litres)).unwrap());
    let full = Litres::new(TANK);
    let usages: Vec<Usage> = (1..=3).map(|leg| plan.formula(leg).usage(full)).collect();
    let doubts: Vec<LegDoubt> = (1..=3)
        .map(|leg| LegDoubt::of(&plan.formula(leg).response(full), Surface::Sealed, 1))
        .collect();
    let world = World {
        seed: 7,
        vehicle: VehicleDoubt::Prior(BaseFrom::Fills),
        legs: doubts.clone(),
        chances: [CHANCES[0], CHANCES[1], 1.0].map(Share::new).to_vec(),
        held: Held::all_but(Unknown::Distance),
        both_ways: if turns_back { MOST_BLOCKS } else { 0 },
    };
    let pump = |number| {
        Some(Pump {
            supply: None,
            number,
            detour: Usage::NONE,
        })
    };
    let relied_on = |number| pump(number).filter(|_| turns_back);
    let problem = Problem {
        tank: full,
        legs: usages,
        reserve: vec![Litres::new(reserve); 4],
        extra: Share::new(EXTRA),
        pumps: vec![pump(2), relied_on(0), relied_on(1), None],
        cans: Vec::new(),
    };
    let passed = |number| {
        (!turns_back).then_some(Passing {
            number,
            supply: None,
        })
    };
    let homeward = Homeward {
        back: (1..=3)
            .map(|leg| Some(plan.formula(leg).reversed(Factor::new(1.0)).usage(full)))
            .collect(),
        refuge: vec![true, false, false, false],
        wanted: vec![false, true, true, false],
    };
    let distances: Vec<Kilometres> = plan.legs.iter().map(|leg| leg.distance).collect();
    let told = Instructions {
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
        homeward: turns_back.then_some(&homeward),
        passing: &[None, passed(0), passed(1), None],
    };
    let effort = Effort {
        blocks: 256,
        threads: NonZeroUsize::MIN,
    };
    let drawn = Drawn::of(world.clone(), effort);
    let first = drawn.first_driven(told);
    let outcomes = drawn.outcomes(&first, told, effort.blocks);
    let samples = outcomes.samples() as f64;
    assert!(samples >= 65_536.0);
    for end in [
        Outcome::Through,
        Outcome::OnReserve,
        Outcome::TurnedBack,
        Outcome::Stranded,
    ] {
        let exact: f64 = CASES
            .into_iter()
            .filter(|&dry| by_hand(litres, reserve, turns_back, dry) == end)
            .map(odds_of)
            .sum();
        let counted = outcomes.odds(end).share.get();
        let bound = ONE_IN_A_MILLION * (exact * (1.0 - exact) / samples).sqrt();
        assert!(
            (counted - exact).abs() <= bound + 1e-12,
            "{litres:?}, turning back {turns_back}, {end:?}: {counted}, exactly {exact} within {bound}"
        );
    }
}

/// Litres of the legs and of the reserve such that every end comes about in some case, and each by a margin of many
/// times the 2 %.
const TRIPS: [([f64; 3], f64); 5] = [
    ([40.0, 40.0, 40.0], 5.0),
    ([30.0, 10.0, 75.0], 5.0),
    ([72.0, 40.0, 20.0], 5.0),
    ([25.0, 85.0, 30.0], 5.0),
    ([40.0, 30.0, 20.0], 20.0),
];

#[test]
fn carrying_past_ends_as_the_four_cases_say() {
    for (litres, reserve) in TRIPS {
        compare(litres, reserve, false);
    }
}

#[test]
fn turning_back_ends_as_the_four_cases_say() {
    for (litres, reserve) in TRIPS {
        compare(litres, reserve, true);
    }
}

/// The cases that are enumerated are worth it: under both rules together every end comes about.
#[test]
fn every_end_is_among_the_cases() {
    let ends = |turns_back: bool| {
        TRIPS.iter().flat_map(move |&(litres, reserve)| {
            CASES.map(|dry| by_hand(litres, reserve, turns_back, dry))
        })
    };
    let has = |turns_back: bool, end| ends(turns_back).any(|other| other == end);
    for end in [Outcome::Through, Outcome::OnReserve, Outcome::Stranded] {
        assert!(has(false, end), "{end:?}");
    }
    for end in [Outcome::Through, Outcome::TurnedBack, Outcome::Stranded] {
        assert!(has(true, end), "{end:?}");
    }
}

/// A whole plan with all its doubt: its odds are those of the four plans in which each pump surely has fuel or is not
/// there, weighed by how likely each is. All five draw the same for the legs, so only the pumps' own draws differ.
#[test]
fn a_plan_carrying_past_is_the_mean_of_its_four_cases() {
    let planned = |pumps: [Option<f64>; 2]| {
        let mut document = trip([45.0, 38.0, 42.0]);
        for (leg, chance) in pumps.into_iter().enumerate() {
            if let Some(chance) = chance {
                document["legs"][leg]["fuel"] = json!({ "chance": chance });
            }
        }
        let plan = Plan::at_confidence(check::read(document).unwrap(), Effort::FIRST);
        plan.doubt.clone().unwrap()
    };
    let all = planned(CHANCES.map(Some));
    let odds = |doubt: &drystage::plan::Doubt| {
        [doubt.through, doubt.on_reserve, doubt.stranded].map(|odds| odds.share.get())
    };
    let mut exact = [0.0; 3];
    for dry in CASES {
        let case = planned(dry.map(|dry| (!dry).then_some(1.0)));
        for (exact, share) in exact.iter_mut().zip(odds(&case)) {
            *exact += odds_of(dry) * share;
        }
    }
    let samples = all.samples as f64;
    for (counted, exact) in odds(&all).into_iter().zip(exact) {
        let bound = ONE_IN_A_MILLION * (exact * (1.0 - exact) / samples).sqrt();
        assert!(
            (counted - exact).abs() <= bound,
            "{counted}, exactly {exact} within {bound}"
        );
    }
    // Something of each is there to be counted.
    assert!(exact[0] > 0.4 && exact[2] > 0.02, "{exact:?}");
}
