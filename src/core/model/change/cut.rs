//! One leg made two, and two made one: what adds up along the way still adds up to the same.
//!
//! Lengths, climbs, descents and idle hours are shared out or summed; shares of the way are weighed by
//! length; what holds everywhere on a leg (surface, speed, wind, temperature) holds on both halves. The
//! stop, the position and the remark belong to the end of a leg and go with it. What the formula makes of
//! a leg is not linear in its climbs, so litres may move by a little where climbs are not even.

use json_patch::PatchOperation;
use json_patch::jsonptr::PointerBuf;
use serde_json::{Value, json};

use super::follow::{self, Moved};
use super::{Change, ChangeError, LEGS, Step, WHAT_IFS};
use crate::model::Trip;
use crate::model::geodesic;
use crate::model::line::Polyline;
use crate::model::route::{DETOUR_FACTOR, Leg, Position, WayBack};
use crate::model::track::{Point, Track};
use crate::model::vocabulary::Hazard;
use crate::model::what_if::WhatIf;
use crate::quantity::{
    Degrees, Factor, Grade, Hours, Kilometres, KilometresPerHour, Metres, Share,
};

/// What of a leg is shared out when it is cut.
const EXTENSIVE: [&str; 4] = ["distance_km", "ascent_m", "descent_m", "idle_h"];
/// Sums that differ by less, in parts of the whole, are taken to be equal.
const ROUNDING: f64 = 1e-9;

/// How long a leg is and how much it climbs, stated or measured.
pub(super) struct Measured {
    pub(super) length: Kilometres,
    pub(super) ascent: Metres,
    pub(super) descent: Metres,
}

/// Measures a leg: what is stated wins over what its track shows, and a leg with neither gets the straight line
/// between its places, lengthened.
pub(super) fn measure(trip: &Trip, at: usize) -> Measured {
    let leg = &trip.legs[at];
    let profile = leg.track.as_ref().and_then(Track::profile);
    let climbed = profile.and_then(|profile| profile.climbed);
    let straight = || {
        let from = (0..=at)
            .rev()
            .find_map(|place_number| trip.place(place_number).position)?;
        let to = trip.place(at + 1).position?;
        Some(Kilometres::from(geodesic::distance(from, to)) * DETOUR_FACTOR.get())
    };
    Measured {
        length: leg
            .distance_km
            .or(profile.map(|profile| profile.length.into()))
            .or_else(straight)
            .unwrap_or_default(),
        ascent: leg
            .ascent_m
            .or(climbed.map(|climbed| climbed.ascent))
            .unwrap_or_default(),
        descent: leg
            .descent_m
            .or(climbed.map(|climbed| climbed.descent))
            .unwrap_or_default(),
    }
}

impl Change {
    /// Cuts a leg in two at a kilometre counted from its start; the first half ends at a new place of that name.
    ///
    /// # Errors
    /// When there is no such leg, the kilometre is not inside it, or its track is in a file that was not read.
    pub fn split_leg(
        trip: &Trip,
        at: usize,
        km: Kilometres,
        place: &str,
    ) -> Result<Self, ChangeError> {
        let leg = super::legs::leg(trip, at)?;
        let whole = measure(trip, at);
        if !(km > Kilometres::ZERO && km < whole.length) {
            return Err(ChangeError::Legs(format!(
                "leg {} can be split between 0 and {} km, got {}",
                at + 1,
                json!(whole.length),
                json!(km)
            )));
        }
        let share = Share::new(km / whole.length);
        let mut first = leg.clone();
        let mut second = leg.clone();
        place.clone_into(&mut first.to);
        (first.lat, first.lon, first.fuel, first.note) = (None, None, None, None);
        let first_km = leg.distance_km.map(|whole| whole * share.get());
        first.distance_km = first_km;
        second.distance_km = leg
            .distance_km
            .zip(first_km)
            .map(|(whole, first)| whole - first);
        let (up, down) = (
            leg.ascent_m.map(|whole| whole * share.get()),
            leg.descent_m.map(|whole| whole * share.get()),
        );
        (first.ascent_m, first.descent_m) = (up, down);
        second.ascent_m = leg.ascent_m.zip(up).map(|(whole, first)| whole - first);
        second.descent_m = leg.descent_m.zip(down).map(|(whole, first)| whole - first);
        let idle = leg.idle_h.map(|whole| whole * share.get());
        first.idle_h = idle;
        second.idle_h = leg.idle_h.zip(idle).map(|(whole, first)| whole - first);
        (second.day, second.depart) = (None, None);
        if let Some(track) = &leg.track {
            let (one, two) = cut_track(at, track, share)?;
            // Only between known places: a leg behind whose start is not known is measured from the last that is.
            let end = one.last().and_then(|line| line.points().last());
            let end = end.map(Point::position);
            let end = end.filter(|_| leg.lat.is_some());
            (first.lat, first.lon) = (end.map(|end| end.lat), end.map(|end| end.lon));
            (first.track, second.track) = (Some(Track::of_lines(one)), Some(Track::of_lines(two)));
            share_climb(&whole, &mut first, &mut second);
        } else if leg.distance_km.is_none()
            && let Some(middle) = middle(trip, at, share)
        {
            // Its length is that of the straight line, so the new place is on it.
            (first.lat, first.lon) = (Some(middle.lat), Some(middle.lon));
        }
        let kept = split_what_ifs(trip, at, share, place);
        let mut steps = vec![
            Step::ReplaceLeg {
                at,
                leg: Box::new(second),
            },
            Step::InsertLegs {
                at,
                legs: vec![first],
            },
        ];
        steps.extend(kept);
        let name = format!("split leg {} at {:.1} km", at + 1, km.get());
        Ok(Self::new(name, steps))
    }

