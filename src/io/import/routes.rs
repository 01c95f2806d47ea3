//! Legs of a route, whose points are places.

use super::Options;
use super::legs::Draft;
use super::line::measured_leg;
use super::snap;
use super::stop::Stop;
use super::thin::simplified;
use super::ways::Way;
use crate::io::reading::{Line, Waypoint, Words};
use crate::model::survey::{Profile, Survey};

/// The words of a route's point, and what a waypoint there says beyond them.
fn joined(own: Words, more: &Words) -> Words {
    let or = |own: Option<String>, more: &Option<String>| own.or_else(|| more.clone());
    Words {
        name: or(own.name, &more.name),
        symbol: or(own.symbol, &more.symbol),
        kind: or(own.kind, &more.kind),
        description: or(own.description, &more.description),
    }
}

impl Draft {
    /// Its points are places. Where a track follows a leg, the leg states what was measured on it.
    pub(super) fn add_route(
        &mut self,
        way: &Way,
        followed: &[Option<&Line>],
        (waypoints, on_way): (&[&Waypoint], &mut snap::Waypoints),
        met: &mut [bool],
        options: &Options,
    ) {
        let line = way.line();
        if !followed.iter().all(Option::is_some) || followed.is_empty() {
            self.notes.add("a route says no distances: the plan takes the straight line between its points and a detour".to_owned());
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
                pump: None,
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
                let profile = Profile::of(&track.points, options.climb_threshold);
                let leg = self.checked_leg(&name, point, &profile, &stop);
                let (first, last) = (track.points[0], track.points[track.points.len() - 1]);
                self.push(leg, Some(simplified(first, &track.points, last)), None);
            } else {
                let (mut leg, _) = measured_leg(&name, point, &profile, &stop);
                for key in ["distance_km", "ascent_grade", "descent_grade"] {
                    leg.remove(key);
                }
                self.push(leg, None, None);
            }
            self.at = Some(point.position());
        }
    }
}
