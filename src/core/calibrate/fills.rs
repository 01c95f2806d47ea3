//! Fill-ups put to the formula: which ways count, which are suspect and why, and what factors follow.

use std::collections::BTreeMap;

use crate::consumption::leg::{Burden, Formula};
use crate::consumption::spread::P95;
use crate::consumption::surface;
use crate::consumption::terrain::Terrain;
use crate::model::calibration::{COMPONENTS, Calibration, Component, Predicted};
use crate::model::fills::{Break, Conditions, Fill, Interval, intervals};
use crate::model::route::Leg;
use crate::model::vehicle::{REFERENCE_LOAD, Vehicle};
use crate::model::vocabulary::Surface;
use crate::quantity::{Factor, Kilometres, Litres, LitresPer100Km};

use super::days::{DaysDriven, days_of, off_road};
use super::{Factors, Observed};

/// A way whose litres over those of the formula are outside this range is suspect. Common practice, no source; a real
/// log holds a forgotten fill, and believed it would halve the figure.
pub const SUSPECT: std::ops::RangeInclusive<f64> = 0.6..=1.7;
/// Fits that foretell ways without having seen them: in a longer log each leaves out several ways.
const MOST_FITS: usize = 100;
/// How well each end of a way is known when the tank is filled to the brim.
pub(crate) const BRIM: Litres = Litres::new(0.5);
/// A log with this share of its distance on one surface is a log of that surface. Common practice, no source.
const NEARLY_ALL: f64 = 0.9;

/// One way brim to brim with the litres of the formula and of the fit.
#[derive(Clone, Debug, PartialEq)]
pub struct FittedInterval {
    /// Row of the fill that ends it.
    pub row: u64,
    /// True distance, the odometer corrected.
    pub distance: Kilometres,
    /// Litres filled in the interval.
    pub litres: Litres,
    /// Those litres with the litres of the formula.
    pub observed: Observed,
    /// The litres that the fit predicts.
    pub fitted: Litres,
    /// What a fit to other ways predicts, and how far that may be off: to all others, and in a log of more than 100
    /// ways to all but every hundredth.
    pub by_others: [Litres; 2],
}

/// Why a way was left out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Why {
    /// The odometer shows no distance for it.
    Broken(Break),
    /// Its litres are far from those of the formula.
    Suspect {
        /// Litres over those of the formula.
        ratio: Factor,
        /// The likely reason.
        because: Suspicion,
    },
}

/// What probably happened on a suspect way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Suspicion {
    /// A fill was not written down; about so much is missing.
    MissedFill(Litres),
    /// An odometer reading is wrong: with the way beside it, it adds up.
    WrongOdometer {
        /// Row of the other way.
        beside: u64,
    },
    /// The litres of a fill are more than the tank holds.
    MoreThanTank(Litres),
    /// The litres or the reading are wrong; it is unknown which.
    Unclear,
}

/// A way that was left out of the fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeftOut {
    /// Row of the fill that ends it.
    pub row: u64,
    /// Why it was left out.
    pub why: Why,
    /// Whether it was kept all the same, because that was asked for.
    pub kept: bool,
}

/// A vehicle fitted to its fill-ups.
#[derive(Clone, Debug, PartialEq)]
pub struct FillCalibration {
    /// Factors before calibration.
    pub prior: Factors,
    /// Factors after calibration.
    pub factors: Factors,
    /// The ways that count, in the order of the log.
    pub intervals: Vec<FittedInterval>,
    /// The suspect ones and those without a use.
    pub left_out: Vec<LeftOut>,
    /// Fills that were read.
    pub fills: usize,
    /// The surface of nearly all its distance.
    surface: Option<Surface>,
    base: f64,
    stated: LitresPer100Km,
}