    /// Makes one leg of a leg and the one behind it. What-ifs that refer to either no longer fit, since what they
    /// would mean for the whole is not what they meant for a part.
    ///
    /// # Errors
    /// When there are no two such legs, when fuel could be had where they meet, or when they differ in what holds
    /// all along a leg.
    pub fn join_legs(trip: &Trip, at: usize) -> Result<Self, ChangeError> {
        let (first, second) = (super::legs::leg(trip, at)?, super::legs::leg(trip, at + 1)?);
        alike(trip, at)?;
        let (one, two) = (measure(trip, at), measure(trip, at + 1));
        let mut joined = second.clone();
        (joined.day, joined.depart) = (first.day, first.depart);
        let length = one.length + two.length;
        joined.track = joined_track(first, second);
        let measured = joined.track.as_ref().and_then(Track::profile);
        let climbed = measured.and_then(|profile| profile.climbed);
        let unless_shown = |sum: f64, shown: Option<f64>| {
            let is_shown = shown.is_some_and(|shown| (shown - sum).abs() <= ROUNDING * sum.abs());
            (!is_shown).then_some(sum)
        };
        joined.distance_km = unless_shown(
            length.get(),
            measured.map(|profile| Kilometres::from(profile.length).get()),
        )
        .map(Kilometres::new);
        let climbs = |stated: [Option<Metres>; 2], sum: Metres, shown: Option<Metres>| {
            // Two tracks of which neither shows a climb may show one together.
            let is_known = stated.iter().any(Option::is_some)
                || sum > Metres::ZERO
                || shown.is_some_and(|shown| shown > Metres::ZERO);
            let sum = unless_shown(sum.get(), shown.map(Metres::get));
            sum.filter(|_| is_known).map(Metres::new)
        };
        joined.ascent_m = climbs(
            [first.ascent_m, second.ascent_m],
            one.ascent + two.ascent,
            climbed.map(|climbed| climbed.ascent),
        );
        joined.descent_m = climbs(
            [first.descent_m, second.descent_m],
            one.descent + two.descent,
            climbed.map(|climbed| climbed.descent),
        );
        let idle = [first.idle_h, second.idle_h];
        joined.idle_h = idle
            .iter()
            .any(Option::is_some)
            .then(|| idle.into_iter().flatten().sum::<Hours>());
        let weigh = Weights::from_lengths(one.length, two.length);
        weigh.all(first, second, &mut joined);
        joined.note = match (&first.note, &second.note) {
            (Some(one), Some(two)) if one != two => Some(format!("{one}\n{two}")),
            (one, two) => two.clone().or_else(|| one.clone()),
        };
        let mut steps = vec![
            Step::Remove {
                list: LEGS.to_owned(),
                at,
                count: 1,
            },
            Step::ReplaceLeg {
                at,
                leg: Box::new(joined),
            },
        ];
        let mut stored = trip.what_ifs().to_vec();
        let gone = Moved::removed(LEGS, trip.legs.len(), at, 2);
        // Both are gone, and in their place is one that no what-if refers to.
        let new = Moved::inserted(LEGS, trip.legs.len() - 2, at, 1);
        if follow::what_ifs(&mut stored, &gone) {
            follow::what_ifs(&mut stored, &new);
            steps.push(stored_again(&stored));
        }
        Ok(Self::new(
            format!("join legs {} and {}", at + 1, at + 2),
            steps,
        ))
    }
}

