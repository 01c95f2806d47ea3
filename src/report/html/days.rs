//! The trip card: a part of the page for each day, which can be printed and cut out.

use maud::{Markup, html};

use super::{Labelled, kept, shapes};
use crate::plan::Plan;
use crate::present::card::{
    DECANT_SAFELY, HOW_TO_READ, Level, MORE_THAN_FULL, MORE_THAN_FULL_MEANS, WITH_LESS,
};
use crate::present::day::{CardPoint, DayCard, cards};
use crate::present::number::Units;

/// The cards of all days.
pub(super) fn section(plan: &Plan, units: Units) -> Markup {
    let days = cards(plan, units);
    let points = || days.iter().flat_map(|day| &day.points);
    let mut checks = points().filter_map(|point| point.check.as_ref());
    let more = |level: &Level| level.gauge == MORE_THAN_FULL;
    let over = checks.any(|check| {
        check
            .turn_back
            .as_ref()
            .is_some_and(|(level, _)| more(level))
    });
    html! {
        p {
            (HOW_TO_READ) " "
            @if over { (MORE_THAN_FULL_MEANS) " " }
            (WITH_LESS)
            @if !plan.decants.is_empty() { " " (DECANT_SAFELY) }
        }
        @for day in &days { (card(day)) }
    }
}

fn card(day: &DayCard) -> Markup {
    let odometer = day.points.iter().any(|point| point.odometer.is_some());
    let decides = day.points.iter().any(|point| point.check.is_some());
    let heads: Vec<&str> = [
        ("at", true),
        ("odometer", odometer),
        ("place", true),
        ("expected", true),
        ("5 %", decides),
        ("turn back below", decides),
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
    let check = point.check.as_ref();
    html! {
        tr {
            (Labelled("at", html! { (point.at) }))
            @if odometer {
                (Labelled("odometer", html! { (point.odometer.as_deref().unwrap_or_default().trim_start_matches("odo ")) }))
            }
            th scope="row" {
                (point.place)
                @if let Some(leg) = &point.leg { small { (leg) } }
                @for says in check.map_or(&[][..], |check| &check.says) { small { (says) } }
            }
            (Labelled("expected", html! {
                @match &point.on_board {
                    Some(on_board) => { (on_board) " (" (point.gauge) ")" }
                    None => strong { "out of fuel" }
                }
                @if let Some(cans) = &point.in_cans { small { (cans) " in cans" } }
            }))
            @if decides {
                (Labelled("5 %", html! { @if let Some(check) = check { (check.low) } }))
                (Labelled("turn back below", html! {
                    @if let Some(check) = check {
                        @match (&check.turn_back, &check.needed) {
                            (Some((level, refuge)), _) => { (level) small { "to " (refuge) } }
                            (None, Some(needed)) => small { "needed from here " (needed) },
                            (None, None) => "\u{2013}",
                        }
                    }
                }))
            }
        }
    }
}
