//! The trip card, day by day: the places in driving order with their fuel checks, and what to do, in the imperative.
//!
//! A place belongs to the day on which it is reached, and so does what is filled there; a decant to the
//! day of the leg on or before which it is done.

use super::card::{self, CheckLine};
use super::margin;
use super::name::plain;
use super::number::{Figure, Toward, Units, gauge};
use crate::plan::{FuelCheck, Plan, PlannedLeg};
use crate::quantity::{Hours, Kilometres, Litres};

/// The card of one day.
#[derive(Clone, Debug, PartialEq)]
pub struct DayCard {
    /// Number of the day.
    pub number: u32,
    /// Where it begins.
    pub from: String,
    /// Where it ends.
    pub to: String,
    /// Distance, fuel and driving time: `194 km, 17 L of fuel, 4 h 20 min driving`.
    pub totals: String,
    /// The points of the day, the place where it begins first.
    pub points: Vec<CardPoint>,
    /// What to do, by kilometre.
    pub tasks: Vec<Task>,
    /// The arrival of the day with the smallest margin.
    pub tightest: String,
}

/// A place, or a fuel check en route.
#[derive(Clone, Debug, PartialEq)]
pub struct CardPoint {
    /// Where: `km 238`.
    pub at: String,
    /// The odometer reading there, where it is known and differs.
    pub odometer: Option<String>,
    /// Its name, or `en route to` the next place.
    pub place: String,
    /// The leg that ends there: `leg 3: 68 km corrugated, 5.4 L`.
    pub leg: Option<String>,
    /// On board by the best estimate, on arrival, or on departure where the day begins; `None` if fuel has run out.
    pub on_board: Option<Figure>,
    /// What the gauge shows with that.
    pub gauge: &'static str,
    /// How much of it is in cans, where any is.
    pub in_cans: Option<Figure>,
    /// Its fuel check, if any.
    pub check: Option<CheckLine>,
}

/// Something to do.
#[derive(Clone, Debug, PartialEq)]
pub struct Task {
    /// Where, from the start of the trip.
    pub(crate) at: Kilometres,
    /// What it is about.
    pub(crate) kind: TaskKind,
    /// What to do.
    pub(crate) says: String,
}

/// What a task is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum TaskKind {
    /// Take fuel that the plan relies on.
    Fill,
    /// A fuel stop that the plan does not rely on.
    PassBy,
    /// Decant a can into the tank.
    Decant,
    /// The turn-back point.
    TurnBack {
        /// Whether it is to an unconfirmed fuel stop.
        doubtful: bool,
    },
}

/// The cards of all days, in their order.
pub fn cards(plan: &Plan, units: Units) -> Vec<DayCard> {
    let mut tasks: Vec<(usize, Task)> = tasks(plan, units);
    tasks.sort_by(|(leg, a), (later, b)| leg.cmp(later).then(a.at.get().total_cmp(&b.at.get())));
    let mut tasks = tasks.into_iter().peekable();
    let mut checks = plan.fuel_checks.iter().peekable();
    let days = plan.legs.chunk_by(|leg, next| leg.day == next.day);
    days.map(|legs| {
        let (first, last) = (&legs[0], &legs[legs.len() - 1]);
        let mut points = vec![departure(first, plan, units)];
        for leg in legs {
            // Points on the road come before the place that the leg leads to.
            while let Some(check) = checks.next_if(|check| check.leg <= leg.n) {
                points.push(checked(check, leg, plan, units));
            }
            if points.last().is_none_or(|point| point.leg.is_none()) {
                points.push(arrival(leg, plan, units));
            }
        }
        let due = std::iter::from_fn(|| tasks.next_if(|(leg, _)| *leg <= last.n));
        DayCard {
            number: first.day,
            from: plain(&first.from).into_owned(),
            to: plain(&last.to).into_owned(),
            totals: totals(legs, units),
            points,
            tasks: due.map(|(_, task)| task).collect(),
            tightest: margin::among(plan, legs, units).unwrap_or_default(),
        }
    })
    .collect()
}

fn totals(legs: &[PlannedLeg], units: Units) -> String {
    let way: Kilometres = legs.iter().map(|leg| leg.distance).sum();
    let fuel: Litres = legs.iter().map(|leg| leg.fuel).sum();
    let driving: Hours = legs.iter().map(|leg| leg.driving).sum();
    format!(
        "{}, {} of fuel, {} driving",
        units.distance(way, Toward::Nearest),
        units.litres(fuel),
        units.time(driving)
    )
}

/// Litres on board, rounded as in the fuel checks.
fn on_board(litres: Litres, units: Units) -> Option<Figure> {
    (litres >= Litres::ZERO).then(|| units.by_gauge(litres, Toward::Down))
}

fn in_cans(litres: Litres, units: Units) -> Option<Figure> {
    (litres > Litres::ZERO).then(|| units.fuel_tenths(litres, Toward::Down))
}

/// The place where a day begins, as it is left.
fn departure(leg: &PlannedLeg, plan: &Plan, units: Units) -> CardPoint {
    let cans = plan.on_board_at(leg.from_km).cans;
    let in_tank = leg.start - cans + plan.trip.vehicle.unusable();
    CardPoint {
        at: units.at(leg.from_km, Toward::Nearest),
        odometer: card::odometer(plan, leg.from_km, Toward::Nearest, units),
        place: format!("{} (departure)", plain(&leg.from)),
        leg: None,
        on_board: on_board(leg.start, units),
        gauge: gauge(in_tank, plan.trip.vehicle.tank_l),
        in_cans: in_cans(cans, units),
        check: None,
    }
}

