//! Laws of the regression, and logs that were simulated from known factors. With no prior the regression is ordinary
//! least squares: the certified values of the NIST Statistical Reference Datasets, linear regression (computed there
//! with 500 digits). Where each set was taken from is beside it.

use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use serde_json::json;

use super::*;
use crate::consumption::spread::P95;
use crate::model::fills::{Conditions, Fill};
use crate::model::vocabulary::Surface;
use crate::quantity::Kilograms;

type Rng = Xoshiro256PlusPlus;

fn normal(rng: &mut Rng) -> f64 {
    StandardNormal.sample(rng)
}

fn vehicle() -> Vehicle {
    serde_json::from_value(json!({
        "fuel": "petrol", "engine_l": 1.5, "baseline_l_per_100km": 8, "baseline_from": "label", "tank_l": 45, "kerb_mass_kg": 1100
    }))
    .unwrap()
}

/// What is known as text, so that a miss shows it.
fn near(a: &Factors, b: &Factors, by: f64) {
    for at in 0..COMPONENTS {
        assert!((a.mean[at] - b.mean[at]).abs() < by, "{a:?}\n{b:?}");
        for other in 0..COMPONENTS {
            let off = a.covariance[at][other] - b.covariance[at][other];
            assert!(off.abs() < by, "{a:?}\n{b:?}");
        }
    }
}

/// A log of ways of many kinds, with what each took if `truth` holds and each strays by `residual`.
fn log(rng: &mut Rng, truth: [f64; COMPONENTS], residual: f64, ways: usize) -> Vec<Observed> {
    let spread = 0.7;
    (0..ways)
        .map(|_| {
            let share = |rng: &mut Rng, most: f64| (normal(rng).abs() * most / 2.0).min(most);
            let (base, rest) = (25.0 + 5.0 * normal(rng).abs(), [9.0, 5.0, 3.0, 2.0]);
            let mut components = [base; COMPONENTS];
            for (component, most) in components[1..].iter_mut().zip(rest) {
                *component = share(rng, most);
            }
            let mean: f64 = components.iter().zip(truth).map(|(a, b)| a * b).sum();
            let litres = mean * (1.0 + residual * normal(rng)) + spread * normal(rng);
            Observed {
                components: components.map(Litres::new),
                litres: Litres::new(litres),
                spread: Litres::new(spread),
                days: None,
            }
        })
        .collect()
}

#[test]
fn nothing_observed_changes_nothing() {
    let prior = Factors::prior(&vehicle());
    near(&prior.with(&[]), &prior, 1e-9);
    assert_eq!(prior.with(&[]).residual(), prior.residual());
}

/// Whole logs in two batches come to what they come to at once, but for the residual: that is weighed by how many ways
/// it is worth, and not by each way again.
#[test]
fn two_batches_come_to_the_same() {
    let prior = Factors::prior(&vehicle());
    for seed in 0..20 {
        let mut rng = Rng::seed_from_u64(700 + seed);
        let ways = log(&mut rng, [1.1, 1.2, 0.9, 1.1, 1.0], 0.06, 24);
        let at_once = prior.with(&ways);
        let in_two = prior.with(&ways[..12]).with(&ways[12..]);
        for component in Component::ALL {
            let spread = at_once.spread(component);
            let off = (at_once.value(component) - in_two.value(component)).abs() / spread;
            assert!(off < 0.3, "{component:?} of {seed}: {off}");
            let ratio = in_two.spread(component) / spread;
            assert!(
                (ratio - 1.0).abs() < 0.15,
                "{component:?} of {seed}: {ratio}"
            );
        }
        let ratio = in_two.residual() / at_once.residual();
        assert!((ratio - 1.0).abs() < 0.2, "{seed}: {ratio}");
    }
}

/// By hand, one coefficient: prior 1 ± 0.2, one equation 2 b = 3 ± 1. Precision 25 + 4, mean (25 + 6) / 29.
#[test]
fn a_prior_and_one_row_by_hand() {
    let row = |x: f64, y: f64| Equation { x: vec![x], y };
    let found = posterior(&[row(1.0 / 0.2, 1.0 / 0.2), row(2.0, 3.0)]).unwrap();
    assert!((found.mean[0] - 31.0 / 29.0).abs() < 1e-12);
    assert!((found.covariance[(0, 0)] - 1.0 / 29.0).abs() < 1e-12);
}

