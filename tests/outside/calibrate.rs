//! The fit against a general-purpose statistics library: statsmodels with what was known before as rows of data, and the
//! data of the certified sets against the packages that they were taken from.
//!
//! Needs `python3` with `numpy`, `scipy` and `statsmodels` on the path; `.ci/run` sets them up.

use std::io::Write as _;
use std::process::{Command, Stdio};

use drystage::calibrate::{Factors, FillCalibration, Observed};
use drystage::io::csv::fills;
use drystage::model::Trip;
use drystage::model::calibration::Component;
use drystage::quantity::Litres;
use serde_json::{Value, json};

fn python(asked: &Value) -> Value {
    let mut child = Command::new("python3")
        .arg("tests/data/regression.py")
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let text = asked.to_string();
    child
        .stdin
        .take()
        .unwrap()
        .write_all(text.as_bytes())
        .unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success());
    serde_json::from_slice(&output.stdout).unwrap()
}

/// The sample log: with the weights of the fit, the library finds the same factors and the same covariance.
#[test]
fn a_statistics_library_finds_the_same_factors() {
    let text = include_str!("../../sample-routes/plateau-loop.json");
    let trip: Trip = serde_json::from_str(text).unwrap();
    let log = fills::parse(include_str!("../../sample-routes/plateau-loop-fills.csv")).unwrap();
    let fit = FillCalibration::of(&trip.vehicle, &log, &[]);
    let observed: Vec<Observed> = fit.intervals.iter().map(|way| way.observed).collect();
    let prior = Factors::prior(&trip.vehicle);
    let factors = prior.with(&observed);
    let spread = |way: &Observed| factors.weighed(way).get();
    let answer = python(&json!({
        "x": observed.iter().map(|way| way.components.map(Litres::get)).collect::<Vec<_>>(),
        "y": observed.iter().map(|way| way.litres.get()).collect::<Vec<_>>(),
        "sd": observed.iter().map(spread).collect::<Vec<_>>(),
        "prior": Component::ALL.map(|each| [1.0, prior.spread(each).get()]),
        "longley": "tests/data/nist/longley.csv",
        "norris": "tests/data/nist/norris.csv",
    }));
    let covariance = factors.covariance();
    for (a, each) in Component::ALL.into_iter().enumerate() {
        let theirs = answer["mean"][a].as_f64().unwrap();
        assert!(
            (factors.value(each).get() - theirs).abs() < 1e-9,
            "{each:?}: {theirs}, ours {:?}",
            factors.value(each)
        );
        for (b, ours) in covariance[a].iter().enumerate() {
            let theirs = answer["covariance"][a][b].as_f64().unwrap();
            assert!(
                (ours.get() - theirs).abs() < 1e-9,
                "{a} {b}: {theirs}, ours {ours:?}"
            );
        }
    }
    assert_eq!(answer["longley_is_the_same"], true);
    // Certified values of Norris, as in the test under src.
    let certified = [
        -0.262_323_073_774_029,
        1.002_116_818_020_45,
        0.232_818_234_301_152,
        0.429_796_848_199_937e-3,
    ];
    for (theirs, certified) in answer["norris"].as_array().unwrap().iter().zip(certified) {
        assert!(
            (theirs.as_f64().unwrap() / certified - 1.0).abs() < 1e-9,
            "{theirs}"
        );
    }
}
