//! Columns by their names.

use crate::model::near::nearest;
use crate::present::leg_table::{Column, FROM, LEG, PLAN};

/// Whether a column is one of a plan's, which a table may have and which say nothing of the trip.
fn is_of_plan(name: &str) -> bool {
    PLAN.contains(&name.trim().to_ascii_lowercase().as_str())
}

/// The columns that one kind of table may have, and whether another name is passed over.
pub(super) struct Columns {
    pub(super) known: &'static [&'static [Column]],
    pub(super) passes_over: fn(&str) -> bool,
}

/// The columns of a leg table.
pub(super) static LEG_TABLE: Columns = Columns {
    known: &[&FROM, &LEG],
    passes_over: is_of_plan,
};

impl Columns {
    fn all(&self) -> impl Iterator<Item = &'static Column> {
        self.known.iter().copied().flatten()
    }

    pub(super) fn find(&self, name: &str) -> Option<&'static Column> {
        let name = name.trim().to_ascii_lowercase();
        self.all().find(|column| column.name == name)
    }

    pub(super) fn known(&self) -> String {
        let names: Vec<&str> = self.all().map(|column| column.name).collect();
        format!("the columns are {}", names.join(", "))
    }

    pub(super) fn nearest(&self, name: &str) -> String {
        nearest(name, self.all().map(|column| column.name))
            .map_or_else(String::new, |name| format!("; `{name}` is near"))
    }
}
