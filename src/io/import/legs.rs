//! Lines, waypoints and table rows drafted into the start and the legs of one trip.
//!
//! Lines follow each other in the order of the files, or in a better one (`order`). Where the next one begins
//! more than a kilometre from where the last ended, a leg without a distance stands for the gap, so that no
//! way is lost: the plan takes the straight line and a detour. Track segments are never joined otherwise.
//! A track's legs state what was measured on it. A route's points are places, and the road between
//! them is not known: its legs state no distance unless the route is cut by distance or segment, or has so
//! many points that it is a drawn line.

use serde_json::{Map, Value};

use super::line::{SHORTEST_LEG, put, put_position, stated, tenth};
use super::names::Names;
use super::nights;
use super::notes::{Notes, counted, listed};
use super::order::{self, GAP};
use super::snap;
use super::source::{Content, Source};
use super::speeds::Speeds;
use super::spine;
use super::stop::Stop;
use super::ways::{Search, Way, name_of};
use super::{Options, Split};
use crate::io::csv::Table;
use crate::io::reading::{self, LineKind, Reading, Stated, Waypoint};
use crate::model::line::Line;
use crate::model::route::Position;
use crate::model::track::{Point, Track};
use crate::model::{field, geodesic};
use crate::present::number::Toward;
use crate::quantity::{Degrees, Kilometres, Metres};

/// Start and legs as they will stand in the trip file.
#[derive(Default)]
pub(super) struct Draft {
    pub(super) start: Map<String, Value>,
    pub(super) legs: Vec<DraftLeg>,
    pub(super) notes: Notes,
    pub(super) names: Names,
    pub(super) speeds: Speeds,
    /// Where the last leg ended.
    pub(super) at: Option<Position>,
    small_gaps: Metres,
    /// Way along all lines so far.
    pub(super) along: Metres,
}

pub(super) struct DraftLeg {
    /// All but the track, as in the trip file.
    pub(super) stated: Map<String, Value>,
    pub(super) track: Option<Track>,
    /// Number of the file that stated the leg, and the number of its row or leg there.
    pub(super) row: Option<(usize, usize)>,
}

impl DraftLeg {
    /// The leg as its document is checked: of its track the ends stand for the whole, which was checked as it
    /// was read.
    pub(super) fn document(&self) -> Value {
        let mut leg = self.stated.clone();
        let lines = self.track.as_ref().map_or(&[][..], Track::lines);
        let ends = [
            lines.first().and_then(|line| line.points().first()),
            lines.last().and_then(|line| line.points().last()),
        ];
        if let [Some(first), Some(last)] = ends {
            put(&mut leg, "track", [first, last]);
        }
        Value::Object(leg)
    }
}

/// The legs of all sources in their order.
pub(super) fn draft(sources: &[Source], options: &Options) -> Draft {
    let mut draft = Draft::default();
    for source in sources {
        draft.notes.tell_of(source);
    }
    for (index, source) in sources.iter().enumerate() {
        match &source.content {
            Content::Table { table, .. } => draft.add_table(index, table),
            Content::Map(reading) => draft.add_stated(index, &reading.stated),
        }
    }
    let readings: Vec<&Reading> = sources
        .iter()
        .filter_map(|source| match &source.content {
            Content::Map(reading) if reading.stated.legs.is_empty() => Some(reading),
            _ => None,
        })
        .collect();
    draft.add_readings(&readings, options);
    let units = options.units;
    if draft.small_gaps > Metres::ZERO {
        draft.notes.add(format!(
            "gaps of less than {} between lines, {} in all, are in no leg",
            units.distance(Kilometres::from(GAP), Toward::Nearest),
            units.distance(Kilometres::from(draft.small_gaps), Toward::Up)
        ));
    }
    std::mem::take(&mut draft.speeds).tell(units, &mut draft.notes);
    if options.vehicle_from.is_none() && !draft.legs.is_empty() {
        draft.notes.add("the vehicle is a placeholder and its figures are guesses: state yours before relying on any litre, or take another trip's with --vehicle-from".to_owned());
    }
    draft.tell_of_pumps();
    draft
}

/// Whether a line leads anywhere.
fn is_way(line: &reading::Line) -> bool {
    line.points.first().is_some_and(|first| {
        line.points
            .iter()
            .any(|point| point.position() != first.position())
    })
}

