//! How far the vehicle goes, as tables of one column a surface, and what the figures assume.

use super::card::check_place;
use super::carrying::limit_name;
use super::finding::listed;
use super::number::{Toward, Units, odds};
use crate::plan::range::{
    BySurface, Changed, EndOfCans, GEAR, Loaded, PERSON, RACK, RangeChange, RangeLeft, Ranges,
    Reach, STEP, TypicalSurface,
};
use crate::plan::{ChosenCans, FuelCheck, Plan};
use crate::quantity::{Kilograms, Kilometres};

pub(crate) const TITLE: &str = "Range";

/// The heads of the columns, in two lines of at most nine letters.
pub(crate) const HEADS: BySurface<[&str; 2]> = [
    ["", "sealed"],
    ["", "gravel"],
    ["corru-", "gated"],
    ["sandy", "track"],
    ["", "dunes"],
    ["rock,", "low range"],
];

/// The heads of the columns, each in one line.
pub(crate) const SURFACES: BySurface<&str> = [
    "sealed",
    "gravel",
    "corrugated",
    "sandy track",
    "dunes",
    "rock, low range",
];

/// The surfaces that a sentence is about.
pub(super) const IN_SHORT: [(TypicalSurface, &str); 3] = [
    (TypicalSurface::Sealed, "sealed road"),
    (TypicalSurface::Gravel, "gravel"),
    (TypicalSurface::SandyTrack, "a sandy track"),
];

/// A table with one column a surface.
#[derive(Clone, Debug)]
pub(crate) struct Table {
    pub(crate) caption: String,
    pub(crate) rows: Vec<RangeRow>,
}

/// A row of a table.
#[derive(Clone, Debug)]
pub(crate) struct RangeRow {
    pub(crate) label: String,
    pub(crate) cells: BySurface<String>,
}

/// The surface in the JSON report.
pub(crate) const fn code(surface: TypicalSurface) -> &'static str {
    match surface {
        TypicalSurface::Sealed => "sealed",
        TypicalSurface::Gravel => "gravel",
        TypicalSurface::Corrugated => "corrugated",
        TypicalSurface::SandyTrack => "sandy-track",
        TypicalSurface::Dunes => "dunes",
        TypicalSurface::RockInLowRange => "rock-in-low-range",
    }
}

/// The change in the JSON report.
pub(crate) const fn change_code(change: RangeChange) -> &'static str {
    match change {
        RangeChange::OneMoreCan => "one-more-can",
        RangeChange::OneMorePerson => "one-more-person",
        RangeChange::MoreGear => "more-gear",
        RangeChange::WithoutRoof => "without-roof",
        RangeChange::WithRack => "with-rack",
        RangeChange::Slower => "slower",
        RangeChange::Faster => "faster",
        RangeChange::AiredDown => "aired-down",
    }
}

/// What every figure is.
pub(crate) fn basis(ranges: &Ranges) -> String {
    format!(
        "from a full tank on one surface all the way. First figure: the {} target, which decides; second: the best estimate",
        odds(ranges.success_target)
    )
}

/// The tables: to the minimum, until empty, what is assumed, what changes them.
pub(crate) fn tables(ranges: &Ranges, units: Units) -> [Table; 4] {
    let km = units.distance_unit();
    let distances = |reach: fn(&crate::plan::range::Range) -> Reach| {
        let row = |(label, loaded): (String, &Loaded)| RangeRow {
            label,
            cells: loaded.by_surface.each_ref().map(|range| {
                let Reach {
                    best_estimate,
                    at_target,
                } = reach(range);
                let whole = |km| units.distance(km, Toward::Down).number;
                format!("{}/{}", whole(at_target), whole(best_estimate))
            }),
        };
        loads(ranges).into_iter().map(row).collect()
    };
    let of_stated = |label: String, cell: &dyn Fn(&crate::plan::range::Range) -> String| RangeRow {
        label,
        cells: ranges.as_stated.by_surface.each_ref().map(cell),
    };
    [
        Table {
            caption: format!("Distance to the minimum on arrival, {km}"),
            rows: distances(|range| range.to_minimum),
        },
        Table {
            caption: format!("Distance until the usable fuel is gone, {km}"),
            rows: distances(|range| range.until_empty),
        },
        Table {
            caption: "Assumed for it, loaded as in the trip, from the tank: speed and consumption"
                .to_owned(),
            rows: vec![
                of_stated(format!("speed, {}", units.speed_unit()), &|range| {
                    units.speed(range.speed, Toward::Nearest).number
                }),
                of_stated(units.rate_unit().to_owned(), &|range| {
                    units.rate(range.rate).number
                }),
            ],
        },
        Table {
            caption: format!(
                "What changes the distance to the minimum at the target, {km}; - if nothing"
            ),
            rows: ranges
                .changes
                .iter()
                .map(|changed| RangeRow {
                    label: change_label(changed, units),
                    cells: changed
                        .by_surface
                        .map(|km| km.map_or("-".to_owned(), |km| added(km, units))),
                })
                .collect(),
        },
    ]
}

