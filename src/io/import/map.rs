//! What a map shows along the lines of an import: surfaces, hazards, speed limits, fuel stops.
//!
//! A line is cut into legs where its surface changes for long enough that the leg table stays readable. What the map
//! does not show stays unknown: a leg states how much of its surface is known.

use std::path::PathBuf;
use std::sync::Arc;

use super::along::Stops;
use super::legs::Draft;
use super::line::{Cut, at_distances, rounded};
use super::measurement::LegOnMap;
use super::notes::{Notes, counted};
use super::problem::{ImportError, ImportProblem};
use super::snap;
use super::source::Source;
use super::trip_line::TripLine;
use super::{Options, Split};
use crate::consumption::surface;
use crate::io::osm::{self, Corridor, Extract, OsmError};
use crate::io::reading::{Waypoint, Words};
use crate::model::Trip;
use crate::model::route::Leg;
use crate::model::track::Point;
use crate::model::vehicle::BASELINE_SPEED;
use crate::model::vocabulary::{Hazard, SurfaceFrom};
use crate::present::ground::in_words;
use crate::present::number::{Toward, Units};
use crate::quantity::{Kilometres, KilometresPerHour, Metres, Share};
use crate::roads::{Along, Summary, matching};

/// Two points of one fuel stop.
const SAME_STOP: Metres = Metres::new(250.0);
/// Of several fuel stops within this distance along the route the nearest to it is proposed. Common practice, no source:
/// half an hour's drive.
const ONE_STOP_WITHIN: Metres = Metres::new(20_000.0);
/// A surface is worth a leg of its own from here on, in any trip.
pub(crate) const SHORTEST: Metres = Metres::new(3000.0);
/// Legs of a trip for each so many kilometres, and the fewest and most that this gives.
const KM_OF_LEG: f64 = 50.0;
const LEGS: (f64, f64) = (10.0, 30.0);
/// Part of a leg with a speed limit from which the limit is proposed.
const LIMITED: Share = Share::new(0.5);
/// Part of a leg on ferries from which it is a crossing.
const CROSSING: Share = Share::new(0.5);

/// A map for an import.
#[derive(Clone)]
pub struct MapChoice {
    /// Extracts, read as one map.
    pub files: Vec<PathBuf>,
    /// Called with the part of the reading that is done; the answer is whether to continue.
    pub progress: Arc<dyn Fn(Share) -> bool + Send + Sync>,
}

impl std::fmt::Debug for MapChoice {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_tuple("MapChoice").field(&self.files).finish()
    }
}

/// Reads what the map has near the lines of the sources.
pub(super) fn read(sources: &[Source], options: &Options) -> Result<Option<Extract>, ImportError> {
    let Some(choice) = &options.map else {
        return Ok(None);
    };
    let lines = sources.iter().filter_map(Source::reading);
    let lines = lines.flat_map(|reading| &reading.lines);
    let corridor = Corridor::new(
        lines.map(|line| line.points.as_slice()),
        options.detour_within,
    );
    let extract = osm::read(&choice.files, &corridor, &*choice.progress);
    extract.map(Some).map_err(problem)
}

fn problem(error: OsmError) -> ImportError {
    let problem = match error {
        OsmError::System { path, cause } => return ImportError::Unreadable { path, cause },
        error => ImportProblem::new("--map", error.to_string()),
    };
    ImportError::Problems(vec![problem])
}

/// The fuel stops of a map as waypoints, those left out that the files have themselves.
pub(super) fn fuel_stops(extract: &Extract, known: &[&Waypoint]) -> Vec<Waypoint> {
    let known = known.iter().filter(|waypoint| waypoint.words.tells_fuel());
    let known = known.map(|waypoint| waypoint.point.position());
    let known = snap::Waypoints::new(known.collect());
    let points: Vec<Point> = extract
        .fuel
        .iter()
        .map(|object| Point::new(object.position, None))
        .collect();
    let beside = known.nearest_to_each(&points, SAME_STOP);
    extract
        .fuel
        .iter()
        .zip(beside)
        .filter(|(_, known)| known.is_none())
        .map(|(object, _)| Waypoint {
            point: Point::new(object.position, None),
            words: Words {
                name: Some(
                    object
                        .name
                        .clone()
                        .unwrap_or_else(|| "fuel stop".to_owned()),
                ),
                kind: Some("fuel".to_owned()),
                description: (!object.tags.is_empty()).then(|| object.tags.join(", ")),
                is_proposed: true,
                ..Words::default()
            },
        })
        .collect()
}

