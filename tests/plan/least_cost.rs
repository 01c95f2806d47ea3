//! The cheapest purchase against what else finds it: problems solved in print, a linear program, every choice of
//! detours tried; and what must hold of it on any trip.

use crate::kept;

use std::collections::HashMap;

use drystage::consumption::usage::Usage;
use drystage::model::check;
use drystage::plan::{Effort, Plan};
use drystage::quantity::{Litres, MoneyPerLitre, Share};
use drystage::solver::fuel::{FuelStopVisit, Problem};
use drystage::solver::least_cost::{Market, Purchase};
use good_lp::{
    Expression, ProblemVariables, Solution, SolverModel, Variable, constraint, microlp, variable,
};
use proptest::prelude::*;
use serde_json::{Value, json};

/// A leg that takes `empty` litres, and `growth` of each litre on board on top.
fn leg(empty: f64, growth: f64) -> Usage {
    let full = 100.0;
    Usage::between(
        Litres::new(empty),
        Litres::new(empty + growth * full),
        Litres::new(full),
    )
}

/// A trip with what fuel costs.
#[derive(Clone, Debug)]
struct Priced {
    problem: Problem,
    prices: Vec<MoneyPerLitre>,
    start: Litres,
}

impl Priced {
    fn least(&self) -> Option<Purchase> {
        let market = Market {
            problem: &self.problem,
            prices: &self.prices,
            start: self.start,
            cans_for_price: true,
        };
        market.least_cost()
    }
}

/// A pump with no end at every place but the last, legs that take as much full as empty, nothing aboard and nothing
/// held back.
fn gas_station(tank: f64, prices: &[f64], legs: &[f64]) -> Purchase {
    let fuel_stop = |number| FuelStopVisit {
        supply: None,
        number,
        detour: Usage::NONE,
    };
    let mut fuel_stops: Vec<Option<FuelStopVisit>> = (0..legs.len())
        .map(|place| Some(fuel_stop(place)))
        .collect();
    fuel_stops.push(None);
    let mut prices: Vec<MoneyPerLitre> = prices.iter().copied().map(MoneyPerLitre::new).collect();
    prices.push(MoneyPerLitre::new(0.0));
    let priced = Priced {
        problem: Problem {
            tank: Litres::new(tank),
            legs: legs.iter().map(|&litres| leg(litres, 0.0)).collect(),
            reserve: vec![Litres::ZERO; legs.len() + 1],
            extra: Share::ZERO,
            fuel_stops,
            cans: Vec::new(),
        },
        prices,
        start: Litres::ZERO,
    };
    priced.least().expect("no leg is longer than the tank")
}

/// The fixed-path gas station problem, three worked cases of it in print (Lin, Gertsch and Russell 2007; Khuller,
/// Malekian and Mestre 2007 give the problem its name); their costs hold against exhaustive search.
#[test]
fn gas_stations_on_a_fixed_path() {
    type Case<'a> = (f64, &'a [f64], &'a [f64], Option<&'a [f64]>, f64);
    let published: [Case; 3] = [
        (
            12.0,
            &[3.5, 3.7, 3.6, 3.0],
            &[6.0, 8.0, 4.0, 4.0],
            Some(&[12.0, 2.0, 4.0, 4.0]),
            75.8,
        ),
        (
            15.0,
            &[3.0, 1.0, 6.0, 2.0],
            &[1.0, 5.0, 2.0, 13.0],
            Some(&[1.0, 15.0, 0.0, 5.0]),
            28.0,
        ),
        (
            15.0,
            &[4.0, 5.0, 3.0, 6.0, 2.0, 1.0],
            &[7.0, 5.0, 9.0, 13.0, 12.0, 3.0],
            None,
            162.0,
        ),
    ];
    for (tank, prices, legs, buys, cost) in published {
        let purchase = gas_station(tank, prices, legs);
        assert!((purchase.cost.get() - cost).abs() < 1e-9, "{purchase:?}");
        assert!(purchase.proven);
        for (place, &litres) in buys.unwrap_or_default().iter().enumerate() {
            assert!(
                (purchase.bought[place].get() - litres).abs() < 1e-9,
                "{purchase:?}"
            );
        }
    }
}

