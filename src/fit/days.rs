//! How many days a way from brim to brim was driven on.
//!
//! A log has the dates of fills, not of days driven: those are between one and the days of the calendar, and the distance
//! tells which. Two things are not known of the log as a whole: how far the vehicle goes on a day that it is driven at all,
//! and on what share of the days that is. Both are laid out on a grid, each point weighed by how well the log's own
//! distances and dates go with it, and a way's days follow from all of it (empirical Bayes; Gelman et al., Bayesian Data
//! Analysis, 5, from memory). So 400 km in three weeks are few days where the log has 300 km in a single one elsewhere, and
//! many where it never goes further than the calendar allows a few kilometres each day.
//!
//! Left out: days that differ in length within one way, which leave a little more of a day's spread than equal ones.

use jiff::civil::Date;

use crate::consumption::spread::DAY_CARRIED;
use crate::model::fills::{Interval, Way};
use crate::model::vocabulary::Surface;
use crate::quantity::{Factor, Kilometres, Share};

/// What a day's drive is before the log is looked at, on sealed roads, and its spread in its log between vehicles. Common
/// practice, no source.
const DAY_KM: f64 = 250.0;
const DAY_KM_SPREAD: f64 = 0.7;
/// How far days of one vehicle are from one another, in the log. Common practice, no source.
const DAYS_APART: f64 = 0.5;
/// A day off the sealed road goes so many times less far. Common practice, no source.
const OFF_ROAD_SHORTER: f64 = 2.0;
/// Nobody drives further on each day of the calendar: then the dates are wrong. Common practice, no source.
const MOST_A_DAY: Kilometres = Kilometres::new(1500.0);
/// More days on one tank are not told apart: the spread of so many is next to nothing.
const MOST_DAYS: u32 = 30;
/// Kilometres a day, and shares of the calendar's days that are driven, between which the truth is sought.
const KM: [f64; 14] = [
    15.0, 22.0, 32.0, 45.0, 60.0, 80.0, 105.0, 140.0, 190.0, 250.0, 330.0, 440.0, 590.0, 780.0,
];
const DRIVEN: [f64; 9] = [0.05, 0.1, 0.2, 0.3, 0.45, 0.6, 0.75, 0.9, 0.99];

/// The days that a way was driven on, as far as its litres hang on them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DaysDriven {
    /// What is left of a day's variance in their mean: 1 for a single day.
    left: f64,
    /// Share of the way off the sealed road.
    off_road: Share,
}

impl DaysDriven {
    /// So many days, each as long as the other.
    pub fn known(days: u32, off_road: Share) -> Self {
        Self {
            left: left(days),
            off_road,
        }
    }

    /// What is left of the variance of a day on a sealed road, and of one off it.
    pub(super) fn parts(&self) -> [f64; 2] {
        let off = self.off_road.get();
        [(1.0 - off) * self.left, off * self.left]
    }

    /// Share of the way on the sealed road, and off it.
    pub(super) fn shares(&self) -> [f64; 2] {
        [1.0 - self.off_road.get(), self.off_road.get()]
    }
}

/// What is left of the variance of a day in the mean of so many in a row, each of which takes over a part r of the
/// deviation of the day before: Σᵢⱼ r^|i−j| / n².
fn left(days: u32) -> f64 {
    let (n, r) = (f64::from(days.max(1)), DAY_CARRIED.get());
    (n * (1.0 - r * r) - 2.0 * r * (1.0 - r.powf(n))) / (n * (1.0 - r)).powi(2)
}

/// Share of a way that is off the sealed road.
pub(super) fn off_road(way: &Way) -> Share {
    match way.surface {
        Surface::Sealed => way.sand.max(way.low_range),
        _ => Share::new(1.0),
    }
}

/// A way as dates and distance tell of it.
struct When {
    /// Kilometres that take as long on sealed roads.
    km: f64,
    /// Days of the calendar; nothing where the dates are of no use.
    calendar: Option<u32>,
    off_road: Share,
}

