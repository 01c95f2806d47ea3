//! A trip under way: what the log makes of it.
//!
//! The legs before the last reading are as they were observed. What is left is planned from there: with the litres
//! that were read, which each simulated trip has with an error of its own; with the vehicle's factors as the readings
//! leave them; without the fuel stops that were found dry and the litres that were taken from limited ones; and where
//! the reading was taken between two places or off the plan, with the part of the leg left that it states, over the
//! same ground. The places behind are still there to be gone back to.
//!
//! Left out: what cans on the roof cost in drag on the legs that were driven; of which ground a way off the plan was.

pub(in crate::plan) mod progress;
pub(in crate::plan) mod return_trip;

use std::collections::HashMap;

use crate::calibrate::{DaysDriven, Factors, Observed, SUSPECT};
use crate::consumption::leg::{Formula, LegFormula};
use crate::consumption::terrain::{self, Terrain};
use crate::model::Trip;
use crate::model::calibration::{COMPONENTS, Calibration, Component};
use crate::model::log::Reading;
use crate::model::route::Leg;
use crate::model::vehicle::Vehicle;
use crate::model::vocabulary::{Measured, Surface};
use crate::quantity::{Kilometres, Litres, Share};
use crate::solver::load;

use progress::{DrivenInterval, FuelReading, Progress, Worth};

/// A brim may be off by so much; common practice, no source.
const BRIM_SPREAD: Litres = Litres::new(0.5);
/// A dipstick reading may; common practice, no source.
const DIP_SPREAD: Litres = Litres::new(2.0);
/// A gauge may be off by the larger of this and a share of the tank; common practice, no source.
const GAUGE_SPREAD: Litres = Litres::new(3.0);
/// The share of the tank that a gauge may be off by, if it is more than [`GAUGE_SPREAD`].
const GAUGE_SHARE: Share = Share::new(0.06);
/// A way that is this many times as long as planned, or the inverse, is a detour; beyond that the odometer contradicts
/// the way. Common practice, no source.
const MOST_LONGER: f64 = 2.0;
/// That bound for a reading off the plan.
const MOST_LONGER_OFF_PLAN: f64 = 10.0;

/// How far litres in the tank may be off: a standard deviation.
pub(crate) fn spread(how: Measured, vehicle: &Vehicle) -> Litres {
    match how {
        Measured::Brim => BRIM_SPREAD,
        Measured::Dip => DIP_SPREAD,
        Measured::Gauge => gauge_spread(vehicle),
    }
}

/// Standard deviation of a gauge.
pub(in crate::plan) fn gauge_spread(vehicle: &Vehicle) -> Litres {
    GAUGE_SPREAD.max(vehicle.tank_l * GAUGE_SHARE.get())
}

/// A leg that was driven.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(in crate::plan) struct DrivenLeg {
    /// Usable litres on departure, cans included.
    pub(crate) start: Litres,
    /// Usable litres on arrival.
    pub(crate) end: Litres,
    /// Litres in cans on the route.
    pub(crate) cans: Litres,
    /// Litres in cans on arrival.
    pub(crate) end_cans: Litres,
    /// Litres that were used.
    pub(crate) used: Litres,
}

/// A trip under way.
pub(in crate::plan) struct UnderWay {
    /// Number of the place where the rest begins, or of the last one passed.
    pub(crate) place_number: usize,
    /// The trip as it is to be planned from there: all its legs, what is known by now put in.
    pub(crate) trip: Trip,
    /// The legs that were driven.
    pub(crate) driven: Vec<DrivenLeg>,
    /// Where the rest begins past that place, the way back to it.
    pub(crate) aside: Option<(Leg, Terrain)>,
    /// Litres that were used past that place.
    pub(crate) used_aside: Litres,
    /// What is reported of it.
    pub(crate) progress: Progress,
}

/// The vehicle of a trip with what its fuel readings taught.
pub fn learnt(trip: &Trip) -> Vehicle {
    let under_way = UnderWay::from_log(trip);
    under_way.map_or_else(
        || trip.vehicle.clone(),
        |under_way| under_way.progress.vehicle,
    )
}

