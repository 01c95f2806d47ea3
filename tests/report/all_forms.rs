//! The reports of every sample trip: as texts, against their schema, and against one another.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use drystage::io::{json as trip_file, tracks};
use drystage::model::check;
use drystage::model::vocabulary::UnitSystem;
use drystage::plan::{Effort, Plan};
use drystage::present::answers::Answers;
use drystage::present::card::{self, Level, MORE_THAN_FULL};
use drystage::present::name::{cut as shortened, width};
use drystage::present::number::Units;
use drystage::report::{Case, compare, json, text};
use drystage::tui::state::State;
use drystage::tui::theme::{Depth, Theme};
use drystage::tui::view::{self, Look};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use serde_json::Value;

const METRIC: Units = Units(UnitSystem::Metric);

/// Name and plan of every sample trip and of the example.
static PLANS: LazyLock<Vec<(String, Plan)>> = LazyLock::new(|| {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut paths: Vec<PathBuf> = fs::read_dir(root.join("sample-routes"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ext| ext == "json"))
        .collect();
    paths.push(root.join("tests/data/example-trip.json"));
    paths.sort();
    paths
        .iter()
        .map(|path| {
            let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
            let mut trip = trip_file::read(path).unwrap();
            tracks::read(&mut trip, path.parent().unwrap()).unwrap();
            (name, Plan::at_target(trip, Effort::FIRST))
        })
        .collect()
});

fn as_json(plan: &Plan) -> Value {
    serde_json::from_str(&json::report(Case::as_stated(plan))).unwrap()
}

#[test]
fn reports_as_they_are_printed() {
    for (name, plan) in PLANS.iter() {
        let text = |units| text::report(Case::as_stated(plan), units);
        insta::assert_snapshot!(format!("{name}-text"), text(METRIC));
        if name == "example-trip" {
            let mut document = as_json(plan);
            cut(&mut document);
            let document = serde_json::to_string_pretty(&document).unwrap();
            insta::assert_snapshot!(format!("{name}-json"), document);
            let us = text(Units(UnitSystem::Us));
            insta::assert_snapshot!(format!("{name}-us-text"), us);
        }
    }
}

#[test]
fn every_document_fulfils_its_schema() {
    let [report, comparison, check, _] = json::schemas();
    let valid = |schema: &Value, text: &str| {
        let document: Value = serde_json::from_str(text).unwrap();
        let validator = jsonschema::validator_for(schema).unwrap();
        let errors: Vec<String> = validator
            .iter_errors(&document)
            .map(|error| format!("{} at {}", error, error.instance_path()))
            .collect();
        assert!(errors.is_empty(), "{errors:?}");
        document
    };
    for (_, plan) in PLANS.iter() {
        let case = Case {
            plan,
            what_ifs: &["a name".to_owned()],
            set: &["/legs/0/sand_share=0.5".to_owned()],
        };
        let document = valid(&report, &json::report(case));
        valid(&comparison, &json::comparison(&[case, case]));
        valid(&check, &json::check(&[], Some(plan)));
        assert_eq!(document["drystage_report"], 2);
        let dry = document["if_dry"].as_array().unwrap();
        assert_eq!(dry.len(), plan.dry().stops.len());
        for (written, stop) in dry.iter().zip(&plan.dry().stops) {
            assert_eq!(written["place_number"], stop.place_number());
            assert!(written["needed_without_l"].is_number());
            let returns = stop.choices.shares.back.is_some();
            assert_eq!(written["return_shares"].is_object(), returns);
            assert_eq!(written["return_to_place_number"].is_number(), returns);
        }
        let checks = document["fuel_checks"].as_array().unwrap();
        assert_eq!(checks.len(), plan.fuel_checks.len());
        for check in checks {
            // Advice does not decide, and what decides has a return.
            assert!(check["kind"] != "after" || check["continue_l"].is_null());
            assert!(check["continue_l"].is_null() || check["return_l"].is_number());
        }
        for key in ["outcomes", "outcomes_without_luck"] {
            let shares = document[key].as_object().unwrap();
            let ends = [
                "finish_reserve_intact",
                "finish_using_reserve",
                "turned_back_reserve_intact",
                "turned_back_using_reserve",
                "ran_out",
            ];
            let sum: f64 = ends
                .iter()
                .map(|end| shares[*end]["share"].as_f64().unwrap())
                .sum();
            assert!((sum - 1.0).abs() < 1e-9, "{shares:?}");
        }
        for leg in document["legs"].as_array().unwrap() {
            let driven = leg["distance_km"].as_f64().unwrap() > 0.0;
            assert_eq!(leg["l_per_100km"].is_number(), driven);
            assert_eq!(leg["multipliers"].is_object(), driven);
        }
    }
}

