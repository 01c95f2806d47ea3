//! A line cut into legs, and what each leg states of it.

use super::snap::Pass;
use super::stop::Stop;
use crate::model::route::Leg;
use crate::model::survey::Profile;
use crate::model::track::Point;
use crate::model::{field, geodesic};
use crate::quantity::{Grade, Kilometres, Metres, Share};

/// Legs of a track are no shorter than this.
pub(super) const SHORTEST_LEG: Metres = Metres::new(50.0);
/// A climb gentler than this cannot be distinguished from level.
const LEAST_GRADE: Grade = Grade::new(0.005);

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

    /// The point of the line; its height is between those of its neighbours.
    pub(super) fn point(&self, points: &[Point]) -> Point {
        let (from, to) = (&points[self.after], &points[self.after + 1]);
        let at = geodesic::between(from.position(), to.position(), self.share);
        let height = match (from.height, to.height) {
            (Some(low), Some(high)) => Some(low + (high - low) * self.share.get()),
            _ => None,
        };
        Point::new(at, height)
    }
}

/// Cuts at some distances along a line, in their order.
pub(super) fn at_distances(points: &[Point], distances: &[Metres]) -> Vec<Cut<'static>> {
    let mut cuts = Vec::new();
    let mut along = Metres::ZERO;
    let mut next = distances.iter().copied().peekable();
    for (after, pair) in points.windows(2).enumerate() {
        let step = geodesic::distance(pair[0].position(), pair[1].position());
        while let Some(at) = next.next_if(|at| along + step >= *at) {
            cuts.push(Cut {
                after,
                share: Share::new(((at - along) / step).clamp(0.0, 1.0)),
                along: at,
                stop: Stop::default(),
            });
        }
        along += step;
    }
    cuts
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
) -> (Leg, Vec<&'static str>) {
    let km = rounded(Kilometres::from(profile.length).get(), 1e3);
    let mut leg = stop.leg(name, ends_at);
    leg.distance_km = Some(Kilometres::new(km));
    let mut refused = Vec::new();
    let mut is_admitted = |key: &'static str, value: Option<f64>| {
        let is_admitted = value.is_none_or(|value| admits(&format!("/legs/*/{key}"), value));
        if !is_admitted {
            refused.push(key);
        }
        is_admitted
    };
    if let Some(climbed) = &profile.climbed {
        let (up, down) = (tenth(climbed.ascent), tenth(climbed.descent));
        let climbs = [
            (up, profile.ascent_grade()),
            (down, profile.descent_grade()),
        ];
        let [up_grade, down_grade] = fitting(climbs, km);
        let are_admitted = [
            is_admitted("ascent_m", Some(up.get())),
            is_admitted("descent_m", Some(down.get())),
            is_admitted("ascent_grade", up_grade.map(Grade::get)),
            is_admitted("descent_grade", down_grade.map(Grade::get)),
        ];
        // A climb without its grade may not fit the leg.
        if are_admitted == [true; 4] {
            (leg.ascent_m, leg.descent_m) = (Some(up), Some(down));
            (leg.ascent_grade, leg.descent_grade) = (up_grade, down_grade);
        }
    }
    let altitude = profile.mean_altitude.map(tenth);
    if is_admitted("mean_altitude_m", altitude.map(Metres::get)) {
        leg.mean_altitude_m = altitude;
    }
    (leg, refused)
}

/// Whether the trip file admits a number at a path of the table of fields.
pub(super) fn admits(path: &str, value: f64) -> bool {
    field::field(path).is_some_and(|field| field.kind.admits(&value.into()))
}

/// The grades, rounded up and so steep that both climbs fit into `km`; never less than [`LEAST_GRADE`].
fn fitting(climbs: [(Metres, Option<Grade>); 2], km: f64) -> [Option<Grade>; 2] {
    let grades = |steeper: f64| {
        climbs.map(|(height, grade)| {
            let grade = grade.filter(|_| height > Metres::ZERO)? * steeper;
            let parts = grade.max(LEAST_GRADE).get() * 1e4;
            Some(Grade::new(parts.ceil() / 1e4))
        })
    };
    let needed_km = |(height, grade): (Metres, Option<Grade>)| {
        grade.map_or(0.0, |grade| Kilometres::from(height).get() / grade.get())
    };
    let likely = grades(1.0);
    let heights = climbs.map(|(height, _)| height);
    let needed: f64 = heights.into_iter().zip(likely).map(needed_km).sum();
    if needed > km {
        grades(needed / km)
    } else {
        likely
    }
}

pub(super) fn tenth(height: Metres) -> Metres {
    Metres::new(rounded(height.get(), 10.0))
}

/// A number to so many parts of one; never a negative zero.
pub(super) fn rounded(number: f64, parts: f64) -> f64 {
    (number * parts).round() / parts + 0.0
}
