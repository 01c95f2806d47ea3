//! How fast a track was driven and where it halted, from the time stamps of its points.
//!
//! Stamps that do not go forward are passed over: of all stamps the longest run that only goes forward is
//! taken. A halt is where the track keeps within [`WITHIN`] of one place for [`HALT`] or longer, however its
//! points jump about there; two that are nearly one are one. What is between the first and the last point of
//! a halt is receiver noise and no way, so those points go; but not where the whole line is so slow that
//! creeping cannot be distinguished from a halt. Where the stamps are far apart nobody knows
//! whether the vehicle halted: such gaps, steps too slow for driving, and leaps that no vehicle drives, count
//! neither as way nor as time.

use schemars::JsonSchema;
use serde::Serialize;

use super::plane::Plane;
use crate::io::moment::Moment;
use crate::io::reading::Line;
use crate::model::geodesic;
use crate::model::route::Position;
use crate::model::track::Point;
use crate::quantity::{Degrees, Hours, Kilometres, KilometresPerHour, Metres, Minutes};

/// How far a receiver at rest strays. Common practice, no source; tens of metres under trees and in yards.
const WITHIN: Metres = Metres::new(50.0);
/// Shortest halt that is reported.
const HALT: Hours = Hours::new(3.0 / 60.0);
/// A recorder that sleeps while the vehicle is parked may miss so much way before and behind.
const ASLEEP: Metres = Metres::new(500.0);
/// Slower than this from one stamp to the next is a halt, too short to be shown. Common practice, no source.
const STANDING: KilometresPerHour = KilometresPerHour::new(2.0);
/// Slower than this in the mean may have been on foot.
pub(super) const SLOWEST: KilometresPerHour = KilometresPerHour::new(10.0);
/// From stamps farther apart it is not known how the way was driven.
const GAP: Hours = Hours::new(10.0 / 60.0);
/// Faster than this is a leap of the receiver.
const LEAP: KilometresPerHour = KilometresPerHour::new(200.0);
/// Stamps nearer to each other are one for the search for halts, which bounds its work.
const DENSEST: Hours = Hours::new(1.0 / 3600.0);

/// A place where the track stood.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Halt {
    /// Way from the line's first point.
    pub km: Kilometres,
    /// Degrees north.
    pub lat: Degrees,
    /// Degrees east.
    pub lon: Degrees,
    /// Duration of the halt.
    pub minutes: Minutes,
}

/// A line with time stamps, what happened at halts taken out.
pub(super) struct Timed {
    /// The points that are left.
    pub(super) line: Line,
    /// Halts in driving order.
    pub(super) halts: Vec<Halt>,
    /// Way that the receiver strayed at halts, and that is in the line no more.
    pub(super) strayed: Metres,
    /// Stamps that do not go forward.
    pub(super) backward: usize,
    /// For each halt its first point in the line.
    pub(super) halt_points: Vec<usize>,
    moves: Vec<Move>,
}

/// A stage between two stamps that was driven.
#[derive(Clone, Copy)]
struct Move {
    from: Metres,
    to: Metres,
    time: Hours,
}

/// A point with a stamp.
#[derive(Clone, Copy)]
struct Fix {
    point: usize,
    at: Moment,
}

/// Way and time of what was driven.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Driven {
    pub(super) way: Metres,
    pub(super) time: Hours,
}

impl Driven {
    /// The mean speed, where anything was driven.
    pub(super) fn speed(self) -> Option<KilometresPerHour> {
        (self.time > Hours::ZERO).then(|| Kilometres::from(self.way) / self.time)
    }
}

impl Timed {
    /// Looks at the stamps of a line; `None` if fewer than two points have one.
    pub(super) fn from_line(line: &Line) -> Option<Self> {
        let (fixes, backward) = forward(line);
        if fixes.len() < 2 {
            return None;
        }
        let standing = standing(&line.points, &fixes);
        let driven = Self::walk(line, &fixes, &standing, true, backward);
        let whole = driven.driven(Metres::ZERO, Metres::new(f64::INFINITY));
        let is_slow = whole.speed().is_none_or(|speed| speed < SLOWEST);
        Some(if is_slow && !standing.is_empty() {
            Self::walk(line, &fixes, &standing, false, backward)
        } else {
            driven
        })
    }