/// A figure that is not computed is null and not 0.
#[test]
fn without_simulated_trips_their_figures_are_null() {
    let text = include_str!("../data/example-trip.json");
    let plan = Plan::best_estimate(check::read(serde_json::from_str(text).unwrap()).unwrap());
    let document = as_json(&plan);
    assert!(document["outcomes"].is_null());
    assert!(document["outcomes_without_luck"].is_null());
    for key in ["needed_se_l", "needed_at", "simulated_trips"] {
        assert!(document["cans"][key].is_null(), "{key}");
    }
    for key in ["fuel_checks", "if_dry"] {
        assert_eq!(document[key].as_array().unwrap().len(), 0, "{key}");
    }
}

/// Water that is hardly used lasts too many days for a number.
#[test]
fn water_that_lasts_for_ever_has_no_endless_number() {
    let text = include_str!("../data/example-trip.json");
    let mut trip: Value = serde_json::from_str(text).unwrap();
    trip["rules"]["water_l_per_person_day"] = serde_json::json!(0.001);
    let water = trip["load"]["gear"][0].as_object_mut().unwrap();
    water.remove("use_per_day_kg");
    let text = report_line(&Plan::best_estimate(check::read(trip).unwrap()));
    assert!(text.contains("lasts more than 10000 days"), "{text}");
    assert!(!text.contains(" inf ") && !text.contains("NaN"), "{text}");
}

/// Which way the text rounds a figure.
#[derive(Clone, Copy)]
enum Round {
    Near,
    Up,
    Down,
}

impl Round {
    /// Rounding up or down ignores the last bits of a sum.
    fn to_whole(self, value: f64) -> f64 {
        match self {
            Self::Near => value.round(),
            Self::Up => (value - 1e-6).ceil(),
            Self::Down => (value + 1e-6).floor(),
        }
    }
}

/// A figure in a text: tenths below ten, else whole.
fn shown(value: &Value, round: Round) -> String {
    let tenths = tenths(value, round);
    if tenths.parse::<f64>().unwrap().abs() < 9.95 {
        tenths
    } else {
        whole(value, round)
    }
}

/// A figure in a column of figures that are compared.
fn tenths(value: &Value, round: Round) -> String {
    let value = value.as_f64().unwrap();
    format!("{:.1}", round.to_whole(value * 10.0) / 10.0)
}

/// A figure to be compared with a gauge.
fn whole(value: &Value, round: Round) -> String {
    format!("{:.0}", round.to_whole(value.as_f64().unwrap()))
}

/// The document with every number cut to what does not depend on a machine's last bits.
fn cut(value: &mut Value) {
    match value {
        Value::Number(number) if number.is_f64() => {
            let short = (number.as_f64().unwrap() * 1e4).round() / 1e4;
            *value = short.into();
        }
        Value::Array(list) => list.iter_mut().for_each(cut),
        Value::Object(object) => object.values_mut().for_each(cut),
        _ => {}
    }
}

