//! Lines, waypoints and table rows drafted into the start and the legs of one trip.
//!
//! Lines follow each other in the order of the files. Where the next one begins more than a kilometre from
//! where the last ended, a leg without a distance stands for the gap, so that no way is lost: the
//! plan takes the straight line and a detour. Track segments are never joined otherwise.
//! A track's legs state what was measured on it. A route's points are places, and the road between
//! them is not known: its legs state no distance unless the route is cut by distance or segment.

use std::collections::HashMap;

use geo::{Coord, LineString, SimplifyIdx};
use serde::Serialize;
use serde_json::{Map, Value};

use super::gpx::{self, LineKind, Waypoint, Words};
use super::import::{Content, Options, Source, Split};
use super::snap::{self, Pass};
use crate::model::line::Line;
use crate::model::route::Position;
use crate::model::survey::{Profile, Survey};
use crate::model::track::{Point, Track};
use crate::model::{field, geodesic};
use crate::quantity::{Degrees, Grade, Kilometres, Metres, Share};

/// A gap between two lines from which on it is a leg.
const GAP: Metres = Metres::new(1000.0);
/// Legs of a track are no shorter than this.
const SHORTEST_LEG: Metres = Metres::new(50.0);
/// How far the track that a leg keeps may stray from the one that was read.
const STRAY: f64 = 10.0;
/// Points simplified at a time: it bounds the work on a line made to be hard, and the memory.
const CHUNK: usize = 1000;
/// Metres in a degree of latitude, on a sphere.
const METRES_PER_DEGREE: f64 = 111_194.93;
/// A climb gentler than this cannot be told from level.
const LEAST_GRADE: Grade = Grade::new(0.005);
/// Waypoints named in a note.
const MOST_NAMED: usize = 12;

/// Start and legs as they will stand in the trip file.
#[derive(Default)]
pub(super) struct Draft {
    pub(super) start: Map<String, Value>,
    pub(super) legs: Vec<DraftLeg>,
    pub(super) notes: Vec<String>,
    names: Names,
    /// Where the last leg ended.
    at: Option<Position>,
    small_gaps: Metres,
    /// Way along all lines so far.
    along: Metres,
    lines: usize,
}

pub(super) struct DraftLeg {
    /// All but the track, as in the trip file.
    pub(super) stated: Map<String, Value>,
    pub(super) track: Option<Track>,
    /// File and row of a leg that stood in a table.
    pub(super) row: Option<(usize, usize)>,
}

/// The legs of all sources in their order.
pub(super) fn draft(sources: &[Source], options: &Options) -> Draft {
    let mut draft = Draft::default();
    let readings = || {
        sources.iter().filter_map(|source| match &source.content {
            Content::Gpx(reading) => Some(reading),
            Content::Table { .. } => None,
        })
    };
    let waypoints: Vec<&Waypoint> = readings().flat_map(|reading| &reading.waypoints).collect();
    let usable = |kind| {
        readings()
            .flat_map(|reading| &reading.lines)
            .filter(|line| line.kind == kind && is_way(line))
            .count()
    };
    let kind = if usable(LineKind::Track) > 0 {
        LineKind::Track
    } else {
        LineKind::Route
    };
    let any_line = usable(kind) > 0;

    for source in sources {
        draft.tell_of(source);
    }
    if kind == LineKind::Track && usable(LineKind::Route) > 0 {
        draft.note("routes were measured and not used, since there are tracks".to_owned());
    }
    let mut met = vec![false; waypoints.len()];
    for (index, source) in sources.iter().enumerate() {
        match &source.content {
            Content::Table { table, .. } => draft.add_table(index, table),
            Content::Gpx(reading) if any_line => {
                for line in reading.lines.iter().filter(|line| line.kind == kind) {
                    if is_way(line) {
                        draft.add_line(line, &waypoints, &mut met, options);
                    } else {
                        let name = line.name.as_deref().unwrap_or("without a name");
                        draft.note(format!(
                            "{}: a line of {} point(s) and no length ({name}) was left out",
                            source.path,
                            line.points.len()
                        ));
                    }
                }
            }
            Content::Gpx(_) => {}
        }
    }
    if !any_line && waypoints.len() > 1 {
        draft.add_waypoints(&waypoints);
    } else if any_line {
        draft.tell_of_missed(&waypoints, &met, options);
    }
    if draft.small_gaps > Metres::ZERO {
        let gaps = draft.small_gaps.get();
        draft.note(format!(
            "gaps of less than 1 km between lines, {gaps:.0} m in all, are in no leg"
        ));
    }
    if options.vehicle_from.is_none() && !draft.legs.is_empty() {
        draft.note("the vehicle is a placeholder and its figures are guesses: state yours before relying on any litre".to_owned());
    }
    if !draft.legs.is_empty() && !draft.legs.iter().any(|leg| leg.stated.contains_key("fuel")) {
        draft.note(
            "no file says where fuel can be had: state `fuel` at the places that have it"
                .to_owned(),
        );
    }
    draft
}

