//! The trip card: go/no-go, fills and pours, in the imperative, for somebody who holds paper and
//! looks at a gauge.
//!
//! Litres are usable litres of tank and cans together. Beside them stands what the gauge shows
//! then, its unusable litres included, with as much in the cans as the plan has there. What must be
//! aboard is rounded up, the last point at which something may be done is rounded down.

use std::fmt;

use super::finding::node_name;
use super::name::plain;
use super::number::{Figure, Toward, Units, money, odds, percent};
use super::verdict::counted;
use crate::model::vocabulary::Objective;
use crate::plan::{Decision, Plan, Pour, Stop, Stretch, TurnBack};
use crate::quantity::{Kilometres, Litres, Share};
use crate::solver::fuel::ROUNDING;

/// What goes with every pour.
pub const POUR_SAFELY: &str = "engine off and cooled, no flame, level ground";

/// Litres that must be aboard, and what the gauge shows then.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Level {
    /// The litres, rounded up.
    pub fuel: Figure,
    /// The gauge, in eighths, rounded up; [`MORE_THAN_FULL`] when it takes more in cans than is planned.
    pub gauge: &'static str,
}

/// The gauge where even a full tank is not enough with the cans as planned.
pub const MORE_THAN_FULL: &str = "full+";

impl Level {
    /// `32 (5/8)`, for a column whose head names the unit.
    pub fn short(&self) -> String {
        format!("{} ({})", self.fuel.number, self.gauge)
    }
}

/// `32 L (5/8)`
impl fmt::Display for Level {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({})", self.fuel, self.gauge)
    }
}

/// One line of the go/no-go card, each figure as text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GoLine {
    /// Where: `km 238`.
    pub at: String,
    /// What the odometer shows there, where that is known or differs.
    pub odometer: Option<String>,
    /// Place, or `to` one.
    pub place: String,
    /// Go on with this much or more.
    pub go_on: Level,
    /// What is planned to be aboard on arrival; nothing when the tank is dry by then.
    pub planned: Option<Figure>,
    /// With less, turn back with this much or more, and where to; nothing where that is out of reach.
    pub back: Option<(Level, String)>,
    /// What to do with that at a pump, and when it is dry; nothing elsewhere.
    pub at_pump: Option<String>,
}

/// How the card is read.
pub const HOW_TO_READ: &str = "With `go on` or more, go on; with less, turn back if it is `back` or more; with \
                               less than both, drive slowly, save fuel, and call for help early. Stay with the \
                               vehicle.";

/// The go/no-go card as lines of a table.
pub fn go_lines(plan: &Plan, units: Units) -> Vec<GoLine> {
    plan.decisions
        .iter()
        .map(|decision| go_line(decision, plan, units))
        .collect()
}

/// One line of the go/no-go card.
pub fn go_line(decision: &Decision, plan: &Plan, units: Units) -> GoLine {
    let level = |litres: Litres| Level {
        fuel: units.fuel(litres, Toward::Up),
        gauge: gauge(plan, decision, litres, units),
    };
    let planned = planned(plan, decision);
    GoLine {
        at: units.at(decision.at_km, Toward::Nearest),
        odometer: odometer(plan, decision.at_km, Toward::Nearest, units),
        place: match decision.node {
            Some(_) => plain(&decision.place).into_owned(),
            None => format!("to {}", plain(&decision.place)),
        },
        go_on: level(decision.turn_back),
        planned: (planned >= Litres::ZERO).then(|| units.fuel(planned, Toward::Down)),
        back: decision
            .back
            .map(|back| (level(back.needed), node_name(plan, back.refuge))),
        at_pump: decision.fill_cans.map(|_| match decision.go_on {
            Some(litres) => format!(
                "fill here, to go on or to turn back; if it is dry, go on only with {} ({})",
                units.fuel(litres, Toward::Up),
                tank_and_cans(plan, decision, litres, units),
            ),
            None => "fill here, to go on or to turn back; if it is dry, do not go on".to_owned(),
        }),
    }
}

