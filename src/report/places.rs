//! Points for a map program or a GPS receiver: places, and what happens between them, each with a name, a
//! kind and a sentence. GPX and GeoJSON both write them.

use std::collections::HashMap;

use crate::model::route::Position;
use crate::plan::{FuelCheck, Plan, Stage};
use crate::present::card;
use crate::present::mark::{Mark, MarkKind};
use crate::present::name::plain;
use crate::present::number::{Toward, Units};
use crate::present::route_line::RouteLine;
use crate::present::strip::{Strip, Supply};
use crate::quantity::{Kilometres, Litres, Metres};

/// The word for a marker in a file, and the name of a symbol that a receiver may have.
const fn words(mark: MarkKind) -> [&'static str; 2] {
    match mark {
        MarkKind::Decant { .. } => ["decant", "Information"],
        MarkKind::TurnBack { .. } => ["turn-back point", "Flag"],
        MarkKind::BelowReserve => ["below reserve", "Caution"],
        MarkKind::BelowMinimum => ["below minimum", "Caution"],
        MarkKind::RunsDry => ["runs out of fuel", "Danger"],
    }
}

/// A point to be shown on a map.
#[derive(Clone, Debug)]
pub(super) struct MapPoint {
    /// The word for what it is, and the name of a symbol.
    pub(crate) words: [&'static str; 2],
    pub(crate) at: Position,
    pub(crate) height: Option<Metres>,
    /// From the start of the trip.
    pub(crate) km: Kilometres,
    pub(crate) name: String,
    /// What to do or to know there.
    pub(crate) description: String,
    /// Usable fuel on board, tank and cans, on arrival.
    pub(crate) on_board: Litres,
}

/// The points of a plan whose position is known, and the names of the others.
pub(super) fn points(plan: &Plan, units: Units) -> (Vec<MapPoint>, Vec<String>) {
    let strip = Strip::from_plan(plan.clone());
    let route = RouteLine::new(plan);
    let mut points: Vec<MapPoint> = Vec::new();
    let mut unplaced = Vec::new();
    let mut met: HashMap<&str, usize> = HashMap::new();
    let checks: HashMap<usize, &FuelCheck> = plan
        .fuel_checks
        .iter()
        .filter_map(|check| Some((check.place_number?, check)))
        .collect();
    for place_number in 0..=plan.legs.len() {
        let stated = plan.trip.place(place_number).name;
        let name = plain(stated).into_owned();
        let Some(at) = route.place(place_number) else {
            unplaced.push(name);
            continue;
        };
        let description = place_description(
            plan,
            place_number,
            checks.get(&place_number).copied(),
            units,
        );
        // A place that is visited again is one point.
        if let Some(&known) = met.get(stated) {
            let both = [points[known].description.as_str(), description.as_str()].join(" ");
            both.trim().clone_into(&mut points[known].description);
            continue;
        }
        met.insert(stated, points.len());
        let place = strip.place(place_number);
        points.push(MapPoint {
            words: match place.supply {
                Supply::None => ["place", "Waypoint"],
                Supply::Counted | Supply::NotCounted => ["fuel stop", "Fuel"],
            },
            at,
            height: (place_number == 0)
                .then_some(plan.trip.start.altitude_m)
                .flatten(),
            km: place.at,
            name,
            description,
            on_board: match place_number.checked_sub(1) {
                Some(leg) => plan.legs[leg].end,
                None => plan.legs.first().map_or(Litres::ZERO, |leg| leg.start),
            },
        });
    }
    for mark in strip.all_marks() {
        let label = mark.label(units);
        match route.at(mark.at) {
            Some(at) => points.push(mark_point(plan, mark, at, label, units)),
            None => unplaced.push(label),
        }
    }
    (points, unplaced)
}

/// What to do at a place, then its fuel check.
fn place_description(
    plan: &Plan,
    place_number: usize,
    check: Option<&FuelCheck>,
    units: Units,
) -> String {
    let mut sentences = Vec::new();
    let stop = plan
        .stops
        .binary_search_by_key(&place_number, |stop| stop.place_number);
    if place_number == 0 {
        sentences.push(card::start_sentence(plan, units));
    } else if let Ok(stop) = stop {
        sentences.push(card::fill_sentence(&plan.stops[stop], plan, units));
    }
    let arriving = place_number.checked_sub(1).map(|leg| plan.legs[leg].end);
    if let Some(litres) = arriving.filter(|litres| *litres >= Litres::ZERO) {
        let expected = units.by_gauge(litres, Toward::Down);
        sentences.push(format!("Expected on arrival: {expected}."));
    }
    if let Some(check) = check {
        let line = card::check_line(check, plan, units);
        if let Some((level, refuge)) = line.turn_back {
            sentences.push(format!("Turn back to {refuge} with less than {level}."));
        }
        sentences.extend(line.says);
        if let Some(needed) = line.needed {
            sentences.push(format!("Needed from here: {needed}."));
        }
    }
    sentences.join(" ")
}

fn mark_point(plan: &Plan, mark: &Mark, at: Position, label: String, units: Units) -> MapPoint {
    let description = match mark.kind {
        MarkKind::Decant { .. } => {
            let next = plan
                .decants
                .partition_point(|decant| decant.at_km < mark.at);
            let decant = plan.decants.get(next);
            let decant = decant.map(|decant| card::decant_sentence(decant, plan, units));
            // A point is read by itself.
            decant.map(|sentence| format!("{sentence} {}", card::DECANT_SAFELY))
        }
        MarkKind::TurnBack { refuge, .. } => {
            let next = |stage: &Stage| stage.from_km + stage.distance < mark.at;
            let next = plan.stages.partition_point(next);
            plan.stages[next..].iter().find_map(|stage| {
                let points = [stage.turn_back, stage.unconfirmed_turn_back];
                let mut points = points.into_iter().flatten();
                let point =
                    points.find(|point| point.at_km == mark.at && point.refuge == refuge)?;
                card::turn_back_sentence(stage, &point, plan, units)
            })
        }
        MarkKind::BelowReserve | MarkKind::BelowMinimum | MarkKind::RunsDry => None,
    };
    let there = plan.on_board_at(mark.at);
    MapPoint {
        words: words(mark.kind),
        at,
        height: None,
        km: mark.at,
        description: description.unwrap_or_else(|| {
            format!("{}: {}.", units.at(mark.at, Toward::Down), mark.kind.name())
        }),
        name: label,
        on_board: there.tank + there.cans,
    }
}
