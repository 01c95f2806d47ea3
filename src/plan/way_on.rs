//! On the way: what the log says of the legs that were driven, the factors that follow, and the trip that is left.
//!
//! Each pair of readings is a way with its litres, an observation like a fill-up but for how well it was measured. The
//! factors of the vehicle follow from them and from what was known before. The trip that is left starts at the last
//! reading with what is then aboard, less 1.645 spreads of how it was measured, so that in nineteen of twenty cases there is
//! more. Left out: places off the plan, which can be told only as a longer way to the next place of it.

use crate::consumption::spread::P95;
use crate::fit::{Factors, Observed, SUSPECT};
use crate::model::Trip;
use crate::model::fitted::{COMPONENTS, Component, Fitted};
use crate::model::log::Reading;
use crate::model::route::Start;
use crate::model::vehicle::Vehicle;
use crate::model::vocabulary::Measured;
use crate::quantity::{Kilometres, Litres, Metres, Share};

use super::Plan;

/// A brim or a dipstick reading may be off by so much; common practice, no source.
const BRIM_SPREAD: Litres = Litres::new(0.5);
/// See [`BRIM_SPREAD`].
const DIP_SPREAD: Litres = Litres::new(2.0);
/// A gauge may be off by the larger of this and a share of the tank; common practice, no source.
const GAUGE_SPREAD: Litres = Litres::new(3.0);
/// See [`GAUGE_SPREAD`].
const GAUGE_SHARE: Share = Share::new(0.06);

/// How far litres in the tank may be off: a standard deviation.
pub fn spread(how: Measured, vehicle: &Vehicle) -> Litres {
    match how {
        Measured::Brim => BRIM_SPREAD,
        Measured::Dip => DIP_SPREAD,
        Measured::Gauge => GAUGE_SPREAD.max(vehicle.tank_l * GAUGE_SHARE.get()),
    }
}

/// What was driven between two readings.
#[derive(Clone, Debug, PartialEq)]
pub struct DrivenWay {
    /// Place numbers of the two readings.
    pub between: [usize; 2],
    /// Their names.
    pub places: [String; 2],
    /// The way as planned, and as the odometer has it, in true kilometres.
    pub distance: [Kilometres; 2],
    /// Litres as planned before the log, for the way that was planned.
    pub planned: Litres,
    /// Litres that were used.
    pub used: Litres,
    /// How far they may be off: a standard deviation.
    pub spread: Litres,
    /// Whether the readings fit one another well enough to learn from them.
    pub counts: bool,
}

/// What lies behind.
#[derive(Clone, Debug, PartialEq)]
pub struct Behind {
    /// Number of the place in the whole trip where the rest begins.
    pub node: usize,
    /// Its name.
    pub place: String,
    /// The ways that were driven.
    pub ways: Vec<DrivenWay>,
    /// Factors before and after the log.
    pub factors: [Factors; 2],
    /// What is aboard, usable, tank and cans.
    pub aboard: Litres,
    /// What of it is counted on.
    pub counted: Litres,
    /// The nearest sure pump behind with the litres needed to go back to it, its reserve untouched; nothing where there is
    /// none.
    pub back: Option<(String, Litres)>,
}

/// The trip that is left after the last reading, and what lies behind it. Nothing where there is no reading, or where the
/// last one is at the finish and nothing is left.
pub fn rest(trip: &Trip) -> Option<(Trip, Behind)> {
    let last = trip.log().last()?;
    let node = usize::try_from(last.node).ok()?;
    if node >= trip.legs.len() {
        return None;
    }
    let planned = Plan::of(Trip {
        log: None,
        ..trip.clone()
    });
    let ways = ways(trip, &planned);
    let before = Factors::of(&trip.vehicle);
    let counted: Vec<Observed> = ways
        .iter()
        .filter(|(way, _)| way.counts)
        .map(|(_, observed)| *observed)
        .collect();
    let after = before.with(&counted);
    let vehicle = if counted.is_empty() {
        trip.vehicle.clone()
    } else {
        let (km, litres) = ways.iter().filter(|(way, _)| way.counts).fold(
            (Kilometres::ZERO, Litres::ZERO),
            |(km, litres), (way, _)| (km + way.distance[1], litres + way.used),
        );
        Vehicle {
            fitted: Some(fitted(&trip.vehicle, &after, counted.len(), km, litres)),
            ..trip.vehicle.clone()
        }
    };
    let whole = Plan::of(Trip {
        log: None,
        vehicle: vehicle.clone(),
        ..trip.clone()
    });
    let back = whole
        .decisions
        .iter()
        .find(|decision| decision.node == Some(node))
        .and_then(|decision| decision.back)
        .map(|back| (trip.place(back.refuge).name.to_owned(), back.needed));
    let tank = (last.tank_left_l + last.filled()).min(vehicle.tank_l);
    let sure = (tank - spread(last.how(), &vehicle) * P95.get()).max(Litres::ZERO);
    let usable = |tank: Litres| (tank - vehicle.unusable()).max(Litres::ZERO) + last.cans_left();
    let behind = Behind {
        node,
        place: trip.place(node).name.to_owned(),
        factors: [before, after],
        aboard: usable(tank),
        counted: usable(sure),
        back,
        ways: ways.into_iter().map(|(way, _)| way).collect(),
    };
    Some((left(trip, vehicle, &planned, last, sure), behind))
}

