//! The columns of the leg table: title, unit, width, cell.

use super::name;
use super::number::{Toward, Units, gauge};
use crate::plan::{Plan, PlannedLeg};
use crate::quantity::Litres;

/// On which side a cell is filled with blanks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Align {
    /// Text begins at the left.
    Left,
    /// Numbers end at the right.
    Right,
}

/// One column of the table of legs.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Column {
    pub(crate) title: &'static str,
    /// The title where a column is narrow.
    short: &'static str,
    /// Whether it is about the arrival, before any filling.
    pub(crate) on_arrival: bool,
    /// The unit under its head; empty where there is none.
    pub(crate) unit: fn(Units) -> &'static str,
    /// Its width in columns of a terminal.
    pub(crate) width: usize,
    pub(crate) align: Align,
    cell: Cell,
}

impl Column {
    /// The head on two lines, short title and unit.
    pub(crate) fn head(&self, units: Units) -> [&'static str; 2] {
        match (self.unit)(units) {
            // Wider than its numbers.
            "L/100 km" => ["L/100", "km"],
            unit => [self.short, unit],
        }
    }

    /// The cell of a leg, exactly `width` wide unless a number needs more.
    pub(crate) fn cell(&self, leg: &PlannedLeg, plan: &Plan, units: Units) -> String {
        self.fit(&self.text(leg, plan, units))
    }

    /// The cell of a leg as it is, for paper that makes its columns as wide as they need.
    pub(crate) fn text(&self, leg: &PlannedLeg, plan: &Plan, units: Units) -> String {
        name::plain(&(self.cell)(leg, plan, units)).into_owned()
    }

    /// A text set into the column.
    pub(crate) fn fit(&self, text: &str) -> String {
        match self.align {
            Align::Left => name::pad_right(&name::cut(text, self.width), self.width),
            Align::Right => name::pad_left(text, self.width),
        }
    }
}

type Cell = fn(&PlannedLeg, &Plan, Units) -> String;

const fn left([title, short]: [&'static str; 2], width: usize, cell: Cell) -> Column {
    Column {
        title,
        short,
        on_arrival: false,
        unit: no_unit,
        width,
        align: Align::Left,
        cell,
    }
}

const fn right(
    titles: [&'static str; 2],
    unit: fn(Units) -> &'static str,
    width: usize,
    cell: Cell,
) -> Column {
    Column {
        unit,
        align: Align::Right,
        ..left(titles, width, cell)
    }
}

const fn on_arrival(column: Column) -> Column {
    Column {
        on_arrival: true,
        ..column
    }
}

const fn no_unit(_: Units) -> &'static str {
    ""
}

/// What the columns mean.
pub(crate) const HOW_TO_READ: &str = "Fuel on arrival is before filling; min is the minimum there, reserve and contingency; ! below \
                                      it. Gauge in eighths. -: none.";

/// The columns in their order; with a blank between them they take up 80 columns of a terminal.
///
/// Fuel on arrival is usable fuel, tank and cans together; a `!` after it: below the minimum there. `gauge` is the instrument's
/// reading. What is on board is in whole litres as in the fuel checks, since a gauge shows no more; what a leg takes, and
/// what cans hold, has tenths.
pub(crate) static LEG: [Column; 12] = [
    right(["leg"; 2], no_unit, 3, |leg, _, _| leg.n.to_string()),
    right(["day"; 2], no_unit, 3, |leg, _, _| leg.day.to_string()),
    left(["to"; 2], 12, |leg, _, _| leg.to.clone()),
    left(["surface"; 2], 10, |leg, _, _| {
        leg.surface.word().to_owned()
    }),
    right(
        ["distance", "dist."],
        Units::distance_unit,
        5,
        |leg, _, units| units.distance(leg.distance, Toward::Nearest).number,
    ),
    right(["speed"; 2], Units::speed_unit, 5, |leg, _, units| {
        units.speed(leg.speed, Toward::Nearest).number
    }),
    right(["fuel"; 2], Units::fuel_unit, 5, |leg, _, units| {
        units.fuel_tenths(leg.fuel, Toward::Nearest).number
    }),
    right(["consumption", ""], Units::rate_unit, 5, |leg, _, units| {
        leg.rate
            .map_or_else(|| "-".to_owned(), |rate| units.rate(rate).number)
    }),
    on_arrival(right(
        ["on arrival", "fuel"],
        Units::fuel_unit,
        6,
        |leg, _, units| {
            let mark = if leg.below_reserve { "!" } else { "" };
            format!("{}{mark}", units.by_gauge(leg.end, Toward::Down).number)
        },
    )),
    on_arrival(right(
        ["minimum", "min"],
        Units::fuel_unit,
        5,
        |leg, _, units| units.by_gauge(leg.reserve, Toward::Up).number,
    )),
    on_arrival(right(
        ["gauge"; 2],
        |_| "tank",
        5,
        |leg, plan, _| gauge(leg.end_tank_gauge, plan.trip.vehicle.tank_l).to_owned(),
    )),
    on_arrival(right(["cans"; 2], Units::fuel_unit, 5, |leg, _, units| {
        if leg.end_cans > Litres::ZERO {
            units.fuel_tenths(leg.end_cans, Toward::Down).number
        } else {
            "-".to_owned()
        }
    })),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_columns_fill_a_line_of_eighty() {
        let cells: usize = LEG.iter().map(|column| column.width).sum();
        assert!(cells + LEG.len() - 1 <= 80);
    }
}