pub(super) fn stored_again(what_ifs: &[WhatIf]) -> Step {
    let json = serde_json::to_value(what_ifs).expect("text keys and finite numbers");
    Step::set(WHAT_IFS, json)
}

/// A what-if that changes the leg changes both halves: what adds up is shared out.
fn split_what_ifs(trip: &Trip, at: usize, share: Share, place: &str) -> Option<Step> {
    let mut stored = trip.what_ifs().to_vec();
    let moved = Moved::inserted(LEGS, trip.legs.len(), at, 1);
    let inside = format!("{LEGS}/{}/", at + 1);
    follow::what_ifs(&mut stored, &moved);
    let mut any = false;
    for what_if in &mut stored {
        // A patch that itself moves legs about counts them anew; its numbers are left as they are.
        let plain = what_if.change.iter().all(|operation| {
            let path = operation.path().as_str();
            !path.starts_with(LEGS) || path.matches('/').count() > 2
        });
        if !plain {
            continue;
        }
        let mut change = Vec::new();
        for mut operation in std::mem::take(&mut what_if.change) {
            if let Some(mut other) = of_first_half(&operation, &inside, at, place) {
                scale(&mut other, share.get());
                scale(&mut operation, 1.0 - share.get());
                change.push(other);
                any = true;
            }
            change.push(operation);
        }
        what_if.change = change;
    }
    any.then(|| stored_again(&stored))
}

/// The operation for the first half, if it is one on a value that both halves have.
fn of_first_half(
    operation: &PatchOperation,
    inside: &str,
    at: usize,
    place: &str,
) -> Option<PatchOperation> {
    let field = operation.path().as_str().strip_prefix(inside)?.to_owned();
    let of_end = |field: &str| {
        let first = field.split('/').next().unwrap_or_default();
        matches!(
            first,
            "lat" | "lon" | "fuel" | "note" | "track" | "day" | "depart"
        )
    };
    let path = PointerBuf::parse(format!("{LEGS}/{at}/{field}")).ok()?;
    let mut other = operation.clone();
    match &mut other {
        PatchOperation::Test(test) if field == "to" => {
            test.value = place.into();
            test.path = path;
        }
        _ if field == "to" || of_end(&field) => return None,
        PatchOperation::Test(step) => step.path = path,
        PatchOperation::Add(step) => step.path = path,
        PatchOperation::Replace(step) => step.path = path,
        PatchOperation::Remove(step) => step.path = path,
        PatchOperation::Move(_) | PatchOperation::Copy(_) => return None,
    }
    Some(other)
}

fn scale(operation: &mut PatchOperation, by: f64) {
    let adds_up = |path: &str| {
        EXTENSIVE
            .iter()
            .any(|key| path.ends_with(&format!("/{key}")))
    };
    let path = operation.path().as_str().to_owned();
    let value = match operation {
        PatchOperation::Add(step) => &mut step.value,
        PatchOperation::Replace(step) => &mut step.value,
        PatchOperation::Test(step) => &mut step.value,
        _ => return,
    };
    if let (true, Some(number)) = (adds_up(&path), value.as_f64()) {
        *value = json!(Factor::new(number * by));
    }
}

/// The point at a share of the straight line between a leg's places.
fn middle(trip: &Trip, at: usize, share: Share) -> Option<Position> {
    let from = (0..=at)
        .rev()
        .find_map(|place_number| trip.place(place_number).position)?;
    let to = trip.place(at + 1).position?;
    Some(geodesic::between(from, to, share))
}

/// The two parts of a track, cut at a share of the length of its lines; the gaps between them have none.
fn cut_track(
    at: usize,
    track: &Track,
    share: Share,
) -> Result<(Vec<Polyline>, Vec<Polyline>), ChangeError> {
    let lines = track.lines();
    if lines.is_empty() || lines.iter().any(|line| line.points().len() < 2) {
        return Err(ChangeError::Legs(format!(
            "leg {} cannot be split: its track was not read, or has a line of one point",
            at + 1
        )));
    }
    let lengths: Vec<Metres> = lines
        .iter()
        .map(|line| steps(line).into_iter().sum())
        .collect();
    let mut left = lengths.iter().copied().sum::<Metres>() * share.get();
    let mut nth = 0;
    while nth + 1 < lines.len() && left >= lengths[nth] {
        left -= lengths[nth];
        nth += 1;
    }
    let (before, behind) = lines.split_at(nth);
    if nth > 0 && left <= Metres::ZERO {
        return Ok((before.to_vec(), behind.to_vec()));
    }
    let (one, two) = cut_line(&behind[0], left);
    Ok((
        before.iter().cloned().chain([one]).collect(),
        std::iter::once(two)
            .chain(behind[1..].iter().cloned())
            .collect(),
    ))
}