/// What is saved and read again knows the same.
#[test]
fn fitted_factors_are_the_next_prior() {
    let mut rng = Rng::seed_from_u64(6);
    let known =
        Factors::prior(&vehicle()).with(&log(&mut rng, [1.1, 1.2, 0.9, 1.0, 1.0], 0.06, 20));
    near(&known.with(&[]), &known, 1e-9);
}

/// Too few rows without a prior determine nothing.
#[test]
fn what_is_not_determined_is_not_reported() {
    let row = |x: [f64; 2]| Equation {
        x: x.to_vec(),
        y: 1.0,
    };
    assert!(posterior(&[row([1.0, 2.0])]).is_none());
    assert!(posterior(&[row([1.0, 2.0]), row([2.0, 4.0])]).is_none());
}

/// Over 400 simulated logs of 14 ways, factors drawn from the prior: the stated 90 % intervals hold the truth nearly
/// nine times in ten, and so do the bands of a way to come.
#[test]
fn intervals_cover_what_they_say() {
    let prior = Factors::prior(&vehicle());
    let (mut held, mut predicted) = ([0.0; COMPONENTS], 0.0);
    let logs = 400;
    for seed in 0..logs {
        let mut rng = Rng::seed_from_u64(1000 + seed);
        let truth = std::array::from_fn(|at| {
            (1.0 + prior.covariance[at][at].sqrt() * normal(&mut rng)).max(0.1)
        });
        let ways = log(&mut rng, truth, 0.06, 15);
        let known = prior.with(&ways[1..]);
        for component in Component::ALL {
            let off = known.value(component).get() - truth[component as usize];
            held[component as usize] += f64::from(u8::from(
                off.abs() <= P95.get() * known.spread(component).get(),
            ));
        }
        let off = ways[0].litres - known.predict(&ways[0].components);
        let inside = off.abs() <= known.spread_of(&ways[0]) * P95.get();
        predicted += f64::from(u8::from(inside));
    }
    let names = Component::ALL.map(Component::key);
    for (what, count) in names
        .into_iter()
        .zip(held)
        .chain([("a way to come", predicted)])
    {
        assert_nominal(what, count, f64::from(u32::try_from(logs).unwrap()));
    }
}

/// That something that should happen nine times in ten happened so often, within 3.29 standard errors of the binomial
/// distribution: a right coverage fails once in a thousand.
fn assert_nominal(what: &str, count: f64, of: f64) {
    println!(
        "{what}: {:.1} % of {of} inside the 90 % interval",
        100.0 * count / of
    );
    let error = (0.9 * 0.1 / of).sqrt();
    let share = count / of;
    assert!(
        (share - 0.9).abs() <= 3.29 * error,
        "{what}: {share} of {of}"
    );
}

/// Whole logs of fills, partial ones among them, with odometer, ground and load, made by the formula from known
/// factors: the stated intervals of what was fitted hold the truth as often as they promise, and so do the bands of
/// ways left out.
#[test]
fn simulated_fills_give_their_factors_back() {
    let vehicle = vehicle();
    let prior = Factors::prior(&vehicle);
    let logged = [Component::Base, Component::Sand, Component::LowRange];
    let (logs, mut held, mut inside, mut ways) = (300, [0.0; 3], 0.0, 0.0);
    for seed in 0..logs {
        let mut rng = Rng::seed_from_u64(5000 + seed);
        let truth: [f64; COMPONENTS] = std::array::from_fn(|at| {
            (1.0 + prior.covariance[at][at].sqrt() * normal(&mut rng)).clamp(0.6, 1.5)
        });
        let fills = simulated(&vehicle, truth, &mut rng);
        let fit = FillCalibration::from_fills(&vehicle, &fills, &(0..100).collect::<Vec<u64>>());
        for (held, component) in held.iter_mut().zip(logged) {
            let off = fit.factors.value(component).get() - truth[component as usize];
            let spread = P95.get() * fit.factors.spread(component).get();
            *held += f64::from(u8::from(off.abs() <= spread));
        }
        inside += fit.inside() as f64;
        ways += fit.intervals.len() as f64;
    }
    for (component, count) in logged.into_iter().zip(held) {
        let of = f64::from(u32::try_from(logs).unwrap());
        assert_nominal(component.key(), count, of);
    }
    println!(
        "each way by all the others: {:.1} % of {ways} inside the 90 % band",
        100.0 * inside / ways
    );
    // The ways of one log share its factors, so their errors are not independent; the share is held to 3 in 100.
    assert!((inside / ways - 0.9).abs() < 0.03, "{}", inside / ways);
}

