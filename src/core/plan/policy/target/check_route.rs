//! Where the fuel is checked, and the returns from there: on arrival at each place, every fifty kilometres off sealed
//! roads, at the turn-back points, and where returning begins to take more than continuing.

use crate::doubt::checks::CheckRoute;
use crate::doubt::returns::{Point, Returns};
use crate::doubt::study::{AtStops, Drawn, FirstDriven};
use crate::model::vocabulary::{Surface, UnconfirmedStops};
use crate::quantity::{Kilometres, Share};
use crate::solver::fuel::{Need, Problem};

use super::reliance::refuges;
use crate::plan::facts::TripFacts;
use crate::plan::loadout::Loadout;
use crate::plan::under_way::gauge_spread;

/// Off sealed roads the fuel is checked at least this often.
const STEP: Kilometres = Kilometres::new(50.0);
/// A check nearer to a place than this is that of the place.
const CLEAR: Kilometres = Kilometres::new(10.0);
/// A point nearer than this to another check has none of its own: it is rounded to whole kilometres anyway.
const SAME: Kilometres = Kilometres::new(1.0);

/// The checks of a trip in driving order, as legs and parts of them.
pub(super) fn points(facts: &TripFacts<'_>, besides: &[Kilometres]) -> Vec<Point> {
    let legs = &facts.trip.legs;
    let mut points: Vec<Point> = Vec::new();
    let mut at = Kilometres::ZERO;
    let mut unsealed_since = None;
    for (leg, distance) in facts.distances.iter().copied().enumerate() {
        let (from, to) = (at, at + distance);
        at = to;
        let since = if legs[leg].surface() == Surface::Sealed {
            unsealed_since = None;
            None
        } else {
            Some(*unsealed_since.get_or_insert(from))
        };
        if leg < facts.from() {
            continue;
        }
        let mut on_leg: Vec<Kilometres> = since
            .map(|since| marks(since, from, to).collect())
            .unwrap_or_default();
        let own = besides.iter().copied();
        for km in own.filter(|&km| km > from + SAME && km < to - SAME) {
            if on_leg.iter().all(|&mark| (mark - km).abs() > SAME) {
                on_leg.push(km);
            }
        }
        on_leg.sort_by(|a, b| a.get().total_cmp(&b.get()));
        let part = |km: Kilometres| (leg, Share::new((km - from) / distance));
        points.extend(on_leg.into_iter().map(part));
        // After a rest stop the fuel is that of the arrival.
        let is_rest = distance <= Kilometres::ZERO && leg > facts.from();
        if leg + 1 < legs.len() && !is_rest {
            points.push((leg, Share::new(1.0)));
        }
    }
    points
}

/// Every fifty kilometres since the road was last sealed, on one leg and clear of its ends.
fn marks(since: Kilometres, from: Kilometres, to: Kilometres) -> impl Iterator<Item = Kilometres> {
    let first = ((from - since) / STEP).floor();
    (1..)
        .map(move |step| since + STEP * (first + f64::from(step)))
        .take_while(move |&at| at < to - CLEAR)
        .filter(move |&at| at > from + CLEAR)
}

/// The route with its checks.
pub(super) fn route(
    facts: &TripFacts<'_>,
    loadout: &Loadout,
    relied_on: &[bool],
    points: Vec<Point>,
) -> CheckRoute {
    let conditions = loadout.conditions(facts);
    CheckRoute {
        points,
        by_gauge: Vec::new(),
        gauge: gauge_spread(&facts.trip.vehicle),
        from: facts.from(),
        full: loadout.full,
        at_start: conditions.start_tank + conditions.start_cans,
        back: loadout.return_legs(facts),
        refuge: confirmed_refuges(facts, relied_on),
        to_fuel: loadout.detours(facts),
        aside: loadout
            .detour_to_route(facts)
            .map(|back| (facts.from(), back)),
    }
}

/// Where a trip can safely end or begin anew: confirmed, unlimited fuel that is relied on. At the start one sees what
/// there is.
fn confirmed_refuges(facts: &TripFacts<'_>, relied_on: &[bool]) -> Vec<bool> {
    let last = relied_on.len() - 1;
    let unconfirmed: Vec<bool> = (0..=last)
        .map(|place_number| {
            let fuel = facts.trip.place(place_number).fuel;
            let on_the_way = place_number > 0 && place_number < last;
            on_the_way && fuel.is_some_and(|fuel| fuel.chance() < Share::new(1.0))
        })
        .collect();
    refuges(facts, relied_on, &unconfirmed, Share::new(1.0))
}

