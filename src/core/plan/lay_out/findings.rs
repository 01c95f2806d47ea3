//! The findings of a plan, collected in one pass over the solved trip.

use std::collections::HashSet;

use crate::consumption::spread::baseline_spread;
use crate::consumption::surface;
use crate::consumption::tyres::least_for;
use crate::model::Trip;
use crate::model::climb::THRESHOLD;
use crate::model::route::{FuelStop, Leg};
use crate::model::track::Track;
use crate::model::vehicle::Axles;
use crate::model::vocabulary::{BaselineFrom, CarryingPlace, KerbFrom, RoofShape};
use crate::quantity::{
    Celsius, Days, Grade, Hours, Kilograms, Kilometres, KilometresPerHour, Litres, Metres, Share,
};
use crate::solver::axles::Moments;
use crate::solver::carriage;
use crate::solver::filling;
use crate::solver::fuel::ROUNDING;

use super::carrying::{elsewhere, no_more_cans};
use super::{relied, shortages};
use crate::plan::facts::TripFacts;
use crate::plan::kept::driving::Driving;
use crate::plan::parts::finding::{Finding, OfTrack, What, Where};
use crate::plan::parts::legs::PlannedLeg;
use crate::plan::parts::stages::Stage;
use crate::plan::parts::stops::Stop;
use crate::plan::parts::supplies::Supplies;
use crate::plan::trial::Trial;
use crate::plan::under_way::progress::Worth;
use crate::solver::cans::ChosenCans;
use crate::solver::load::LoadLimit;

/// All findings, gravest first; within a severity fuel comes first, then load, vehicle, route.
pub(in crate::plan) fn all(
    facts: &TripFacts<'_>,
    trial: &Trial,
    legs: &[PlannedLeg],
    stops: &[Stop],
    stages: &[Stage],
    supplies: &Supplies,
    tried_of_more: Option<usize>,
) -> Vec<Finding> {
    let mut findings = Vec::new();
    in_cans(facts, trial, tried_of_more, &mut findings);
    shortages::findings(facts, trial, legs, &mut findings);
    relied::findings(facts, trial, &mut findings);
    way(facts.trip, stops, stages, trial, &mut findings);
    load(facts, trial, &mut findings);
    vehicle(facts, &mut findings);
    route(facts, trial, legs, &mut findings);
    findings.extend(engine(facts, legs));
    findings.extend(cold(facts, trial));
    findings.extend(pressure(facts, trial));
    days(facts, legs, &mut findings);
    cost(facts, trial, &mut findings);
    self::supplies(facts.trip, trial, supplies, &mut findings);
    document(facts, &mut findings);
    findings.sort_by_key(Finding::severity);
    findings
}

fn in_cans(
    facts: &TripFacts<'_>,
    trial: &Trial,
    tried_of_more: Option<usize>,
    findings: &mut Vec<Finding>,
) {
    let trip = facts.trip;
    let mut add = |at, what| findings.push(Finding { at, what });
    if trial.short_at_start > ROUNDING {
        let short = trial.short_at_start;
        add(Where::Place(facts.from()), What::ShortAtStart { short });
    }
    let (reserve, tank) = (
        trip.rules().reserve_litres(&trip.vehicle),
        trial.problem.tank,
    );
    if reserve > tank + ROUNDING {
        add(Where::Vehicle, What::ReserveOverTank { reserve, tank });
    }
    let (stated, held) = (trip.rules().start_cans(), trial.loadout.fill);
    if stated > held + ROUNDING {
        add(Where::Load, What::StartCansOver { stated, held });
    }
    let needed = trial.need.in_cans;
    match trip.rules().most_in_cans_l {
        Some(limit) if needed > limit + ROUNDING => {
            let litres = needed;
            add(Where::Trip, What::OverMostInCans { litres, limit });
        }
        _ if !trial.covers() => {
            let (most, why) = (trial.loadout.fill, no_more_cans(facts, trial));
            add(Where::Trip, What::CansShort { needed, most, why });
        }
        _ => {}
    }
    if let Some(tried) = tried_of_more {
        add(Where::Load, What::CanSetsCut { tried });
    }
    if trial.need.sharing_cut {
        add(Where::Trip, What::SharingCut);
    }
}

