//! The recursion of the fuel problem against what else finds its answer: driving forward with more and more
//! in cans, a linear program, and problems that were solved in print.

use crate::kept;
use crate::linear_program;

use drystage::consumption::usage::Usage;
use drystage::quantity::{Litres, Share};
use drystage::solver::fuel::{FuelStopVisit, Problem};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

/// A leg that takes `empty` litres, and `growth` of each litre on board on top.
fn leg(empty: f64, growth: f64) -> Usage {
    let full = 100.0;
    Usage::between(
        Litres::new(empty),
        Litres::new(empty + growth * full),
        Litres::new(full),
    )
}

/// Random fuel problems of up to seven legs, no detours. Each fuel stop is met once, or two of them again and again.
fn problems(met_again: bool) -> impl Strategy<Value = Problem> {
    let legs = prop::collection::vec((0.0..40.0, 0.0..0.01), 1..8);
    let fuel_stop = prop::option::weighted(
        0.5,
        (0_usize..5, prop::option::weighted(0.7, 0.0..60.0_f64)),
    );
    let supplies = prop::array::uniform2(prop::option::weighted(0.7, 0.0..60.0_f64));
    (
        10.0..80.0,
        legs,
        0.0..0.3,
        prop::collection::vec((0.0..12.0, fuel_stop), 8),
        supplies,
    )
        .prop_map(move |(tank, legs, extra, places, supplies)| {
            let n = legs.len();
            let fuel_stops = (0..=n).map(|place| {
                let (number, supply) = places.get(place)?.1.filter(|_| place > 0)?;
                let (number, supply) = match supplies.get(number).filter(|_| met_again) {
                    Some(&supply) => (number, supply),
                    None => (2 + place, supply),
                };
                Some(FuelStopVisit {
                    supply: supply.map(Litres::new),
                    number,
                    detour: Usage::NONE,
                })
            });
            Problem {
                tank: Litres::new(tank),
                fuel_stops: fuel_stops.collect(),
                reserve: (0..=n)
                    .map(|place| Litres::new(places.get(place).map_or(5.0, |place| place.0)))
                    .collect(),
                legs: legs
                    .into_iter()
                    .map(|(empty, growth)| leg(empty, growth))
                    .collect(),
                extra: Share::new(extra),
                cans: Vec::new(),
            }
        })
}

/// Whether the trip goes through when no more than `most` litres are ever on board: start full, take all that
/// each fuel stop has and there is room for.
fn goes_through(problem: &Problem, most: f64) -> bool {
    let mut on_board = most;
    for (j, leg) in problem.legs.iter().enumerate() {
        if let Some(fuel_stop) = problem.fuel_stops[j].filter(|_| j > 0) {
            let supply = fuel_stop.supply.map_or(f64::INFINITY, Litres::get);
            on_board = most.min(on_board + supply);
        }
        on_board -= (1.0 + problem.extra.get()) * leg.litres(Litres::new(on_board)).get();
        if on_board < problem.reserve[j + 1].get() - 1e-9 {
            return false;
        }
    }
    true
}

/// The least spare fuel by bisection over trips driven forward.
fn in_cans_by_driving(problem: &Problem) -> f64 {
    let tank = problem.tank.get();
    if goes_through(problem, tank) {
        return 0.0;
    }
    let (mut short, mut enough) = (tank, 10_000.0);
    for _ in 0..80 {
        let middle = f64::midpoint(short, enough);
        if goes_through(problem, middle) {
            enough = middle;
        } else {
            short = middle;
        }
    }
    enough - tank
}

proptest! {
    #![proptest_config(kept::cases("optimum", 8_000))]

    /// Taking all one can is never worse, so a trip driven greedily decides whether so much spare is enough.
    #[test]
    fn driving_forward_finds_the_same_fuel_in_cans(problem in problems(false)) {
        let (recursion, driven) = (problem.need().in_cans.get(), in_cans_by_driving(&problem));
        prop_assert!((recursion - driven).abs() < 1e-6, "{recursion}, driven {driven}");
    }
}

proptest! {
    #![proptest_config(kept::cases("optimum", 1_000))]

    #[test]
    fn a_linear_program_finds_the_same_fuel_in_cans(problem in problems(false)) {
        let (recursion, program) = (problem.need().in_cans.get(), linear_program::in_cans(&problem));
        prop_assert!((recursion - program).abs() < 1e-5, "{recursion}, program {program}");
    }
}