impl FillCalibration {
    /// Calibrates `vehicle` from `fills`. Suspect intervals that end on a row of `keep` are included. Factors of an
    /// earlier calibration are ignored: the log is assumed to be complete.
    pub fn from_fills(vehicle: &Vehicle, fills: &[Fill], keep: &[u64]) -> Self {
        let bare = Vehicle {
            calibration: None,
            ..vehicle.clone()
        };
        let formula = Formula::from_vehicle(&bare);
        let prior = Factors::prior(&bare);
        let (found, broken) = intervals(fills);
        let days = days_of(&found, bare.odometer_factor());
        let observed: Vec<Observed> = found
            .iter()
            .enumerate()
            .map(|(at, interval)| Observed {
                days: days.as_ref().map(|days| days[at]),
                ..observe(&bare, &formula, interval)
            })
            .collect();
        let mut left_out: Vec<LeftOut> = broken
            .iter()
            .map(|broken| LeftOut {
                row: broken.row,
                why: Why::Broken(broken.why),
                kept: false,
            })
            .collect();
        let mut counted = Vec::new();
        for at in 0..found.len() {
            let row = found[at].row;
            let why = suspicion(&bare, &found, &observed, at);
            let kept = why.is_some() && keep.contains(&row);
            left_out.extend(why.map(|why| LeftOut { row, why, kept }));
            if why.is_none() || kept {
                counted.push(at);
            }
        }
        left_out.sort_by_key(|left_out| left_out.row);
        let rows: Vec<Observed> = counted.iter().map(|&at| observed[at]).collect();
        let factors = prior.with(&rows);
        let odometer = vehicle.odometer_factor().get();
        let fits = rows.len().min(MOST_FITS);
        let without: Vec<Factors> = (0..fits)
            .map(|fit| {
                let others = rows.iter().enumerate();
                let others = others.filter(|(way, _)| way % fits != fit);
                let others: Vec<Observed> = others.map(|(_, way)| *way).collect();
                prior.with_near(&others, &factors)
            })
            .collect();
        let ways = counted.iter().zip(&rows).enumerate();
        let ways = ways.map(|(n, (&at, &way))| {
            let others = &without[n % fits];
            FittedInterval {
                row: found[at].row,
                distance: found[at].shown() * odometer,
                litres: way.litres,
                observed: way,
                fitted: factors.predict(&way.components),
                by_others: [others.predict(&way.components), others.spread_of(&way)],
            }
        });
        let intervals = ways.collect();
        Self {
            prior,
            factors,
            intervals,
            left_out,
            fills: fills.len(),
            surface: surface_of(counted.iter().map(|&at| &found[at])),
            base: formula.base().reference.get(),
            stated: vehicle.baseline_l_per_100km,
        }
    }

    /// True length of the ways that count.
    pub fn distance(&self) -> Kilometres {
        self.intervals.iter().map(|way| way.distance).sum()
    }

    /// Litres of the ways that count.
    pub fn litres(&self) -> Litres {
        self.intervals.iter().map(|way| way.litres).sum()
    }

    /// The baseline consumption that follows, and its spread.
    pub fn base(&self) -> [LitresPer100Km; 2] {
        [
            self.factors.value(Component::Base),
            self.factors.spread(Component::Base),
        ]
        .map(|factor| LitresPer100Km::new(self.base * factor.get()))
    }

    /// How many of the ways fell inside the 90 % band that a fit to all the others gave.
    pub fn inside(&self) -> usize {
        let inside = |way: &&FittedInterval| {
            let [expected, spread] = way.by_others;
            (way.litres - expected).abs() <= spread * P95.get()
        };
        self.intervals.iter().filter(inside).count()
    }

    /// Each way with what a fit to all the others predicts for it.
    pub fn predicted(&self) -> Vec<Predicted> {
        let ways = self.intervals.iter();
        ways.map(|way| Predicted {
            used_l: way.litres,
            predicted_l: way.by_others[0].max(Litres::ZERO),
            predicted_sd_l: way.by_others[1],
        })
        .collect()
    }

    /// What is saved with the vehicle.
    pub fn saved(&self, from: Option<String>) -> Calibration {
        Calibration {
            intervals: u32::try_from(self.intervals.len()).unwrap_or(u32::MAX),
            distance_km: self.distance(),
            litres: self.litres(),
            surface: self.surface,
            from,
            predictions: Some(self.predicted()),
            ..self.factors.saved(self.stated)
        }
    }
}

