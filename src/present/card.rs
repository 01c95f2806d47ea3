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
use crate::doubt::checks::{Action, IfDry};
use crate::model::vocabulary::Objective;
use crate::plan::{CheckKind, FuelCheck, Plan, Pour, Stop, Stretch, TurnBack};
use crate::quantity::{Kilometres, Litres, Share};
use crate::solver::fuel::ROUNDING;

/// What goes with every pour.
pub(crate) const POUR_SAFELY: &str = "engine off and cooled, no flame, level ground";

/// Litres that must be aboard, and what the gauge shows then.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Level {
    /// The litres, rounded up.
    pub fuel: Figure,
    /// The gauge, in eighths, rounded up; [`MORE_THAN_FULL`] when it takes more in cans than is planned.
    pub gauge: &'static str,
}

/// The gauge where even a full tank is not enough with the cans as planned.
pub const MORE_THAN_FULL: &str = ">full";

impl Level {
    /// `32 (5/8)`, for a column whose head names the unit.
    pub(crate) fn short(&self) -> String {
        format!("{} ({})", self.fuel.number, self.gauge)
    }
}

/// `32 L (5/8)`
impl fmt::Display for Level {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({})", self.fuel, self.gauge)
    }
}

/// One fuel check, each figure as text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CheckLine {
    /// Where: `km 238`.
    pub at: String,
    /// What the odometer shows there, where that is known or differs.
    pub odometer: Option<String>,
    /// Place, or that the check is en route to one.
    pub place: String,
    /// What the check is for.
    pub kind: CheckKind,
    /// Expected on arrival by the best estimate; `None` if the trip has run out of fuel by then.
    pub expected: Option<Level>,
    /// 5 % of the simulated trips have less.
    pub low: Figure,
    /// Turn back with less than this, and where to; `None` at the decision point, which has a sentence, and if no return is
    /// possible.
    pub turn_back: Option<(Level, String)>,
    /// With this, 95 of 100 reach the next refuge: after the decision point, where it is advice.
    pub needed: Option<Figure>,
    /// What to do here, sentence by sentence.
    pub says: Vec<String>,
}

/// What the table of fuel checks is about.
pub(crate) const CHECKS_TITLE: &str = "Fuel checks";

/// How the fuel checks are read.
pub(crate) const HOW_TO_READ: &str = "Compare the fuel on board with this table at each place. Litres in tank and cans \
                               together. In brackets: the gauge reading, if the cans still hold what is planned. \
                               5 %: one trip in twenty has less.";

/// What to do if a check asks for more than there is and a return is out of reach.
pub(crate) const WITH_LESS: &str = "If there is too little to continue and to return, and after the decision point with less \
                             than needed: slow down to save fuel, call for help early, and stay with the vehicle.";

/// The fuel checks as lines of a table.
pub fn check_lines(plan: &Plan, units: Units) -> Vec<CheckLine> {
    plan.fuel_checks
        .iter()
        .map(|check| check_line(check, plan, units))
        .collect()
}

/// One fuel check.
pub(crate) fn check_line(check: &FuelCheck, plan: &Plan, units: Units) -> CheckLine {
    let level = |litres: Litres, toward| Level {
        fuel: units.fuel(litres, toward),
        gauge: gauge(plan, check, litres, units, toward),
    };
    let refuge = check.back.map(|back| node_name(plan, back.refuge));
    let is_check = check.kind == CheckKind::Check;
    CheckLine {
        at: units.at(check.at_km, Toward::Nearest),
        odometer: odometer(plan, check.at_km, Toward::Nearest, units),
        place: match check.node {
            Some(_) => plain(&check.place).into_owned(),
            None => format!("en route, to {}", plain(&check.place)),
        },
        kind: check.kind,
        expected: (check.expected >= Litres::ZERO).then(|| level(check.expected, Toward::Down)),
        low: units.fuel(check.arrivals.p05, Toward::Down),
        turn_back: check
            .continue_with
            .filter(|_| is_check)
            .map(|litres| level(litres, Toward::Up))
            .zip(refuge),
        needed: check
            .finish
            .filter(|_| check.kind == CheckKind::After)
            .map(|litres| units.fuel(litres, Toward::Up)),
        says: check_says(check, plan, units),
    }
}