/// Leaves only the nearest of the proposed fuel stops in each part of the route; notes how many there were.
pub(super) fn choose_fuel_stops(ways: &mut [TripLine], waypoints: &[&Waypoint], notes: &mut Notes) {
    let is_proposed = |waypoint: usize| waypoints[waypoint].words.is_proposed;
    let mut left_out = 0;
    for way in ways {
        let mut stops: Vec<(Metres, Metres, usize)> = way
            .passes
            .iter()
            .chain(&way.fuel_stops)
            .filter(|pass| is_proposed(pass.waypoint))
            .map(|pass| (pass.off, pass.along, pass.waypoint))
            .collect();
        stops.sort_by(|a, b| a.0.get().total_cmp(&b.0.get()));
        let mut kept: Vec<(Metres, usize)> = Vec::new();
        for (_, along, waypoint) in stops {
            let is_apart = |of: &(Metres, usize)| (of.0 - along).abs() >= ONE_STOP_WITHIN;
            if kept.iter().all(is_apart) {
                kept.push((along, waypoint));
            } else {
                left_out += 1;
            }
        }
        let is_kept = |along: Metres, waypoint: usize| {
            !is_proposed(waypoint) || kept.contains(&(along, waypoint))
        };
        way.passes.retain(|pass| is_kept(pass.along, pass.waypoint));
        way.fuel_stops
            .retain(|pass| is_kept(pass.along, pass.waypoint));
    }
    if left_out > 0 {
        notes.add(format!(
            "{} not proposed, because another is within {} km along the route",
            counted(
                left_out,
                "fuel stop of the map was",
                "fuel stops of the map were"
            ),
            ONE_STOP_WITHIN.get() / 1000.0
        ));
    }
}

/// Matches every line to the map, and notes how well that went.
pub(super) fn match_lines(extract: &Extract, ways: &mut [TripLine], notes: &mut Notes) {
    let mut rough = Vec::new();
    for way in ways.iter_mut().filter(|way| way.is_drawn()) {
        let matched = matching::matched(&extract.network, &way.line().points);
        let along = Along::new(&extract.network, &matched);
        if along.is_rough() {
            rough.push(way.title());
        }
        way.ground = Some(along);
    }
    notes.add_of(&rough, |_, names| format!(
        "Points are so far apart that the roads between them are uncertain: {names}. Of 100 km about 9 get a wrong surface. A track with a point every 50 m is matched better"
    ));
}

/// Length from which a change of surface begins a leg, so that the trip has a readable number of legs.
pub(super) fn shortest_leg(ways: &[TripLine]) -> Metres {
    let km: f64 = ways.iter().map(|way| way.length.get() / 1000.0).sum();
    let most = (km / KM_OF_LEG).clamp(LEGS.0, LEGS.1);
    let legs = |shortest: Metres| -> usize {
        let of_way = |way: &TripLine| {
            let ground = way.ground.as_ref();
            1 + ground.map_or(0, |ground| {
                ground.changes(Metres::ZERO, way.length, shortest).len()
            })
        };
        ways.iter().map(of_way).sum()
    };
    let mut shortest = SHORTEST;
    while legs(shortest) as f64 > most && shortest.get() < 1000.0 * km {
        shortest = shortest * 1.25;
    }
    shortest
}

/// Puts cuts where the surface changes between the places of a way.
pub(super) fn cut(way: &TripLine, shortest: Metres, stops: &mut Stops, options: &Options) {
    let Some(ground) = &way.ground else { return };
    if !matches!(options.split, None | Some(Split::Waypoints)) {
        return;
    }
    let ends = stops.between.iter().map(|cut| cut.along);
    let ends: Vec<Metres> = std::iter::once(Metres::ZERO)
        .chain(ends)
        .chain([way.length])
        .collect();
    let changes: Vec<Metres> = ends
        .windows(2)
        .flat_map(|pair| ground.changes(pair[0], pair[1], shortest))
        .collect();
    stops
        .between
        .extend(at_distances(&way.line().points, &changes));
    stops
        .between
        .sort_by(|a: &Cut, b: &Cut| a.along.get().total_cmp(&b.along.get()));
}

impl Draft<'_> {
    /// States in a leg what the map shows between two distances along its way.
    pub(super) fn state_ground(
        &mut self,
        way: &TripLine,
        (from, to): (Metres, Metres),
        leg: &mut Leg,
        options: &Options,
    ) {
        if let Some(ground) = &way.ground {
            self.state_summary(&ground.summary(from, to), leg, options);
        }
    }

    /// States in a leg what the map shows along its own line.
    pub(super) fn state_line(&mut self, points: &[Point], leg: &mut Leg, options: &Options) {
        if let Some(extract) = self.extract {
            let matched = matching::matched(&extract.network, points);
            let ground = Along::new(&extract.network, &matched);
            let summary = ground.summary(Metres::ZERO, Metres::new(f64::INFINITY));
            self.state_summary(&summary, leg, options);
        }
    }

    fn state_summary(&mut self, summary: &Summary, leg: &mut Leg, options: &Options) {
        let lender = options.vehicle_from.as_deref();
        let is_invented = self.extract.is_some_and(|extract| extract.is_invented);
        apply(summary, leg, is_invented, |leg| usual_speed(lender, leg));
        let number = self.legs.len() + 1;
        self.on_map.push(leg_on_map(number, &leg.to, summary));
    }
}

