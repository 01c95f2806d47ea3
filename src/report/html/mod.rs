//! The HTML report: one self-contained page to read on a screen or a phone and to print.
//!
//! Page 1 on paper is the trip card. Sections that not everybody wants are closed, and print only while they are open. No
//! script, nothing fetched: style and drawings are in the page. Text comes from `present`, as in
//! every other report, and is escaped by the templates; names are freed of what acts on a reader's
//! screen. It prints on A4 and Letter, in grey, and takes the reader's light or dark scheme. What only a
//! program wants is in the JSON report.

mod card;
mod daylight;
mod days;
mod drawing;
mod home;
mod map;
mod odds;
mod range;
mod shapes;
mod side;
mod strip;
mod tables;
mod under_way;
mod vehicle;

use maud::{DOCTYPE, Markup, PreEscaped, Render, html};

use super::Case;
use crate::plan::{Plan, Severity};
use crate::present::answers::{Badge, Sign};
use crate::present::daylight::TITLE as DAYLIGHT;
use crate::present::map::Map;
use crate::present::name::plain;
use crate::present::number::{Toward, Units};
use crate::present::odds::{basis, best_estimate_beside, sentence};
use crate::present::range::{LEFT_TITLE, TITLE as RANGE};
use crate::present::strip::Strip;
use crate::present::under_way::{TITLE as UNDER_WAY, head as under_way_head};
use crate::present::words::unbroken;
use crate::present::{card as card_words, caution, dry, finding, fixes, ground, ledger, verdict};
use crate::quantity::Litres;

/// The title of the uncertain inputs.
const DRIVERS: &str = "What the fuel in cans depends on";

const STYLE: &str = include_str!("style.css");

/// The report of one plan.
pub fn report(case: Case<'_>, units: Units) -> String {
    let plan = case.shown();
    let strip = Strip::from_plan(plan.clone());
    let sections = sections(case, &strip, units);
    page(
        plan,
        &html! {
            main {
                (card::first(case, &strip, units))
                (card::later(plan, units))
                nav aria-label="Contents" {
                    ul { @for section in &sections { li { a href={ "#" (section.id) } { (section.title) } } } }
                }
                @for section in sections.iter().filter(|section| section.part < Part::Appendix) { (section) }
                div.appendix { @for section in sections.iter().filter(|section| section.part == Part::Appendix) { (section) } }
                @for section in sections.iter().filter(|section| section.part == Part::OnRequest) { (section) }
                (printed_if_open(&sections))
            }
        },
    )
}

/// The page for those who stay at home, alone.
pub fn home(case: Case<'_>, units: Units) -> String {
    let plan = case.shown();
    page(
        plan,
        &html! {
            header { (title(plan)) }
            main { section #home { h2 { (crate::present::home::TITLE) } (home::section(plan, units)) } }
        },
    )
}

/// How soon a section is wanted: on paper in this order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Part {
    /// Open on the screen.
    Open,
    /// Closed on the screen, as the card has the same in few words.
    Closed,
    /// Closed on the screen, in two columns on paper.
    Appendix,
    /// Printed only if it is open.
    OnRequest,
}

/// A section of the page.
struct Section {
    id: &'static str,
    title: &'static str,
    part: Part,
    body: Markup,
}

impl Render for Section {
    fn render(&self) -> Markup {
        let class = (self.part == Part::OnRequest).then_some("on-request");
        html! {
            section class=[class] {
                details open[self.part == Part::Open] {
                    summary { h2 { (self.title) } }
                    // A link to it opens the section.
                    div id=(self.id) { (self.body) }
                }
            }
        }
    }
}

/// Which sections are printed only if they are open; nothing if there are none.
fn printed_if_open(sections: &[Section]) -> Markup {
    let on_request = sections
        .iter()
        .filter(|section| section.part == Part::OnRequest);
    let titles: Vec<&str> = on_request.map(|section| section.title).collect();
    html! {
        @if !titles.is_empty() {
            p.note { "Printed only if open on the screen: " (titles.join(", ")) "." }
        }
    }
}