proptest! {
    #![proptest_config(kept::cases("optimum", 2_000))]

    /// More fuel to be had can only help.
    #[test]
    fn adding_supply_never_raises_the_fuel_in_cans(problem in problems(false), more in 0.0..40.0_f64) {
        let mut richer = problem.clone();
        for fuel_stop in richer.fuel_stops.iter_mut().flatten() {
            fuel_stop.supply = fuel_stop.supply.map(|supply| supply + Litres::new(more));
        }
        prop_assert!(richer.need().in_cans <= problem.need().in_cans + Litres::new(1e-9));
    }

    /// Cutting a leg in two at a place where nothing is held back and nothing sold changes nothing. With a per
    /// cent on all use the pieces are not quite the leg, because what is held back is carried and not burnt:
    /// an effect of the second order, under a third of a per cent even for the thirsty legs tried here.
    #[test]
    fn cutting_a_leg_in_two_changes_nothing(problem in problems(true), at in 0.0..1.0_f64, which in 0_usize..7) {
        let which = which % problem.legs.len();
        for (extra, tolerance) in [(Share::ZERO, 1e-9), (problem.extra, 3e-3)] {
            let whole = Problem { extra, ..problem.clone() };
            let mut cut = whole.clone();
            let leg = cut.legs[which];
            cut.legs.splice(which..=which, [leg.part(Share::new(at)), leg.part(Share::new(1.0 - at))]);
            cut.reserve.insert(which + 1, Litres::ZERO);
            cut.fuel_stops.insert(which + 1, None);
            // Below the reserve of the start it does not matter how a supply is shared out.
            let at_start = |problem: &Problem| problem.need().departure[0].max(problem.reserve[0]);
            let (before, after) = (at_start(&whole), at_start(&cut));
            // Of all that is burnt: what a fuel stop on the route gives is taken off what must be on board before it.
            let burnt: Litres = whole.legs.iter().map(|leg| leg.empty()).sum();
            prop_assert!((before - after).abs() <= (before + burnt) * tolerance, "{before:?}, {after:?}");
        }
    }
}

/// One supply is shared out among the meetings with its fuel stop as well as a linear program does it, and never asks
/// for less. With two fuel stops that are met again the search rests short of the best now and then (in one of 40,000
/// of these problems when tried), and then asks for more.
#[test]
fn a_fuel_stop_met_again_is_shared_out() {
    let mut runner = TestRunner::default();
    let mut short_of_the_best = Vec::new();
    for _ in 0..1_000 {
        let problem = problems(true).new_tree(&mut runner).unwrap().current();
        let more = problem.need().in_cans.get() - linear_program::in_cans(&problem);
        assert!(more > -1e-4, "{more} for {problem:?}");
        if more > 1e-4 {
            short_of_the_best.push((more, problem));
        }
    }
    assert!(short_of_the_best.len() <= 2, "{short_of_the_best:#?}");
}

/// The jeep problem (Fine 1947, Gale 1970) with one load and no depots: one way as far as a load goes, and out
/// and back half as far. A planner that lays no depots can do no better.
#[test]
fn one_load_goes_as_far_as_a_load_goes() {
    let in_cans = |legs: &[f64]| {
        let problem = Problem {
            tank: Litres::new(1.0),
            legs: legs.iter().map(|&loads| leg(loads, 0.0)).collect(),
            reserve: vec![Litres::ZERO; legs.len() + 1],
            extra: Share::ZERO,
            fuel_stops: vec![None; legs.len() + 1],
            cans: Vec::new(),
        };
        problem.need().in_cans
    };
    assert_eq!(in_cans(&[1.0]), Litres::ZERO);
    assert_eq!(in_cans(&[0.5, 0.5]), Litres::ZERO);
    assert!(in_cans(&[1.01]) > Litres::ZERO);
    assert!(in_cans(&[0.51, 0.51]) > Litres::ZERO);
}

/// A percentage held back on all use divides what can be planned on, it is not subtracted: of 455 L with 15 %
/// there are 395.65 L to plan on (a commercial pilots' text).
#[test]
fn a_percentage_divides() {
    let problem = Problem {
        tank: Litres::new(455.0),
        legs: vec![leg(455.0 / 1.15, 0.0)],
        reserve: vec![Litres::ZERO; 2],
        extra: Share::new(0.15),
        fuel_stops: vec![None; 2],
        cans: Vec::new(),
    };
    assert!((problem.need().departure[0] - Litres::new(455.0)).abs() < Litres::new(1e-9));
    assert!((problem.legs[0].empty() - Litres::new(395.65)).abs() < Litres::new(0.005));
}

/// To and fro between two limited fuel stops, as from a base camp: never less than must be, also where the search for
/// the best shares is cut short, which is said.
#[test]
fn to_and_fro_between_limited_fuel_stops_needs_no_less_than_it_must() {
    for legs in [8, 16, 40, 400] {
        let takes = |leg: usize| 9.0 + 4.0 * ((leg * 7) % 5) as f64;
        let all: f64 = (0..legs).map(takes).sum();
        let fuel_stops = (0..=legs).map(|place| {
            (place > 0).then(|| FuelStopVisit {
                supply: Some(Litres::new(all * if place % 2 == 0 { 0.42 } else { 0.5 })),
                number: place % 2,
                detour: Usage::NONE,
            })
        });
        let problem = Problem {
            tank: Litres::new(30.0),
            fuel_stops: fuel_stops.collect(),
            reserve: vec![Litres::new(5.0); legs + 1],
            legs: (0..legs).map(|at| leg(takes(at), 0.002)).collect(),
            extra: Share::new(0.1),
            cans: Vec::new(),
        };
        let need = problem.need();
        if legs <= 8 || legs > 100 {
            assert_eq!(need.sharing_cut, legs > 100, "{legs} legs");
        }
        if legs <= 100 {
            let (in_cans, program) = (need.in_cans.get(), linear_program::in_cans(&problem));
            assert!(
                in_cans > program - 1e-5,
                "{legs} legs: {in_cans}, program {program}"
            );
        }
    }
}
