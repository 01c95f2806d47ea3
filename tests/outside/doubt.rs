//! Monte Carlo against the same model written in vectorised numpy: equal quantiles within sampling error, and the speed
//! of both side by side.
//!
//! Needs `python3` with `numpy` on the path; `.ci/run` sets them up. `tests/peers.sh` prints the speeds of a release build.

use std::io::Write as _;
use std::num::NonZeroUsize;
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::time::{Duration, Instant};

use drystage::consumption::leg::Formula;
use drystage::consumption::response::Response;
use drystage::consumption::spread::{self, Drawn as Input};
use drystage::consumption::terrain;
use drystage::consumption::usage::Usage;
use drystage::doubt::BLOCK;
use drystage::doubt::study::{Drawn, Effort, Policy};
use drystage::doubt::vehicle::VehicleDoubt;
use drystage::doubt::world::{Held, LegDoubt, World};
use drystage::model::Trip;
use drystage::model::route::Leg;
use drystage::model::vocabulary::UnitSystem;
use drystage::plan::Plan;
use drystage::present::number::Units;
use drystage::quantity::{Kilometres, Litres, Share};
use drystage::report::{Case, text};
use drystage::solver::fuel::{FuelStopVisit, Problem};
use drystage::solver::load;
use serde_json::{Value, json};

const BLOCKS: usize = 391;
const QUANTILES: [f64; 5] = [0.5, 0.8, 0.9, 0.95, 0.99];

/// Forty legs over every ground, made of the legs of the samples, with a pump every fifth place.
fn forty_legs() -> (Trip, Vec<Response>) {
    let mut trip: Trip = serde_json::from_str(include_str!("../data/example-trip.json")).unwrap();
    let legs = trip.legs.clone();
    trip.legs = (0..40)
        .map(|n| {
            let mut leg = legs[n % legs.len()].clone();
            leg.day = Some(1 + u32::try_from(n / 3).unwrap());
            leg
        })
        .collect();
    let formula = Formula::of(&trip.vehicle);
    let burden = load::burden(&trip, &[], 1);
    let full = trip.vehicle.usable_tank();
    let responses = trip
        .legs
        .iter()
        .zip(terrain::of(&trip))
        .map(|(leg, terrain)| formula.leg(leg, &terrain, burden).response(full))
        .collect();
    (trip, responses)
}

fn policy(trip: &Trip, responses: &[Response]) -> Policy {
    let fuel_stop = |place: usize| {
        place.is_multiple_of(5).then_some(FuelStopVisit {
            supply: None,
            number: place,
            detour: Usage::NONE,
        })
    };
    let problem = Problem {
        tank: trip.vehicle.usable_tank(),
        legs: responses.iter().map(|response| response.usage).collect(),
        reserve: vec![Litres::new(6.0); responses.len() + 1],
        extra: Share::ZERO,
        fuel_stops: (0..=responses.len()).map(fuel_stop).collect(),
        cans: Vec::new(),
    };
    Policy {
        need: problem.need(),
        problem,
        homeward: None,
        checks: None,
    }
}

/// What numpy is given.
fn described(trip: &Trip, responses: &[Response], policy: &Policy) -> Value {
    let days = trip.days();
    let legs: Vec<Value> = trip
        .legs
        .iter()
        .zip(responses)
        .zip(days)
        .map(|((leg, response), day)| {
            let curves: serde_json::Map<String, Value> = Input::ALL
                .into_iter()
                .map(|input| {
                    let answer = response.answer(input);
                    let [middle, b1, b2, a1, a2] = answer.terms();
                    let curve = json!([middle, [b1, b2], [a1, a2]]);
                    let curve = if answer.is_flat() { Value::Null } else { curve };
                    (format!("{input:?}"), curve)
                })
                .collect();
            let parts = response.components;
            let driving = parts.total() - parts.idle;
            json!({
                "day": day,
                "surface": leg.surface().word(),
                "distance": spread::distance(leg.surface()),
                "curves": curves,
                "low_range_part": parts.low_range / driving,
                "driving": response.usage.at_empty() - parts.idle,
                "idle": parts.idle,
                "growth": response.usage.growth(),
            })
        })
        .collect();
    json!({
        "legs": legs,
        "samples": BLOCKS * BLOCK,
        "runs": if cfg!(debug_assertions) { 1 } else { 7 },
        "quantiles": QUANTILES,
        "baseline_spread": spread::baseline_spread(trip.vehicle.baseline_from()),
        "day_spread": spread::DAY_SPREAD,
        "tank": policy.problem.tank,
        "reserve": policy.problem.reserve,
        "pumps": policy.problem.fuel_stops.iter().map(Option::is_some).collect::<Vec<bool>>(),
    })
}

