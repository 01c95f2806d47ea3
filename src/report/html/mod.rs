//! The HTML report: one self-contained page to read on a screen or a phone and to print.
//!
//! No script, nothing fetched: style and drawings are in the page. Text comes from `present`, as in
//! every other report, and is escaped by the templates; names are freed of what acts on a reader's
//! screen. It prints on A4 and Letter, in grey, and takes the reader's light or dark scheme. What only a
//! program wants is in the JSON report.

mod days;
mod drawing;
mod map;
mod odds;
mod shapes;
mod side;
mod strip;
mod tables;
mod under_way;
mod vehicle;

use maud::{DOCTYPE, Markup, PreEscaped, Render, html};

use super::Case;
use crate::plan::Plan;
use crate::present::map::Map;
use crate::present::name::plain;
use crate::present::number::{Toward, Units};
use crate::present::odds::{basis, best_estimate_beside, sentence};
use crate::present::strip::Strip;
use crate::present::under_way::{TITLE as UNDER_WAY, head as under_way_head};
use crate::present::words::unbroken;
use crate::present::{card, caution, dry, finding, fixes, ledger, verdict};
use crate::quantity::Litres;

const STYLE: &str = include_str!("style.css");

/// The report of one plan.
pub fn report(case: Case<'_>, units: Units) -> String {
    let plan = case.shown();
    let sections = sections(case, units);
    page(
        plan,
        &html! {
            (head(case, units))
            nav aria-label="Contents" {
                ul { @for (id, title, _) in &sections { li { a href={ "#" (id) } { (title) } } } }
            }
            main {
                @for (id, title, body) in &sections { section id=(id) { h2 { (title) } (body) } }
            }
        },
    )
}

/// The parts of the page that have something to show, each with its anchor and title.
fn sections(case: Case<'_>, units: Units) -> Vec<(&'static str, &'static str, Markup)> {
    let plan = case.shown();
    let strip = Strip::of(plan.clone());
    let stages = plan.stages.iter();
    let stages = stages.map(|stage| card::stage_sentence(stage, plan, units));
    let mut sections = vec![
        (
            "strip",
            "Fuel along the route",
            drawn(&strip, strip.top(), "strip", units),
        ),
        ("under-way", UNDER_WAY, under_way::section(case.plan, units)),
        ("days", "Trip card", days::section(plan, units)),
        ("stages", "Between fuel stops", list(stages)),
        ("fuel-in-cans", ledger::TITLE, fuel_in_cans(plan, units)),
        ("dry", dry::TITLE, dry_stops(plan, units)),
        ("how-sure", "How sure", odds::section(plan, units)),
        ("vehicle", "This vehicle", vehicle::section(plan, units)),
        ("legs", "Legs", tables::legs(plan, units)),
        ("load", "Load", tables::load(plan, units)),
        (
            "fixes",
            "Fixes",
            list(fixes::lines(plan, units).into_iter()),
        ),
        ("why", "Why", tables::why(plan, units)),
        ("map", "Map", map_section(&strip, units)),
        ("findings", "Findings", findings(plan, units)),
        ("cautions", "Cautions", cautions()),
    ];
    sections.retain(|(_, _, body)| !body.0.is_empty());
    sections
}

fn drawn(strip: &Strip, top: Litres, id: &str, units: Units) -> Markup {
    html! {
        figure {
            (strip::figure(strip, top, id, units))
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
        .map(|case| Strip::of(case.plan.clone()))
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
                        (verdict_lines(case.plan, units))
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
                style { (PreEscaped(STYLE)) }
            }
            body {
                (shapes::patterns())
                (body)
            }
        }
    };
    markup.into_string() + "\n"
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
        @if let Some(vehicle) = &plan.trip.vehicle.name { p { (plain(vehicle)) } }
    }
}

fn head(case: Case<'_>, units: Units) -> Markup {
    let plan = case.shown();
    html! {
        header {
            (title(plan))
            @if let Some(changes) = case.changes() { p { "Changed: " (plain(&changes)) } }
            (verdict_lines(case.plan, units))
            @if let Some(doubt) = plan.doubt.as_ref().filter(|_| !verdict::is_finished(plan)) {
                p { (kept(&sentence(doubt))) }
                p { (kept(&best_estimate_beside(doubt, units))) }
            }
            p.note { (basis(plan, units)) }
        }
    }
}

/// The verdict, what else forbids setting out, and the key figures.
fn verdict_lines(plan: &Plan, units: Units) -> Markup {
    let shown = plan.return_plan().unwrap_or(plan);
    let stops = verdict::other_reasons(shown);
    html! {
        div class=(if verdict::may_go(shown) { "verdict go" } else { "verdict stop" }) {
            @for sentence in under_way_head(plan, units) { p { strong { (kept(&sentence)) } } }
            ul { @for stop in stops { li { (kept(&finding::sentence(stop, shown, units))) } } }
        }
        dl.key-figures {
            @for (name, text) in verdict::key_figures(shown, units) {
                dt { (name) }
                dd { (kept(&text)) }
            }
        }
    }
}

/// A text in which no line ends between a number and its unit.
fn kept(text: &str) -> String {
    let words = unbroken(text).into_iter();
    let words: Vec<String> = words.map(|word| word.replace(' ', "\u{a0}")).collect();
    words.join(" ")
}

/// A list; nothing if it is empty.
fn list(items: impl Iterator<Item = String>) -> Markup {
    let mut items = items.peekable();
    html! {
        @if items.peek().is_some() { ul { @for item in items { li { (kept(&item)) } } } }
    }
}

fn fuel_in_cans(plan: &Plan, units: Units) -> Markup {
    let of = plan.ledger();
    html! {
        @if let Some(says) = ledger::how_to_read(of, plan, units) {
            p { (says) }
            ul { @for line in ledger::lines(of, units) { li { (kept(&line.sentence())) } } }
        }
    }
}

fn dry_stops(plan: &Plan, units: Units) -> Markup {
    html! {
        @if dry::lines(plan).next().is_some() {
            p { (dry::HOW_TO_READ) }
            ul { @for line in dry::lines(plan) { li { (kept(&line.sentence(plan, units))) } } }
        }
    }
}

fn map_section(strip: &Strip, units: Units) -> Markup {
    html! {
        @if let Some(map) = Map::of(strip) {
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

fn findings(plan: &Plan, units: Units) -> Markup {
    html! {
        @if !plan.findings.is_empty() {
            ul {
                @for found in &plan.findings {
                    li { strong { (found.severity().word()) } ": " (kept(&finding::sentence(found, plan, units))) }
                }
            }
        }
    }
}

fn cautions() -> Markup {
    html! { ul { @for caution in caution::CAUTIONS { li { (caution) } } } }
}

/// A cell that repeats its column's head where the table is stacked on a narrow screen.
struct Labelled(&'static str, Markup);

impl Render for Labelled {
    fn render(&self) -> Markup {
        html! { td data-head=(self.0) { (self.1) } }
    }
}