impl UnderWay {
    /// What the log of a trip makes of it; `None` if it has no log.
    pub(crate) fn from_log(stated: &Trip) -> Option<Self> {
        let last = stated.log().last()?;
        let place_number = usize::try_from(last.place_number).ok()?;
        // Without legs there is nothing to drive.
        if place_number > stated.legs.len() || stated.legs.is_empty() {
            return None;
        }
        let road = Road::new(stated);
        let assumed = road.departure();
        let readings: Vec<Reading> = assumed.iter().chain(stated.log()).cloned().collect();
        let before = Factors::calibrated(&stated.vehicle);
        let mut intervals: Vec<(DrivenInterval, Observed)> = readings
            .windows(2)
            .map(|ends| road.interval(&ends[0], &ends[1], &before))
            .collect();
        if let (Some(_), Some((interval, _))) = (&assumed, intervals.first_mut()) {
            (interval.used, interval.worth) = (None, Worth::NoDeparture);
        }
        let counted = || {
            intervals
                .iter()
                .filter(|(interval, _)| interval.worth == Worth::Counts)
        };
        let observed: Vec<Observed> = counted().map(|(_, observed)| *observed).collect();
        let after = before.with_few(&observed);
        let vehicle = if observed.is_empty() {
            stated.vehicle.clone()
        } else {
            fitted(
                &stated.vehicle,
                &after,
                counted().map(|(interval, _)| interval),
            )
        };
        let (driven, used_aside) = road.driven(&readings, &intervals, place_number, &after);
        let now = Now::after(last, &vehicle);
        let ahead = last.to_next_km.filter(|_| place_number < stated.legs.len());
        let aside = ahead.map(|to_next| road.aside(&readings, place_number, to_next));
        let progress = Progress {
            place_number,
            place: road.name(last),
            to_next: ahead,
            odometer: last.odometer_km,
            readings: stated
                .log()
                .iter()
                .map(|reading| road.read_off(reading))
                .collect(),
            factors: [before, after],
            on_board: now.usable(now.tank, &vehicle),
            error: now.error,
            how: now.how,
            intervals: intervals
                .into_iter()
                .map(|(interval, _)| interval)
                .collect(),
            vehicle: vehicle.clone(),
        };
        Some(Self {
            place_number,
            trip: road.rest(vehicle, &now, place_number, ahead),
            driven,
            aside,
            used_aside,
            progress,
        })
    }

    /// How many places are behind.
    pub(crate) fn passed(&self) -> usize {
        self.place_number + usize::from(self.aside.is_some())
    }
}

/// What is on board after the last reading.
struct Now {
    /// All litres in the tank.
    tank: Litres,
    /// How far that may be off: a standard deviation.
    error: Litres,
    how: Measured,
    cans: Litres,
}

impl Now {
    fn after(last: &Reading, vehicle: &Vehicle) -> Self {
        let decanted_in = last.tank_left_l + last.filled();
        let over = (decanted_in - vehicle.tank_l).max(Litres::ZERO);
        let tank = decanted_in.min(vehicle.tank_l);
        // A tank that was filled until it was full is known like a brim.
        let is_full = last.filled() > Litres::ZERO && decanted_in >= vehicle.tank_l;
        let how = if is_full { Measured::Brim } else { last.how() };
        Self {
            tank,
            error: spread(how, vehicle),
            how,
            cans: last.cans_left() + over,
        }
    }

    fn usable(&self, tank: Litres, vehicle: &Vehicle) -> Litres {
        (tank - vehicle.unusable()).max(Litres::ZERO) + self.cans
    }
}

/// The trip's way as the formula sees it, all factors of the vehicle 1.
struct Road<'a> {
    trip: &'a Trip,
    terrain: Vec<Terrain>,
    legs: Vec<LegFormula>,
}

impl<'a> Road<'a> {
    fn new(trip: &'a Trip) -> Self {
        let formula = Formula::from_vehicle(&trip.vehicle);
        let terrain = terrain::along(trip);
        let legs = trip
            .legs
            .iter()
            .zip(&terrain)
            .zip(trip.days())
            .map(|((leg, terrain), day)| formula.leg(leg, terrain, load::burden(trip, &[], day)))
            .collect();
        Self {
            trip,
            terrain,
            legs,
        }
    }

    /// A departure that was not written down: where the trip starts, and nothing known of the fuel.
    fn departure(&self) -> Option<Reading> {
        let first = self.trip.log().first()?;
        if first.place_number == 0 && first.to_next_km.is_none() {
            return None;
        }
        let start = Reading {
            place_number: 0,
            filled_l: None,
            dry: None,
            to_next_km: None,
            place: None,
            ..first.clone()
        };
        let driven = self.length(&self.between(&start, first));
        let by_the_way = first.odometer_km - driven.shown(self.trip.vehicle.odometer_factor());
        let odometer = self.trip.start.odometer_km.unwrap_or(by_the_way);
        Some(Reading {
            odometer_km: odometer.max(Kilometres::ZERO).min(first.odometer_km),
            ..start
        })
    }

