//! The trip card: fuel checks, fills and decants, in the imperative, to be read on paper beside a gauge.
//!
//! Litres are usable litres of tank and cans together. Beside them is the gauge reading, unusable fuel
//! included, if the cans hold what the plan has there. What is needed is rounded up, what is on board and
//! the last point for an action are rounded down.

use std::fmt;

use super::finding::place_name;
use super::name::plain;
use super::number::{Figure, Toward, Units, gauge, gauge_at_least, money, odds, percent};
use super::under_way::driven;
use super::verdict::counted;
use crate::doubt::checks::{Action, IfDry};
use crate::model::vocabulary::Objective;
use crate::plan::{CheckKind, Decant, FuelCheck, Plan, Stage, Stop, TurnBack};
use crate::quantity::{Kilometres, Litres, Share};
use crate::solver::fuel::ROUNDING;

/// What applies to every decant, once for a page.
pub(crate) const DECANT_SAFELY: &str =
    "Decant only with the engine off and cooled, no flame near, and on level ground.";

/// Litres on board, and the gauge reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Level {
    /// The litres: what is needed rounded up, what is expected down.
    pub fuel: Figure,
    /// The gauge in eighths, rounded as the litres; [`MORE_THAN_FULL`] if that takes more in cans than planned.
    pub gauge: &'static str,
}

/// The gauge where even a full tank is not enough with the cans as planned.
pub const MORE_THAN_FULL: &str = ">full";

/// What [`MORE_THAN_FULL`] means.
pub(crate) const MORE_THAN_FULL_MEANS: &str =
    ">full: more than a full tank, only with extra fuel in cans.";

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
    /// Distance from the start, as in `km 238`.
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
    /// Turn back with less than this, and where to; `None` at the decision point, which has a sentence, and if no
    /// return is possible.
    pub turn_back: Option<(Level, String)>,
    /// With this, 95 of 100 reach the next refuge: after the decision point, where it is advice.
    pub needed: Option<Figure>,
    /// What to do here, sentence by sentence.
    pub says: Vec<String>,
}

/// Title of the fuel checks.
pub(crate) const CHECKS_TITLE: &str = "Fuel checks";

/// How the fuel checks are read.
pub(crate) const HOW_TO_READ: &str = "Compare the fuel on board with this table at each place. Figures: tank and cans together. In \
                                      brackets: the gauge reading, if the cans still hold what is planned. 5 %: one trip \
                                      in twenty has less.";

/// How the trip card is read, where a head names each column.
pub(crate) const CARD_HOW_TO_READ: &str = "Litres in tank and cans together, then the gauge, if the cans still hold what is \
                                           planned. 5 %: one trip in twenty has less.";

/// What to do with less than needed, once a return is out of reach.
pub(crate) const WITH_LESS: &str = "With too little to continue and to return, and after the decision point with less than \
                                    needed: slow down to save fuel, call for help early, and stay with the vehicle.";

/// The fuel checks as lines of a table.
pub fn check_lines(plan: &Plan, units: Units) -> Vec<CheckLine> {
    plan.fuel_checks
        .iter()
        .map(|check| check_line(check, plan, units))
        .collect()
}

pub(crate) fn check_line(check: &FuelCheck, plan: &Plan, units: Units) -> CheckLine {
    let refuge = check.back.map(|back| place_name(plan, back.refuge));
    let is_check = check.kind == CheckKind::Check;
    CheckLine {
        at: units.at(check.at_km, Toward::Nearest),
        odometer: odometer(plan, check.at_km, Toward::Nearest, units),
        place: check_place(check),
        kind: check.kind,
        expected: (check.expected >= Litres::ZERO)
            .then(|| level(plan, check, check.expected, units, Toward::Down)),
        low: units.by_gauge(check.arrivals.p05, Toward::Down),
        turn_back: check
            .continue_with
            .filter(|_| is_check)
            .map(|litres| level(plan, check, litres, units, Toward::Up))
            .zip(refuge),
        needed: check
            .finish
            .filter(|_| check.kind == CheckKind::After)
            .map(|litres| units.by_gauge(litres, Toward::Up)),
        says: check_sentences(check, plan, units),
    }
}

/// The place of a check.
pub(super) fn check_place(check: &FuelCheck) -> String {
    let place = plain(&check.place);
    match check.place_number {
        Some(_) => place.into_owned(),
        None => format!("en route to {place}"),
    }
}

