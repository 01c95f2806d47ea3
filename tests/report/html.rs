//! The HTML report: what it says, that it holds together, and that no name breaks out of it.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use drystage::io::{json as trip_file, tracks};
use drystage::model::vocabulary::UnitSystem;
use drystage::model::{Trip, check};
use drystage::plan::{Effort, Plan};
use drystage::present::card::check_lines;
use drystage::present::number::Units;
use drystage::report::{Case, html, text};
use proptest::prelude::*;
use serde_json::{Value, json};

const METRIC: Units = Units(UnitSystem::Metric);

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn trip(path: &str) -> Trip {
    let path = root().join(path);
    let mut trip = trip_file::read(&path).unwrap();
    tracks::read(&mut trip, path.parent().unwrap()).unwrap();
    trip
}

fn example() -> Value {
    let text = fs::read_to_string(root().join("tests/data/example-trip.json")).unwrap();
    serde_json::from_str(&text).unwrap()
}

fn of(document: Value) -> String {
    let plan = Plan::best_estimate(check::read(document).unwrap());
    html::report(Case::as_stated(&plan), METRIC)
}

/// A plan with its odds, of a few samples.
fn sampled(trip: Trip) -> Plan {
    let effort = Effort {
        blocks: 2,
        ..Effort::FIRST
    };
    Plan::at_target(trip, effort)
}

/// Every sample and the example, one by one and side by side, and one with its odds.
fn pages() -> Vec<(String, String)> {
    let mut paths: Vec<PathBuf> = fs::read_dir(root().join("sample-routes"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ext| ext == "json"))
        .collect();
    paths.push(root().join("tests/data/example-trip.json"));
    paths.sort();
    let sure = sampled(trip("sample-routes/plateau-loop.json"));
    let mut pages = vec![(
        "with odds".to_owned(),
        html::report(Case::as_stated(&sure), METRIC),
    )];
    for path in paths {
        let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
        let trip = trip(path.strip_prefix(root()).unwrap().to_str().unwrap());
        let what_ifs: Vec<String> = trip
            .what_ifs
            .iter()
            .flatten()
            .map(|one| one.name.clone())
            .collect();
        let plans: Vec<Plan> = what_ifs
            .iter()
            .map(|name| Plan::best_estimate(trip.with_what_if(name).unwrap()))
            .collect();
        let plain = Plan::best_estimate(trip);
        let mut cases = vec![Case::as_stated(&plain)];
        cases.extend(
            plans
                .iter()
                .zip(what_ifs.chunks(1))
                .map(|(plan, what_ifs)| Case {
                    plan,
                    what_ifs,
                    set: &[],
                }),
        );
        pages.push((
            format!("{name}, side by side"),
            html::comparison(&cases, METRIC),
        ));
        let us = Units(UnitSystem::Us);
        pages.push((format!("{name} us"), html::report(cases[0], us)));
        pages.push((name, html::report(cases[0], METRIC)));
    }
    pages
}

/// The values of an attribute.
fn values<'a>(page: &'a str, attribute: &str) -> Vec<&'a str> {
    page.split(&format!(" {attribute}=\""))
        .skip(1)
        .map(|rest| rest.split('"').next().unwrap())
        .collect()
}

/// The page without drawings and style, a line for each element.
fn without_drawings(page: &str) -> String {
    let mut rest = page;
    let mut text = String::new();
    while let Some((before, after)) = rest.split_once("<svg") {
        text += before;
        text += "<svg/>";
        rest = after.split_once("</svg>").unwrap().1;
    }
    text += rest;
    let (head, style) = text.split_once("<style>").unwrap();
    let body = style.split_once("</style>").unwrap().1;
    format!("{head}{body}").replace("><", ">\n<")
}

#[test]
fn the_page_as_it_is_written() {
    let plan = Plan::best_estimate(trip("tests/data/example-trip.json"));
    let page = html::report(Case::as_stated(&plan), METRIC);
    insta::assert_snapshot!("example-trip", without_drawings(&page));
    for (class, name) in [("wide-strip", "strip"), ("narrow-strip", "strip-narrow")] {
        let strip = page
            .split(&format!("<svg class=\"strip {class}\""))
            .nth(1)
            .unwrap();
        let strip = strip.split("</svg>").next().unwrap().replace("><", ">\n<");
        insta::assert_snapshot!(format!("example-trip-{name}"), strip);
    }
    let map = page.split("<svg class=\"map\"").nth(1).unwrap();
    let map = map.split("</svg>").next().unwrap().replace("><", ">\n<");
    insta::assert_snapshot!("example-trip-map", map);
}

