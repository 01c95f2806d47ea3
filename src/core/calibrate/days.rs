//! How many days a way brim to brim was driven on.
//!
//! A log has the dates of fills, not of days driven: those are between one and the days of the calendar, and the
//! distance shows which. Three things are not known of the log as a whole: how far the vehicle goes on a day that it is
//! driven at all, how much that differs from way to way, and how often it is driven on every day of the calendar. They
//! are laid out on a grid, each point weighed by how well the log's own distances and dates go with it, and a way's
//! days follow from all of it (empirical Bayes; Gelman et al., Bayesian Data Analysis, 5, from memory). So 400 km in
//! three weeks are few days where the log has 200 km in a single one elsewhere, and many where it never goes further
//! than 50 km on any.
//!
//! Left out: days that differ in length within one way, which leave a little more of a day's spread than equal ones.

use jiff::civil::Date;

use crate::consumption::spread::DAY_CARRIED;
use crate::model::fills::{Conditions, Interval};
use crate::model::vocabulary::Surface;
use crate::quantity::{Factor, Kilometres, Share};

/// What a day's drive is before the log is looked at, on sealed roads, and its spread in its log between vehicles.
/// Common practice, no source.
const DAY_KM: f64 = 250.0;
const DAY_KM_SPREAD: f64 = 0.7;
/// How far days of one way are from one another, in the log. Common practice, no source.
const DAYS_APART: f64 = 0.5;
/// A day off the sealed road goes so many times less far. Common practice, no source.
const OFF_ROAD_SHORTER: f64 = 2.0;
/// How long a vehicle is parked where it does not drive every day: on the mean so many days. Common practice, no
/// source.
const STANDS: f64 = 7.0;
/// Standing for longer is as likely as for so many days.
const STANDS_AT_MOST: u32 = 400;
/// Nobody drives further on each day of the calendar: then the dates are wrong. Common practice, no source.
const MOST_A_DAY: Kilometres = Kilometres::new(1500.0);
/// More days on one tank are not distinguished: the spread of so many is next to nothing.
const MOST_DAYS: usize = 40;
/// Between these the truth is sought: kilometres a day, how much they differ from way to way in the log, and the share
/// of ways that are driven on every day of the calendar. That a vehicle drives often is thought likelier, since days
/// too few would make the spread of one too small.
const KM: [f64; 14] = [
    15.0, 22.0, 32.0, 45.0, 60.0, 80.0, 105.0, 140.0, 190.0, 250.0, 330.0, 440.0, 590.0, 780.0,
];
const APART: [f64; 3] = [0.2, 0.5, 1.0];
const EVERY_DAY: [f64; 5] = [0.1, 0.3, 0.5, 0.7, 0.9];

/// The days that a way was driven on, as far as its litres depend on them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DaysDriven {
    /// What is left of a day's variance in their mean: 1 for a single day.
    left: f64,
    /// That share for an interval as one of many in a row, whose days follow one another.
    in_a_row: f64,
    /// Share of the way off the sealed road.
    off_road: Share,
}

impl DaysDriven {
    /// So many days, each as long as the other.
    pub fn known(days: u32, off_road: Share) -> Self {
        Self {
            left: left(days),
            in_a_row: in_a_row(days),
            off_road,
        }
    }

    /// What is left of the variance of a day on a sealed road, and of one off it.
    pub(super) fn parts(&self) -> [f64; 2] {
        self.shares().map(|share| share * self.left)
    }

