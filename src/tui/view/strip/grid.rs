//! Which kilometres are in which column.

use std::ops::Range;

use crate::quantity::Kilometres;
use crate::tui::state::State;

/// The columns of the strip: which kilometres are where.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Grid {
    /// What one column covers.
    pub(crate) per_column: Kilometres,
    /// The first visible column, counted from the start of the trip.
    pub(crate) first: i64,
    /// How many are visible.
    pub(crate) columns: u16,
}

impl Grid {
    /// The columns that a state shows on `columns` columns.
    pub(crate) fn of(state: &State, columns: u16) -> Self {
        let look = state.look();
        let per_column = look.span / f64::from(columns.max(1));
        let grid = Self {
            per_column,
            first: 0,
            columns,
        };
        Self {
            first: grid.absolute(look.left),
            ..grid
        }
    }

    /// Column of a kilometre, counted from the start of the trip.
    pub(crate) fn absolute(&self, km: Kilometres) -> i64 {
        // The last bit of a sum must not move a border by a column.
        whole((km / self.per_column + 1e-9).floor())
    }

    /// Column of a kilometre on the screen, if it is there. What is on the right border belongs
    /// to the last column.
    pub(crate) fn column_of(&self, km: Kilometres) -> Option<u16> {
        let column = self.absolute(km) - self.first;
        let last = i64::from(self.columns) - 1;
        let column = if column == last + 1 { last } else { column };
        u16::try_from(column).ok().filter(|&c| c < self.columns)
    }

    /// Kilometres of a column on the screen.
    pub(crate) fn run_of(&self, column: u16) -> Range<Kilometres> {
        let start = self.first + i64::from(column);
        self.per_column * start as f64..self.per_column * (start + 1) as f64
    }

    /// Kilometres of a column whose marks are in it: the last column has what is on its right border.
    pub(crate) fn reach_of(&self, column: u16) -> Range<Kilometres> {
        let next = self.run_of(column + 1);
        let end = if column + 1 == self.columns {
            next.end
        } else {
            next.start
        };
        self.run_of(column).start..end
    }

    /// The middle of a column on the screen.
    pub(crate) fn middle_of(&self, column: u16) -> Kilometres {
        let run = self.run_of(column);
        (run.start + run.end) / 2.0
    }

    /// All kilometres on the screen.
    pub(crate) fn run(&self) -> Range<Kilometres> {
        self.run_of(0).start..self.run_of(self.columns).start
    }
}

/// The whole part of a number.
pub(in crate::tui::view) fn whole(number: f64) -> i64 {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "saturates; no number becomes 0"
    )]
    let whole = number as i64;
    whole
}
