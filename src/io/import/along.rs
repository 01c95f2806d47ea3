//! Legs along a line whose way is known, and the days on which they are driven.
//!
//! A halt of [`NIGHT`] or longer ends a day. Where such a halt is between places, a place is made there, since a
//! day begins with a leg. Days are stated only where every line has stamps, in the order in which the lines are
//! driven.

use super::legs::{Draft, TooManyLegs};
use super::line::{Cut, SHORTEST_LEG, every, measured_leg, rounded};
use super::map;
use super::pace::Halt;
use super::speeds::LegSpan;
use super::stop::{FuelStopOffTrack, Stop};
use super::thin::simplified;
use super::trip_line::{TripLine, name_of};
use super::{Options, Split};
use crate::io::reading::{LineKind, Waypoint, Words};
use crate::model::route::Leg;
use crate::model::survey::{Profile, Survey};
use crate::model::track::Point;
use crate::quantity::{Hours, Kilometres, Metres, Minutes, Share};

/// Where a line is cut, and what is known of its ends.
pub(super) struct Stops<'a> {
    first: Stop<'a>,
    pub(super) between: Vec<Cut<'a>>,
    last: Stop<'a>,
}

/// Nearer to a place than this, a night is spent there.
const CAMP: Metres = Metres::new(250.0);
/// Shortest halt that is a night. Common practice, no source: a long walk from the vehicle is shorter.
pub(super) const NIGHT: Hours = Hours::new(6.0);

/// Whether a halt is a night.
fn is_night(halt: &Halt) -> bool {
    halt.minutes >= Minutes::from(NIGHT)
}

/// For each way the day on which it begins, from 1, and all nights on it, by their distance along it; nothing
/// where stamps are missing, go back from a way to the next, or show no night.
pub(super) fn days(ways: &[TripLine]) -> Option<Vec<(u32, Vec<Metres>)>> {
    let mut day = 1;
    let mut found = Vec::with_capacity(ways.len());
    let mut last = None;
    for way in ways {
        let (begins, ends) = way.span()?;
        if let Some(before) = last.replace(ends) {
            let rest = begins.since(before);
            if rest < Hours::ZERO {
                return None;
            }
            day += u32::from(rest >= NIGHT);
        }
        let halts = way.timed.as_ref()?.halts.iter();
        let nights = halts.filter(|halt| is_night(halt));
        let nights: Vec<Metres> = nights.map(|halt| Metres::from(halt.km)).collect();
        let first = day;
        day += u32::try_from(nights.len()).ok()?;
        found.push((first, nights));
    }
    (day > 1).then_some(found)
}

/// Puts cuts where a night was spent between places.
fn camps(way: &TripLine, cuts: &mut Vec<Cut>) {
    let Some(timed) = &way.timed else { return };
    let halts = timed.halts.iter().zip(&timed.halt_points);
    for (halt, point) in halts.filter(|(halt, _)| is_night(halt)) {
        let along = Metres::from(halt.km);
        let is_near = |at: Metres| (at - along).abs() < CAMP;
        let at = cuts.partition_point(|cut| cut.along <= along);
        let mut beside = cuts[at.saturating_sub(1)..].iter().take(2);
        let is_at_place =
            is_near(Metres::ZERO) || is_near(way.length) || beside.any(|cut| is_near(cut.along));
        if let Some(after) = point.checked_sub(1).filter(|_| !is_at_place) {
            let cut = Cut {
                after,
                share: Share::new(1.0),
                along,
                stop: Stop::default(),
            };
            cuts.insert(at, cut);
        }
    }
}