/// By hand: nine tenths of what is aboard reach the next place. To be at the finish with nothing the second leg takes
/// 10/0.9 = 11.11 L at its start, which bought a leg earlier are 12.35 L; at 1.0 that is dearer than 11.11 L at 1.1, and
/// cheaper than at 1.2.
#[test]
fn what_carrying_burns_is_in_the_price() {
    let bought = |second: f64| {
        let mut purchase_of = gas(&[1.0, second]);
        purchase_of.start = Litres::ZERO;
        purchase_of.least().unwrap().bought[1].get()
    };
    assert!((bought(1.1) - 10.0 / 0.9).abs() < 1e-9);
    assert!(bought(1.2).abs() < 1e-9);
}

/// Legs that take 10 L and a tenth of what is aboard.
fn gas(prices: &[f64]) -> Priced {
    let growth = -(0.9_f64.ln());
    // Use is A + B f with B = 1 − e^−β = 0.1 and A = α B / β.
    let alpha = 10.0 * growth / 0.1;
    let n = prices.len();
    let mut fuel_stops: Vec<Option<FuelStopVisit>> = (0..n)
        .map(|number| {
            Some(FuelStopVisit {
                supply: None,
                number,
                detour: Usage::NONE,
            })
        })
        .collect();
    fuel_stops.push(None);
    Priced {
        problem: Problem {
            tank: Litres::new(100.0),
            legs: vec![leg(alpha, growth); n],
            reserve: vec![Litres::ZERO; n + 1],
            extra: Share::ZERO,
            fuel_stops,
            cans: Vec::new(),
        },
        prices: prices
            .iter()
            .chain([&0.0])
            .copied()
            .map(MoneyPerLitre::new)
            .collect(),
        start: Litres::ZERO,
    }
}

/// Random trips of up to seven legs: limited pumps, reserves, per cent, fuel aboard at the start, prices; pumps off the
/// route where `detours`, and one limited pump met twice where `met_again`.
fn trips(detours: bool, met_again: bool) -> impl Strategy<Value = Priced> {
    let place = (
        prop::bool::weighted(0.7),
        prop::option::weighted(0.5, 0.0..50.0_f64),
        0.5..3.0_f64,
        0.0..8.0_f64,
        prop::option::weighted(0.4, 0.1..6.0_f64),
    );
    (
        20.0..80.0,
        prop::collection::vec((0.0..30.0, 0.0..0.03), 1..8),
        prop_oneof![Just(0.0), 0.0..0.3],
        prop::collection::vec(place, 8),
        0.0..80.0_f64,
        (0_usize..8, 0_usize..8, 5.0..60.0_f64),
    )
        .prop_map(move |(tank, legs, extra, places, start, again)| {
            let n = legs.len();
            let fuel_stops = (0..=n).map(|place| {
                let (there, supply, _, _, detour) = places[place];
                let same = met_again && (place == again.0 % n || place == again.1 % n);
                (there || same).then(|| FuelStopVisit {
                    supply: if same { Some(again.2) } else { supply }.map(Litres::new),
                    number: if same { 0 } else { place + 1 },
                    detour: detour
                        .filter(|_| detours && !same)
                        .map_or(Usage::NONE, |litres| leg(litres, 0.002)),
                })
            });
            Priced {
                problem: Problem {
                    tank: Litres::new(tank),
                    fuel_stops: fuel_stops.collect(),
                    reserve: places[..=n]
                        .iter()
                        .map(|place| Litres::new(place.3))
                        .collect(),
                    legs: legs
                        .into_iter()
                        .map(|(empty, growth)| leg(empty, growth))
                        .collect(),
                    extra: Share::new(extra),
                    cans: Vec::new(),
                },
                prices: places[..=n]
                    .iter()
                    .map(|place| MoneyPerLitre::new(place.2))
                    .collect(),
                start: Litres::new(start.min(tank)),
            }
        })
}

