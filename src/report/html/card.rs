//! The trip card: page 1 of the printed report, folded once and kept on the dash.
//!
//! Above the fold the verdict, the cans, the four answers and the strip; below it one row a place and a fuel check. A trip
//! whose rows do not fit below the fold has one card a day: the first day is below the fold, the others follow.

use std::slice;

use maud::{Markup, html};

use super::strip::{legend, whole};
use super::{kept, shapes};
use crate::plan::{CheckKind, Plan};
use crate::present::answer_notes::notes;
use crate::present::answers::{Answers, Badge, Sign};
use crate::present::card::{
    CARD_HOW_TO_READ, CheckLine, Level, MORE_THAN_FULL, MORE_THAN_FULL_MEANS, WITH_LESS,
};
use crate::present::day::{CardPoint, DayCard, cards, in_one};
use crate::present::name::width;
use crate::present::number::Units;
use crate::present::strip::Strip;
use crate::present::{finding, under_way, verdict};
use crate::report::Case;

/// Millimetres below the fold of a Letter page for the rows of a card, between its head and its notes.
const BELOW_THE_FOLD: f64 = 115.0;

/// The card of the whole trip, or of its first day.
pub(super) fn first(case: Case<'_>, strip: &Strip, units: Units) -> Markup {
    let plan = case.shown();
    let days = days_ahead(plan, units);
    let rows = in_one(&days);
    html! {
        article #card {
            div.upper {
                (super::head(case, units))
                (answers(case.plan, units))
                figure {
                    (whole(strip, strip.top(), "strip", units))
                    figcaption { (legend(strip)) }
                }
            }
            div.lower {
                h2.hidden { "Places and fuel checks" }
                @if fits(&rows) { (table(&rows, "Places and fuel checks", units)) }
                @else { @for day in &days[..below_the_fold(&days)] { h3 { (title(day)) } (of_the_day(day, units)) } }
                (how_to_read(plan, &rows))
            }
        }
    }
}

/// The cards of the later days of a trip that has one card a day.
pub(super) fn later(plan: &Plan, units: Units) -> Markup {
    let days = days_ahead(plan, units);
    html! {
        @if !fits(&in_one(&days)) {
            @for day in &days[below_the_fold(&days)..] { article.day-card { (folded(day, units)) } }
        }
    }
}

/// The days that are not over, without the points that are driven.
fn days_ahead(plan: &Plan, units: Units) -> Vec<DayCard> {
    let here = plan.here().unwrap_or_default();
    let mut days = cards(plan, units);
    for day in &mut days {
        day.points.retain(|point| point.km >= here);
    }
    days.retain(|day| !day.points.is_empty());
    days
}

/// Badge, cans and the four answers.
pub(super) fn answers(plan: &Plan, units: Units) -> Markup {
    let shown = plan.return_plan().unwrap_or(plan);
    let answers = Answers::new(plan, units);
    let four = Answers::new(shown, units).four;
    let class = match answers.badge {
        Badge::NoGo | Badge::NeitherAdvised => "badge no-go",
        Badge::TurnBack | Badge::Return => "badge back",
        Badge::BestEstimate => "badge none",
        _ => "badge",
    };
    let [fuel_in_cans, ..] = &answers.fuel_in_cans;
    html! {
        div.verdict {
            p class=(class) { (answers.badge.words()) }
            div {
                p.cans-line { (kept(fuel_in_cans)) }
                // After a GO the line has all of the sentence, which begins the findings.
                @if answers.badge != Badge::Go {
                    @for sentence in under_way::head(plan, units) { p { (kept(&sentence)) } }
                    @for stop in verdict::other_reasons(shown) { p { (shapes::sign(Sign::Missed)) " " (kept(&finding::sentence(stop, shown, units))) } }
                }
            }
        }
        dl.answers {
            @for (answer, note) in four.iter().zip(notes(shown, units)) {
                div class=[(answer.sign == Sign::Missed).then_some("missed")] {
                    dt { (question(answer.name)) }
                    dd {
                        strong { (shapes::sign(answer.sign)) (kept(&answer.text[0])) }
                        @if !note.is_empty() { small { (kept(&note)) } }
                    }
                }
            }
        }
    }
}

