//! The HTML report in a browser: no message on its console, nothing wider than a phone or than paper, pages that print,
//! the card on page 1, nothing that axe-core finds.
//!
//! Needs `chromium` and `pdftotext` on the path, and axe-core in `target/outside`; `.ci/run` installs them.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use drystage::io::{json, tracks};
use drystage::model::vocabulary::UnitSystem;
use drystage::model::{Trip, check};
use drystage::plan::{Effort, Plan};
use drystage::present::number::Units;
use drystage::report::{Case, html};
use serde_json::Value;

/// Width of a small phone; of A4 and of Letter between margins of 10 mm, at 96 pixels to the inch.
const WIDTHS: [(&str, u32); 4] = [
    ("phone", 360),
    ("A4", 718),
    ("Letter", 740),
    ("screen", 1200),
];

/// The browser, with nothing of the user's and nothing from outside.
fn browser(folder: &Path) -> Command {
    let mut command = Command::new("chromium");
    command
        .args([
            "--headless=new",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-background-networking",
        ])
        .args([
            "--enable-logging=stderr",
            "--host-resolver-rules=MAP * ~NOTFOUND",
        ])
        .arg(format!(
            "--user-data-dir={}",
            folder.join("profile").display()
        ));
    command
}

const UNITS: Units = Units(UnitSystem::Metric);

fn sample(name: &str) -> Trip {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("sample-routes/{name}.json"));
    let mut trip = json::read(&path).unwrap();
    tracks::read(&mut trip, path.parent().unwrap()).unwrap();
    trip
}

fn page_of(trip: Trip) -> String {
    html::report(
        Case::as_stated(&Plan::at_target(trip, Effort::FIRST)),
        UNITS,
    )
}

/// Forty legs on ten days, laid out from a sample, with a fuel stop every `stops_every` legs.
fn forty_legs(stops_every: usize) -> Trip {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-routes/long-dry-stage.json");
    let mut trip: Value = serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap();
    let of_sample = trip["legs"].as_array().unwrap().clone();
    let legs = (0..40).map(|n| {
        let mut leg = of_sample[n % of_sample.len()].clone();
        for key in ["lat", "lon", "track", "fuel"] {
            leg.as_object_mut().unwrap().remove(key);
        }
        leg["to"] = format!("Place {} of a long way", n + 1).into();
        leg["day"] = (1 + n / 4).into();
        if n % stops_every == stops_every - 1 {
            leg["fuel"] = serde_json::json!({});
        }
        leg
    });
    trip["legs"] = legs.collect();
    for key in ["what_ifs", "log"] {
        trip.as_object_mut().unwrap().remove(key);
    }
    check::read(trip).unwrap()
}

/// A trip of forty legs, held to its printed pages and to its length on a phone.
const FORTY: &str = "forty legs";

/// Pages of the samples, single and side by side, and of a long trip.
fn pages() -> Vec<(String, String)> {
    let mut pages = vec![(FORTY.to_owned(), page_of(forty_legs(7)))];
    for name in [
        "plateau-loop",
        "long-dry-stage",
        "dune-coast",
        "forest-weekend",
    ] {
        let trip = sample(name);
        let what_if: Vec<String> = trip
            .what_ifs
            .iter()
            .flatten()
            .map(|one| one.name.clone())
            .collect();
        let changed: Vec<Plan> = what_if
            .iter()
            .map(|name| Plan::best_estimate(trip.with_what_if(name).unwrap()))
            .collect();
        let plan = Plan::at_target(trip, Effort::FIRST);
        let mut cases = vec![Case::as_stated(&plan)];
        cases.extend(
            changed
                .iter()
                .zip(what_if.chunks(1))
                .map(|(plan, what_ifs)| Case {
                    plan,
                    what_ifs,
                    set: &[],
                }),
        );
        pages.push((name.to_owned(), html::report(cases[0], UNITS)));
        pages.push((format!("{name}-compared"), html::comparison(&cases, UNITS)));
    }
    pages
}

/// The page with every section open.
fn opened(page: &str) -> String {
    page.replace("<details>", "<details open>")
}

fn escaped(page: &str) -> String {
    page.replace('&', "&amp;").replace('"', "&quot;")
}

