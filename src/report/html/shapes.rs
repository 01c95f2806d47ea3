//! The symbols of places and markers, and the patterns of surfaces and fuel, each once.

use maud::{Markup, html};

use super::drawing::px;
use crate::model::vocabulary::Surface;
use crate::present::answers::Sign;
use crate::present::day::TaskKind;
use crate::present::mark::MarkKind;
use crate::present::strip::Supply;

/// Outlines about the middle of a shape.
const STOP: &str = "M0 -5.5L5 0L0 5.5L-5 0Z";
const DRY: &str = "M-1.5 -6H1.5L1 2H-1ZM-1.2 3.5H1.2V6H-1.2Z";
const POUR: &str = "M0 5L-5 -4H5Z";
const TURN_BACK: &str = "M-5 0L4 -5V5Z";

/// A place about a point: a full diamond for fuel that the plan relies on, an empty one for fuel that it
/// does not rely on, a ring for none.
pub(super) fn place(supply: Supply, x: f64, y: f64, name: &str) -> Markup {
    html! {
        g transform={ "translate(" (px(x)) " " (px(y)) ")" } {
            @if !name.is_empty() { title { (name) } }
            @match supply {
                Supply::Counted => path.stop d=(STOP) {},
                Supply::NotCounted => path.stop.open d=(STOP) {},
                Supply::None => circle.stop.open r="3" {},
            }
        }
    }
}

/// What a place's shape means.
pub(super) const fn supply_name(supply: Supply) -> &'static str {
    match supply {
        Supply::Counted => "fuel stop, relied on",
        Supply::NotCounted => "fuel stop, not relied on",
        Supply::None => "place without fuel",
    }
}

/// A mark about a point.
pub(super) fn mark(kind: MarkKind, x: f64, y: f64, words: &str) -> Markup {
    let (class, d) = match kind {
        MarkKind::RunsDry => ("sign grave", DRY),
        MarkKind::BelowReserve | MarkKind::BelowMinimum => {
            ("sign cross", "M-4.5 -4.5L4.5 4.5M4.5 -4.5L-4.5 4.5")
        }
        MarkKind::TurnBack {
            unconfirmed: false, ..
        } => ("sign back", TURN_BACK),
        MarkKind::TurnBack {
            unconfirmed: true, ..
        } => ("sign back open", TURN_BACK),
        MarkKind::Decant { .. } => ("sign", POUR),
    };
    html! {
        g transform={ "translate(" (px(x)) " " (px(y)) ")" } {
            @if !words.is_empty() { title { (words) } }
            path class=(class) d=(d) {}
        }
    }
}

/// Signs of what there is to do, by the name of their symbol: those of the strip, and that of a decision point.
const TASKS: [(&str, &str, &str); 6] = [
    ("fill", "stop", STOP),
    ("pass-by", "stop open", STOP),
    ("decant", "stop", POUR),
    ("turn-back", "sign back", TURN_BACK),
    ("turn-back-open", "sign back open", TURN_BACK),
    ("decide", "inked", "M-1 -5V5L-6 0ZM1 -5V5L6 0Z"),
];

/// The sign of a task, as the strip has it; the words beside it say the same.
pub(super) fn task(kind: TaskKind) -> Markup {
    symbol(match kind {
        TaskKind::Fill => "fill",
        TaskKind::PassBy => "pass-by",
        TaskKind::Decant => "decant",
        TaskKind::TurnBack { unconfirmed: false } => "turn-back",
        TaskKind::TurnBack { unconfirmed: true } => "turn-back-open",
    })
}

/// The sign of a decision point.
pub(super) fn decision() -> Markup {
    symbol("decide")
}

fn symbol(name: &str) -> Markup {
    html! { svg.task aria-hidden="true" { use href={ "#" (name) } {} } }
}

/// Whether a target or limit is met, in a sign.
pub(super) fn sign(sign: Sign) -> Markup {
    match sign {
        Sign::Met => html! { span.met aria-hidden="true" { "\u{2713}\u{a0}" } },
        Sign::Missed => html! { span.broken aria-hidden="true" { "\u{25a0}\u{a0}" } },
        Sign::None => html! {},
    }
}

/// The patterns that a page refers to, once for all of its drawings. They differ in form, not only in colour.
pub(super) fn patterns(page: &Markup) -> Markup {
    let is_used = |surface: &&Surface| page.0.contains(&format!("#ground-{surface}"));
    html! {
        svg.patterns width="0" height="0" aria-hidden="true" focusable="false" {
            defs {
                (pattern("cans", 6, 6, "cans-ground", &html! { path.cans-line d="M-1 1L1 -1M0 6L6 0M5 7L7 5" {} }))
                (pattern("short", 8, 8, "short-ground", &html! { path.short-line d="M1 1L7 7M7 1L1 7" {} }))
                (pattern("sand", 4, 4, "sand-ground", &html! { circle.ink cx="1" cy="1" r="0.8" {} circle.ink cx="3" cy="3" r="0.8" {} }))
                (pattern("dunes", 7, 7, "sand-ground", &html! { path.ink-line d="M0 5Q3.5 -1 7 5" {} }))
                (pattern("dunes-in-low", 7, 7, "both-ground", &html! { path.ink-line d="M0 5Q3.5 -1 7 5M0 7L7 0" {} }))
                (pattern("low-range", 5, 5, "low-ground", &html! { path.ink-line d="M0 5L5 0M-1 1L1 -1M4 6L6 4" {} }))
                (pattern("sand-in-low", 4, 4, "both-ground", &html! { path.both-line d="M0 4L4 0M0 0L4 4" {} }))
                @for (name, class, d) in TASKS { symbol id=(name) viewBox="-7 -7 14 14" { path class=(class) d=(d) {} } }
                @for &surface in Surface::ALL.iter().filter(is_used) {
                    (pattern(&format!("ground-{surface}"), 8, 14, "ground", &html! { path.ink-line d=(texture(surface)) {} }))
                }
            }
        }
    }
}

fn pattern(id: &str, width: u8, height: u8, ground: &str, lines: &Markup) -> Markup {
    html! {
        pattern id=(id) width=(width) height=(height) patternUnits="userSpaceOnUse" {
            rect class=(ground) width=(width) height=(height) {}
            (lines)
        }
    }
}

/// The texture of a surface on a tile of 8 by 14.
const fn texture(surface: Surface) -> &'static str {
    match surface {
        Surface::Sealed => "M0 5H8M0 9H8",
        Surface::Gravel => "M1 4h1M5 4h1M3 8h1M7 8h1M1 12h1M5 12h1",
        Surface::Corrugated => "M0 4q2 -3 4 0t4 0M0 10q2 -3 4 0t4 0",
        Surface::Earth => "M0 4h4M4 8h4M0 12h4",
        Surface::Rock => "M0 12L4 3L8 12",
        Surface::Mud => "M0 3q2 3 4 0t4 0M0 7q2 3 4 0t4 0M0 11q2 3 4 0t4 0",
        Surface::Salt => "M0 13H8M4 13V7",
        Surface::Snow => "M4 3v6M1 6h6M2 4l4 4M6 4l-4 4",
    }
}
