//! A load limit in words and figures: what it is about, what it bears, what is left.

use super::finding;
use super::number::{Figure, Toward, Units};
use crate::plan::{LoadBar, LoadLimit, Plan, Where};
use crate::quantity::Kilograms;

/// One limit, each figure as text: what is borne rounded up, what is allowed and what is left down.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LoadLine {
    /// What is limited.
    pub what: String,
    /// What it bears at its worst departure.
    pub mass: Figure,
    /// The limit; nothing when none is stated.
    pub limit: Option<Figure>,
    /// `120 kg left` or `3 kg OVER`.
    pub left: Option<String>,
    /// The place of the worst departure.
    pub place: String,
}

/// A limit as a line.
pub fn line(bar: &LoadBar, plan: &Plan, units: Units) -> LoadLine {
    LoadLine {
        what: what(bar.what),
        mass: units.mass(bar.mass, Toward::Up),
        limit: bar.limit.map(|limit| units.mass(limit, Toward::Down)),
        left: bar.left().map(|left| {
            if left < Kilograms::ZERO {
                format!("{} OVER", units.mass(-left, Toward::Up))
            } else {
                format!("{} left", units.mass(left, Toward::Down))
            }
        }),
        place: finding::place(Where::Node(bar.node), plan),
    }
}

/// What is limited, in two or three words.
fn what(limit: LoadLimit) -> String {
    match limit {
        LoadLimit::Gvm => "gross mass".to_owned(),
        LoadLimit::Roof { off_road: true } => "roof off road".to_owned(),
        LoadLimit::Roof { off_road: false } => "roof".to_owned(),
        LoadLimit::Place(place) => format!("{place} carrier"),
    }
}
