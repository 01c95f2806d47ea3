//! How far ways stray from their fitted litres, split into what a day brings and what a tank brings.
//!
//! The variance of a way, as a share of its litres squared, is tank² + day² · what its number of days leaves of a
//! day's: much of a day's deviation cancels on a tank that lasts eight days, nothing of the tank's own (fuel, fuel
//! stop, how full is full). Days off the sealed road have a spread of their own: quiet fills on sealed roads show
//! nothing of them. What is found for each is where the marginal likelihood is highest, with a prior worth a few ways:
//! one step multiplies a variance by the squares that are its own over the ways that are (Schall, Biometrika 78, 1991,
//! from memory).

use crate::consumption::spread::{DAY_SPREAD, P95};
use crate::model::calibration::Calibration;
use crate::quantity::Share;

use super::days::DaysDriven;

/// Spread of one fill about its mean before anything is known: real logs stray 12 % above it at the 95th percentile
/// over one tank.
pub(crate) const RESIDUAL: Share = Share::new(0.12 / P95.get());
/// How many fills that is worth. Common practice, no source.
const WORTH: f64 = 4.0;
/// Spread of a day before anything is known, on any ground: that of a vehicle that was not fitted.
const DAY: Share = Share::new(DAY_SPREAD.get());
/// Standard deviation of a tank, whatever its days, before anything is known. Common practice, no source.
const TANK: Share = Share::new(0.03);
/// How many ways each of them is worth. Common practice, no source: half a dozen fills are to weigh more than the
/// prior.
const PART_WORTH: f64 = 2.0;
/// From so many ways of a kind on the log is evidence of its days. Common practice, no source.
const LOGGED: f64 = 3.0;

/// How far ways stray.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Scatter {
    /// A way of which nothing more is known, as a share of its litres.
    residual: f64,
    /// How many fills that is worth.
    worth: f64,
    split: Split,
}

/// What is known of days.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Split {
    /// No dated intervals: the parts are unknown.
    Unknown,
    /// The parts are unknown, and the fit is from before days were recorded.
    NotRecorded,
    /// What is known from dated fills.
    Known(Parts),
}

/// Variances and what they are worth, in the order tank, day on sealed roads, day off them.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Parts {
    of: [f64; 3],
    worth: [f64; 3],
    /// Ways of each kind of day.
    logged: [f64; 2],
}

impl Parts {
    const PRIOR: Self = Self {
        of: [
            TANK.get() * TANK.get(),
            DAY.get() * DAY.get(),
            DAY.get() * DAY.get(),
        ],
        worth: [PART_WORTH; 3],
        logged: [0.0; 2],
    };

    /// What of each part is left in a way.
    fn over(&self, days: DaysDriven) -> [f64; 3] {
        self.left(days.parts())
    }

    fn left(&self, [on, off]: [f64; 2]) -> [f64; 3] {
        let [tank, road, off_road] = self.of;
        [tank, road * on, off_road * off]
    }
}

/// A way held against what was fitted.
pub(super) struct Held {
    pub(super) days: Option<DaysDriven>,
    /// Its fitted litres squared, over the variance that was given to it.
    pub(super) litres: f64,
    /// Its miss squared, over the same.
    pub(super) miss: f64,
    /// What of that variance the factors take up.
    pub(super) leverage: f64,
}

impl Scatter {
    pub(super) const PRIOR: Self = Self {
        residual: RESIDUAL.get(),
        worth: WORTH,
        split: Split::Unknown,
    };

    /// What was saved with a vehicle.
    pub(super) fn from_calibration(fitted: &Calibration) -> Self {
        let worth = WORTH + f64::from(fitted.intervals);
        let days = [fitted.road_day_share, fitted.off_road_day_share];
        let split = match fitted.tank_share {
            None => Split::NotRecorded,
            Some(_) if days == [None, None] => Split::Unknown,
            Some(tank) => {
                let square = |share: Share| share.get() * share.get();
                let [_, road, off_road] = Parts::PRIOR.of;
                Split::Known(Parts {
                    of: [
                        square(tank),
                        days[0].map_or(road, square),
                        days[1].map_or(off_road, square),
                    ],
                    worth: [worth; 3],
                    logged: days.map(|day| if day.is_some() { LOGGED } else { 0.0 }),
                })
            }
        };
        Self {
            residual: fitted.residual_share.get(),
            worth,
            split,
        }
    }

    /// Spread of a way about its fitted litres where nothing more is known of it, as a share of them.
    pub(super) fn residual(&self) -> Share {
        Share::new(self.residual)
    }

