//! One quantity, one figure: the printed text, the page and the map files against the JSON report.

use drystage::model::vocabulary::UnitSystem;
use drystage::plan::{Effort, Plan};
use drystage::present::number::Units;
use drystage::report::{Case, geojson, gpx, html, json, text};
use serde_json::Value;

use super::validation::{SAMPLES, sample};

const METRIC: Units = Units(UnitSystem::Metric);

/// The surfaces of one plan, each as words between single spaces.
struct Surfaces {
    report: Value,
    lines: Vec<String>,
    text: String,
    page: String,
    gpx: String,
    geojson: Value,
}

/// The same with single spaces.
fn spaced(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The words of a page or an XML file, without its marks.
fn read_aloud(page: &str) -> String {
    let mut words = String::new();
    for (at, piece) in page.split('<').enumerate() {
        let shown = if at == 0 {
            piece
        } else {
            piece.split_once('>').map_or("", |(_, shown)| shown)
        };
        words.push_str(shown);
        words.push(' ');
    }
    let plain = words
        .replace('\u{a0}', " ")
        .replace("&quot;", "\"")
        .replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&amp;", "&");
    spaced(&plain)
}

impl Surfaces {
    fn new(name: &str) -> Self {
        let plan = Plan::at_target(sample(name), Effort::FIRST);
        let case = Case::as_stated(&plan);
        let text = text::report(case, METRIC);
        Self {
            report: serde_json::from_str(&json::report(case)).unwrap(),
            lines: text.lines().map(str::to_owned).collect(),
            text: spaced(&text),
            page: read_aloud(&html::report(case, METRIC)),
            gpx: read_aloud(&gpx::file(case, METRIC).unwrap().text),
            geojson: serde_json::from_str(&geojson::file(case, METRIC).unwrap().text).unwrap(),
        }
    }

    /// Names of the map points at which to turn back.
    fn turn_back_points(&self) -> Vec<String> {
        let features = self.geojson["features"].as_array().unwrap().iter();
        let properties = features.map(|feature| &feature["properties"]);
        let points = properties.filter(|of| of["kind"] == "turn-back point");
        points
            .map(|of| of["name"].as_str().unwrap().to_owned())
            .collect()
    }
}

fn kilometre(km: f64) -> String {
    format!("km {:.0}", (km + 1e-6).floor())
}

#[test]
fn the_verdict_and_the_cans_are_the_same_everywhere() {
    for name in SAMPLES {
        let surfaces = Surfaces::new(name);
        let verdict = surfaces.report["verdict"]["says"].as_str().unwrap();
        let cans = &surfaces.report["cans"];
        let needed = cans["needed_l"].as_f64().unwrap();
        let needed = format!("{:.1} L", (needed * 10.0 - 1e-5).ceil() / 10.0);
        for (surface, words) in [("text", &surfaces.text), ("page", &surfaces.page)] {
            assert!(words.contains(verdict), "{name}, {surface}: {verdict}");
            let is_needed = cans["needed_l"].as_f64().unwrap() > 0.0;
            assert!(
                !is_needed || words.contains(&needed),
                "{name}, {surface}: {needed}"
            );
        }
        let go = surfaces.report["verdict"]["go"] == true;
        assert_eq!(verdict.starts_with("GO"), go, "{name}: {verdict}");
    }
}

#[test]
fn turn_back_points_are_the_same_everywhere() {
    for name in SAMPLES {
        let surfaces = Surfaces::new(name);
        let stages = surfaces.report["stages"].as_array().unwrap();
        let at_target: Vec<String> = stages
            .iter()
            .flat_map(|stage| {
                [
                    &stage["turn_back_km"],
                    &stage["unconfirmed"]["turn_back_km"],
                ]
            })
            .filter_map(|km| Some(kilometre(km.as_f64()?)))
            .collect();
        // A point of the map files is one of the stages'.
        let points = surfaces.turn_back_points();
        for point in &points {
            let known = at_target.iter().any(|km| is_in(km, point));
            assert!(known, "{name}: {point}, of {at_target:?}");
            assert!(surfaces.gpx.contains(point.as_str()), "{name}: {point}");
        }
        // A point within a stage is told on paper and on the map; one at its end is no point.
        for stage in stages {
            let Some(km) = stage["turn_back_km"].as_f64() else {
                continue;
            };
            let end = stages
                .iter()
                .take_while(|other| other != &stage)
                .chain([stage])
                .map(|stage| stage["distance_km"].as_f64().unwrap())
                .sum::<f64>();
            if km < end - 1.0 {
                let km = kilometre(km);
                for (surface, words) in [("text", &surfaces.text), ("page", &surfaces.page)] {
                    assert!(is_in(&km, words), "{name}, {surface}: {km}");
                }
                let on_map = points.iter().any(|point| is_in(&km, point));
                assert!(points.is_empty() || on_map, "{name}: {km}, of {points:?}");
            }
        }
    }
}

/// Whether words contain a figure that is no part of a longer one.
fn is_in(figure: &str, words: &str) -> bool {
    words.match_indices(figure).any(|(at, _)| {
        let next = words[at + figure.len()..].chars().next();
        next.is_none_or(|next| !next.is_ascii_digit())
    })
}

/// The litres of a fuel check are in its row, or in the lines below it.
#[test]
fn fuel_checks_are_the_same_on_paper_and_on_the_page() {
    for name in SAMPLES {
        let surfaces = Surfaces::new(name);
        for check in surfaces.report["fuel_checks"].as_array().unwrap() {
            let key = if check["kind"] == "after" {
                "finish_l"
            } else {
                "continue_l"
            };
            let Some(litres) = check[key].as_f64() else {
                continue;
            };
            let figure = format!("{:.0}", (litres - 1e-6).ceil());
            let km = format!("{:.0}", check["at_km"].as_f64().unwrap());
            let place = check["place"].as_str().unwrap();
            let row = surfaces.lines.iter().position(|line| {
                let mut words = line.split_whitespace().take(3);
                // A long name may be cut, the more so after "en route to".
                let kept = if check["place_number"].is_null() {
                    3
                } else {
                    10
                };
                let place: String = place.chars().take(kept).collect();
                line.contains(&place) && words.any(|word| word == km)
            });
            let row = row.unwrap_or_else(|| panic!("{name}: no row of km {km}, {place}"));
            let block = spaced(&surfaces.lines[row..surfaces.lines.len().min(row + 3)].join(" "));
            let stands = |words: &str| {
                [" (", " L", " "]
                    .iter()
                    .any(|after| words.contains(&format!(" {figure}{after}")))
            };
            assert!(stands(&block), "{name}: {key} {figure} at km {km}: {block}");
            assert!(stands(&surfaces.page), "{name}: {key} {figure} on the page");
        }
    }
}

/// What one trip in twenty has less than on arrival is one figure among the fuel checks and where it is said how sure the plan
/// is.
#[test]
fn arrivals_are_the_same_in_both_tables() {
    for name in SAMPLES {
        let surfaces = Surfaces::new(name);
        let lines = &surfaces.lines;
        let how_sure = lines
            .iter()
            .position(|line| line.contains("reserve used") && line.starts_with("leg"));
        let how_sure = how_sure.unwrap();
        for check in surfaces.report["fuel_checks"].as_array().unwrap() {
            let Some(place_number) = check["place_number"].as_u64() else {
                continue;
            };
            let low = check["expected_p05_l"].as_f64().unwrap();
            let low = format!("{:.0}", (low + 1e-6).floor());
            let row = &lines[how_sure + usize::try_from(place_number).unwrap()];
            let there: String = row.chars().skip(26).take(7).collect();
            assert_eq!(there.trim(), low, "{name}: {row}");
            let km = format!("{:.0}", check["at_km"].as_f64().unwrap());
            // A decision point has its mark before it.
            let is_row = |line: &&String| {
                let row = line.trim_start_matches('>');
                row.split_whitespace().next() == Some(km.as_str())
            };
            let mut rows = lines[..how_sure].iter().filter(is_row);
            assert!(
                rows.any(|line| line.split_whitespace().any(|word| word == low)),
                "{name}: {low} at km {km}"
            );
        }
    }
}