/// The lengths from point to point.
fn steps(line: &Polyline) -> Vec<Metres> {
    let pairs = line.points().windows(2);
    pairs
        .map(|pair| geodesic::distance(pair[0].position(), pair[1].position()))
        .collect()
}

/// The two parts of a line of at least two points, both with the point at which it was cut.
fn cut_line(line: &Polyline, at: Metres) -> (Polyline, Polyline) {
    let (points, steps) = (line.points(), steps(line));
    let (mut left, mut before) = (at, 0);
    while before + 1 < steps.len() && left >= steps[before] {
        left -= steps[before];
        before += 1;
    }
    let (from, to, step) = (points[before], points[before + 1], steps[before]);
    let part = left.part_of(step).map_or(0.0, |part| part.clamp(0.0, 1.0));
    let position = geodesic::between(from.position(), to.position(), Share::new(part));
    let heights = from.height.zip(to.height);
    let height = heights.map(|(from, to)| from + (to - from) * part);
    let cut = Point::new(position, height);
    let first = points[..=before].iter().copied().chain([cut]).collect();
    let second = std::iter::once(cut)
        .chain(points[before + 1..].iter().copied())
        .collect();
    (Polyline::new(first), Polyline::new(second))
}

/// Climbs that the track showed are shared out as its halves show them; what their thresholds lose is stated on
/// the second.
fn share_climb(whole: &Measured, first: &mut Leg, second: &mut Leg) {
    let shown = |leg: &Leg| {
        let profile = leg.track.as_ref().and_then(Track::profile);
        profile
            .and_then(|profile| profile.climbed)
            .unwrap_or_default()
    };
    let (one, two) = (shown(first), shown(second));
    let rest = |stated: &mut Option<Metres>, whole: Metres, one: Metres, two: Metres| {
        if stated.is_none() && (one + two - whole).abs() > Metres::new(ROUNDING) {
            *stated = Some((whole - one).max(Metres::ZERO));
        }
    };
    rest(&mut second.ascent_m, whole.ascent, one.ascent, two.ascent);
    rest(
        &mut second.descent_m,
        whole.descent,
        one.descent,
        two.descent,
    );
}

/// Both tracks as one: the line that ends where the other begins goes on, and so does a single one from its end to the
/// start of the other; further lines stay lines of their own.
fn joined_track(first: &Leg, second: &Leg) -> Option<Track> {
    let (one, two) = (
        first.track.as_ref()?.lines(),
        second.track.as_ref()?.lines(),
    );
    let (last, before) = one.split_last()?;
    let (next, behind) = two.split_first()?;
    let meets = last.points().last() == next.points().first();
    let middle = if meets || (before.is_empty() && behind.is_empty()) {
        let rest = next.points().iter().skip(usize::from(meets));
        vec![Polyline::new(
            last.points().iter().chain(rest).copied().collect(),
        )]
    } else {
        vec![last.clone(), next.clone()]
    };
    let lines = before.iter().cloned().chain(middle);
    Some(Track::of_lines(
        lines.chain(behind.iter().cloned()).collect(),
    ))
}

/// What holds all along a leg must be the same on both.
fn alike(trip: &Trip, at: usize) -> Result<(), ChangeError> {
    let (first, second) = (&trip.legs[at], &trip.legs[at + 1]);
    if first.fuel.is_some() {
        return Err(ChangeError::Legs(format!(
            "the legs cannot be joined across the fuel stop {}; remove its fuel first",
            first.to
        )));
    }
    let days = trip.days();
    let differs = |what: &str, one: Value, two: Value| {
        let as_text = |value: &Value| {
            value
                .as_str()
                .map_or_else(|| value.to_string(), str::to_owned)
        };
        if one == two {
            return Ok(());
        }
        Err(ChangeError::Legs(format!(
            "legs {} and {} can be joined only if both have the same {what}, got {} and {}",
            at + 1,
            at + 2,
            as_text(&one),
            as_text(&two)
        )))
    };
    differs("day", days[at].into(), days[at + 1].into())?;
    differs("surface", json!(first.surface()), json!(second.surface()))?;
    differs("speed", json!(first.speed_kmh), json!(second.speed_kmh))?;
    differs(
        "tyre pressure",
        first.is_aired_down().into(),
        second.is_aired_down().into(),
    )?;
    differs(
        "air-conditioning",
        first.has_aircon().into(),
        second.has_aircon().into(),
    )
}

