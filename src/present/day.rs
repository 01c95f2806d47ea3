//! The trip card, day by day: the places in driving order with their fuel checks, and what to do, in the imperative.
//!
//! A place belongs to the day on which it is reached, and so does what is filled there; a decant to the
//! day of the leg on or before which it is done.

use super::card::{self, CheckLine};
use super::margin;
use super::name::plain;
use super::number::{Figure, Toward, Units, gauge};
use super::under_way::driven;
use crate::plan::{Plan, PlannedLeg};
use crate::quantity::{Hours, Kilometres, Litres};

/// Two points nearer than this are one.
const SAME_POINT: Kilometres = Kilometres::new(0.1);
/// A turn-back point nearer than this to a fuel check is in its row, with its own kilometre.
const SAME_ROW: Kilometres = Kilometres::new(1.0);

/// The card of one day.
#[derive(Clone, Debug, PartialEq)]
pub struct DayCard {
    /// Number of the day.
    pub number: u32,
    /// Name of the place where the day begins.
    pub from: String,
    /// Name of the place where the day ends.
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

/// A place, or a point en route with a fuel check or something to do.
#[derive(Clone, Debug, PartialEq)]
pub struct CardPoint {
    /// From the start of the trip.
    pub(crate) km: Kilometres,
    /// Where: `238`, in the unit of the reader.
    pub at: String,
    /// The odometer reading there, where it is known and differs.
    pub odometer: Option<String>,
    /// Its name; en route the distance from the last place, `+50 km`.
    pub place: String,
    /// Whether it is a place.
    pub(crate) is_place: bool,
    /// Whether it is where a day begins, with the fuel on departure.
    pub(crate) is_departure: bool,
    /// Nights spent there.
    pub(crate) nights: u32,
    /// On board by the best estimate, on arrival, or on departure where the day begins; `None` if fuel has run out.
    pub on_board: Option<Figure>,
    /// What the gauge shows with that.
    pub gauge: &'static str,
    /// What to do there, in order.
    pub(crate) todo: Vec<Task>,
    /// Its fuel check, if any.
    pub check: Option<CheckLine>,
}

/// Something to do.
#[derive(Clone, Debug, PartialEq)]
pub struct Task {
    /// Where, from the start of the trip.
    pub(crate) at: Kilometres,
    /// The kind of task, which sets its symbol.
    pub(crate) kind: TaskKind,
    pub(crate) says: String,
    /// What is to be done in few words, for a table that names the place itself.
    pub(crate) brief: String,
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
        unconfirmed: bool,
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
            let mut at_end = None;
            while let Some(check) = checks.next_if(|check| check.leg <= leg.n) {
                let line = card::check_line(check, plan, units);
                if check.place_number.is_some() {
                    at_end = Some(line);
                } else {
                    let mut point = en_route(check.at_km, leg, plan, units);
                    point.check = Some(line);
                    points.push(point);
                }
            }
            let mut arrival = arrival(leg, plan, units);
            arrival.check = at_end;
            points.push(arrival);
        }
        let due = std::iter::from_fn(|| tasks.next_if(|(leg, _)| *leg <= last.n));
        let tasks: Vec<Task> = due.map(|(_, task)| task).collect();
        for task in &tasks {
            let near = match task.kind {
                TaskKind::TurnBack { .. } => SAME_ROW,
                _ => SAME_POINT,
            };
            let there = |point: &CardPoint| (point.km - task.at).abs() <= near;
            let found = points.iter().rposition(there).unwrap_or_else(|| {
                let leg = legs.partition_point(|leg| leg.from_km + leg.distance < task.at);
                let leg = &legs[leg.min(legs.len() - 1)];
                let next = points.partition_point(|point| point.km < task.at);
                points.insert(next, en_route(task.at, leg, plan, units));
                next
            });
            points[found].todo.push(task.clone());
        }
        DayCard {
            number: first.day,
            from: plain(&first.from).into_owned(),
            to: plain(&last.to).into_owned(),
            totals: totals(legs, units),
            points,
            tasks,
            tightest: margin::among(plan, legs, units).unwrap_or_default(),
        }
    })
    .collect()
}