/// Usable litres that the plan has aboard on arrival at a decision.
fn planned(plan: &Plan, decision: &Decision) -> Litres {
    if let Some(leg) = decision.node.and_then(|node| node.checked_sub(1)) {
        return plan.legs.get(leg).map_or(Litres::ZERO, |leg| leg.end);
    }
    let there = plan.on_board_at(decision.at_km);
    there.tank + there.cans
}

/// Litres that the plan has in cans at a decision.
fn planned_cans(plan: &Plan, decision: &Decision) -> Litres {
    match decision.node.and_then(|node| node.checked_sub(1)) {
        Some(leg) => plan.legs.get(leg).map_or(Litres::ZERO, |leg| leg.end_cans),
        None => plan.on_board_at(decision.at_km).cans,
    }
}

/// What the gauge shows at a decision when `aboard` is on board and the cans hold what is planned.
fn gauge(plan: &Plan, decision: &Decision, aboard: Litres, units: Units) -> &'static str {
    let vehicle = &plan.trip.vehicle;
    let in_tank = (aboard - planned_cans(plan, decision)).max(Litres::ZERO) + vehicle.unusable();
    if in_tank > vehicle.tank_l + ROUNDING {
        MORE_THAN_FULL
    } else {
        units.gauge(in_tank, vehicle.tank_l, Toward::Up)
    }
}

/// The same in words, with what it takes in cans where that is more than planned.
fn tank_and_cans(plan: &Plan, decision: &Decision, aboard: Litres, units: Units) -> String {
    match gauge(plan, decision, aboard, units) {
        MORE_THAN_FULL => {
            let in_cans = aboard - plan.trip.vehicle.usable_tank();
            format!(
                "a full tank and {} in cans",
                units.fuel(in_cans, Toward::Up)
            )
        }
        eighths => eighths.to_owned(),
    }
}

/// How to set out, as a sentence: what is still to be filled, then what gauge and cans must hold.
pub fn start_sentence(plan: &Plan, units: Units) -> String {
    let (vehicle, rules) = (&plan.trip.vehicle, plan.trip.rules());
    let node = plan.behind.as_deref().map_or(0, |behind| behind.node);
    let here = plan.here().unwrap_or_default();
    let stop = plan.stops.iter().find(|stop| stop.node == node);
    let filled = |litres: fn(&Stop) -> Litres| stop.map_or(Litres::ZERO, litres);
    let (in_tank, in_cans, go) = if plan.behind.is_some() {
        let aboard = plan.on_board_at(here);
        (aboard.tank + vehicle.unusable(), aboard.cans, "go on")
    } else {
        let in_tank = (rules.start(vehicle) + filled(|stop| stop.tank)).min(vehicle.tank_l);
        let in_cans = rules.start_cans() + filled(|stop| stop.cans);
        (in_tank, in_cans, "set out")
    };
    let fill = stop
        .filter(|stop| stop.tank + stop.cans > Litres::ZERO)
        .map_or_else(String::new, |stop| {
            format!("{}{}; ", put(stop, plan, units), price(stop, plan))
        });
    let cans = if in_cans > Litres::ZERO {
        format!("{} in cans", units.spare(in_cans, Toward::Nearest))
    } else {
        "nothing in cans".to_owned()
    };
    format!(
        "{}, {}: {fill}{go} with the gauge at {} ({}) and {cans}.",
        node_name(plan, node),
        at(plan, here, Toward::Nearest, units),
        units.gauge(in_tank, vehicle.tank_l, Toward::Nearest),
        units.litres(in_tank),
    )
}

/// What to put where at a stop that is used.
fn put(stop: &Stop, plan: &Plan, units: Units) -> String {
    // Where no more is bought than must be, a litre less is a litre short.
    let toward = match plan.trip.rules().objective() {
        Objective::FewestCans => Toward::Nearest,
        Objective::LeastCost => Toward::Up,
    };
    let in_tank = || format!("put {} in the tank", units.fuel(stop.tank, toward));
    let in_cans = || {
        format!(
            "fill {} ({})",
            counted(stop.cans_filled as usize, "can", "cans"),
            units.spare(stop.cans, toward)
        )
    };
    match (stop.tank > Litres::ZERO, stop.cans > Litres::ZERO) {
        (true, true) => format!("{} and {}", in_tank(), in_cans()),
        (true, false) => in_tank(),
        (false, true) => in_cans(),
        (false, false) if stop.counted => "nothing to fill".to_owned(),
        (false, false) if stop.off_route => "not relied on".to_owned(),
        (false, false) => "not relied on; fill the tank if there is fuel".to_owned(),
    }
}

