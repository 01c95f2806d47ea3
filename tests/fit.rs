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
            "must be 88400 km or more",
        ),
        (
            ["8", "--odometer", "88400", "--left", "20"],
            "must be 0 to 7",
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

/// Text without its line ends.
fn joined(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The log of a trip file.
fn log(folder: &Path, trip: &str) -> Value {
    let bytes = fs::read(folder.join(trip)).unwrap();
    serde_json::from_slice::<Value>(&bytes).unwrap()["log"].clone()
}

/// Who mistyped an odometer or litres says it again: it is put right, the last reading or one before, and told how.
#[test]
fn a_second_reading_at_a_place_puts_the_first_right() {
    let folder = plateau();
    let run = |arguments: &[&str]| {
        let mut all = vec!["--plain", "arrive", "plateau-loop.json", "--cans", "0"];
        all.extend(arguments);
        let (done, out, error) = drystage(folder.path(), &all);
        assert!(done, "{error}");
        (out, error)
    };
    run(&["0", "--odometer", "88210", "--left", "40"]);
    run(&["High Pens", "--odometer", "88228", "--left", "23.5"]);
    let (text, told) = run(&[
        "high pens",
        "--odometer",
        "88282",
        "--left",
        "32.5",
        "--how",
        "dip",
    ]);
    assert_eq!(
        told,
        "reading at High Pens put right: odometer 88228 -> 88282 km, tank left 23.5 -> 32.5 L, how nothing stated -> dip; \
         --again keeps both readings\n"
    );
    assert!(text.contains("used 7.5"), "{text}");
    run(&["2", "--odometer", "88333", "--left", "26.6"]);
    let (_, told) = run(&["0", "--odometer", "88209", "--left", "40"]);
    assert!(told.contains("odometer 88210 -> 88209 km"), "{told}");
    let read = log(folder.path(), "plateau-loop.json");
    let column = |key: &str| -> Vec<f64> {
        let log = read.as_array().unwrap();
        log.iter()
            .map(|reading| reading[key].as_f64().unwrap())
            .collect()
    };
    assert_eq!(column("node"), [0.0, 1.0, 2.0]);
    assert_eq!(column("odometer_km"), [88209.0, 88282.0, 88333.0]);
    // On purpose, after a day trip from there: both stand.
    let (_, told) = run(&["2", "--odometer", "88360", "--left", "24", "--again"]);
    assert!(told.is_empty(), "{told}");
    assert_eq!(
        log(folder.path(), "plateau-loop.json")
            .as_array()
            .unwrap()
            .len(),
        4
    );
}

/// What was forgotten is entered later, the departure too: it stands where it belongs, and what is known by then is used.
#[test]
fn a_forgotten_departure_is_entered_later() {
    let folder = plateau();
    let run = |arguments: &[&str]| {
        let mut all = vec!["--plain", "arrive", "plateau-loop.json", "--cans", "28.5"];
        all.extend(arguments);
        answer(folder.path(), &all)
    };
    let text = run(&[
        "High Pens",
        "--odometer",
        "88282",
        "--left",
        "39.5",
        "--how",
        "dip",
    ]);
    let words = joined(&text);
    for told in [
        "Lamp Hollow to High Pens: used not known, planned 6.4 L;",
        "The departure from Lamp Hollow was not written down",
        "drystage arrive TRIP 0 --odometer KM --left L",
    ] {
        assert!(words.contains(told), "{text}");
    }
    assert!(!text.contains("used -"), "{text}");
    let report = |format: &str| {
        answer(
            folder.path(),
            &["--plain", "report", "plateau-loop.json", "--format", format],
        )
    };
    let json: Value = serde_json::from_str(&report("json")).unwrap();
    let way = &json["log"]["ways"][0];
    assert_eq!(
        (&way["used_l"], &way["used_sd_l"], &way["counts"]),
        (&Value::Null, &Value::Null, &json!(false))
    );
    let html = report("html");
    assert!(
        html.contains("not known") && html.contains("the departure was not written down"),
        "{html}"
    );
    let text = run(&[
        "0",
        "--odometer",
        "88210",
        "--left",
        "40",
        "--how",
        "brim",
        "--filled",
        "6",
    ]);
    assert!(joined(&text).contains("used 6.5 +-"), "{text}");
    assert!(!text.contains("not written down"), "{text}");
}

/// A place that the route meets twice has two readings; the odometer tells which meeting is meant, and a number, too.
#[test]
fn a_place_met_twice_has_two_readings() {
    let folder = tempfile::tempdir().unwrap();
    let trip = json!({
        "drystage": 1,
        "vehicle": {
            "fuel": "petrol", "engine_l": 1.8, "base_l_per_100km": 9, "base_from": "label", "tank_l": 50, "kerb_mass_kg": 1300
        },
        "start": { "name": "Ford", "odometer_km": 1000, "fuel": {} },
        "legs": [
            { "to": "Hut", "distance_km": 60 }, { "to": "Spring", "distance_km": 60 }, { "to": "Hut", "distance_km": 60 },
            { "to": "Ford", "distance_km": 60 }
        ]
    });
    fs::write(folder.path().join("trip.json"), trip.to_string()).unwrap();
    let run = |place: &str, odometer: &str, left: &str| {
        let arguments = [
            "--plain",
            "arrive",
            "trip.json",
            place,
            "--odometer",
            odometer,
            "--left",
            left,
        ];
        let (done, _, error) = drystage(folder.path(), &arguments);
        assert!(done, "{error}");
        let read = log(folder.path(), "trip.json");
        let nodes = read
            .as_array()
            .unwrap()
            .iter()
            .map(|reading| reading["node"].as_u64().unwrap());
        (nodes.collect::<Vec<u64>>(), error)
    };
    assert_eq!(run("Ford", "1000", "50").0, [0]);
    let (nodes, told) = run("Hut", "1061", "44");
    assert_eq!(nodes, [0, 1]);
    assert!(
        told.contains("Hut is met more than once; by the odometer this is place 1"),
        "{told}"
    );
    // The same meeting, mistyped; then without the spring the second one.
    let (nodes, told) = run("Hut", "1060", "45");
    assert_eq!(nodes, [0, 1]);
    assert!(told.contains("odometer 1061 -> 1060 km"), "{told}");
    let (nodes, told) = run("Hut", "1182", "34");
    assert_eq!(nodes, [0, 1, 3]);
    assert!(told.contains("this is place 3"), "{told}");
    let (nodes, _) = run("Spring", "1120", "39");
    assert_eq!(nodes, [0, 1, 2, 3]);
    assert_eq!(run("4", "1242", "28").0, [0, 1, 2, 3, 4]);
}

/// A place off the plan that is told again is put right, too, whatever was passed since.
#[test]
fn a_place_off_the_plan_is_put_right() {
    let folder = plateau();
    let run = |arguments: &[&str]| {
        let mut all = vec!["--plain", "arrive", "plateau-loop.json", "--cans", "0"];
        all.extend(arguments);
        let (done, _, error) = drystage(folder.path(), &all);
        assert!(done, "{error}");
        error
    };
    run(&["0", "--odometer", "88210", "--left", "40"]);
    let well = [
        "Old Well",
        "--odometer",
        "88250",
        "--left",
        "35",
        "--to-next",
        "45",
    ];
    run(&well);
    run(&["1", "--odometer", "88292", "--left", "31"]);
    let told = run(&[
        "Old Well",
        "--odometer",
        "88250",
        "--left",
        "36",
        "--to-next",
        "42",
        "--filled",
        "3",
    ]);
    assert!(
        told.starts_with("reading at Old Well put right: "),
        "{told}"
    );
    assert!(told.contains("tank left 35 -> 36 L"), "{told}");
    assert_eq!(
        log(folder.path(), "plateau-loop.json")
            .as_array()
            .unwrap()
            .len(),
        3
    );
}