    /// Goes along a line and adds up what was driven; with `thin` without the points within halts.
    fn walk(
        line: &Line,
        fixes: &[Fix],
        standing: &[(usize, usize)],
        thin: bool,
        backward: usize,
    ) -> Self {
        let mut timed = Self {
            line: Line::new(line.kind, line.segment),
            halts: Vec::new(),
            strayed: Metres::ZERO,
            backward,
            halt_points: Vec::new(),
            moves: Vec::new(),
        };
        timed.line.name.clone_from(&line.name);
        let mut standing = standing
            .iter()
            .map(|&(first, last)| (fixes[first], fixes[last]))
            .peekable();
        let mut fixes = fixes.iter().peekable();
        let mut along = Metres::ZERO;
        let mut there: Option<Position> = None;
        let mut last_fix: Option<(Moment, Metres)> = None;
        // The last point of the halt that the walk is in.
        let mut until = None;
        for (n, &point) in line.points.iter().enumerate() {
            let here = point.position();
            let mut step = there
                .replace(here)
                .map_or(Metres::ZERO, |before| geodesic::distance(before, here));
            let fix = fixes.next_if(|fix| fix.point == n);
            if let Some(last) = until.filter(|_| thin) {
                timed.strayed += step;
                if n < last {
                    continue;
                }
                step = timed.line.points.last().map_or(Metres::ZERO, |before| {
                    geodesic::distance(before.position(), point.position())
                });
                timed.strayed -= step;
            }
            along += step;
            timed.line.push(point, line.time(n));
            if let Some(last) = until {
                if n == last {
                    // The way over the halt took no time.
                    last_fix = fix.map(|fix| (fix.at, along));
                    until = None;
                }
                continue;
            }
            if let Some(fix) = fix
                && let Some((then, from)) = last_fix.replace((fix.at, along))
            {
                timed.drive(from, along, fix.at.since(then));
            }
            if let Some((first, last)) = standing.next_if(|(first, _)| first.point == n) {
                timed.halts.push(Halt {
                    km: Kilometres::from(along),
                    lat: point.lat,
                    lon: point.lon,
                    minutes: Minutes::from(last.at.since(first.at)),
                });
                timed.halt_points.push(timed.line.points.len() - 1);
                until = Some(last.point);
            }
        }
        timed
    }

    fn drive(&mut self, from: Metres, to: Metres, time: Hours) {
        let speed = Kilometres::from(to - from) / time;
        if time <= GAP && (STANDING..=LEAP).contains(&speed) {
            self.moves.push(Move { from, to, time });
        }
    }

    /// What was driven from one distance along the line to another.
    pub(super) fn driven(&self, from: Metres, to: Metres) -> Driven {
        let first = self.moves.partition_point(|step| step.to <= from);
        let mut driven = Driven::default();
        for step in self.moves[first..].iter().take_while(|step| step.from < to) {
            let inside = step.to.min(to) - step.from.max(from);
            let whole = step.to - step.from;
            let share = inside.part_of(whole).unwrap_or(1.0);
            driven.way += inside;
            driven.time += step.time * share;
        }
        driven
    }

    /// The halts from one distance along the line up to another.
    pub(super) fn halts_between(&self, from: Metres, to: Metres) -> impl Iterator<Item = &Halt> {
        let before = |end: Metres| {
            self.halts
                .partition_point(|halt| Metres::from(halt.km) < end)
        };
        self.halts[before(from)..before(to)].iter()
    }
}

/// The longest run of stamps that only goes forward, and how many stamps are not in it.
fn forward(line: &Line) -> (Vec<Fix>, usize) {
    let stamped = |(point, time): (usize, &Option<Moment>)| time.map(|at| Fix { point, at });
    let all: Vec<Fix> = line.times.iter().enumerate().filter_map(stamped).collect();
    if all.windows(2).all(|pair| pair[0].at < pair[1].at) {
        return (all, 0);
    }
    // Patience sorting: for each length of a run the one that ends earliest, and before each stamp of a run
    // the one that it goes on from.
    let mut ends: Vec<usize> = Vec::new();
    let mut before: Vec<Option<usize>> = Vec::with_capacity(all.len());
    for (n, fix) in all.iter().enumerate() {
        let length = ends.partition_point(|&end| all[end].at < fix.at);
        before.push(length.checked_sub(1).map(|shorter| ends[shorter]));
        if length == ends.len() {
            ends.push(n);
        } else {
            ends[length] = n;
        }
    }
    let mut run = Vec::with_capacity(ends.len());
    let mut next = ends.last().copied();
    while let Some(n) = next {
        run.push(all[n]);
        next = before[n];
    }
    run.reverse();
    let backward = all.len() - run.len();
    (run, backward)
}