fn by_numpy(trip: &Value) -> Value {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/monte_carlo.py");
    let mut python = Command::new("python3")
        // One thread, as here.
        .envs(["OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"].map(|name| (name, "1")))
        .arg(script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("python3 is on the path");
    python
        .stdin
        .take()
        .unwrap()
        .write_all(trip.to_string().as_bytes())
        .unwrap();
    let output = python.wait_with_output().unwrap();
    assert!(output.status.success());
    serde_json::from_slice(&output.stdout).expect("the script prints JSON")
}

/// How long plans and reports take, by the seconds of the same simulation in numpy: machines differ by more than a factor
/// of two.
#[test]
#[ignore = "measures time: wants a release build and a quiet machine"]
fn plans_and_reports_by_the_time_of_numpy() {
    let (trip, responses) = forty_legs();
    let policy = policy(&trip, &responses);
    let numpy = by_numpy(&described(&trip, &responses, &policy))["seconds"]
        .as_f64()
        .unwrap();
    let row = |what: &str, times: u32, work: &dyn Fn()| {
        let fastest = (0..times).map(|_| {
            let begun = Instant::now();
            work();
            begun.elapsed()
        });
        let fastest = fastest.min().unwrap();
        let ratio = fastest.as_secs_f64() / numpy;
        println!("| {what} | {fastest:.1?} | numpy | {numpy:.3} s | {ratio:.2} of it |");
    };
    let of = |legs: usize| {
        let of_example = |nth: usize| Leg {
            to: format!("Place {nth}"),
            day: None,
            fuel: (nth % 5 == 4).then(Default::default),
            distance_km: Some(Kilometres::new(50.0)),
            ..trip.legs[nth % 6].clone()
        };
        Arc::new(Trip {
            legs: (0..legs).map(of_example).collect(),
            ..trip.clone()
        })
    };
    let (short, long) = (of(40), of(1_000));
    row("plan of 40 legs, 8,192 trips, all cores", 20, &|| {
        Plan::at_target(Arc::clone(&short), Effort::FIRST.on_all_threads());
    });
    for (what, trip, times) in [
        ("text report of 40 legs", &short, 5),
        ("text report of 1,000 legs", &long, 2),
    ] {
        row(what, times, &|| {
            let plan = Plan::at_target(Arc::clone(trip), Effort::refined());
            let case = Case {
                plan: &plan,
                what_ifs: &[],
                set: &[],
            };
            text::report(case, Units(UnitSystem::Metric));
        });
    }
}

#[test]
fn numpy_finds_the_same_spare_litres() {
    let (trip, responses) = forty_legs();
    let policy = policy(&trip, &responses);
    let theirs = by_numpy(&described(&trip, &responses, &policy));

    let world = World {
        seed: 1,
        vehicle: VehicleDoubt::Prior(trip.vehicle.baseline_from()),
        legs: responses
            .iter()
            .zip(&trip.legs)
            .zip(trip.days())
            .map(|((response, leg), day)| LegDoubt::of(response, leg.surface(), day))
            .collect(),
        chances: vec![Share::new(1.0); responses.len() + 1],
        held: Held::default(),
        reading: Litres::ZERO,
    };
    let effort = Effort {
        blocks: BLOCKS,
        threads: NonZeroUsize::MIN,
    };
    let mut fastest = Duration::MAX;
    let mut in_cans = None;
    for _ in 0..if cfg!(debug_assertions) { 1 } else { 7 } {
        let begun = Instant::now();
        let sorted = Drawn::of(world.clone(), effort)
            .in_cans(std::slice::from_ref(&policy))
            .remove(0);
        fastest = fastest.min(begun.elapsed());
        in_cans = Some(sorted);
    }
    let in_cans = in_cans.unwrap();
    for (share, theirs) in QUANTILES
        .iter()
        .zip(theirs["quantiles"].as_array().unwrap())
    {
        let ours = in_cans.quantile_with_error(Share::new(*share));
        // Both have a sampling error; once in a million they are further apart.
        let bound = 4.9 * 2.0_f64.sqrt() * ours.error.get();
        let apart = (ours.litres.get() - theirs.as_f64().unwrap()).abs();
        assert!(apart < bound, "{share}: {ours:?}, numpy {theirs}");
    }
    let legs_drawn = (responses.len() * BLOCKS * BLOCK) as f64;
    let (ours, numpy) = (fastest.as_secs_f64(), theirs["seconds"].as_f64().unwrap());
    println!(
        "| {} samples of 40 legs: {:.1} million legs a second | {:.1?} | numpy, one thread | {:.1?} | {:.2} |",
        BLOCKS * BLOCK,
        legs_drawn / ours / 1e6,
        fastest,
        Duration::from_secs_f64(numpy),
        numpy / ours,
    );
}

/// How much of the time goes into the bare generator: as many normals as a trip of forty such legs draws.
#[test]
fn the_bare_generator_is_timed_too() {
    use rand::SeedableRng;
    use rand_distr::{Distribution, StandardNormal};
    let mut generator = rand_xoshiro::Xoshiro256PlusPlus::seed_from_u64(1);
    let (begun, drawn) = (
        Instant::now(),
        40 * BLOCK * if cfg!(debug_assertions) { 4 } else { 400 },
    );
    let sum: f64 = (0..drawn)
        .map(|_| -> f64 { StandardNormal.sample(&mut generator) })
        .sum();
    let seconds = begun.elapsed().as_secs_f64();
    assert!((sum / drawn as f64).abs() < 5.0 / (drawn as f64).sqrt());
    println!(
        "{:.1} million normals a second",
        drawn as f64 / seconds / 1e6
    );
}