    /// Where a reading was taken: so many legs, the last one in part.
    fn position(&self, reading: &Reading) -> f64 {
        let place_number = reading.place_number as usize;
        let part = reading
            .to_next_km
            .zip(self.terrain.get(place_number))
            .filter(|(_, terrain)| terrain.distance > Kilometres::ZERO)
            .map_or(0.0, |(left, terrain)| {
                (1.0 - left / terrain.distance).clamp(0.0, 1.0)
            });
        place_number as f64 + part
    }

    fn at(&self, reading: &Reading) -> (usize, Share) {
        let place_number = (reading.place_number as usize).min(self.legs.len());
        let part = self.position(reading) - place_number as f64;
        (place_number, Share::new(part.clamp(0.0, 1.0)))
    }

    fn read_off(&self, reading: &Reading) -> FuelReading {
        let vehicle = &self.trip.vehicle;
        FuelReading {
            at: self.at(reading),
            left: (reading.left() - vehicle.unusable()).max(Litres::ZERO),
            spread: spread(reading.how(), vehicle),
            filled: reading.filled(),
        }
    }

    /// The legs between two readings, each with the part of it that is between them.
    fn between(&self, from: &Reading, to: &Reading) -> Vec<(usize, f64)> {
        let ends = [self.position(from), self.position(to)];
        let (low, high) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        let first = (from.place_number.min(to.place_number)) as usize;
        (first..self.legs.len())
            .take_while(|&leg| (leg as f64) < high)
            .map(|leg| {
                let at = leg as f64;
                (leg, (high.min(at + 1.0) - low.max(at)).max(0.0))
            })
            .filter(|(_, part)| *part > 0.0)
            .collect()
    }

    /// True length of parts of legs.
    fn length(&self, parts: &[(usize, f64)]) -> Kilometres {
        let each = parts.iter();
        each.map(|&(leg, part)| self.terrain[leg].distance * part)
            .sum()
    }

    /// The way between two readings, with its evidence for the factors.
    fn interval(
        &self,
        from: &Reading,
        to: &Reading,
        factors: &Factors,
    ) -> (DrivenInterval, Observed) {
        let vehicle = &self.trip.vehicle;
        let mut parts = self.between(from, to);
        let planned_km = self.length(&parts);
        let driven = (to.odometer_km - from.odometer_km) * vehicle.odometer_factor().get();
        if parts.is_empty() && driven > Kilometres::ZERO {
            // There and back to the same place: over the ground of the leg at hand.
            let leg = (to.place_number as usize).min(self.legs.len() - 1);
            if self.terrain[leg].distance > Kilometres::ZERO {
                parts = vec![(leg, driven / self.terrain[leg].distance)];
            }
        }
        let of_parts = self.length(&parts);
        let longer = driven.part_of(of_parts).unwrap_or(1.0);
        let used = from.left() + from.filled() - to.left();
        let spread = Litres::new(
            spread(from.how(), vehicle)
                .get()
                .hypot(spread(to.how(), vehicle).get()),
        );
        let on_board = (from.left() + from.filled() + to.left()) / 2.0;
        let mut components = [Litres::ZERO; COMPONENTS];
        for &(leg, part) in &parts {
            let of_leg = self.legs[leg].unfitted(on_board);
            for (at, (sum, litres)) in components.iter_mut().zip(of_leg).enumerate() {
                // A longer way is no longer rest.
                let rest = at == Component::Idle as usize;
                *sum += litres * part * if rest { 1.0 } else { longer };
            }
        }
        let observed = Observed {
            components,
            litres: used,
            spread,
            days: Some(self.days(&parts)),
        };
        let off_plan = from.to_next_km.or(to.to_next_km).is_some();
        let worth = worth(&observed, longer, off_plan);
        let is_possible = used >= Litres::ZERO || worth != Worth::Contradicts;
        let interval = DrivenInterval {
            between: [from, to].map(|reading| self.at(reading)),
            places: [from, to].map(|reading| self.name(reading)),
            distance: [planned_km, driven],
            // No more than the readings can distinguish was used where their difference is negative.
            used: is_possible.then(|| used.max(Litres::ZERO)),
            spread,
            worth,
            likely_off: factors.likely_off(&observed),
        };
        (interval, observed)
    }

