//! From the vehicle's own fill-ups to its factors.
//!
//! What the formula gives for a way brim to brim is a sum of components (base, sand, low range, roof, idling), each
//! times a factor of the vehicle. The factors follow by conjugate Bayesian linear regression: a normal prior around 1
//! (or around factors fitted before), and litres that stray about their sum by a share of it, the residual, and by what
//! the measurement itself may be off. The residual is where the marginal likelihood is highest, with a prior worth a
//! few fill-ups; where fills are dated it is split into what a day and what a tank brings (`scatter.rs`, `days.rs`).
//! With no prior at all this is ordinary least squares, which tests hold to certified values.
//!
//! Left out: ways whose load, roof or ground change within one fill; wind and hills, which fill-ups do not show and
//! which the residual therefore holds.

mod days;
mod fills;
mod regression;
mod scatter;

use crate::model::calibration::{COMPONENTS, Calibration, Component};
use crate::model::vehicle::Vehicle;
use crate::model::vocabulary::Surface;
use crate::quantity::{Factor, Kilometres, Litres, LitresPer100Km, Share};

use crate::consumption::spread;
pub use days::DaysDriven;
pub use fills::{FillCalibration, FittedInterval, LeftOut, SUSPECT, Suspicion, Why, foreseen};
use regression::{Equation, posterior};
use scatter::{Held, Scatter};

/// Spread of the sand factor: most of what the published resistance of sand leaves open, which reaches from half to
/// twice the likely one, and 0.7 of whose variance is common to all sand. Common practice, no source.
pub(crate) const SAND_SPREAD: Factor = Factor::new(0.3);
/// Spread of the roof factor: one and the same box added from 0.2 to 0.4 m² to two cars (Thomas, Huff, West, SAE 2014).
pub(crate) const ROOF_SPREAD: Factor = Factor::new(0.35);
/// A factor that keeps this part of its prior spread was not shown about.
pub(crate) const UNTOLD: f64 = 0.9;

/// Litres on a way with what the formula makes of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Observed {
    /// Litres by component with all factors 1, in the order of [`Component::ALL`].
    pub components: [Litres; COMPONENTS],
    /// Litres that were used.
    pub litres: Litres,
    /// How far the measurement of them may be off: a standard deviation.
    pub spread: Litres,
    /// The days that it was driven on; `None` if that is not known.
    pub days: Option<DaysDriven>,
}

/// What most probably makes the difference between the litres of a way and those that the factors give.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LikelyOff {
    /// A factor of the vehicle.
    Factor(Component),
    /// The days: wind, traffic, how it was driven.
    Days,
    /// The measurement itself.
    Readings,
}

/// What is known of the factors.
#[derive(Clone, Debug, PartialEq)]
pub struct Factors {
    mean: [f64; COMPONENTS],
    covariance: [[f64; COMPONENTS]; COMPONENTS],
    scatter: Scatter,
    /// The surface whose resistance they include.
    surface: Option<Surface>,
}

impl Factors {
    /// Before any fill-up: 1, as sure as the baseline consumption's source and the published tables are.
    pub fn prior(vehicle: &Vehicle) -> Self {
        let spreads = [
            spread::baseline_spread(vehicle.baseline_from()).get(),
            SAND_SPREAD.get(),
            spread::LOW_RANGE_SPREAD.get(),
            ROOF_SPREAD.get(),
            spread::IDLE_SPREAD.get(),
        ];
        Self {
            mean: [1.0; COMPONENTS],
            covariance: diagonal(spreads.map(|spread| spread * spread)),
            scatter: Scatter::PRIOR,
            surface: None,
        }
    }

    /// What is known of `vehicle`: the factors it was fitted with, else the prior.
    pub fn calibrated(vehicle: &Vehicle) -> Self {
        vehicle
            .calibration
            .as_ref()
            .map_or_else(|| Self::prior(vehicle), Self::fitted)
    }

    fn fitted(fitted: &Calibration) -> Self {
        Self {
            mean: fitted.factors().map(Factor::get),
            covariance: fitted.covariance.map(|row| row.map(Factor::get)),
            scatter: Scatter::from_calibration(fitted),
            surface: fitted.surface,
        }
    }