/// Whether a line leads anywhere.
fn is_way(line: &gpx::Line) -> bool {
    line.points.first().is_some_and(|first| {
        line.points
            .iter()
            .any(|point| point.position() != first.position())
    })
}

impl Draft {
    fn note(&mut self, says: String) {
        if !self.notes.contains(&says) {
            self.notes.push(says);
        }
    }

    /// What a file gave that the trip does not show.
    fn tell_of(&mut self, source: &Source) {
        let path = &source.path;
        match &source.content {
            Content::Table { table, encoding } => {
                self.note(format!("{path}: read as {encoding}, {}", table.dialect));
            }
            Content::Gpx(reading) => {
                if let Some(damage) = &reading.salvaged_before {
                    self.note(format!(
                        "{path}: damaged at line {}: {}; only what precedes it was taken",
                        damage.line, damage.says
                    ));
                }
                if reading.encoding != "UTF-8" {
                    self.note(format!("{path}: read as {}", reading.encoding));
                }
                if reading.unusable_heights > 0 {
                    self.note(format!(
                        "{path}: {} heights are no number from -1000 to 10000 m and count as unknown",
                        reading.unusable_heights
                    ));
                }
                if !reading.passed_over.is_empty() {
                    let list: Vec<String> = reading
                        .passed_over
                        .iter()
                        .take(MOST_NAMED)
                        .map(|(name, times)| format!("{name} ({times})"))
                        .collect();
                    let more = if reading.passed_over.len() > MOST_NAMED {
                        " and others"
                    } else {
                        ""
                    };
                    self.note(format!("{path}: passed over {}{more}", list.join(", ")));
                }
            }
        }
    }

    fn tell_of_missed(&mut self, waypoints: &[&Waypoint], met: &[bool], options: &Options) {
        let missed: Vec<&str> = waypoints
            .iter()
            .zip(met)
            .filter(|(_, met)| !**met)
            .map(|(waypoint, _)| waypoint.words.name.as_deref().unwrap_or("without a name"))
            .collect();
        if !missed.is_empty() {
            let more = if missed.len() > MOST_NAMED {
                " and others"
            } else {
                ""
            };
            self.note(format!(
                "{} waypoint(s) farther than {:.0} m from every line were left out: {}{more}",
                missed.len(),
                options.snap_within.get(),
                missed[..missed.len().min(MOST_NAMED)].join(", ")
            ));
        }
    }

    /// Goes to where a line or list of places begins: the start of the trip, or over a gap.
    fn go_to(&mut self, point: &Point, name: &str, words: Option<&Words>) {
        let before = self.at.replace(point.position());
        if self.start.is_empty() {
            self.start = stated(&[("name", name)]);
            put_position(&mut self.start, point);
            let kind = field::field("/start/altitude_m").map(|field| field.kind);
            if let (Some(height), Some(kind)) = (point.height.map(tenth), kind)
                && kind.admits(&height.get().into())
            {
                put(&mut self.start, "altitude_m", height);
            }
            return;
        }
        let Some(at) = before else {
            self.note(format!(
                "`{name}` was taken to be where the table before it ends"
            ));
            return;
        };
        let gap = geodesic::distance(at, point.position());
        if gap < GAP {
            self.small_gaps += gap;
        } else {
            let mut leg = stated(&[("to", name)]);
            put_position(&mut leg, point);
            let mut says = "the files do not say how the way goes on to here".to_owned();
            if let Some(words) = words.and_then(Words::note) {
                says = format!("{says}; {words}");
            }
            put(&mut leg, "note", says);
            self.push(leg, None, None);
            self.note(format!(
                "a gap of {:.1} km before `{name}` became a leg without a distance",
                Kilometres::from(gap).get()
            ));
        }
    }