/// What an answer is about.
fn question(name: &'static str) -> &'static str {
    match name {
        "fuel" => "smallest margin",
        "load" => "tightest load limit",
        "finish" => "share that finishes",
        "decide" => "continue or turn back: decide",
        other => other,
    }
}

/// A day's card whose rows a phone shows on a tap; where the day decides about turning back is said beside its title. A
/// check box, since an element for details prints closed in older browsers.
fn folded(day: &DayCard, units: Units) -> Markup {
    let decides = |point: &&CardPoint| {
        let check = point.check.as_ref();
        check.is_some_and(|check| check.kind == CheckKind::Decision)
    };
    let id = format!("day-{}", day.number);
    html! {
        input.fold type="checkbox" id=(id);
        h3 {
            label for=(id) {
                (title(day))
                @for point in day.points.iter().filter(decides) { " " span.tag { "decide at " (units.distance_unit()) " " (point.at) } }
            }
        }
        (of_the_day(day, units))
    }
}

fn title(day: &DayCard) -> String {
    format!("Day {}: {} to {}", day.number, day.from, day.to)
}

fn of_the_day(day: &DayCard, units: Units) -> Markup {
    html! {
        p.totals { (kept(&day.totals)) ". " (kept(&day.tightest)) }
        (table(&in_one(slice::from_ref(day)), &format!("Places and fuel checks of day {}", day.number), units))
    }
}

fn table(rows: &[CardPoint], caption: &str, units: Units) -> Markup {
    let unit = units.fuel_unit();
    html! {
        table.places {
            caption.hidden { (caption) }
            thead {
                tr {
                    th { (units.distance_unit()) }
                    th { "odo" }
                    th { span.hidden { "marker" } }
                    th { "place" }
                    th { "do" }
                    th { "expected, " (unit) }
                    th { "5 %" }
                    th { "back below" }
                }
            }
            tbody { @for point in rows { (row(point)) } }
        }
    }
}

fn row(point: &CardPoint) -> Markup {
    let check = point.check.as_ref();
    let decides = check.is_some_and(|check| check.kind == CheckKind::Decision);
    let class = match (decides, point.is_place) {
        (true, _) => Some("decide"),
        (false, false) => Some("en-route"),
        (false, true) => None,
    };
    let mut kinds: Vec<_> = point.todo.iter().map(|task| task.kind).collect();
    kinds.dedup();
    let says = check.map_or(&[][..], |check| &check.says);
    html! {
        tr class=[class] {
            td.km { (point.at) }
            td.odo { (point.odometer.as_deref().unwrap_or_default().trim_start_matches("odo ")) }
            td.marker { @for kind in kinds { (shapes::task(kind)) } @if decides { (shapes::decision()) } }
            th.place scope="row" {
                (point.place)
                @if point.nights > 0 { " " span.tag { (nights(point.nights)) } }
            }
            td.do { @for task in &point.todo { span { (kept(&task.brief)) } } }
            td.expected {
                @match &point.on_board {
                    Some(on_board) => { (on_board.number) " " span.gauge { (point.gauge) } }
                    None => "no fuel",
                }
            }
            td.low { @if let Some(check) = check { span.head { "5 % " } (check.low.number) } }
            td.below { @if let Some(check) = check { (below(check)) } }
        }
        @for (nth, says) in says.iter().enumerate() {
            tr class=(if decides && nth == 0 { "decide says" } else { "says" }) { td colspan="8" { (kept(says)) } }
        }
    }
}

/// Turn back below this; after the decision point what is needed.
fn below(check: &CheckLine) -> Markup {
    html! {
        @match (&check.turn_back, &check.needed) {
            (Some((level, _)), _) => {
                span.head { "back below " } (level.fuel.number) " " span.gauge { (level.gauge) }
            },
            (None, Some(needed)) => { span.needed { "needed " } (needed.number) },
            (None, None) => {},
        }
    }
}

fn nights(nights: u32) -> String {
    match nights {
        1 => "night".to_owned(),
        many => format!("{many} nights"),
    }
}

/// How the card is read, and what to do with less than needed.
fn how_to_read(plan: &Plan, rows: &[CardPoint]) -> Markup {
    let more = |level: &Level| level.gauge == MORE_THAN_FULL;
    let mut checks = rows.iter().filter_map(|point| point.check.as_ref());
    let over = checks.any(|check| check.turn_back.iter().any(|(level, _)| more(level)));
    html! {
        p.notes {
            @if !plan.fuel_checks.is_empty() { (CARD_HOW_TO_READ) " " }
            @if over { (MORE_THAN_FULL_MEANS) " " }
            @if !plan.fuel_checks.is_empty() { (WITH_LESS) }
        }
    }
}

/// Whether the rows of a card find room below the fold.
fn fits(rows: &[CardPoint]) -> bool {
    height(rows) <= BELOW_THE_FOLD
}

/// How many of the days have their cards below the fold: the first, and as many more as find room.
fn below_the_fold(days: &[DayCard]) -> usize {
    // Title, totals and head of a table.
    const HEAD: f64 = 18.0;
    let mut room = BELOW_THE_FOLD;
    let fitting = days.iter().take_while(|day| {
        room -= HEAD + height(&in_one(slice::from_ref(day)));
        room >= 0.0
    });
    fitting.count().max(1).min(days.len())
}

/// Millimetres of some rows, in the measures of the style sheet and the widest common sans-serif letters.
fn height(rows: &[CardPoint]) -> f64 {
    let lines = |text: &str, letters: f64| (width(text) as f64 / letters).ceil();
    let height = |point: &CardPoint| {
        let briefs = point.todo.iter().map(|task| lines(&task.brief, 31.0));
        let row = (briefs.sum::<f64>() * 3.6 + 1.2).max(6.0);
        let Some(check) = &point.check else {
            return row;
        };
        let loud = usize::from(check.kind == CheckKind::Decision);
        let says = check.says.iter().enumerate().map(|(nth, says)| {
            if nth < loud {
                lines(says, 62.0) * 5.3 + 0.6
            } else {
                lines(says, 95.0) * 3.8 + 0.6
            }
        });
        row + says.sum::<f64>()
    };
    rows.iter().map(height).sum()
}