/// A year of fills: road, and some soft ground; every fifth fill is a partial one.
fn simulated(vehicle: &Vehicle, truth: [f64; COMPONENTS], rng: &mut Rng) -> Vec<Fill> {
    let (mut odometer, mut owed) = (20_000.0, 0.0);
    (0..24)
        .map(|row: u64| {
            let soft = row % 3 == 2;
            let conditions = Conditions {
                surface: if soft {
                    Surface::Earth
                } else {
                    Surface::Sealed
                },
                sand: Share::new(if soft {
                    0.4 * normal(rng).abs().min(2.0)
                } else {
                    0.0
                }),
                low_range: Share::new(if soft {
                    0.2 * normal(rng).abs().min(2.0)
                } else {
                    0.0
                }),
                load: Kilograms::new(80.0 + 30.0 * normal(rng)),
                ..Conditions::default()
            };
            let km = if soft { 120.0 } else { 300.0 } * (1.0 + 0.1 * normal(rng)).max(0.5);
            let distance = Kilometres::new(km);
            let mean: f64 = foreseen(vehicle, &Factors::prior(vehicle), distance, &conditions)
                .components
                .iter()
                .zip(truth)
                .map(|(litres, factor)| litres.get() * factor)
                .sum();
            owed += mean * (1.0 + 0.07 * normal(rng));
            odometer += km;
            let partial = row % 5 == 4;
            let litres = if partial {
                owed * 0.5
            } else {
                owed + 0.7 * normal(rng)
            };
            owed -= litres;
            if !partial {
                owed = 0.0;
            }
            Fill {
                row: row + 2,
                date: None,
                odometer: Kilometres::new(odometer),
                litres: Litres::new(litres.max(0.1)),
                to_brim: !partial,
                conditions,
            }
        })
        .collect()
}

/// With many ways the factors and the residual come out, whatever was thought before.
#[test]
fn many_ways_recover_the_truth() {
    let truth = [1.25, 0.7, 1.3, 1.2, 0.8];
    let mut rng = Rng::seed_from_u64(9);
    let known = Factors::prior(&vehicle()).with(&log(&mut rng, truth, 0.05, 4000));
    for component in Component::ALL {
        let off = known.value(component).get() - truth[component as usize];
        assert!(off.abs() < 4.0 * known.spread(component).get(), "{known:?}");
        assert!(known.spread(component).get() < 0.07, "{known:?}");
    }
    let residual = known.residual().get();
    assert!((residual - 0.05).abs() < 0.005, "{residual}");
}

/// Data as in `SciPy` 1.17, `scipy/stats/tests/test_stats.py`, `test_nist_norris`.
const NORRIS: &str = include_str!("../../../tests/data/nist/norris.csv");
/// Data as in statsmodels 0.15, `statsmodels/datasets/longley/longley.csv`.
const LONGLEY: &str = include_str!("../../../tests/data/nist/longley.csv");
/// Data as in the GNU Scientific Library's own test, `multifit/test_filip.c`.
const FILIP: &str = include_str!("../../../tests/data/nist/filip.csv");

/// Rows `y, x…`.
fn table(text: &str) -> Vec<Vec<f64>> {
    let number = |cell: &str| cell.parse().unwrap();
    text.lines()
        .map(|line| line.split(',').map(number).collect())
        .collect()
}

/// Rows of a polynomial in the one x of each.
fn polynomial(text: &str, degree: i32) -> Vec<Equation> {
    table(text)
        .iter()
        .map(|row| Equation {
            x: (0..=degree).map(|power| row[1].powi(power)).collect(),
            y: row[0],
        })
        .collect()
}

/// Correct significant digits of a value: the log of its relative error.
fn digits(value: f64, certified: f64) -> f64 {
    -((value - certified).abs() / certified.abs())
        .max(1e-16)
        .log10()
}

/// The fewest correct digits of the coefficients, of their spreads, and of the residual's spread.
fn fewest(rows: &[Equation], certified: &[f64], spreads: &[f64], spread: f64) -> [f64; 3] {
    let posterior = posterior(rows).unwrap();
    let miss = |row: &Equation| {
        let fitted: f64 = row.x.iter().zip(&posterior.mean).map(|(x, b)| x * b).sum();
        (row.y - fitted).powi(2)
    };
    let free = (rows.len() - certified.len()) as f64;
    let residual = (rows.iter().map(miss).sum::<f64>() / free).sqrt();
    let least = |values: Vec<f64>, certified: &[f64]| {
        values
            .iter()
            .zip(certified)
            .map(|(value, certified)| digits(*value, *certified))
            .fold(16.0, f64::min)
    };
    let deviations = posterior.covariance.diagonal();
    [
        least(posterior.mean.iter().copied().collect(), certified),
        least(
            deviations.iter().map(|v| v.sqrt() * residual).collect(),
            spreads,
        ),
        digits(residual, spread),
    ]
}