    /// Standard deviation, as a share, of an interval that was driven on these days.
    pub(super) fn share(&self, days: Option<DaysDriven>) -> f64 {
        match (self.split, days) {
            (Split::Known(parts), Some(days)) => parts.over(days).iter().sum::<f64>().sqrt(),
            _ => self.residual,
        }
    }

    /// Standard deviation, as a share, of an interval as one of many in a row: a day reaches into the next interval, so
    /// many of them show less than as many single ones.
    pub(super) fn share_in_a_row(&self, days: Option<DaysDriven>) -> f64 {
        match (self.split, days) {
            (Split::Known(parts), Some(days)) => {
                let left = parts.left(days.parts_in_a_row());
                left.iter().sum::<f64>().sqrt()
            }
            _ => self.residual,
        }
    }

    /// Spread of a day on sealed roads and of one off them; `None` if the log has too few dated fills of that kind.
    pub(super) fn days(&self) -> [Option<Share>; 2] {
        let Split::Known(parts) = self.split else {
            return [None; 2];
        };
        let day = |at: usize| Share::new(parts.of[at + 1].sqrt());
        [0, 1].map(|at| (parts.logged[at] >= LOGGED).then(|| day(at)))
    }

    /// Spread of a tank that its days do not change. What a log without dates strays beyond a day as it is taken before
    /// anything is known is the tank's.
    pub(super) fn tank(&self) -> Option<Share> {
        let square = match self.split {
            Split::NotRecorded => return None,
            Split::Unknown => self.residual.powi(2) - DAY_SPREAD.get().powi(2),
            Split::Known(parts) => parts.of[0],
        };
        Some(Share::new(square.max(0.0).sqrt()))
    }

    /// Where the search begins: split where the days of all ways are known.
    pub(super) fn ready(self, mut days: impl Iterator<Item = Option<DaysDriven>>) -> Self {
        let split = match self.split {
            Split::Unknown | Split::NotRecorded if days.all(|days| days.is_some()) => {
                Split::Known(Parts::PRIOR)
            }
            split => split,
        };
        Self { split, ..self }
    }

    /// One step from `now` to the highest marginal likelihood, `self` being what was known before: each way counts as
    /// far as its variance is the part's.
    pub(super) fn step(&self, now: &Self, ways: &[Held]) -> Self {
        let count = ways.len() as f64;
        let ratio = |worth: f64, before: f64, part: &dyn Fn(&Held) -> f64| {
            let (mut squares, mut free, mut evidence) = (worth * before, worth, 0.0);
            for way in ways {
                let part = part(way);
                squares += part * way.miss;
                free += part * (1.0 - way.leverage);
                evidence += part;
            }
            (squares / free, evidence)
        };
        let Split::Known(parts) = now.split else {
            let before = (self.residual / now.residual).powi(2);
            let about = now.residual * now.residual;
            let (times, _) = ratio(self.worth, before, &|way| about * way.litres);
            return Self {
                residual: now.residual * times.sqrt(),
                worth: self.worth + count,
                split: now.split,
            };
        };
        let Split::Known(known) = self.split else {
            return *now;
        };
        let mut next = known;
        for at in 0..next.of.len() {
            let left = |way: &Held| way.days.map_or(0.0, |days| parts.over(days)[at]);
            let before = known.of[at] / parts.of[at];
            let (times, evidence) = ratio(known.worth[at], before, &|way| left(way) * way.litres);
            next.of[at] = parts.of[at] * times;
            next.worth[at] += evidence;
        }
        for shares in ways.iter().filter_map(|way| way.days) {
            for (logged, share) in next.logged.iter_mut().zip(shares.shares()) {
                *logged += share;
            }
        }
        let mut next = Self {
            split: Split::Known(next),
            worth: self.worth + count,
            ..*self
        };
        let squares: f64 = ways.iter().map(|way| next.share(way.days).powi(2)).sum();
        next.residual = (squares / count).sqrt();
        next
    }

    /// Whether a step led nowhere.
    pub(super) fn is_near(&self, other: &Self) -> bool {
        let parts = match (self.split, other.split) {
            (Split::Known(a), Split::Known(b)) => {
                let mut both = a.of.iter().zip(b.of);
                both.all(|(a, b)| (a.sqrt() - b.sqrt()).abs() < 1e-9)
            }
            _ => true,
        };
        parts && (self.residual - other.residual).abs() < 1e-12
    }
}