/// Where the fuel is checked besides: at the turn-back points, and where it is best decided.
pub(super) fn besides(
    facts: &TripFacts<'_>,
    driving: (&Problem, &Need),
    (drawn, driven): (&Drawn, &FirstDriven),
    target: Share,
) -> Vec<Kilometres> {
    let km = kilometres(facts);
    let length = |leg: usize| facts.distances[leg];
    let best = driven.card().best_decisions(drawn, driving, length);
    let best = best
        .into_iter()
        .map(|(leg, part)| km[leg] + facts.distances[leg] * part.get());
    let turn_backs = turn_backs(facts, driving, (drawn, driven), target);
    turn_backs.into_iter().flatten().chain(best).collect()
}

/// A gauge that is off may turn back so many more trips than the target allows for.
const BY_GAUGE: f64 = 0.02;

/// The share of the trips that the checks may turn back, read by a gauge.
pub(super) fn turned_back_at_most(target: Share) -> Share {
    Share::new(1.0 - target.get() + BY_GAUGE)
}

/// The kilometre of each place.
fn kilometres(facts: &TripFacts<'_>) -> Vec<Kilometres> {
    let mut km = vec![Kilometres::ZERO];
    for &distance in &facts.distances {
        km.push(km[km.len() - 1] + distance);
    }
    km
}

/// The stages of a plan, each by its first and last place: the runs between fuel stops that it uses.
pub(in crate::plan) fn stages(facts: &TripFacts<'_>, need: &Need) -> Vec<(usize, usize)> {
    let n = facts.distances.len();
    let first = facts.from();
    let mut bounds: Vec<usize> = (first..n)
        .filter(|&place_number| place_number == first || need.at_fuel_stop[place_number].is_some())
        .collect();
    bounds.push(n);
    bounds.windows(2).map(|ends| (ends[0], ends[1])).collect()
}

/// The turn-back point of each stage: the last kilometre from which the target share of all simulated trips could
/// return with the reserve intact. `None` if there is none.
pub(in crate::plan) fn turn_backs(
    facts: &TripFacts<'_>,
    (problem, need): (&Problem, &Need),
    (drawn, driven): (&Drawn, &FirstDriven),
    target: Share,
) -> Vec<Option<Kilometres>> {
    let refuge = &driven.card().checks().route().refuge;
    let stages = stages(facts, need);
    last_kilometres(facts, problem, (drawn, driven), refuge, &stages, target)
}

/// The last kilometre of a stage from which an unconfirmed, unlimited fuel stop behind could be reached likewise, and
/// that stop, a place number; `None` if none is nearer than the refuge.
pub(in crate::plan) fn unconfirmed_turn_back(
    facts: &TripFacts<'_>,
    problem: &Problem,
    simulated: (&Drawn, &FirstDriven),
    stage: (usize, usize),
    target: Share,
) -> Option<(usize, Kilometres)> {
    let refuge = &simulated.1.card().checks().route().refuge;
    let (from, to) = stage;
    let place_number = (from.max(1)..to).rev().find(|&place_number| {
        let fuel = facts.trip.place(place_number).fuel;
        !refuge[place_number]
            && fuel.is_some_and(|fuel| {
                fuel.is_unlimited()
                    && fuel.chance() > Share::ZERO
                    && fuel.detour() <= Kilometres::ZERO
            })
    })?;
    let mut refuge = refuge.clone();
    refuge[place_number] = true;
    let found = last_kilometres(
        facts,
        problem,
        simulated,
        &refuge,
        &[(place_number, to)],
        target,
    );
    Some((place_number, found.first().copied().flatten()?))
}

fn last_kilometres(
    facts: &TripFacts<'_>,
    problem: &Problem,
    (drawn, driven): (&Drawn, &FirstDriven),
    refuge: &[bool],
    stages: &[(usize, usize)],
    target: Share,
) -> Vec<Option<Kilometres>> {
    let km = kilometres(facts);
    let route = driven.card().checks().route();
    let ways = Returns {
        refuge,
        ..route.returns(problem, &drawn.world().legs)
    };
    // Where the rules count on turning back, trips without fuel are judged by themselves.
    let at_stops = match facts.trip.rules().unconfirmed_stops() {
        UnconfirmedStops::Skip => AtStops::AsDrawn,
        UnconfirmedStops::TurnBack => AtStops::Fuel,
    };
    ways.turn_backs(drawn, (driven, at_stops), stages, &km, target)
}