impl Draft {
    /// Legs along the lines of some files, or from waypoint to waypoint where there is no line.
    fn add_readings(&mut self, readings: &[&Reading], options: &Options) {
        let all = || readings.iter().flat_map(|reading| &reading.lines);
        let lines = |kind| {
            let lines = all().enumerate();
            lines
                .filter(|(_, line)| line.kind == kind && is_way(line))
                .collect::<Vec<(usize, &reading::Line)>>()
        };
        let (tracks, routes) = (lines(LineKind::Track), lines(LineKind::Route));
        let still: Vec<&str> = all()
            .filter(|line| !is_way(line))
            .map(|line| line.name.as_deref().unwrap_or("without a name"))
            .collect();
        if !still.is_empty() {
            self.notes.add(format!(
                "left out, since without a length: {}",
                listed(still)
            ));
        }
        let split = options.split.unwrap_or(Split::Waypoints);
        let followed = match routes.as_slice() {
            [(n, route)] if !tracks.is_empty() && split == Split::Waypoints => {
                let tracks: Vec<&reading::Line> = tracks.iter().map(|(_, track)| *track).collect();
                spine::followed(route, &tracks, options.snap_within)
                    .map(|legs| (Way::of(route, n + 1), legs))
            }
            _ => None,
        };
        let chosen = if tracks.is_empty() { &routes } else { &tracks };
        let mut ways: Vec<Way> = if followed.is_none() {
            chosen
                .iter()
                .map(|(n, line)| Way::of(line, n + 1))
                .collect()
        } else {
            Vec::new()
        };
        self.leave_out_scraps(&mut ways, options);
        let named: Vec<Waypoint> = ways.iter().flat_map(Way::named_points).collect();
        let waypoints: Vec<&Waypoint> = readings
            .iter()
            .flat_map(|reading| &reading.waypoints)
            .chain(&named)
            .collect();
        let positions = waypoints.iter().map(|waypoint| waypoint.point.position());
        let mut on_way = snap::Waypoints::of(positions.collect());
        if let Some((route, legs)) = &followed {
            self.notes
                .add("the tracks follow legs of the route: its points became places".to_owned());
            let mut met = vec![false; waypoints.len()];
            self.add_route(route, legs, (&waypoints, &mut on_way), &mut met, options);
            self.tell_of_missed(&waypoints, &met, options);
        } else if ways.is_empty() {
            self.add_waypoints(&waypoints);
        } else {
            if !tracks.is_empty() && !routes.is_empty() {
                self.notes
                    .add("routes were measured and not used, since there are tracks".to_owned());
            }
            order::bring(&mut ways, options.units, &mut self.notes);
            let search = Search {
                waypoints: &waypoints,
                snap_within: options.snap_within,
                detour_within: Metres::from(options.detour_within),
                split,
            };
            let mut met = search.run(&mut ways, &mut on_way, &mut self.notes);
            let days = nights::days(&ways);
            if days.is_some() {
                self.notes.add(format!(
                    "a day ends with each halt of {} h or more, by the time stamps; see that the days are those you mean",
                    nights::NIGHT.get()
                ));
            }
            for (n, way) in ways.iter().enumerate() {
                if way.is_drawn() || split != Split::Waypoints {
                    let days = days.as_ref().map(|days| &days[n]);
                    self.add_line(way, days, &waypoints, options);
                } else {
                    self.add_route(way, &[], (&waypoints, &mut on_way), &mut met, options);
                }
            }
            self.tell_of_missed(&waypoints, &met, options);
        }
    }

    /// Lines too short for a leg are scraps of a receiver, unless there is nothing else.
    fn leave_out_scraps(&mut self, ways: &mut Vec<Way>, options: &Options) {
        let is_scrap = |way: &Way| way.length < SHORTEST_LEG;
        if ways.iter().all(is_scrap) {
            return;
        }
        let scraps: Vec<String> = ways
            .iter()
            .filter(|way| is_scrap(way))
            .map(Way::title)
            .collect();
        if !scraps.is_empty() {
            self.notes.add(format!(
                "left out, since shorter than {}: {}",
                options.units.height(SHORTEST_LEG),
                listed(&scraps)
            ));
            ways.retain(|way| !is_scrap(way));
        }
    }

    /// Which places became fuel stops because a point's symbol or type says so, or that there is none.
    fn tell_of_pumps(&mut self) {
        let has_fuel = |object: &Map<String, Value>| object.contains_key("fuel");
        let any = has_fuel(&self.start) || self.legs.iter().any(|leg| has_fuel(&leg.stated));
        if !self.legs.is_empty() && !any {
            self.notes.add(
                "no file says where fuel can be had: state `fuel` at the places that have it"
                    .to_owned(),
            );
        }
        let from_points = self.legs.iter().filter(|leg| leg.row.is_none());
        let mut names: Vec<&str> = from_points
            .map(|leg| (&leg.stated, "to"))
            .chain([(&self.start, "name")])
            .filter(|(object, _)| has_fuel(object))
            .filter_map(|(object, key)| object.get(key)?.as_str())
            .collect();
        names.sort_unstable();
        names.dedup();
        if names.is_empty() || self.legs.iter().all(|leg| leg.row.is_some()) {
            return;
        }
        self.notes.add(format!(
            "taken for sure pumps without a limit, by symbol or type: {}; state `litres`, `chance` and `detour_km` where you know better",
            listed(names)
        ));
    }

