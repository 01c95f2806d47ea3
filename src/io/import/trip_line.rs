//! A line made ready to be cut: what it did at halts taken out, and the waypoints on and beside it.

use super::Split;
use super::line::Cut;
use super::notes::{Notes, counted};
use super::pace::Timed;
use super::snap::{self, Pass};
use super::stop::Stop;
use crate::io::moment::Moment;
use crate::io::reading::{Line, LineKind, Waypoint};
use crate::model::geodesic;
use crate::model::route::Position;
use crate::model::track::Point;
use crate::quantity::Metres;
use crate::roads::Along;

/// A route with so many points or more ...
const DRAWN_FROM: usize = 20;
/// ... that follow one another this closely in the mean is a drawn line and no list of places. Common
/// practice, no source: programs that draw routes along roads put a point at every bend.
const DRAWN_WITHIN: Metres = Metres::new(500.0);
/// Names of a drawn line's points are those of places where they are at least so far apart in the mean.
const NAMED_FROM: Metres = Metres::new(1000.0);

/// A line that is part of the trip.
pub(super) struct TripLine<'a> {
    original: &'a Line,
    /// Its number among the lines of the files, for one without a name.
    number: usize,
    pub(super) timed: Option<Timed>,
    pub(super) length: Metres,
    /// Waypoints on the line.
    pub(super) passes: Vec<Pass>,
    pub(super) fuel_stops: Vec<Pass>,
    /// What it was driven on, if there is a map.
    pub(super) ground: Option<Along>,
}

impl<'a> TripLine<'a> {
    pub(super) fn new(original: &'a Line, number: usize) -> Self {
        let timed = Timed::from_line(original);
        let mut way = Self {
            original,
            number,
            timed,
            length: Metres::ZERO,
            passes: Vec::new(),
            fuel_stops: Vec::new(),
            ground: None,
        };
        let points = &way.line().points;
        let steps = points
            .windows(2)
            .map(|pair| geodesic::distance(pair[0].position(), pair[1].position()));
        way.length = steps.sum();
        way
    }

    /// The line without what it did at halts.
    pub(super) fn line(&self) -> &Line {
        self.timed
            .as_ref()
            .map_or(self.original, |timed| &timed.line)
    }

    pub(super) fn begin(&self) -> Point {
        self.original.points[0]
    }

    pub(super) fn end(&self) -> Point {
        self.original.points[self.original.points.len() - 1]
    }

    /// First and last time stamp.
    pub(super) fn span(&self) -> Option<(Moment, Moment)> {
        let mut stamps = self.line().times.iter().flatten();
        let first = stamps.next()?;
        Some((*first, *stamps.next_back().unwrap_or(first)))
    }

    /// How it is called where it has to be: by its name and segment.
    pub(super) fn title(&self) -> String {
        let line = self.original;
        let kind = match line.kind {
            LineKind::Track => "track",
            LineKind::Route => "route",
        };
        match &line.name {
            Some(name) if line.segment > 1 => format!("{name}, segment {}", line.segment),
            Some(name) => name.to_string(),
            None => format!("{kind} {}", self.number),
        }
    }

    /// Whether its points are bends of a line; a track's always are.
    pub(super) fn is_drawn(&self) -> bool {
        let points = self.original.points.len();
        self.original.kind == LineKind::Track
            || points >= DRAWN_FROM && self.length < DRAWN_WITHIN * points as f64
    }

    /// The points of a drawn route that have words of their own, as waypoints.
    pub(super) fn named_points(&self) -> Vec<Waypoint> {
        if self.original.kind == LineKind::Track || !self.is_drawn() {
            return Vec::new();
        }
        let words = &self.original.words;
        let named = words.iter().filter(|(_, words)| words.name.is_some());
        let are_places = self.length >= NAMED_FROM * named.count() as f64;
        words
            .iter()
            .filter(|(_, words)| are_places && words.name.is_some() || words.tells_fuel())
            .map(|(point, words)| Waypoint {
                point: self.original.points[*point],
                words: words.clone(),
            })
            .collect()
    }
}

/// Finds the waypoints on each way, and of the fuel stops among the others those beside one, nearest first.
pub(super) struct Search<'a> {
    pub(super) waypoints: &'a [&'a Waypoint],
    pub(super) snap_within: Metres,
    pub(super) detour_within: Metres,
    pub(super) split: Split,
}