/// The rows of the table of legs: cells by the widths of the columns.
fn leg_rows(text: &str) -> Vec<Vec<String>> {
    const WIDTHS: [usize; 12] = [3, 3, 12, 10, 5, 5, 5, 5, 6, 5, 5, 5];
    let table = text.split("\nLEGS").nth(1).unwrap();
    let table = table.split("\n\n").next().unwrap();
    let rows = table
        .lines()
        .skip_while(|line| !line.starts_with("leg day"))
        .skip(2);
    rows.map(|row| {
        let mut from = 0;
        WIDTHS
            .iter()
            .map(|width| {
                let cell = row.get(from..row.len().min(from + width)).unwrap_or("");
                from += width + 1;
                cell.trim().to_owned()
            })
            .collect()
    })
    .collect()
}

#[test]
fn text_and_json_agree_figure_by_figure() {
    for (name, plan) in PLANS.iter() {
        let (text, json) = (text::report(Case::as_stated(plan), METRIC), as_json(plan));
        let legs = json["legs"].as_array().unwrap();
        let rows = leg_rows(&text);
        assert_eq!(rows.len(), legs.len(), "{name}");
        for (row, leg) in rows.iter().zip(legs) {
            let rate = leg["l_per_100km"].as_f64();
            let is_below = leg["below_reserve"] == true;
            let mark = if is_below { "!" } else { "" };
            let cans = &leg["end_cans_l"];
            let expected = [
                leg["n"].to_string(),
                leg["day"].to_string(),
                shortened(leg["to"].as_str().unwrap(), 12).trim().to_owned(),
                row[3].clone(),
                shown(&leg["distance_km"], Round::Near),
                format!("{:.0}", leg["speed_kmh"].as_f64().unwrap()),
                tenths(&leg["fuel_l"], Round::Near),
                rate.map_or("-".to_owned(), |rate| format!("{rate:.1}")),
                whole(&leg["end_l"], Round::Down) + mark,
                whole(&leg["reserve_l"], Round::Up),
                row[10].clone(),
                if cans == 0 {
                    "-".to_owned()
                } else {
                    tenths(cans, Round::Down)
                },
            ];
            assert_eq!(row.as_slice(), expected, "{name}");
            let tank = plan.trip.vehicle.tank_l.get();
            let eighths = leg["end_tank_l"].as_f64().unwrap() * 8.0 / tank;
            let gauge = match format!("{:.0}", (eighths + 1e-6).floor()).as_str() {
                "0" => "empty",
                "2" => "1/4",
                "4" => "1/2",
                "6" => "3/4",
                "8" => "full",
                odd => &format!("{odd}/8"),
            };
            assert_eq!(row[10], gauge, "{name}");
        }
        let has = |figure: String| assert!(text.contains(&figure), "{name}: {figure}");
        let fuel = shown(&json["totals"]["fuel_l"], Round::Near);
        has(format!("\nFuel              {fuel} L"));
        has(json["verdict"]["message"].as_str().unwrap()[..40].to_owned());
        for check in json["fuel_checks"].as_array().unwrap() {
            has(whole(&check["expected_p05_l"], Round::Down));
            let enough = &check["continue_l"];
            let enough = enough.is_number().then(|| whole(enough, Round::Up));
            match (check["kind"].as_str().unwrap(), enough) {
                (_, None) => {}
                ("check", Some(enough)) => has(format!("{enough} (")),
                ("decision", Some(enough)) => has(format!("continue with {enough} L (")),
                (other, _) => panic!("{other} decides nothing"),
            }
            if check["kind"] == "after" && check["finish_l"].is_number() {
                let needed = whole(&check["finish_l"], Round::Up);
                has(format!("needed from here {needed} L"));
            }
        }
        for stop in json["stops"].as_array().unwrap() {
            if stop["tank_l"].as_f64().unwrap() > 0.0 {
                let litres = shown(&stop["tank_l"], Round::Near);
                has(format!("the tank with {litres} L"));
            }
        }
        for decant in json["decants"].as_array().unwrap() {
            let most = shown(&decant["when_tank_at_most_l"], Round::Down);
            has(format!("({most} L) or less"));
        }
        if let Some(gvm) = json["load"]["gvm_kg"].as_f64() {
            let mass = json["load"]["mass_kg"].as_f64().unwrap();
            has(format!("{:.0} of {gvm:.0} kg", (mass - 1e-6).ceil()));
        }
        let findings = json["findings"].as_array().unwrap();
        assert_eq!(findings.len(), plan.findings.len());
    }
}

