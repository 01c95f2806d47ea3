//! How far the factors of the vehicle may be off: as trusted as the baseline consumption's source, or as a fit to
//! fill-ups shows.

use crate::calibrate::{SAND_SPREAD, UNTOLD};
use crate::consumption::spread::{self, DAY_SPREAD};
use crate::model::calibration::{COMPONENTS, Calibration, Component};
use crate::model::vocabulary::{BaselineFrom, Surface};
use crate::quantity::{Deviations, LogFactor, Share};

/// A factor that is drawn is never less than this part of its best estimate.
const LEAST: f64 = 0.05;

/// How far the factors of the vehicle may be off.
#[derive(Clone, Debug, PartialEq)]
pub enum VehicleDoubt {
    /// Lognormal by where the baseline consumption comes from; low range and idling wider.
    Prior(BaselineFrom),
    /// Normal, correlated as a fit left them.
    Calibrated {
        /// Lower triangle whose square is the covariance of the factors, each divided by its best estimate.
        root: Box<[[f64; COMPONENTS]; COMPONENTS]>,
        /// What is left when the factors are known.
        scatter: Scatter,
        /// Whether the factor of sand holds what all sand has in common.
        knows_sand: bool,
    },
}

/// What is left of a fitted vehicle's litres when its factors are known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scatter {
    /// Spread of a day on sealed roads, and of one off them.
    days: [LogFactor; 2],
    /// Spread of a tank whatever its days.
    tank: LogFactor,
    /// Whether the road day was found in a log, with whatever wind blew; what sealed roads resist is in the base factor
    /// then.
    holds_road: bool,
    /// The surface off sealed roads of which the same is true.
    holds_surface: Option<Surface>,
}

impl Scatter {
    fn from_calibration(fitted: &Calibration) -> Self {
        let log = |share: Share| LogFactor::new(share.get());
        let Some(tank) = fitted.tank_share else {
            // From before days were distinguished: on sealed roads a day strays like a tank, as it did then; off them
            // no less than a day of which nothing is known, since it is unknown where the fills were driven.
            let residual = log(fitted.residual_share);
            return Self {
                days: [residual, residual.max(DAY_SPREAD)],
                tank: LogFactor::ZERO,
                holds_road: false,
                holds_surface: None,
            };
        };
        let days = [fitted.road_day_share, fitted.off_road_day_share];
        Self {
            days: days.map(|day| day.map_or(DAY_SPREAD, log)),
            tank: log(tank),
            holds_road: fitted.road_day_share.is_some(),
            holds_surface: fitted
                .surface
                .filter(|_| fitted.off_road_day_share.is_some()),
        }
    }
}

impl VehicleDoubt {
    /// Of a vehicle that was fitted.
    pub(crate) fn fitted(fitted: &Calibration) -> Self {
        let factors = fitted.factors();
        let knows_sand = knows_sand(fitted);
        let of = |component| match component {
            Component::Sand if !knows_sand => Component::Base,
            other => other,
        };
        let mut covariance = [[0.0; COMPONENTS]; COMPONENTS];
        for (a, row) in Component::ALL.into_iter().zip(&mut covariance) {
            for (b, of_both) in Component::ALL.into_iter().zip(row) {
                let (a, b) = (of(a), of(b));
                let likely = factors[a as usize].get() * factors[b as usize].get();
                *of_both = if likely > 0.0 {
                    fitted.covariance(a, b).get() / likely
                } else {
                    0.0
                };
            }
        }
        Self::Calibrated {
            root: Box::new(root(&covariance)),
            scatter: Scatter::from_calibration(fitted),
            knows_sand,
        }
    }

    /// Whether a factor of the vehicle holds what all sand has in common.
    pub(super) const fn knows_sand(&self) -> bool {
        matches!(
            self,
            Self::Calibrated {
                knows_sand: true,
                ..
            }
        )
    }

    /// Spread of what a day brings, in its log.
    pub(super) fn day(&self, is_off_road: bool) -> LogFactor {
        match self {
            Self::Prior(_) => DAY_SPREAD,
            Self::Calibrated { scatter, .. } => scatter.days[usize::from(is_off_road)],
        }
    }

    /// Spread of what a tank brings whatever its days, in its log.
    pub(super) fn tank(&self) -> LogFactor {
        match self {
            Self::Prior(_) => LogFactor::ZERO,
            Self::Calibrated { scatter, .. } => scatter.tank,
        }
    }

