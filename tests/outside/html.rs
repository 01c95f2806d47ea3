//! The HTML report in a browser: no message on its console, nothing wider than a phone or than paper,
//! pages that print.
//!
//! Needs `chromium` and `pdftotext` on the path; `.ci/run` installs them.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use drystage::io::{json, tracks};
use drystage::model::vocabulary::UnitSystem;
use drystage::plan::{Effort, Plan};
use drystage::present::day::cards;
use drystage::present::number::Units;
use drystage::report::{Case, html};

/// Width of a small phone; of A4 and of Letter between margins of 12 mm, at 96 pixels to the inch.
const WIDTHS: [(&str, u32); 4] = [
    ("phone", 360),
    ("A4", 702),
    ("Letter", 725),
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

/// A name, a page, and texts of which the second must stand on the same sheet after the first.
type Page = (String, String, Vec<(String, String)>);

/// Pages of the samples, single and side by side.
fn pages() -> Vec<Page> {
    let units = Units(UnitSystem::Metric);
    let mut pages = Vec::new();
    for name in ["plateau-loop", "long-dry-stage"] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("sample-routes/{name}.json"));
        let mut trip = json::read(&path).unwrap();
        tracks::read(&mut trip, path.parent().unwrap()).unwrap();
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
        let mut wholes: Vec<(String, String)> = cards(&plan, units)
            .iter()
            .map(|day| {
                let head = format!("Day {}: {} to", day.number, day.from);
                (head, day.points.last().unwrap().at.clone())
            })
            .collect();
        wholes.push((
            "Each limit at its heaviest departure".to_owned(),
            "rear carrier".to_owned(),
        ));
        pages.push((name.to_owned(), html::report(cases[0], units), wholes));
        pages.push((
            format!("{name}-compared"),
            html::comparison(&cases, units),
            Vec::new(),
        ));
    }
    pages
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
    for (name, page, _) in pages() {
        let path = write(folder.path(), &format!("{name}.html"), &measuring(&page));
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

/// On A4 and Letter, as the printer sees it: a page for each day's card at most, and nothing lost.
#[test]
fn it_prints_on_a4_and_letter() {
    let folder = tempfile::tempdir().unwrap();
    for (name, page, wholes) in pages() {
        for size in ["A4", "letter"] {
            let sized = page.replace("@page {", &format!("@page {{ size: {size};"));
            assert_ne!(sized, page);
            let path = write(folder.path(), "print.html", &sized);
            let pdf = folder.path().join("print.pdf");
            let output = browser(folder.path())
                .arg("--no-pdf-header-footer")
                .arg(format!("--print-to-pdf={}", pdf.display()))
                .arg(format!("file://{}", path.display()))
                .output()
                .expect("chromium is on the path");
            assert_eq!(console(&output.stderr), Vec::<String>::new(), "{name}");
            let text = Command::new("pdftotext")
                .arg("-layout")
                .arg(&pdf)
                .arg("-")
                .output();
            let text = text.expect("pdftotext is on the path").stdout;
            let text = String::from_utf8(text).unwrap();
            let pages: Vec<&str> = text
                .split('\u{c}')
                .filter(|page| !page.trim().is_empty())
                .collect();
            assert!(
                (2..=9).contains(&pages.len()),
                "{name} on {size}: {} pages",
                pages.len()
            );
            // The first page answers the question, the last has the last caution.
            assert!(
                ["GO", "SET OUT", "Side by side"]
                    .iter()
                    .any(|word| pages[0].contains(word)),
                "{name} on {size}"
            );
            assert!(
                text.contains("ask before you cross a border"),
                "{name} on {size}"
            );
            // A day's card stands whole on one page, its heading with its last row; so does a table with its head.
            for (head, end) in &wholes {
                let on = pages.iter().find(|page| page.contains(head));
                let whole = on.is_some_and(|page| page.split(head).nth(1).unwrap().contains(end));
                assert!(whole, "{name} on {size}: {head} without {end}");
            }
        }
    }
}