/// The parts of the page after the card that have something to show: first what everybody wants, then the appendix.
fn sections(case: Case<'_>, strip: &Strip, units: Units) -> Vec<Section> {
    let plan = case.shown();
    let stages = plan.stages.iter();
    let stages = stages.map(|stage| card_words::stage_sentence(stage, plan, units));
    let of_part = |part| {
        move |id, title, body| Section {
            id,
            title,
            part,
            body,
        }
    };
    let [open, closed, appendix, on_request] =
        [Part::Open, Part::Closed, Part::Appendix, Part::OnRequest].map(of_part);
    let fixes = fixes::lines(plan, units).into_iter();
    let surfaces = list(ground::lines(plan));
    let mut sections = vec![
        open("findings", "Findings", findings(case, units)),
        open("fixes", "Fixes", list(fixes)),
        open("under-way", UNDER_WAY, under_way::section(case.plan, units)),
        open("load", "Load", tables::load(plan, units)),
        closed("days", "Day by day", days::section(plan, units)),
        appendix("legs", "Legs", tables::legs(plan, units)),
        appendix("surfaces", ground::TITLE, surfaces),
        appendix("stages", "Between fuel stops", list(stages)),
        appendix("fuel-in-cans", ledger::TITLE, tables::ledger(plan, units)),
        appendix("dry", dry::TITLE, tables::dry(plan, units)),
        appendix("how-sure", "How sure", odds::section(plan, units)),
        appendix("arrivals", "Fuel on arrival", odds::arrivals(plan, units)),
        appendix("drivers", DRIVERS, odds::depends_on(plan, units)),
        appendix("cautions", "Cautions", cautions()),
        appendix("map", "Map", map_section(strip, units)),
        on_request("payload", "Payload", range::masses(plan, units)),
        appendix("daylight", DAYLIGHT, daylight::section(plan)),
        on_request("range-left", LEFT_TITLE, range::left(plan, units)),
        on_request("range", RANGE, range::section(plan, units)),
        on_request("vehicle", "This vehicle", vehicle::section(plan, units)),
        on_request("why", "Why", tables::why(plan, units)),
        on_request("strip-rows", "Strip in parts", strip::rows(strip, units)),
    ];
    sections.retain(|section| !section.body.0.is_empty());
    sections
}

fn drawn(strip: &Strip, top: Litres, id: &str, units: Units) -> Markup {
    html! {
        figure {
            (strip::whole(strip, top, id, units))
            figcaption { (strip::legend(strip)) }
        }
    }
}

/// The reports of several plans side by side, the first being the trip without what-ifs.
pub fn comparison(cases: &[Case<'_>], units: Units) -> String {
    let Some(first) = cases.first() else {
        return String::new();
    };
    let strips: Vec<Strip> = cases
        .iter()
        .map(|case| Strip::from_plan(case.plan.clone()))
        .collect();
    // One scale, so that the strips can be compared.
    let top = strips
        .iter()
        .map(Strip::top)
        .fold(Litres::ZERO, Litres::max);
    page(
        first.plan,
        &html! {
            header {
                (title(first.plan))
                @if let Some(set) = first.changes() { p { "Changed: " (plain(&set)) } }
                p.note { (basis(first.plan, units)) }
            }
            main {
                (tables::compared(cases, units))
                @for (n, (case, strip)) in cases.iter().zip(&strips).enumerate() {
                    section {
                        h2 { (name(case)) }
                        (card::answers(case.plan, units))
                        (drawn(strip, top, &format!("strip-{}", n + 1), units))
                    }
                }
                section #cautions { h2 { "Cautions" } (cautions()) }
            }
        },
    )
}

/// The page about its parts.
fn page(plan: &Plan, body: &Markup) -> String {
    let markup = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="generator" content={ "drystage " (env!("CARGO_PKG_VERSION")) };
                // Nothing is fetched from any server, not even an icon for the tab.
                link rel="icon" href="data:,";
                title { (trip_name(plan)) ": fuel plan" }
                style { (PreEscaped(shorter(STYLE))) }
            }
            body {
                (shapes::patterns(body))
                (body)
            }
        }
    };
    let mut page = markup.into_string() + "\n";
    // The drawings' elements without content take up a tenth of the page.
    for name in ["path", "rect", "line", "circle", "use"] {
        page = page.replace(&format!("\"></{name}>"), "\"/>");
    }
    // These end where the next one begins or their parent ends: HTML, 13.1.2.4 Optional tags.
    for name in ["td", "th", "tr", "li"] {
        page = page.replace(&format!("</{name}>"), "");
    }
    page
}