/// A document that shows the page in frames of every width, on paper also as it prints, and writes beside each how
/// wide the page turned out and which elements stick out of it.
fn measuring(page: &str) -> String {
    let printed = page
        .replace("@media print", "@media all")
        .replace("@media screen and", "@media (width: 1px) and");
    let mut document = "<!DOCTYPE html><body>".to_owned();
    for (name, width) in WIDTHS {
        for (how, page) in [("shown", page), ("printed", &printed)] {
            if how == "printed" && !["A4", "Letter"].contains(&name) {
                continue;
            }
            let _ = write!(
                document,
                "<iframe title=\"{name} {how}\" width=\"{width}\" height=\"800\" style=\"border:0\" srcdoc=\"{}\"></iframe>",
                escaped(page)
            );
        }
    }
    document
        + r#"<pre id="measured"></pre><script>
window.onload = () => {
  const lines = [...document.querySelectorAll("iframe")].map(frame => {
    const page = frame.contentDocument, width = page.documentElement.clientWidth;
    const inScroller = e => { for (; e; e = e.parentElement) if (getComputedStyle(e).overflowX === "auto") return true; };
    const out = [...page.body.querySelectorAll("*")].filter(e => {
      const box = e.getBoundingClientRect();
      return box.right > width + 1 && box.width > 1 && !inScroller(e);
    }).map(e => e.tagName + "." + (e.getAttribute("class") || "")).slice(0, 5);
    const low = [...page.body.querySelectorAll("p, li, td, th, figcaption")].filter(e => parseFloat(getComputedStyle(e).fontSize) < 10).length;
    return [frame.title, page.documentElement.scrollWidth - width, low, out.join(" ")].join("|");
  });
  document.getElementById("measured").textContent = lines.join("\n");
};
</script>"#
}

/// What the browser writes about the page itself.
fn console(stderr: &[u8]) -> Vec<String> {
    String::from_utf8_lossy(stderr)
        .lines()
        .filter(|line| line.contains("CONSOLE"))
        .map(str::to_owned)
        .collect()
}

fn write(folder: &Path, name: &str, text: &str) -> PathBuf {
    let path = folder.join(name);
    fs::write(&path, text).unwrap();
    path
}

#[test]
fn nothing_sticks_out_on_a_phone_or_on_paper_and_the_console_is_silent() {
    let folder = tempfile::tempdir().unwrap();
    for (name, page) in pages().into_iter().filter(|(name, _)| name != FORTY) {
        let path = write(folder.path(), "measured.html", &measuring(&opened(&page)));
        let output = browser(folder.path())
            .args([
                "--window-size=1600,1200",
                "--virtual-time-budget=10000",
                "--dump-dom",
            ])
            .arg(format!("file://{}", path.display()))
            .output()
            .expect("chromium is on the path");
        assert_eq!(console(&output.stderr), Vec::<String>::new(), "{name}");
        let document = String::from_utf8_lossy(&output.stdout).into_owned();
        let (_, measured) = document.rsplit_once("<pre id=\"measured\">").expect(&name);
        let measured = measured.split("</pre>").next().unwrap();
        let lines: Vec<&str> = measured.lines().collect();
        assert_eq!(lines.len(), 6, "{name}: {measured}");
        for line in lines {
            let fields: Vec<&str> = line.split('|').collect();
            assert_eq!(fields[1..], ["0", "0", ""], "{name}: {line}");
        }
    }
}

/// What a script writes that runs in a page of some width, loaded in a frame, as a phone is narrower than any window.
fn in_frame(folder: &Path, width: u32, page: &str, script: &str) -> String {
    let document = format!(
        r#"<!DOCTYPE html><body><iframe width="{width}" height="800" style="border:0" srcdoc="{}"></iframe><pre id="measured"></pre><script>
window.onload = () => {{
  const page = document.querySelector("iframe").contentDocument;
  document.getElementById("measured").textContent = (() => {{ {script} }})();
}};
</script>"#,
        escaped(page)
    );
    let path = write(folder, "frame.html", &document);
    let output = browser(folder)
        .args([
            "--window-size=1600,1200",
            "--virtual-time-budget=10000",
            "--dump-dom",
        ])
        .arg(format!("file://{}", path.display()))
        .output()
        .expect("chromium is on the path");
    let document = String::from_utf8_lossy(&output.stdout).into_owned();
    let (_, measured) = document
        .rsplit_once("<pre id=\"measured\">")
        .expect("measured");
    measured.split("</pre>").next().unwrap().to_owned()
}