/// The trip as a linear program, each of its pumps used: what is bought at each meeting, and the part of the supply
/// that is kept for it. On leaving each pump enough must be aboard to come through with the per cent on all that is
/// burnt, taking later what is kept for there.
fn by_linear_program(priced: &Priced) -> Option<f64> {
    let problem = &priced.problem;
    let (n, tank) = (problem.legs.len(), problem.tank.get());
    let mut variables = ProblemVariables::new();
    let mut at_each = || -> Vec<Option<Variable>> {
        (0..n)
            .map(|j| problem.fuel_stops[j].map(|_| variables.add(variable().min(0.0))))
            .collect()
    };
    let (bought, kept) = (at_each(), at_each());
    let mut constraints = Vec::new();
    for number in 0..problem.fuel_stop_numbers() {
        let met = (0..n)
            .filter(|&j| problem.fuel_stops[j].is_some_and(|fuel_stop| fuel_stop.number == number));
        if let Some(supply) = met.clone().find_map(|j| problem.fuel_stops[j]?.supply) {
            let all: Expression = met.filter_map(|j| kept[j]).sum();
            constraints.push(constraint!(all <= supply.get()));
        }
    }
    for j in 0..n {
        if let (Some(bought), Some(kept)) = (bought[j], kept[j]) {
            constraints.push(constraint!(bought <= kept));
        }
    }
    let after = |on_board: Expression, way: Usage, counts: f64| {
        (1.0 - counts * way.slope().get()) * on_board - counts * way.empty().get()
    };
    let counts = 1.0 + problem.extra.get();
    let mut on_board = Expression::from(priced.start.get());
    for j in 0..n {
        let detour = problem.fuel_stops[j].map_or(Usage::NONE, |fuel_stop| fuel_stop.detour);
        on_board = after(on_board, detour, 1.0);
        if let Some(bought) = bought[j] {
            constraints.push(constraint!(on_board.clone() >= 0.0));
            on_board += bought;
            constraints.push(constraint!(on_board.clone() <= tank));
        }
        if bought[j].is_some() || j == 0 {
            // From here on with the per cent, taking what is kept.
            let mut there = after(on_board.clone(), detour, counts);
            for k in j..n {
                there = after(there, problem.legs[k], counts);
                constraints.push(constraint!(there.clone() >= problem.reserve[k + 1].get()));
                let Some(Some(kept)) = kept.get(k + 1) else {
                    continue;
                };
                let detour =
                    problem.fuel_stops[k + 1].map_or(Usage::NONE, |fuel_stop| fuel_stop.detour);
                there = after(there, detour, counts);
                constraints.push(constraint!(there.clone() >= problem.reserve[k + 1].get()));
                let taken = variables.add(variable().min(0.0));
                constraints.push(constraint!(taken <= *kept));
                there += taken;
                constraints.push(constraint!(there.clone() <= tank));
                there = after(there, detour, counts);
            }
        }
        on_board = after(on_board, detour, 1.0);
        on_board = after(on_board, problem.legs[j], 1.0);
    }
    let cost: Expression = (0..n)
        .filter_map(|j| Some(bought[j]? * priced.prices[j].get()))
        .sum();
    let model = variables.minimise(cost.clone()).using(microlp);
    let solved = constraints
        .into_iter()
        .fold(model, SolverModel::with)
        .solve()
        .ok()?;
    Some(solved.eval(&cost))
}

/// The trip with the pumps off the route that `used` does not name left out.
fn using(priced: &Priced, used: u32) -> Priced {
    let mut fewer = priced.clone();
    let mut off_route = 0;
    for fuel_stop in &mut fewer.problem.fuel_stops {
        if fuel_stop.is_some_and(|fuel_stop| fuel_stop.detour != Usage::NONE) {
            if used >> off_route & 1 == 0 {
                *fuel_stop = None;
            }
            off_route += 1;
        }
    }
    fewer
}

fn off_route(priced: &Priced) -> usize {
    let n = priced.problem.legs.len();
    priced.problem.fuel_stops[..n]
        .iter()
        .flatten()
        .filter(|fuel_stop| fuel_stop.detour != Usage::NONE)
        .count()
}

fn same(least: Option<&Purchase>, program: Option<f64>) -> Result<(), TestCaseError> {
    match (least, program) {
        (None, None) => Ok(()),
        (Some(least), Some(program)) => {
            prop_assert!(
                (least.cost.get() - program).abs() < 1e-5,
                "{}, program {program}",
                least.cost.get()
            );
            Ok(())
        }
        (least, program) => {
            prop_assert!(false, "{least:?}, program {program:?}");
            Ok(())
        }
    }
}