    /// The days of parts of legs.
    fn days(&self, parts: &[(usize, f64)]) -> DaysDriven {
        let days = self.trip.days();
        let mut numbers: Vec<u32> = parts.iter().map(|&(leg, _)| days[leg]).collect();
        numbers.dedup();
        let is_off = |&&(leg, _): &&(usize, f64)| self.trip.legs[leg].surface() != Surface::Sealed;
        let off: Vec<(usize, f64)> = parts.iter().filter(is_off).copied().collect();
        let all = self.length(parts);
        let off = if all > Kilometres::ZERO {
            Share::new((self.length(&off) / all).clamp(0.0, 1.0))
        } else {
            Share::ZERO
        };
        DaysDriven::known(u32::try_from(numbers.len()).unwrap_or(u32::MAX), off)
    }

    fn name(&self, reading: &Reading) -> String {
        let passed = self.trip.place(reading.place_number as usize).name;
        match (&reading.place, reading.to_next_km) {
            (Some(place), _) => place.clone(),
            (None, Some(_)) => format!("beyond {passed}"),
            (None, None) => passed.to_owned(),
        }
    }

    /// The first `place_number` legs as they were driven, what was used between readings shared out as the factors have
    /// it; and what was used past them. Where it is not known what was used they take what the factors predict, and end
    /// with what was read off. Cans are taken to have been decanted as fuel was used: when they
    /// were is not known.
    fn driven(
        &self,
        readings: &[Reading],
        intervals: &[(DrivenInterval, Observed)],
        place_number: usize,
        factors: &Factors,
    ) -> (Vec<DrivenLeg>, Litres) {
        let unusable = self.trip.vehicle.unusable();
        let mut driven = vec![DrivenLeg::default(); place_number];
        let mut begun = vec![false; place_number];
        let mut aside = Litres::ZERO;
        for (ends, (interval, observed)) in readings.windows(2).zip(intervals) {
            let (from, to) = (&ends[0], &ends[1]);
            let usable = |litres: Litres| (litres - unusable).max(Litres::ZERO);
            let parts = self.between(from, to);
            let litres = |leg: usize, part: f64| {
                let of_leg = self.legs[leg].unfitted(observed.litres.max(Litres::ZERO));
                factors.predict(&of_leg) * part
            };
            let all: Litres = parts.iter().map(|&(leg, part)| litres(leg, part)).sum();
            let used = interval.used.unwrap_or(all);
            let mut left = match interval.used {
                Some(_) => usable(from.left() + from.filled()),
                None => usable(to.left()) + used,
            };
            if parts.is_empty() {
                // There and back to the same place.
                aside += used;
            }
            let decanted = from.cans_left() - to.cans_left();
            let mut done = 0.0;
            for (leg, part) in parts {
                let share = litres(leg, part).part_of(all).unwrap_or(0.0);
                let Some(driven) = driven.get_mut(leg) else {
                    aside += used * share;
                    continue;
                };
                if !std::mem::replace(&mut begun[leg], true) {
                    driven.start = left;
                    driven.cans = (from.cans_left() - decanted * done).min(left);
                }
                done += share;
                left = (left - used * share).max(Litres::ZERO);
                driven.end_cans = (from.cans_left() - decanted * done)
                    .max(Litres::ZERO)
                    .min(left);
                driven.used += used * share;
                driven.end = left;
            }
        }
        (driven, aside)
    }

    /// The way back to the last place passed, from where so much of its leg is left.
    fn aside(
        &self,
        readings: &[Reading],
        place_number: usize,
        to_next: Kilometres,
    ) -> (Leg, Terrain) {
        let odometer = |reading: &Reading| reading.odometer_km;
        let (here, earlier) = readings.split_last().expect("there is a last reading");
        let there = earlier.iter().rev().find(|reading| {
            reading.place_number as usize == place_number && reading.to_next_km.is_none()
        });
        let driven = there.map_or(self.terrain[place_number].distance - to_next, |there| {
            (odometer(here) - odometer(there)) * self.trip.vehicle.odometer_factor().get()
        });
        self.shortened(place_number, driven.max(Kilometres::ZERO))
    }

