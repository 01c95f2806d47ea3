//! Where the mass goes: what the gross mass is made of, the margins day by day, what can still be loaded and what it costs.

use super::carrying::{carrying_place, limit_name};
use super::finding::listed;
use super::load::name;
use super::number::{Figure, Toward, Units};
use super::range::IN_SHORT;
use crate::model::vocabulary::CarryingPlace;
use crate::plan::range::{GEAR, RangeChange, Ranges};
use crate::plan::{Departure, LoadBar, MadeOf, Plan, Room};
use crate::quantity::{Kilograms, Kilometres, Share};

/// One part of the gross mass, and where it begins and ends on the way from nothing to the limit.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct BudgetRow {
    pub(crate) what: &'static str,
    pub(crate) mass: Figure,
    pub(crate) from: Share,
    pub(crate) to: Share,
    /// Whether it is what the limit leaves, or what exceeds it.
    pub(crate) is_margin: bool,
}

/// The parts of the gross mass by name.
pub(crate) fn parts(made_of: &MadeOf) -> [(&'static str, Kilograms); 7] {
    [
        ("empty vehicle", made_of.empty),
        ("people", made_of.people),
        ("gear", made_of.gear),
        ("roof rack", made_of.carrier),
        ("water", made_of.water),
        ("empty cans", made_of.cans),
        ("fuel", made_of.fuel),
    ]
}

/// The gross mass part by part, and last the margin where there is a limit. Shares are of the larger of mass and limit.
pub(crate) fn budget(made_of: &MadeOf, gvm: Option<Kilograms>, units: Units) -> Vec<BudgetRow> {
    let whole = gvm.map_or(made_of.sum(), |gvm| gvm.max(made_of.sum()));
    let mut from = Kilograms::ZERO;
    let mut rows: Vec<BudgetRow> = Vec::new();
    for (what, mass) in parts(made_of) {
        if mass > Kilograms::ZERO {
            rows.push(BudgetRow {
                what,
                mass: units.mass(mass, Toward::Nearest),
                from: Share::new(from / whole),
                to: Share::new((from + mass) / whole),
                is_margin: false,
            });
        }
        from += mass;
    }
    if let Some(gvm) = gvm {
        rows.push(BudgetRow {
            what: if from > gvm { "over the GVM" } else { "margin" },
            mass: units.mass_margin(gvm - from),
            from: Share::new(from.min(gvm) / whole),
            to: Share::new(1.0),
            is_margin: true,
        });
    }
    rows
}

/// A table of margins: a row a day, a column a limit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct ByDay {
    pub(crate) caption: String,
    pub(crate) heads: Vec<&'static str>,
    pub(crate) rows: Vec<Vec<String>>,
}

/// The margins at the departures of each day, the smallest of them; `None` on a trip of one day or without limits.
pub(crate) fn by_day(plan: &Plan, units: Units) -> Option<ByDay> {
    let bars = plan.load.bars.iter();
    let limits: Vec<&LoadBar> = bars.filter(|bar| bar.limit.is_some()).collect();
    let departures = &plan.load.departures;
    let days: Vec<&[Departure]> = departures.chunk_by(|a, b| a.day == b.day).collect();
    if limits.is_empty() || days.len() < 2 {
        return None;
    }
    let mut heads = vec!["day", "gross"];
    heads.extend(limits.iter().map(|bar| name(bar.what)));
    let row = |day: &&[Departure]| {
        let most = day.iter().map(|departure| departure.mass);
        let gross = most.reduce(Kilograms::max).unwrap_or_default();
        let bars = plan.bars_of(day);
        let margin = |bar: &&LoadBar| {
            let same = bars.iter().find(|other| other.what.is_of(bar.what));
            let left = same.and_then(LoadBar::left);
            left.map_or("-".to_owned(), |left| units.mass_margin(left).number)
        };
        let mut cells = vec![day[0].day.to_string(), units.mass(gross, Toward::Up).number];
        cells.extend(limits.iter().map(margin));
        cells
    };
    Some(ByDay {
        caption: format!(
            "Largest gross mass and smallest margins of each day, {}",
            units.mass(Kilograms::ZERO, Toward::Nearest).unit
        ),
        heads,
        rows: days.iter().map(row).collect(),
    })
}

/// What can still be loaded, and where.
pub(crate) fn still(rooms: &[Room], units: Units) -> String {
    if rooms.is_empty() {
        return "No limit is set, so what can still be loaded is unknown.".to_owned();
    }
    let parts = rooms.iter().map(|room| {
        let to = match room.place {
            CarryingPlace::Cabin | CarryingPlace::Cargo => "in",
            CarryingPlace::Rear | CarryingPlace::Roof => "on",
        };
        let mass = units.mass(room.mass.max(Kilograms::ZERO), Toward::Down);
        let place = carrying_place(room.place);
        format!("{mass} {to} {place} ({})", limit_name(room.limit))
    });
    let parts: Vec<String> = parts.collect();
    format!(
        "Can still be loaded, in one of these places: {}. In brackets: the limit that leaves no more.",
        listed(&parts)
    )
}

/// What more gear costs, and what a can buys, in kilometres at the target.
pub(crate) fn price(ranges: &Ranges, units: Units) -> Vec<String> {
    let sentence = |what: RangeChange| {
        let changed = ranges.changes.iter().find(|changed| changed.what == what)?;
        let parts = IN_SHORT.iter().filter_map(|(surface, name)| {
            let km: Kilometres = changed.by_surface[*surface as usize]?;
            let km = units.distance(km.abs(), Toward::Nearest);
            Some(format!("{km} on {name}"))
        });
        let parts = listed(&parts.collect::<Vec<_>>());
        Some(if what == RangeChange::OneMoreCan {
            let mass = units.mass(changed.mass, Toward::Nearest);
            format!("The first can, {mass} when full, adds {parts}.")
        } else {
            let mass = units.mass(GEAR, Toward::Nearest);
            format!("{mass} more gear shortens the range of a tank by {parts}.")
        })
    };
    [RangeChange::MoreGear, RangeChange::OneMoreCan]
        .into_iter()
        .filter_map(sentence)
        .collect()
}