/// The speed at which a leg is planned if it states none.
pub(crate) fn usual_speed(trip: Option<&Trip>, leg: &Leg) -> KilometresPerHour {
    let of_trip = trip.and_then(|trip| trip.rules().speed_on(leg.surface()));
    let baseline = || trip.map_or(BASELINE_SPEED, |trip| trip.vehicle.baseline_speed());
    of_trip
        .or(surface::properties(leg.surface()).speed)
        .unwrap_or_else(baseline)
}

/// States in a leg what it does not state yet and a map shows.
pub(crate) fn apply(
    summary: &Summary,
    leg: &mut Leg,
    is_invented: bool,
    usual: impl Fn(&Leg) -> KilometresPerHour,
) {
    let share = |share: Share| Share::new(rounded(share.get(), 100.0));
    if leg.surface.is_none() {
        leg.surface = summary.surface();
        leg.surface_known_share = Some(share(summary.known));
        leg.surface_from = Some(if is_invented {
            SurfaceFrom::InventedMap
        } else {
            SurfaceFrom::Map
        });
        let sand = share(Share::new(
            summary.of(crate::roads::Ground::Sand) / summary.length,
        ));
        if leg.sand_share.is_none() && sand > Share::ZERO {
            leg.sand_share = Some(sand);
        }
    }
    if leg.hazards.is_none() && !summary.hazards.is_empty() {
        leg.hazards = Some(summary.hazards.iter().map(|(hazard, ..)| *hazard).collect());
    }
    let rough: f64 = [Hazard::VeryRough, Hazard::Extreme, Hazard::Impassable]
        .into_iter()
        .map(|hazard| summary.share_of(hazard).get())
        .sum();
    let rough = share(Share::new(rough.min(1.0)));
    if leg.low_range_share.is_none() && rough > Share::ZERO {
        leg.low_range_share = Some(rough);
    }
    if summary.share_of(Hazard::Ferry) >= CROSSING {
        // A ferry burns nothing of the vehicle's fuel.
        leg.distance_km = Some(Kilometres::ZERO);
        (
            leg.ascent_m,
            leg.descent_m,
            leg.ascent_grade,
            leg.descent_grade,
        ) = (None, None, None, None);
        return;
    }
    if let Some((limit, of_leg)) = summary.limit
        && of_leg >= LIMITED
        && leg.speed_kmh.is_none()
        && limit < usual(leg)
    {
        leg.speed_kmh = Some(KilometresPerHour::new(limit.get().round()));
    }
}

/// What each leg was driven on, for the measurements.
pub(super) fn leg_on_map(leg: usize, to: &str, summary: &Summary) -> LegOnMap {
    let km = |length: Metres| Kilometres::new(rounded(length.get() / 1000.0, 1000.0));
    let grounds = summary.grounds.iter();
    LegOnMap {
        leg,
        to: to.to_owned(),
        km_by_ground: grounds
            .map(|(ground, length)| (in_words(*ground).to_owned(), km(*length)))
            .collect(),
        known_share: Share::new(rounded(summary.known.get(), 1000.0)),
        probability: Share::new(rounded(summary.probability.get(), 1000.0)),
        ways: summary.ways.clone(),
    }
}

/// Notes what the map gave, and what it did not.
pub(super) fn note(legs: &[Leg], on_map: &[LegOnMap], units: Units, notes: &mut Notes) {
    if on_map.is_empty() {
        return;
    }
    let mut sums: Vec<(&str, Kilometres)> = Vec::new();
    for (ground, km) in on_map.iter().flat_map(|leg| &leg.km_by_ground) {
        match sums.iter_mut().find(|(known, _)| *known == ground.as_str()) {
            Some((_, sum)) => *sum += *km,
            None => sums.push((ground.as_str(), *km)),
        }
    }
    sums.sort_by(|a, b| b.1.get().total_cmp(&a.1.get()));
    let sums: Vec<String> = sums
        .iter()
        .map(|(ground, km)| format!("{} {ground}", units.distance(*km, Toward::Nearest)))
        .collect();
    notes.add(format!(
        "Surfaces from the map: {}. Their probabilities are those of the match; what the map itself has wrong is not part of them",
        sums.join(", ")
    ));
    let unknown = legs
        .iter()
        .filter(|leg| leg.surface_from.is_some() && leg.surface.is_none());
    let unknown: Vec<&str> = unknown.map(|leg| leg.to.as_str()).collect();
    notes.add_of(&unknown, |_, names| format!(
        "The map shows no surface before {names}. Set `surface` there; until then the simulation varies it"
    ));
}
