//! The trip card: a part of the page for each day, which can be printed and cut out.

use maud::{Markup, html};

use super::{Labelled, kept, shapes};
use crate::plan::Plan;
use crate::present::card::{HOW_TO_READ, Level, MORE_THAN_FULL};
use crate::present::day::{CardPoint, DayCard, cards};
use crate::present::number::Units;

/// The cards of all days.
pub(super) fn section(plan: &Plan, units: Units) -> Markup {
    let days = cards(plan, units);
    let points = || days.iter().flat_map(|day| &day.points);
    let goes = || points().filter_map(|point| point.go.as_ref());
    let more = |level: &Level| level.gauge == MORE_THAN_FULL;
    let over =
        goes().any(|go| more(&go.go_on) || go.back.as_ref().is_some_and(|(level, _)| more(level)));
    html! {
        section #days {
            h2 { "Trip card" }
            p {
                "Fuel is usable fuel aboard, tank and cans together; in brackets what the gauge shows then, with the cans as planned. "
                (HOW_TO_READ.replace('`', "\""))
                @if goes().any(|go| go.back.is_none()) { " A dash: no sure pump behind can be reached." }
                @if over { " full+: a full tank, and more in cans than planned." }
            }
            @for day in &days { (card(day)) }
        }
    }
}

fn card(day: &DayCard) -> Markup {
    let odometer = day.points.iter().any(|point| point.odometer.is_some());
    let decides = day.points.iter().any(|point| point.go.is_some());
    let heads: Vec<&str> = [
        ("at", true),
        ("odometer", odometer),
        ("place", true),
        ("plan aboard", true),
        ("go on with", decides),
        ("or back with", decides),
    ]
    .into_iter()
    .filter_map(|(head, shown)| shown.then_some(head))
    .collect();
    html! {
        article.day {
            h3 { "Day " (day.number) ": " (day.from) " to " (day.to) }
            p.totals { (kept(&day.totals)) ". " (kept(&day.tightest)) }
            table.stacked {
                caption.hidden { "Places of day " (day.number) }
                thead { tr { @for head in &heads { th scope="col" { (head) } } } }
                tbody { @for point in &day.points { (row(point, odometer, decides)) } }
            }
            @if !day.tasks.is_empty() {
                ul.tasks {
                    @for task in &day.tasks {
                        li { (shapes::task(task.kind)) (kept(&task.says)) }
                    }
                }
            }
        }
    }
}

fn row(point: &CardPoint, odometer: bool, decides: bool) -> Markup {
    let go = point.go.as_ref();
    html! {
        tr {
            (Labelled("at", html! { (point.at) }))
            @if odometer {
                (Labelled("odometer", html! { (point.odometer.as_deref().unwrap_or_default().trim_start_matches("odo ")) }))
            }
            th scope="row" {
                (point.place)
                @if let Some(leg) = &point.leg { small { (leg) } }
                @if let Some(at_pump) = go.and_then(|go| go.at_pump.as_ref()) { small { (at_pump) } }
            }
            (Labelled("plan aboard", html! {
                @match &point.aboard {
                    Some(aboard) => { (aboard) " (" (point.gauge) ")" }
                    None => strong { "dry" }
                }
                @if let Some(cans) = &point.in_cans { small { (cans) " in cans" } }
            }))
            @if decides {
                (Labelled("go on with", html! { @if let Some(go) = go { (go.go_on) } }))
                (Labelled("or back with", html! {
                    @match go.map(|go| &go.back) {
                        Some(Some((level, refuge))) => { (level) small { "to " (refuge) } }
                        Some(None) => "\u{2013}",
                        None => {}
                    }
                }))
            }
        }
    }
}