/// The loads that have a row, each with a label of at most twenty letters where the cans allow it.
fn loads(ranges: &Ranges) -> Vec<(String, &Loaded)> {
    let tank = [
        ("tank, driver alone", &ranges.empty),
        ("tank, no roof rack", &ranges.without_roof),
        ("tank, as in trip", &ranges.as_stated),
    ];
    let tank = tank.map(|(label, loaded)| (label.to_owned(), loaded));
    let with_cans = ranges.with_cans.iter();
    let with_cans = with_cans.map(|with| (cans(&with.cans), &with.loaded));
    tank.into_iter().chain(with_cans).collect()
}

/// How many cans there are of each size.
fn by_size(chosen: &[ChosenCans]) -> Vec<(String, u32)> {
    let mut sizes: Vec<(String, u32)> = Vec::new();
    for group in chosen {
        let size = Units::can_size(group.size);
        match sizes.iter_mut().find(|(other, _)| *other == size) {
            Some((_, count)) => *count += group.count,
            None => sizes.push((size, group.count)),
        }
    }
    sizes
}

/// `+ 2x20, 1x10 L`: the cans by size, as short as a label.
fn cans(chosen: &[ChosenCans]) -> String {
    let sizes = by_size(chosen);
    let short = |(size, count): &(String, u32)| format!("{count}x{}", size.trim_end_matches(" L"));
    let sizes: Vec<String> = sizes.iter().map(short).collect();
    format!("+ {} L", sizes.join(", "))
}

/// `2 x 20 L and 1 x 10 L`: the same in a sentence.
fn cans_in_words(chosen: &[ChosenCans]) -> String {
    let sizes = by_size(chosen);
    let sizes = sizes
        .iter()
        .map(|(size, count)| format!("{count} x {size}"));
    listed(&sizes.collect::<Vec<_>>())
}

/// A distance that is added, with its sign.
fn added(km: Kilometres, units: Units) -> String {
    let sign = if km < Kilometres::ZERO { "-" } else { "+" };
    format!("{sign}{}", units.distance(km.abs(), Toward::Nearest).number)
}

fn change_label(changed: &Changed, units: Units) -> String {
    let mass = |mass: Kilograms| {
        let sign = if mass < Kilograms::ZERO { "-" } else { "+" };
        format!("{sign}{}", units.mass(mass.abs(), Toward::Nearest))
    };
    let step = |sign| {
        format!(
            "{sign}{} {}",
            units.speed(STEP, Toward::Nearest).number,
            units.speed_unit()
        )
    };
    match changed.what {
        RangeChange::OneMoreCan => format!("1 can, {}", mass(changed.mass)),
        RangeChange::OneMorePerson => format!("1 person, {}", mass(PERSON)),
        RangeChange::MoreGear => format!("gear, {}", mass(GEAR)),
        RangeChange::WithoutRoof => format!("no rack, {}", mass(changed.mass)),
        RangeChange::WithRack => format!("open rack, {}", mass(RACK)),
        RangeChange::Slower => step("-"),
        RangeChange::Faster => step("+"),
        RangeChange::AiredDown => "tyres aired down".to_owned(),
    }
}

/// What is on board, what is assumed, and why there are no more cans.
pub(crate) fn notes(ranges: &Ranges, units: Units) -> Vec<String> {
    let on_board = loads(ranges).into_iter().map(|(label, loaded)| {
        format!(
            "{label}: {}, {}",
            units.fuel_tenths(loaded.fuel, Toward::Down),
            units.mass(loaded.mass, Toward::Up)
        )
    });
    let on_board: Vec<String> = on_board.collect();
    vec![
        format!("On board at the start: {}.", on_board.join("; ")),
        end_of_cans(ranges, units),
        "Minimum on arrival: the reserve at the target, the reserve and the contingency by the best estimate. The figure at \
         the target is never the larger one."
            .to_owned(),
        "Assumed: level, at the altitude of the start, no wind on average, tyres at road pressure, loaded as on day 1, all \
         on one day. A sandy track is soft sand all the way. On a real route, climbs, wind and mixed surfaces count: plan \
         its legs."
            .to_owned(),
    ]
}

/// Why there is no larger number of cans.
pub(crate) fn end_of_cans(ranges: &Ranges, units: Units) -> String {
    let count = ranges.with_cans.len();
    let one_more = if count == 0 { "A can" } else { "One more can" };
    match ranges.end_of_cans {
        EndOfCans::AllListed if count == 0 => "The trip lists no cans that can be used.".to_owned(),
        EndOfCans::AllListed => "The trip lists no more cans.".to_owned(),
        EndOfCans::Rule(most) => format!(
            "{one_more} would exceed the {} that the rules allow in cans.",
            units.fuel_tenths(most, Toward::Down)
        ),
        EndOfCans::Limit(what, excess) => format!(
            "{one_more}, everything full, would exceed {} by {}.",
            limit_name(what),
            units.mass(excess, Toward::Up)
        ),
        EndOfCans::NotShown => format!("More than {count} cans are not shown."),
    }
}