    fn push(
        &mut self,
        stated: Map<String, Value>,
        track: Option<Track>,
        row: Option<(usize, usize)>,
    ) {
        self.legs.push(DraftLeg { stated, track, row });
    }

    fn add_table(&mut self, source: usize, table: &super::csv::Table) {
        if self.legs.is_empty() && self.start.is_empty() {
            self.start.clone_from(&table.start);
            if !self.start.contains_key("name") {
                put(&mut self.start, "name", "start");
                self.note(
                    "the table does not name the start; state it in a column `from`".to_owned(),
                );
            }
        }
        for (index, row) in table.rows.iter().enumerate() {
            self.push(row.leg.clone(), None, Some((source, index)));
            let degrees = |key| row.leg.get(key).and_then(Value::as_f64).map(Degrees::new);
            self.at = degrees("lat")
                .zip(degrees("lon"))
                .map(|(lat, lon)| Position { lat, lon });
        }
    }

    /// Waypoints alone: places in the order of the file.
    fn add_waypoints(&mut self, waypoints: &[&Waypoint]) {
        self.note("there are waypoints only: they became places in the order of the file, with no distances stated".to_owned());
        for (n, waypoint) in waypoints.iter().enumerate() {
            let name = self
                .names
                .of_place(&waypoint.words, waypoint.point.position(), || {
                    format!("waypoint {}", n + 1)
                });
            self.add_place(&waypoint.point, &name, &waypoint.words);
        }
    }

    /// The leg to a place to which the way is not known.
    fn add_place(&mut self, point: &Point, name: &str, words: &Words) {
        if self.start.is_empty() {
            self.go_to(point, name, Some(words));
            return;
        }
        let mut leg = stated(&[("to", name)]);
        put_position(&mut leg, point);
        if let Some(words) = words.note() {
            put(&mut leg, "note", words);
        }
        self.push(leg, None, None);
        self.at = Some(point.position());
    }

    fn add_line(
        &mut self,
        line: &gpx::Line,
        waypoints: &[&Waypoint],
        met: &mut [bool],
        options: &Options,
    ) {
        self.lines += 1;
        let split = options.split.unwrap_or(Split::Waypoints);
        if line.kind == LineKind::Route && split == Split::Waypoints {
            self.add_route(line, options);
            return;
        }
        if line.kind == LineKind::Route {
            self.note(
                "a route's length is that of straight lines between its points; the road is longer"
                    .to_owned(),
            );
        }
        let positions: Vec<Position> = waypoints
            .iter()
            .map(|waypoint| waypoint.point.position())
            .collect();
        let passes = snap::passes(&line.points, &positions, options.snap_within);
        for pass in &passes {
            met[pass.waypoint] = true;
        }
        let whole = Profile::of(&line.points, options.climb_threshold).length;
        let ends = Ends::of(&passes, whole, options.snap_within);
        let words = |pass: Option<Pass>| pass.map(|pass| &waypoints[pass.waypoint].words);

        let (first, last) = (line.points[0], line.points[line.points.len() - 1]);
        let title = self.title(line);
        let first_words = words(ends.first);
        let name = self
            .names
            .of_end(first_words, first.position(), options.snap_within, || {
                format!("start of {title}")
            });
        self.go_to(&first, &name, first_words);

        let mut cuts: Vec<Cut> = match split {
            Split::Segments => Vec::new(),
            Split::Waypoints => ends
                .between
                .iter()
                .map(|pass| Cut::at_waypoint(pass, waypoints[pass.waypoint]))
                .collect(),
            Split::Every(distance) => every(&line.points, whole, Metres::from(distance)),
        };
        cuts.push(Cut {
            after: line.points.len() - 2,
            share: Share::new(1.0),
            along: whole,
            place: None,
        });
        self.add_legs(line, &cuts, (&title, words(ends.last)), options);
        self.along += whole;
        self.at = Some(last.position());
    }