fn way(trip: &Trip, stops: &[Stop], stages: &[Stage], trial: &Trial, findings: &mut Vec<Finding>) {
    for stage in stages.iter().filter(|stage| stage.turn_back.is_none()) {
        findings.push(What::NoTurnBack { to: stage.to }.at(Where::Place(stage.from)));
    }
    let used = |stop: &&Stop| {
        stop.place_number < trip.legs.len() && trial.need.at_fuel_stop[stop.place_number].is_some()
    };
    for stop in stops
        .iter()
        .filter(used)
        .filter(|stop| stop.chance < Share::new(1.0))
    {
        let chance = stop.chance;
        findings.push(What::UnconfirmedStop { chance }.at(Where::Place(stop.place_number)));
    }
}

/// The unconfirmed fuel stops that are relied on without whose fuel more than one trip in twenty runs out whatever is
/// done.
pub(in crate::plan) fn stops_that_strand(facts: &TripFacts<'_>, driving: &Driving) -> Vec<Finding> {
    let chance = |place_number: usize| facts.trip.place(place_number).fuel.map(FuelStop::chance);
    let mut unconfirmed = driving.stops();
    unconfirmed.retain(|place_numbers| {
        chance(place_numbers[0]).is_some_and(|chance| chance < Share::new(1.0))
    });
    if unconfirmed.is_empty() {
        return Vec::new();
    }
    let (drawn, driven) = driving.again();
    let target = facts.trip.rules().success_target();
    let stranding = unconfirmed.iter().filter_map(|place_numbers| {
        let choices = driving.choices_if_dry((&drawn, &driven), place_numbers, target);
        let back = choices.shares.back.map(|back| back.ran_out.share);
        let what = What::StopStrands {
            on_to: choices.on_to,
            run_out: choices.shares.on.ran_out.share,
            back: choices.back_to.zip(back),
        };
        let at = Where::Place(place_numbers[0]);
        choices.strands().then_some(Finding { at, what })
    });
    stranding.collect()
}

/// Adds findings about unconfirmed fuel stops, each after the one that reports that the stop is relied on.
pub(in crate::plan) fn add_after_unconfirmed(findings: &mut Vec<Finding>, more: Vec<Finding>) {
    for finding in more {
        let is_before = |other: &Finding| {
            other.at == finding.at && matches!(other.what, What::UnconfirmedStop { .. })
        };
        let before = findings.iter().position(is_before);
        findings.insert(before.map_or(findings.len(), |at| at + 1), finding);
    }
}

fn load(facts: &TripFacts<'_>, trial: &Trial, findings: &mut Vec<Finding>) {
    let trip = facts.trip;
    for bar in &trial.bars {
        let at = Where::Place(bar.place_number);
        match (bar.what, bar.limit) {
            (LoadLimit::Gvm, None) => findings.push(What::GvmUnknown.at(Where::Vehicle)),
            (LoadLimit::Roof { .. }, None) if bar.mass > Kilograms::ZERO => {
                findings.push(What::RoofRatingUnknown { mass: bar.mass }.at(Where::Vehicle));
            }
            (what, Some(limit)) if bar.is_over() => {
                let mass = bar.mass;
                let what = match what {
                    LoadLimit::Gvm => What::OverGvm { mass, limit },
                    LoadLimit::FrontAxle | LoadLimit::RearAxle => What::OverAxle {
                        front: what == LoadLimit::FrontAxle,
                        mass,
                        limit,
                    },
                    LoadLimit::Roof { off_road } => What::OverRoof {
                        mass,
                        limit,
                        off_road,
                    },
                    LoadLimit::Place(place) => What::OverPlace { place, mass, limit },
                };
                findings.push(Finding { at, what });
            }
            _ => {}
        }
    }
    let stated = |axles: &Axles| axles.front_limit_kg.or(axles.rear_limit_kg).is_some();
    if trip.vehicle.axles.as_ref().is_some_and(stated)
        && Moments::from_vehicle(&trip.vehicle).is_none()
    {
        findings.push(What::AxlesUnknown.at(Where::Vehicle));
    }
    let mut add = |what: What| findings.push(what.at(Where::Load));
    let on_roof = trial
        .loadout
        .cans
        .iter()
        .filter(|cans| cans.place == CarryingPlace::Roof);
    let litres: Litres = on_roof.map(|cans| cans.fill * f64::from(cans.count)).sum();
    if litres > Litres::ZERO {
        add(What::FuelOnRoof { litres });
    }
    let in_cabin = trip
        .load()
        .cans()
        .iter()
        .filter(|kind| kind.places().contains(&CarryingPlace::Cabin));
    let litres: Litres = in_cabin
        .map(|kind| filling::fill(kind, filling::most_full(trip)) * f64::from(kind.owned()))
        .sum();
    if litres > Litres::ZERO {
        add(What::FuelInCabin { litres });
    }
    for cans in elsewhere(facts, trial) {
        add(What::CansElsewhere(cans));
    }
    for broken in carriage::broken(trip.vehicle.fuel, &trial.loadout.cans) {
        add(What::OverCarriage(broken));
    }
    let share = filling::most_full(trip);
    let asks_for_less = |cans: &ChosenCans| cans.fill >= cans.size * share.get() - ROUNDING;
    if let Some(air) =
        filling::hottest_air(trip).filter(|_| trial.loadout.cans.iter().any(asks_for_less))
    {
        add(What::HeatFill { share, air });
    }
}