/// The range at the target from the tank alone, and with the most cans, each in a sentence.
pub(crate) fn in_short(ranges: &Ranges, units: Units) -> Vec<String> {
    let sentence = |with: &str, loaded: &Loaded| {
        let parts = IN_SHORT.map(|(surface, name)| {
            let range = &loaded.by_surface[surface as usize];
            let km = units.distance(range.to_minimum.at_target, Toward::Down);
            format!("{km} on {name}")
        });
        format!(
            "Range to the minimum {with}, {} target: {}.",
            odds(ranges.success_target),
            listed(&parts)
        )
    };
    let most = ranges.with_cans.last().map(|most| {
        let with = format!("with {}", cans_in_words(&most.cans));
        sentence(&with, &most.loaded)
    });
    std::iter::once(sentence("from the tank", &ranges.as_stated))
        .chain(most)
        .collect()
}

pub(crate) const LEFT_TITLE: &str = "Range left";

/// How far the fuel on board leads from one fuel check.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct LeftLine {
    /// Its kilometre, a bare number.
    pub(crate) at: String,
    pub(crate) place: String,
    /// At the target and by the best estimate, `118/164`; `>92` beyond the finish.
    pub(crate) to_minimum: String,
    pub(crate) until_empty: String,
}

/// What the range beside a fuel check is.
pub(crate) fn left_meaning(plan: &Plan) -> String {
    let target = plan.doubt.as_ref().map(|doubt| odds(doubt.success_target));
    format!(
        "Range: how far {} of the trips get along the route ahead before they fall below the minimum, without another fill.",
        target.unwrap_or_default()
    )
}

/// What the figures of the range left are.
pub(crate) fn left_basis(plan: &Plan) -> String {
    let target = plan.doubt.as_ref().map(|doubt| odds(doubt.success_target));
    format!(
        "along the route ahead from each fuel check, without another fill. First figure: {} of the simulated trips get \
         as far; second: the best estimate with the expected litres; >: beyond the finish",
        target.unwrap_or_default()
    )
}

/// How far the fuel on board leads from each fuel check.
pub(crate) fn left(plan: &Plan, units: Units) -> Vec<LeftLine> {
    let line = |(check, left): (&FuelCheck, &RangeLeft)| {
        let whole = |km| ahead(plan, check, km, units);
        let both = |target, best_estimate| match (target, best_estimate) {
            (None, None) => whole(None),
            (target, best_estimate) => format!("{}/{}", whole(target), whole(best_estimate)),
        };
        LeftLine {
            at: units.at_number(check.at_km, Toward::Nearest),
            place: check_place(check),
            to_minimum: both(left.to_minimum, left.to_minimum_best_estimate),
            until_empty: both(left.until_empty, left.until_empty_best_estimate),
        }
    };
    plan.fuel_checks
        .iter()
        .zip(plan.range_left())
        .map(line)
        .collect()
}

/// The distance to the minimum at the target from one of the fuel checks, if it is calculated already.
pub(crate) fn known_left(plan: &Plan, nth: usize, units: Units) -> Option<String> {
    let left = plan.known_range_left().get(nth)?;
    Some(ahead(plan, &plan.fuel_checks[nth], left.to_minimum, units))
}

/// The distance to the minimum at the target from a kilometre of the route, without another fill: as from the next fuel check
/// ahead. `None` if that is not calculated, if fuel is filled before it, or if the minimum is reached before it.
pub(crate) fn known_left_at(plan: &Plan, km: Kilometres, units: Units) -> Option<String> {
    let (nth, check) = plan
        .fuel_checks
        .iter()
        .enumerate()
        .find(|(_, check)| check.at_km >= km)?;
    let is_filled = plan
        .stops
        .iter()
        .any(|stop| stop.at_km > km && stop.at_km < check.at_km && stop.leave_with.is_some());
    let from_check = plan.known_range_left().get(nth)?.to_minimum;
    if is_filled || from_check == Some(Kilometres::ZERO) {
        return None;
    }
    let to_check = check.at_km - km;
    let left = match from_check {
        Some(left) => units.distance(to_check + left, Toward::Down).to_string(),
        None => format!(">{}", units.distance(to_finish(plan, km), Toward::Down)),
    };
    Some(format!("range {left}"))
}

fn to_finish(plan: &Plan, km: Kilometres) -> Kilometres {
    let finish = plan.legs.last().map(|leg| leg.from_km + leg.distance);
    finish.unwrap_or_default() - km
}

/// A distance from a fuel check, a bare number; `>92` beyond the finish.
fn ahead(plan: &Plan, check: &FuelCheck, km: Option<Kilometres>, units: Units) -> String {
    let to_finish = to_finish(plan, check.at_km);
    let whole = |km| units.distance(km, Toward::Down).number;
    km.map_or_else(|| format!(">{}", whole(to_finish)), whole)
}
