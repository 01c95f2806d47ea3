//! Fill-ups and arrivals through the program.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use drystage::calibrate::{Factors, FillCalibration};
use drystage::io::csv::fills;
use drystage::model::Trip;
use drystage::model::calibration::Component;
use drystage::model::vehicle::Vehicle;
use drystage::model::vocabulary::UnitSystem;
use drystage::plan::{Effort, Plan};
use drystage::present::calibration::{known, left_out};
use drystage::present::number::Units;
use drystage::quantity::{Factor, Litres};
use serde_json::{Value, json};

use super::program::{assert_parts, done, in_one_line, parsed, refused, run_line};

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

/// A run that ends well: what it printed and its messages.
fn both(folder: &Path, line: &str) -> (String, String) {
    let output = run_line(folder, line);
    let messages = String::from_utf8(output.stderr.clone()).unwrap();
    (done(output), messages)
}

fn answer(folder: &Path, line: &str) -> String {
    both(folder, line).0
}

/// The start of a line that enters a fuel reading into the sample.
const ARRIVE: &str = "--best-estimate arrive plateau-loop.json";

/// The sample log was made with the factors 1.09, 1.28 and 0.88 and litres that stray by 4 %; one fill is missing.
#[test]
fn the_sample_log_gives_its_factors_back() {
    let folder = plateau();
    let calibrate = |option: &str| {
        let line = "calibrate plateau-loop.json plateau-loop-fills.csv --format json";
        parsed(&answer(folder.path(), &format!("{line} {option}")))
    };
    let fit = calibrate("--save");
    assert_eq!(fit["drystage_calibration"], 1);
    assert_eq!(fit["intervals"].as_array().unwrap().len(), 15);
    for (component, truth) in [("base", 1.09), ("sand", 1.28), ("low_range", 0.88)] {
        let factor = &fit["factors"][component];
        let off = factor["value"].as_f64().unwrap() - truth;
        assert!(off.abs() < 2.0 * factor["sd"].as_f64().unwrap(), "{factor}");
    }
    assert_eq!(fit["uninformed"], json!(["roof", "idle"]));
    let left_out = &fit["left_out"][0];
    assert_eq!(left_out["row"], 11);
    let why = left_out["why"].as_str().unwrap();
    assert!(why.contains("was probably not recorded"), "{why}");

    let saved = fs::read(folder.path().join("plateau-loop.json")).unwrap();
    let trip: Trip = serde_json::from_slice(&saved).unwrap();
    let fitted = trip.vehicle.calibration.unwrap();
    assert_eq!(json!(fitted.base), fit["factors"]["base"]["value"]);
    assert_eq!(fitted.intervals, 15);

    let kept = calibrate("--keep 11");
    assert_eq!(kept["intervals"].as_array().unwrap().len(), 16);
    assert!(kept["factors"]["base"]["value"].as_f64() < fit["factors"]["base"]["value"].as_f64());
}

fn problems(text: &str) -> Vec<String> {
    fills::parse(text)
        .unwrap_err()
        .iter()
        .map(|problem| {
            let column = problem.column.clone().unwrap_or_default();
            format!("{} {column}: {}", problem.line, problem.message)
        })
        .collect()
}