proptest! {
    #![proptest_config(kept::cases("least_cost", 1_000))]

    #[test]
    fn a_linear_program_pays_the_same(priced in trips(false, false)) {
        let least = priced.least();
        same(least.as_ref(), by_linear_program(&priced))?;
        prop_assert!(least.is_none_or(|least| least.proven));
    }

    #[test]
    fn a_linear_program_shares_out_a_pump_met_twice_for_the_same(priced in trips(false, true)) {
        same(priced.least().as_ref(), by_linear_program(&priced))?;
    }
}

proptest! {
    #![proptest_config(kept::cases("least_cost", 300))]

    #[test]
    fn every_choice_of_detours_pays_no_less(priced in trips(true, false)) {
        let program = (0..1_u32 << off_route(&priced))
            .filter_map(|used| by_linear_program(&using(&priced, used)))
            .min_by(f64::total_cmp);
        let least = priced.least();
        same(least.as_ref(), program)?;
        prop_assert!(least.is_none_or(|least| least.proven));
    }
}

proptest! {
    #![proptest_config(kept::cases("least_cost", 1_000))]

    /// What is aboard follows from what is bought, stays between what is required and the tank, and no pump gives more
    /// than it has.
    #[test]
    fn fuel_is_conserved(priced in trips(true, true)) {
        let Some(least) = priced.least() else { return Ok(()) };
        let problem = &priced.problem;
        let mut on_board = priced.start;
        let mut taken = vec![Litres::ZERO; problem.fuel_stop_numbers()];
        let slack = Litres::new(1e-5);
        for (j, leg) in problem.legs.iter().enumerate() {
            if let Some(required) = least.need.at_fuel_stop[j] {
                let fuel_stop = problem.fuel_stops[j].unwrap();
                on_board -= fuel_stop.detour.litres(on_board);
                prop_assert!(on_board >= problem.reserve[j] - slack || j == 0);
                prop_assert!(least.bought[j] >= Litres::ZERO);
                taken[fuel_stop.number] += least.bought[j];
                prop_assert!(fuel_stop.supply.is_none_or(|supply| taken[fuel_stop.number] <= supply + slack));
                on_board += least.bought[j];
                prop_assert!(on_board >= required - slack && on_board <= problem.tank + slack);
                on_board -= fuel_stop.detour.litres(on_board);
            } else {
                prop_assert_eq!(least.bought[j], Litres::ZERO);
            }
            on_board -= leg.litres(on_board);
            prop_assert!(on_board >= problem.reserve[j + 1] - slack);
        }
    }

    /// A price that rises makes no trip cheaper, and all prices doubled double the cost.
    #[test]
    fn the_cost_rises_with_the_prices(priced in trips(true, false), which in 0_usize..8, more in 0.0..2.0_f64) {
        let Some(least) = priced.least() else { return Ok(()) };
        let mut dearer = priced.clone();
        let which = which % dearer.prices.len();
        dearer.prices[which] = MoneyPerLitre::new(dearer.prices[which].get() + more);
        let dearer = dearer.least().expect("the way is the same");
        prop_assert!(dearer.cost.get() >= least.cost.get() - 1e-6);
        let mut doubled = priced.clone();
        for price in &mut doubled.prices {
            *price = MoneyPerLitre::new(2.0 * price.get());
        }
        let doubled = doubled.least().expect("the way is the same");
        prop_assert!((doubled.cost.get() - 2.0 * least.cost.get()).abs() < 1e-6);
    }

    /// More to be had, a larger tank or more aboard at the start never costs more.
    #[test]
    fn more_room_or_supply_never_costs_more(priced in trips(true, false), more in 0.0..30.0_f64) {
        let Some(least) = priced.least() else { return Ok(()) };
        let mut richer = priced.clone();
        for fuel_stop in richer.problem.fuel_stops.iter_mut().flatten() {
            fuel_stop.supply = fuel_stop.supply.map(|supply| supply + Litres::new(more));
        }
        let mut larger = priced.clone();
        larger.problem.tank += Litres::new(more);
        for other in [richer, larger] {
            let other = other.least().expect("less did");
            prop_assert!(other.cost.get() <= least.cost.get() + 1e-6);
        }
    }
}

