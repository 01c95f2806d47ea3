//! Legs of a route, whose points are places, and tracks that follow some of them.
//!
//! A file may hold a route through all places, and tracks of some of its legs: each track then runs from
//! one point of the route to the next. Such a route shows how the way goes on where no track does; its
//! legs take what was measured on their tracks.

use super::Options;
use super::legs::{Draft, TooManyLegs};
use super::line::measured_leg;
use super::snap;
use super::stop::Stop;
use super::thin::simplified;
use super::trip_line::TripLine;
use crate::io::reading::{Line, Waypoint, Words};
use crate::model::geodesic;
use crate::model::route::{Leg, Position};
use crate::model::survey::{Profile, Survey};
use crate::quantity::Metres;

/// For each leg of the route the track that runs from its first point to its second; `None` if any of
/// the tracks follows no leg, or they do so in another order.
pub(super) fn followed<'a>(
    route: &Line,
    tracks: &[&'a Line],
    within: Metres,
) -> Option<Vec<Option<&'a Line>>> {
    let mut legs = vec![None; route.points.len().checked_sub(1)?];
    let mut next = 0;
    for &track in tracks {
        let (begins, ends) = (
            track.points.first()?.position(),
            track.points.last()?.position(),
        );
        let near = |a: Position, b: Position| geodesic::distance(a, b) <= within;
        let leg = (next..legs.len()).find(|&leg| {
            near(route.points[leg].position(), begins)
                && near(route.points[leg + 1].position(), ends)
        })?;
        legs[leg] = Some(track);
        next = leg + 1;
    }
    Some(legs)
}

/// The words of a route's point, and what a waypoint there adds to them.
fn joined(own: Words, more: &Words) -> Words {
    // A stop that the route itself has is as the route states it.
    let is_proposed = own.is_proposed || more.is_proposed && !own.tells_fuel();
    let or = |own: Option<String>, more: &Option<String>| own.or_else(|| more.clone());
    Words {
        name: or(own.name, &more.name),
        symbol: or(own.symbol, &more.symbol),
        kind: or(own.kind, &more.kind),
        description: or(own.description, &more.description),
        is_proposed,
    }
}

impl Draft<'_> {
    /// Its points are places. Where a track follows a leg, the leg states what was measured on it.
    pub(super) fn add_route(
        &mut self,
        way: &TripLine,
        followed: &[Option<&Line>],
        (waypoints, on_way): (&[&Waypoint], &snap::Waypoints),
        met: &mut [bool],
        options: &Options,
    ) -> Result<(), TooManyLegs> {
        let line = way.line();
        self.room_for(line.points.len())?;
        if !followed.iter().all(Option::is_some) || followed.is_empty() {
            self.notes.add("A route has no distances. The plan uses straight lines between its points, with an allowance for bends".to_owned());
        }
        let title = way.title();
        let near = on_way.nearest_to_each(&line.points, options.snap_within);
        let mut words = line.words.iter().peekable();
        let mut survey = Survey::new(options.climb_threshold);
        for (n, point) in line.points.iter().enumerate() {
            let own = words.next_if(|(index, _)| *index == n);
            let mut here = own.map(|(_, words)| words.clone()).unwrap_or_default();
            if let Some(waypoint) = near[n] {
                met[waypoint] = true;
                here = joined(here, &waypoints[waypoint].words);
            }
            let stop = Stop {
                words: Some(&here),
                fuel_stop: None,
            };
            survey.push(point);
            let profile = survey.cut();
            let name = self.names.of_place(&here, point.position(), || {
                format!("{title}, point {}", n + 1)
            });
            let Some(before) = n.checked_sub(1) else {
                self.go_to(point, &name, &stop, options);
                continue;
            };
            if let Some(track) = followed.get(before).copied().flatten() {
                let profile = Profile::from_points(&track.points, options.climb_threshold);
                let mut leg = self.checked_leg(&name, point, &profile, &stop);
                let (first, last) = (track.points[0], track.points[track.points.len() - 1]);
                leg.track = Some(simplified(first, &track.points, last));
                self.state_line(&track.points, &mut leg, options);
                self.legs.push(leg);
            } else {
                // The straight line is not the road's length, and its grades are not the road's.
                self.legs.push(Leg {
                    distance_km: None,
                    ascent_grade: None,
                    descent_grade: None,
                    ..measured_leg(&name, point, &profile, &stop).0
                });
            }
            self.at = Some(point.position());
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::io::reading::LineKind;
    use crate::model::track::Point;
    use crate::quantity::Degrees;

    fn line(kind: LineKind, lats: &[f64]) -> Line {
        let point = |&lat: &f64| Point {
            lat: Degrees::new(lat),
            lon: Degrees::new(-130.0),
            height: None,
        };
        Line {
            kind,
            name: None,
            segment: 1,
            points: lats.iter().map(point).collect(),
            times: Vec::new(),
            words: Vec::new(),
            altitudes: None,
        }
    }

    #[test]
    fn tracks_follow_legs_in_order_or_not_at_all() {
        let route = line(LineKind::Route, &[-48.0, -48.5, -49.0, -48.5]);
        let there = line(LineKind::Track, &[-48.5, -48.7, -49.0]);
        let back = line(LineKind::Track, &[-49.0, -48.5]);
        let which = |tracks: &[&Line]| {
            let legs = followed(&route, tracks, Metres::new(250.0))?;
            Some(legs.iter().map(Option::is_some).collect::<Vec<_>>())
        };
        assert_eq!(which(&[&there]), Some(vec![false, true, false]));
        assert_eq!(which(&[&there, &back]), Some(vec![false, true, true]));
        assert_eq!(which(&[&back, &there]), None);
        let through = line(LineKind::Track, &[-48.0, -48.5, -49.0]);
        assert_eq!(which(&[&through]), None);
    }
}
