//! From the vehicle's own fill-ups to its factors.
//!
//! What the formula says of a way from brim to brim is a sum of components (base, sand, low range, roof, idling), each
//! times a factor of the vehicle. The factors follow by conjugate Bayesian linear regression: a normal prior around 1
//! (or around factors fitted before), and litres that stray about their sum by a share of it, the residual, and by what
//! the measurement itself may be off. The residual is where the marginal likelihood is highest, with a prior worth a
//! few fill-ups. With no prior at all this is ordinary least squares, which tests hold to certified values.
//!
//! Left out: ways whose load, roof or ground change within one fill; wind and hills, which fill-ups do not tell of and
//! which the residual therefore holds.

mod fills;
mod regression;

use crate::model::fitted::{COMPONENTS, Component, Fitted};
use crate::model::vehicle::Vehicle;
use crate::quantity::{Factor, Kilometres, Litres, LitresPer100Km, Share};

use crate::consumption::spread::{self, P95};
pub use fills::{FillFit, FittedWay, LeftOut, SUSPECT, Suspicion, Why, foreseen};
use regression::{Row, posterior};

/// Spread of the sand factor: most of what the published resistance of sand leaves open, which reaches from half to twice
/// the likely one, and 0.7 of whose variance is common to all sand. Common practice, no source.
pub(crate) const SAND_SPREAD: Factor = Factor::new(0.3);
/// Spread of the roof factor: one and the same box added from 0.2 to 0.4 m² to two cars (Thomas, Huff, West, SAE 2014).
pub(crate) const ROOF_SPREAD: Factor = Factor::new(0.35);
/// Spread of one fill about its mean before anything is known: real logs stray 12 % above it at the 95th percentile over
/// one tank.
pub(crate) const RESIDUAL: Share = Share::new(0.12 / P95.get());
/// How many fills that is worth. Common practice, no source.
const RESIDUAL_WORTH: f64 = 4.0;
/// A factor that keeps this part of its prior spread was not told about.
const UNTOLD: f64 = 0.9;

/// Litres on a way with what the formula makes of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Observed {
    /// Litres by component with all factors 1, in the order of [`Component::ALL`].
    pub components: [Litres; COMPONENTS],
    /// Litres that were used.
    pub litres: Litres,
    /// How far the measurement of them may be off: a standard deviation.
    pub spread: Litres,
}

/// What is known of the factors.
#[derive(Clone, Debug, PartialEq)]
pub struct Factors {
    mean: [f64; COMPONENTS],
    covariance: [[f64; COMPONENTS]; COMPONENTS],
    residual: f64,
    /// How many fills the residual is worth.
    worth: f64,
}

impl Factors {
    /// Before any fill-up: 1, as sure as the base figure's source and the published tables are.
    pub fn prior(vehicle: &Vehicle) -> Self {
        let spreads = [
            spread::base_spread(vehicle.base_from()).get(),
            SAND_SPREAD.get(),
            spread::LOW_RANGE_SPREAD.get(),
            ROOF_SPREAD.get(),
            spread::IDLE_SPREAD.get(),
        ];
        Self {
            mean: [1.0; COMPONENTS],
            covariance: diagonal(spreads.map(|spread| spread * spread)),
            residual: RESIDUAL.get(),
            worth: RESIDUAL_WORTH,
        }
    }

    /// What is known of `vehicle`: the factors it was fitted with, else the prior.
    pub fn of(vehicle: &Vehicle) -> Self {
        vehicle
            .fitted
            .as_ref()
            .map_or_else(|| Self::prior(vehicle), Self::fitted)
    }

    fn fitted(fitted: &Fitted) -> Self {
        Self {
            mean: fitted.factors().map(Factor::get),
            covariance: fitted.covariance.map(|row| row.map(Factor::get)),
            residual: fitted.residual_share.get(),
            worth: RESIDUAL_WORTH + f64::from(fitted.intervals),
        }
    }

    /// The factors as they are saved with a vehicle of that base figure; what they were fitted from is left open.
    pub fn saved(&self, base: LitresPer100Km) -> Fitted {
        let value = |component| self.value(component);
        Fitted {
            base: value(Component::Base),
            sand: value(Component::Sand),
            low_range: value(Component::LowRange),
            roof: value(Component::Roof),
            idle: value(Component::Idle),
            covariance: self.covariance(),
            residual_share: self.residual(),
            intervals: 0,
            distance_km: Kilometres::ZERO,
            litres: Litres::ZERO,
            base_l_per_100km: base,
            from: None,
            ways: None,
        }
    }