/// The surface of nearly all of the distance; `None` where there are several.
fn surface_of<'a>(intervals: impl Iterator<Item = &'a Interval>) -> Option<Surface> {
    let mut on = BTreeMap::<Surface, Kilometres>::new();
    for (shown, way) in intervals.flat_map(|interval| &interval.parts) {
        *on.entry(way.surface).or_default() += *shown;
    }
    let all: Kilometres = on.values().copied().sum();
    on.into_iter()
        .find(|(_, distance)| *distance >= all * NEARLY_ALL)
        .map(|(surface, _)| surface)
}

/// What would be known from a way of some length, driven brim to brim and taking what is likely by `factors`.
pub fn foreseen(
    vehicle: &Vehicle,
    factors: &Factors,
    distance: Kilometres,
    conditions: &Conditions,
) -> Observed {
    let bare = Vehicle {
        calibration: None,
        ..vehicle.clone()
    };
    let components = components_of(&bare, &Formula::from_vehicle(&bare), distance, conditions);
    Observed {
        components,
        litres: factors.predict(&components),
        spread: BRIM * std::f64::consts::SQRT_2,
        days: Some(DaysDriven::known(1, off_road(conditions))),
    }
}

/// What the formula makes of an interval.
fn observe(vehicle: &Vehicle, formula: &Formula, interval: &Interval) -> Observed {
    let odometer = vehicle.odometer_factor().get();
    let mut components = [Litres::ZERO; COMPONENTS];
    for (shown, conditions) in &interval.parts {
        let parts = components_of(vehicle, formula, *shown * odometer, conditions);
        for (sum, part) in components.iter_mut().zip(parts) {
            *sum += part;
        }
    }
    Observed {
        components,
        litres: interval.litres,
        // Both ends may be off.
        spread: BRIM * std::f64::consts::SQRT_2,
        days: None,
    }
}

/// Litres of a way by component, all factors 1.
fn components_of(
    vehicle: &Vehicle,
    formula: &Formula,
    distance: Kilometres,
    conditions: &Conditions,
) -> [Litres; COMPONENTS] {
    let leg = Leg {
        surface: Some(conditions.surface),
        sand_share: Some(conditions.sand),
        low_range_share: Some(conditions.low_range),
        idle_h: Some(conditions.idle),
        ..Leg::to("")
    };
    let terrain = Terrain::level(distance);
    // The kerb mass holds the fuel.
    let burden = Burden {
        dry_mass: vehicle.kerb_mass_kg - vehicle.kerb_driver() + REFERENCE_LOAD + conditions.load,
        roof_drag: surface::roof_drag(conditions.roof),
    };
    formula.leg(&leg, &terrain, burden).unfitted(Litres::ZERO)
}

fn ratio(observed: &Observed) -> f64 {
    let predicted: Litres = observed.components.into_iter().sum();
    observed.litres / predicted
}

/// Whether a way is suspect, and why.
fn suspicion(
    vehicle: &Vehicle,
    found: &[Interval],
    observed: &[Observed],
    at: usize,
) -> Option<Why> {
    let own = ratio(&observed[at]);
    if SUSPECT.contains(&own) {
        return None;
    }
    let predicted: Litres = observed[at].components.into_iter().sum();
    // A reading that is wrong makes one way too long and its neighbour as much too short.
    let beside = |other: Option<usize>| {
        let other = other.filter(|&other| other < observed.len())?;
        let off_the_other_way = (own < 1.0) != (ratio(&observed[other]) < 1.0);
        let both: Litres = observed[other].components.into_iter().sum::<Litres>() + predicted;
        let together = (observed[at].litres + observed[other].litres) / both;
        let off = !SUSPECT.contains(&ratio(&observed[other]));
        (off && off_the_other_way && (0.8..=1.25).contains(&together)).then(|| found[other].row)
    };
    let because = if let Some(beside) = beside(at.checked_sub(1)).or_else(|| beside(Some(at + 1))) {
        Suspicion::WrongOdometer { beside }
    } else if found[at].most_at_once > vehicle.tank_l * 1.1 {
        Suspicion::MoreThanTank(found[at].most_at_once)
    } else if own < *SUSPECT.start() && predicted > observed[at].litres + vehicle.tank_l * 0.2 {
        Suspicion::MissedFill(predicted - observed[at].litres)
    } else {
        Suspicion::Unclear
    };
    Some(Why::Suspect {
        ratio: Factor::new(own),
        because,
    })
}
