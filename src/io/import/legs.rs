//! Lines, waypoints and table rows drafted into the start and the legs of one trip.
//!
//! Lines follow each other in the order of the files, or in a better one (`order`). Where the next one begins
//! more than a kilometre from where the last ended, the gap becomes a leg without a distance, so that no part of the
//! route is lost: the plan uses the straight line, lengthened. Track segments are never joined otherwise.
//! A track's legs state what was measured on it. A route's points are places, and the road between
//! them is not known: its legs state no distance unless the route is cut by distance or segment, or has so
//! many points that it is a drawn line.

use super::along::{NIGHT, days};
use super::line::SHORTEST_LEG;
use super::map;
use super::measurement::LegOnMap;
use super::names::Names;
use super::notes::{Notes, counted};
use super::order::{self, GAP};
use super::routes::followed;
use super::snap;
use super::source::{Content, Source};
use super::speeds::Speeds;
use super::stop::Stop;
use super::trip_line::{Search, TripLine, name_of};
use super::{Options, Split};
use crate::io::osm::Extract;
use crate::io::reading::{self, LineKind, Reading, StatedLeg, Waypoint};
use crate::model::geodesic;
use crate::model::line::Polyline;
use crate::model::route::{Leg, Position, Start};
use crate::model::track::{Point, Track};
use crate::present::number::Toward;
use crate::quantity::{Kilometres, Metres};

/// Most legs of a trip that is imported: a hundred times those of a long one.
pub(super) const MOST_LEGS: usize = 10_000;

/// The files would make more legs than a trip may have.
#[derive(Debug, thiserror::Error)]
#[error(
    "the files make {legs:.0} legs or more, and a trip can have {MOST_LEGS}. Leave out waypoints or files, or use --split 100km or --split segments"
)]
pub(super) struct TooManyLegs {
    legs: f64,
}

/// Start and legs of a trip in the making.
#[derive(Default)]
pub(super) struct Draft<'a> {
    /// The map, if there is one.
    pub(super) extract: Option<&'a Extract>,
    /// Length from which a change of surface begins a leg.
    pub(super) shortest_leg: Metres,
    /// What the legs were driven on.
    pub(super) on_map: Vec<LegOnMap>,
    pub(super) start: Option<Start>,
    /// Whether no file names the start.
    pub(super) is_start_unnamed: bool,
    pub(super) legs: Vec<Leg>,
    /// Where the first legs were stated, one after the other: number of the file, and of the row or leg in it.
    pub(super) stated: Vec<(usize, usize)>,
    pub(super) notes: Notes,
    pub(super) names: Names,
    pub(super) speeds: Speeds,
    /// Where the last leg ended.
    pub(super) at: Option<Position>,
    small_gaps: Metres,
    /// Way along all lines so far.
    pub(super) along: Metres,
}

/// The legs of all sources in their order, with the notes so far.
pub(super) fn draft<'a>(
    sources: &[Source],
    notes: Notes,
    extract: Option<&'a Extract>,
    options: &Options,
) -> Result<Draft<'a>, TooManyLegs> {
    let mut draft = Draft {
        extract,
        notes,
        ..Draft::default()
    };
    for (index, source) in sources.iter().enumerate() {
        match &source.content {
            Content::Table { table, .. } => {
                let legs = table.rows.iter().map(|row| row.leg.clone());
                let unnamed = match &options.into {
                    Some(_) => "The table does not name the start, so the start of the trip stays",
                    None => {
                        "The table does not name the start, so it is called `start`. Add a column `from` to name it"
                    }
                };
                draft.add_stated(index, Some(&table.start), legs, unnamed)?;
            }
            Content::Map(Reading { stated, .. }) => {
                let legs = stated.legs.iter().map(with_track);
                let unnamed = match &options.into {
                    Some(_) => "The file does not name the start, so the start of the trip stays",
                    None => "The file does not name the start, so it is called `start`",
                };
                draft.add_stated(index, stated.start.as_ref(), legs, unnamed)?;
            }
        }
    }
    let readings: Vec<&Reading> = sources
        .iter()
        .filter_map(|source| match &source.content {
            Content::Map(reading) if reading.stated.legs.is_empty() => Some(reading),
            _ => None,
        })
        .collect();
    draft.add_readings(&readings, options)?;
    let units = options.units;
    if draft.small_gaps > Metres::ZERO {
        draft.notes.add(format!(
            "Gaps of less than {} between lines were ignored; together they are {}",
            units.distance(Kilometres::from(GAP), Toward::Nearest),
            units.distance(Kilometres::from(draft.small_gaps), Toward::Up)
        ));
    }
    std::mem::take(&mut draft.speeds).add_notes(units, &mut draft.notes);
    if options.vehicle_from.is_none() && options.into.is_none() && !draft.legs.is_empty() {
        draft.notes.add("The vehicle is a placeholder with guessed figures. Enter those of your vehicle before you rely on any result, or copy them from another trip with --vehicle-from");
    }
    draft.note_fuel_stops();
    Ok(draft)
}