    fn tell_of_missed(&mut self, waypoints: &[&Waypoint], met: &[bool], options: &Options) {
        let missed = || waypoints.iter().zip(met).filter(|(_, met)| !**met);
        let (pumps, others): (Vec<&str>, Vec<&str>) = (
            missed()
                .filter(|(waypoint, _)| waypoint.words.tells_fuel())
                .map(|(waypoint, _)| name_of(waypoint))
                .collect(),
            missed()
                .filter(|(waypoint, _)| !waypoint.words.tells_fuel())
                .map(|(waypoint, _)| name_of(waypoint))
                .collect(),
        );
        let units = options.units;
        if !others.is_empty() {
            self.notes.add(format!(
                "{} left out, since farther than {} from every line: {}; --snap-within takes those from farther off",
                counted(others.len(), "waypoint was", "waypoints were"),
                units.height(options.snap_within),
                listed(others)
            ));
        }
        if !pumps.is_empty() {
            self.notes.add(format!(
                "{} left out, since farther than {} from every track: {}; --detour-within takes those from farther off",
                counted(pumps.len(), "fuel stop was", "fuel stops were"),
                units.distance(options.detour_within, Toward::Nearest),
                listed(pumps)
            ));
        }
    }

    /// Goes to where a line or list of places begins: the start of the trip, or over a gap.
    pub(super) fn go_to(&mut self, point: &Point, name: &str, stop: &Stop, options: &Options) {
        let before = self.at.replace(point.position());
        if self.start.is_empty() {
            self.start = stated(&[("name", name)]);
            put_position(&mut self.start, point);
            stop.put_fuel(name, &mut self.start);
            let kind = field::field("/start/altitude_m").map(|field| field.kind);
            if let (Some(height), Some(kind)) = (point.height.map(tenth), kind)
                && kind.admits(&height.get().into())
            {
                put(&mut self.start, "altitude_m", height);
            }
            return;
        }
        let Some(at) = before else {
            self.notes.add(format!(
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
            stop.put(name, &mut leg);
            let mut says = "the files do not say how the way goes on to here".to_owned();
            if let Some(note) = leg.get("note").and_then(Value::as_str) {
                says = format!("{says}; {note}");
            }
            put(&mut leg, "note", says);
            self.push(leg, None, None);
            self.notes.add(format!(
                "a gap of {} before `{name}` became a leg without a distance",
                options
                    .units
                    .distance(Kilometres::from(gap), Toward::Nearest)
            ));
        }
    }

    pub(super) fn push(
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
                self.notes.add(
                    "the table does not name the start; state it in a column `from`".to_owned(),
                );
            }
        }
        for (index, row) in table.rows.iter().enumerate() {
            self.push(row.leg.clone(), None, Some((source, index)));
            self.stand_at_last();
        }
    }

    /// Legs that a report of this program stated.
    fn add_stated(&mut self, source: usize, stated: &Stated) {
        if stated.legs.is_empty() {
            return;
        }
        if self.legs.is_empty() && self.start.is_empty() {
            self.start.clone_from(&stated.start);
            if !self.start.contains_key("name") {
                put(&mut self.start, "name", "start");
                self.notes
                    .add("no place of the file states the start; it was named `start`".to_owned());
            }
        }
        for (index, leg) in stated.legs.iter().enumerate() {
            let lines: Vec<Line> = leg.track.iter().cloned().map(Line::new).collect();
            let track = (!lines.is_empty()).then(|| Track::of_lines(lines));
            self.push(leg.leg.clone(), track, Some((source, index)));
            self.stand_at_last();
        }
    }

    /// Goes to where the last leg ends.
    fn stand_at_last(&mut self) {
        let leg = self.legs.last();
        let degrees = |key| {
            let number = leg
                .and_then(|leg| leg.stated.get(key))
                .and_then(Value::as_f64);
            number.map(Degrees::new)
        };
        self.at = degrees("lat")
            .zip(degrees("lon"))
            .map(|(lat, lon)| Position { lat, lon });
    }

    /// Waypoints alone: places in the order of the file.
    fn add_waypoints(&mut self, waypoints: &[&Waypoint]) {
        if waypoints.len() < 2 {
            return;
        }
        self.notes.add("there are waypoints only: they became places in the order of the file, with no distances stated".to_owned());
        for (n, waypoint) in waypoints.iter().enumerate() {
            let name = self
                .names
                .of_place(&waypoint.words, waypoint.point.position(), || {
                    format!("waypoint {}", n + 1)
                });
            self.add_place(&waypoint.point, &name, &Stop::of(waypoint));
        }
    }

    /// The leg to a place to which the way is not known.
    fn add_place(&mut self, point: &Point, name: &str, stop: &Stop) {
        if self.start.is_empty() {
            self.go_to(point, name, stop, &Options::default());
            return;
        }
        let mut leg = stated(&[("to", name)]);
        put_position(&mut leg, point);
        stop.put(name, &mut leg);
        self.push(leg, None, None);
        self.at = Some(point.position());
    }
}
