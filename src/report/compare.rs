//! Several plans side by side: the figures that decide, for each plan.

use super::Case;
use super::page::{Page, WIDTH};
use crate::present::name::{cut, pad_left, pad_right, plain};
use crate::present::number::{Toward, Units};
use crate::present::{odds, verdict};
use crate::quantity::{Kilograms, Litres};

/// Columns of a plan's name.
const NAME: usize = 25;
/// Columns of each figure.
const WIDTHS: [usize; FIGURES] = [3, 6, 6, 6, 9, 9, 7];
/// How many figures each plan has.
const FIGURES: usize = 7;

/// A figure that plans are compared by.
#[derive(Clone, Copy, Debug)]
pub(super) struct Figure {
    /// Its short head, on one or two lines.
    pub heads: [&'static str; 2],
    /// What it is.
    pub says: &'static str,
    /// Its unit; empty where there is none.
    pub unit: &'static str,
}

/// The figures, in their order.
pub(super) fn figures(units: Units) -> [Figure; FIGURES] {
    let (fuel, mass) = (
        units.fuel_unit(),
        units.mass(Kilograms::ZERO, Toward::Up).unit,
    );
    let figure = |heads, says, unit| Figure { heads, says, unit };
    [
        figure(["", "go"], "may set out", ""),
        figure(["fuel", fuel], "fuel burnt", fuel),
        figure(["spare", fuel], "spare fuel needed in cans", fuel),
        figure(["cans", fuel], "carried in cans", fuel),
        figure(
            ["mass left", mass],
            "mass left under the gross mass limit",
            mass,
        ),
        figure(["least", fuel], "smallest surplus over the reserve", fuel),
        figure(["wheel", "h"], "at the wheel", "h"),
    ]
}

/// A plan's name and its figures.
#[derive(Clone, Debug)]
pub(super) struct Row {
    /// The what-ifs, or that it is as stated.
    pub name: String,
    /// The figures in the order of [`figures`].
    pub cells: [String; FIGURES],
}

impl Row {
    /// The row of a plan.
    pub(super) fn of(case: &Case<'_>, units: Units) -> Self {
        let Case { plan, what_ifs, .. } = case;
        let name = match what_ifs {
            [] => "as stated".to_owned(),
            names => names.join(" + "),
        };
        let left = plan.load.gvm.map_or_else(
            || "?".to_owned(),
            |limit| units.mass(limit - plan.load.mass, Toward::Down).number,
        );
        let least = plan
            .legs
            .iter()
            .map(|leg| leg.end - leg.reserve)
            .reduce(Litres::min)
            .unwrap_or_default();
        let go = if verdict::may_go(plan) { "yes" } else { "NO" };
        Self {
            name: plain(&name).into_owned(),
            cells: [
                go.to_owned(),
                units.litres(plan.totals.fuel).number,
                units.spare(plan.spare.needed, Toward::Up).number,
                units.spare(plan.spare.carried, Toward::Down).number,
                left,
                units.fuel(least, Toward::Down).number,
                units.time(plan.totals.driving).number,
            ],
        }
    }
}

/// The table, at most 80 columns wide, the first plan being the trip as stated.
pub fn table(cases: &[Case<'_>], units: Units) -> String {
    let row = |name: &str, cells: [&str; FIGURES]| {
        let mut line = pad_right(&cut(name, NAME), NAME);
        for (n, (cell, columns)) in cells.into_iter().zip(WIDTHS).enumerate() {
            line.push(' ');
            // The first is a word, the others are numbers.
            line += &match n {
                0 => pad_right(cell, columns),
                _ => pad_left(cell, columns),
            };
        }
        format!("{}\n", line.trim_end())
    };
    let trip = cases
        .first()
        .and_then(|case| case.plan.trip.name.as_deref());
    // All rows have it in common.
    let set = cases
        .first()
        .and_then(Case::changes)
        .map(|set| cut(&format!("Changed: {set}"), WIDTH));
    let figures = figures(units);
    let mut text = vec![
        format!("{}\n", plain(trip.unwrap_or("Trip without a name"))),
        set.map_or_else(String::new, |set| format!("{set}\n")),
        "\n".to_owned(),
        row("", figures.map(|figure| figure.heads[0])),
        row("plan", figures.map(|figure| figure.heads[1])),
    ];
    text.extend(cases.iter().map(|case| {
        let Row { name, cells } = Row::of(case, units);
        row(&name, cells.each_ref().map(String::as_str))
    }));
    text.push(String::from(
        "\nspare: needed in cans; cans: carried in them; mass left: under the gross mass\n\
         limit; least: smallest surplus over the reserve; wheel: hours driven.\n",
    ));
    let mut page = Page::default();
    if let Some(case) = cases.first() {
        page.paragraph("", 0, &odds::basis(case.plan));
    }
    text.push(page.text);
    text.concat()
}