    /// The parts of an interval as one of many in a row.
    pub(super) fn parts_in_a_row(&self) -> [f64; 2] {
        self.shares().map(|share| share * self.in_a_row)
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

/// Variance of the mean of days in an endless row, for intervals of so many days: Σⱼ r^|i−j| / n = (1 + r) / (1 − r) /
/// n. The mean of many ways strays by this, which is more than if each were on its own.
fn in_a_row(days: u32) -> f64 {
    let r = DAY_CARRIED.get();
    (1.0 + r) / (1.0 - r) / f64::from(days.max(1))
}

/// Share of a way that is off the sealed road.
pub(super) fn off_road(conditions: &Conditions) -> Share {
    match conditions.surface {
        Surface::Sealed => conditions.sand.max(conditions.low_range),
        _ => Share::new(1.0),
    }
}

/// A way as its dates and distance describe it.
struct When {
    /// Kilometres that take as long on sealed roads.
    km: f64,
    /// Days of the calendar; `None` if the dates are of no use.
    calendar: Option<u32>,
    off_road: Share,
}

impl When {
    fn new(interval: &Interval, odometer: Factor) -> Self {
        let length = |(shown, _): &(Kilometres, Conditions)| (*shown * odometer.get()).get();
        let all: f64 = interval.parts.iter().map(length).sum();
        let off = interval.parts.iter();
        let off: f64 = off.map(|part| length(part) * off_road(&part.1).get()).sum();
        let calendar = days_between(interval.dates);
        Self {
            km: all + off * (OFF_ROAD_SHORTER - 1.0),
            calendar: calendar.filter(|&days| all <= MOST_A_DAY.get() * f64::from(days)),
            off_road: Share::new((off / all).clamp(0.0, 1.0)),
        }
    }

    /// The chance of each number of days, from one, by the distance alone, where a day goes so far and that differs so
    /// much.
    fn by_distance(&self, km: f64, apart: f64) -> [f64; MOST_DAYS] {
        let mut chances = std::array::from_fn(|at| {
            let days = (at + 1) as f64;
            let spread = apart.hypot(DAYS_APART / days.sqrt());
            let off = (self.km / (days * km)).ln() / spread;
            (-0.5 * off * off).exp() / (spread * days)
        });
        let all: f64 = chances.iter().sum();
        for chance in &mut chances {
            *chance /= all.max(f64::MIN_POSITIVE);
        }
        chances
    }

    /// The chance of the calendar where the way was driven on so many days, and such a share of ways on every day.
    fn of_calendar(&self, days: u32, every_day: f64) -> f64 {
        let Some(calendar) = self.calendar else {
            return 1.0;
        };
        let Some(stood) = calendar.checked_sub(days) else {
            return 0.0;
        };
        let stays = STANDS / (STANDS + 1.0);
        let stands = (1.0 - stays) * stays.powf(f64::from(stood.min(STANDS_AT_MOST)));
        let drives = if stood == 0 { every_day } else { 0.0 };
        drives + (1.0 - every_day) * stands
    }
}

/// Days from one date to the other, at least one; `None` if one is not known or they go back.
fn days_between([from, to]: [Option<Date>; 2]) -> Option<u32> {
    let days = (to? - from?).get_days();
    u32::try_from(days).ok().map(|days| days.max(1))
}

/// The days of each way of a log; `None` if its dates are of no use.
pub(super) fn days_of(intervals: &[Interval], odometer: Factor) -> Option<Vec<DaysDriven>> {
    let ways: Vec<When> = intervals
        .iter()
        .map(|interval| When::new(interval, odometer))
        .collect();
    let all = [
        intervals.first().and_then(|first| first.dates[0]),
        intervals.last().and_then(|last| last.dates[1]),
    ];
    let shown: Kilometres = intervals.iter().map(Interval::shown).sum();
    // A log whose fills all have one date has none.
    let is_dated = ways.iter().any(|way| way.calendar.is_some())
        && days_between(all)
            .is_none_or(|days| shown <= MOST_A_DAY * f64::from(days.saturating_add(1)));
    is_dated.then(|| driven(&ways))
}

/// What is left of a day's variance in each way, on the mean over the grid.
fn driven(ways: &[When]) -> Vec<DaysDriven> {
    let kept: Vec<(u32, [f64; 2])> = (1..)
        .map(|days| (days, [left(days), in_a_row(days)]))
        .take(MOST_DAYS)
        .collect();
    let mut points = Vec::new();
    for km in KM {
        for apart in APART {
            let by_distance: Vec<_> = ways.iter().map(|way| way.by_distance(km, apart)).collect();
            for every_day in EVERY_DAY {
                let off = (km / DAY_KM).ln() / DAY_KM_SPREAD;
                let mut evidence = every_day.ln() - 0.5 * off * off;
                let mut of_ways = Vec::with_capacity(ways.len());
                for (way, chances) in ways.iter().zip(&by_distance) {
                    let (mut all, mut means) = (0.0, [0.0; 2]);
                    for ((days, kept), chance) in kept.iter().zip(chances) {
                        let both = chance * way.of_calendar(*days, every_day);
                        all += both;
                        for (mean, kept) in means.iter_mut().zip(kept) {
                            *mean += both * kept;
                        }
                    }
                    // Dates and distance that nothing goes with: as if it were one day.
                    let is_possible = all > 0.0;
                    of_ways.push(if is_possible {
                        means.map(|mean| mean / all)
                    } else {
                        kept[0].1
                    });
                    evidence += all.max(1e-30).ln();
                }
                points.push((evidence, of_ways));
            }
        }
    }
    let most = points.iter().map(|(evidence, _)| *evidence);
    let most = most.fold(f64::NEG_INFINITY, f64::max);
    let mut all = 0.0;
    let mut sums = vec![[0.0; 2]; ways.len()];
    for (evidence, of_ways) in points {
        let weight = (evidence - most).exp();
        all += weight;
        for (sums, kept) in sums.iter_mut().zip(of_ways) {
            for (sum, kept) in sums.iter_mut().zip(kept) {
                *sum += weight * kept;
            }
        }
    }
    let driven = ways.iter().zip(sums).map(|(way, sums)| DaysDriven {
        left: sums[0] / all,
        in_a_row: sums[1] / all,
        off_road: way.off_road,
    });
    driven.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is left of a day's variance, by so many days: by hand for 1, 2 and 3 with half carried over, (3 + 2 (2 ·
    /// 0.5 + 0.25)) / 9.
    #[test]
    fn days_in_a_row_cancel() {
        for (days, by_hand) in [(1, 1.0), (2, 0.75), (3, 5.5 / 9.0)] {
            assert!((left(days) - by_hand).abs() < 1e-12, "{days}");
        }
    }

    fn days_left(ways: &[(f64, Option<u32>)]) -> Vec<f64> {
        let ways: Vec<When> = ways
            .iter()
            .map(|&(km, calendar)| When {
                km,
                calendar,
                off_road: Share::ZERO,
            })
            .collect();
        driven(&ways).iter().map(|days| days.left).collect()
    }

    /// 400 km in three weeks are about two days for a vehicle that else needs two for as much, and all of them for one
    /// that never goes further than 20 km a day; on their own they are a few.
    #[test]
    fn distance_tells_how_long_a_vehicle_stood() {
        let mut log = vec![(400.0, Some(2)); 15];
        log.push((400.0, Some(21)));
        let stood = days_left(&log)[15];
        assert!((0.6..0.95).contains(&stood), "{stood}");
        let slow = days_left(&vec![(400.0, Some(21)); 15])[0];
        assert!((slow - left(21)).abs() < 0.05, "{slow}");
        let alone = days_left(&[(400.0, Some(21))])[0];
        assert!((left(6)..left(1)).contains(&alone), "{alone}");
    }

    /// A vehicle that is driven on each of eight days is known for it, though one day would do for the distance.
    #[test]
    fn daily_drives_are_known_by_their_regularity() {
        let days = [8, 9, 7, 8, 8, 7, 9, 8, 8, 8, 7, 9];
        let log: Vec<_> = days.iter().map(|&days| (420.0, Some(days))).collect();
        for (left_of_way, days) in days_left(&log).into_iter().zip(days) {
            assert!(
                (left_of_way - left(days)).abs() < 0.06,
                "{left_of_way} of {days}"
            );
        }
    }

    /// Without a date only the distance is known.
    #[test]
    fn without_a_date_the_distance_tells() {
        let [near, far] = days_left(&[(60.0, None), (2000.0, None)])[..] else {
            panic!("two ways");
        };
        assert!(near > 0.8 && far < 0.5, "{near} {far}");
    }
}
