//! The load in words: each limit with its load and margin, and when and why the vehicle is heaviest.

use std::fmt::Write;

use super::finding::{self, place_name};
use super::name::plain;
use super::number::{Figure, Toward, Units, days, in_days};
use crate::model::vocabulary::CarryingPlace;
use crate::plan::{Departure, LoadBar, LoadLimit, Plan, Where};
use crate::quantity::{Kilograms, Litres};
use crate::solver::cans::is_on_roof;

/// One limit, each figure as text: the load rounded up, limit and margin down.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct LoadLine {
    pub(crate) what: String,
    /// The load at its heaviest departure.
    pub(crate) mass: Figure,
    /// The limit; `None` if none is set.
    pub(crate) limit: Option<Figure>,
    /// The margin, `+120 kg` or `-3 kg OVER`.
    pub(crate) left: Option<String>,
    /// The place of the heaviest departure.
    pub(crate) place: String,
}

/// A limit as a line.
pub(crate) fn line(bar: &LoadBar, plan: &Plan, units: Units) -> LoadLine {
    LoadLine {
        what: name(bar.what).to_owned(),
        mass: units.mass(bar.mass, Toward::Up),
        limit: bar.limit.map(|limit| units.mass(limit, Toward::Down)),
        left: bar.left().map(|left| {
            if left < Kilograms::ZERO {
                format!("-{} OVER", units.mass(-left, Toward::Up))
            } else {
                format!("+{}", units.mass(left, Toward::Down))
            }
        }),
        place: finding::place(Where::Place(bar.place_number), plan),
    }
}

/// The margin of a limit, `GVM +120 kg`; `None` if no limit is set.
pub(crate) fn margin(bar: &LoadBar, units: Units) -> Option<String> {
    let left = units.mass_margin(bar.left()?);
    Some(format!("{} {left}", name(bar.what)))
}

/// How the limits are read.
pub(crate) const HOW_TO_READ: &str =
    "each limit at its heaviest departure, with its margin; GVM: gross vehicle mass";

/// The name of a limit, in at most 14 letters.
pub(crate) const fn name(what: LoadLimit) -> &'static str {
    match what {
        LoadLimit::Gvm => "GVM",
        LoadLimit::FrontAxle => "front axle",
        LoadLimit::RearAxle => "rear axle",
        LoadLimit::Roof { off_road: true } => "roof off-road",
        LoadLimit::Roof { off_road: false } => "roof",
        LoadLimit::Place(place) => carrying_place(place),
    }
}

/// The name of a limit where there is little room.
pub(super) const fn short_name(what: LoadLimit) -> &'static str {
    match what {
        LoadLimit::Roof { .. } => "roof",
        LoadLimit::Place(CarryingPlace::Rear) => "rear",
        LoadLimit::Place(CarryingPlace::Cargo) => "cargo",
        other => name(other),
    }
}

/// The name of a carrying place.
pub(crate) const fn carrying_place(place: CarryingPlace) -> &'static str {
    match place {
        CarryingPlace::Cabin => "cabin",
        CarryingPlace::Cargo => "cargo area",
        CarryingPlace::Rear => "rear carrier",
        CarryingPlace::Roof => "roof",
    }
}

/// The departure at which the vehicle is heaviest.
pub(crate) fn at_heaviest(plan: &Plan) -> Option<&Departure> {
    let mut departures = plan.load.departures.iter();
    departures.find(|departure| departure.place_number == plan.load.heaviest_at)
}

