//! Plans side by side: the figures that decide, wherever they are tabulated.

use super::name::plain;
use super::number::{self, Toward, Units};
use super::verdict;
use crate::plan::Plan;
use crate::quantity::{Kilograms, Litres};

/// How many figures each plan has.
pub(crate) const FIGURES: usize = 8;
/// The name of the plan without any what-if.
pub(crate) const AS_STATED: &str = "as in the trip";

/// A figure that plans are compared by.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Figure {
    /// Its short head, on one or two lines.
    pub(crate) heads: [&'static str; 2],
    pub(crate) says: &'static str,
    /// Its unit; empty where there is none.
    pub(crate) unit: &'static str,
}

/// The figures, in their order.
pub(crate) fn figures(units: Units) -> [Figure; FIGURES] {
    let (fuel, mass) = (
        units.fuel_unit(),
        units.mass(Kilograms::ZERO, Toward::Up).unit,
    );
    let figure = |heads, says, unit| Figure { heads, says, unit };
    [
        figure(["", "go"], "may set out", ""),
        figure(["finish", "%"], "finish with the reserve intact", "%"),
        figure(["fuel", fuel], "fuel burnt", fuel),
        figure(["needed", fuel], "needed in cans", fuel),
        figure(["carried", fuel], "carried in cans", fuel),
        figure(["GVM", mass], "margin to the gross vehicle mass", mass),
        figure(["margin", fuel], "smallest margin, best estimate", fuel),
        figure(["driving", "h:min"], "driving time", "h:min"),
    ]
}

/// A plan's name and its figures.
#[derive(Clone, Debug)]
pub struct Row {
    /// The what-ifs, or that there are none.
    pub name: String,
    /// The figures in the order of [`figures`].
    pub cells: [String; FIGURES],
}

impl Row {
    /// The row of a plan under a name.
    pub(crate) fn of(name: &str, plan: &Plan, units: Units) -> Self {
        let left = plan.load.gvm.map_or_else(
            || "?".to_owned(),
            |limit| units.mass_margin(limit - plan.load.mass).number,
        );
        let least = plan
            .legs
            .iter()
            .map(|leg| leg.end - leg.reserve)
            .reduce(Litres::min)
            .unwrap_or_default();
        let go = if verdict::may_go(plan) { "yes" } else { "NO" };
        Self {
            name: plain(name).into_owned(),
            cells: [
                go.to_owned(),
                plan.doubt.as_ref().map_or_else(
                    || "-".to_owned(),
                    |doubt| {
                        number::outcome(doubt.outcomes.finish_reserve_intact.share)
                            .replace(" %", "")
                    },
                ),
                units.fuel_tenths(plan.totals.fuel, Toward::Nearest).number,
                verdict::needed(plan, units).number,
                units.fuel_tenths(plan.in_cans.carried, Toward::Down).number,
                left,
                units.margin(least).number,
                number::clock(plan.totals.driving),
            ],
        }
    }
}
