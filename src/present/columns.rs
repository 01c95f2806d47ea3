//! The columns of a leg, once: title, unit, width, cell.

use super::name;
use super::number::{Toward, Units};
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
    /// The unit under its head; empty where there is none.
    pub(crate) unit: fn(Units) -> &'static str,
    /// Columns of a terminal that it takes up.
    pub(crate) width: usize,
    pub(crate) align: Align,
    cell: Cell,
}

impl Column {
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

const fn left(title: &'static str, width: usize, cell: Cell) -> Column {
    Column {
        title,
        unit: no_unit,
        width,
        align: Align::Left,
        cell,
    }
}

const fn right(
    title: &'static str,
    unit: fn(Units) -> &'static str,
    width: usize,
    cell: Cell,
) -> Column {
    Column {
        unit,
        align: Align::Right,
        ..left(title, width, cell)
    }
}

const fn no_unit(_: Units) -> &'static str {
    ""
}

const fn short_rate(units: Units) -> &'static str {
    match units.rate_unit() {
        // Beside other columns the full `L/100 km` is wider than its numbers.
        unit if unit.len() > 5 => "L/100",
        unit => unit,
    }
}

/// The columns in their order; with a blank between them they take up 80 columns of a terminal.
///
/// `left` is usable fuel on arrival, tank and cans together, before any filling; a `!` behind it
/// says that it is below `keep`, the reserve there. `gauge` is what the instrument then shows.
pub(crate) static LEG: [Column; 12] = [
    right("leg", no_unit, 3, |leg, _, _| leg.n.to_string()),
    right("day", no_unit, 3, |leg, _, _| leg.day.to_string()),
    left("to", 13, |leg, _, _| leg.to.clone()),
    left("ground", 10, |leg, _, _| leg.surface.word().to_owned()),
    right("way", Units::distance_unit, 5, |leg, _, units| {
        units.distance(leg.distance, Toward::Nearest).number
    }),
    right("speed", Units::speed_unit, 5, |leg, _, units| {
        units.speed(leg.speed, Toward::Nearest).number
    }),
    right("fuel", Units::fuel_unit, 5, |leg, _, units| {
        units.litres(leg.fuel).number
    }),
    right("rate", short_rate, 5, |leg, _, units| {
        leg.rate
            .map_or_else(|| "-".to_owned(), |rate| units.rate(rate).number)
    }),
    right("left", Units::fuel_unit, 5, |leg, _, units| {
        let mark = if leg.below_reserve { "!" } else { "" };
        format!("{}{mark}", units.fuel(leg.end, Toward::Down).number)
    }),
    right("keep", Units::fuel_unit, 5, |leg, _, units| {
        units.fuel(leg.reserve, Toward::Up).number
    }),
    right(
        "gauge",
        |_| "tank",
        5,
        |leg, plan, units| {
            let tank = plan.trip.vehicle.tank_l;
            let gauge = units.gauge(leg.end_tank_gauge, tank, Toward::Nearest);
            gauge.to_owned()
        },
    ),
    right("cans", Units::fuel_unit, 5, |leg, _, units| {
        if leg.end_cans > Litres::ZERO {
            units.spare(leg.end_cans, Toward::Down).number
        } else {
            "-".to_owned()
        }
    }),
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
