//! The trip card, day by day: the places in driving order with what must be aboard there, and what
//! is to be done, in the imperative.
//!
//! A place belongs to the day on which it is reached, and so does what is filled there; a pour to the
//! day of the leg on or before which it is done.

use std::ops::Range;

use super::card::{self, CheckLine};
use super::margin;
use super::name::plain;
use super::number::{Figure, Toward, Units};
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
    /// Way, fuel and hours: `194 km, 17 L, 4:20 h at the wheel`.
    pub totals: String,
    /// The points of the day, the place where it begins first.
    pub points: Vec<CardPoint>,
    /// What is to be done, by kilometre.
    pub tasks: Vec<Task>,
    /// The arrival of the day with the least over its reserve.
    pub tightest: String,
}

/// A place, or a point of the road at which the fuel is looked at.
#[derive(Clone, Debug, PartialEq)]
pub struct CardPoint {
    /// Where: `km 238`.
    pub at: String,
    /// What the odometer shows there, where that is known or differs.
    pub odometer: Option<String>,
    /// Its name, or `to` the next place.
    pub place: String,
    /// The leg that ends there: `leg 3: 68 km corrugated, 5.4 L`.
    pub leg: Option<String>,
    /// What the plan has aboard, on arrival, or on leaving where the day begins; nothing when the tank is dry.
    pub aboard: Option<Figure>,
    /// What the gauge shows with that.
    pub gauge: &'static str,
    /// How much of it is in cans, where any is.
    pub in_cans: Option<Figure>,
    /// When to go on and when to turn back; nothing where there is nothing to decide.
    pub check: Option<CheckLine>,
}

/// Something to be done.
#[derive(Clone, Debug, PartialEq)]
pub struct Task {
    /// Where it is due, from the start of the trip.
    pub at: Kilometres,
    /// What it is about.
    pub kind: TaskKind,
    /// What to do.
    pub says: String,
}

/// What a task is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TaskKind {
    /// Take fuel that the plan relies on.
    Fill,
    /// A pump that the plan does not rely on.
    PassBy,
    /// Empty a can into the tank.
    Pour,
    /// The last point to turn back.
    TurnBack {
        /// Whether it is to a pump that may be dry.
        doubtful: bool,
    },
}

/// The cards of all days, in their order.
pub fn cards(plan: &Plan, units: Units) -> Vec<DayCard> {
    let days = days(&plan.legs);
    let mut tasks: Vec<(usize, Task)> = tasks(plan, units);
    tasks.sort_by(|(leg, a), (later, b)| leg.cmp(later).then(a.at.get().total_cmp(&b.at.get())));
    let mut tasks = tasks.into_iter().peekable();
    let mut checks = plan.fuel_checks.iter().peekable();
    let mut cards = Vec::with_capacity(days.len());
    for legs in days {
        let mut points = vec![departure(&plan.legs[legs.start], plan, units)];
        for leg in &plan.legs[legs.clone()] {
            // Points on the road come before the place that the leg leads to.
            while let Some(check) = checks.next_if(|check| check.leg <= leg.n) {
                points.push(checked(check, leg, plan, units));
            }
            if points.last().is_none_or(|point| point.leg.is_none()) {
                points.push(arrival(leg, plan, units));
            }
        }
        let mut due = Vec::new();
        while let Some((_, task)) = tasks.next_if(|(leg, _)| *leg <= legs.end) {
            due.push(task);
        }
        let driven = &plan.legs[legs];
        cards.push(DayCard {
            number: driven[0].day,
            from: plain(&driven[0].from).into_owned(),
            to: plain(&driven[driven.len() - 1].to).into_owned(),
            totals: totals(driven, units),
            points,
            tasks: due,
            tightest: margin::among(plan, driven, units).unwrap_or_default(),
        });
    }
    cards
}

/// The legs of each day, as indices.
fn days(legs: &[PlannedLeg]) -> Vec<Range<usize>> {
    let mut days: Vec<Range<usize>> = Vec::new();
    for (index, leg) in legs.iter().enumerate() {
        match days.last_mut() {
            Some(day) if legs[day.start].day == leg.day => day.end = index + 1,
            _ => days.push(index..index + 1),
        }
    }
    days
}

fn totals(legs: &[PlannedLeg], units: Units) -> String {
    let way: Kilometres = legs.iter().map(|leg| leg.distance).sum();
    let fuel: Litres = legs.iter().map(|leg| leg.fuel).sum();
    let driving: Hours = legs.iter().map(|leg| leg.driving).sum();
    format!(
        "{}, {} of fuel, {} at the wheel",
        units.distance(way, Toward::Nearest),
        units.litres(fuel),
        units.time(driving)
    )
}

/// Litres aboard as the plan has them, told to the safe side.
fn aboard(litres: Litres, units: Units) -> Option<Figure> {
    (litres >= Litres::ZERO).then(|| units.fuel(litres, Toward::Down))
}