/// A gauge cannot tell what is more than a tank.
#[test]
fn the_gauge_is_full_only_when_a_full_tank_is_enough() {
    let mut found = [false; 2];
    for (name, plan) in PLANS.iter() {
        let tank = plan.trip.vehicle.usable_tank();
        let lines = card::check_lines(plan, METRIC);
        assert_eq!(lines.len(), plan.fuel_checks.len());
        for (check, line) in plan.fuel_checks.iter().zip(lines) {
            let cans = check.place_number.map_or_else(
                || plan.on_board_at(check.at_km).cans,
                |place_number| plan.legs[place_number - 1].end_cans,
            );
            let is_more = |level: &Level| level.gauge == MORE_THAN_FULL;
            if let (Some(litres), Some((level, _))) = (check.continue_with, &line.turn_back) {
                assert_eq!(is_more(level), litres > tank + cans, "{name}: {line:?}");
                found[usize::from(is_more(level))] = true;
            }
        }
    }
    assert!(found[0], "no row of any sample asks for anything");
}

/// A small trip of an invented vehicle with these legs, from an unlimited fuel stop.
fn small_trip(legs: &Value) -> Plan {
    let trip = serde_json::json!({
        "drystage": 1,
        "vehicle": { "fuel": "petrol", "engine_l": 1.5, "baseline_l_per_100km": 8.2, "tank_l": 40, "kerb_mass_kg": 1090 },
        "rules": { "reserve": { "litres": 5 } },
        "start": { "name": "Lamp Hollow", "fuel": {} },
        "legs": legs,
    });
    Plan::at_target(check::read(trip).unwrap(), Effort::FIRST)
}

