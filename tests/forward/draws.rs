//! What is uncertain, drawn once for each simulated trip with a generator of this test's own.

use drystage::consumption::spread::{
    self, COMMON, DAY_CARRIED, DAY_SPREAD, Drawn, IDLE_SPREAD, LOW_RANGE_SPREAD,
};
use drystage::consumption::usage::Usage;
use drystage::model::Trip;
use drystage::model::calibration::{COMPONENTS, Calibration, Component};
use drystage::model::vocabulary::Surface;
use drystage::quantity::{Deviations, Factor, Litres, Share};
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal, StandardUniform};
use rand_xoshiro::Xoshiro256PlusPlus;

use super::ground::{Ground, INPUTS, Leg, Way};

/// A factor of a calibrated vehicle is never less than this part of its likely value.
const LEAST: f64 = 0.05;

/// How far the factors of a vehicle may be off.
pub enum Spreads {
    /// By the source of its figure.
    Stated(f64),
    /// As the calibration left them: the root of their covariance over their values, and what is left when they are
    /// known.
    Calibrated(Box<[[f64; COMPONENTS]; COMPONENTS]>, Scatter),
}

/// What is left of a calibrated vehicle's litres when its factors are known.
pub struct Scatter {
    road_day: f64,
    other_day: f64,
    tank: f64,
    /// Whether road days were measured, wind and all.
    road_is_measured: bool,
    /// The surface off sealed roads whose days were measured.
    other_is_measured: Option<Surface>,
    sand_is_measured: bool,
}

impl Scatter {
    fn new(fitted: &Calibration) -> Self {
        let prior = DAY_SPREAD.get();
        let Some(tank) = fitted.tank_share else {
            let scatter = fitted.residual_share.get();
            return Self {
                road_day: scatter,
                other_day: scatter.max(prior),
                tank: 0.0,
                road_is_measured: false,
                other_is_measured: None,
                sand_is_measured: true,
            };
        };
        let sand = fitted.covariance(Component::Sand, Component::Sand).get();
        Self {
            road_day: fitted.road_day_share.map_or(prior, Share::get),
            other_day: fitted.off_road_day_share.map_or(prior, Share::get),
            tank: tank.get(),
            road_is_measured: fitted.road_day_share.is_some(),
            other_is_measured: fitted.off_road_day_share.and(fitted.surface),
            // A tenth less than the 0.3 of before any fill.
            sand_is_measured: sand.sqrt() <= 0.27,
        }
    }
}

impl Spreads {
    pub fn new(trip: &Trip) -> Self {
        let Some(fitted) = &trip.vehicle.calibration else {
            return Self::Stated(spread::baseline_spread(trip.vehicle.baseline_from()).get());
        };
        let scatter = Scatter::new(fitted);
        let values = fitted.factors().map(Factor::get);
        let covariance = Component::ALL.map(|a| {
            Component::ALL.map(|b| {
                // Sand of which nothing was measured goes by the base.
                let [a, b] = [a, b].map(|each| match each {
                    Component::Sand if !scatter.sand_is_measured => Component::Base,
                    each => each,
                });
                let both = values[a as usize] * values[b as usize];
                if both > 0.0 {
                    fitted.covariance(a, b).get() / both
                } else {
                    0.0
                }
            })
        });
        Self::Calibrated(Box::new(lower_root(&covariance)), scatter)
    }

    /// Spread of a day that keeps to sealed roads or does not.
    fn day(&self, is_road: bool) -> f64 {
        match self {
            Self::Stated(_) => DAY_SPREAD.get(),
            Self::Calibrated(_, scatter) if is_road => scatter.road_day,
            Self::Calibrated(_, scatter) => scatter.other_day,
        }
    }

    fn tank(&self) -> f64 {
        match self {
            Self::Stated(_) => 0.0,
            Self::Calibrated(_, scatter) => scatter.tank,
        }
    }