/// A leg that a report of this program stated.
fn with_track(stated: &StatedLeg) -> Leg {
    let lines: Vec<Polyline> = stated.track.iter().cloned().map(Polyline::new).collect();
    Leg {
        track: (!lines.is_empty()).then(|| Track::of_lines(lines)),
        ..stated.leg.clone()
    }
}

/// Whether a line leads anywhere.
fn is_way(line: &reading::Line) -> bool {
    line.points.first().is_some_and(|first| {
        line.points
            .iter()
            .any(|point| point.position() != first.position())
    })
}

impl Draft<'_> {
    /// Legs along the lines of some files, or from waypoint to waypoint where there is no line.
    fn add_readings(
        &mut self,
        readings: &[&Reading],
        options: &Options,
    ) -> Result<(), TooManyLegs> {
        let all = || readings.iter().flat_map(|reading| &reading.lines);
        let lines = |kind| {
            let lines = all().enumerate();
            lines
                .filter(|(_, line)| line.kind == kind && is_way(line))
                .collect::<Vec<(usize, &reading::Line)>>()
        };
        let (tracks, routes) = (lines(LineKind::Track), lines(LineKind::Route));
        let still = all().filter(|line| !is_way(line));
        let still: Vec<&str> = still
            .map(|line| line.name.as_deref().unwrap_or("without a name"))
            .collect();
        self.notes.add_of(&still, |_, lines| {
            format!("Ignored, because their length is zero: {lines}")
        });
        let split = options.split.unwrap_or(Split::Waypoints);
        let follows = match routes.as_slice() {
            [(n, route)] if !tracks.is_empty() && split == Split::Waypoints => {
                let tracks: Vec<&reading::Line> = tracks.iter().map(|(_, track)| *track).collect();
                followed(route, &tracks, options.snap_within)
                    .map(|legs| (TripLine::new(route, n + 1), legs))
            }
            _ => None,
        };
        let chosen = if tracks.is_empty() { &routes } else { &tracks };
        let mut ways: Vec<TripLine> = if follows.is_none() {
            chosen
                .iter()
                .map(|(n, line)| TripLine::new(line, n + 1))
                .collect()
        } else {
            Vec::new()
        };
        self.leave_out_scraps(&mut ways, options);
        let named: Vec<Waypoint> = ways.iter().flat_map(TripLine::named_points).collect();
        let waypoints: Vec<&Waypoint> = readings
            .iter()
            .flat_map(|reading| &reading.waypoints)
            .chain(&named)
            .collect();
        let proposed = self
            .extract
            .map_or_else(Vec::new, |extract| map::fuel_stops(extract, &waypoints));
        let waypoints: Vec<&Waypoint> = waypoints.into_iter().chain(&proposed).collect();
        let positions = waypoints.iter().map(|waypoint| waypoint.point.position());
        let on_way = snap::Waypoints::new(positions.collect());
        let mut met = vec![false; waypoints.len()];
        if let Some((route, legs)) = &follows {
            self.notes.add(
                "The tracks follow legs of the route, so the points of the route became places",
            );
            self.add_route(route, legs, (&waypoints, &on_way), &mut met, options)?;
        } else if ways.is_empty() {
            self.add_waypoints(&waypoints, options)?;
            met.fill(true);
        } else {
            if !tracks.is_empty() && !routes.is_empty() {
                self.notes
                    .add("Routes were measured, but ignored, because there are tracks");
            }
            order::bring(&mut ways, options.units, &mut self.notes);
            let search = Search {
                waypoints: &waypoints,
                snap_within: options.snap_within,
                detour_within: Metres::from(options.detour_within),
                split,
            };
            search.run(&mut ways, &on_way, &mut met, &mut self.notes);
            if let Some(extract) = self.extract {
                map::choose_fuel_stops(&mut ways, &waypoints, &mut self.notes);
                map::match_lines(extract, &mut ways, &mut self.notes);
                self.shortest_leg = map::shortest_leg(&ways);
            }
            let days = days(&ways);
            if days.is_some() {
                self.notes.add(format!(
                    "Each halt of {} h or more in the time stamps ends a day. Check that these are the days you mean",
                    NIGHT.get()
                ));
            }
            for (n, way) in ways.iter().enumerate() {
                if way.is_drawn() || split != Split::Waypoints {
                    let days = days.as_ref().map(|days| &days[n]);
                    self.add_line(way, days, &waypoints, options)?;
                } else {
                    self.add_route(way, &[], (&waypoints, &on_way), &mut met, options)?;
                }
            }
        }
        self.tell_of_missed(&waypoints, &met, options);
        Ok(())
    }

    /// Lines too short for a leg are scraps of a receiver, unless there is nothing else.
    fn leave_out_scraps(&mut self, ways: &mut Vec<TripLine>, options: &Options) {
        let is_scrap = |way: &TripLine| way.length < SHORTEST_LEG;
        if ways.iter().all(is_scrap) {
            return;
        }
        let scraps = ways.iter().filter(|way| is_scrap(way));
        let scraps: Vec<String> = scraps.map(TripLine::title).collect();
        let shortest = options.units.height(SHORTEST_LEG);
        self.notes.add_of(&scraps, |_, lines| {
            format!("Ignored, because they are shorter than {shortest}: {lines}")
        });
        ways.retain(|way| !is_scrap(way));
    }

    /// Notes the places that became fuel stops by a point's symbol or type, or that there are none.
    fn note_fuel_stops(&mut self) {
        let start = self.start.iter().map(|start| (&start.name, &start.fuel));
        let mut places = start
            .clone()
            .chain(self.legs.iter().map(|leg| (&leg.to, &leg.fuel)));
        if !self.legs.is_empty() && places.all(|(_, fuel)| fuel.is_none()) {
            self.notes
                .add("The files contain no fuel stops. Add `fuel` to the places that have some");
        }
        let from_points = &self.legs[self.stated.len()..];
        if from_points.is_empty() {
            return;
        }
        let (mut proposed, mut assumed) = (Vec::new(), Vec::new());
        for (name, fuel) in start.chain(from_points.iter().map(|leg| (&leg.to, &leg.fuel))) {
            match fuel {
                Some(fuel) if fuel.chance.is_some() => proposed.push(name.as_str()),
                Some(_) => assumed.push(name.as_str()),
                None => {}
            }
        }
        for names in [&mut proposed, &mut assumed] {
            names.sort_unstable();
            names.dedup();
        }
        self.notes.add_of(&proposed, |_, names| format!(
            "Proposed by the map and unconfirmed, with a 50 % chance of fuel: {names}. Confirm each, then set its `chance` to 1"
        ));
        self.notes.add_of(&assumed, |_, names| format!(
            "Assumed to be confirmed fuel stops with unlimited stock, because of their symbol or type: {names}. Correct `litres`, `chance` and `detour_km` where you know better"
        ));
    }

    fn tell_of_missed(&mut self, waypoints: &[&Waypoint], met: &[bool], options: &Options) {
        let missed = waypoints.iter().zip(met);
        let missed = missed.filter(|(waypoint, met)| !**met && !waypoint.words.is_proposed);
        let (fuel_stops, others): (Vec<&Waypoint>, Vec<_>) = missed
            .map(|(waypoint, _)| *waypoint)
            .partition(|waypoint| waypoint.words.tells_fuel());
        let names = |of: Vec<&'_ Waypoint>| {
            of.into_iter()
                .map(name_of)
                .map(str::to_owned)
                .collect::<Vec<_>>()
        };
        let within = options.units.height(options.snap_within);
        self.notes.add_of(&names(others), |many, names| format!(
            "{} ignored, because no track is within {within}: {names}. Increase --snap-within to include more",
            counted(many, "waypoint was", "waypoints were"),
        ));
        let within = options
            .units
            .distance(options.detour_within, Toward::Nearest);
        self.notes.add_of(&names(fuel_stops), |many, names| format!(
            "{} ignored, because no track is within {within}: {names}. Increase --detour-within to include more",
            counted(many, "fuel stop was", "fuel stops were"),
        ));
    }

    /// Goes to where a line or list of places begins: the start of the trip, or over a gap.
    pub(super) fn go_to(&mut self, point: &Point, name: &str, stop: &Stop, options: &Options) {
        let before = self.at.replace(point.position());
        if self.start.is_none() {
            self.start = Some(stop.start(name, point));
            return;
        }
        let Some(at) = before else {
            self.notes.add(format!(
                "`{name}` was assumed to be where the table before it ends"
            ));
            return;
        };
        let gap = geodesic::distance(at, point.position());
        if gap < GAP {
            self.small_gaps += gap;
            return;
        }
        let mut leg = stop.leg(name, point);
        let unknown = "gap: no track leads here".to_owned();
        leg.note = Some(match leg.note {
            Some(note) => format!("{unknown}; {note}"),
            None => unknown,
        });
        self.legs.push(leg);
        self.notes.add(format!(
            "A gap of {} before `{name}` became a leg without a distance. The plan uses the straight line with an allowance for bends",
            options
                .units
                .distance(Kilometres::from(gap), Toward::Nearest)
        ));
    }

    /// Fails where so many legs more are too many, before memory is taken for them.
    pub(super) fn room_for(&self, more: usize) -> Result<(), TooManyLegs> {
        self.room_for_legs(more as f64)
    }

    /// Like [`Self::room_for`], for a number that may be larger than any count.
    pub(super) fn room_for_legs(&self, more: f64) -> Result<(), TooManyLegs> {
        let legs = self.legs.len() as f64 + more;
        if legs > MOST_LEGS as f64 {
            return Err(TooManyLegs { legs });
        }
        Ok(())
    }

    /// Legs that a file states.
    fn add_stated(
        &mut self,
        source: usize,
        start: Option<&Start>,
        legs: impl ExactSizeIterator<Item = Leg>,
        unnamed: &str,
    ) -> Result<(), TooManyLegs> {
        if legs.len() == 0 {
            return Ok(());
        }
        self.room_for(legs.len())?;
        if self.start.is_none() {
            let mut start = start.cloned().unwrap_or_else(|| Start::named(""));
            if start.name.is_empty() {
                "start".clone_into(&mut start.name);
                self.is_start_unnamed = true;
                self.notes.add(unnamed);
            }
            self.start = Some(start);
        }
        for (row, leg) in legs.enumerate() {
            let position = leg.lat.zip(leg.lon);
            self.at = position.map(|(lat, lon)| Position { lat, lon });
            self.legs.push(leg);
            self.stated.push((source, row));
        }
        Ok(())
    }

    /// Waypoints alone: places in the order of the file.
    fn add_waypoints(
        &mut self,
        waypoints: &[&Waypoint],
        options: &Options,
    ) -> Result<(), TooManyLegs> {
        if waypoints.len() < 2 {
            return Ok(());
        }
        self.room_for(waypoints.len())?;
        self.notes.add("There are only waypoints. They became places in the order of the file, without distances");
        for (n, waypoint) in waypoints.iter().enumerate() {
            let point = &waypoint.point;
            let otherwise = || format!("waypoint {}", n + 1);
            let name = self
                .names
                .of_place(&waypoint.words, point.position(), otherwise);
            let stop = Stop::from_waypoint(waypoint);
            if self.start.is_none() {
                self.go_to(point, &name, &stop, options);
            } else {
                self.legs.push(stop.leg(&name, point));
                self.at = Some(point.position());
            }
        }
        Ok(())
    }
}
