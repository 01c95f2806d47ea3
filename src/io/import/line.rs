//! A line cut into legs, and what each leg states of it.

use serde::Serialize;
use serde_json::{Map, Value};

use super::snap::Pass;
use super::stop::Stop;
use super::thin::flat;
use crate::model::survey::Profile;
use crate::model::track::Point;
use crate::model::{field, geodesic};
use crate::quantity::{Grade, Kilometres, Metres, Share};

/// Legs of a track are no shorter than this.
pub(super) const SHORTEST_LEG: Metres = Metres::new(50.0);
/// A climb gentler than this cannot be told from level.
const LEAST_GRADE: Grade = Grade::new(0.005);

/// Which passes name the ends of a line and which lie between.
pub(super) struct Ends {
    pub(super) first: Option<Pass>,
    pub(super) last: Option<Pass>,
    pub(super) between: Vec<Pass>,
}

impl Ends {
    pub(super) fn of(passes: &[Pass], whole: Metres, within: Metres) -> Self {
        let mut ends = Self {
            first: None,
            last: None,
            between: Vec::new(),
        };
        for &pass in passes {
            let (before, after) = (pass.along, whole - pass.along);
            if before <= within && before <= after {
                // The nearest to the end, not to the line.
                if ends.first.is_none() {
                    ends.first = Some(pass);
                }
            } else if after <= within {
                ends.last = Some(pass);
            } else if ends
                .between
                .last()
                .is_none_or(|last| pass.along - last.along >= SHORTEST_LEG)
            {
                ends.between.push(pass);
            }
        }
        ends
    }
}

/// Where a leg ends on its line.
#[derive(Clone, Copy)]
pub(super) struct Cut<'a> {
    pub(super) after: usize,
    pub(super) share: Share,
    pub(super) along: Metres,
    pub(super) stop: Stop<'a>,
}

impl<'a> Cut<'a> {
    pub(super) fn at(pass: &Pass, stop: Stop<'a>) -> Self {
        Self {
            after: pass.after,
            share: Share::new(pass.share),
            along: pass.along,
            stop,
        }
    }

    /// The point of the line; its height lies between those of its neighbours.
    pub(super) fn point(&self, points: &[Point]) -> Point {
        let (from, to) = (&points[self.after], &points[self.after + 1]);
        let at = geodesic::between(from.position(), to.position(), self.share);
        let height = match (from.height, to.height) {
            (Some(low), Some(high)) => Some(low + (high - low) * self.share.get()),
            _ => None,
        };
        Point {
            lon: at.lon,
            lat: at.lat,
            height,
        }
    }
}

/// Cuts at every multiple of a distance.
pub(super) fn every(points: &[Point], whole: Metres, distance: Metres) -> Vec<Cut<'static>> {
    let mut cuts = Vec::new();
    let mut along = Metres::ZERO;
    let mut next = distance;
    for (after, pair) in points.windows(2).enumerate() {
        let step = geodesic::distance(pair[0].position(), pair[1].position());
        while along + step >= next && next + SHORTEST_LEG <= whole {
            cuts.push(Cut {
                after,
                share: Share::new(((next - along) / step).clamp(0.0, 1.0)),
                along: next,
                stop: Stop::default(),
            });
            next += distance;
        }
        along += step;
    }
    cuts
}

/// A leg that states what was measured on it, as far as the trip file admits that; and what it does not admit.
pub(super) fn measured_leg(
    name: &str,
    ends_at: &Point,
    profile: &Profile,
    stop: &Stop,
) -> (Map<String, Value>, Vec<&'static str>) {
    let mut leg = stated(&[("to", name)]);
    put_position(&mut leg, ends_at);
    let km = rounded(Kilometres::from(profile.length).get(), 1e3);
    put(&mut leg, "distance_km", km);
    if let Some(climbed) = &profile.climbed {
        let (up, down) = (tenth(climbed.ascent), tenth(climbed.descent));
        put(&mut leg, "ascent_m", up);
        put(&mut leg, "descent_m", down);
        let grades = [
            (up, profile.ascent_grade()),
            (down, profile.descent_grade()),
        ];
        for (key, grade) in ["ascent_grade", "descent_grade"]
            .into_iter()
            .zip(fitting(grades, km))
        {
            if let Some(grade) = grade {
                put(&mut leg, key, grade);
            }
        }
    }
    if let Some(altitude) = profile.mean_altitude {
        put(&mut leg, "mean_altitude_m", tenth(altitude));
    }
    stop.put(name, &mut leg);
    let mut refused = Vec::new();
    for key in [
        "ascent_m",
        "descent_m",
        "ascent_grade",
        "descent_grade",
        "mean_altitude_m",
    ] {
        let kind = field::field(&format!("/legs/*/{key}")).map(|field| field.kind);
        if let (Some(value), Some(kind)) = (leg.get(key), kind)
            && !kind.admits(value)
        {
            leg.remove(key);
            refused.push(key);
        }
    }
    // Without its grade a climb may not fit the leg any more.
    if refused.contains(&"ascent_grade") || refused.contains(&"descent_grade") {
        for key in ["ascent_m", "descent_m", "ascent_grade", "descent_grade"] {
            leg.remove(key);
        }
    }
    (leg, refused)
}

/// The grades, rounded up and so steep that both climbs fit into `km`; never less than [`LEAST_GRADE`].
fn fitting(climbs: [(Metres, Option<Grade>); 2], km: f64) -> [Option<f64>; 2] {
    let way = |steeper: f64| {
        climbs.map(|(height, grade)| {
            let grade = grade.filter(|_| height > Metres::ZERO)?.get() * steeper;
            Some((grade.max(LEAST_GRADE.get()) * 1e4).ceil() / 1e4)
        })
    };
    let needed_km = |grades: &[Option<f64>; 2]| -> f64 {
        let ways = climbs
            .iter()
            .zip(grades)
            .map(|((height, _), grade)| grade.map_or(0.0, |grade| height.get() / 1000.0 / grade));
        ways.sum()
    };
    let grades = way(1.0);
    let crowding = needed_km(&grades) / km;
    if crowding > 1.0 {
        way(crowding)
    } else {
        grades
    }
}

pub(super) fn stated(texts: &[(&str, &str)]) -> Map<String, Value> {
    texts
        .iter()
        .map(|&(key, text)| (key.to_owned(), text.into()))
        .collect()
}

pub(super) fn put(object: &mut Map<String, Value>, key: &str, value: impl Serialize) {
    let value = serde_json::to_value(value).expect("a text or a finite number");
    object.insert(key.to_owned(), value);
}

pub(super) fn put_position(object: &mut Map<String, Value>, point: &Point) {
    let point = flat(point);
    put(object, "lat", point.lat);
    put(object, "lon", point.lon);
}

pub(super) fn tenth(height: Metres) -> Metres {
    Metres::new(rounded(height.get(), 10.0))
}

/// A number to so many parts of one; never a negative zero.
pub(super) fn rounded(number: f64, parts: f64) -> f64 {
    (number * parts).round() / parts + 0.0
}
