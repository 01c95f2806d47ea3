//! Fill-ups and arrivals through the program.

#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use std::fs;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use drystage::io::csv::fills;
use drystage::model::Trip;
use serde_json::{Value, json};

fn sample(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("sample-routes")
        .join(name)
}

/// The plateau's files in a folder of their own.
fn plateau() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for entry in fs::read_dir(sample("")).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap();
        if name.starts_with("plateau-loop") {
            fs::copy(&path, folder.path().join(name)).unwrap();
        }
    }
    folder
}

fn drystage(folder: &Path, arguments: &[&str]) -> (bool, String, String) {
    let output = Command::cargo_bin("drystage")
        .unwrap()
        .current_dir(folder)
        .args(arguments)
        .output()
        .unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (
        output.status.success(),
        text(output.stdout),
        text(output.stderr),
    )
}

fn answer(folder: &Path, arguments: &[&str]) -> String {
    let (done, out, error) = drystage(folder, arguments);
    assert!(done, "{error}");
    out
}

/// The sample log was made with the factors 1.09, 1.28 and 0.88 and litres that stray by 4 %; one fill is missing.
#[test]
fn the_sample_log_gives_its_factors_back() {
    let folder = plateau();
    let arguments = [
        "fit",
        "plateau-loop.json",
        "plateau-loop-fills.csv",
        "--format",
        "json",
        "--save",
    ];
    let fit: Value = serde_json::from_str(&answer(folder.path(), &arguments)).unwrap();
    assert_eq!(
        (&fit["drystage_fit"], &fit["intervals"]),
        (&json!(1), &json!(15))
    );
    for (component, truth) in [("base", 1.09), ("sand", 1.28), ("low_range", 0.88)] {
        let factor = &fit["factors"][component];
        let off = factor["value"].as_f64().unwrap() - truth;
        assert!(off.abs() < 2.0 * factor["sd"].as_f64().unwrap(), "{factor}");
    }
    assert_eq!(fit["untold"], json!(["roof", "idle"]));
    let left_out = &fit["left_out"][0];
    assert_eq!(left_out["row"], 11);
    let why = left_out["why"].as_str().unwrap();
    assert!(why.contains("was probably not written down"), "{why}");

    let saved = fs::read(folder.path().join("plateau-loop.json")).unwrap();
    let trip: Trip = serde_json::from_slice(&saved).unwrap();
    let fitted = trip.vehicle.fitted.unwrap();
    assert_eq!(json!(fitted.base), fit["factors"]["base"]["value"]);
    assert_eq!(fitted.intervals, 15);

    let kept = answer(
        folder.path(),
        &[
            "fit",
            "plateau-loop.json",
            "plateau-loop-fills.csv",
            "--format",
            "json",
            "--keep",
            "11",
        ],
    );
    let kept: Value = serde_json::from_str(&kept).unwrap();
    assert_eq!(kept["intervals"], 16);
    assert!(kept["factors"]["base"]["value"].as_f64() < fit["factors"]["base"]["value"].as_f64());
}

fn problems(text: &str) -> Vec<String> {
    fills::parse(text)
        .unwrap_err()
        .iter()
        .map(|problem| {
            let column = problem.column.clone().unwrap_or_default();
            format!("{} {column}: {}", problem.line, problem.says)
        })
        .collect()
}

/// Every problem of a log is told with its line and column.
#[test]
fn bad_logs_are_told_where_they_are_bad() {
    let told = problems(
        "date,odometer_km,litres,to_brim,sand_share\n\
         2026-02-30,100,10,yes,\n\
         2026-03-02,-5,10,maybe,1.4\n\
         2026-03-01,200,,yes,0.5\n",
    );
    assert_eq!(
        told,
        [
            "2 date: must be a date such as 2026-03-14, got `2026-02-30`",
            "3 odometer_km: must be 0 to 3000000, got -5",
            "3 to_brim: must be yes or no, got `maybe`",
            "3 sand_share: must be 0 to 1, got 1.4",
            "4 date: must be 2026-03-02 or later, as in line 3, got 2026-03-01",
            "4 litres: must be a number, got nothing",
        ]
    );
    let told = problems("date,odometer_km,odometer_mi,to_brim\n2026-01-01,1,1,yes\n");
    assert_eq!(
        told,
        [
            "1 : must have one column for the odometer, odometer_km or odometer_mi, got odometer_km and odometer_mi",
            "1 : must have one column for the fuel, litres or gal_us or gal_imp, got none",
        ]
    );
    assert!(problems("")[0].contains("must begin with a row of column names"));
}

/// Decimal commas, semicolons, miles and gallons mean the same fills.
#[test]
fn units_and_locales_mean_the_same() {
    let metric =
        fills::parse("date,odometer_km,litres,to_brim\n2026-01-01,160.9344,37.85411784,yes\n");
    let us = fills::parse("date;odometer_mi;gal_us;to_brim\n2026-01-01;100,0;10,0;yes\n");
    let (metric, us) = (&metric.unwrap()[0], &us.unwrap()[0]);
    assert!((metric.odometer - us.odometer).abs().get() < 1e-9);
    assert!((metric.litres - us.litres).abs().get() < 1e-9);
}