/// A style sheet without its comments, its indentation, and the blanks that mean nothing to a browser.
fn shorter(style: &str) -> String {
    let mut text = String::new();
    for part in style.split("*/") {
        let code = part.split_once("/*").map_or(part, |(code, _)| code);
        text.extend(code.lines().map(str::trim));
    }
    for (long, short) in [
        ("; }", "}"),
        (" { ", "{"),
        (" {", "{"),
        ("; ", ";"),
        (": ", ":"),
        (", ", ","),
    ] {
        text = text.replace(long, short);
    }
    text
}

fn trip_name(plan: &Plan) -> String {
    plain(plan.trip.name.as_deref().unwrap_or("Untitled trip")).into_owned()
}

/// The name of one of several plans.
fn name(case: &Case<'_>) -> String {
    match case.what_ifs {
        [] => "As in the trip".to_owned(),
        names => plain(&names.join(" + ")).into_owned(),
    }
}

fn title(plan: &Plan) -> Markup {
    html! {
        h1 { (trip_name(plan)) }
        @if let Some(vehicle) = &plan.trip.vehicle.name { p.vehicle { (plain(vehicle)) } }
    }
}

/// Trip, vehicle, totals and what was changed.
fn head(case: Case<'_>, units: Units) -> Markup {
    let plan = case.shown();
    html! {
        header {
            (title(plan))
            p.trip { @for (name, text) in verdict::trip_and_fuel(plan, units) { span { (name) " " (kept(&text)) } } }
            @if let Some(changes) = case.changes() { p { "Changed: " (plain(&changes)) } }
        }
    }
}

/// A text in which no line ends between a number and its unit.
fn kept(text: &str) -> String {
    let words = unbroken(text).into_iter();
    let words: Vec<String> = words.map(|word| word.replace(' ', "\u{a0}")).collect();
    words.join(" ")
}

/// A list; `None` if it is empty.
fn list(items: impl Iterator<Item = String>) -> Markup {
    let mut items = items.peekable();
    html! {
        @if items.peek().is_some() { ul { @for item in items { li { (kept(&item)) } } } }
    }
}

fn map_section(strip: &Strip, units: Units) -> Markup {
    html! {
        @if let Some(map) = Map::from_strip(strip) {
            figure {
                (map::drawing(&map, units))
                figcaption {
                    "North is up; the map is " (units.distance(map::size(&map), Toward::Nearest)) " across. It is an overview, not for navigation."
                    @if map::has_guessed(&map) { " Dashed: only the two ends of the leg are known." }
                }
            }
        }
    }
}

/// The verdict in sentences, what it is based on, and the findings, gravest first.
fn findings(case: Case<'_>, units: Units) -> Markup {
    let plan = case.shown();
    html! {
        // Other verdicts have their sentences on the card.
        @if Badge::new(case.plan) == Badge::Go {
            @for sentence in under_way_head(case.plan, units) { p { strong { (kept(&sentence)) } } }
        }
        @if let Some(relied_on) = verdict::relied_on(plan, units) { p { "Fuel stops: " (kept(&relied_on)) "." } }
        @if let Some(doubt) = plan.doubt.as_ref().filter(|_| !verdict::is_finished(plan)) {
            p { (kept(&sentence(doubt))) " " (kept(&best_estimate_beside(doubt, units))) }
        }
        p.note { (basis(plan, units)) }
        @if !plan.findings.is_empty() {
            ul.findings {
                @for found in &plan.findings {
                    li class=[(found.severity() == Severity::Stop).then_some("broken")] {
                        @if found.severity() == Severity::Stop { (shapes::sign(Sign::Missed)) }
                        strong { (found.severity().word()) } ": " (kept(&finding::sentence(found, plan, units)))
                    }
                }
            }
        }
    }
}

fn cautions() -> Markup {
    html! { ul { @for caution in caution::CAUTIONS { li { (caution) } } } }
}