/// First and last fix of each halt.
fn standing(points: &[Point], fixes: &[Fix]) -> Vec<(usize, usize)> {
    let mut thinned: Vec<usize> = Vec::new();
    for (n, fix) in fixes.iter().enumerate() {
        if thinned
            .last()
            .is_none_or(|&last| fix.at.since(fixes[last].at) >= DENSEST)
        {
            thinned.push(n);
        }
    }
    let point = |n: usize| &points[fixes[thinned[n]].point];
    let time = |from: usize, to: usize| fixes[thinned[to]].at.since(fixes[thinned[from]].at);
    let mut found: Vec<(usize, usize)> = Vec::new();
    let (mut begin, mut until) = (0, 0);
    while begin + 1 < thinned.len() {
        let here = Plane::at(point(begin).position());
        // A halt lasts at least until this one.
        while until + 1 < thinned.len() && time(begin, until) < HALT {
            until += 1;
        }
        if until > begin + 1 && here.off(point(until)) > WITHIN {
            begin += 1;
            continue;
        }
        let mut end = begin;
        while end + 1 < thinned.len() && time(begin, end) < HALT {
            let off = here.off(point(end + 1));
            let is_asleep = end == begin
                && time(end, end + 1) >= HALT
                && off <= ASLEEP
                && Kilometres::from(off) / time(end, end + 1) < STANDING;
            if off > WITHIN && !is_asleep {
                break;
            }
            end += 1;
        }
        if time(begin, end) < HALT {
            begin += 1;
            continue;
        }
        // From here on it is where it mostly was; the last point before may have been a little off.
        let middle = Plane::at(point(begin + (end - begin).div_ceil(2)).position());
        while end + 1 < thinned.len() && middle.off(point(end + 1)) <= WITHIN {
            end += 1;
        }
        match found.last_mut() {
            Some((first, last))
                if time(*last, begin) < HALT
                    && Plane::at(point(*first).position()).off(point(begin)) <= WITHIN * 2.0 =>
            {
                *last = end;
            }
            _ => found.push((begin, end)),
        }
        begin = end + 1;
    }
    let of_thinned = |(first, last): (usize, usize)| (thinned[first], thinned[last]);
    found.into_iter().map(of_thinned).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::io::reading::LineKind;

    /// Metres north of a place in mid-ocean, metres east, and seconds since the first point; no stamp where
    /// there is none.
    fn line(rows: &[(f64, f64, Option<i64>)]) -> Line {
        let mut line = Line::new(LineKind::Track, 1);
        for &(north, east, seconds) in rows {
            let point = Point {
                lat: Degrees::new(-48.0 + north / 111_194.93),
                lon: Degrees::new(-130.0 + east / 74_400.0),
                height: None,
            };
            let time = seconds.map(|seconds| {
                let (day, seconds) = (1 + seconds.div_euclid(86_400), seconds.rem_euclid(86_400));
                let (hour, minute, second) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
                Moment::parse(&format!(
                    "2020-02-{day:02}T{hour:02}:{minute:02}:{second:02}Z"
                ))
                .expect("a moment")
            });
            line.push(point, time);
        }
        line
    }

    /// 20 m/s is 72 km/h; a point a second, from `from` metres on.
    fn drive(from: i32, seconds: i64, start: i64) -> impl Iterator<Item = (f64, f64, Option<i64>)> {
        (0..seconds).map(move |n| {
            let north = f64::from(from) + 20.0 * n as f64;
            (north, 0.0, Some(start + n))
        })
    }

    fn whole(timed: &Timed) -> Driven {
        timed.driven(Metres::ZERO, Metres::new(1e9))
    }

    #[test]
    fn a_drive_with_a_halt_in_it() {
        // 2 km, half an hour of noise of ±30 m, 2 km.
        let noise = (0..1800_i64).map(|n| {
            let east = 30.0 * ((n * 7919 % 100) as f64 / 50.0 - 1.0);
            let north = 2000.0 + 20.0 * ((n * 104_729 % 100) as f64 / 50.0 - 1.0);
            (north, east, Some(100 + n))
        });
        let rows: Vec<_> = drive(0, 100, 0)
            .chain(noise)
            .chain(drive(2000, 101, 1900))
            .collect();
        let timed = Timed::from_line(&line(&rows)).expect("times");
        assert_eq!(timed.halts.len(), 1, "{:?}", timed.halts);
        let halt = &timed.halts[0];
        assert!((halt.minutes.get() - 30.0).abs() < 0.2, "{halt:?}");
        assert!((halt.km.get() - 2.0).abs() < 0.06, "{halt:?}");
        let speed = whole(&timed).speed().expect("driven").get();
        assert!((speed / 72.0 - 1.0).abs() < 0.02, "{speed}");
        assert!(timed.strayed.get() > 30_000.0, "{:?}", timed.strayed);
        assert!(timed.line.points.len() < 210);
        let length: Metres = timed
            .line
            .points
            .windows(2)
            .map(|pair| geodesic::distance(pair[0].position(), pair[1].position()))
            .sum();
        assert!((length.get() - 4000.0).abs() < 80.0, "{length:?}");
    }

    #[test]
    fn a_recorder_that_sleeps_stood_and_one_that_was_off_says_nothing() {
        let far = |rows: &[(f64, f64, Option<i64>)]| Timed::from_line(&line(rows)).expect("times");
        let rows: Vec<_> = drive(0, 60, 0).chain(drive(1300, 60, 7260)).collect();
        let slept = far(&rows);
        assert_eq!(slept.halts.len(), 1);
        assert!(
            (slept.halts[0].minutes.get() - 120.0).abs() < 0.1,
            "{:?}",
            slept.halts
        );
        let rows: Vec<_> = drive(0, 60, 0).chain(drive(60_000, 60, 7260)).collect();
        let off = far(&rows);
        assert_eq!(off.halts, []);
        let driven = whole(&off);
        assert!(
            (driven.way.get() - 2.0 * 59.0 * 20.0).abs() < 10.0,
            "{driven:?}"
        );
        assert!((driven.speed().expect("driven").get() - 72.0).abs() < 0.5);
    }

    #[test]
    fn stamps_that_do_not_go_forward_and_leaps_are_passed_over() {
        let mut rows: Vec<_> = drive(0, 300, 0).collect();
        rows[50].2 = Some(49);
        rows[100].2 = Some(0);
        rows[150].2 = Some(500_000);
        rows[200].2 = None;
        rows[250].1 = 5000.0;
        let timed = Timed::from_line(&line(&rows)).expect("times");
        assert_eq!(timed.backward, 3);
        assert_eq!(timed.halts, []);
        let speed = whole(&timed).speed().expect("driven").get();
        assert!((speed - 72.0).abs() < 0.5, "{speed}");
        let same: Vec<_> = (0..50)
            .map(|n| (f64::from(n) * 20.0, 0.0, Some(7)))
            .collect();
        assert!(Timed::from_line(&line(&same)).is_none());
    }

    #[test]
    fn a_part_of_the_way_has_its_part_of_the_time() {
        let slow = (0..200_i64).map(|n| (2000.0 + 5.0 * n as f64, 0.0, Some(100 + n)));
        let rows: Vec<_> = drive(0, 100, 0).chain(slow).collect();
        let timed = Timed::from_line(&line(&rows)).expect("times");
        let speed = |from: f64, to: f64| {
            let driven = timed.driven(Metres::new(from), Metres::new(to));
            driven.speed().expect("driven").get()
        };
        assert!((speed(0.0, 1010.0) - 72.0).abs() < 0.3);
        assert!((speed(2100.0, 2903.0) - 18.0).abs() < 0.1);
        assert_eq!(
            timed
                .halts_between(Metres::ZERO, Metres::new(3000.0))
                .count(),
            0
        );
    }
}
