//! The README against the program: its report, its trip, its pages of the manual and its cautions are the real ones.

use std::fs;
use std::path::Path;
use std::process::Command;

use assert_cmd::cargo::cargo_bin;
use drystage::io::json;
use drystage::plan::{Plan, Severity};
use drystage::present::caution::CAUTIONS;

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

/// What the program prints about the sample that the README starts with.
fn printed(command: &str, options: &[&str]) -> String {
    let output = Command::new(cargo_bin("drystage"))
        .args([command, "sample-routes/plateau-loop.json"])
        .args(options)
        .current_dir(root())
        .env_clear()
        .output()
        .unwrap();
    String::from_utf8(output.stdout).unwrap()
}

/// The report as far as its simulated trips, the first screen, and the ranges as far as the end of the first table.
#[test]
fn the_figures_are_those_of_the_program() {
    let report = printed("report", &[]);
    let (head, _) = report.split_once("\nOf 8,192 ").unwrap();
    hold("report", &format!("```text\n{head}```\n"));
    let screen = printed("report", &["--format", "screen", "--size", "80x24"]);
    hold("screen", &format!("```text\n{screen}```\n"));
    let ranges = printed("range", &[]);
    let from = ranges.find("Distance to").unwrap();
    let table = ranges[from..].split("\n\n").next().unwrap();
    hold("range", &format!("```text\n{table}\n```\n"));
}

/// A reader gets through it: keys, columns and the method are pages of the manual.
#[test]
fn the_readme_is_short() {
    let bytes = readme().len();
    assert!(bytes <= 16 * 1024, "{bytes} bytes");
}

/// The table of commands names every page of the manual.
#[test]
fn every_page_of_the_manual_is_named() {
    let manual = |page: &[&str]| {
        let output = Command::new(cargo_bin("drystage"))
            .arg("manual")
            .args(page)
            .output()
            .unwrap();
        assert!(output.status.success(), "{page:?}");
        String::from_utf8(output.stdout).unwrap()
    };
    let readme = readme();
    let list = manual(&[]);
    let pages: Vec<&str> = list
        .lines()
        .skip(1)
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    assert!(pages.len() > 3, "{list}");
    for page in pages {
        assert!(readme.contains(&format!("`{page}`")), "{page}");
        let text = manual(&[page]);
        assert!(text.lines().count() > 20, "{text}");
        let widest = text.lines().map(|line| line.chars().count()).max();
        assert!(widest <= Some(80), "{page}: {widest:?}");
    }
}

#[test]
fn the_trip_can_be_planned() {
    let [_, block, _] = parted(&readme(), "trip");
    let document = block.replace("```json\n", "").replace("```\n", "");
    let trip = json::parse(document.as_bytes()).unwrap();
    let plan = Plan::best_estimate(trip);
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