/// The trip from a reading on.
fn left(trip: &Trip, vehicle: Vehicle, planned: &Plan, last: &Reading, tank: Litres) -> Trip {
    let node = last.node as usize;
    let here = trip.place(node);
    let height = planned.legs[..node]
        .iter()
        .fold(trip.start.altitude_m.unwrap_or_default(), |height, leg| {
            height + leg.ascent - leg.descent
        });
    let altitude = height.max(Metres::new(-430.0)).min(Metres::new(6000.0));
    let mut legs = trip.legs[node..].to_vec();
    for (leg, day) in legs.iter_mut().zip(&trip.days()[node..]) {
        leg.day = Some(*day);
    }
    let mut rules = trip.rules().clone();
    rules.start_l = Some(tank);
    rules.start_cans_l = Some(last.cans_left());
    Trip {
        vehicle,
        start: Start {
            name: here.name.to_owned(),
            lat: here.position.map(|position| position.lat),
            lon: here.position.map(|position| position.lon),
            altitude_m: Some(altitude),
            odometer_km: Some(last.odometer_km),
            fuel: here.fuel.cloned(),
        },
        rules: Some(rules),
        legs,
        // Their pointers are those of the whole trip.
        what_ifs: None,
        log: None,
        ..trip.clone()
    }
}

/// The ways between readings, each with what it says of the factors.
fn ways(trip: &Trip, planned: &Plan) -> Vec<(DrivenWay, Observed)> {
    let vehicle = &trip.vehicle;
    let aboard = |reading: &Reading| reading.tank_left_l + reading.cans_left();
    let departure = departure(trip, planned);
    let readings = departure.iter().chain(trip.log());
    let mut ways = Vec::new();
    let mut before: Option<&Reading> = None;
    for reading in readings {
        if let Some(from) = before.replace(reading) {
            let (a, b) = (
                from.node as usize,
                (reading.node as usize).max(from.node as usize),
            );
            let legs = &planned.legs[a..b];
            let way: Kilometres = legs.iter().map(|leg| leg.distance).sum();
            let driven = (reading.odometer_km - from.odometer_km) * vehicle.odometer_factor().get();
            let used = aboard(from) + from.filled() - aboard(reading);
            let off = [from, reading].map(|reading| spread(reading.how(), vehicle).get());
            let longer = if way > Kilometres::ZERO {
                driven / way
            } else {
                1.0
            };
            let mut components = [Litres::ZERO; COMPONENTS];
            for leg in legs {
                let parts = planned.formula(leg.n).unfitted(leg.steady);
                for (at, (sum, part)) in components.iter_mut().zip(parts).enumerate() {
                    // A longer way is no longer rest.
                    let rest = at == Component::Idle as usize;
                    *sum += part * if rest { 1.0 } else { longer };
                }
            }
            let expected: Litres = components.into_iter().sum();
            let spread = Litres::new(off[0].hypot(off[1]));
            let ratio = if expected > Litres::ZERO {
                used / expected
            } else {
                0.0
            };
            let slack = 3.0 * (spread / expected.max(Litres::new(0.1)));
            let counts = used > Litres::ZERO
                && ((SUSPECT.start() - slack)..=(SUSPECT.end() + slack)).contains(&ratio)
                && (0.5..=2.0).contains(&longer);
            ways.push((
                DrivenWay {
                    between: [a, b],
                    places: [a, b].map(|node| trip.place(node).name.to_owned()),
                    distance: [way, driven],
                    planned: legs.iter().map(|leg| leg.fuel).sum(),
                    used,
                    spread,
                    counts,
                },
                Observed {
                    components,
                    litres: used,
                    spread,
                },
            ));
        }
    }
    ways
}

/// A departure that was not written down: as planned, where the odometer at the start is known.
fn departure(trip: &Trip, planned: &Plan) -> Option<Reading> {
    let first = trip.log().first()?;
    let leg = planned.legs.first()?;
    (first.node > 0).then_some(())?;
    let cans = planned.on_board_at(Kilometres::ZERO).cans;
    Some(Reading {
        node: 0,
        odometer_km: trip.start.odometer_km?,
        tank_left_l: leg.start - cans + trip.vehicle.unusable(),
        cans_left_l: Some(cans),
        how: Some(Measured::Brim),
        filled_l: None,
    })
}

/// The vehicle's factors with what the way added.
fn fitted(
    vehicle: &Vehicle,
    factors: &Factors,
    ways: usize,
    km: Kilometres,
    litres: Litres,
) -> Fitted {
    let value = |component| factors.value(component);
    let before = vehicle.fitted.as_ref();
    let ways = u32::try_from(ways).unwrap_or(u32::MAX);
    Fitted {
        base: value(Component::Base),
        sand: value(Component::Sand),
        low_range: value(Component::LowRange),
        roof: value(Component::Roof),
        idle: value(Component::Idle),
        covariance: factors.covariance(),
        residual_share: factors.residual(),
        intervals: before
            .map_or(0, |fitted| fitted.intervals)
            .saturating_add(ways),
        distance_km: before.map_or(Kilometres::ZERO, |fitted| fitted.distance_km) + km,
        litres: before.map_or(Litres::ZERO, |fitted| fitted.litres) + litres,
        base_l_per_100km: vehicle.base_l_per_100km,
        from: before.and_then(|fitted| fitted.from.clone()),
    }
}
