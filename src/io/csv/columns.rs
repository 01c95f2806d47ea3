//! Columns by their names.

use crate::present::leg_table::{Column, FROM, LEG, PLAN};

/// Whether a column is one of a plan's, which a table may have and which say nothing of the trip.
pub(super) fn is_of_plan(name: &str) -> bool {
    PLAN.contains(&name.trim().to_ascii_lowercase().as_str())
}

pub(super) fn find(name: &str) -> Option<&'static Column> {
    let name = name.trim().to_ascii_lowercase();
    LEG.iter().chain(&FROM).find(|column| column.name == name)
}

pub(super) fn known() -> String {
    let names: Vec<&str> = FROM.iter().chain(&LEG).map(|column| column.name).collect();
    format!("the columns are {}", names.join(", "))
}

pub(super) fn nearest(name: &str) -> String {
    LEG.iter()
        .chain(&FROM)
        .map(|column| {
            (
                strsim::jaro_winkler(column.name, &name.to_ascii_lowercase()),
                column.name,
            )
        })
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .filter(|(likeness, _)| *likeness > 0.8)
        .map_or_else(String::new, |(_, name)| format!("; `{name}` is near"))
}