impl Search<'_> {
    /// Marks in `met` each waypoint that is on a way, and each fuel stop that is beside one.
    pub(super) fn run(
        &self,
        ways: &mut [TripLine],
        on_way: &snap::Waypoints,
        met: &mut [bool],
        notes: &mut Notes,
    ) {
        let mut crowded = Vec::new();
        for way in ways.iter_mut().filter(|way| way.is_drawn()) {
            match on_way.passes(&way.line().points, self.snap_within) {
                // A fuel stop of a map is beside the line, or at a place that is near; it makes no second place there.
                Some(mut passes) => {
                    passes.retain(|pass| !self.waypoints[pass.waypoint].words.is_proposed);
                    way.passes = passes;
                }
                None => crowded.push(way.title()),
            }
            for pass in &way.passes {
                met[pass.waypoint] = true;
            }
        }
        notes.add_of(&crowded, |_, ways| format!(
            "There are too many waypoints near {ways}, so none became a place. Leave some out, or reduce --snap-within"
        ));
        if self.split != Split::Waypoints {
            self.tell_of_uncut(ways, notes);
        } else if self.run_fuel_stops(ways, met).is_none() {
            notes.add(
                "There are too many fuel stops near the tracks, so all of them were ignored. Leave some out, or reduce --detour-within",
            );
        }
    }

    fn run_fuel_stops(&self, ways: &mut [TripLine], met: &mut [bool]) -> Option<()> {
        let missed = |n: &usize| !met[*n] && self.waypoints[*n].words.tells_fuel();
        let fuel_stops: Vec<usize> = (0..met.len()).filter(missed).collect();
        if fuel_stops.is_empty() {
            return Some(());
        }
        let places = fuel_stops
            .iter()
            .map(|&n| self.waypoints[n].point.position());
        let places = snap::Waypoints::new(places.collect());
        // Passes with the number of their way and the position on it.
        let mut found: Vec<(usize, Pass, Position)> = Vec::new();
        for (n, way) in ways.iter().enumerate().filter(|(_, way)| way.is_drawn()) {
            let points = &way.line().points;
            let there = |pass: &Pass| Cut::at(pass, Stop::default()).point(points).position();
            let passes = places.passes(points, self.detour_within)?;
            found.extend(passes.into_iter().map(|pass| (n, pass, there(&pass))));
        }
        let mut nearest: Vec<Option<(Metres, Position)>> = vec![None; fuel_stops.len()];
        for (_, pass, there) in &found {
            let best = &mut nearest[pass.waypoint];
            if best.is_none_or(|(off, _)| pass.off < off) {
                *best = Some((pass.off, *there));
            }
        }
        // One fuel stop is one place: where another pass is nearest elsewhere, it is not left there.
        for (way, pass, there) in found {
            let is_there = nearest[pass.waypoint]
                .is_some_and(|(_, best)| geodesic::distance(best, there) <= self.snap_within);
            if is_there {
                let waypoint = fuel_stops[pass.waypoint];
                met[waypoint] = true;
                ways[way].fuel_stops.push(Pass { waypoint, ..pass });
            }
        }
        Some(())
    }

    /// Waypoints that are on a way and are no places, because it is cut elsewhere.
    fn tell_of_uncut(&self, ways: &[TripLine], notes: &mut Notes) {
        let mut names: Vec<&str> = ways
            .iter()
            .flat_map(|way| {
                let ends = [self.snap_within, way.length - self.snap_within];
                let inside = move |pass: &&Pass| pass.along > ends[0] && pass.along < ends[1];
                way.passes.iter().filter(inside)
            })
            .map(|pass| name_of(self.waypoints[pass.waypoint]))
            .collect();
        names.sort_unstable();
        names.dedup();
        notes.add_of(&names, |many, names| format!(
            "{} ignored, because --split sets the places: {names}. Without --split they are places",
            counted(many, "waypoint was", "waypoints were"),
        ));
    }
}

/// How a waypoint is called.
pub(super) fn name_of(waypoint: &Waypoint) -> &str {
    waypoint.words.name.as_deref().unwrap_or("without a name")
}