impl Draft<'_> {
    /// The legs of a way that begins on a day and has nights at some distances along it, where that is known.
    pub(super) fn add_line(
        &mut self,
        way: &TripLine,
        days: Option<&(u32, Vec<Metres>)>,
        waypoints: &[&Waypoint],
        options: &Options,
    ) -> Result<(), TooManyLegs> {
        let line = way.line();
        if let Some(Split::Every(distance)) = options.split {
            self.room_for_legs(way.length / Metres::from(distance))?;
        }
        self.room_for(days.map_or(0, |(_, nights)| nights.len()))?;
        if line.kind == LineKind::Route {
            self.notes.add(if way.is_drawn() {
                "A route with many points close together was read as a track and measured. Its points are not places".to_owned()
            } else {
                "The length of a route is that of straight lines between its points. The road is longer".to_owned()
            });
        }
        let mut stops = self.stops(way, waypoints, options)?;
        let title = way.title();
        let (first, last) = (line.points[0], line.points[line.points.len() - 1]);
        let name = self.names.of_end(
            stops.first.name_words(),
            first.position(),
            options.snap_within,
            || format!("start of {title}"),
        );
        self.go_to(&first, &name, &stops.first, options);

        if days.is_some() {
            camps(way, &mut stops.between);
        }
        map::cut(way, self.shortest_leg, &mut stops, options);
        let mut cuts = match options.split.unwrap_or(Split::Waypoints) {
            Split::Segments => Vec::new(),
            Split::Waypoints => stops.between,
            Split::Every(distance) => every(&line.points, way.length, Metres::from(distance)),
        };
        cuts.push(Cut {
            after: line.points.len() - 2,
            share: Share::new(1.0),
            along: way.length,
            stop: stops.last,
        });
        self.room_for(cuts.len())?;
        let first = self.legs.len();
        self.add_legs(way, &name, &cuts, options);
        if let Some((day, nights)) = days {
            let mut begins = Metres::ZERO;
            for (leg, cut) in self.legs[first..].iter_mut().zip(&cuts) {
                // A halt is reported a little before or behind the place where it was.
                let slept = nights.partition_point(|night| *night < begins + CAMP);
                let slept = u32::try_from(slept).unwrap_or(u32::MAX);
                leg.day = Some(day.saturating_add(slept));
                begins = cut.along;
            }
        }
        self.along += way.length;
        self.at = Some(last.position());
        if let Some(timed) = &way.timed {
            self.speeds.take_line(timed);
        }
        Ok(())
    }

    /// Where a way meets waypoints, and where it passes fuel stops: at a place that is near, else at one of its own.
    fn stops<'a>(
        &mut self,
        way: &TripLine,
        waypoints: &[&'a Waypoint],
        options: &Options,
    ) -> Result<Stops<'a>, TooManyLegs> {
        let within = options.snap_within;
        let mut stops = Stops {
            first: Stop::default(),
            between: Vec::new(),
            last: Stop::default(),
        };
        for pass in &way.passes {
            let stop = Stop::from_waypoint(waypoints[pass.waypoint]);
            let (before, after) = (pass.along, way.length - pass.along);
            let last = stops.between.last();
            let is_apart = last.is_none_or(|cut| pass.along - cut.along >= SHORTEST_LEG);
            if before <= within && before <= after {
                // The nearest to the end, not to the line.
                stops.first.words = stops.first.words.or(stop.words);
            } else if after <= within {
                stops.last = stop;
            } else if is_apart {
                stops.between.push(Cut::at(pass, stop));
            }
        }
        for pass in &way.fuel_stops {
            self.room_for(stops.between.len())?;
            let fuel_stop = FuelStopOffTrack {
                words: &waypoints[pass.waypoint].words,
                off: pass.off,
            };
            let ends = [
                (Metres::ZERO, &mut stops.first),
                (way.length, &mut stops.last),
            ];
            let at = stops.between.partition_point(|cut| cut.along <= pass.along);
            let places = stops.between[at.saturating_sub(1)..]
                .iter_mut()
                .take(2)
                .map(|cut| (cut.along, &mut cut.stop));
            let nearest = ends
                .into_iter()
                .chain(places)
                .map(|(along, stop)| ((along - pass.along).abs(), stop))
                .min_by(|a, b| a.0.get().total_cmp(&b.0.get()));
            match nearest {
                Some((off, stop)) if off <= within && !stop.has_fuel() => {
                    stop.fuel_stop = Some(fuel_stop);
                }
                Some((off, _)) if off < SHORTEST_LEG => self.notes.add(format!(
                    "`{}` was ignored, because a place beside it already has fuel",
                    name_of(waypoints[pass.waypoint])
                )),
                _ => {
                    let stop = Stop {
                        words: None,
                        fuel_stop: Some(fuel_stop),
                    };
                    stops.between.insert(at, Cut::at(pass, stop));
                }
            }
        }
        Ok(stops)
    }

    /// The legs of a way from the place of that name, from cut to cut; the last cut is its end.
    fn add_legs(&mut self, way: &TripLine, begin: &str, cuts: &[Cut], options: &Options) {
        let line = way.line();
        let nothing = Words::default();
        let mut survey = Survey::new(options.climb_threshold);
        let mut pushed = 0;
        let mut begins = line.points[0];
        let mut from = Metres::ZERO;
        let mut before = begin.to_owned();
        for (n, cut) in cuts.iter().enumerate() {
            let between = &line.points[pushed..=cut.after];
            for point in between {
                survey.push(point);
            }
            let is_end = n + 1 == cuts.len();
            let ends_at = if is_end {
                line.points[line.points.len() - 1]
            } else {
                cut.point(&line.points)
            };
            survey.push(&ends_at);
            let profile = survey.cut();
            let at = ends_at.position();
            let name = match cut.stop.name_words() {
                words if is_end => {
                    let within = options.snap_within;
                    self.names
                        .of_end(words, at, within, || format!("end of {}", way.title()))
                }
                None => {
                    let km = rounded(Kilometres::from(self.along + cut.along).get(), 10.0);
                    self.names.unique(&format!("km {km}"), at)
                }
                words => self
                    .names
                    .of_place(words.unwrap_or(&nothing), at, || "waypoint".to_owned()),
            };
            let mut leg = self.checked_leg(&name, &ends_at, &profile, &cut.stop);
            if let Some(timed) = &way.timed {
                let to = if is_end {
                    Metres::new(f64::INFINITY)
                } else {
                    cut.along
                };
                let part = LegSpan {
                    from,
                    to,
                    length: profile.length,
                    leg: self.legs.len() + 1,
                    begins: &before,
                    ends: &name,
                };
                self.speeds.take_leg(timed, &part, &mut leg, options.units);
            }
            leg.track = Some(simplified(begins, between, ends_at));
            self.state_ground(way, (from, cut.along), &mut leg, options);
            self.legs.push(leg);
            begins = ends_at;
            pushed = cut.after + 1;
            from = cut.along;
            before = name;
        }
    }

    /// A leg with what was measured on it; what cannot be a road's is left out and reported.
    pub(super) fn checked_leg(
        &mut self,
        name: &str,
        ends_at: &Point,
        profile: &Profile,
        stop: &Stop,
    ) -> Leg {
        let (leg, refused) = measured_leg(name, ends_at, profile, stop);
        if !refused.is_empty() {
            self.notes.add(format!(
                "The altitudes before `{name}` are implausible for a road, so these values were not set: {}",
                refused.join(", ")
            ));
        }
        leg
    }
}