/// On a phone: the whole strip as wide as the page and without names, no figure of the card cut, fewer than 8,000
/// pixels.
#[test]
fn a_phone_shows_the_whole_strip_and_no_figure_is_cut() {
    let folder = tempfile::tempdir().unwrap();
    for (name, trip) in [
        ("plateau-loop", sample("plateau-loop")),
        ("dune-coast", sample("dune-coast")),
        (FORTY, forty_legs(2)),
    ] {
        let measured = in_frame(
            folder.path(),
            360,
            &page_of(trip),
            r#"
const shown = [...page.querySelectorAll("svg.strip")].filter(e => e.getBoundingClientRect().width > 0);
const strip = shown[0].getBoundingClientRect(), body = page.body.getBoundingClientRect();
const cut = [...page.querySelectorAll(".places td:not(.do)")].filter(e => e.scrollWidth > e.clientWidth + 1);
return [shown.length, Math.round(body.width - strip.width), shown[0].querySelectorAll("text.name").length, cut.length,
  page.documentElement.scrollHeight].join("|");"#,
        );
        let figures: Vec<i64> = measured
            .split('|')
            .map(|figure| figure.parse().unwrap())
            .collect();
        let [shown, beside, names, cut, tall] = figures[..] else {
            panic!("{measured}");
        };
        assert_eq!((shown, names, cut), (1, 0, 0), "{name}: {measured}");
        // The padding of the page.
        assert!((0..=24).contains(&beside), "{name}: {measured}");
        assert!(tall < 8000, "{name}: {measured}");
    }
}

/// A page of a print: its size in points, and its words with their left, upper, right and lower edge.
struct Sheet {
    height: f64,
    words: Vec<(String, [f64; 4])>,
}

impl Sheet {
    fn text(&self) -> String {
        let words: Vec<&str> = self.words.iter().map(|(word, _)| word.as_str()).collect();
        words.join(" ")
    }

    /// Height of the smallest letters of a run of words; `None` if it is not on the page.
    fn height_of(&self, text: &str) -> Option<f64> {
        let wanted: Vec<&str> = text.split_whitespace().collect();
        let runs = self.words.windows(wanted.len());
        let heights = runs
            .filter(|run| run.iter().map(|(word, _)| word).eq(wanted.iter()))
            .map(|run| {
                run.iter()
                    .map(|(_, edge)| edge[3] - edge[1])
                    .fold(f64::INFINITY, f64::min)
            });
        heights.reduce(f64::max)
    }

    /// How far down the page its last word is, as a share.
    fn filled(&self) -> f64 {
        let lowest = self
            .words
            .iter()
            .map(|(_, edge)| edge[3])
            .fold(0.0, f64::max);
        lowest / self.height
    }
}

/// The page on paper.
fn printed(folder: &Path, page: &str, size: &str) -> Vec<Sheet> {
    let sized = page.replace("@page{", &format!("@page{{size:{size};"));
    assert_ne!(sized, page);
    let path = write(folder, "print.html", &sized);
    let pdf = folder.join("print.pdf");
    let output = browser(folder)
        .arg("--no-pdf-header-footer")
        .arg(format!("--print-to-pdf={}", pdf.display()))
        .arg(format!("file://{}", path.display()))
        .output()
        .expect("chromium is on the path");
    assert_eq!(console(&output.stderr), Vec::<String>::new());
    let output = Command::new("pdftotext")
        .arg("-bbox")
        .arg(&pdf)
        .arg("-")
        .output();
    let text = String::from_utf8(output.expect("pdftotext is on the path").stdout).unwrap();
    let number = |tag: &str, name: &str| -> f64 {
        let (_, value) = tag.split_once(&format!("{name}=\"")).expect(tag);
        value.split('"').next().unwrap().parse().unwrap()
    };
    text.split("<page ")
        .skip(1)
        .map(|page| Sheet {
            height: number(page, "height"),
            words: page
                .split("<word ")
                .skip(1)
                .map(|word| {
                    let edges = ["xMin", "yMin", "xMax", "yMax"].map(|name| number(word, name));
                    let text = word.split('>').nth(1).unwrap().split('<').next().unwrap();
                    (text.replace("&amp;", "&").replace('\u{a0}', " "), edges)
                })
                .collect(),
        })
        .collect()
}

/// On A4 and Letter, as the printer sees it: nothing lost, the plateau sample on four pages, none of them half empty.
#[test]
fn it_prints_on_a4_and_letter() {
    let folder = tempfile::tempdir().unwrap();
    for (name, page) in pages() {
        for size in ["A4", "letter"] {
            let sheets = printed(folder.path(), &page, size);
            let most = if name.starts_with("forty") { 16 } else { 7 };
            assert!(
                (2..=most).contains(&sheets.len()),
                "{name} on {size}: {} pages",
                sheets.len()
            );
            let text: String = sheets.iter().map(Sheet::text).collect();
            assert!(
                text.contains("ask before you cross a border"),
                "{name} on {size}"
            );
            if name == "plateau-loop" {
                let filled: Vec<f64> = sheets.iter().map(Sheet::filled).collect();
                assert_eq!(filled.len(), 4, "{size}");
                assert!(
                    filled.iter().all(|&share| share > 0.6),
                    "{size}: {filled:?}"
                );
            }
        }
    }
}