    /// The factors as they are saved with a vehicle of that baseline consumption; what they were fitted from is left
    /// open.
    pub fn saved(&self, base: LitresPer100Km) -> Calibration {
        let value = |component| self.value(component);
        let [road_day_share, off_road_day_share] = self.days();
        Calibration {
            base: value(Component::Base),
            sand: value(Component::Sand),
            low_range: value(Component::LowRange),
            roof: value(Component::Roof),
            idle: value(Component::Idle),
            covariance: self.covariance(),
            residual_share: self.residual(),
            road_day_share,
            off_road_day_share,
            tank_share: self.scatter.tank(),
            surface: self.surface,
            intervals: 0,
            distance_km: Kilometres::ZERO,
            litres: Litres::ZERO,
            baseline_l_per_100km: base,
            from: None,
            predictions: None,
        }
    }

    /// What would be known after `ways` as far as that does not depend on what they take: the factors stay, their
    /// spreads narrow.
    #[must_use]
    pub(crate) fn narrowed(&self, ways: &[Observed]) -> Self {
        Self {
            mean: self.mean,
            ..self.with_few(ways)
        }
    }

    /// With what `ways` show of the factors alone. Few and rough ones do not show how far ways stray: a single one
    /// that is far off would make that a multiple, and with it the fuel in cans.
    #[must_use]
    pub(crate) fn with_few(&self, ways: &[Observed]) -> Self {
        if ways.is_empty() {
            return self.clone();
        }
        self.given(ways, self).0
    }

    /// The calibration factor of a component; 1 without calibration.
    pub fn value(&self, component: Component) -> Factor {
        Factor::new(self.mean[component as usize])
    }

    /// Standard deviation of a component's factor.
    pub fn spread(&self, component: Component) -> Factor {
        let at = component as usize;
        Factor::new(self.covariance[at][at].max(0.0).sqrt())
    }

    /// Components that keep nearly all of the spread of `prior`: of them hardly anything was shown.
    pub fn uninformed(&self, prior: &Self) -> impl Iterator<Item = Component> {
        Component::ALL
            .into_iter()
            .filter(move |&each| self.spread(each).get() > UNTOLD * prior.spread(each).get())
    }

    /// Covariance of all factors, in the order of [`Component::ALL`].
    pub fn covariance(&self) -> [[Factor; COMPONENTS]; COMPONENTS] {
        self.covariance.map(|row| row.map(Factor::new))
    }

    /// Spread of one way about its fitted litres, as a share of them.
    pub fn residual(&self) -> Share {
        self.scatter.residual()
    }

    /// Spread of a day on sealed roads and of one off them, as a share of its litres; `None` if the log has no
    /// dated fills of that kind.
    pub fn days(&self) -> [Option<Share>; 2] {
        self.scatter.days()
    }

    /// Spread of a tank whatever its days, as a share of its litres; `None` in a fit from before days were recorded.
    pub fn tank(&self) -> Option<Share> {
        self.scatter.tank()
    }

    /// How far a way's litres stray about those that are fitted: its days, its tank and the measurement, a standard
    /// deviation.
    pub fn stray(&self, way: &Observed) -> Litres {
        let about = self.scatter.share(way.days) * self.predict(&way.components).get();
        Litres::new(about.hypot(way.spread.get()))
    }

    /// Standard deviation with which the regression weighs an interval as one of many in a row.
    pub fn weighed(&self, way: &Observed) -> Litres {
        let about = self.scatter.share_in_a_row(way.days) * self.predict(&way.components).get();
        Litres::new(about.hypot(way.spread.get()))
    }

    /// What brings the largest part of the variance of a way's litres.
    pub fn likely_off(&self, way: &Observed) -> LikelyOff {
        let of_factor = |&each: &Component| {
            let litres = way.components[each as usize].get();
            (litres * self.spread(each).get()).powi(2)
        };
        let of_days = (self.scatter.share(way.days) * self.predict(&way.components).get()).powi(2);
        let factors = Component::ALL.iter();
        let factors = factors.map(|each| (of_factor(each), LikelyOff::Factor(*each)));
        let others = [
            (of_days, LikelyOff::Days),
            (way.spread.get().powi(2), LikelyOff::Readings),
        ];
        let largest = factors.chain(others).max_by(|a, b| a.0.total_cmp(&b.0));
        largest.map_or(LikelyOff::Readings, |(_, likely)| likely)
    }

    /// Litres of a way.
    pub fn predict(&self, components: &[Litres; COMPONENTS]) -> Litres {
        components
            .iter()
            .zip(self.mean)
            .map(|(litres, factor)| *litres * factor)
            .sum()
    }

    /// How far a way's litres may be from that: factors, residual and measurement together, a standard deviation.
    pub fn spread_of(&self, observed: &Observed) -> Litres {
        let factors = self.variance_of(&observed.components);
        Litres::new((factors + self.stray(observed).get().powi(2)).sqrt())
    }