#[test]
fn a_page_asks_for_nothing_and_refers_only_to_itself() {
    for (name, page) in pages() {
        for word in [
            "<script",
            "http:",
            "https:",
            "@import",
            " src=",
            "javascript:",
            "url(\"",
        ] {
            assert!(!page.contains(word), "{name}: {word}");
        }
        let ids = values(&page, "id");
        let unique: BTreeSet<&str> = ids.iter().copied().collect();
        assert_eq!(ids.len(), unique.len(), "{name}: an id is given twice");
        let mut referred: Vec<&str> = values(&page, "aria-labelledby")
            .into_iter()
            .flat_map(|list| list.split(' '))
            .collect();
        referred.extend(
            values(&page, "fill")
                .iter()
                .filter_map(|fill| fill.strip_prefix("url(#")?.strip_suffix(')')),
        );
        for href in values(&page, "href") {
            assert!(href == "data:," || href.starts_with('#'), "{name}: {href}");
            referred.extend(href.strip_prefix('#'));
        }
        for id in referred {
            assert!(unique.contains(id), "{name}: nothing is called {id}");
        }
    }
}

/// The page says how sure the plan is, in figures and in the strip.
#[test]
fn the_odds_are_on_the_page() {
    let plan = sampled(trip("sample-routes/plateau-loop.json"));
    let page = html::report(Case::as_stated(&plan), METRIC);
    for words in [
        "How sure",
        "run out of fuel",
        "Fuel needed in cans",
        "What the fuel in cans depends on",
        "at least this in 95 % of trips",
        "class=\"tank-tint\"",
    ] {
        assert!(page.contains(words), "{words}");
    }
    let doubt = plan.doubt.as_ref().unwrap();
    let rows = page
        .split("Fuel on arrival, L")
        .nth(1)
        .unwrap()
        .split("</table>")
        .next()
        .unwrap();
    assert_eq!(rows.matches("<tr>").count(), doubt.bands.len() + 1);
}

/// Every element that has to be closed is, in order; drawings have a name for those who do not see them.
#[test]
fn a_page_is_well_formed_and_its_drawings_have_names() {
    const VOID: [&str; 4] = ["meta", "link", "br", "input"];
    // Closed by the next one of them, or with their parent (HTML, 13.1.2.4 Optional tags).
    let closed_by = |word: &str| -> &[&str] {
        match word {
            "li" => &["li"],
            "td" | "th" => &["td", "th"],
            "tr" => &["td", "th", "tr"],
            _ => &[],
        }
    };
    for (name, page) in pages() {
        let mut open = Vec::new();
        let body = page.strip_prefix("<!DOCTYPE html>").unwrap();
        for tag in body.split('<').skip(1) {
            let tag = tag.split('>').next().unwrap();
            let word = tag.split_whitespace().next().unwrap();
            if let Some(closed) = word.strip_prefix('/') {
                while open
                    .last()
                    .is_some_and(|last| ["li", "td", "th", "tr"].contains(last))
                {
                    open.pop();
                }
                assert_eq!(open.pop(), Some(closed), "{name}");
                continue;
            }
            while open
                .last()
                .is_some_and(|last| closed_by(word).contains(last))
            {
                open.pop();
            }
            if !VOID.contains(&word) && !tag.ends_with('/') {
                open.push(word);
            }
        }
        assert_eq!(open, Vec::<&str>::new(), "{name}");
        for tag in page.split('<').skip(1) {
            let tag = tag.split('>').next().unwrap();
            assert!(tag.matches(" class=").count() < 2, "{name}: {tag}");
        }
        for svg in page.split("<svg").skip(1) {
            let head = svg.split('>').next().unwrap();
            let named = head.contains("aria-labelledby") || head.contains("aria-label=");
            assert!(
                named || head.contains("aria-hidden=\"true\""),
                "{name}: {head}"
            );
        }
        for table in page.split("<table").skip(1) {
            assert!(
                table.split("</table>").next().unwrap().contains("<caption"),
                "{name}"
            );
        }
        assert!(!page.contains("NaN") && !page.contains("inf "), "{name}");
    }
}