/// At the success target the purchase is cheaper too, the same cans do, and the samples that are driven by its instructions
/// go through as often as is asked for.
#[test]
fn what_is_sure_is_bought_for_least() {
    for text in [
        include_str!("../data/example-trip.json"),
        include_str!("../../sample-routes/plateau-loop.json"),
        include_str!("../../sample-routes/dune-coast.json"),
        include_str!("../../sample-routes/forest-weekend.json"),
    ] {
        let planned = |objective: &str| {
            let mut trip: Value = serde_json::from_str(text).unwrap();
            trip["rules"]["objective"] = json!(objective);
            trip["rules"]["success_target"] = json!(0.75);
            // Dearer from pump to pump; a pump that is met again keeps its price.
            let places = 0..=trip["legs"].as_array().unwrap().len();
            let mut prices = HashMap::new();
            for place in places {
                let (place, name) = match place {
                    0 => (&mut trip["start"], "name"),
                    _ => (&mut trip["legs"][place - 1], "to"),
                };
                let next = 1.5 + prices.len() as f64 / 4.0;
                let name = place[name].as_str().unwrap().to_owned();
                let price = *prices.entry(name).or_insert(next);
                if let Some(fuel) = place.get_mut("fuel") {
                    fuel["price_per_l"] = json!(price);
                }
            }
            Plan::at_target(check::read(trip).unwrap(), Effort::FIRST)
        };
        let (least, full) = (planned("least-cost"), planned("fewest-cans"));
        assert_eq!(least.in_cans.cans, full.in_cans.cans);
        let doubt = least.doubt.as_ref().unwrap();
        if full.in_cans.covers {
            assert!(least.totals.cost <= full.totals.cost);
            assert!(
                doubt.outcomes.finish_reserve_intact.share >= Share::new(0.75),
                "{:?}: {:?}",
                least.trip.name,
                doubt.outcomes
            );
        }
    }
}

/// A trip of so many places, a pump with its own price and perhaps an end at each.
fn long(places: usize) -> Priced {
    let at = |n: usize, step: usize| ((n * step) % 101) as f64 / 101.0;
    let fuel_stop = |n: usize| FuelStopVisit {
        supply: (n % 3 == 1).then(|| Litres::new(5.0 + 20.0 * at(n, 17))),
        number: n,
        detour: Usage::NONE,
    };
    Priced {
        problem: Problem {
            tank: Litres::new(60.0),
            legs: (0..places)
                .map(|n| leg(0.5 + 6.0 * at(n, 37), 0.002 * at(n, 29)))
                .collect(),
            reserve: vec![Litres::new(5.0); places + 1],
            extra: Share::new(0.1),
            fuel_stops: (0..=places).map(|n| Some(fuel_stop(n))).collect(),
            cans: Vec::new(),
        },
        prices: (0..=places)
            .map(|n| MoneyPerLitre::new(1.0 + at(n, 53)))
            .collect(),
        start: Litres::new(60.0),
    }
}

/// Twice the stops take no more than about twice the time, and a linear program takes far longer.
/// `cargo test --release --test plan least_cost -- --ignored --nocapture`
#[test]
#[ignore = "a matter of time, which a busy machine does not keep"]
fn many_stops() {
    let time = |work: &dyn Fn()| {
        let once = || {
            let begun = std::time::Instant::now();
            work();
            begun.elapsed().as_secs_f64()
        };
        (0..9).map(|_| once()).fold(f64::INFINITY, f64::min)
    };
    let least = |places: usize| {
        let priced = long(places);
        time(&|| assert!(priced.least().is_some_and(|least| least.proven)))
    };
    let times = [2_000, 4_000, 8_000, 16_000].map(least);
    println!("2,000, 4,000, 8,000, 16,000 stops: {times:.6?} s");
    assert!(times[3] < 12.0 * times[0], "{times:?}");
    let priced = long(60);
    let (ours, program) = (
        time(&|| assert!(priced.least().is_some())),
        time(&|| assert!(by_linear_program(&priced).is_some())),
    );
    println!("60 stops: {ours:.6} s, linear program {program:.6} s");
    assert!(program > 100.0 * ours);
}