/// The report in one line.
fn report_line(plan: &Plan) -> String {
    let text = text::report(Case::as_stated(plan), METRIC);
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_stage_with_a_return_from_anywhere_has_no_turn_back_point() {
    let plan = small_trip(&serde_json::json!([
        { "to": "Far", "distance_km": 100, "fuel": { "litres": 30 } },
        { "to": "Lamp Hollow", "distance_km": 100, "fuel": {} },
    ]));
    let text = report_line(&plan);
    let anywhere = "You can return to Lamp Hollow from the whole stage (95 % target).";
    assert!(text.contains(anywhere), "{text}");
    assert!(!text.contains("turn back by"), "{text}");
}

#[test]
fn what_all_visits_to_a_fuel_stop_share_is_said_with_each() {
    let plan = small_trip(&serde_json::json!([
        { "to": "Spring", "distance_km": 90, "fuel": { "litres": 20 } },
        { "to": "Far", "distance_km": 90, "surface": "rock" },
        { "to": "Spring", "distance_km": 90, "surface": "rock", "fuel": { "litres": 20 } },
        { "to": "Lamp Hollow", "distance_km": 90, "fuel": {} },
    ]));
    let text = report_line(&plan);
    assert_eq!(text.matches("stock 20 L for all 2 visits").count(), 2);
}

#[test]
fn a_trip_that_goes_nowhere_has_no_causes() {
    let plan = small_trip(&serde_json::json!([{ "to": "Camp", "distance_km": 0 }]));
    let text = report_line(&plan);
    assert!(!text.contains("WHY"), "{text}");
    assert!(text.contains("0.0 km in 1 day"), "{text}");
}

#[test]
fn an_empty_tank_has_no_litres_below_nothing() {
    let plan = small_trip(&serde_json::json!([
        { "to": "Far", "distance_km": 400, "surface": "rock" },
        { "to": "End", "distance_km": 100, "surface": "rock" },
    ]));
    let line = card::check_lines(&plan, METRIC).pop().unwrap();
    assert_eq!(line.expected, None);
    let text = report_line(&plan);
    assert!(text.contains("no fuel 0 needed from here"), "{text}");
}

#[test]
fn long_names_do_not_widen_the_paper() {
    let name = "\u{6f22}\u{5b57}".repeat(50);
    let far = "F".repeat(190);
    let plan = small_trip(&serde_json::json!([
        { "to": name, "distance_km": 100, "fuel": { "chance": 0.6 } },
        { "to": far, "distance_km": 100, "fuel": {} },
    ]));
    for line in text::report(Case::as_stated(&plan), METRIC).lines() {
        assert!(width(line) <= 80, "{line}");
    }
}

/// Law: the multipliers of a leg times the baseline consumption are its consumption, in the JSON as printed.
#[test]
fn multipliers_times_base_are_the_rate() {
    for (name, plan) in PLANS.iter() {
        for leg in as_json(plan)["legs"].as_array().unwrap() {
            let Some(rate) = leg["l_per_100km"].as_f64() else {
                continue;
            };
            let factors = leg["multipliers"].as_object().unwrap().values();
            let product: f64 = factors.map(|factor| factor.as_f64().unwrap()).product();
            let redone = product * plan.base.reference.get();
            let off = (redone / rate - 1.0).abs();
            assert!(off < 1e-3, "{name}: {redone} {rate}");
            let keys = ["use_empty_l", "use_slope", "start_l", "fuel_l"];
            let [empty, slope, start, fuel] = keys.map(|key| leg[key].as_f64().unwrap());
            assert!((empty + slope * start - fuel).abs() < 1e-9, "{name}");
        }
    }
}

#[test]
fn the_screen_says_what_the_report_says() {
    for (name, plan) in PLANS.iter() {
        let answers = Answers::new(plan, METRIC);
        let look = Look {
            theme: Theme::new(Depth::None),
            ascii: false,
        };
        let area = Rect::new(0, 0, 200, 60);
        let mut buffer = Buffer::empty(area);
        view::view(&State::new(plan.clone(), METRIC), look, area, &mut buffer);
        let cells = buffer.content().iter();
        let screen: String = cells.map(ratatui::buffer::Cell::symbol).collect();
        // Words, since a long verdict takes two lines.
        let words: Vec<&str> = screen.split_whitespace().collect();
        let screen = words.join(" ");
        let paper = report_line(plan);
        assert!(screen.contains(answers.badge.words()), "{name}");
        let in_cans = &answers.fuel_in_cans[0];
        assert!(screen.contains(in_cans), "{name}: {screen}");
        for answer in &answers.four {
            assert!(screen.contains(&answer.text[0]), "{name}: {answer:?}");
            // Each figure of an answer is one of the report.
            let figures = answer.text[0].split([' ', ',']).filter(|word| {
                word.trim_start_matches(['+', '-', '<', '>'])
                    .starts_with(|c: char| c.is_ascii_digit())
            });
            for figure in figures {
                let is_there = paper.contains(figure);
                assert!(is_there, "{name}: {figure} of {answer:?}\n{paper}");
            }
        }
    }
}

#[test]
fn paper_is_eighty_columns_wide_in_every_system() {
    for (name, plan) in PLANS.iter() {
        for &system in UnitSystem::ALL {
            let units = Units(system);
            let case = Case::as_stated(plan);
            let texts = [
                text::report(Case::as_stated(plan), units),
                text::findings(plan, units),
                compare::table(&[case], units),
            ];
            for line in texts.iter().flat_map(|text| text.lines()) {
                assert!(line.chars().count() <= 80, "{name} {system}: {line}");
                assert_eq!(line, line.trim_end(), "{name}");
            }
        }
    }
}

/// Where no uncertain input alone makes the trip need fuel in cans, that fuel depends on nothing.
#[test]
fn fuel_in_cans_that_is_not_needed_depends_on_nothing() {
    for (sample, depends) in [("forest-weekend", false), ("plateau-loop", true)] {
        let (_, plan) = PLANS.iter().find(|(name, _)| name == sample).unwrap();
        let text = report_line(plan);
        let is_listed = text.contains("WHAT THE FUEL IN CANS DEPENDS ON");
        assert_eq!(is_listed, depends, "{text}");
    }
}