/// What a stop costs, after a comma; nothing where no price is stated.
fn price(stop: &Stop, plan: &Plan) -> String {
    let currency = plan.trip.rules().currency.as_deref();
    stop.cost
        .map_or_else(String::new, |cost| format!(", {}", money(cost, currency)))
}

/// What to do at a fuel stop, as a sentence.
pub fn fill_sentence(stop: &Stop, plan: &Plan, units: Units) -> String {
    let mut text = vec![format!(
        "{}, {}: ",
        plain(&stop.place),
        at(plan, stop.at_km, Toward::Nearest, units)
    )];
    if stop.chance <= Share::ZERO {
        // Found dry, or taken to be.
        text.push("no fuel there.".to_owned());
        return text.concat();
    }
    text.push(put(stop, plan, units));
    if stop.tank + stop.cans > Litres::ZERO {
        text.push(format!(
            ", {} aboard on leaving{}",
            units.fuel(stop.after, Toward::Down),
            price(stop, plan)
        ));
    }
    if stop.detour > Kilometres::ZERO {
        text.push(format!(
            "; detour {}",
            units.distance(stop.detour, Toward::Nearest)
        ));
    }
    if stop.chance.get() < 1.0 {
        text.push(format!(
            "; has fuel with a chance of {}",
            percent(stop.chance)
        ));
    }
    if let Some(supply) = stop.supply {
        let shared = match stop.visits {
            1 => String::new(),
            visits => format!(" for all {visits} visits"),
        };
        text.push(format!(
            "; holds {}{shared}",
            units.fuel(supply, Toward::Down)
        ));
    }
    text.concat() + "."
}

/// A point of the way, with what the odometer shows there: `km 350 (odo 48396)`.
pub(super) fn at(plan: &Plan, km: Kilometres, toward: Toward, units: Units) -> String {
    let shown = odometer(plan, km, toward, units);
    let shown = shown.map_or_else(String::new, |shown| format!(" ({shown})"));
    units.at(km, toward) + &shown
}

/// What the odometer shows at a point of the way, where that is known or differs.
pub(super) fn odometer(
    plan: &Plan,
    km: Kilometres,
    toward: Toward,
    units: Units,
) -> Option<String> {
    Some(units.odometer(plan.odometer_at(km)?, toward))
}

/// `km 272 to 536` from `km 272` and `km 536`.
fn span(first: String, last: &str) -> String {
    if first == last {
        return first;
    }
    let number = last.split(' ').next_back().unwrap_or_default();
    format!("{first} to {number}")
}

/// When and how to empty a can into the tank, as a sentence.
pub fn pour_sentence(pour: &Pour, plan: &Plan, units: Units) -> String {
    let tank = plan.trip.vehicle.tank_l;
    let most = pour.when_tank_at_most_gauge;
    let place = pour.node.map_or_else(String::new, |node| {
        format!("at {}, ", node_name(plan, node))
    });
    let latest = pour.latest_km.max(pour.earliest_km);
    let span = span(
        units.at(pour.earliest_km, Toward::Up),
        &units.at(latest, Toward::Down),
    );
    let shown = odometer(plan, pour.earliest_km, Toward::Up, units)
        .zip(odometer(plan, latest, Toward::Down, units))
        .map_or_else(String::new, |(first, last)| {
            format!(" ({})", self::span(first, &last))
        });
    format!(
        "Pour the {} can ({}) when the gauge shows {} ({}) or less: {place}{span}{shown}; {POUR_SAFELY}.",
        Units::can_size(pour.can_size),
        pour.from,
        units.fuel(most, Toward::Down),
        units.gauge(most, tank, Toward::Down),
    )
}

/// Whether one can turn back up to the very end of a stretch.
fn all_along(point: &TurnBack, end: Kilometres) -> bool {
    point.at_km >= end - Kilometres::new(1e-6)
}