/// The names of all tags in order, closing ones with their slash.
fn tags(page: &str) -> Vec<&str> {
    page.split('<')
        .skip(1)
        .map(|rest| {
            rest.split(|c: char| c == '>' || c.is_whitespace())
                .next()
                .unwrap()
        })
        .collect()
}

/// The page says what the text report says: same sentences from the same place.
#[test]
fn no_sentence_of_the_text_report_is_missing() {
    for path in [
        "sample-routes/plateau-loop.json",
        "sample-routes/long-dry-stage.json",
    ] {
        let plan = Plan::best_estimate(trip(path));
        let page = html::report(Case::as_stated(&plan), METRIC);
        let page = page
            .replace("&quot;", "\"")
            .replace("&amp;", "&")
            .replace("&gt;", ">")
            .replace("&lt;", "<")
            .replace('\u{a0}', " ");
        let report = text::report(Case::as_stated(&plan), METRIC);
        let mut compared = 0;
        let (_, lists) = report.split_once("FUEL STOPS").unwrap();
        // These are tables on the page.
        let (before, tables) = lists.split_once("WHAT THE FUEL IN CANS IS FOR").unwrap();
        let (_, after) = tables.split_once("LOAD").unwrap();
        for item in (before.to_owned() + after).split("\n- ").skip(1) {
            let sentence = item.split("\n\n").next().unwrap();
            let sentence = sentence.split_whitespace().collect::<Vec<_>>().join(" ");
            // A finding has its severity in an element of its own.
            let sentence = sentence
                .split_once(": ")
                .map_or(sentence.as_str(), |(word, rest)| {
                    if ["no-go", "caution", "note"].contains(&word) {
                        rest
                    } else {
                        &sentence
                    }
                });
            assert!(page.contains(sentence), "{sentence}");
            compared += 1;
        }
        assert!(compared > 10, "{compared}");
    }
}

/// The text of a page between two ids, or from one to the end of its section.
fn part<'a>(page: &'a str, id: &str) -> &'a str {
    let (_, part) = page.split_once(&format!("id=\"{id}\"")).expect(id);
    part.split("</section>").next().unwrap()
}