    /// Factors of base, sand, low range, roof and idling.
    fn factors(&self, mut normal: impl FnMut() -> f64) -> [f64; COMPONENTS] {
        match self {
            Self::Stated(spread) => {
                let base = (spread * normal()).exp();
                let low_range = base * (LOW_RANGE_SPREAD.get() * normal()).exp();
                let idling = (IDLE_SPREAD.get() * normal()).exp();
                [base, base, low_range, base, idling]
            }
            Self::Calibrated(root, _) => {
                let drawn: [f64; COMPONENTS] = std::array::from_fn(|_| normal());
                root.map(|row| {
                    let off: f64 = row.iter().zip(drawn).map(|(part, z)| part * z).sum();
                    (1.0 + off).max(LEAST)
                })
            }
        }
    }
}

/// Cholesky, Banachiewicz's order; a row that follows from those before has nothing of its own.
fn lower_root(of: &[[f64; COMPONENTS]; COMPONENTS]) -> [[f64; COMPONENTS]; COMPONENTS] {
    let mut root = [[0.0; COMPONENTS]; COMPONENTS];
    for row in 0..COMPONENTS {
        for column in 0..=row {
            let known: f64 = (0..column).map(|k| root[row][k] * root[column][k]).sum();
            let left: f64 = of[row][column] - known;
            root[row][column] = if row == column {
                left.max(0.0).sqrt()
            } else if root[column][column] > 1e-9 {
                left / root[column][column]
            } else {
                0.0
            };
        }
    }
    root
}

/// What is drawn for one trip.
pub struct Draw {
    factors: [f64; COMPONENTS],
    legs: Vec<OfLeg>,
    /// Whether each fuel stop has fuel.
    pub has_fuel: Vec<bool>,
    /// Standard normal, for the error of a gauge.
    pub gauge: f64,
}

/// Deviations that hold for one leg.
struct OfLeg {
    /// Logarithm of what the day and the driven distance do.
    log: f64,
    /// By the inputs of the model; the wind is that of the way out.
    inputs: [f64; INPUTS],
}

/// What all legs of a kind have in common, drawn when first met.
#[derive(Default)]
struct Common(Vec<((Drawn, Option<Surface>), f64)>);

impl Common {
    fn get(&mut self, kind: (Drawn, Option<Surface>), normal: impl FnOnce() -> f64) -> f64 {
        if let Some((_, drawn)) = self.0.iter().find(|(known, _)| *known == kind) {
            return *drawn;
        }
        let drawn = normal();
        self.0.push((kind, drawn));
        drawn
    }
}

impl Draw {
    /// The draw of one simulated trip of a series.
    pub fn new(ground: &Ground, spreads: &Spreads, series: u64, number: u64) -> Self {
        let mut generator =
            Xoshiro256PlusPlus::seed_from_u64(series.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ number);
        let mut normal = || -> f64 { StandardNormal.sample(&mut generator) };
        let factors = spreads.factors(&mut normal);
        let gauge = normal();
        let mut common = Common::default();
        let (mut day, mut wind) = (None, [0.0; 2]);
        let fresh_fuel = |normal: &mut dyn FnMut() -> f64| match spreads.tank() {
            spread if spread > 0.0 => spread * normal(),
            _ => 0.0,
        };
        let (mut of_tank, mut used) = (fresh_fuel(&mut normal), 0.0);
        let legs = ground.legs.iter().zip(&ground.stops).map(|(leg, stop)| {
            let today = match day {
                Some((number, today)) if number == leg.day => today,
                before => {
                    wind = [normal(), normal()];
                    next_day(before, leg.day, normal())
                }
            };
            day = Some((leg.day, today));
            // Other fuel comes into the tank once half of it is used and there is a fuel stop.
            if stop.is_some() && used >= ground.tank / 2.0 {
                (of_tank, used) = (fresh_fuel(&mut normal), 0.0);
            }
            used += leg.out.likely;
            let mut of_day = ground.legs.iter().filter(|other| other.day == leg.day);
            let is_road = of_day.all(|other| other.surface == Surface::Sealed);
            let [median, spread] = spread::distance(leg.surface);
            let scatter = spreads.day(is_road) * today + of_tank;
            OfLeg {
                log: scatter + median.get() + spread.get() * normal(),
                inputs: inputs(
                    leg,
                    against(leg, wind),
                    (spreads, is_road),
                    &mut common,
                    &mut normal,
                ),
            }
        });
        let legs = legs.collect();
        let has_fuel = ground.chances.iter().map(|&chance| {
            let drawn: f64 = StandardUniform.sample(&mut generator);
            drawn < chance
        });
        Self {
            has_fuel: has_fuel.collect(),
            factors,
            legs,
            gauge,
        }
    }

