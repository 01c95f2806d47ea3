//! Lines, waypoints and table rows drafted into the start and the legs of one trip.
//!
//! Lines follow each other in the order of the files. Where the next one begins more than a kilometre from
//! where the last ended, a leg without a distance stands for the gap, so that no way is lost: the
//! plan takes the straight line and a detour. Track segments are never joined otherwise.
//! A track's legs state what was measured on it. A route's points are places, and the road between
//! them is not known: its legs state no distance unless the route is cut by distance or segment.

use serde_json::{Map, Value};

use super::line::{
    Cut, Ends, every, measured_leg, put, put_position, put_words, rounded, stated, tenth,
};
use super::names::Names;
use super::pumps::put_fuel;
use super::snap::{self, Pass};
use super::source::{Content, Source};
use super::spine;
use super::thin::simplified;
use super::{Options, Split};
use crate::io::csv::Table;
use crate::io::gpx::{self, LineKind, Waypoint, Words};
use crate::model::route::Position;
use crate::model::survey::{Profile, Survey};
use crate::model::track::{Point, Track};
use crate::model::{field, geodesic};
use crate::quantity::{Degrees, Kilometres, Metres, Share};

/// A gap between two lines from which on it is a leg.
const GAP: Metres = Metres::new(1000.0);
/// Notes that are kept.
const MOST_NOTES: usize = 100;
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
    let lines = |kind| {
        let all = readings().flat_map(|reading| &reading.lines);
        all.filter(|line| line.kind == kind && is_way(line))
            .collect::<Vec<&gpx::Line>>()
    };
    let (tracks, routes) = (lines(LineKind::Track), lines(LineKind::Route));
    let kind = if tracks.is_empty() {
        LineKind::Route
    } else {
        LineKind::Track
    };
    let any_line = !(tracks.is_empty() && routes.is_empty());
    let split = options.split.unwrap_or(Split::Waypoints);
    let followed = match routes.as_slice() {
        [route] if !tracks.is_empty() && split == Split::Waypoints => {
            spine::followed(route, &tracks, options.snap_within).map(|legs| (*route, legs))
        }
        _ => None,
    };

    for source in sources {
        draft.tell_of(source);
    }
    if followed.is_none() && kind == LineKind::Track && !routes.is_empty() {
        draft.note("routes were measured and not used, since there are tracks".to_owned());
    }
    let mut met = vec![false; waypoints.len()];
    if let Some((route, legs)) = &followed {
        draft.note("the tracks follow legs of the route: its points became places".to_owned());
        draft.add_route(route, legs, &waypoints, &mut met, options);
    }
    for (index, source) in sources.iter().enumerate() {
        match &source.content {
            Content::Table { table, .. } => draft.add_table(index, table),
            Content::Gpx(reading) if any_line && followed.is_none() => {
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
    draft.tell_of_pumps();
    let has_fuel = |object: &Map<String, Value>| object.contains_key("fuel");
    if !draft.legs.is_empty()
        && !has_fuel(&draft.start)
        && !draft.legs.iter().any(|leg| has_fuel(&leg.stated))
    {
        draft.note(
            "no file says where fuel can be had: state `fuel` at the places that have it"
                .to_owned(),
        );
    }
    draft
}

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
        let full = self.notes.len() == MOST_NOTES;
        let says = if full {
            "there is more of this kind".to_owned()
        } else {
            says
        };
        if self.notes.len() <= MOST_NOTES && !self.notes.contains(&says) {
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

    /// Which places became fuel stops because a point's symbol or type says so.
    fn tell_of_pumps(&mut self) {
        let from_points = self.legs.iter().filter(|leg| leg.row.is_none());
        let mut names: Vec<&str> = from_points
            .map(|leg| (&leg.stated, "to"))
            .chain([(&self.start, "name")])
            .filter(|(object, _)| object.contains_key("fuel"))
            .filter_map(|(object, key)| object.get(key)?.as_str())
            .collect();
        names.sort_unstable();
        names.dedup();
        if names.is_empty() || self.legs.iter().all(|leg| leg.row.is_some()) {
            return;
        }
        let more = if names.len() > MOST_NAMED {
            " and others"
        } else {
            ""
        };
        let list = names[..names.len().min(MOST_NAMED)].join(", ");
        self.note(format!(
            "taken for sure pumps without a limit, by symbol or type: {list}{more}; state `litres`, `chance` and `detour_km` where you know better"
        ));
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
            if let Some(words) = words {
                put_fuel(&mut self.start, words, None);
            }
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
            if let Some(words) = words {
                put_words(&mut leg, words, None);
            }
            let mut says = "the files do not say how the way goes on to here".to_owned();
            if let Some(note) = leg.get("note").and_then(Value::as_str) {
                says = format!("{says}; {note}");
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

    fn add_table(&mut self, source: usize, table: &Table) {
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
        put_words(&mut leg, words, None);
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
            self.add_route(line, &[], waypoints, met, options);
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
        if passes.is_none() {
            self.note(
                "too many waypoints lie about the line to look for each along it: none was used"
                    .to_owned(),
            );
        }
        let passes = passes.unwrap_or_default();
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
            let leg = self.checked_leg(&name, &ends_at, &profile, words);
            self.push(leg, Some(simplified(begins, between, ends_at)), None);
            begins = ends_at;
            pushed = cut.after + 1;
        }
    }

    /// A route: its points are places. Where a track follows a leg, the leg states what was measured on it.
    fn add_route(
        &mut self,
        line: &gpx::Line,
        followed: &[Option<&gpx::Line>],
        waypoints: &[&Waypoint],
        met: &mut [bool],
        options: &Options,
    ) {
        if !followed.iter().all(Option::is_some) || followed.is_empty() {
            self.note("a route says no distances: the plan takes the straight line between its points and a detour".to_owned());
        }
        let title = self.title(line);
        let positions: Vec<Position> = waypoints
            .iter()
            .map(|waypoint| waypoint.point.position())
            .collect();
        let near = snap::nearest_to_each(&line.points, &positions, options.snap_within);
        let mut words = line.words.iter().peekable();
        let mut survey = Survey::new(options.climb_threshold);
        for (n, point) in line.points.iter().enumerate() {
            let own = words.next_if(|(index, _)| *index == n);
            let mut here = own.map(|(_, words)| words.clone()).unwrap_or_default();
            if let Some(waypoint) = near[n] {
                met[waypoint] = true;
                here = joined(here, &waypoints[waypoint].words);
            }
            survey.push(point);
            let profile = survey.cut();
            let name = self.names.of_place(&here, point.position(), || {
                format!("{title}, point {}", n + 1)
            });
            let Some(before) = n.checked_sub(1) else {
                self.go_to(point, &name, Some(&here));
                continue;
            };
            if let Some(track) = followed.get(before).copied().flatten() {
                let profile = Profile::of(&track.points, options.climb_threshold);
                let leg = self.checked_leg(&name, point, &profile, &here);
                let (first, last) = (track.points[0], track.points[track.points.len() - 1]);
                self.push(leg, Some(simplified(first, &track.points, last)), None);
            } else {
                let (mut leg, _) = measured_leg(&name, point, &profile, &here);
                for key in ["distance_km", "ascent_grade", "descent_grade"] {
                    leg.remove(key);
                }
                self.push(leg, None, None);
            }
            self.at = Some(point.position());
        }
    }

    /// A leg with what was measured on it; what cannot be a road's is left out and told.
    fn checked_leg(
        &mut self,
        name: &str,
        ends_at: &Point,
        profile: &Profile,
        words: &Words,
    ) -> Map<String, Value> {
        let (leg, refused) = measured_leg(name, ends_at, profile, words);
        if !refused.is_empty() {
            self.note(format!(
                "the heights on the way to `{name}` cannot be those of a road: its {} are not stated",
                refused.join(", ")
            ));
        }
        leg
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