    /// The legs of a line from cut to cut; the last cut is its end, about which `end` says the title
    /// of the line and the words of a waypoint there.
    fn add_legs(
        &mut self,
        line: &gpx::Line,
        cuts: &[Cut],
        end: (&str, Option<&Words>),
        options: &Options,
    ) {
        let nothing = Words::default();
        let mut survey = Survey::new(options.climb_threshold);
        let mut pushed = 0;
        let mut begins = line.points[0];
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
            let (name, words) = match cut.place {
                _ if is_end => {
                    let within = options.snap_within;
                    let name = self
                        .names
                        .of_end(end.1, at, within, || format!("end of {}", end.0));
                    (name, end.1.unwrap_or(&nothing))
                }
                Some(waypoint) => {
                    let at = waypoint.point.position();
                    let name = self
                        .names
                        .of_place(&waypoint.words, at, || "waypoint".to_owned());
                    (name, &waypoint.words)
                }
                None => {
                    let km = rounded(Kilometres::from(self.along + cut.along).get(), 10.0);
                    (self.names.unique(&format!("km {km}"), at), &nothing)
                }
            };
            let (leg, refused) = measured_leg(&name, &ends_at, &profile, words);
            if !refused.is_empty() {
                self.note(format!(
                    "the heights on the way to `{name}` cannot be those of a road: its {} are not stated",
                    refused.join(", ")
                ));
            }
            self.push(leg, Some(simplified(begins, between, ends_at)), None);
            begins = ends_at;
            pushed = cut.after + 1;
        }
    }

    /// A route: its points are places.
    fn add_route(&mut self, line: &gpx::Line, options: &Options) {
        self.note("a route says no distances: the plan takes the straight line between its points and a detour".to_owned());
        let title = self.title(line);
        let nothing = Words::default();
        let mut words = line.words.iter().peekable();
        let mut survey = Survey::new(options.climb_threshold);
        for (n, point) in line.points.iter().enumerate() {
            let here = words
                .next_if(|(index, _)| *index == n)
                .map_or(&nothing, |(_, words)| words);
            survey.push(point);
            let profile = survey.cut();
            let name = self.names.of_place(here, point.position(), || {
                format!("{title}, point {}", n + 1)
            });
            if n == 0 {
                self.go_to(point, &name, Some(here));
                continue;
            }
            let (mut leg, _) = measured_leg(&name, point, &profile, here);
            for key in ["distance_km", "ascent_grade", "descent_grade"] {
                leg.remove(key);
            }
            self.push(leg, None, None);
            self.at = Some(point.position());
        }
    }

    /// How a line is called where it has to be: by its name and segment.
    fn title(&self, line: &gpx::Line) -> String {
        let kind = match line.kind {
            LineKind::Track => "track",
            LineKind::Route => "route",
        };
        match &line.name {
            Some(name) if line.segment > 1 => format!("{name}, segment {}", line.segment),
            Some(name) => name.to_string(),
            None => format!("{kind} {}", self.lines),
        }
    }
}

/// Names that are given to places. Two places with one name are one place, so a name is given again
/// only where it is.
#[derive(Default)]
struct Names {
    given: HashMap<String, Position>,
    order: Vec<String>,
}

/// The trip file lets one place have two positions that differ by 0.01°; with room for rounding.
fn is_same_place(a: Position, b: Position) -> bool {
    (a.lat - b.lat).get().abs() < 0.0099 && (a.lon - b.lon).get().abs() < 0.0099
}

impl Names {
    /// The name of a waypoint.
    fn of_place(
        &mut self,
        words: &Words,
        at: Position,
        otherwise: impl FnOnce() -> String,
    ) -> String {
        let name = words.name.clone().unwrap_or_else(otherwise);
        self.unique(&name, at)
    }

    /// The name of an end of a line: its waypoint's, or that of a place already named nearby.
    fn of_end(
        &mut self,
        words: Option<&Words>,
        at: Position,
        within: Metres,
        otherwise: impl FnOnce() -> String,
    ) -> String {
        if let Some(name) = words.and_then(|words| words.name.clone()) {
            return self.unique(&name, at);
        }
        let near = self.order.iter().find(|name| {
            let there = self.given[*name];
            is_same_place(there, at) && geodesic::distance(there, at) <= within
        });
        match near {
            Some(name) => name.clone(),
            None => self.unique(&otherwise(), at),
        }
    }

    /// The name itself, or with a number where it stands for another place already.
    fn unique(&mut self, name: &str, at: Position) -> String {
        let mut candidate = name.to_owned();
        let mut number = 1_u32;
        loop {
            match self.given.get(&candidate) {
                None => {
                    self.given.insert(candidate.clone(), at);
                    self.order.push(candidate.clone());
                    return candidate;
                }
                Some(&there) if is_same_place(there, at) => return candidate,
                Some(_) => {
                    number += 1;
                    candidate = format!("{name} ({number})");
                }
            }
        }
    }
}

