//! With no prior the regression is ordinary least squares: the certified values of the NIST Statistical Reference
//! Datasets, linear regression (computed there with 500 digits). Where each set was taken from stands beside it.

use super::regression::{Evidence, Row};

/// Data as in `SciPy` 1.17, `scipy/stats/tests/test_stats.py`, `test_nist_norris`.
const NORRIS: &str = include_str!("../../tests/data/nist/norris.csv");
/// Data as in statsmodels 0.15, `statsmodels/datasets/longley/longley.csv`.
const LONGLEY: &str = include_str!("../../tests/data/nist/longley.csv");
/// Data as in the GNU Scientific Library's own test, `multifit/test_filip.c`.
const FILIP: &str = include_str!("../../tests/data/nist/filip.csv");

/// Rows `y, x…`.
fn table(text: &str) -> Vec<Vec<f64>> {
    let number = |cell: &str| cell.parse().unwrap();
    text.lines()
        .map(|line| line.split(',').map(number).collect())
        .collect()
}

/// Rows of a polynomial in the one x of each.
fn polynomial(text: &str, degree: i32) -> Vec<Row> {
    table(text)
        .iter()
        .map(|row| Row {
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
fn fewest(rows: &[Row], certified: &[f64], spreads: &[f64], spread: f64) -> [f64; 3] {
    let evidence = Evidence::none(certified.len()).with(rows);
    let posterior = evidence.posterior().unwrap();
    let residual = evidence.spread().unwrap();
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

/// Certified values as in statsmodels 0.15, `statsmodels/regression/tests/results/results_regression.py`; the residual's
/// spread from memory.
#[test]
fn longley() {
    let rows: Vec<Row> = table(LONGLEY)
        .iter()
        .map(|row| Row {
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

/// Certified values as in the GNU Scientific Library's own test. Powers of x up to the tenth: the matrix's condition is about 1e15, so double precision leaves some seven digits.
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

/// x from 0 to 20 and a polynomial of the fifth degree, all of whose coefficients are 1 (Wampler 1) or powers of a tenth
/// (Wampler 2), without any error.
#[test]
fn wampler() {
    for (tenth, wanted) in [(1.0, 9.0), (0.1, 12.0)] {
        let certified: Vec<f64> = (0..6).map(|power| f64::powi(tenth, power)).collect();
        let rows: Vec<Row> = (0..=20)
            .map(|x| {
                let x: Vec<f64> = (0..6).map(|power| f64::from(x).powi(power)).collect();
                let y = x.iter().zip(&certified).map(|(x, b)| x * b).sum();
                Row { x, y }
            })
            .collect();
        let posterior = Evidence::none(6).with(&rows).posterior().unwrap();
        let fewest = posterior
            .mean
            .iter()
            .zip(&certified)
            .map(|(value, certified)| digits(*value, *certified))
            .fold(16.0, f64::min);
        assert!(fewest >= wanted, "{fewest}");
    }
}