    /// Whether the spread of a day holds what wind, ground and speed do on a surface.
    pub(super) fn holds_ground(&self, is_off_road: bool, surface: Surface) -> bool {
        match self {
            Self::Prior(_) => false,
            Self::Calibrated { scatter, .. } if is_off_road => {
                scatter.holds_surface == Some(surface)
            }
            Self::Calibrated { scatter, .. } => scatter.holds_road,
        }
    }

    /// The factors over their likely values, in the order of [`Component::ALL`], at drawn deviations.
    pub(super) fn factors(&self, z: [f64; COMPONENTS]) -> [f64; COMPONENTS] {
        match self {
            Self::Prior(from) => {
                let base =
                    (spread::baseline_spread(*from).get() * z[Component::Base as usize]).exp();
                let low_range =
                    (spread::LOW_RANGE_SPREAD.get() * z[Component::LowRange as usize]).exp();
                let idle = (spread::IDLE_SPREAD.get() * z[Component::Idle as usize]).exp();
                [base, base, base * low_range, base, idle]
            }
            Self::Calibrated { root, .. } => root.map(|row| {
                let off: f64 = row.iter().zip(z).map(|(part, z)| part * z).sum();
                (1.0 + off).max(LEAST)
            }),
        }
    }

    /// The factors with one of them at a deviation and the rest following as they are correlated with it.
    pub(super) fn with_one(&self, component: Component, at: Deviations) -> [f64; COMPONENTS] {
        let mut z = [0.0; COMPONENTS];
        match self {
            Self::Prior(_) => z[component as usize] = at.get(),
            Self::Calibrated { root, .. } => {
                let row = root[component as usize];
                let spread = row.iter().map(|part| part * part).sum::<f64>().sqrt();
                if spread > 0.0 {
                    z = row.map(|part| part / spread * at.get());
                }
            }
        }
        self.factors(z)
    }
}

/// Whether the fit has evidence of sand. Where it hardly does, sand stays what it is for a vehicle that was not fitted:
/// quiet fills on sealed roads must not narrow it. Fits from before days were distinguished are drawn as they were.
fn knows_sand(fitted: &Calibration) -> bool {
    let spread = fitted.covariance(Component::Sand, Component::Sand);
    fitted.tank_share.is_none() || spread.get().max(0.0).sqrt() <= UNTOLD * SAND_SPREAD.get()
}

/// The lower triangle whose square is a covariance (Cholesky); where a factor follows from others nothing is left of
/// it.
fn root(covariance: &[[f64; COMPONENTS]; COMPONENTS]) -> [[f64; COMPONENTS]; COMPONENTS] {
    let mut root = [[0.0; COMPONENTS]; COMPONENTS];
    for column in 0..COMPONENTS {
        let known: f64 = root[column][..column].iter().map(|part| part * part).sum();
        let left = (covariance[column][column] - known).max(0.0).sqrt();
        root[column][column] = left;
        for row in column + 1..COMPONENTS {
            let known: f64 = (0..column).map(|at| root[row][at] * root[column][at]).sum();
            root[row][column] = if left > 1e-9 {
                (covariance[row][column] - known) / left
            } else {
                0.0
            };
        }
    }
    root
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The square of the root is the covariance, also where one factor follows from another.
    #[test]
    fn the_root_squares_to_the_covariance() {
        let mut covariance = [[0.0; COMPONENTS]; COMPONENTS];
        let spreads = [0.03, 0.2, 0.1, 0.4, 0.15];
        for (row, a) in spreads.iter().enumerate() {
            for (column, b) in spreads.iter().enumerate() {
                let correlation = match (row, column) {
                    (a, b) if a == b => 1.0,
                    (0, 1) | (1, 0) => -0.6,
                    (2, 4) | (4, 2) => 1.0,
                    _ => 0.0,
                };
                covariance[row][column] = correlation * a * b;
            }
        }
        let root = root(&covariance);
        for row in 0..COMPONENTS {
            for column in 0..COMPONENTS {
                let square: f64 = (0..COMPONENTS)
                    .map(|at| root[row][at] * root[column][at])
                    .sum();
                assert!(
                    (square - covariance[row][column]).abs() < 1e-12,
                    "{row} {column}"
                );
            }
        }
    }
}
