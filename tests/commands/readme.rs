//! The README against the program: its keys, its report, its trip and its cautions are the real ones.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::Command;

use assert_cmd::cargo::cargo_bin;
use drystage::io::json;
use drystage::plan::{Plan, Severity};
use drystage::present::caution::CAUTIONS;
use drystage::tui::keymap::{BINDINGS, Group, Layer};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn readme() -> String {
    fs::read_to_string(root().join("README.md")).unwrap()
}

/// What stands before, between and after `<!-- name -->` and `<!-- /name -->`.
fn parted(readme: &str, name: &str) -> [String; 3] {
    let (open, close) = (format!("<!-- {name} -->\n"), format!("<!-- /{name} -->"));
    let (before, rest) = readme.split_once(&open).unwrap();
    let (inside, after) = rest.split_once(&close).unwrap();
    [before.to_owned() + &open, inside.to_owned(), close + after]
}

/// Holds a section to what it should say, or writes it there where `UPDATE_README` is set.
fn hold(name: &str, expected: &str) {
    let [before, inside, after] = parted(&readme(), name);
    if std::env::var_os("UPDATE_README").is_some() {
        fs::write(root().join("README.md"), before + expected + &after).unwrap();
    } else {
        assert_eq!(
            inside, expected,
            "UPDATE_README=1 cargo test --test commands readme writes it"
        );
    }
}

/// The table of keys as the README shows it.
fn keys() -> String {
    let mut table = String::from("| keys | do |\n|---|---|\n");
    for group in Group::ALL {
        writeln!(table, "| | *{}* |", group.title()).unwrap();
        let of_group = BINDINGS.iter().filter(|binding| binding.group == group);
        // What only closes the help is told there.
        for binding in of_group.filter(|binding| binding.layers[0] != Layer::Help) {
            let names: Vec<String> = binding
                .keys
                .iter()
                .map(|key| match key.name().as_str() {
                    " " => "`Space`".to_owned(),
                    name => format!("`{name}`"),
                })
                .collect();
            writeln!(table, "| {} | {} |", names.join(" "), binding.label).unwrap();
        }
    }
    table
}

/// The report of the sample that the README starts with, as far as its list of fuel stops.
fn report() -> String {
    let output = Command::new(cargo_bin("drystage"))
        .args(["report", "sample-routes/plateau-loop.json"])
        .current_dir(root())
        .env_clear()
        .output()
        .unwrap();
    let report = String::from_utf8(output.stdout).unwrap();
    let (head, _) = report.split_once("\nFUEL STOPS").unwrap();
    format!("```text\n{head}```\n")
}

fn output(folder: &Path, arguments: &[&str]) -> String {
    let output = Command::new(cargo_bin("drystage"))
        .args(arguments)
        .current_dir(folder)
        .env_clear()
        .output()
        .unwrap();
    assert!(output.status.success(), "{arguments:?}");
    String::from_utf8(output.stdout).unwrap()
}

/// The fit of the sample log: its factors, and what it does to the trip.
fn fit() -> String {
    let arguments = ["calibrate", "plateau-loop.json", "plateau-loop-fills.csv"];
    let fit = output(&root().join("sample-routes"), &arguments);
    let (head, rest) = fit.split_once("\nPREDICTED AND ACTUAL").unwrap();
    let (_, suspects) = rest.split_once("\nSUSPECT").unwrap();
    format!("```text\n{head}\nSUSPECT{suspects}```\n")
}

/// The sample on its way, after two arrivals that used 15 % more than planned.
fn way() -> String {
    let folder = tempfile::tempdir().unwrap();
    for name in [
        "plateau-loop.json",
        "plateau-loop.gpx",
        "plateau-loop-pass.gpx",
    ] {
        let from = root().join("sample-routes").join(name);
        fs::copy(from, folder.path().join(name)).unwrap();
    }
    let arrive = |place: &str, odometer: &str, left: &str| {
        let arguments = [
            "arrive",
            "plateau-loop.json",
            place,
            "--odometer",
            odometer,
            "--left",
            left,
            "--cans",
            "28.5",
            "--how",
            "dip",
        ];
        output(folder.path(), &arguments)
    };
    arrive("0", "88210", "40");
    arrive("High Pens", "88282", "32.5");
    let report = arrive("Bent Saddle", "88333", "26.6");
    let (_, from) = report.split_once("\nUNDER WAY").unwrap();
    let (section, _) = from.split_once("\nFUEL STOPS").unwrap();
    format!("```text\nUNDER WAY{section}```\n")
}

/// One test, since all sections are written to one file.
#[test]
fn keys_and_reports_are_those_of_the_program() {
    hold("keys", &keys());
    hold("report", &report());
    hold("calibrate", &fit());
    hold("way", &way());
}

#[test]
fn the_trip_can_be_planned() {
    let [_, block, _] = parted(&readme(), "trip");
    let document = block.replace("```json\n", "").replace("```\n", "");
    let trip = json::parse(document.as_bytes()).unwrap();
    let plan = Plan::of(trip);
    let stops = plan
        .findings
        .iter()
        .filter(|finding| finding.severity() == Severity::Stop);
    assert_eq!(stops.count(), 0, "{:?}", plan.findings);
}

#[test]
fn the_cautions_are_those_of_every_report() {
    let text = readme();
    for caution in CAUTIONS {
        assert!(text.contains(&format!("- {caution}\n")), "{caution}");
    }
}