/// The normal variable that 5 % exceed.
const Z_95: f64 = 1.645;

fn vehicle(facts: &TripFacts<'_>, findings: &mut Vec<Finding>) {
    let vehicle = &facts.trip.vehicle;
    let mut add = |what: What| findings.push(what.at(Where::Vehicle));
    let base = facts.formula.base();
    if let Some((speed, wanted)) = base.held {
        add(What::BaselineSpeedNotReached { speed, wanted });
    }
    if !base.is_usual() {
        add(What::FactorOdd { k: base.k });
    }
    if vehicle.baseline_from() == BaselineFrom::Fills && vehicle.baseline_conditions.is_none() {
        add(What::BaselineConditionsMissing);
    }
    if vehicle.baseline_from() == BaselineFrom::Guess && vehicle.calibration.is_none() {
        let more = |from| {
            let spread = baseline_spread(from).get();
            Share::new((Z_95 * spread).exp() - 1.0)
        };
        add(What::BaselineGuessed {
            more: more(BaselineFrom::Guess),
            of_fills: more(BaselineFrom::Fills),
        });
    }
    let (soft, road) = (vehicle.soft_pressure(), vehicle.road_pressure());
    if soft >= road && facts.trip.legs.iter().any(Leg::is_aired_down) {
        add(What::NotSofter { soft, road });
    }
    let rack_without_mass = facts.trip.load().roof_shape() != RoofShape::None
        && facts.trip.load().roof_carrier_mass() <= Kilograms::ZERO;
    if vehicle.kerb_from() == KerbFrom::Book && rack_without_mass {
        add(What::KerbFromBook);
    }
}

/// The legs on which the engine cannot hold the speed, as one finding.
fn engine(facts: &TripFacts<'_>, legs: &[PlannedLeg]) -> Option<Finding> {
    let legs = legs.iter().skip(facts.from());
    let held: Vec<(usize, KilometresPerHour, KilometresPerHour)> = legs
        .filter_map(|leg| leg.held.map(|(speed, wanted)| (leg.n, speed, wanted)))
        .collect();
    let by_speed = held.iter().min_by(|a, b| a.1.get().total_cmp(&b.1.get()));
    let &(slowest, speed, wanted) = by_speed?;
    let what = What::EngineLimit {
        legs: held.iter().map(|(n, ..)| *n).collect(),
        slowest,
        speed,
        wanted,
    };
    Some(what.at(Where::Leg(held[0].0)))
}

/// The axle whose tyres lack most of the pressure that their heaviest load needs, where their rating is stated.
fn pressure(facts: &TripFacts<'_>, trial: &Trial) -> Option<Finding> {
    let vehicle = &facts.trip.vehicle;
    let tyres = vehicle.tyres.as_ref()?;
    let (rating, at) = tyres.load_rating_kg.zip(tyres.load_rating_bar)?;
    let road = vehicle.road_pressure();
    let loads = trial.departures.iter().filter_map(|departure| {
        let axles = departure.axles?;
        Some([
            (departure.place_number, true, axles.front),
            (departure.place_number, false, axles.rear),
        ])
    });
    let (place_number, front, load) = loads
        .flatten()
        .max_by(|a, b| a.2.get().total_cmp(&b.2.get()))?;
    let needed = least_for(load, rating, at);
    let what = What::PressureLow {
        front,
        load,
        needed,
        road,
    };
    (needed > road).then_some(what.at(Where::Place(place_number)))
}