    /// A leg over the same ground that is so long.
    fn shortened(&self, leg: usize, length: Kilometres) -> (Leg, Terrain) {
        let terrain = self.terrain[leg];
        let part = length.part_of(terrain.distance).unwrap_or(1.0);
        let stated = &self.trip.legs[leg];
        let shortened = Leg {
            distance_km: Some(length),
            ascent_m: Some(terrain.ascent * part),
            descent_m: Some(terrain.descent * part),
            ascent_grade: Some(terrain.ascent_grade),
            descent_grade: Some(terrain.descent_grade),
            mean_altitude_m: Some(terrain.altitude),
            idle_h: stated.idle_h.map(|idle| idle * part.min(1.0)),
            track: None,
            ..stated.clone()
        };
        let terrain = Terrain {
            distance: length,
            ascent: terrain.ascent * part,
            descent: terrain.descent * part,
            guessed_from: None,
            ..terrain
        };
        (shortened, terrain)
    }

    /// The trip as it is to be planned from the last reading on.
    fn rest(
        &self,
        vehicle: Vehicle,
        now: &Now,
        place_number: usize,
        to_next: Option<Kilometres>,
    ) -> Trip {
        let mut trip = Trip {
            vehicle,
            log: None,
            ..self.trip.clone()
        };
        let rules = trip.rules.get_or_insert_default();
        rules.start_l = Some(now.tank);
        rules.start_cans_l = Some(now.cans);
        self.take_from_fuel_stops(&mut trip);
        if let Some(to_next) = to_next {
            for (leg, terrain) in trip.legs.iter_mut().zip(&self.terrain).skip(place_number) {
                leg.mean_altitude_m = Some(terrain.altitude);
            }
            trip.legs[place_number] = self.shortened(place_number, to_next).0;
        }
        trip
    }

    /// What is known from the readings of the fuel stops at their places, at every visit.
    fn take_from_fuel_stops(&self, trip: &mut Trip) {
        // Whether a fuel stop was found dry, and the litres that were taken from it.
        let mut fuel_stops: HashMap<&str, (bool, Litres)> = HashMap::new();
        for reading in self.trip.log() {
            if reading.to_next_km.is_none() {
                let name = self.trip.place(reading.place_number as usize).name;
                let (is_dry, taken) = fuel_stops.entry(name).or_default();
                *is_dry |= reading.found_dry();
                *taken += reading.filled();
            }
        }
        let start = (&trip.start.name, trip.start.fuel.as_mut());
        let legs = trip.legs.iter_mut();
        let places = legs.map(|leg| (&leg.to, leg.fuel.as_mut()));
        for (name, fuel_stop) in std::iter::once(start).chain(places) {
            let (Some(&(is_dry, taken)), Some(fuel_stop)) =
                (fuel_stops.get(name.as_str()), fuel_stop)
            else {
                continue;
            };
            if is_dry {
                fuel_stop.chance = Some(Share::ZERO);
            }
            if let Some(litres) = &mut fuel_stop.litres {
                *litres = (*litres - taken).max(Litres::ZERO);
            }
        }
    }
}

/// What two readings are worth.
fn worth(observed: &Observed, longer: f64, off_plan: bool) -> Worth {
    let expected: Litres = observed.components.into_iter().sum();
    let slack = observed.spread * 3.0;
    if expected <= Litres::ZERO {
        return if observed.litres.abs() <= slack {
            Worth::NothingDriven
        } else {
            Worth::Contradicts
        };
    }
    let usual = (expected * *SUSPECT.start() - slack)..=(expected * *SUSPECT.end() + slack);
    let most = if off_plan {
        MOST_LONGER_OFF_PLAN
    } else {
        MOST_LONGER
    };
    if usual.contains(&observed.litres) && (1.0 / most..=most).contains(&longer) {
        Worth::Counts
    } else {
        Worth::Contradicts
    }
}

/// The vehicle with factors that ways on the trip added to.
fn fitted<'a>(
    vehicle: &Vehicle,
    factors: &Factors,
    intervals: impl Iterator<Item = &'a DrivenInterval>,
) -> Vehicle {
    let before = vehicle.calibration.as_ref();
    let mut fitted = Calibration {
        intervals: before.map_or(0, |fitted| fitted.intervals),
        distance_km: before.map_or(Kilometres::ZERO, |fitted| fitted.distance_km),
        litres: before.map_or(Litres::ZERO, |fitted| fitted.litres),
        from: before.and_then(|fitted| fitted.from.clone()),
        predictions: before.and_then(|fitted| fitted.predictions.clone()),
        ..factors.saved(vehicle.baseline_l_per_100km)
    };
    for interval in intervals {
        fitted.intervals = fitted.intervals.saturating_add(1);
        fitted.distance_km += interval.distance[1];
        fitted.litres += interval.used.unwrap_or_default();
    }
    Vehicle {
        calibration: Some(fitted),
        ..vehicle.clone()
    }
}