impl Words {
    /// Everything but the name, for a leg's note.
    fn note(&self) -> Option<String> {
        let parts = [
            self.description.clone(),
            self.kind.as_ref().map(|kind| format!("type: {kind}")),
            self.symbol
                .as_ref()
                .map(|symbol| format!("symbol: {symbol}")),
        ];
        let parts: Vec<String> = parts.into_iter().flatten().collect();
        (!parts.is_empty()).then(|| parts.join("; "))
    }
}

/// Which passes name the ends of a line and which lie between.
struct Ends {
    first: Option<Pass>,
    last: Option<Pass>,
    between: Vec<Pass>,
}

impl Ends {
    fn of(passes: &[Pass], whole: Metres, within: Metres) -> Self {
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
struct Cut<'a> {
    after: usize,
    share: Share,
    along: Metres,
    place: Option<&'a Waypoint>,
}

impl<'a> Cut<'a> {
    fn at_waypoint(pass: &Pass, place: &'a Waypoint) -> Self {
        Self {
            after: pass.after,
            share: Share::new(pass.share),
            along: pass.along,
            place: Some(place),
        }
    }

    /// The point of the line; its height lies between those of its neighbours.
    fn point(&self, points: &[Point]) -> Point {
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
fn every(points: &[Point], whole: Metres, distance: Metres) -> Vec<Cut<'static>> {
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
                place: None,
            });
            next += distance;
        }
        along += step;
    }
    cuts
}

/// A leg that states what was measured on it, as far as the trip file admits that; and what it does not admit.
fn measured_leg(
    name: &str,
    ends_at: &Point,
    profile: &Profile,
    words: &Words,
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
    if let Some(note) = words.note() {
        put(&mut leg, "note", note);
    }
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

/// The track of a leg without what does not show: straight parts are thinned to their ends, so that
/// no point is farther than [`STRAY`] from the line that is kept. Heights are in the leg already.
fn simplified(first: Point, between: &[Point], last: Point) -> Track {
    let mut kept = vec![flat(&first)];
    let mut chunk = vec![first];
    let mut points = between
        .iter()
        .skip_while(|point| **point == first)
        .chain([&last])
        .peekable();
    while let Some(point) = points.next() {
        chunk.push(*point);
        if chunk.len() == CHUNK || points.peek().is_none() {
            kept.extend(thinned(&chunk).into_iter().skip(1));
            chunk = vec![*point];
        }
    }
    kept.dedup();
    if kept.len() == 1 {
        kept.push(kept[0]);
    }
    Track::Inline(Line::new(kept))
}

fn thinned(points: &[Point]) -> Vec<Point> {
    let first = points[0];
    let east = METRES_PER_DEGREE * first.lat.get().to_radians().cos();
    let line: LineString = points
        .iter()
        .map(|point| Coord {
            x: geodesic::longitude_between(first.lon, point.lon).get() * east,
            y: (point.lat - first.lat).get() * METRES_PER_DEGREE,
        })
        .collect();
    line.simplify_idx(STRAY)
        .into_iter()
        .map(|index| flat(&points[index]))
        .collect()
}

/// A point without its height, to 0.1 m.
fn flat(point: &Point) -> Point {
    Point {
        lon: Degrees::new(rounded(point.lon.get(), 1e6)),
        lat: Degrees::new(rounded(point.lat.get(), 1e6)),
        height: None,
    }
}

fn stated(texts: &[(&str, &str)]) -> Map<String, Value> {
    texts
        .iter()
        .map(|&(key, text)| (key.to_owned(), text.into()))
        .collect()
}

fn put(object: &mut Map<String, Value>, key: &str, value: impl Serialize) {
    let value = serde_json::to_value(value).expect("a text or a finite number");
    object.insert(key.to_owned(), value);
}

fn put_position(object: &mut Map<String, Value>, point: &Point) {
    let point = flat(point);
    put(object, "lat", point.lat);
    put(object, "lon", point.lon);
}

fn tenth(height: Metres) -> Metres {
    Metres::new(rounded(height.get(), 10.0))
}

/// A number to so many parts of one; never a negative zero.
fn rounded(number: f64, parts: f64) -> f64 {
    (number * parts).round() / parts + 0.0
}