/// What to do at a decision point, litres as `shown` has them: with how much to continue, and what with less.
pub(super) fn decide<T: fmt::Display>(
    check: &FuelCheck,
    plan: &Plan,
    shown: impl Fn(Litres) -> T,
) -> Option<String> {
    let refuge = place_name(plan, check.back?.refuge);
    Some(match check.continue_with {
        Some(litres) => format!(
            "continue with {} or more, otherwise turn back to {refuge}",
            shown(litres)
        ),
        None => format!("no amount is enough to continue, turn back to {refuge}"),
    })
}

/// What to do at a check, sentence by sentence.
fn check_sentences(check: &FuelCheck, plan: &Plan, units: Units) -> Vec<String> {
    let level = |litres: Litres| level(plan, check, litres, units, Toward::Up);
    // Only where more than one trip in a hundred has less than the return needs.
    let neither = |besides: &str, litres: Option<Litres>, action, refuge: &str| {
        let litres = litres.filter(|litres| check.arrivals.p01 < *litres)?;
        Some(format!(
            "With less than {}{besides}, even the return may fail: {}.",
            level(litres),
            if_neither(action, refuge)
        ))
    };
    let mut sentences = Vec::new();
    if check.kind == CheckKind::Decision
        && let Some(back) = check.back
    {
        let refuge = place_name(plan, back.refuge);
        sentences.extend(decide(check, plan, level).map(|what| format!("DECIDE HERE: {what}.")));
        sentences.extend(neither("", back.litres, check.if_neither, &refuge));
    }
    let may_be_dry = check.place_number.is_some_and(|place_number| {
        let fuel = plan.trip.place(place_number).fuel;
        fuel.is_some_and(|fuel| fuel.chance() < Share::new(1.0))
    });
    if let Some(if_dry) = check.if_dry.filter(|_| may_be_dry) {
        let refuge = check.back.map(|back| place_name(plan, back.refuge));
        sentences.push(no_fuel_sentence(&if_dry, refuge.as_deref(), level));
        if let Some(refuge) = &refuge {
            let back = leads_back(&if_dry);
            sentences.extend(neither(
                " and no fuel here",
                back,
                if_dry.if_neither,
                refuge,
            ));
        }
    }
    sentences.extend(pumped(check, units));
    if let Some(rise) = check.rises_per_litre.filter(|_| was_lucky(check, plan)) {
        let unit = units.fuel_unit();
        let each = if unit == "L" { "litre" } else { "gallon" };
        sentences.push(format!(
            "For each {each} filled at stops not relied on since the last stop relied on, add {:.1} {unit} to the figure here.",
            rise.get(),
        ));
    }
    sentences
}

/// With how much to leave a stop, by the litres that it took to fill as planned.
fn pumped(check: &FuelCheck, units: Units) -> Option<String> {
    if check.pumped.is_empty() {
        return None;
    }
    let rows = check.pumped.iter().enumerate().map(|(nth, row)| {
        let up_to = units.fuel(row.up_to, Toward::Down);
        let leave_with = units.litres(row.leave_with);
        // After decanting more than most, less is in cans on arrival and on departure.
        if nth + 1 < check.pumped.len() {
            format!("up to {up_to}, leave as planned (about {leave_with})")
        } else {
            format!("up to {up_to}, leave with {leave_with}")
        }
    });
    let more = match check.back {
        Some(_) => "turn back",
        None => "fill everything and save fuel",
    };
    Some(format!(
        "If you fill {}. If it takes more, {more}.",
        rows.collect::<Vec<_>>().join("; ")
    ))
}

/// What to do with less than continuing and returning need.
fn if_neither(action: Action, refuge: &str) -> String {
    match action {
        Action::Continue => "continue, and save fuel".to_owned(),
        Action::Return => format!("turn back to {refuge}, and save fuel"),
    }
}

/// The litres to return with from a fuel stop without fuel, where returning needs fewer than continuing.
fn leads_back(if_dry: &IfDry) -> Option<Litres> {
    if_dry
        .return_with
        .filter(|back| if_dry.continue_with.is_none_or(|on| *back < on))
}