/// The words of a part of a page, between single spaces.
fn words(part: &str) -> String {
    let texts = part
        .split('<')
        .map(|piece| piece.split_once('>').map_or(piece, |(_, text)| text));
    let text = texts.collect::<Vec<_>>().join(" ").replace('\u{a0}', " ");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What the fuel in cans is for and what to do at a dry stop have the figures of the text report, in tables.
#[test]
fn the_ledger_and_dry_stops_are_tables() {
    let plan = sampled(trip("tests/data/example-trip.json"));
    let page = html::report(Case::as_stated(&plan), METRIC);
    let report = text::report(Case::as_stated(&plan), METRIC);
    let list = |title: &str, next: &str| -> Vec<String> {
        let (_, list) = report.split_once(title).unwrap();
        let list = list.split_once(next).unwrap().0;
        let items = list.split("\n- ").skip(1);
        items
            .map(|item| item.split_whitespace().collect::<Vec<_>>().join(" "))
            .collect()
    };
    let ledger = words(part(&page, "fuel-in-cans"));
    let parts = list("WHAT THE FUEL IN CANS IS FOR", "IF A FUEL STOP IS DRY");
    assert!(parts.len() > 4, "{parts:?}");
    for line in &parts {
        let (name, rest) = line.split_once(": ").unwrap();
        let litres = rest.split(' ').next().unwrap();
        assert!(
            ledger.contains(name) && ledger.contains(litres),
            "{line} in {ledger}"
        );
        if let Some((_, without)) = rest.split_once("without it ") {
            assert!(
                ledger.contains(without.trim_end_matches('.')),
                "{line} in {ledger}"
            );
        }
    }
    assert_eq!(
        part(&page, "fuel-in-cans")
            .matches("<rect class=\"part")
            .count(),
        parts.len()
    );
    let dry = words(part(&page, "dry"));
    let stops = list("IF A FUEL STOP IS DRY", "HOW SURE");
    assert!(!stops.is_empty());
    for line in &stops {
        for share in line.split(' ').filter(|word| {
            word.contains('.') && word.trim_start_matches('<').parse::<f64>().is_ok()
        }) {
            assert!(dry.contains(share), "{share} of {line} in {dry}");
        }
        let (_, recommended) = line.split_once("Recommended: ").unwrap();
        let recommended = recommended.split('.').next().unwrap();
        assert!(dry.contains(recommended), "{line} in {dry}");
    }
    assert_eq!(part(&page, "dry").matches("<tr>").count(), stops.len() + 1);
}

/// The card: each fuel check with its figures in driving order, the decision point as a row of its own.
#[test]
fn the_card_has_every_fuel_check() {
    for name in ["plateau-loop", "long-dry-stage", "forest-weekend"] {
        let plan = sampled(trip(&format!("sample-routes/{name}.json")));
        let page = html::report(Case::as_stated(&plan), METRIC);
        let card = page.split("<nav").next().unwrap();
        let mut rest = card.split_once("<table class=\"places\">").unwrap().1;
        let checks = check_lines(&plan, METRIC);
        assert!(checks.len() > 5, "{name}");
        for check in &checks {
            let km = check.at.trim_start_matches("km ");
            let (_, after) = rest
                .split_once(&format!("<td class=\"km\">{km}<"))
                .expect(&check.at);
            let row = words(
                after
                    .split("<tr")
                    .next()
                    .unwrap()
                    .split("</tbody>")
                    .next()
                    .unwrap(),
            );
            assert!(
                row.contains(&format!("5 % {}", check.low.number)),
                "{name}: {row}"
            );
            if let Some((level, _)) = &check.turn_back {
                let below = format!("back below {} {}", level.fuel.number, level.gauge);
                assert!(row.contains(&below), "{name}: {row}");
            }
            if let Some(needed) = &check.needed {
                assert!(
                    row.ends_with(&format!("needed {}", needed.number)),
                    "{name}: {row}"
                );
            }
            rest = after;
        }
        assert_eq!(
            card.matches("DECIDE HERE: continue with ").count(),
            1,
            "{name}"
        );
        assert_eq!(
            card.matches("<tr class=\"decide says\">").count(),
            1,
            "{name}"
        );
    }
}

/// The first sample of each kind: where the fuel falls below the reserve is hatched and marked, and nowhere else.
#[test]
fn a_breach_is_marked_on_the_strip() {
    let strip = |name: &str| {
        let plan = sampled(trip(&format!("sample-routes/{name}.json")));
        let page = html::report(Case::as_stated(&plan), METRIC);
        page.split("wide-strip")
            .nth(2)
            .unwrap()
            .split("</svg>")
            .next()
            .unwrap()
            .to_owned()
    };
    let fine = strip("plateau-loop");
    assert!(!fine.contains("url(#short)") && !fine.contains("sign cross"));
    let short = strip("dune-coast");
    assert!(short.contains("class=\"short\"") && short.contains("sign cross"));
    assert!(short.contains(">below reserve from km "), "{short}");
    // Two days at one place: its name once, and both days.
    assert_eq!(short.matches(">Gull Camp</text>").count(), 1);
    for day in ["day 1", "day 2", "day 3\u{2013}4", "day 5"] {
        assert!(short.contains(&format!(">{day}</text>")), "{day}: {short}");
    }
}

#[test]
fn dunes_differ_from_sand() {
    let mut document = example();
    let of = |document: &Value| {
        let page = of(document.clone());
        ["sand", "dunes"].map(|pattern| page.contains(&format!("fill=\"url(#{pattern})\"")))
    };
    document["legs"][3]["sand_share"] = json!(0.4);
    document["legs"][3]
        .as_object_mut()
        .unwrap()
        .remove("dune_share");
    assert_eq!(of(&document), [true, false]);
    document["legs"][3]["dune_share"] = json!(0.2);
    assert_eq!(of(&document), [true, true]);
}

/// Samples are small enough to be sent from where there is hardly any signal.
#[test]
fn samples_take_less_than_80_kb() {
    for name in [
        "plateau-loop",
        "long-dry-stage",
        "dune-coast",
        "forest-weekend",
    ] {
        let plan = sampled(trip(&format!("sample-routes/{name}.json")));
        let page = html::report(Case::as_stated(&plan), METRIC);
        assert!(page.len() < 80_000, "{name}: {}", page.len());
    }
}

/// Relative luminance (WCAG 2.2).
fn luminance(hex: &str) -> f64 {
    let part = |at: usize| {
        let value = f64::from(u8::from_str_radix(&hex[at..at + 2], 16).unwrap()) / 255.0;
        if value <= 0.04045 {
            value / 12.92
        } else {
            ((value + 0.055) / 1.055).powf(2.4)
        }
    };
    0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5)
}

