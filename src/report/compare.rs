//! Several plans side by side: a row for each, a column for each figure that decides.

use super::Case;
use super::page::WIDTH;
use crate::present::name::{cut, pad_left, pad_right, plain};
use crate::present::number::{Toward, Units};
use crate::present::verdict;
use crate::quantity::{Kilograms, Litres};

/// Columns of a plan's name.
const NAME: usize = 25;

/// The table, at most 80 columns wide, the first plan being the trip as stated.
pub fn table(cases: &[Case<'_>], units: Units) -> String {
    let row = |cells: [&str; 8]| {
        let [name, go, fuel, spare, cans, left, over, hours] = cells;
        let line = [
            pad_right(&cut(name, NAME), NAME),
            pad_right(go, 3),
            pad_left(fuel, 6),
            pad_left(spare, 6),
            pad_left(cans, 6),
            pad_left(left, 9),
            pad_left(over, 9),
            pad_left(hours, 7),
        ]
        .join(" ");
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
    let (fuel, mass) = (
        units.fuel_unit(),
        units.mass(Kilograms::ZERO, Toward::Up).unit,
    );
    let mut text = vec![
        format!("{}\n", plain(trip.unwrap_or("Trip without a name"))),
        set.map_or_else(String::new, |set| format!("{set}\n")),
        "\n".to_owned(),
        row([
            "",
            "",
            "fuel",
            "spare",
            "cans",
            "mass left",
            "least",
            "wheel",
        ]),
        row(["plan", "go", fuel, fuel, fuel, mass, fuel, "h"]),
    ];
    for Case { plan, what_ifs, .. } in cases {
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
        text.push(row([
            &name,
            if verdict::may_go(plan) { "yes" } else { "NO" },
            &units.litres(plan.totals.fuel).number,
            &units.spare(plan.spare.needed, Toward::Up).number,
            &units.spare(plan.spare.carried, Toward::Down).number,
            &left,
            &units.fuel(least, Toward::Down).number,
            &units.time(plan.totals.driving).number,
        ]));
    }
    text.push(format!(
        "\nspare: needed in cans; cans: carried in them; mass left: under the gross mass\n\
         limit; least: smallest surplus over the reserve; wheel: hours driven.\n{}\n",
        verdict::PLAIN_PLAN.replace(". Fuel", ".\nFuel"),
    ));
    text.concat()
}