/// The points of several days in one list, a place where nights are spent once, with what to do on the mornings there.
pub(crate) fn in_one(days: &[DayCard]) -> Vec<CardPoint> {
    let mut all: Vec<CardPoint> = Vec::new();
    for (nth, day) in days.iter().enumerate() {
        for point in &day.points {
            let stays = |last: &&mut CardPoint| {
                last.is_place
                    && point.is_place
                    && point.check.is_none()
                    && (point.km - last.km).abs() <= SAME_POINT
            };
            match all.last_mut().filter(stays) {
                Some(last) => {
                    last.nights += u32::from(point.is_departure && nth > 0);
                    last.todo.extend_from_slice(&point.todo);
                }
                None => all.push(point.clone()),
            }
        }
    }
    all
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

/// A point of the route with litres on board and what the gauge then shows.
fn point(
    km: Kilometres,
    place: String,
    [on_board, in_tank]: [Litres; 2],
    plan: &Plan,
    units: Units,
) -> CardPoint {
    CardPoint {
        km,
        at: units.at_number(km, Toward::Nearest),
        odometer: card::odometer(plan, km, Toward::Nearest, units),
        place,
        is_place: true,
        is_departure: false,
        nights: 0,
        // Rounded as in the fuel checks.
        on_board: (on_board >= Litres::ZERO).then(|| units.by_gauge(on_board, Toward::Down)),
        gauge: gauge(in_tank, plan.trip.vehicle.tank_l),
        todo: Vec::new(),
        check: None,
    }
}

/// The place where a day begins, as it is left.
fn departure(leg: &PlannedLeg, plan: &Plan, units: Units) -> CardPoint {
    let cans = plan.on_board_at(leg.from_km).cans;
    let in_tank = leg.start - cans + plan.trip.vehicle.unusable();
    let place = plain(&leg.from).into_owned();
    CardPoint {
        is_departure: true,
        ..point(leg.from_km, place, [leg.start, in_tank], plan, units)
    }
}

/// The place where a leg ends.
fn arrival(leg: &PlannedLeg, plan: &Plan, units: Units) -> CardPoint {
    let km = leg.from_km + leg.distance;
    let place = plain(&leg.to).into_owned();
    point(km, place, [leg.end, leg.end_tank_gauge], plan, units)
}

/// A point on a leg.
fn en_route(km: Kilometres, leg: &PlannedLeg, plan: &Plan, units: Units) -> CardPoint {
    let there = plan.on_board_at(km);
    let in_tank = there.tank + plan.trip.vehicle.unusable();
    let after = units.distance(km - leg.from_km, Toward::Nearest);
    CardPoint {
        is_place: false,
        ..point(
            km,
            format!("+{after}"),
            [there.tank + there.cans, in_tank],
            plan,
            units,
        )
    }
}

/// All tasks, each with the number of the leg to whose day it belongs.
fn tasks(plan: &Plan, units: Units) -> Vec<(usize, Task)> {
    let mut tasks = Vec::new();
    let mut add = |leg, at, kind, sentence, brief| {
        let task = Task {
            at,
            kind,
            says: sentence,
            brief,
        };
        tasks.push((leg, task));
    };
    add(
        (driven(plan) + 1).min(plan.legs.len()),
        plan.here().unwrap_or_default(),
        TaskKind::Fill,
        card::start_sentence(plan, units),
        card::start_brief(plan, units),
    );
    for stop in card::stops_to_tell(plan) {
        add(
            stop.place_number,
            stop.at_km,
            if stop.counted {
                TaskKind::Fill
            } else {
                TaskKind::PassBy
            },
            card::fill_sentence(stop, plan, units),
            card::fill_brief(stop, plan, units),
        );
    }
    for decant in &plan.decants {
        add(
            decant.leg,
            decant.at_km,
            TaskKind::Decant,
            card::decant_sentence(decant, plan, units),
            card::decant_brief(decant, plan),
        );
    }
    for stage in &plan.stages {
        let points = [
            (stage.turn_back, false),
            (stage.unconfirmed_turn_back, true),
        ];
        for (point, unconfirmed) in points {
            let Some(point) = point.filter(|point| !card::all_along(point, stage)) else {
                continue;
            };
            let before = |leg: &PlannedLeg| leg.from_km < point.at_km;
            add(
                plan.legs.partition_point(before).max(1),
                point.at_km,
                TaskKind::TurnBack { unconfirmed },
                card::turn_back_sentence(stage, &point, plan, units).unwrap_or_default(),
                card::turn_back_brief(&point, plan, units),
            );
        }
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
        let arrivals = points().filter(|point| point.is_place && !point.is_departure);
        assert_eq!(arrivals.count(), plan.legs.len());
        let todo = points().map(|point| point.todo.len()).sum::<usize>();
        assert_eq!(
            todo,
            cards.iter().map(|card| card.tasks.len()).sum::<usize>()
        );
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
                .filter(|mark| matches!(mark.kind, MarkKind::TurnBack { unconfirmed, .. } if unconfirmed == wanted))
                .count();
            assert_eq!(
                tasks(TaskKind::TurnBack {
                    unconfirmed: wanted
                }),
                turns
            );
        }
    }
}