fn contrast(one: &str, other: &str) -> f64 {
    let [one, other] = [luminance(one), luminance(other)];
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

/// Light, dark and printed: text at least 4.5 to 1, shapes 3 to 1, tints 1.5 to 1 from the ground and their full tone.
#[test]
fn colours_stand_out_from_their_ground() {
    let page = of(example());
    let palettes: Vec<&str> = page
        .split(":root{")
        .skip(1)
        .map(|rest| rest.split('}').next().unwrap())
        .collect();
    assert_eq!(palettes.len(), 3);
    for palette in palettes {
        let colour = |name: &str| {
            palette
                .split_once(&format!("--{name}:"))
                .expect(name)
                .1
                .split(';')
                .next()
                .unwrap()
        };
        let paper = colour("paper");
        for name in ["ink", "dim", "short", "back", "link"] {
            assert!(
                contrast(colour(name), paper) >= 4.5,
                "{name} {}",
                colour(name)
            );
        }
        for name in ["tank", "cans"] {
            let (full, tint) = (colour(name), colour(&format!("{name}-tint")));
            assert!(contrast(full, paper) >= 3.0, "{name} {full}");
            assert!(contrast(tint, paper) >= 1.5, "{name} {tint}");
            assert!(contrast(tint, full) >= 1.5, "{name} {tint}");
        }
        // Hatched, so that a grey print has them apart as well.
        assert!(contrast(colour("cans-line"), colour("cans")) >= 1.5);
    }
}

/// The example with other names, all of the same width.
fn named(names: &[String]) -> Value {
    let mut trip = example();
    let mut each = names.iter().cycle();
    let mut next = || json!(each.next().unwrap());
    trip["name"] = next();
    trip["vehicle"]["name"] = next();
    trip["load"]["people"][0]["name"] = next();
    trip["load"]["gear"][3]["name"] = next();
    trip["rules"]["currency"] = json!(names[0].chars().take(6).collect::<String>());
    trip["legs"][1]["fuel"]["note"] = next();
    trip["legs"][3]["note"] = next();
    let (home, far) = (next(), next());
    trip["start"]["name"] = home.clone();
    trip["legs"][5]["to"] = home;
    trip["legs"][2]["to"] = far;
    trip["what_ifs"] = json!([]);
    trip
}

#[test]
fn no_name_breaks_out_of_the_page() {
    let harmless: Vec<String> = (0..9)
        .map(|n| format!("harmless name no {n} of nine"))
        .collect();
    let hostile: Vec<String> = [
        "<script>alert(1)</script> x",
        "\"><img src=x onerror=a()> y",
        "'};</style></title><b>bold<",
        "</text></svg><h1>big</h1>xx",
        "&lt;b&gt; &amp; &#x3c;i&#62;",
        "--><!--]]><![CDATA[<u>xxxxx",
        "\u{202e}<a href=javascript:x>z",
        "` onload=`alert(2)` <svg on",
        "<iframe></iframe> <object>",
    ]
    .map(str::to_owned)
    .to_vec();
    let (calm, wild) = (of(named(&harmless)), of(named(&hostile)));
    assert_eq!(tags(&wild), tags(&calm));
    assert_eq!(wild.matches('"').count(), calm.matches('"').count());
    assert!(!wild.contains('\u{202e}'));
    assert!(wild.contains("&lt;script&gt;alert(1)&lt;/script&gt;"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn no_random_name_breaks_out_of_the_page(names in prop::collection::vec("[<>&\"'/a-z =!\\[\\]-]{24}", 9)) {
        let harmless: Vec<String> = (0..9).map(|n| format!("harmless name no {n} of 9.")).collect();
        // Names that are the same once blanks at their ends are gone would be one place.
        prop_assume!(check::read(named(&names)).is_ok());
        let (calm, wild) = (of(named(&harmless)), of(named(&names)));
        prop_assert_eq!(wild.matches('<').count(), calm.matches('<').count());
        prop_assert_eq!(wild.matches('"').count(), calm.matches('"').count());
    }
}