/// Below this a start is hard, and diesel needs winter fuel. Common practice, no source.
const COLD: Celsius = Celsius::new(-10.0);

/// The coldest leg, where it is that cold.
fn cold(facts: &TripFacts<'_>, trial: &Trial) -> Option<Finding> {
    let legs = facts.trip.legs.iter().enumerate().skip(facts.from());
    let temperatures = legs.filter_map(|(index, leg)| Some((index, leg.temperature_c?)));
    let (index, temperature) = temperatures
        .filter(|(_, temperature)| *temperature < COLD)
        .min_by(|a, b| a.1.get().total_cmp(&b.1.get()))?;
    let more = trial.loadout.legs[index].for_cold();
    Some(What::Cold { temperature, more }.at(Where::Leg(index + 1)))
}

fn route(facts: &TripFacts<'_>, trial: &Trial, legs: &[PlannedLeg], findings: &mut Vec<Finding>) {
    for (index, planned) in legs.iter().enumerate().skip(facts.from()) {
        let (leg, terrain) = (&facts.trip.legs[index], &facts.terrain[index]);
        let mut add = |what: What| findings.push(what.at(Where::Leg(planned.n)));
        if leg.wind().is_some() && terrain.bearing.is_none() {
            add(What::WindIgnored);
        }
        for figure in differing(leg) {
            add(What::TrackDiffers(figure));
        }
        if let Some(Track::File { path, lines: None }) = &leg.track {
            add(What::TrackUnread {
                path: path.clone(),
                with_climb: leg.ascent_m.is_some() || leg.descent_m.is_some(),
            });
        }
        let known = leg.surface_known_share();
        if known < SURFACE_KNOWN {
            add(What::SurfaceUnknown { known });
        }
        for &hazard in leg.hazards() {
            add(What::Hazard(hazard));
        }
        if let Some(straight) = terrain.guessed_from {
            add(What::DistanceGuessed {
                straight,
                factor: crate::model::route::DETOUR_FACTOR,
            });
        }
        let speed = trial.loadout.legs[index].fastest();
        if leg.is_aired_down() && speed > surface::AIRED_DOWN_FASTEST * (1.0 + 1e-9) {
            add(What::AiredDownFast { speed });
        }
    }
}

/// Below this the surface of a leg is not known well enough. Common practice, no source.
const SURFACE_KNOWN: Share = Share::new(0.8);
/// From this part of the track's figure on a stated one is reported to differ. Common practice, no source.
const DIFFERS: Share = Share::new(0.05);
/// Heights closer than this are the noise of the track.
const NOISE: Metres = Metres::new(2.0 * THRESHOLD.get());