/// What to do at a fuel stop without fuel.
fn no_fuel_sentence(
    if_dry: &IfDry,
    refuge: Option<&str>,
    level: impl Fn(Litres) -> Level,
) -> String {
    let on = if_dry
        .continue_with
        .map(|litres| format!("continue with {} or more", level(litres)));
    match (on, refuge) {
        (Some(on), Some(refuge)) if leads_back(if_dry).is_some() => {
            format!("If there is no fuel here, {on}. With less, turn back to {refuge}.")
        }
        (Some(on), Some(refuge)) => format!(
            "If there is no fuel here, {on}. With less, both may fail: {}.",
            if_neither(if_dry.if_neither, refuge)
        ),
        (Some(on), None) => format!("If there is no fuel here, {on}."),
        (None, Some(refuge)) if leads_back(if_dry).is_some() => {
            format!(
                "If there is no fuel here, no amount is enough to continue. Turn back to {refuge}."
            )
        }
        (None, Some(refuge)) => format!(
            "If there is no fuel here, both may fail with any amount: {}.",
            if_neither(if_dry.if_neither, refuge)
        ),
        (None, None) => "If there is no fuel here, no amount is enough to continue, and no return is possible. Save fuel, \
             and call for help early."
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
    match check.place_number.and_then(|place| place.checked_sub(1)) {
        Some(leg) => plan.legs.get(leg).map_or(Litres::ZERO, |leg| leg.end_cans),
        None => plan.on_board_at(check.at_km).cans,
    }
}

/// Litres on board at a check, and the gauge reading if the cans hold what is planned.
pub(super) fn level(
    plan: &Plan,
    check: &FuelCheck,
    litres: Litres,
    units: Units,
    toward: Toward,
) -> Level {
    let vehicle = &plan.trip.vehicle;
    let in_tank = (litres - planned_cans(plan, check)).max(Litres::ZERO) + vehicle.unusable();
    Level {
        fuel: units.by_gauge(litres, toward),
        gauge: if in_tank > vehicle.tank_l + ROUNDING {
            MORE_THAN_FULL
        } else if toward == Toward::Up {
            gauge_at_least(in_tank, vehicle.tank_l)
        } else {
            gauge(in_tank, vehicle.tank_l)
        },
    }
}

/// How low the gauge must be for a can to fit: `3/4 or less`.
pub(super) fn at_most_gauge(decant: &Decant, plan: &Plan) -> String {
    let tank = plan.trip.vehicle.tank_l;
    format!("{} or less", gauge(decant.when_tank_at_most_gauge, tank))
}

/// What to do before the trip sets out, continues or turns back.
struct Departure {
    place: String,
    /// What to fill, and what it costs.
    fill: Option<[String; 2]>,
    /// Set out, continue or turn back.
    go: &'static str,
    gauge: &'static str,
    /// In the tank, unusable fuel included.
    in_tank: Figure,
    in_cans: String,
}

/// The departure of a plan; `None` if the trip is over.
fn departure(plan: &Plan, units: Units) -> Option<Departure> {
    let (vehicle, rules) = (&plan.trip.vehicle, plan.trip.rules());
    let node = driven(plan);
    if plan.progress.is_some() && node == plan.trip.legs.len() {
        return None;
    }
    let stop = plan.stops.iter().find(|stop| stop.place_number == node);
    let filled = |litres: fn(&Stop) -> Litres| stop.map_or(Litres::ZERO, litres);
    let (in_tank, in_cans) = if plan.progress.is_some() {
        let on_board = plan.on_board_at(plan.here().unwrap_or_default());
        (on_board.tank + vehicle.unusable(), on_board.cans)
    } else {
        let in_tank = (rules.start(vehicle) + filled(|stop| stop.tank)).min(vehicle.tank_l);
        let in_cans = rules.start_cans() + filled(|stop| stop.cans);
        (in_tank, in_cans)
    };
    Some(Departure {
        place: here(plan, node, units),
        fill: stop
            .filter(|stop| stop.tank + stop.cans > Litres::ZERO)
            .map(|stop| [put(stop, plan, units), price(stop, plan)]),
        go: match (plan.is_return, plan.progress.is_some()) {
            (true, _) => "turn back",
            (_, true) => "continue",
            (_, false) => "set out",
        },
        gauge: gauge(in_tank, vehicle.tank_l),
        in_tank: units.litres(in_tank),
        in_cans: if in_cans > Litres::ZERO {
            format!("{} in cans", units.fuel_tenths(in_cans, Toward::Nearest))
        } else {
            "nothing in cans".to_owned()
        },
    })
}

/// Where the rest of the trip begins: `Lamp Hollow, km 0 (odo 88210)`.
fn here(plan: &Plan, node: usize, units: Units) -> String {
    let km = plan.here().unwrap_or_default();
    let at = at(plan, km, Toward::Nearest, units);
    format!("{}, {at}", place_name(plan, node))
}

/// How to set out, as sentences: what to fill, then what gauge and cans must show; where the trip is over, that it is.
pub(crate) fn start_sentence(plan: &Plan, units: Units) -> String {
    let Some(departure) = departure(plan, units) else {
        let node = plan.trip.legs.len();
        return format!("{}: the trip ends here.", here(plan, node, units));
    };
    let fill = departure
        .fill
        .map_or_else(String::new, |[fill, price]| format!("{fill}{price}, then "));
    format!(
        "{}: {fill}{} with the gauge at {} ({}) and {}.",
        departure.place, departure.go, departure.gauge, departure.in_tank, departure.in_cans,
    )
}

/// How to set out, in few words.
pub(crate) fn start_brief(plan: &Plan, units: Units) -> String {
    let Some(departure) = departure(plan, units) else {
        return "the trip ends here".to_owned();
    };
    let go = format!("{} with the gauge at {}", departure.go, departure.gauge);
    match departure.fill {
        Some([fill, _]) => format!("{fill}, {go}"),
        None => format!("{go}, {}", departure.in_cans),
    }
}

/// What to fill at a stop.
pub(super) fn put(stop: &Stop, plan: &Plan, units: Units) -> String {
    // Where no more is bought than must be, a litre less is a litre short.
    let toward = match plan.trip.rules().objective() {
        Objective::FewestCans => Toward::Nearest,
        Objective::LeastCost => Toward::Up,
    };
    let in_tank = || format!("the tank with {}", units.fuel(stop.tank, toward));
    let in_cans = || {
        format!(
            "{} with {}",
            counted(stop.cans_filled as usize, "can", "cans"),
            units.fuel_tenths(stop.cans, toward)
        )
    };
    match (stop.tank > Litres::ZERO, stop.cans > Litres::ZERO) {
        (true, true) => format!("fill {} and {}", in_tank(), in_cans()),
        (true, false) => format!("fill {}", in_tank()),
        (false, true) => format!("fill {}", in_cans()),
        (false, false) if stop.counted => "no fill needed".to_owned(),
        (false, false) if stop.off_route => "not relied on".to_owned(),
        (false, false) => "not relied on; fill the tank if there is fuel".to_owned(),
    }
}

/// What a stop costs, after a comma; empty without a price.
fn price(stop: &Stop, plan: &Plan) -> String {
    let currency = plan.trip.rules().currency.as_deref();
    stop.cost
        .map_or_else(String::new, |cost| format!(", {}", money(cost, currency)))
}

/// The fuel stops with a sentence: the start has one of its own, and at the finish usually nothing is filled.
pub(crate) fn stops_to_tell(plan: &Plan) -> impl Iterator<Item = &Stop> {
    let last = plan.legs.len();
    let is_used = |stop: &Stop| stop.tank + stop.cans > Litres::ZERO;
    let stops = plan.stops.iter();
    stops.filter(move |stop| stop.place_number != 0 && (stop.place_number != last || is_used(stop)))
}

/// What to do at a fuel stop, as a sentence.
pub fn fill_sentence(stop: &Stop, plan: &Plan, units: Units) -> String {
    let mut text = vec![format!(
        "{}, {}: ",
        plain(&stop.place),
        at(plan, stop.at_km, Toward::Nearest, units)
    )];
    if stop.chance <= Share::ZERO {
        text.push("no fuel.".to_owned());
        return text.concat();
    }
    text.push(put(stop, plan, units));
    if stop.tank + stop.cans > Litres::ZERO {
        text.push(format!(
            "{}; {} on board on departure",
            price(stop, plan),
            units.fuel_tenths(stop.after, Toward::Down),
        ));
    }
    if stop.detour > Kilometres::ZERO {
        let detour = units.distance(stop.detour, Toward::Nearest);
        text.push(format!("; detour {detour}"));
    }
    if stop.chance.get() < 1.0 {
        text.push(format!("; chance of fuel {}", percent(stop.chance)));
    }
    if let Some(supply) = stop.supply {
        let shared = match stop.visits {
            1 => String::new(),
            visits => format!(" for all {visits} visits"),
        };
        let stock = units.fuel(supply, Toward::Down);
        text.push(format!("; stock {stock}{shared}"));
    }
    text.concat() + "."
}

/// What to do at a fuel stop, in few words.
pub(crate) fn fill_brief(stop: &Stop, plan: &Plan, units: Units) -> String {
    if stop.chance <= Share::ZERO {
        return "no fuel".to_owned();
    }
    let chance = if_unconfirmed(stop.chance);
    if stop.counted || stop.tank + stop.cans > Litres::ZERO {
        return put(stop, plan, units) + &chance;
    }
    if stop.off_route {
        return format!("fuel off the route{chance}, not relied on");
    }
    format!("fill if there is fuel{chance}, not relied on")
}

/// The chance of fuel in brackets; empty if it is certain.
fn if_unconfirmed(chance: Share) -> String {
    match chance {
        sure if sure.get() >= 1.0 => String::new(),
        chance => format!(" ({})", percent(chance)),
    }
}

/// A point of the route with the odometer reading there: `km 350 (odo 48396)`.
pub(super) fn at(plan: &Plan, km: Kilometres, toward: Toward, units: Units) -> String {
    let shown = odometer(plan, km, toward, units);
    let shown = shown.map_or_else(String::new, |shown| format!(" ({shown})"));
    units.at(km, toward) + &shown
}

/// The odometer reading at a point of the route; `None` if it is unknown or the same.
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

/// When to decant a can into the tank, as a sentence.
pub(crate) fn decant_sentence(decant: &Decant, plan: &Plan, units: Units) -> String {
    let tank = plan.trip.vehicle.tank_l;
    let most = decant.when_tank_at_most_gauge;
    let place = decant
        .place_number
        .map_or_else(String::new, |place_number| {
            format!("at {}, ", place_name(plan, place_number))
        });
    let latest = decant.latest_km.max(decant.earliest_km);
    let span = span(
        units.at(decant.earliest_km, Toward::Up),
        &units.at(latest, Toward::Down),
    );
    let shown = odometer(plan, decant.earliest_km, Toward::Up, units)
        .zip(odometer(plan, latest, Toward::Down, units))
        .map_or_else(String::new, |(first, last)| {
            format!(" ({})", self::span(first, &last))
        });
    format!(
        "Decant the {} can ({}) {place}{span}{shown}, once the gauge shows {} ({}) or less.",
        Units::can_size(decant.can_size),
        super::load::carrying_place(decant.from),
        gauge(most, tank),
        units.fuel(most, Toward::Down),
    )
}

/// When to decant a can, in few words.
pub(crate) fn decant_brief(decant: &Decant, plan: &Plan) -> String {
    format!(
        "decant the {} can when the gauge is at {}",
        Units::can_size(decant.can_size),
        at_most_gauge(decant, plan),
    )
}

/// Whether a return is possible up to the end of a stage.
pub(super) fn all_along(point: &TurnBack, stage: &Stage) -> bool {
    point.at_km >= stage.from_km + stage.distance - Kilometres::new(1e-6)
}

/// What an unconfirmed or limited stop has, in brackets; empty for others.
fn what_it_has(point: &TurnBack, units: Units) -> String {
    let chance =
        (point.chance.get() < 1.0).then(|| format!("chance of fuel {}", percent(point.chance)));
    let left = point
        .left
        .map(|left| format!("remaining stock {}", units.fuel(left, Toward::Down)));
    let has: Vec<String> = chance.into_iter().chain(left).collect();
    if has.is_empty() {
        String::new()
    } else {
        format!(" ({})", has.join(", "))
    }
}

/// The turn-back point as a sentence; `None` where a return is possible on the whole stage.
pub(crate) fn turn_back_sentence(
    stage: &Stage,
    point: &TurnBack,
    plan: &Plan,
    units: Units,
) -> Option<String> {
    if all_along(point, stage) {
        return None;
    }
    Some(format!(
        "To return to {}{}, turn back by {}; from there the return is {}.",
        place_name(plan, point.refuge),
        what_it_has(point, units),
        at(plan, point.at_km, Toward::Down, units),
        units.distance(point.way_back, Toward::Up),
    ))
}

/// Why a stage begins with more in cans than the success target needs, in a sentence; `None` where it does not.
fn more_than_needed(stage: &Stage, plan: &Plan, units: Units) -> Option<String> {
    plan.doubt.as_ref()?;
    let in_cans = units.fuel_tenths(stage.leave_with() - stage.tank, Toward::Up);
    let needed = units.fuel_tenths(plan.in_cans.needed, Toward::Up);
    (in_cans.clone().min(needed.clone()) != in_cans).then(|| {
        format!(
            " With a full tank that is {in_cans} in cans: {needed} needed, the rest so that enough trips finish that follow \
             the instructions."
        )
    })
}

/// Why a stage is not decided at its turn-back point, in a sentence; `None` where it is.
fn decide_beside(stage: &Stage, point: &TurnBack, plan: &Plan, units: Units) -> Option<String> {
    let decision = plan.decision_point(stage)?;
    let km = units.at(decision, Toward::Down);
    if km == units.at(point.at_km, Toward::Down) {
        return None;
    }
    Some(if decision < point.at_km {
        format!(
            " Decide before it, at {km}: from there on returning takes more fuel than continuing."
        )
    } else {
        format!(
            " Decide after it, at {km}: the fuel check there goes by the litres that you have, not by the share of all trips."
        )
    })
}

/// The turn-back point in few words.
pub(crate) fn turn_back_brief(point: &TurnBack, plan: &Plan, units: Units) -> String {
    let chance = if_unconfirmed(point.chance);
    let refuge = place_name(plan, point.refuge);
    let at = units.at(point.at_km, Toward::Down);
    format!("turn-back point to {refuge}{chance}: {at}")
}

/// By what a plan is laid out: `95 % target`, or the best estimate.
pub(super) fn target_or_best_estimate(plan: &Plan) -> String {
    match &plan.doubt {
        Some(doubt) => format!("{} target", odds(doubt.success_target)),
        None => "best estimate".to_owned(),
    }
}

/// A stage as sentences: what it needs, and where to turn back.
pub fn stage_sentence(stage: &Stage, plan: &Plan, units: Units) -> String {
    let leave_with = units
        .fuel_tenths(stage.required, Toward::Up)
        .min(units.fuel_tenths(stage.on_board, Toward::Down));
    let mut text = vec![format!(
        "{} to {}, {}: leave with {leave_with} or more, tank and cans together.",
        place_name(plan, stage.from),
        place_name(plan, stage.to),
        units.distance(stage.distance, Toward::Nearest),
    )];
    text.extend(more_than_needed(stage, plan, units));
    let until = |point: &TurnBack, last: String| {
        if all_along(point, stage) {
            "its end".to_owned()
        } else {
            last
        }
    };
    let kind = target_or_best_estimate(plan);
    match &stage.turn_back {
        Some(point) if all_along(point, stage) => {
            let refuge = place_name(plan, point.refuge);
            text.push(format!(
                " You can return to {refuge} from the whole stage ({kind})."
            ));
        }
        Some(point) => {
            let refuge = place_name(plan, point.refuge);
            let last = at(plan, point.at_km, Toward::Down, units);
            text.push(format!(" Turn-back point to {refuge} ({kind}): {last}."));
            text.extend(decide_beside(stage, point, plan, units));
        }
        None => text.push(" No return is possible.".to_owned()),
    }
    if let Some(point) = stage
        .turn_back_best_estimate
        .filter(|_| plan.doubt.is_some())
    {
        let last = until(&point, units.at(point.at_km, Toward::Down));
        text.push(format!(" By the best estimate: {last}."));
    }
    if let Some(km) = plan.equal_time(stage) {
        let halfway = at(plan, km, Toward::Nearest, units);
        text.push(format!(" Equal-time point: {halfway}."));
    }
    if let Some(point) = &stage.unconfirmed_turn_back {
        text.push(format!(
            " Turn-back point to {}{}: {}.",
            place_name(plan, point.refuge),
            what_it_has(point, units),
            until(point, at(plan, point.at_km, Toward::Down, units)),
        ));
    }
    text.concat()
}