/// Why the chosen cans and no others; `None` without any.
pub(crate) fn why_these_cans(plan: &Plan) -> Option<String> {
    let in_cans = &plan.in_cans;
    if in_cans.cans.is_empty() {
        return None;
    }
    if !in_cans.covers {
        return Some(
            "Why these cans: no allowed set holds what is needed. These hold the most within the limits."
                .to_owned(),
        );
    }
    if plan.load.bars.iter().any(LoadBar::is_over) {
        return Some(
            "Why these cans: they hold what is needed. Every set that does exceeds a limit."
                .to_owned(),
        );
    }
    let fewest = if fewer_would_hold_it(plan) {
        "with fewer cans, too few simulated trips succeed"
    } else if is_on_roof(&in_cans.cans) {
        "without cans on the roof no set is enough, nor are fewer cans"
    } else {
        "fewer cans are not enough"
    };
    let Some(others) = plan.other_cans() else {
        return Some(format!("Why these cans: {fewest}."));
    };
    let parts = [
        (others.more_to_buy, "to be bought"),
        (others.heavier, "heavier"),
        (others.listed_later, "in places listed later"),
        (others.hold_less, "smaller"),
        (others.equal, "just as good and listed later"),
        (
            others.barred,
            "over a limit, or short because of their own weight",
        ),
    ];
    let parts: Vec<String> = parts
        .into_iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, why)| format!("{count} {why}"))
        .collect();
    Some(match others.all() {
        0 => {
            format!("Why these cans: {fewest}. No other set of as many cans holds what is needed.")
        }
        1 => format!(
            "Why these cans: {fewest}. One other set of as many cans holds what is needed; it is {}.",
            parts.concat().trim_start_matches("1 ")
        ),
        all => format!(
            "Why these cans: {fewest}. {all} other sets of as many cans hold what is needed: {}.",
            parts.join(", ")
        ),
    })
}

/// Whether fewer cans would hold what is needed; then they were tried, and too few of the simulated trips succeeded.
pub(crate) fn fewer_would_hold_it(plan: &Plan) -> bool {
    let in_cans = &plan.in_cans;
    let fills = in_cans.cans.iter().map(|cans| cans.fill);
    let smallest = fills.reduce(Litres::min);
    let others_hold = smallest.map(|smallest| in_cans.carried - smallest);
    plan.doubt.is_some() && others_hold.is_some_and(|litres| litres >= in_cans.needed)
}

/// When the vehicle is heaviest, and what that mass consists of; `None` on a trip without legs.
pub(crate) fn heaviest(plan: &Plan, units: Units) -> Option<String> {
    let departure = at_heaviest(plan)?;
    let mass = |mass: Kilograms| units.mass(mass, Toward::Nearest).to_string();
    let parts = super::payload::parts(&departure.made_of);
    let parts: Vec<String> = parts
        .into_iter()
        .filter(|(_, part)| *part > Kilograms::ZERO)
        .map(|(what, part)| format!("{what} {}", mass(part)))
        .collect();
    let cans = if departure.in_cans > Litres::ZERO {
        format!(
            " and {} in cans",
            units.fuel_tenths(departure.in_cans, Toward::Nearest)
        )
    } else {
        String::new()
    };
    Some(format!(
        "Heaviest departure: {}, day {}, with {} usable in the tank{cans}. {} = {}.",
        place_name(plan, departure.place_number),
        departure.day,
        units.fuel_tenths(departure.in_tank, Toward::Nearest),
        units.mass(departure.mass, Toward::Up),
        parts.join(" + "),
    ))
}

/// The loads of the vehicle's places at the heaviest departure, each as a bare number of one unit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Places {
    pub(crate) seats: String,
    /// Gear in the cabin.
    pub(crate) cabin: String,
    pub(crate) cargo: String,
    pub(crate) tank: String,
    /// The roof with its rack.
    pub(crate) roof: String,
    pub(crate) rear: String,
    /// The loads of the front and the rear axle; `None` if unknown.
    pub(crate) axles: Option<[String; 2]>,
    /// The unit of all of them.
    pub(crate) unit: &'static str,
}

/// The loads of the vehicle's places at the heaviest departure; `None` on a trip without legs.
pub(crate) fn places(plan: &Plan, units: Units) -> Option<Places> {
    let departure = at_heaviest(plan)?;
    let kg = |mass: Kilograms| units.mass(mass, Toward::Nearest).number;
    // What has a limit is rounded as beside its bar.
    let limited = |mass: Kilograms| units.mass(mass, Toward::Up).number;
    let density = crate::consumption::engine::fuel_density(plan.trip.vehicle.fuel);
    Some(Places {
        seats: kg(departure.made_of.people),
        cabin: kg(departure.cabin),
        cargo: limited(departure.cargo),
        tank: kg((departure.in_tank + plan.trip.vehicle.unusable()) * density),
        roof: limited(departure.roof),
        rear: limited(departure.rear),
        axles: departure
            .axles
            .map(|axles| [limited(axles.front), limited(axles.rear)]),
        unit: units.mass(Kilograms::ZERO, Toward::Nearest).unit,
    })
}

