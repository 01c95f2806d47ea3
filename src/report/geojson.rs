//! The plan as `GeoJSON` (RFC 7946), for a map program.
//!
//! One collection: a line for each leg with what the plan has of it, and a point for each place and
//! for where to decant, where to turn back, where the fuel falls below the reserve or runs dry. Positions
//! are longitude, latitude and, where known, height; a line over the antimeridian is cut there, as the RFC
//! requires. Figures are metric and named with their unit, as in the JSON report.
//!
//! What is imported again: the start and the legs as the trip states them (`trip_start`, `trip_leg`), their tracks
//! from the lines. A leg of which no place has a position has no geometry, but is there. Vehicle, load, rules,
//! what-ifs and log stay in the trip file.

use serde_json::{Value, json};

use super::places::{MapPoint, points};
use super::{Case, Mapped, json};
use crate::model::geodesic::wrapped;
use crate::model::route::Leg;
use crate::model::track::Point;
use crate::plan::{Plan, PlannedLeg};
use crate::present::name::plain;
use crate::present::number::Units;
use crate::present::route_line::{LegLine, RouteLine};
use crate::present::under_way::return_title;
use crate::present::verdict;

/// The file; `None` if no place has a position.
pub fn file(case: Case<'_>, units: Units) -> Option<Mapped> {
    let plan = case.shown();
    let (points, unplaced) = points(plan, units);
    if points.is_empty() {
        return None;
    }
    let route = RouteLine::new(plan);
    let mut features: Vec<Value> = plan
        .legs
        .iter()
        .map(|leg| leg_feature(plan, leg, route.leg(leg.n).as_ref()))
        .collect();
    let mut places: Vec<Value> = points.iter().map(point_feature).collect();
    if route.place(0).is_none() {
        let name = plain(&plan.trip.start.name);
        places.insert(
            0,
            feature(&Value::Null, &json!({ "kind": "place", "name": name })),
        );
    }
    places[0]["properties"]["trip_start"] = json!(plan.trip.start);
    features.extend(places);
    let mut document = json!({
        "type": "FeatureCollection",
        "creator": "drystage",
        "name": plan.trip.name,
        "changes": case.changes(),
        "verdict": verdict::sentence(plan, units),
        "features": features,
    });
    if let Some(notice) = &plan.trip.notice {
        document["notice"] = json!(notice);
    }
    if let Some(title) = return_title(case.plan) {
        document["returns"] = json!(title);
    }
    Some(Mapped {
        text: json::written(&document),
        unplaced,
    })
}

fn feature(geometry: &Value, properties: &Value) -> Value {
    json!({ "type": "Feature", "geometry": geometry, "properties": properties })
}

fn leg_feature(plan: &Plan, leg: &PlannedLeg, line: Option<&LegLine<'_>>) -> Value {
    let mut runs: Vec<Vec<Value>> = Vec::new();
    for line in line.iter().flat_map(|line| line.lines.iter()) {
        runs.extend(cut_at_antimeridian(line.points()));
    }
    // A line has two positions at least.
    for run in &mut runs {
        if let [one] = run.as_slice() {
            run.push(one.clone());
        }
    }
    let geometry = match runs.as_slice() {
        [] => Value::Null,
        [one] => json!({ "type": "LineString", "coordinates": one }),
        several => json!({ "type": "MultiLineString", "coordinates": several }),
    };
    let stated = &plan.trip.legs[leg.n - 1];
    let without_track = Leg {
        track: None,
        ..stated.clone()
    };
    let mut properties = json!({
        "kind": "leg",
        "leg": leg.n,
        "day": leg.day,
        "from": leg.from,
        "to": leg.to,
        "is_track": line.is_some_and(|line| line.is_track),
        "surface": leg.surface,
        "sand_share": stated.sand_share(),
        "dune_share": stated.dune_share(),
        "low_range_share": stated.low_range_share(),
        "distance_km": leg.distance,
        "fuel_l": leg.fuel,
        "l_per_100km": leg.rate,
        "start_l": leg.start,
        "end_l": leg.end,
        "reserve_l": leg.reserve,
        "below_reserve": leg.below_reserve,
        "note": stated.note,
        "trip_leg": without_track,
    });
    if let Some(properties) = properties.as_object_mut() {
        properties.retain(|_, value| !value.is_null());
    }
    feature(&geometry, &properties)
}

fn point_feature(point: &MapPoint) -> Value {
    let position = Point::new(point.at, point.height);
    feature(
        &json!({ "type": "Point", "coordinates": coordinates(&position) }),
        &json!({
            "kind": point.words[0],
            "name": plain(&point.name),
            "description": point.description,
            "at_km": point.km,
            "on_board_l": point.on_board,
        }),
    )
}

fn coordinates(point: &Point) -> Value {
    let lon = wrapped(point.lon);
    match point.height {
        Some(height) => json!([lon, point.lat, height]),
        None => json!([lon, point.lat]),
    }
}

/// The line in pieces that do not cross the antimeridian, each side ending on it (RFC 7946, 3.1.9).
fn cut_at_antimeridian(points: &[Point]) -> Vec<Vec<Value>> {
    let mut runs = vec![Vec::new()];
    let mut before: Option<&Point> = None;
    for point in points {
        if let Some(from) = before
            && let Some((end, begin)) = crossing(from, point)
        {
            if let Some(run) = runs.last_mut() {
                run.push(end);
            }
            runs.push(vec![begin]);
        }
        if let Some(run) = runs.last_mut() {
            run.push(coordinates(point));
        }
        before = Some(point);
    }
    runs
}

/// Where a step crosses the antimeridian: the end of the one side, the beginning of the other.
fn crossing(from: &Point, to: &Point) -> Option<(Value, Value)> {
    const HALF: f64 = 180.0;
    let (a, b) = (wrapped(from.lon).get(), wrapped(to.lon).get());
    if (b - a).abs() <= HALF {
        return None;
    }
    let side = HALF.copysign(a);
    // The step goes on to where `to` would be without the seam.
    let beyond = b + 2.0 * side;
    let share = if (beyond - a).abs() > 0.0 {
        (side - a) / (beyond - a)
    } else {
        0.0
    };
    // Rounding must not lead past either end, which may be a pole.
    let lat = (from.lat.get() + (to.lat - from.lat).get() * share).clamp(
        from.lat.get().min(to.lat.get()),
        from.lat.get().max(to.lat.get()),
    );
    Some((json!([side, lat]), json!([-side, lat])))
}