/// What there will be at a doubtful or limited stop, to go after `which`.
fn what_it_has(point: &TurnBack, units: Units) -> String {
    let chance = (point.chance.get() < 1.0)
        .then(|| format!("has fuel with a chance of {}", percent(point.chance)));
    let left = point
        .left
        .map(|left| format!("has {} left in it", units.fuel(left, Toward::Down)));
    match (chance, left) {
        (Some(chance), Some(left)) => format!("{chance} and then {left}"),
        (chance, left) => chance.or(left).unwrap_or_else(|| "has fuel".to_owned()),
    }
}

/// The last point to turn back from, as a sentence; nothing where one can turn back all along the stretch.
pub fn turn_back_sentence(
    stretch: &Stretch,
    point: &TurnBack,
    plan: &Plan,
    units: Units,
) -> Option<String> {
    if all_along(point, stretch.from_km + stretch.distance) {
        return None;
    }
    let refuge = node_name(plan, point.refuge);
    let has = if point.chance.get() < 1.0 || point.left.is_some() {
        format!(", which {}", what_it_has(point, units))
    } else {
        String::new()
    };
    Some(format!(
        "To turn back to {refuge}{has}, do so by {}; from there it is {} and {} of fuel.",
        at(plan, point.at_km, Toward::Down, units),
        units.distance(point.way_back, Toward::Up),
        units.fuel(point.needs, Toward::Up),
    ))
}

/// How far one can go and still be sure enough to be able to turn back.
fn sure_turn_back(stretch: &Stretch, plan: &Plan, units: Units) -> Option<String> {
    let doubt = plan.doubt.as_ref()?;
    let nth = plan
        .stretches
        .iter()
        .position(|at| at.from == stretch.from)?;
    let sure = odds(doubt.confidence);
    Some(match doubt.turn_backs.get(nth)? {
        Some(km) if *km >= stretch.from_km + stretch.distance - Kilometres::new(1e-6) => {
            format!(" For {sure}: all along it.")
        }
        Some(km) => format!(" For {sure}: {}.", at(plan, *km, Toward::Down, units)),
        None => format!(" For {sure}: nowhere on it."),
    })
}

/// A run from pump to pump, as a sentence: what it needs, what is carried, where to turn back.
pub fn stretch_sentence(stretch: &Stretch, plan: &Plan, units: Units) -> String {
    let mut text = vec![format!(
        "{} to {}, {}: leave with {}",
        node_name(plan, stretch.from),
        node_name(plan, stretch.to),
        units.distance(stretch.distance, Toward::Nearest),
        units.fuel(stretch.required, Toward::Up),
    )];
    text.push(if stretch.spare > Litres::ZERO {
        format!(", {} of it in cans.", units.fuel(stretch.spare, Toward::Up))
    } else {
        " in the tank.".to_owned()
    });
    let end = stretch.from_km + stretch.distance;
    match &stretch.turn_back {
        Some(point) => {
            let refuge = node_name(plan, point.refuge);
            text.push(if all_along(point, end) {
                format!(" All along it one can turn back to {refuge}: at its end,")
            } else {
                let last = at(plan, point.at_km, Toward::Down, units);
                format!(" Last point to turn back to {refuge}: {last},")
            });
            text.push(format!(
                " with {} aboard ({} back, {} of fuel).",
                units.fuel(point.on_board, Toward::Down),
                units.distance(point.way_back, Toward::Down),
                units.fuel(point.needs, Toward::Up),
            ));
        }
        None => text.push(" No point from which a sure pump behind can be reached.".to_owned()),
    }
    text.extend(sure_turn_back(stretch, plan, units));
    if let Some(km) = plan.equal_time(stretch) {
        let halfway = at(plan, km, Toward::Nearest, units);
        text.push(format!(
            " Going on and going back take as long from {halfway}."
        ));
    }
    if let Some(point) = &stretch.doubtful_turn_back {
        text.push(format!(
            " To {}, which {}: {}.",
            node_name(plan, point.refuge),
            what_it_has(point, units),
            if all_along(point, end) {
                "all along it".to_owned()
            } else {
                at(plan, point.at_km, Toward::Down, units)
            },
        ));
    }
    text.concat()
}