/// What to do at a check, sentence by sentence.
fn check_says(check: &FuelCheck, plan: &Plan, units: Units) -> Vec<String> {
    let level = |litres: Litres| Level {
        fuel: units.fuel(litres, Toward::Up),
        gauge: gauge(plan, check, litres, units, Toward::Up),
    };
    // With less than leads back; rarely has anybody so little.
    let neither = |besides: &str, litres: Option<Litres>, action, refuge: &str| {
        let litres = litres.filter(|litres| check.arrivals.p01 < *litres)?;
        Some(format!(
            "With less than {}{besides} neither is sure: {}.",
            level(litres),
            if_neither(action, refuge)
        ))
    };
    let mut says = Vec::new();
    if check.kind == CheckKind::Decision
        && let Some(back) = check.back
    {
        let refuge = node_name(plan, back.refuge);
        says.push(match check.continue_with {
            Some(litres) => format!(
                "DECIDE HERE: continue with {} or more, otherwise turn back to {refuge}.",
                level(litres)
            ),
            None => format!("DECIDE HERE: no amount is enough to continue, turn back to {refuge}."),
        });
        says.extend(neither("", back.litres, check.if_neither, &refuge));
    }
    let may_be_dry = check.node.is_some_and(|node| {
        let fuel = plan.trip.place(node).fuel;
        fuel.is_some_and(|fuel| fuel.chance() < Share::new(1.0))
    });
    if let Some(if_dry) = check.if_dry.filter(|_| may_be_dry) {
        let refuge = check.back.map(|back| node_name(plan, back.refuge));
        says.push(no_fuel_says(&if_dry, refuge.as_deref(), level));
        if let Some(refuge) = &refuge {
            let back = leads_back(&if_dry);
            says.extend(neither(
                " and no fuel here",
                back,
                if_dry.if_neither,
                refuge,
            ));
        }
    }
    let pumped = check.pumped.iter().enumerate().map(|(nth, row)| {
        let up_to = units.fuel(row.up_to, Toward::Down);
        let leave_with = units.litres(row.leave_with);
        // Who decanted more than most arrives with less in cans, and leaves with less.
        if nth + 1 < check.pumped.len() {
            format!("up to {up_to}, leave as planned (about {leave_with})")
        } else {
            format!("up to {up_to}, leave with {leave_with}")
        }
    });
    let pumped = pumped.collect::<Vec<_>>().join("; ");
    if !pumped.is_empty() {
        let more = match check.back {
            Some(_) => "turn back",
            None => "fill everything and drive to save fuel",
        };
        says.push(format!("Litres pumped here: {pumped}; more, {more}."));
    }
    if let Some(rise) = check.rises_per_litre.filter(|_| was_lucky(check, plan)) {
        says.push(format!(
            "Since you last left a stop as planned: for each litre from a stop that is not relied on, add {:.1} to the figure here.",
            rise.get()
        ));
    }
    says
}

/// What to do with less than leads on or back.
fn if_neither(action: Action, refuge: &str) -> String {
    match action {
        Action::Continue => "continue, and save fuel".to_owned(),
        Action::Return => format!("still turn back to {refuge}"),
    }
}

/// The litres to return with from a fuel stop without fuel, where fewer lead back than lead on.
fn leads_back(if_dry: &IfDry) -> Option<Litres> {
    if_dry
        .return_with
        .filter(|back| if_dry.continue_with.is_none_or(|on| *back < on))
}

/// What to do at a fuel stop without fuel.
fn no_fuel_says(if_dry: &IfDry, refuge: Option<&str>, level: impl Fn(Litres) -> Level) -> String {
    let on = if_dry
        .continue_with
        .map(|litres| format!("continue with {} or more", level(litres)));
    match (on, refuge) {
        (Some(on), Some(refuge)) if leads_back(if_dry).is_some() => {
            format!("No fuel here: {on}, otherwise turn back to {refuge}.")
        }
        (Some(on), Some(refuge)) => format!(
            "No fuel here: {on}; with less neither is sure: {}.",
            if_neither(if_dry.if_neither, refuge)
        ),
        (Some(on), None) => format!("No fuel here: {on}."),
        (None, Some(refuge)) if leads_back(if_dry).is_some() => {
            format!("No fuel here: no amount is enough to continue, turn back to {refuge}.")
        }
        (None, Some(refuge)) => format!(
            "No fuel here: neither is sure with any amount: {}.",
            if_neither(if_dry.if_neither, refuge)
        ),
        (None, None) => "No fuel here: no amount is enough to continue, and there is no way back: \
             save fuel, and call for help early."
            .to_owned(),
    }
}

/// Whether a fuel stop that is not relied on comes before a check, after the last one that is.
fn was_lucky(check: &FuelCheck, plan: &Plan) -> bool {
    let before = plan.stops.partition_point(|stop| stop.at_km < check.at_km);
    let before = plan.stops[..before].iter().rev();
    let mut since = before.take_while(|stop| !(stop.counted && stop.supply.is_none()));
    since.any(|stop| stop.chance > Share::ZERO && !stop.counted && !stop.off_route)
}