/// Every problem of a log is reported with its line and column.
#[test]
fn bad_logs_are_reported_where_they_are_bad() {
    let messages = problems(
        "date,odometer_km,litres,to_brim,sand_share\n\
         2026-02-30,100,10,yes,\n\
         2026-03-02,-5,10,maybe,1.4\n\
         2026-03-01,200,,yes,0.5\n",
    );
    assert_eq!(
        messages,
        [
            "2 date: must be a date such as 2026-03-14, got `2026-02-30`",
            "3 to_brim: must be yes or no, got `maybe`",
            "3 odometer_km: must be 0 to 3000000, got -5",
            "3 sand_share: must be 0 to 1, got 1.4 (for 1.4 % write 0.014)",
            "4 litres: is empty; it must be a number",
            "4 date: must be 2026-03-02 or later, as in line 3, got 2026-03-01",
        ]
    );
    let messages = problems("date,odometer_km,odometer_mi,to_brim\n2026-01-01,1,1,yes\n");
    assert_eq!(
        messages,
        [
            "1 : the log needs one column for the odometer, odometer_km or odometer_mi; it has odometer_km and odometer_mi",
            "1 : the log needs one column for the fuel, litres or gal_us or gal_imp; it has no such column",
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
    let imperial =
        fills::parse("date\todometer_mi\tgal_imp\tto_brim\n2026-01-01T08:30\t100\t8,326742\tYes\n");
    let metric = &metric.unwrap()[0];
    for (other, by) in [(us, 1e-9), (imperial, 1e-5)] {
        let other = &other.unwrap()[0];
        assert!((metric.odometer - other.odometer).abs().get() < 1e-9);
        assert!((metric.litres - other.litres).abs().get() < by, "{other:?}");
        assert_eq!(metric.to_brim, other.to_brim);
    }
}

/// A row is named by the line on which an editor shows it, whatever ends lines.
#[test]
fn rows_are_the_lines_of_an_editor() {
    let log = fs::read_to_string(sample("plateau-loop-fills.csv")).unwrap();
    let expected = fills::parse(&log).unwrap();
    for end in ["\r\n", "\r"] {
        let other = log.replace('\n', end);
        assert_eq!(fills::parse(&other).unwrap(), expected, "{end:?}");
    }
    let folder = plateau();
    let crlf = log.replace('\n', "\r\n");
    fs::write(folder.path().join("crlf.csv"), crlf).unwrap();
    answer(
        folder.path(),
        "calibrate plateau-loop.json crlf.csv --keep 11",
    );
}

/// A way of next to no length is reported in few words.
#[test]
fn a_way_of_no_length_is_reported_in_few_words() {
    let rows = [(0.0, 1.0, true), (1e-300, 5.0, true), (300.0, 25.0, true)];
    let found = fitted(|_| {}, &rows, &[]);
    let sentence = left_out(&found.left_out[0], Units(UnitSystem::Metric));
    assert!(
        sentence.starts_with("Row 3 took more than 100 times the predicted fuel"),
        "{sentence}"
    );
}

/// A long log is predicted like a short one, by fits that each leave out a hundredth of it.
#[test]
fn a_long_log_is_predicted_as_a_short_one_is() {
    let mut odometer = 0.0;
    let rows: Vec<_> = (0..2001_i32)
        .map(|n| {
            odometer += 300.0;
            (odometer, 27.0 + f64::from(n * 7919 % 100) / 25.0, true)
        })
        .collect();
    let (long, short) = (
        fitted(|_| {}, &rows, &[]),
        fitted(|_| {}, &rows[..101], &[]),
    );
    assert_eq!((long.intervals.len(), short.intervals.len()), (2000, 100));
    let share = |fit: &FillCalibration| fit.inside() as f64 / fit.intervals.len() as f64;
    assert!(
        (share(&long) - share(&short)).abs() < 0.1,
        "{} {}",
        share(&long),
        share(&short)
    );
    for way in &long.intervals {
        let off = way.by_others[0] - way.fitted;
        assert!(off.abs() < Litres::new(0.1), "{way:?}");
    }
}

/// A number that two locales read differently is not guessed at.
#[test]
fn marks_of_thousands_are_not_guessed_at() {
    let messages = problems("date;odometer_km;litres;to_brim\n2026-01-01;1.300,5;24,3;yes\n");
    assert_eq!(
        messages,
        ["2 odometer_km: `1.300,5` has a thousands separator: write the number without it"]
    );
}

/// A fit of the plateau's vehicle with `change` made to it, to rows of a log without any remarks.
fn fitted(
    change: impl FnOnce(&mut Vehicle),
    rows: &[(f64, f64, bool)],
    keep: &[u64],
) -> FillCalibration {
    let bytes = fs::read(sample("plateau-loop.json")).unwrap();
    let mut vehicle = serde_json::from_slice::<Trip>(&bytes).unwrap().vehicle;
    change(&mut vehicle);
    let rows = rows.iter().map(|(odometer, litres, to_brim)| {
        let to_brim = if *to_brim { "yes" } else { "no" };
        format!("2026-01-01,{odometer},{litres},{to_brim}\n")
    });
    let table = format!(
        "date,odometer_km,litres,to_brim\n{}",
        rows.collect::<String>()
    );
    FillCalibration::from_fills(&vehicle, &fills::parse(&table).unwrap(), keep)
}

/// Each kind of suspect with its reason, and what is left of the log.
#[test]
fn suspects_are_named_with_their_reason() {
    let full = |odometer: f64, litres: f64| (odometer, litres, true);
    let rows = [
        full(10_000.0, 20.0),
        full(10_300.0, 26.0),
        // 300 km more than there is fuel for.
        full(10_900.0, 26.0),
        // 100 km too much on the odometer, and as much too little at the next fill.
        full(11_300.0, 17.0),
        full(11_400.0, 17.0),
        // More than the tank of 40 L holds.
        full(11_700.0, 80.0),
        full(12_000.0, 26.0),
        // Nothing says why.
        full(12_030.0, 26.0),
        // Reset, then the same reading again.
        full(100.0, 26.0),
        full(100.0, 2.0),
        full(400.0, 26.0),
    ];
    let fit = fitted(|_| {}, &rows, &[]);
    let sentences: Vec<String> = fit
        .left_out
        .iter()
        .map(|found| left_out(found, Units(UnitSystem::Metric)))
        .collect();
    let expected = [
        (4, "A fill of about"),
        (
            5,
            "An odometer reading is probably wrong: together with the interval of row 6 it agrees",
        ),
        (
            6,
            "An odometer reading is probably wrong: together with the interval of row 5 it agrees",
        ),
        (
            7,
            "A fill of 80 L is more than the tank holds: the litres are probably wrong",
        ),
        (
            9,
            "The litres, the odometer or the recorded conditions are wrong",
        ),
        (
            10,
            "the odometer went back from odo 12030 to odo 100. It was reset",
        ),
        (11, "the odometer is unchanged"),
    ];
    assert_eq!(sentences.len(), expected.len(), "{sentences:#?}");
    for (sentence, (row, why)) in sentences.iter().zip(expected) {
        let begins = [format!("Row {row}: "), format!("Row {row} took ")];
        assert!(
            begins.iter().any(|begins| sentence.starts_with(begins)),
            "{sentence}"
        );
        assert!(sentence.contains(why), "{sentence}");
    }
    let counted = |fit: &FillCalibration| {
        fit.intervals
            .iter()
            .map(|way| way.row)
            .collect::<Vec<u64>>()
    };
    assert_eq!(counted(&fit), [3, 8, 12]);
    // Kept where that is asked for, and reported anyway.
    let kept = fitted(|_| {}, &rows, &[4]);
    assert_eq!(counted(&kept), [3, 4, 8, 12]);
    assert_eq!(kept.left_out.len(), expected.len());
    assert!(kept.left_out[0].kept && !kept.left_out[1].kept);
    assert!(kept.factors.value(Component::Base) < fit.factors.value(Component::Base));
}

/// Before the first and after the last full tank nothing is known; without two of them nothing is fitted, and that is
/// said.
#[test]
fn missing_brims_are_no_ways() {
    let fit = fitted(
        |_| {},
        &[
            (1000.0, 20.0, false),
            (1300.0, 26.0, true),
            (1500.0, 9.0, false),
            (1900.0, 43.0, true),
            (2000.0, 5.0, false),
        ],
        &[],
    );
    assert_eq!(fit.intervals.len(), 1);
    assert_eq!((fit.intervals[0].row, fit.litres()), (5, Litres::new(52.0)));
    let units = Units(UnitSystem::Metric);
    assert!(known(&fit, units).contains("Consumption in the reference conditions"));
    for rows in [
        &[(1000.0, 20.0, true)][..],
        &[(1000.0, 20.0, false), (1300.0, 26.0, false)],
    ] {
        let fit = fitted(|_| {}, rows, &[]);
        assert!(fit.intervals.is_empty());
        assert_eq!(fit.factors, fit.prior);
        assert!(known(&fit, units).starts_with("A calibration needs two full fills"));
    }
}

/// On larger tyres the odometer shows too little: the same log is a longer way, and a thriftier vehicle. An odometer
/// factor that was measured goes before the tyres.
#[test]
fn odometers_are_made_true() {
    let rows: Vec<(f64, f64, bool)> = (0..12)
        .map(|n| (300.0 * f64::from(n), 27.0, true))
        .collect();
    let tyres = |tyres: Value, odometer: Option<f64>| {
        let tyres = serde_json::from_value(tyres).unwrap();
        let change = |vehicle: &mut Vehicle| {
            vehicle.tyres = Some(tyres);
            vehicle.odometer_factor = odometer.map(Factor::new);
        };
        fitted(change, &rows, &[])
    };
    let standard = json!({ "standard": "205/70R15", "fitted": "205/70R15" });
    let larger = json!({ "standard": "205/70R15", "fitted": "215/75R15" });
    let base = |fit: &FillCalibration| fit.factors.value(Component::Base);
    let (as_shown, longer) = (tyres(standard, None), tyres(larger.clone(), None));
    // 703.5 mm over 668.0 mm (design facts of tyre sizes: 25.4 a rim inch and twice the width times its aspect).
    let ratio = longer.distance() / as_shown.distance();
    assert!((ratio - 703.5 / 668.0).abs() < 1e-9, "{ratio}");
    assert!(base(&longer) < base(&as_shown));
    let measured = tyres(larger, Some(1.02));
    let ratio = measured.distance() / as_shown.distance();
    assert!((ratio - 1.02).abs() < 1e-9, "{ratio}");
}

/// A fitted vehicle's plan takes its litres times the factors, and its samples stray as far as the factors may be off.
#[test]
fn plan_and_odds_go_by_the_factors() {
    let bytes = fs::read(sample("forest-weekend.json")).unwrap();
    let trip: Trip = serde_json::from_slice(&bytes).unwrap();
    let with = |base: f64, spread: f64| {
        let mut trip = trip.clone();
        let mut fitted = Factors::prior(&trip.vehicle).saved(trip.vehicle.baseline_l_per_100km);
        fitted.base = Factor::new(base);
        fitted.covariance[0][0] = Factor::new(spread * spread);
        trip.vehicle.calibration = Some(fitted);
        Plan::at_target(trip, Effort::FIRST)
    };
    let (fitted, dearer, unsure) = (with(1.0, 0.02), with(1.2, 0.02), with(1.0, 0.2));
    let fuel = |plan: &Plan| plan.totals.fuel;
    let ratio = fuel(&dearer) / fuel(&fitted);
    // Low range and idling have factors of their own, the base is most of this trip.
    assert!((1.1..=1.2 + 1e-3).contains(&ratio), "{ratio}");
    let band = |plan: &Plan| {
        let last = plan.doubt.as_ref().unwrap().bands[plan.legs.len() - 1].end;
        last.high - last.low
    };
    assert!(
        band(&unsure) > band(&fitted) * 1.5,
        "{:?} {:?}",
        band(&unsure),
        band(&fitted)
    );
}

/// Two arrivals that used 15 % more than planned, on the sample of the plateau.
#[test]
fn the_plan_goes_on_from_the_last_reading() {
    let folder = plateau();
    let arrive = |line: &str| answer(folder.path(), &format!("arrive plateau-loop.json {line}"));
    arrive("0 --odometer 88210 --left 40 --cans 28.5 --how brim");
    arrive("'High Pens' --odometer 88282 --left 32.5 --cans 28.5 --how dip");
    let text = arrive("'Bent Saddle' --odometer 88333 --left 26.6 --cans 28.5 --how dip");
    assert_parts(
        &in_one_line(&text),
        &[
            "CONTINUE. At Bent Saddle you have 53.6 L (dipstick, +-2.0 L). Continuing needs",
            "; returning to Lamp Hollow needs",
        ],
    );

    let report = |option: &str| {
        let line = format!("report plateau-loop.json --format json {option}");
        parsed(&answer(folder.path(), &line))
    };
    let (rest, whole) = (report(""), report("--from-start"));
    assert_eq!(rest["log"]["place"], "Bent Saddle");
    assert_eq!(rest["log"]["intervals"].as_array().unwrap().len(), 2);
    let over = |way: &Value| way["used_l"].as_f64().unwrap() / way["planned_l"].as_f64().unwrap();
    for way in rest["log"]["intervals"].as_array().unwrap() {
        assert!((1.1..1.2).contains(&over(way)), "{way}");
        assert_eq!(way["counts"], true);
    }
    // The legs behind stand as they were driven, those ahead begin with what is on board.
    for report in [&rest, &whole] {
        assert_eq!(report["legs"].as_array().unwrap().len(), 7);
    }
    let number = |value: &Value| value.as_f64().unwrap();
    let used = number(&rest["legs"][1]["fuel_l"]);
    assert!((used - 5.9).abs() < 1e-9, "{used}");
    assert!(whole.get("log").is_none());
    // 26.6 L by dipstick, less 1.5 L that the fuel pickup cannot reach, and 28.5 L in cans; nothing is deducted for the
    // reading.
    let start = number(&rest["legs"][2]["start_l"]);
    let by_hand = 26.6 - 1.5 + 28.5;
    assert!((by_hand - 0.5..by_hand + 1e-3).contains(&start), "{start}");
    // The way back over the 126 km that were driven, to the only sure fuel stop.
    let log = &rest["log"];
    assert_eq!(log["return_to"], "Lamp Hollow");
    assert_eq!(log["advice"], "continue");
    let return_l = number(&log["return_l"]);
    assert!(return_l > 10.0 && return_l < 25.0, "{log}");
    assert_eq!(log["error_l"], 2.0);
    assert_eq!(log["unexpected"], false);
    let is_enough = number(&log["continue_l"]) < number(&log["on_board_l"]);
    assert!(is_enough, "{log}");
    assert!(number(&log["turn_back_km"]) > 126.0, "{log}");
    assert!(rest.get("return_plan").is_none());
    // The first check is past where one is.
    assert!(number(&rest["fuel_checks"][0]["at_km"]) > 126.0);
    let factor = &rest["log"]["factors"]["base"];
    let [value, before, sd, before_sd] =
        ["value", "before", "sd", "before_sd"].map(|key| number(&factor[key]));
    assert!(value > before && sd < before_sd, "{factor}");
}

/// A log that contradicts itself is not believed, and one that cannot be is refused and not written.
#[test]
fn contradictions_are_reported() {
    let folder = plateau();
    let run = |line: &str| run_line(folder.path(), &format!("{ARRIVE} --cans 0 {line}"));
    done(run("0 --odometer 88210 --left 30 --how brim"));
    let text = done(run("1 --odometer 88282 --left 38 --how brim"));
    assert!(text.contains("conflict with each other"), "{text}");
    let before = fs::read(folder.path().join("plateau-loop.json")).unwrap();
    for (line, reason) in [
        ("2 --odometer 88000 --left 20", "must be 88282 km or more"),
        ("0 --odometer 88400 --left 20", "must be 88400 km or more"),
        (
            "8 --odometer 88400 --left 20",
            "PLACE: there is no place 8; the places are 0 (start) to 7 (finish)",
        ),
        (
            "Nowhere --odometer 88400 --left 20",
            "PLACE: no place is called `Nowhere`",
        ),
        (
            "2 --odometer 88400 --left 4000",
            "--left: must be 0 to 400 L, got 4000",
        ),
        (
            "2 --odometer 88400 --left -2,5",
            "--left: must be 0 to 400 L, got -2.5",
        ),
        (
            "2 --odometer nan --left 20",
            "must be a number such as 32.5, got nan",
        ),
        (
            "2 --odometer 88.400,5 --left 20",
            "must be a number such as 32.5, got 88.400,5",
        ),
    ] {
        assert_parts(&refused(run(line)), &[reason]);
    }
    let after = fs::read(folder.path().join("plateau-loop.json")).unwrap();
    assert_eq!(after, before);
}

/// The readings in the log of a trip file.
fn readings(folder: &Path, trip: &str) -> Vec<Value> {
    let trip = parsed(&fs::read_to_string(folder.join(trip)).unwrap());
    trip["log"].as_array().unwrap().clone()
}

/// Who mistyped an odometer or litres enters it again: it is put right, the last reading or one before, and the change
/// reported.
#[test]
fn a_second_reading_at_a_place_puts_the_first_right() {
    let folder = plateau();
    let run = |line: &str| both(folder.path(), &format!("{ARRIVE} --cans 0 {line}"));
    run("0 --odometer 88210 --left 40");
    run("'High Pens' --odometer 88228 --left 23.5 --sure");
    let (text, message) = run("'high pens' --odometer 88282 --left 32.5 --how dip");
    assert_eq!(
        message,
        "fuel reading at High Pens corrected: odometer 88228 -> 88282 km, in the tank 23.5 -> 32.5 L, measured by not set -> dip; \
         use --again to keep both readings\n"
    );
    assert!(text.contains("used 7.5"), "{text}");
    run("2 --odometer 88333 --left 26.6");
    let (_, message) = run("0 --odometer 88209 --left 40");
    assert!(message.contains("odometer 88210 -> 88209 km"), "{message}");
    let log = readings(folder.path(), "plateau-loop.json");
    let column = |key: &str| -> Vec<f64> {
        let cells = log.iter().map(|reading| reading[key].as_f64().unwrap());
        cells.collect()
    };
    assert_eq!(column("place_number"), [0.0, 1.0, 2.0]);
    assert_eq!(column("odometer_km"), [88209.0, 88282.0, 88333.0]);
    // On purpose, after a day trip from there: both stand.
    let (_, message) = run("2 --odometer 88360 --left 24 --again");
    assert!(message.is_empty(), "{message}");
    assert_eq!(readings(folder.path(), "plateau-loop.json").len(), 4);
}

/// What was forgotten is entered later, the departure too: it is where it belongs, and what is known by then is used.
#[test]
fn a_forgotten_departure_is_entered_later() {
    let folder = plateau();
    let run = |line: &str| answer(folder.path(), &format!("{ARRIVE} --cans 28.5 {line}"));
    let text = run("'High Pens' --odometer 88282 --left 39.5 --how dip");
    assert_parts(
        &in_one_line(&text),
        &[
            "used unknown, planned 6.4 L;",
            "There is no fuel reading of the departure from Lamp Hollow",
            "drystage arrive TRIP 0 --odometer KM --left L",
        ],
    );
    assert!(!text.contains("used -"), "{text}");
    let report = |format: &str| {
        let line = format!("--best-estimate report plateau-loop.json --format {format}");
        answer(folder.path(), &line)
    };
    let json = parsed(&report("json"));
    let way = &json["log"]["intervals"][0];
    assert_eq!(
        (&way["used_l"], &way["used_sd_l"], &way["counts"]),
        (&Value::Null, &Value::Null, &json!(false))
    );
    assert_parts(&report("html"), &["unknown", "no departure reading"]);
    let text = run("0 --odometer 88210 --left 40 --how brim --filled 6");
    assert!(in_one_line(&text).contains("used 6.5 +-"), "{text}");
    assert!(!text.contains("not written down"), "{text}");
}

/// A place that the route meets twice has two readings; the odometer tells which meeting is meant, and a number, too.
#[test]
fn a_place_met_twice_has_two_readings() {
    let folder = tempfile::tempdir().unwrap();
    let trip = json!({
        "drystage": 1,
        "vehicle": {
            "fuel": "petrol", "engine_l": 1.8, "baseline_l_per_100km": 9, "baseline_from": "label", "tank_l": 50, "kerb_mass_kg": 1300
        },
        "start": { "name": "Ford", "odometer_km": 1000, "fuel": {} },
        "legs": [
            { "to": "Hut", "distance_km": 60 }, { "to": "Spring", "distance_km": 60 }, { "to": "Hut", "distance_km": 60 },
            { "to": "Ford", "distance_km": 60 }
        ]
    });
    fs::write(folder.path().join("trip.json"), trip.to_string()).unwrap();
    let run = |place: &str, odometer: &str, left: &str| {
        let arrive = format!("arrive trip.json {place} --odometer {odometer} --left {left}");
        let (_, message) = both(folder.path(), &format!("--best-estimate {arrive}"));
        let log = readings(folder.path(), "trip.json");
        let place_numbers = log.iter().map(|reading| reading["place_number"].clone());
        (place_numbers.collect::<Vec<Value>>(), message)
    };
    assert_eq!(run("Ford", "1000", "50").0, [0]);
    let (place_numbers, message) = run("Hut", "1061", "44");
    assert_eq!(place_numbers, [0, 1]);
    assert!(
        message.contains("the route passes Hut more than once; by the odometer this is place 1"),
        "{message}"
    );
    // The same meeting, mistyped; then without the spring the second one.
    let (place_numbers, message) = run("Hut", "1060", "45");
    assert_eq!(place_numbers, [0, 1]);
    assert!(message.contains("odometer 1061 -> 1060 km"), "{message}");
    let (place_numbers, message) = run("Hut", "1182", "34");
    assert_eq!(place_numbers, [0, 1, 3]);
    assert!(message.contains("this is place 3"), "{message}");
    let (place_numbers, _) = run("Spring", "1120", "39");
    assert_eq!(place_numbers, [0, 1, 2, 3]);
    assert_eq!(run("4", "1242", "28").0, [0, 1, 2, 3, 4]);
}

/// A place off the plan that is reported again is put right, too, whatever was passed since.
#[test]
fn a_place_off_the_plan_is_put_right() {
    let folder = plateau();
    let run = |line: &str| both(folder.path(), &format!("{ARRIVE} --cans 0 {line}")).1;
    run("0 --odometer 88210 --left 40");
    run("'Old Well' --odometer 88250 --left 35 --to-next 45");
    run("1 --odometer 88292 --left 31");
    let message = run("'Old Well' --odometer 88250 --left 36 --to-next 42 --filled 3");
    assert!(
        message.starts_with("fuel reading at Old Well corrected: "),
        "{message}"
    );
    assert!(message.contains("in the tank 35 -> 36 L"), "{message}");
    assert_eq!(readings(folder.path(), "plateau-loop.json").len(), 3);
}

/// A sealed-road log as text: so many tanks of 420 km at 9.4 L/100 km that stray by 2 %, with `date` of each.
fn quiet(tanks: u32, date: impl Fn(u32) -> String) -> String {
    let mut table = "date,odometer_km,litres,to_brim\n".to_owned();
    let mut odometer = 48_064.0;
    for n in 0..=tanks {
        // Deviations that look like chance, the same each time.
        let off = |by: u32| f64::from((n * 7919 + by) % 101) / 50.0 - 1.0;
        let km = 420.0 * (1.0 + 0.1 * off(13));
        odometer += km / 1.0531;
        let litres = km * 0.094 * (1.0 + 0.035 * off(57));
        writeln!(table, "{},{odometer:.0},{litres:.1},yes", date(n)).unwrap();
    }
    table
}

/// A fit of the example trip to such a log, as JSON.
fn fit_of_example(log: &str) -> (Value, String) {
    let folder = tempfile::tempdir().unwrap();
    let example = include_str!("../data/example-trip.json");
    fs::write(folder.path().join("trip.json"), example).unwrap();
    fs::write(folder.path().join("log.csv"), log).unwrap();
    let fit = "calibrate trip.json log.csv";
    let json = answer(folder.path(), &format!("{fit} --format json"));
    let text = in_one_line(&answer(folder.path(), fit));
    (parsed(&json), text)
}

/// Twenty quiet tanks on sealed roads say nothing of days off them: they cut the cans of four days mostly off them by
/// less than 5 %, and what is reported of days is reported of the road alone.
#[test]
fn quiet_tanks_do_not_cut_the_cans_of_other_ground() {
    let (fit, text) = fit_of_example(&quiet(20, |n| {
        format!("2026-0{}-{:02}", 1 + n / 10, 1 + n % 10 * 3 / 2)
    }));
    assert_eq!(fit["intervals"].as_array().unwrap().len(), 20);
    let number = |key: &str| fit[key].as_f64().unwrap();
    assert!(number("road_day_share") < 0.06, "{}", fit["road_day_share"]);
    assert_eq!(fit["off_road_day_share"], Value::Null);
    let cut = 1.0 - number("needed_in_cans_l") / number("needed_in_cans_before_l");
    assert!((0.0..0.05).contains(&cut), "{cut}");
    assert!(
        text.contains("there the plan keeps 10 % a day from before calibration"),
        "{text}"
    );
}

/// Fills without dates, and fills that all bear one date, tell nothing of days, and that is said: the plan keeps the
/// spread of before. What the factors are does not hang on it.
#[test]
fn a_log_without_dates_keeps_the_days_of_before() {
    let without = quiet(20, |_| String::new());
    let no_column = without.replace("date,", "").replace("\n,", "\n");
    for log in [quiet(20, |_| "2026-01-01".to_owned()), without, no_column] {
        let (fit, text) = fit_of_example(&log);
        assert_eq!(fit["road_day_share"], Value::Null);
        assert_eq!(fit["off_road_day_share"], Value::Null);
        assert!(fit["residual_share"].as_f64().unwrap() < 0.05);
        assert!(
            text.contains("the plan keeps 10 % a day from before calibration"),
            "{text}"
        );
        let cut = 1.0
            - fit["needed_in_cans_l"].as_f64().unwrap()
                / fit["needed_in_cans_before_l"].as_f64().unwrap();
        assert!((0.0..0.05).contains(&cut), "{cut}");
    }
}

/// The example with its whole log: 25 L were filled at every place.
fn driven() -> Value {
    let mut trip = parsed(include_str!("../data/example-trip.json"));
    let legs = trip["legs"].as_array().unwrap().len();
    let reading = |place: usize| {
        json!({ "place_number": place, "odometer_km": 1000 + 150 * place, "tank_left_l": 15,
            "filled_l": 25, "how": "brim" })
    };
    trip["log"] = (0..=legs).map(reading).collect();
    trip
}

#[test]
fn what_fuel_readings_taught_goes_along_with_the_vehicle() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("driven.json"), driven().to_string()).unwrap();
    let next = parsed(&answer(folder.path(), "new --vehicle-from driven.json"));
    assert!(next["vehicle"]["calibration"].is_object(), "{next}");
    // At the finish each leg shows what was planned and what was used.
    let report = parsed(&answer(folder.path(), "report driven.json --format json"));
    let legs = report["log"]["legs"].as_array().unwrap();
    assert_eq!(legs.len(), driven()["legs"].as_array().unwrap().len());
    let used: f64 = legs.iter().map(|leg| leg["used_l"].as_f64().unwrap()).sum();
    let read = 25.0 * legs.len() as f64;
    assert!((used - read).abs() < 1e-6, "{used} {read}");
    let causes = [
        "base",
        "sand",
        "low-range",
        "low_range",
        "roof",
        "idle",
        "days",
        "readings",
    ];
    for interval in report["log"]["intervals"].as_array().unwrap() {
        let [used, planned] = ["used_l", "planned_l"].map(|key| interval[key].as_f64().unwrap());
        let is_large = (used - planned).abs() > 0.05 * planned;
        let cause = interval["likely_off"].as_str();
        let is_named = cause.is_some_and(|cause| causes.contains(&cause));
        let is_expected = is_large && interval["counts"] == true;
        assert_eq!(is_named, is_expected, "{interval}");
    }
}