/// Letters of 13 points between the highest and the lowest of any: pdftotext gives the font's ascent and descent, which for
/// common sans-serif fonts is 1.1 to 1.2 times the size.
const THIRTEEN_POINTS: f64 = 13.0 * 1.1;

/// GO or not; litres in which cans; where it is tightest; is the load legal; where to decide: on page 1, at 13 points or more,
/// with the whole card of a trip that has one.
#[test]
fn page_1_answers_the_five_questions() {
    let folder = tempfile::tempdir().unwrap();
    let cases: [(&str, &[&str], &str); 4] = [
        (
            "plateau-loop",
            &[
                "GO",
                "28.5 L",
                "(1 x 20 L,",
                "+3.1 L,",
                "+4 kg,",
                "at km 260",
                "DECIDE HERE:",
            ],
            "469",
        ),
        (
            "forest-weekend",
            &[
                "GO",
                "the tank alone:",
                "+5.2 L,",
                "at km 116",
                "DECIDE HERE:",
            ],
            "274",
        ),
        (
            "long-dry-stage",
            &["NO-GO", "75.9 L", "+7.7 L,", "64 kg over,", "at km 288"],
            "250",
        ),
        (
            "dune-coast",
            &["NO-GO", "37.6 L", "-5.0 L,", "+13 kg,", "at km 238"],
            "149",
        ),
    ];
    for (name, answers, last_km) in cases {
        let page = page_of(sample(name)).replace('\u{a0}', " ");
        for size in ["A4", "letter"] {
            let sheets = printed(folder.path(), &page, size);
            for answer in answers {
                let height = sheets[0].height_of(answer);
                assert!(
                    height.is_some_and(|height| height >= THIRTEEN_POINTS),
                    "{name} on {size}: {answer} is {height:?} high in {}",
                    sheets[0].text()
                );
            }
            // The card is whole: its last kilometre and its last words are there.
            assert!(
                sheets[0]
                    .height_of(last_km)
                    .is_some_and(|height| height >= THIRTEEN_POINTS),
                "{name} on {size}"
            );
            assert!(
                sheets[0].text().contains("stay with the vehicle."),
                "{name} on {size}: {}",
                sheets[0].text()
            );
        }
    }
}

/// No violation of the rules of axe-core, with sections as they are and with all of them open, light and dark.
#[test]
fn axe_finds_nothing() {
    let axe = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("target/outside/node_modules/axe-core/axe.min.js");
    let axe = fs::read_to_string(axe).expect("axe-core is in target/outside");
    let folder = tempfile::tempdir().unwrap();
    for (name, page) in pages() {
        for (scheme, page) in [("0", page.clone()), ("1", opened(&page))] {
            let tested = page.replace(
                "</body>",
                &format!(
                    r#"<pre id="measured"></pre><script>{axe}</script><script>
axe.run({{ resultTypes: ["violations"] }}).then(found => {{
  document.getElementById("measured").textContent = "rules: " + found.passes.length + found.violations.map(
    rule => "\n" + rule.id + ": " + rule.nodes[0].html).join("");
}});
</script></body>"#
                ),
            );
            let path = write(folder.path(), "axe.html", &tested);
            let output = browser(folder.path())
                .arg(format!("--blink-settings=preferredColorScheme={scheme}"))
                .args([
                    "--window-size=1280,1200",
                    "--virtual-time-budget=60000",
                    "--dump-dom",
                ])
                .arg(format!("file://{}", path.display()))
                .output()
                .expect("chromium is on the path");
            let document = String::from_utf8_lossy(&output.stdout).into_owned();
            let (_, found) = document.rsplit_once("<pre id=\"measured\">").expect(&name);
            let found = found.split("</pre>").next().unwrap();
            let (passed, violations) = found.split_once('\n').unwrap_or((found, ""));
            let passed: usize = passed.trim_start_matches("rules: ").parse().expect(found);
            assert!(passed > 15, "{name}: {found}");
            assert_eq!(violations, "", "{name}, colour scheme {scheme}");
        }
    }
}