/// Litres that the plan has in cans at a check.
fn planned_cans(plan: &Plan, check: &FuelCheck) -> Litres {
    match check.node.and_then(|node| node.checked_sub(1)) {
        Some(leg) => plan.legs.get(leg).map_or(Litres::ZERO, |leg| leg.end_cans),
        None => plan.on_board_at(check.at_km).cans,
    }
}

/// What the gauge shows at a check when `aboard` is on board and the cans hold what is planned.
fn gauge(
    plan: &Plan,
    check: &FuelCheck,
    aboard: Litres,
    units: Units,
    toward: Toward,
) -> &'static str {
    let vehicle = &plan.trip.vehicle;
    let in_tank = (aboard - planned_cans(plan, check)).max(Litres::ZERO) + vehicle.unusable();
    if in_tank > vehicle.tank_l + ROUNDING {
        MORE_THAN_FULL
    } else {
        units.gauge(in_tank, vehicle.tank_l, toward)
    }
}

/// How to set out, as a sentence: what is still to be filled, then what gauge and cans must hold.
pub(crate) fn start_sentence(plan: &Plan, units: Units) -> String {
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

/// The fuel stops at which something is to be told: the start has a sentence of its own, and usually nothing is done at the
/// finish.
pub(crate) fn stops_to_tell(plan: &Plan) -> impl Iterator<Item = &Stop> {
    let last = plan.legs.len();
    let is_used = |stop: &Stop| stop.tank + stop.cans > Litres::ZERO;
    let stops = plan.stops.iter();
    stops.filter(move |stop| stop.node != 0 && (stop.node != last || is_used(stop)))
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
pub(crate) fn pour_sentence(pour: &Pour, plan: &Plan, units: Units) -> String {
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
pub(crate) fn turn_back_sentence(
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
        "To return to {refuge}{has}, turn back by {}; from there the return is {}.",
        at(plan, point.at_km, Toward::Down, units),
        units.distance(point.way_back, Toward::Up),
    ))
}

/// A run from pump to pump, as a sentence: what it needs, what is carried, where to turn back.
pub fn stretch_sentence(stretch: &Stretch, plan: &Plan, units: Units) -> String {
    let mut text = vec![format!(
        "{} to {}, {}: leave with {}",
        node_name(plan, stretch.from),
        node_name(plan, stretch.to),
        units.distance(stretch.distance, Toward::Nearest),
        units
            .fuel(stretch.required, Toward::Up)
            .min(units.fuel(stretch.aboard, Toward::Down)),
    )];
    let in_cans = stretch.leave_with() - stretch.tank;
    text.push(if in_cans > ROUNDING {
        format!(", {} of it in cans.", units.fuel(in_cans, Toward::Up))
    } else {
        " in the tank.".to_owned()
    });
    let end = stretch.from_km + stretch.distance;
    let until = |point: &TurnBack, last: String| {
        if all_along(point, end) {
            "all along it".to_owned()
        } else {
            last
        }
    };
    let kind = plan.doubt.as_ref().map_or_else(
        || "at best estimates".to_owned(),
        |doubt| format!("at {}", odds(doubt.success_target)),
    );
    match &stretch.turn_back {
        Some(point) => {
            let refuge = node_name(plan, point.refuge);
            text.push(if all_along(point, end) {
                format!(" You can turn back to {refuge} all along it ({kind}).")
            } else {
                let last = at(plan, point.at_km, Toward::Down, units);
                format!(" Turn-back point to {refuge} ({kind}): {last}.")
            });
        }
        None => text.push(" No refuge behind can be reached from it.".to_owned()),
    }
    if let Some(point) = stretch
        .turn_back_best_estimate
        .filter(|_| plan.doubt.is_some())
    {
        let last = until(&point, units.at(point.at_km, Toward::Down));
        text.push(format!(" At best estimates: {last}."));
    }
    if let Some(km) = plan.equal_time(stretch) {
        let halfway = at(plan, km, Toward::Nearest, units);
        text.push(format!(" Equal-time point: {halfway}."));
    }
    if let Some(point) = &stretch.unconfirmed_turn_back {
        text.push(format!(
            " To {}, which {}: {}.",
            node_name(plan, point.refuge),
            what_it_has(point, units),
            until(point, at(plan, point.at_km, Toward::Down, units)),
        ));
    }
    text.concat()
}