/// The place where a leg ends.
fn arrival(leg: &PlannedLeg, plan: &Plan, units: Units) -> CardPoint {
    let at = leg.from_km + leg.distance;
    let (way, fuel) = (
        units.distance(leg.distance, Toward::Nearest),
        units.litres(leg.fuel),
    );
    CardPoint {
        at: units.at(at, Toward::Nearest),
        odometer: card::odometer(plan, at, Toward::Nearest, units),
        place: plain(&leg.to).into_owned(),
        leg: Some(format!("leg {}: {way} {}, {fuel}", leg.n, leg.surface)),
        on_board: on_board(leg.end, units),
        gauge: gauge(leg.end_tank_gauge, plan.trip.vehicle.tank_l),
        in_cans: in_cans(leg.end_cans, units),
        check: None,
    }
}

/// A fuel check on a leg or at its end.
fn checked(check: &FuelCheck, leg: &PlannedLeg, plan: &Plan, units: Units) -> CardPoint {
    let line = card::check_line(check, plan, units);
    if check.place_number.is_some() {
        return CardPoint {
            check: Some(line),
            ..arrival(leg, plan, units)
        };
    }
    let there = plan.on_board_at(check.at_km);
    CardPoint {
        at: line.at.clone(),
        odometer: line.odometer.clone(),
        place: line.place.clone(),
        leg: None,
        on_board: on_board(there.tank + there.cans, units),
        gauge: gauge(
            there.tank + plan.trip.vehicle.unusable(),
            plan.trip.vehicle.tank_l,
        ),
        in_cans: in_cans(there.cans, units),
        check: Some(line),
    }
}

/// All tasks, each with the number of the leg to whose day it belongs.
fn tasks(plan: &Plan, units: Units) -> Vec<(usize, Task)> {
    let task = |leg, at, kind, says| (leg, Task { at, kind, says });
    let start = card::start_sentence(plan, units);
    let mut tasks = vec![task(1, Kilometres::ZERO, TaskKind::Fill, start)];
    tasks.extend(card::stops_to_tell(plan).map(|stop| {
        let kind = if stop.counted {
            TaskKind::Fill
        } else {
            TaskKind::PassBy
        };
        let says = card::fill_sentence(stop, plan, units);
        task(stop.place_number, stop.at_km, kind, says)
    }));
    tasks.extend(plan.decants.iter().map(|decant| {
        let says = card::decant_sentence(decant, plan, units);
        task(decant.leg, decant.at_km, TaskKind::Decant, says)
    }));
    for stage in &plan.stages {
        let points = [
            (stage.turn_back, false),
            (stage.unconfirmed_turn_back, true),
        ];
        tasks.extend(points.into_iter().filter_map(|(point, doubtful)| {
            let point = point?;
            let says = card::turn_back_sentence(stage, &point, plan, units)?;
            let before = |leg: &PlannedLeg| leg.from_km < point.at_km;
            let leg = plan.legs.partition_point(before).max(1);
            Some(task(
                leg,
                point.at_km,
                TaskKind::TurnBack { doubtful },
                says,
            ))
        }));
    }
    tasks
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::check;
    use crate::model::vocabulary::UnitSystem;
    use crate::plan::Effort;
    use crate::present::mark::{MarkKind, marks};

    fn example() -> Plan {
        let text = include_str!("../../tests/data/example-trip.json");
        let trip = check::read(serde_json::from_str(text).unwrap()).unwrap();
        Plan::at_target(trip, Effort::FIRST)
    }

    #[test]
    fn every_leg_decision_and_task_stands_on_one_day() {
        let plan = example();
        let units = Units(UnitSystem::Metric);
        let cards = cards(&plan, units);
        assert_eq!(
            cards.iter().map(|card| card.number).collect::<Vec<_>>(),
            [1, 2, 3, 4]
        );
        let points = || cards.iter().flat_map(|card| &card.points);
        let legs = points().filter(|point| point.leg.is_some()).count();
        assert_eq!(legs, plan.legs.len());
        let checked: Vec<CheckLine> = points().filter_map(|point| point.check.clone()).collect();
        assert_eq!(checked, card::check_lines(&plan, units));
        let tasks = |kind| {
            let all = cards.iter().flat_map(|card| &card.tasks);
            all.filter(|task| task.kind == kind).count()
        };
        assert_eq!(tasks(TaskKind::Decant), plan.decants.len());
        // The start is filled whether it is a fuel stop or not, the finish only if the plan fills there.
        let on_the_way = 1..plan.legs.len();
        let filled = plan
            .stops
            .iter()
            .filter(|stop| stop.counted && on_the_way.contains(&stop.place_number));
        assert_eq!(tasks(TaskKind::Fill), 1 + filled.count());
        for wanted in [false, true] {
            let turns = marks(&plan)
                .iter()
                .filter(|mark| matches!(mark.kind, MarkKind::TurnBack { doubtful, .. } if doubtful == wanted))
                .count();
            assert_eq!(tasks(TaskKind::TurnBack { doubtful: wanted }), turns);
        }
    }
}