impl When {
    fn of(interval: &Interval, odometer: Factor) -> Self {
        let length = |(shown, _): &(Kilometres, Way)| (*shown * odometer.get()).get();
        let all: f64 = interval.ways.iter().map(length).sum();
        let off = interval.ways.iter();
        let off: f64 = off
            .map(|part| length(part) * off_road(&part.1).get())
            .sum();
        let calendar = days_between(interval.dates);
        Self {
            km: all + off * (OFF_ROAD_SHORTER - 1.0),
            calendar: calendar.filter(|&days| all <= MOST_A_DAY.get() * f64::from(days)),
            off_road: Share::new((off / all).clamp(0.0, 1.0)),
        }
    }

    /// Days it may have been driven on, each with its chance and how well the distance goes with it, where a day goes so far
    /// and so many days are driven; not normalized.
    fn weights(&self, km: f64, driven: f64) -> impl Iterator<Item = (u32, f64)> + '_ {
        let most = self.calendar.unwrap_or(MOST_DAYS);
        // C(N, n) pⁿ (1 − p)^(N − n), from one n to the next.
        let odds = driven / (1.0 - driven);
        let mut log_chance = f64::from(most) * (1.0 - driven).ln();
        (1..=most.min(MOST_DAYS)).map(move |days| {
            let n = f64::from(days);
            let spread = DAYS_APART / n.sqrt();
            let off = (self.km / (n * km)).ln() / spread;
            let fits = (-0.5 * off * off).exp() / spread;
            // Without dates every number of days is as likely as the other.
            let chance = if self.calendar.is_some() {
                log_chance += (odds * (f64::from(most) - n + 1.0) / n).ln();
                log_chance.exp()
            } else {
                1.0
            };
            (days, fits * chance)
        })
    }
}

/// Days from one date to the other, at least one; nothing where one is not known or they go back.
fn days_between([from, to]: [Option<Date>; 2]) -> Option<u32> {
    let days = (to? - from?).get_days();
    u32::try_from(days).ok().map(|days| days.max(1))
}

/// Days of the calendar that a log covers, and how many of its ways have dates that can be used.
pub(super) fn days_of(intervals: &[Interval], odometer: Factor) -> Option<Vec<DaysDriven>> {
    let ways: Vec<When> = intervals
        .iter()
        .map(|interval| When::of(interval, odometer))
        .collect();
    let all = [
        intervals.first().and_then(|first| first.dates[0]),
        intervals.last().and_then(|last| last.dates[1]),
    ];
    let shown: Kilometres = intervals.iter().map(Interval::shown).sum();
    // A log whose fills all bear one date has none.
    let is_dated = ways.iter().any(|way| way.calendar.is_some())
        && days_between(all)
            .is_none_or(|days| shown <= MOST_A_DAY * f64::from(days.saturating_add(1)));
    is_dated.then(|| driven(&ways))
}

/// What is left of a day's variance in each way, on the mean over the grid.
fn driven(ways: &[When]) -> Vec<DaysDriven> {
    let grid = || KM.into_iter().flat_map(|km| DRIVEN.map(|driven| (km, driven)));
    let evidence: Vec<f64> = grid()
        .map(|(km, driven)| {
            let prior = -0.5 * ((km / DAY_KM).ln() / DAY_KM_SPREAD).powi(2);
            let of_ways = ways.iter().map(|way| {
                let fits: f64 = way.weights(km, driven).map(|(_, weight)| weight).sum();
                fits.max(1e-30).ln()
            });
            prior + of_ways.sum::<f64>()
        })
        .collect();
    let most = evidence.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut sums = vec![[0.0; 2]; ways.len()];
    for ((km, driven), evidence) in grid().zip(evidence) {
        let point = (evidence - most).exp();
        if point < 1e-6 {
            continue;
        }
        for (way, [all, kept]) in ways.iter().zip(&mut sums) {
            let [fits, mean] = way
                .weights(km, driven)
                .fold([0.0; 2], |[fits, mean], (days, weight)| {
                    [fits + weight, mean + weight * left(days)]
                });
            if fits > 0.0 {
                *all += point;
                *kept += point * mean / fits;
            }
        }
    }
    let driven = ways.iter().zip(sums).map(|(way, [all, kept])| DaysDriven {
        // Dates and distance that nothing goes with: as if it were one day.
        left: if all > 0.0 { kept / all } else { 1.0 },
        off_road: way.off_road,
    });
    driven.collect()
}
