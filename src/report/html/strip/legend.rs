//! What the strip's colours, patterns and signs mean.

use maud::{Markup, html};

use super::super::shapes;
use super::ground::hard_shares;
use crate::present::mark::Mark;
use crate::present::strip::{Strip, Supply};
use crate::quantity::{Kilometres, Litres};

/// Every sort of fuel, marker, fuel stop and surface that the strip shows, with its meaning.
pub(in crate::report::html) fn legend(strip: &Strip) -> Markup {
    let all = Kilometres::ZERO..strip.length() + Kilometres::new(1.0);
    let plan = strip.plan();
    let mut surfaces: Vec<_> = plan.legs.iter().map(|leg| leg.surface).collect();
    surfaces.sort();
    surfaces.dedup();
    let mut supplies: Vec<Supply> = strip
        .places(all.clone())
        .map(|place| place.supply)
        .collect();
    supplies.sort();
    supplies.dedup();
    let mut kinds: Vec<Mark> = strip.all_marks().to_vec();
    kinds.sort_by_key(|mark| mark.kind.rank());
    kinds.dedup_by_key(|mark| mark.kind.rank());
    let cans = plan.course.iter().any(|span| span.cans > Litres::ZERO);
    let shares: Vec<_> = (1..=plan.legs.len())
        .flat_map(|leg| hard_shares(&strip.ground_of(leg)))
        .collect();
    let has = |pattern: &str| {
        let mut of = shares.iter().filter(|(name, _)| *name == pattern);
        of.any(|(_, share)| share.get() > 0.0)
    };
    let hard = [
        ("sand", "soft sand, its share"),
        ("dunes", "dunes, their share"),
        ("low-range", "low range, its share"),
        ("sand-in-low", "sand in low range"),
        ("dunes-in-low", "dunes in low range"),
    ];
    html! {
        ul.legend aria-label="What the strip shows" {
            li { (swatch(&html! { rect.tank width="22" height="12" {} })) "tank" }
            @if cans { li { (swatch(&html! { rect.cans width="22" height="12" fill="url(#cans)" {} })) "cans" } }
            @if plan.doubt.is_some() {
                li { (swatch(&html! { rect.tank-tint width="22" height="6" {} rect.tank y="6" width="22" height="6" {} })) "full tone: at least this in 95 % of trips; tint: expected" }
            }
            li { (swatch(&html! { line.reserve x1="0" x2="22" y1="6" y2="6" {} })) (strip.line_name()) }
            @if !strip.breaches(&all).is_empty() {
                li { (swatch(&html! { rect.short width="22" height="12" fill="url(#short)" {} })) "below the " (strip.line_name()) }
            }
            @for mark in kinds {
                li { (swatch(&shapes::mark(mark.kind, 11.0, 6.0, ""))) (mark.kind.name()) }
            }
            @for supply in supplies {
                li { (swatch(&shapes::place(supply, 11.0, 6.0, ""))) (shapes::supply_name(supply)) }
            }
            @for surface in surfaces {
                li { (swatch(&html! { rect.edge width="22" height="12" fill={ "url(#ground-" (surface) ")" } {} })) (surface) }
            }
            @for (pattern, words) in hard {
                @if has(pattern) {
                    li { (swatch(&html! { rect width="22" height="12" fill={ "url(#" (pattern) ")" } {} })) (words) }
                }
            }
        }
    }
}

/// A sample for the legend.
fn swatch(shape: &Markup) -> Markup {
    html! { svg.swatch viewBox="0 0 22 12" aria-hidden="true" { (shape) } }
}