    /// A leg on the route out in this draw.
    pub fn out(&self, ground: &Ground, leg: usize) -> Usage {
        self.usage(&ground.legs[leg].out, leg, 1.0)
    }

    /// The same on the return; `None` if it cannot be driven.
    pub fn back(&self, ground: &Ground, leg: usize) -> Option<Usage> {
        Some(self.usage(ground.legs[leg].back.as_ref()?, leg, -1.0))
    }

    /// The way from the route to the fuel stop of a place, over ground like that of the leg before.
    pub fn detour(&self, ground: &Ground, place: usize) -> Usage {
        let leg = place.saturating_sub(1);
        let factor = self.factor(&ground.legs[leg].out, leg, 1.0);
        ground.stops[place].map_or(Usage::NONE, |stop| {
            stop.detour
                .scaled(Factor::new(factor), Litres::ZERO, Factor::new(1.0))
        })
    }

    fn usage(&self, way: &Way, leg: usize, wind: f64) -> Usage {
        let driving = Factor::new(self.factor(way, leg, wind));
        let idling = Factor::new(self.factors[Component::Idle as usize]);
        way.usage.scaled(driving, Litres::new(way.idle), idling)
    }

    /// The factor on the driving litres.
    fn factor(&self, way: &Way, leg: usize, wind: f64) -> f64 {
        let of_leg = &self.legs[leg];
        let mut log = of_leg.log;
        for (input, mut z) in Drawn::ALL.into_iter().zip(of_leg.inputs) {
            if input == Drawn::Wind {
                z *= wind;
            }
            if let Some(answer) = way.answer(input) {
                log += answer.log(Deviations::new(z)).get();
            }
        }
        let [base, of_sand, of_low_range, of_roof, _] = self.factors;
        let [sand, low_range, roof] = way.parts;
        let rest = 1.0 - sand - low_range - roof;
        log.exp() * (base * rest + of_sand * sand + of_low_range * low_range + of_roof * roof)
    }
}

/// The deviation of a day: half of the day before is carried over to it.
fn next_day(before: Option<(u32, f64)>, day: u32, fresh: f64) -> f64 {
    let Some((last, deviation)) = before else {
        return fresh;
    };
    let carried = DAY_CARRIED.get().powf(f64::from(day - last));
    carried * deviation + (1.0 - carried * carried).sqrt() * fresh
}

/// The part of a day's wind from north and from east that blows against a leg; along a leg whose direction nobody knows
/// it is any wind.
fn against(leg: &Leg, [from_north, from_east]: [f64; 2]) -> f64 {
    leg.bearing.map_or(from_north, |bearing| {
        let bearing = bearing.to_radians();
        from_north * bearing.cos() + from_east * bearing.sin()
    })
}

fn inputs(
    leg: &Leg,
    wind: f64,
    (spreads, is_road): (&Spreads, bool),
    common: &mut Common,
    mut normal: impl FnMut() -> f64,
) -> [f64; INPUTS] {
    Drawn::ALL.map(|input| {
        let (is_measured, knows_sand) = match spreads {
            Spreads::Stated(_) => (false, false),
            Spreads::Calibrated(_, scatter) => (
                if is_road {
                    scatter.road_is_measured
                } else {
                    scatter.other_is_measured == Some(leg.surface)
                },
                scatter.sand_is_measured,
            ),
        };
        let surface = match input {
            Drawn::Wind | Drawn::SurfaceResistance | Drawn::Speed if is_measured => return 0.0,
            Drawn::Wind => return wind,
            Drawn::SurfaceResistance => Some(leg.surface),
            _ => None,
        };
        // What all sand has in common is in the sand factor of a vehicle that was calibrated on it.
        let is_known = input == Drawn::SandResistance && knows_sand;
        let of_common = if is_known { 0.0 } else { COMMON.get().sqrt() };
        let own = normal();
        of_common * common.get((input, surface), &mut normal) + (1.0 - COMMON.get()).sqrt() * own
    })
}
