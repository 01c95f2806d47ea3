//! What an existing trip does not state, from a map and from elevation tiles: surfaces, hazards, speed limits, fuel stops,
//! climb. Nothing that the trip states changes. A leg needs a track.

use std::path::Path;

use super::heights::{NoTiles, Tiles};
use super::import::map::{MapChoice, SHORTEST, apply, usual_speed};
use super::import::{PROPOSED, measured};
use super::osm::{self, Corridor, Extract, OsmError};
use crate::model::change::Change;
use crate::model::drape::draped;
use crate::model::geodesic;
use crate::model::line::Polyline;
use crate::model::route::{DETOUR_FACTOR, FuelStop, Leg, Position};
use crate::model::survey::Profile;
use crate::model::track::{Point, Track};
use crate::model::{Trip, climb::THRESHOLD};
use crate::present::number::{Toward, Units, percent};
use crate::quantity::{Kilometres, Metres, Share};
use crate::roads::{Along, matching};

/// Tracks of trips are thinned to their bends; their straight parts are matched by points this far apart.
const RESAMPLED: Metres = Metres::new(40.0);
/// A fuel stop of a map belongs to a place of the trip within this distance.
const AT_PLACE: Metres = Metres::new(1000.0);
/// Fuel stops away from the places of the trip that are named.
const MOST_NAMED: usize = 12;
/// The name of the change.
const NAME: &str = "fill from map files";

/// A trip with what was added, and what that was.
pub struct Filled {
    /// The trip with what was added.
    pub trip: Trip,
    /// The change that adds it.
    pub change: Change,
    /// What was added, a line each: `leg 3 to Cairn: surface gravel`.
    pub added: Vec<String>,
    /// What else the files show, and the notice of the map.
    pub notes: Vec<String>,
}

/// What a trip is to be filled from.
#[derive(Debug)]
pub struct FillFrom<'a> {
    /// A map to read the surfaces from.
    pub map: Option<&'a MapChoice>,
    /// A folder of elevation tiles.
    pub heights: Option<&'a Path>,
    /// Fuel stops of the map are named within this distance of the route.
    pub detour_within: Kilometres,
    /// Whether legs are split where the surface changes lastingly.
    pub is_split: bool,
}