    /// What would be known after `ways` as far as that does not hang on what they take: the factors stay, their spreads
    /// narrow.
    #[must_use]
    pub(crate) fn narrowed(&self, ways: &[Observed]) -> Self {
        Self {
            mean: self.mean,
            ..self.with_few(ways)
        }
    }

    /// With what `ways` say of the factors alone. Few and rough ones say nothing of how far ways stray: a single one that
    /// is far off would make that a multiple, and with it the spare fuel.
    #[must_use]
    pub(crate) fn with_few(&self, ways: &[Observed]) -> Self {
        if ways.is_empty() {
            return self.clone();
        }
        self.given(ways, self).0
    }

    /// A factor.
    pub fn value(&self, component: Component) -> Factor {
        Factor::new(self.mean[component as usize])
    }

    /// Its spread.
    pub fn spread(&self, component: Component) -> Factor {
        let at = component as usize;
        Factor::new(self.covariance[at][at].max(0.0).sqrt())
    }

    /// Components that keep nearly all of the spread of `prior`: of them hardly anything was told.
    pub(crate) fn untold(&self, prior: &Self) -> impl Iterator<Item = Component> {
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
        Share::new(self.residual)
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
        let residual = self.residual * self.predict(&observed.components).get();
        Litres::new((factors + residual.powi(2) + observed.spread.get().powi(2)).sqrt())
    }

    /// Variance of a way's litres that comes of the factors, in L².
    fn variance_of(&self, components: &[Litres; COMPONENTS]) -> f64 {
        let litres = |a: usize| components[a].get();
        let row =
            |a: usize| (0..COMPONENTS).map(move |b| litres(a) * self.covariance[a][b] * litres(b));
        (0..COMPONENTS).flat_map(row).sum()
    }

    /// With what `ways` say.
    #[must_use]
    pub fn with(&self, ways: &[Observed]) -> Self {
        let mut now = self.clone();
        if ways.is_empty() {
            return now;
        }
        // Fixed-point iteration to the residual of highest marginal likelihood; it converges fast, since prior and
        // count of ways dominate.
        for _ in 0..100 {
            let (at, variances) = self.given(ways, &now);
            let next = self.residual_given(ways, &at, &now, variances);
            let settled = (next - now.residual).abs() < 1e-12;
            now = Self {
                residual: next,
                worth: self.worth + ways.len() as f64,
                ..at
            };
            if settled {
                break;
            }
        }
        now
    }

    /// The factors that follow if the residual, and the litres that it is a share of, are those of `now`; and the variance of
    /// each way.
    fn given(&self, ways: &[Observed], now: &Self) -> (Self, Vec<f64>) {
        let variances: Vec<f64> = ways
            .iter()
            .map(|way| {
                let about = (now.residual * now.predict(&way.components).get()).powi(2);
                (about + way.spread.get().powi(2)).max(f64::MIN_POSITIVE)
            })
            .collect();
        let of_ways = ways.iter().zip(&variances).map(|(way, variance)| {
            let spread = variance.sqrt();
            Row {
                x: way.components.map(|litres| litres.get() / spread).to_vec(),
                y: way.litres.get() / spread,
            }
        });
        let rows: Vec<Row> = self.whitened().into_iter().chain(of_ways).collect();
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
    fn whitened(&self) -> Vec<Row> {
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
            Row { x, y }
        });
        rows.collect()
    }

    /// One step to the residual of highest marginal likelihood: each way counts as far as its variance is the residual's.
    fn residual_given(&self, ways: &[Observed], at: &Self, now: &Self, variances: Vec<f64>) -> f64 {
        let (mut squares, mut free) = (
            self.worth * (self.residual / now.residual).powi(2),
            self.worth,
        );
        for (way, variance) in ways.iter().zip(variances) {
            let about = now.residual * now.predict(&way.components).get();
            let part = about * about / variance;
            let leverage = at.variance_of(&way.components) / variance;
            let miss = (way.litres - at.predict(&way.components)).get();
            squares += part * miss * miss / variance;
            free += part * (1.0 - leverage);
        }
        now.residual * (squares / free).sqrt()
    }
}

fn diagonal(values: [f64; COMPONENTS]) -> [[f64; COMPONENTS]; COMPONENTS] {
    std::array::from_fn(|a| std::array::from_fn(|b| if a == b { values[a] } else { 0.0 }))
}

#[cfg(test)]
mod tests;