/// Each leg's part of the length of both.
struct Weights(f64, f64);

impl Weights {
    fn from_lengths(one: Kilometres, two: Kilometres) -> Self {
        let whole = one + two;
        if whole > Kilometres::ZERO {
            Self(one / whole, two / whole)
        } else {
            Self(0.5, 0.5)
        }
    }

    /// The mean of two winds as vectors, and where it blows from; a leg that sets none has a calm.
    fn mean_wind(&self, first: &Leg, second: &Leg) -> (KilometresPerHour, Degrees) {
        let [one, two] = [first, second].map(|leg| {
            leg.wind().map_or([0.0, 0.0], |(wind, from)| {
                let (east, north) = from.get().to_radians().sin_cos();
                [wind.get() * east, wind.get() * north]
            })
        });
        let [east, north] = [0, 1].map(|axis| self.mean(one[axis], two[axis]));
        let from = east.atan2(north).to_degrees().rem_euclid(360.0);
        (
            KilometresPerHour::new(east.hypot(north)),
            Degrees::new(from),
        )
    }

    fn mean(&self, one: f64, two: f64) -> f64 {
        // Equal values stay what they are, to the last digit.
        if one.to_bits() == two.to_bits() {
            one
        } else {
            one * self.0 + two * self.1
        }
    }

    /// Means of what is stated on both, and of what has a plain default on one.
    fn all(&self, first: &Leg, second: &Leg, joined: &mut Leg) {
        let share = |stated: [bool; 2], one: Share, two: Share| {
            let mean = self.mean(one.get(), two.get()).min(1.0);
            stated.contains(&true).then(|| Share::new(mean))
        };
        joined.sand_share = share(
            [first.sand_share.is_some(), second.sand_share.is_some()],
            first.sand_share(),
            second.sand_share(),
        );
        joined.dune_share = share(
            [first.dune_share.is_some(), second.dune_share.is_some()],
            first.dune_share(),
            second.dune_share(),
        );
        joined.low_range_share = share(
            [
                first.low_range_share.is_some(),
                second.low_range_share.is_some(),
            ],
            first.low_range_share(),
            second.low_range_share(),
        );
        let overlap =
            [first, second].map(|leg| leg.both_share.is_some() || leg.both_share() > Share::ZERO);
        joined.both_share = share(overlap, first.both_share(), second.both_share());
        macro_rules! mean_of_both {
            ($($field:ident),+) => {$(
                joined.$field = first.$field.zip(second.$field).map(|(one, two)| {
                    let mut mean = one;
                    if one != two {
                        mean = one * self.0 + two * self.1;
                    }
                    mean
                });
            )+};
        }
        mean_of_both!(mean_altitude_m, temperature_c);
        joined.surface_known_share = share(
            [
                first.surface_known_share.is_some(),
                second.surface_known_share.is_some(),
            ],
            first.surface_known_share(),
            second.surface_known_share(),
        );
        joined.surface_from = first.surface_from.max(second.surface_from);
        let hazards: Vec<Hazard> = Hazard::ALL
            .iter()
            .copied()
            .filter(|one| first.hazards().contains(one) || second.hazards().contains(one))
            .collect();
        let is_stated = first.hazards.is_some() || second.hazards.is_some();
        joined.hazards = is_stated.then_some(hazards);
        joined.ascent_grade = steeper(first.ascent_grade, second.ascent_grade);
        joined.descent_grade = steeper(first.descent_grade, second.descent_grade);
        let wind = |leg: &Leg| leg.headwind_kmh.unwrap_or_default();
        joined.headwind_kmh = (first.headwind_kmh.is_some() || second.headwind_kmh.is_some())
            .then(|| wind(first) * self.0 + wind(second) * self.1);
        (joined.wind_kmh, joined.wind_from_deg) = if first.wind() == second.wind() {
            (first.wind_kmh, first.wind_from_deg)
        } else {
            let (wind, from) = self.mean_wind(first, second);
            (Some(wind), Some(from))
        };
        if first.way_back != second.way_back {
            let factor = self.mean(first.return_factor().get(), second.return_factor().get());
            joined.way_back = Some(WayBack {
                possible: Some(first.can_return() && second.can_return()),
                factor: Some(Factor::new(factor)),
            });
        }
    }
}

/// A grade that both state, the steeper one: climbs at it always fit into the length of both.
fn steeper(one: Option<Grade>, two: Option<Grade>) -> Option<Grade> {
    one.zip(two).map(|(one, two)| one.max(two))
}
