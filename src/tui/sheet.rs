//! What can be edited, as rows: the fields of one subject of the trip, made from the table of fields.

use std::borrow::Cow;

use serde_json::Value;

use super::state::Panel;
use crate::model::Trip;
use crate::model::change::{holder, stated};
use crate::model::field::{self, Field, IfAbsent, Kind, Node};

/// What is edited together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "`title` says what each is")]
pub enum Topic {
    Leg,
    Start,
    Vehicle,
    People,
    Gear,
    Cans,
    Roof,
    Rules,
    Trip,
    WhatIfs,
    Log,
}

impl Topic {
    /// Every subject, in the order in which they are gone through.
    pub(crate) const ALL: [Self; 11] = [
        Self::Leg,
        Self::Start,
        Self::Vehicle,
        Self::People,
        Self::Gear,
        Self::Cans,
        Self::Roof,
        Self::Rules,
        Self::Trip,
        Self::WhatIfs,
        Self::Log,
    ];

    /// The subject `steps` further, round and round.
    #[must_use]
    pub(crate) fn moved(self, steps: usize) -> Self {
        Self::ALL[(self as usize + steps) % Self::ALL.len()]
    }

    /// The title over the rows of the topic.
    pub(crate) const fn title(self) -> &'static str {
        match self {
            Self::Leg => "leg",
            Self::Start => "start",
            Self::Vehicle => "vehicle",
            Self::People => "people",
            Self::Gear => "gear",
            Self::Cans => "cans",
            Self::Roof => "roof rack and ratings",
            Self::Rules => "rules",
            Self::Trip => "trip",
            Self::WhatIfs => "what-ifs",
            Self::Log => "log",
        }
    }

    /// The list whose items it is, if it is one.
    pub(crate) const fn list(self) -> Option<&'static str> {
        match self {
            Self::Leg => Some("/legs"),
            Self::People => Some("/load/people"),
            Self::Gear => Some("/load/gear"),
            Self::Cans => Some("/load/cans"),
            Self::WhatIfs => Some("/what_ifs"),
            Self::Log => Some("/log"),
            _ => None,
        }
    }

    /// The subject that a panel is about.
    pub(crate) const fn of_panel(panel: Panel) -> Self {
        match panel {
            Panel::Load => Self::Gear,
            Panel::Log => Self::Log,
            _ => Self::Leg,
        }
    }
}

/// One value that can be edited.
#[derive(Clone, Debug)]
pub struct FieldRow {
    /// JSON Pointer to the value.
    pub at: String,
    /// The field of the table that describes it.
    pub field: &'static Field,
    /// What it is called, with the object that it is in: `fuel chance`.
    pub label: String,
    /// What it belongs to, where several of a kind are edited together and this is the first row of it.
    pub heading: Option<String>,
}

impl FieldRow {
    /// The value that the trip states.
    pub(crate) fn stated(&self, trip: &Trip) -> Option<Value> {
        if self.field.kind == Kind::Track {
            // Nobody reads the points, and there may be a million.
            return track_of(trip, &self.at);
        }
        stated(trip, &self.at)
    }

    /// The number of the item of a list that the row is about.
    pub(crate) fn item(&self, list: &str) -> Option<usize> {
        let rest = self.at.strip_prefix(list)?.strip_prefix('/')?;
        rest.split('/').next()?.parse().ok()
    }
}

fn track_of(trip: &Trip, at: &str) -> Option<Value> {
    use crate::model::track::Track;
    let leg: usize = at.strip_prefix("/legs/")?.split('/').next()?.parse().ok()?;
    Some(match trip.legs.get(leg)?.track.as_ref()? {
        Track::File { path, .. } => path.clone().into(),
        track => {
            let points = track.lines().iter().map(|line| line.points().len());
            vec![Value::Null; points.sum()].into()
        }
    })
}

/// The rows of a subject; `leg` is the number of the chosen leg, from 1.
pub(crate) fn rows(trip: &Trip, topic: Topic, leg: usize) -> Vec<FieldRow> {
    let mut rows = Vec::new();
    let mut all = |at: &str, prefix: &str| add(trip, at, prefix, &mut rows);
    match topic {
        Topic::Leg => all(&format!("/legs/{}", leg.saturating_sub(1)), ""),
        Topic::Start => all("/start", ""),
        Topic::Vehicle => all("/vehicle", ""),
        Topic::People => all("/load/people", ""),
        Topic::Gear => all("/load/gear", ""),
        Topic::Cans => all("/load/cans", ""),
        Topic::Roof => {
            all("/load/roof", "");
            all("/load/place_ratings_kg", "");
        }
        Topic::Rules => all("/rules", ""),
        Topic::Trip => all("/name", ""),
        Topic::WhatIfs => all("/what_ifs", ""),
        Topic::Log => all("/log", ""),
    }
    rows
}

fn add(trip: &Trip, at: &str, prefix: &str, rows: &mut Vec<FieldRow>) {
    let Some(node) = node(at) else {
        return;
    };
    let row = |field: &'static Field| FieldRow {
        at: at.to_owned(),
        field,
        label: joined(prefix, &field.label()),
        heading: None,
    };
    match node.kind() {
        // A list of words is typed as one; other lists are made of objects.
        Kind::List { .. }
            if node
                .item
                .as_ref()
                .is_some_and(|item| item.kind() == Kind::Object) =>
        {
            let count = match stated(trip, at) {
                Some(Value::Array(items)) => items.len(),
                _ => 0,
            };
            for item in 0..count {
                let from = rows.len();
                let item = format!("{at}/{item}");
                add(trip, &item, "", rows);
                if let Some(first) = rows.get_mut(from) {
                    first.heading = Some(holder(trip, &item));
                }
            }
        }
        Kind::Object => {
            let label = node.field.map_or_else(String::new, Field::label);
            let is_item = at
                .rsplit('/')
                .next()
                .is_some_and(|step| step.parse::<usize>().is_ok());
            let nested = !is_item && at.matches('/').count() > 1;
            // Whether it is there at all means something where its absence is no default.
            let optional = node
                .field
                .is_some_and(|field| matches!(field.if_absent, IfAbsent::Nothing));
            if let (true, true, Some(field)) = (nested, optional, node.field) {
                rows.push(row(field));
            }
            let within: Cow<str> = if nested && prefix.is_empty() {
                label.into()
            } else if nested {
                format!("{prefix} {label}").into()
            } else {
                prefix.into()
            };
            for child in &node.children {
                add(trip, &format!("{at}/{}", child.key), &within, rows);
            }
        }
        _ => rows.extend(node.field.map(row)),
    }
}

fn joined(prefix: &str, label: &str) -> String {
    if prefix.is_empty() {
        label.to_owned()
    } else {
        format!("{prefix}: {label}")
    }
}

fn node(at: &str) -> Option<&'static Node> {
    let mut node = field::tree();
    for step in at.split('/').skip(1) {
        node = match node.item.as_deref() {
            Some(item) if step.parse::<usize>().is_ok() => item,
            _ => node.child(step)?,
        };
    }
    Some(node)
}