    /// Variance of a way's litres that comes of the factors, in L².
    fn variance_of(&self, components: &[Litres; COMPONENTS]) -> f64 {
        let litres = |a: usize| components[a].get();
        let row =
            |a: usize| (0..COMPONENTS).map(move |b| litres(a) * self.covariance[a][b] * litres(b));
        (0..COMPONENTS).flat_map(row).sum()
    }

    /// With what `ways` show.
    #[must_use]
    pub fn with(&self, ways: &[Observed]) -> Self {
        self.with_near(ways, self)
    }

    /// The factors with more intervals, searched for from factors that are near.
    fn with_near(&self, ways: &[Observed], near: &Self) -> Self {
        if ways.is_empty() {
            return self.clone();
        }
        let ready = |of: &Self| Self {
            scatter: of.scatter.ready(ways.iter().map(|way| way.days)),
            ..of.clone()
        };
        ready(self).settled(ways, ready(near))
    }

    fn settled(&self, ways: &[Observed], mut now: Self) -> Self {
        // Fixed-point iteration to the scatter of highest marginal likelihood; it converges fast, since prior and
        // count of ways dominate.
        for _ in 0..100 {
            let (at, variances) = self.given(ways, &now);
            let held: Vec<Held> = ways
                .iter()
                .zip(variances)
                .map(|(way, variance)| Held {
                    days: way.days,
                    litres: now.predict(&way.components).get().powi(2) / variance,
                    miss: (way.litres - at.predict(&way.components)).get().powi(2) / variance,
                    leverage: at.variance_of(&way.components) / variance,
                })
                .collect();
            let scatter = self.scatter.step(&now.scatter, &held);
            let settled = scatter.is_near(&now.scatter);
            now = Self { scatter, ..at };
            if settled {
                break;
            }
        }
        now
    }

    /// The factors that follow if the residual, and the litres that it is a share of, are those of `now`; and the
    /// variance of each way.
    fn given(&self, ways: &[Observed], now: &Self) -> (Self, Vec<f64>) {
        let variances: Vec<f64> = ways
            .iter()
            .map(|way| {
                let stray = now.stray(way).get();
                stray.powi(2).max(f64::MIN_POSITIVE)
            })
            .collect();
        let of_ways = ways.iter().map(|way| {
            let spread = now.weighed(way).get().max(1e-150);
            Equation {
                x: way.components.map(|litres| litres.get() / spread).to_vec(),
                y: way.litres.get() / spread,
            }
        });
        let rows: Vec<Equation> = self.whitened().into_iter().chain(of_ways).collect();
        let at = posterior(&rows).map_or_else(
            || self.clone(),
            |found| Self {
                mean: std::array::from_fn(|at| found.mean[at]),
                covariance: std::array::from_fn(|a| {
                    std::array::from_fn(|b| found.covariance[(a.min(b), a.max(b))])
                }),
                ..self.clone()
            },
        );
        (at, variances)
    }

    /// What is known as rows: those of whitened coefficients, L⁻¹ (β − mean), which are standard normal.
    fn whitened(&self) -> Vec<Equation> {
        // A spread of nothing would be an infinite weight.
        let variance = |at: usize| self.covariance[at][at].max(0.0) + 1e-12;
        let covariance = nalgebra::DMatrix::from_fn(COMPONENTS, COMPONENTS, |a, b| {
            if a == b {
                variance(a)
            } else {
                self.covariance[a][b]
            }
        });
        let root = covariance.cholesky().map(|root| root.l());
        // Numbers that are no covariance count as those of independent factors.
        let root = root.unwrap_or_else(|| {
            nalgebra::DMatrix::from_fn(COMPONENTS, COMPONENTS, |a, b| {
                if a == b { variance(a).sqrt() } else { 0.0 }
            })
        });
        let whitener = root
            .try_inverse()
            .expect("a triangle with a positive diagonal");
        let rows = whitener.row_iter().map(|row| {
            let x: Vec<f64> = row.iter().copied().collect();
            let y = x.iter().zip(self.mean).map(|(a, b)| a * b).sum();
            Equation { x, y }
        });
        rows.collect()
    }
}

fn diagonal(values: [f64; COMPONENTS]) -> [[f64; COMPONENTS]; COMPONENTS] {
    std::array::from_fn(|a| std::array::from_fn(|b| if a == b { values[a] } else { 0.0 }))
}

#[cfg(test)]
mod tests;