fn in_cans(litres: Litres, units: Units) -> Option<Figure> {
    (litres > Litres::ZERO).then(|| units.spare(litres, Toward::Down))
}

/// The place where a day begins, as it is left.
fn departure(leg: &PlannedLeg, plan: &Plan, units: Units) -> CardPoint {
    let vehicle = &plan.trip.vehicle;
    let cans = plan.on_board_at(leg.from_km).cans;
    let in_tank = leg.start - cans + vehicle.unusable();
    CardPoint {
        at: units.at(leg.from_km, Toward::Nearest),
        odometer: card::odometer(plan, leg.from_km, Toward::Nearest, units),
        place: format!("leave {}", plain(&leg.from)),
        leg: None,
        aboard: aboard(leg.start, units),
        gauge: units.gauge(in_tank, vehicle.tank_l, Toward::Nearest),
        in_cans: in_cans(cans, units),
        check: None,
    }
}

/// The place where a leg ends.
fn arrival(leg: &PlannedLeg, plan: &Plan, units: Units) -> CardPoint {
    let at = leg.from_km + leg.distance;
    CardPoint {
        at: units.at(at, Toward::Nearest),
        odometer: card::odometer(plan, at, Toward::Nearest, units),
        place: plain(&leg.to).into_owned(),
        leg: Some(format!(
            "leg {}: {} {}, {}",
            leg.n,
            units.distance(leg.distance, Toward::Nearest),
            leg.surface,
            units.litres(leg.fuel)
        )),
        aboard: aboard(leg.end, units),
        gauge: units.gauge(
            leg.end_tank_gauge,
            plan.trip.vehicle.tank_l,
            Toward::Nearest,
        ),
        in_cans: in_cans(leg.end_cans, units),
        check: None,
    }
}

/// A fuel check on a leg or at its end.
fn checked(check: &FuelCheck, leg: &PlannedLeg, plan: &Plan, units: Units) -> CardPoint {
    let line = card::check_line(check, plan, units);
    if check.node.is_some() {
        return CardPoint {
            check: Some(line),
            ..arrival(leg, plan, units)
        };
    }
    let vehicle = &plan.trip.vehicle;
    let there = plan.on_board_at(check.at_km);
    CardPoint {
        at: line.at.clone(),
        odometer: line.odometer.clone(),
        place: line.place.clone(),
        leg: None,
        aboard: aboard(there.tank + there.cans, units),
        gauge: units.gauge(
            there.tank + vehicle.unusable(),
            vehicle.tank_l,
            Toward::Nearest,
        ),
        in_cans: in_cans(there.cans, units),
        check: Some(line),
    }
}

/// All tasks, each with the number of the leg to whose day it belongs.
fn tasks(plan: &Plan, units: Units) -> Vec<(usize, Task)> {
    let mut tasks = vec![(
        1,
        Task {
            at: Kilometres::ZERO,
            kind: TaskKind::Fill,
            says: card::start_sentence(plan, units),
        },
    )];
    let last = plan.legs.len();
    let stops = plan.stops.iter().filter(|stop| {
        stop.node != 0 && (stop.node != last || stop.tank + stop.cans > Litres::ZERO)
    });
    tasks.extend(stops.map(|stop| {
        let task = Task {
            at: stop.at_km,
            kind: if stop.counted {
                TaskKind::Fill
            } else {
                TaskKind::PassBy
            },
            says: card::fill_sentence(stop, plan, units),
        };
        (stop.node, task)
    }));
    tasks.extend(plan.pours.iter().map(|pour| {
        let task = Task {
            at: pour.at_km,
            kind: TaskKind::Pour,
            says: card::pour_sentence(pour, plan, units),
        };
        (pour.leg, task)
    }));
    for stretch in &plan.stretches {
        let points = [
            (&stretch.turn_back, false),
            (&stretch.doubtful_turn_back, true),
        ];
        tasks.extend(points.into_iter().filter_map(|(point, doubtful)| {
            let point = point.as_ref()?;
            let task = Task {
                at: point.at_km,
                kind: TaskKind::TurnBack { doubtful },
                says: card::turn_back_sentence(stretch, point, plan, units)?,
            };
            let leg = plan
                .legs
                .partition_point(|leg| leg.from_km < point.at_km)
                .max(1);
            Some((leg, task))
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
        Plan::at_confidence(trip, Effort::FIRST)
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
        assert_eq!(tasks(TaskKind::Pour), plan.pours.len());
        // The start is filled whether it is a fuel stop or not, the finish only if the plan fills there.
        let on_the_way = 1..plan.legs.len();
        let filled = plan
            .stops
            .iter()
            .filter(|stop| stop.counted && on_the_way.contains(&stop.node));
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