/// Two arrivals that used 15 % more than planned, on the sample of the plateau.
#[test]
fn the_plan_goes_on_from_the_last_reading() {
    let folder = plateau();
    let arrive = |arguments: &[&str]| {
        let mut all = vec!["arrive", "plateau-loop.json"];
        all.extend(arguments);
        answer(folder.path(), &all)
    };
    arrive(&[
        "0",
        "--odometer",
        "88210",
        "--left",
        "40",
        "--cans",
        "28.5",
        "--how",
        "brim",
    ]);
    arrive(&[
        "High Pens",
        "--odometer",
        "88282",
        "--left",
        "32.5",
        "--cans",
        "28.5",
        "--how",
        "dip",
    ]);
    let text = arrive(&[
        "Bent Saddle",
        "--odometer",
        "88333",
        "--left",
        "26.6",
        "--cans",
        "28.5",
        "--how",
        "dip",
    ]);
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words.contains("Turning back from here to Lamp Hollow takes"),
        "{text}"
    );

    let report = |more: &[&str]| -> Value {
        let mut all = vec!["report", "plateau-loop.json", "--format", "json"];
        all.extend(more);
        serde_json::from_str(&answer(folder.path(), &all)).unwrap()
    };
    let (rest, whole) = (report(&[]), report(&["--from-start"]));
    assert_eq!(rest["log"]["place"], "Bent Saddle");
    assert_eq!(rest["log"]["ways"].as_array().unwrap().len(), 2);
    let over = |way: &Value| way["used_l"].as_f64().unwrap() / way["planned_l"].as_f64().unwrap();
    for way in rest["log"]["ways"].as_array().unwrap() {
        assert!((1.1..1.2).contains(&over(way)), "{way}");
        assert_eq!(way["counts"], true);
    }
    // The legs behind stand as they were driven, those ahead begin with what is aboard.
    for report in [&rest, &whole] {
        assert_eq!(report["legs"].as_array().unwrap().len(), 7);
    }
    let number = |value: &Value| value.as_f64().unwrap();
    let used = number(&rest["legs"][1]["fuel_l"]);
    assert!((used - 5.9).abs() < 1e-9, "{used}");
    assert!(whole.get("log").is_none());
    // 26.6 L by dipstick (2 L) less 1.645 spreads, less 1.5 L that the pump cannot draw, and 28.5 L in cans.
    let start = number(&rest["legs"][2]["start_l"]);
    let by_hand = 26.6 - 1.645 * 2.0 - 1.5 + 28.5;
    assert!((by_hand - 0.5..by_hand + 1e-3).contains(&start), "{start}");
    // The way back over the 126 km that were driven, to the only sure pump.
    let log = &rest["log"];
    assert_eq!(
        (&log["back_to"], &log["advice"]),
        (&json!("Lamp Hollow"), &json!("go-on"))
    );
    assert!(
        number(&log["back_l"]) > 10.0 && number(&log["back_l"]) < 20.0,
        "{log}"
    );
    assert!(number(&log["back_until_km"]) > 126.0, "{log}");
    let line = &rest["decisions"][0];
    assert_eq!(
        (&line["node"], &line["place"]),
        (&json!(2), &json!("Bent Saddle"))
    );
    let factor = &rest["log"]["factors"]["base"];
    assert!(
        factor["value"].as_f64() > factor["before"].as_f64(),
        "{factor}"
    );
    assert!(
        factor["sd"].as_f64() < factor["before_sd"].as_f64(),
        "{factor}"
    );
}

/// A log that contradicts itself is not believed, and one that cannot be is refused and not written.
#[test]
fn contradictions_are_told() {
    let folder = plateau();
    let run = |arguments: &[&str]| {
        let mut all = vec!["--plain", "arrive", "plateau-loop.json", "--cans", "0"];
        all.extend(arguments);
        drystage(folder.path(), &all)
    };
    assert!(run(&["0", "--odometer", "88210", "--left", "30", "--how", "brim"]).0);
    let (done, text, error) = run(&["1", "--odometer", "88282", "--left", "38", "--how", "brim"]);
    assert!(done, "{error}");
    assert!(text.contains("contradict one another"), "{text}");
    let before = fs::read(folder.path().join("plateau-loop.json")).unwrap();
    for (arguments, told) in [
        (
            ["2", "--odometer", "88000", "--left", "20"],
            "must be 88282 km or more",
        ),
        (
            ["0", "--odometer", "88400", "--left", "20"],
            "must be 1 to 7",
        ),
        (
            ["Nowhere", "--odometer", "88400", "--left", "20"],
            "name or number",
        ),
        (
            ["2", "--odometer", "88400", "--left", "4000"],
            "must be 0 to 400 L",
        ),
    ] {
        let (done, _, error) = run(&arguments);
        assert!(!done && error.contains(told), "{error}");
    }
    assert_eq!(
        fs::read(folder.path().join("plateau-loop.json")).unwrap(),
        before
    );
}