/// Why a trip could not be filled.
#[derive(Debug, thiserror::Error)]
pub enum FillError {
    /// The map cannot be read.
    #[error(transparent)]
    Map(#[from] OsmError),
    /// There are no tiles.
    #[error(transparent)]
    Heights(#[from] NoTiles),
}

/// Fills what a trip does not state from the files of a map and of heights.
///
/// # Errors
/// When a file cannot be read.
pub fn filled(trip: &Trip, from: &FillFrom<'_>, units: Units) -> Result<Filled, FillError> {
    let tracks = trip.legs.iter().filter_map(|leg| leg.track.as_ref());
    let lines: Vec<Polyline> = tracks.flat_map(Track::lines).cloned().collect();
    let corridor = || Corridor::new(lines.iter().map(Polyline::points), from.detour_within);
    let extract = from
        .map
        .map(|map| osm::read(&map.files, &corridor(), &*map.progress))
        .transpose()?;
    let mut tiles = from.heights.map(Tiles::in_folder).transpose()?;
    let (whole, splits) = match &extract {
        Some(extract) if from.is_split => split(trip, extract),
        _ => (trip.clone(), Vec::new()),
    };
    let mut filled = fill(&whole, extract.as_ref(), tiles.as_mut(), units);
    if !splits.is_empty() {
        filled.added.insert(
            0,
            format!(
                "{} legs became {}, split where the surface changes",
                trip.legs.len(),
                whole.legs.len()
            ),
        );
        let changes = splits.into_iter().chain([filled.change]);
        filled.change = changes.fold(Change::none(NAME), Change::then);
    }
    filled.notes.extend(tiles.iter().flat_map(Tiles::ignored));
    filled
        .notes
        .extend(extract.map(|extract| extract.notice().to_owned()));
    Ok(filled)
}

/// Points of a line with others between those that are far apart.
fn resampled(line: &Polyline) -> Vec<Point> {
    let mut points: Vec<Point> = line.points().iter().take(1).copied().collect();
    for pair in line.points().windows(2) {
        let (from, to) = (pair[0].position(), pair[1].position());
        let parts = (geodesic::distance(from, to) / RESAMPLED)
            .ceil()
            .clamp(1.0, 10_000.0);
        let mut part = 1.0;
        while part < parts {
            let at = geodesic::between(from, to, Share::new(part / parts));
            points.push(Point::new(at, None));
            part += 1.0;
        }
        points.push(pair[1]);
    }
    points
}

/// Splits the legs of a trip where their surface changes lastingly.
///
/// Places, days and names stay; what adds up along a leg is shared out. The changes that were made come with the trip.
fn split(trip: &Trip, extract: &Extract) -> (Trip, Vec<Change>) {
    let mut trip = trip.clone();
    let mut made = Vec::new();
    let lengths: Vec<Kilometres> = trip.legs.iter().map(length).collect();
    for at in (0..trip.legs.len()).rev() {
        let leg = &trip.legs[at];
        let Some([line]) = leg.track.as_ref().map(Track::lines) else {
            continue;
        };
        if leg.surface.is_some() {
            continue;
        }
        let matched = matching::matched(&extract.network, &resampled(line));
        let ground = Along::new(&extract.network, &matched);
        let whole = ground
            .summary(Metres::ZERO, Metres::new(f64::INFINITY))
            .length;
        let driven = leg.distance_km.map_or(whole, Metres::from);
        for change in ground
            .changes(Metres::ZERO, whole, SHORTEST)
            .into_iter()
            .rev()
        {
            let km = Kilometres::from(driven * (change / whole));
            let before = lengths[..at].iter().fold(km, |sum, km| sum + *km);
            let name = unused(&trip, &format!("km {:.1}", before.get()));
            if let Ok(cut) = Change::split_leg(&trip, at, km, &name)
                && let Ok((changed, _)) = cut.apply(&trip)
            {
                trip = changed;
                made.push(cut);
            }
        }
    }
    (trip, made)
}

/// Length of a leg, stated or that of its track.
fn length(leg: &Leg) -> Kilometres {
    let profile = leg.track.as_ref().and_then(Track::profile);
    let measured = profile.map(|profile| Kilometres::from(profile.length));
    leg.distance_km.or(measured).unwrap_or_default()
}

/// A name that no place of the trip has, which would then be the same place.
fn unused(trip: &Trip, name: &str) -> String {
    let is_used = |name: &str| trip.places().any(|place| place.name == name);
    let numbered = (2..).map(|number| format!("{name} ({number})"));
    let mut names = std::iter::once(name.to_owned()).chain(numbered);
    names.find(|name| !is_used(name)).unwrap_or_default()
}

/// Fills what the trip does not state.
fn fill(
    trip: &Trip,
    extract: Option<&Extract>,
    mut tiles: Option<&mut Tiles>,
    units: Units,
) -> Filled {
    let mut filled = Filled {
        trip: trip.clone(),
        change: Change::none(NAME),
        added: Vec::new(),
        notes: Vec::new(),
    };
    let mut without_track = 0;
    for (at, leg) in filled.trip.legs.iter_mut().enumerate() {
        let before = leg.clone();
        let Some(track) = &leg.track else {
            without_track += 1;
            continue;
        };
        let lines: Vec<Polyline> = track.lines().to_vec();
        if let Some(extract) = extract {
            // A gap in the track is short beside the rest.
            let longest = lines.iter().max_by(|a, b| {
                let length = |line: &Polyline| line.profile().length.get();
                length(a).total_cmp(&length(b))
            });
            if let Some(line) = longest {
                let matched = matching::matched(&extract.network, &resampled(line));
                let ground = Along::new(&extract.network, &matched);
                let summary = ground.summary(Metres::ZERO, Metres::new(f64::INFINITY));
                if summary.length > Metres::ZERO {
                    apply(&summary, leg, extract.is_invented, |leg| {
                        usual_speed(Some(trip), leg)
                    });
                }
            }
        }
        if let Some(tiles) = &mut tiles {
            climb(leg, &lines, tiles);
        }
        let added = differences(&before, leg, units);
        if !added.is_empty() {
            filled.added.push(format!(
                "leg {} to {}: {}",
                at + 1,
                leg.to,
                added.join(", ")
            ));
        }
    }
    if without_track > 0 {
        filled.notes.push(format!(
            "{without_track} of {} legs have no track, so nothing is known of them",
            trip.legs.len()
        ));
    }
    if let Some(extract) = extract {
        fuel(&mut filled, extract, units);
        if !filled.added.is_empty() {
            filled.trip.notice = Some(extract.notice().to_owned());
        }
    }
    let change = Change::restated(trip, &filled.trip, NAME);
    filled.change = change.expect("no leg was added or removed");
    filled
}

/// Climb, descent and altitude of a leg that states none, and whose track has no altitudes.
fn climb(leg: &mut Leg, lines: &[Polyline], tiles: &mut Tiles) {
    let has_own = lines
        .iter()
        .flat_map(Polyline::points)
        .any(|point| point.height.is_some());
    if has_own || leg.ascent_m.is_some() || leg.descent_m.is_some() || leg.mean_altitude_m.is_some()
    {
        return;
    }
    let profiles = lines.iter().map(|line| {
        let draped = draped(line.points(), |at| tiles.height(at));
        Profile::from_points(&draped.points, THRESHOLD)
    });
    let Some(profile) = profiles.reduce(Profile::and) else {
        return;
    };
    let Some(end) = lines.last().and_then(|line| line.points().last()) else {
        return;
    };
    let shown = measured(&leg.to, end, &profile);
    (leg.ascent_m, leg.descent_m) = (shown.ascent_m, shown.descent_m);
    (leg.ascent_grade, leg.descent_grade) = (
        leg.ascent_grade.or(shown.ascent_grade),
        leg.descent_grade.or(shown.descent_grade),
    );
    leg.mean_altitude_m = shown.mean_altitude_m;
}

/// Proposes the fuel stops of a map at places of the trip; names the others.
fn fuel(filled: &mut Filled, extract: &Extract, units: Units) {
    let places: Vec<(usize, Position)> = filled
        .trip
        .places()
        .filter_map(|place| Some((place.place_number, place.position?)))
        .collect();
    let mut elsewhere = Vec::new();
    for object in &extract.fuel {
        let name = object.name.as_deref().unwrap_or("fuel stop");
        let nearest = places
            .iter()
            .map(|(number, at)| (geodesic::distance(*at, object.position), *number))
            .min_by(|a, b| a.0.get().total_cmp(&b.0.get()));
        let Some((off, number)) = nearest.filter(|(off, _)| *off <= AT_PLACE) else {
            let (lat, lon) = (object.position.lat, object.position.lon);
            elsewhere.push(format!("{name} ({:.4}, {:.4})", lat.get(), lon.get()));
            continue;
        };
        let fuel = match number.checked_sub(1) {
            None => &mut filled.trip.start.fuel,
            Some(leg) => &mut filled.trip.legs[leg].fuel,
        };
        if fuel.is_some() {
            continue;
        }
        let detour = Kilometres::from(off) * 2.0 * DETOUR_FACTOR.get();
        let detour = Kilometres::new((detour.get() * 10.0).ceil() / 10.0);
        let tags = object.tags.iter().map(|tag| format!(", {tag}"));
        *fuel = Some(FuelStop {
            chance: Some(PROPOSED),
            detour_km: Some(detour),
            note: Some(format!(
                "{name}, from the map, not confirmed{}",
                tags.collect::<String>()
            )),
            ..FuelStop::default()
        });
        filled.added.push(format!(
            "place {number}: fuel stop {name}, unconfirmed, detour {}",
            units.distance(detour, Toward::Up)
        ));
    }
    if !elsewhere.is_empty() {
        let more = elsewhere.len().saturating_sub(MOST_NAMED);
        elsewhere.truncate(MOST_NAMED);
        let more = if more > 0 {
            format!(" and {more} more")
        } else {
            String::new()
        };
        filled.notes.push(format!(
            "Fuel stops of the map near the route, at no place of the trip: {}{more}",
            elsewhere.join(", ")
        ));
    }
}

/// What a leg states that it did not before, in words.
fn differences(before: &Leg, after: &Leg, units: Units) -> Vec<String> {
    let mut added = Vec::new();
    if before.surface_from != after.surface_from {
        let known = percent(after.surface_known_share());
        added.push(after.surface.map_or_else(
            || "no surface on the map".to_owned(),
            |surface| format!("surface {}, {known} known", surface.word()),
        ));
    }
    if before.sand_share != after.sand_share {
        added.push(format!("sand {}", percent(after.sand_share())));
    }
    if before.low_range_share != after.low_range_share {
        added.push(format!("low range {}", percent(after.low_range_share())));
    }
    if before.hazards != after.hazards {
        let words: Vec<&str> = after.hazards().iter().map(|hazard| hazard.word()).collect();
        added.push(words.join(", "));
    }
    if let Some(speed) = after.speed_kmh.filter(|_| before.speed_kmh.is_none()) {
        added.push(units.speed(speed, Toward::Nearest).to_string());
    }
    if before.distance_km != after.distance_km {
        added.push("a ferry, so no distance is driven".to_owned());
    }
    if before.ascent_m != after.ascent_m
        && let Some((up, down)) = after.ascent_m.zip(after.descent_m)
    {
        added.push(format!(
            "{} climb, {} descent",
            units.height(up),
            units.height(down)
        ));
    }
    added
}