fn assert_digits(fewest: [f64; 3], wanted: [f64; 3]) {
    assert!(
        fewest
            .iter()
            .zip(wanted)
            .all(|(digits, wanted)| *digits >= wanted),
        "{fewest:?}"
    );
}

/// Certified values as in `SciPy` 1.17, `test_nist_norris`; the residual's spread from memory.
#[test]
fn norris() {
    let fewest = fewest(
        &polynomial(NORRIS, 1),
        &[-0.262_323_073_774_029, 1.002_116_818_020_45],
        &[0.232_818_234_301_152, 0.429_796_848_199_937e-3],
        0.884_796_396_144_373,
    );
    assert_digits(fewest, [11.5, 12.0, 12.0]);
}

/// Certified values as in statsmodels 0.15, `statsmodels/regression/tests/results/results_regression.py`; the
/// residual's spread from memory.
#[test]
fn longley() {
    let rows: Vec<Equation> = table(LONGLEY)
        .iter()
        .map(|row| Equation {
            x: std::iter::once(1.0)
                .chain(row[1..].iter().copied())
                .collect(),
            y: row[0],
        })
        .collect();
    let fewest = fewest(
        &rows,
        &[
            -3_482_258.634_595_82,
            15.061_872_271_373_3,
            -0.358_191_792_925_910e-1,
            -2.020_229_803_816_83,
            -1.033_226_867_173_59,
            -0.511_041_056_535_807e-1,
            1_829.151_464_613_55,
        ],
        &[
            890_420.383_607_373,
            84.914_925_774_766_9,
            0.334_910_077_722_432e-1,
            0.488_399_681_651_699,
            0.214_274_163_161_675,
            0.226_073_200_069_370,
            455.478_499_142_212,
        ],
        304.854_073_561_965,
    );
    assert_digits(fewest, [10.0, 10.0, 12.0]);
}

/// Certified values as in the GNU Scientific Library's own test. Powers of x up to the tenth: the matrix's condition is
/// about 1e15, so double precision leaves some seven digits.
#[test]
fn filip() {
    let fewest = fewest(
        &polynomial(FILIP, 10),
        &[
            -1_467.489_614_229_80,
            -2_772.179_591_933_42,
            -2_316.371_081_608_93,
            -1_127.973_940_983_72,
            -354.478_233_703_349,
            -75.124_201_739_375_7,
            -10.875_318_035_534_3,
            -1.062_214_985_889_47,
            -0.670_191_154_593_408e-1,
            -0.246_781_078_275_479e-2,
            -0.402_962_525_080_404e-4,
        ],
        &[
            298.084_530_995_537,
            559.779_865_474_950,
            466.477_572_127_796,
            227.204_274_477_751,
            71.647_866_087_592_7,
            15.289_717_874_740_0,
            2.236_911_598_160_33,
            0.221_624_321_934_227,
            0.142_363_763_154_724e-1,
            0.535_617_408_889_821e-3,
            0.896_632_837_373_868e-5,
        ],
        0.334_801_051_324_544e-2,
    );
    assert_digits(fewest, [6.0, 6.0, 7.0]);
}

/// x from 0 to 20 and a polynomial of the fifth degree, all of whose coefficients are 1 (Wampler 1) or powers of a
/// tenth (Wampler 2), without any error.
#[test]
fn wampler() {
    for (tenth, wanted) in [(1.0, 9.0), (0.1, 12.0)] {
        let certified: Vec<f64> = (0..6).map(|power| f64::powi(tenth, power)).collect();
        let rows: Vec<Equation> = (0..=20)
            .map(|x| {
                let x: Vec<f64> = (0..6).map(|power| f64::from(x).powi(power)).collect();
                let y = x.iter().zip(&certified).map(|(x, b)| x * b).sum();
                Equation { x, y }
            })
            .collect();
        let posterior = posterior(&rows).unwrap();
        let fewest = posterior
            .mean
            .iter()
            .zip(&certified)
            .map(|(value, certified)| digits(*value, *certified))
            .fold(16.0, f64::min);
        assert!(fewest >= wanted, "{fewest}");
    }
}