/// The loads drawn in letters, the vehicle seen from the side, its front on the left; in a second row what has no room
/// in the first.
pub(crate) fn picture(plan: &Plan, units: Units, room: usize) -> Vec<String> {
    places(plan, units).map_or_else(Vec::new, |places| drawn_in(&places, room))
}

/// The loads of the places, drawn in rows of at most `room` letters.
pub(crate) fn drawn_in(places: &Places, room: usize) -> Vec<String> {
    let in_one_row = format!(
        "( seats {} | cabin {} | cargo {} | tank {} )-",
        places.seats, places.cabin, places.cargo, places.tank,
    );
    let wide = drawn(places, &[in_one_row]);
    if wide.iter().all(|line| line.len() <= room) {
        wide
    } else {
        drawn(places, &in_two_rows(places))
    }
}

fn in_two_rows(places: &Places) -> [String; 2] {
    let front = [
        format!("seats {}", places.seats),
        format!("cabin {}", places.cabin),
    ];
    let back = [
        format!("cargo {}", places.cargo),
        format!("tank {}", places.tank),
    ];
    let wide = |cells: &[String; 2]| cells[0].len().max(cells[1].len());
    let (front_wide, back_wide) = (wide(&front), wide(&back));
    [0, 1].map(|row| format!("({:front_wide$} | {:back_wide$})", front[row], back[row]))
}

/// The rows of the body between the roof and the axles, the rear carrier behind the first.
fn drawn(places: &Places, body: &[String]) -> Vec<String> {
    let length = body[0].len();
    let roof = format!("[ roof {} ]", places.roof);
    let rule = "-".repeat(length.saturating_sub(roof.len() + 5) / 2);
    let rear = format!("-[ rear {} ] {}", places.rear, places.unit);
    let mut lines = vec![
        format!("  {rule}{roof}{rule}"),
        body.iter().take(1).chain([&rear]).cloned().collect(),
    ];
    lines.extend(body.iter().skip(1).cloned());
    if let Some([front, rear]) = &places.axles {
        let gap = " ".repeat(length.saturating_sub(front.len() + rear.len() + 13).max(1));
        lines.push(format!("   (o) {front}{gap}(o) {rear}"));
    }
    lines
}

/// The mass at the heaviest departure of each day.
pub(crate) fn by_day(plan: &Plan, units: Units) -> Option<String> {
    let days = plan.load.departures.chunk_by(|a, b| a.day == b.day);
    let heaviest = days.map(|day| {
        let most = day.iter().map(|departure| departure.mass);
        let most = most.reduce(Kilograms::max).unwrap_or_default();
        format!("{} on day {}", units.mass(most, Toward::Up), day[0].day)
    });
    let all: Vec<String> = heaviest.collect();
    (all.len() > 1).then(|| format!("Heaviest departure of each day: {}.", all.join(", ")))
}

/// Water and other supplies: what is on board, and how long it lasts.
pub(crate) fn supplies(plan: &Plan, units: Units) -> Vec<String> {
    let supplies = &plan.load.supplies;
    let mut lines = Vec::new();
    if let Some(water) = supplies.water {
        let mut line = format!(
            "Water: {} on board, {} a day ({} per person). It lasts {}; the trip takes {}.",
            units.fuel_tenths(water.on_board, Toward::Nearest),
            units.fuel_tenths(water.a_day, Toward::Nearest),
            units.fuel_tenths(water.person_day, Toward::Nearest),
            in_days(water.lasts),
            days(supplies.days),
        );
        if let Some(point) = water.at_turn_back {
            // Writing to a text cannot fail.
            let _ = write!(
                line,
                " At the turn-back point, {}, it still lasts {}; the return takes {}.",
                units.at(point.at_km, Toward::Down),
                in_days(point.lasts),
                days(point.back),
            );
        }
        lines.push(line);
    }
    for supply in &supplies.others {
        lines.push(format!(
            "{}: {} on board, {} a day, lasts {}.",
            plain(&supply.name),
            units.mass(supply.on_board, Toward::Down),
            units.mass(supply.a_day, Toward::Up),
            in_days(supply.lasts),
        ));
    }
    lines
}