/// The figures that a leg states and its track gives otherwise.
fn differing(leg: &Leg) -> Vec<OfTrack> {
    let Some(profile) = leg.track.as_ref().and_then(Track::profile) else {
        return Vec::new();
    };
    let climbed = profile.climbed;
    let far = |stated: f64, track: f64| (stated - track).abs() > DIFFERS.get() * track.abs();
    let height =
        |stated: Option<Metres>, track: Option<Metres>, figure: fn(Metres, Metres) -> OfTrack| {
            let (stated, track) = (stated?, track?);
            let differs = far(stated.get(), track.get()) && (stated - track).abs() > NOISE;
            differs.then(|| figure(stated, track))
        };
    let grade =
        |stated: Option<Grade>, track: Option<Grade>, figure: fn(Grade, Grade) -> OfTrack| {
            let (stated, track) = (stated?, track?);
            far(stated.get(), track.get()).then(|| figure(stated, track))
        };
    let length = Kilometres::from(profile.length);
    let distance = leg
        .distance_km
        .filter(|stated| far(stated.get(), length.get()))
        .map(|stated| OfTrack::Distance(stated, length));
    [
        distance,
        height(
            leg.ascent_m,
            climbed.map(|climbed| climbed.ascent),
            OfTrack::Ascent,
        ),
        height(
            leg.descent_m,
            climbed.map(|climbed| climbed.descent),
            OfTrack::Descent,
        ),
        grade(
            leg.ascent_grade,
            profile.ascent_grade(),
            OfTrack::AscentGrade,
        ),
        grade(
            leg.descent_grade,
            profile.descent_grade(),
            OfTrack::DescentGrade,
        ),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn days(facts: &TripFacts<'_>, legs: &[PlannedLeg], findings: &mut Vec<Finding>) {
    let limit = facts.trip.rules().longest_day();
    let is_left = |of_day: &&[PlannedLeg]| of_day.last().is_some_and(|leg| leg.n > facts.from());
    for of_day in legs.chunk_by(|a, b| a.day == b.day).filter(is_left) {
        let hours: Hours = of_day.iter().map(|leg| leg.driving).sum();
        if hours > limit {
            let what = What::LongDay {
                day: of_day[0].day,
                hours,
                limit,
            };
            findings.push(what.at(Where::Leg(of_day[0].n)));
        }
    }
}

/// Water and what else is used up, against the days of the trip and of the way back.
fn supplies(trip: &Trip, trial: &Trial, supplies: &Supplies, findings: &mut Vec<Finding>) {
    let mut add = |what: What| findings.push(what.at(Where::Load));
    let days = supplies.days;
    let lasts_less = |lasts: Days, days: Days| lasts.get() < days.get() - 1e-9;
    match supplies.water {
        None if trip.load().people().is_empty() => {}
        None => add(What::WaterUnstated),
        Some(water) => {
            if lasts_less(water.lasts, days) {
                let days_covered = water.lasts;
                add(What::WaterShort { days_covered, days });
                let fuel = trial.loadout.fill;
                if fuel > Litres::ZERO {
                    let water = water.a_day * days.get() - water.on_board;
                    add(What::WaterTraded { fuel, water });
                }
            } else if let Some(point) = water
                .at_turn_back
                .filter(|point| lasts_less(point.lasts, point.back))
            {
                add(What::WaterShortAtTurnBack {
                    at: point.at_km,
                    lasts: point.lasts,
                    back: point.back,
                });
            }
            if let Some(in_heat) = water
                .in_heat
                .filter(|&in_heat| in_heat > water.person_day + ROUNDING)
            {
                let stated = water.person_day;
                add(What::WaterHeat { stated, in_heat });
            }
        }
    }
    for supply in &supplies.others {
        if lasts_less(supply.lasts, days) {
            add(What::SupplyShort {
                name: supply.name.clone(),
                lasts: supply.lasts,
                days,
            });
        }
    }
}

/// What is not as the least cost would have it.
fn cost(facts: &TripFacts<'_>, trial: &Trial, findings: &mut Vec<Finding>) {
    if let Some(why) = trial.not_least {
        findings.push(What::CostNotLeast { why }.at(Where::Trip));
    }
    let relied_on = |place: usize| trial.relied_on[place];
    if let Some(counted_as) = facts
        .dearest(relied_on)
        .filter(|_| facts.is_for_least_cost())
    {
        let mut seen = HashSet::new();
        let unpriced = (0..facts.distances.len())
            .filter(|&place| relied_on(place) && facts.price(place).is_none())
            .filter(|&place| seen.insert(facts.trip.place(place).name));
        findings.extend(
            unpriced.map(|place| What::PriceMissing { counted_as }.at(Where::Place(place))),
        );
    }
}

fn document(facts: &TripFacts<'_>, findings: &mut Vec<Finding>) {
    let trip = facts.trip;
    let mut add = |what: What| findings.push(what.at(Where::Trip));
    for (what_if, error) in trip.unfit_what_ifs() {
        add(What::WhatIfStale {
            name: what_if.name.clone(),
            why: error.reason(),
        });
    }
    let intervals = facts
        .progress()
        .map_or(&[][..], |progress| &progress.intervals);
    for interval in intervals {
        let places = interval.places.clone();
        match interval.worth {
            Worth::Counts | Worth::NothingDriven => {}
            Worth::NoDeparture => add(What::LogNoDeparture { places }),
            Worth::Contradicts => add(What::LogContradicts { places }),
        }
    }
}
