//! The leg table as something to be typed in: its columns, the cell with the cursor, and a range of legs.

use super::sheet::FieldRow;
use crate::model::field::{self, Field};

/// A column whose cells can be edited.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Column {
    Day,
    To,
    Distance,
    Surface,
    Sand,
    Dunes,
    LowRange,
    Speed,
}

impl Column {
    /// Every column from left to right.
    pub const ALL: [Self; 8] = [
        Self::Day,
        Self::To,
        Self::Distance,
        Self::Surface,
        Self::Sand,
        Self::Dunes,
        Self::LowRange,
        Self::Speed,
    ];

    /// The key of a leg in the trip file.
    pub(crate) const fn key(self) -> &'static str {
        match self {
            Self::Day => "day",
            Self::To => "to",
            Self::Distance => "distance_km",
            Self::Surface => "surface",
            Self::Sand => "sand_share",
            Self::Dunes => "dune_share",
            Self::LowRange => "low_range_share",
            Self::Speed => "speed_kmh",
        }
    }

    /// The field of the column's cells.
    ///
    /// # Panics
    /// Never: every key is in the table of fields.
    pub(crate) fn field(self) -> &'static Field {
        let at = format!("/legs/*/{}", self.key());
        field::field(&at).expect("every column is a field of a leg")
    }

    /// The column at the left or at the right, or the same at an end.
    #[must_use]
    pub(crate) fn beside(self, right: bool) -> Self {
        let at = self as usize;
        let at = if right {
            (at + 1).min(Self::ALL.len() - 1)
        } else {
            at.saturating_sub(1)
        };
        Self::ALL[at]
    }

    /// The cell of leg number `leg`, from 1, as something to be edited.
    pub(crate) fn row(self, leg: usize) -> FieldRow {
        let field = self.field();
        FieldRow {
            at: format!("/legs/{}/{}", leg - 1, self.key()),
            label: field.label(),
            field,
            heading: None,
        }
    }
}

/// The cursor of the table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cursor {
    /// The column; the row is that of the chosen leg.
    pub column: Column,
    /// The leg from which a range was begun, from 1.
    pub anchor: Option<usize>,
    /// Whether the row below the last leg is chosen, in which a new leg is typed.
    pub is_on_new: bool,
}

impl Default for Cursor {
    fn default() -> Self {
        Self {
            column: Column::Distance,
            anchor: None,
            is_on_new: false,
        }
    }
}
