//! Logs of fill-ups from known scatters of days and tanks, fitted, and the tanks that follow held to what a plan draws.

use jiff::ToSpan;
use jiff::civil::{Date, date};
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use serde_json::json;

use super::BLOCK;
use super::vehicle::VehicleDoubt;
use super::world::{Held, LegDoubt, World};
use crate::calibrate::{Factors, FillCalibration, foreseen};
use crate::consumption::leg::{Burden, Formula};
use crate::consumption::{spread, terrain};
use crate::model::Trip;
use crate::model::fills::{Conditions, Fill};
use crate::model::vehicle::Vehicle;
use crate::model::vocabulary::Surface;
use crate::quantity::{Kilometres, Litres, SquareMetres};

type Rng = Xoshiro256PlusPlus;

fn normal(rng: &mut Rng) -> f64 {
    StandardNormal.sample(rng)
}

/// A number up to and with `most`, from 1, each as likely.
fn whole(rng: &mut Rng, most: u32) -> u32 {
    let below = 0.5 * libm::erfc(-normal(rng) / std::f64::consts::SQRT_2);
    (1..most)
        .find(|n| below * f64::from(most) < f64::from(*n))
        .unwrap_or(most)
}

/// A driver: what days and tanks bring, as logs, and how often the vehicle is parked for up to three weeks.
#[derive(Clone, Copy)]
struct Driver {
    day: f64,
    tank: f64,
    parked: f64,
    surface: Surface,
}

const DRIVER: Driver = Driver {
    day: 0.08,
    tank: 0.03,
    parked: 0.2,
    surface: Surface::Sealed,
};
const TANK_KM: f64 = 420.0;

/// Fills of one vehicle, one after the other.
struct Life {
    rng: Rng,
    /// How far it drives on the distances of a plan.
    roads: Rng,
    driver: Driver,
    vehicle: Vehicle,
    base: f64,
    date: Date,
    odometer: f64,
    today: f64,
    brim: f64,
}

impl Life {
    fn new(driver: Driver, seed: u64) -> Self {
        let mut rng = Rng::seed_from_u64(seed);
        let vehicle = json!({
            "fuel": "petrol", "engine_l": 1.5, "baseline_l_per_100km": 8, "baseline_from": "label", "tank_l": 45, "kerb_mass_kg": 1100
        });
        Self {
            base: (0.1 * normal(&mut rng)).exp(),
            today: normal(&mut rng),
            rng,
            roads: Rng::seed_from_u64(!seed),
            driver,
            vehicle: serde_json::from_value(vehicle).unwrap(),
            date: date(2026, 1, 1),
            odometer: 30_000.0,
            brim: 0.0,
        }
    }

    fn conditions(&self) -> Conditions {
        Conditions {
            surface: self.driver.surface,
            ..Conditions::default()
        }
    }

    /// What the formula says of so many kilometres.
    fn stated(&self, km: f64) -> f64 {
        let (prior, conditions) = (Factors::prior(&self.vehicle), self.conditions());
        let foreseen = foreseen(&self.vehicle, &prior, Kilometres::new(km), &conditions);
        foreseen.components.iter().map(|litres| litres.get()).sum()
    }

    /// A tank that lasts so many days, and what the fuel stop shows over what the formula says.
    fn tank(&mut self, days: u32) -> (Fill, f64) {
        let rng = &mut self.rng;
        let km = TANK_KM * (0.08 * normal(rng)).exp();
        let (mut sum, mut all) = (0.0, 0.0);
        for _ in 0..days {
            self.today = 0.5 * self.today + 0.75_f64.sqrt() * normal(rng);
            let long = (0.3 * normal(rng)).exp();
            sum += long * (self.driver.day * self.today).exp();
            all += long;
        }
        let stray = sum / all * (self.driver.tank * normal(rng)).exp();
        let brim = 0.5 * normal(rng);
        let stands = normal(rng).abs() < self.driver.parked;
        let parked = if stands { whole(rng, 21) } else { 0 };
        let stated = self.stated(km);
        let litres = stated * self.base * stray + brim - self.brim;
        self.brim = brim;
        self.odometer += km;
        self.date = self.date.saturating_add(i64::from(days + parked).days());
        let fill = Fill {
            row: 2,
            date: Some(self.date),
            odometer: Kilometres::new(self.odometer),
            litres: Litres::new(litres),
            to_brim: true,
            conditions: self.conditions(),
        };
        (fill, litres / stated)
    }

    /// What a tank of a plan takes over what the formula says of its planned distance: a log has the driven one.
    fn planned(&mut self, days: u32) -> f64 {
        let over = self.tank(days).1;
        let [median, spread] = spread::distance(self.driver.surface);
        let driven =
            (0..days).map(|_| (median.get() + spread.get() * normal(&mut self.roads)).exp());
        over * driven.sum::<f64>() / f64::from(days)
    }

    /// A log with tanks of up to so many days, all of them of so many where `is_even`.
    fn log(&mut self, tanks: u32, most: u32, is_even: bool) -> FillCalibration {
        let fills: Vec<Fill> = (0..=tanks)
            .map(|row| {
                let days = if is_even {
                    most
                } else {
                    whole(&mut self.rng, most)
                };
                let fill = self.tank(days).0;
                Fill {
                    row: 2 + u64::from(row),
                    ..fill
                }
            })
            .collect();
        let keep: Vec<u64> = Vec::new();
        FillCalibration::from_fills(&self.vehicle, &fills, &keep)
    }

    /// Samples of two tanks in a row as a plan draws them: each over what the formula says, and both together.
    fn drawn(&self, fit: &FillCalibration, days: u32, seed: u64) -> [Vec<f64>; 2] {
        let km = TANK_KM / f64::from(days);
        let legs: Vec<_> = (1..=2 * days)
            .map(|day| json!({ "to": "b", "distance_km": km, "day": day, "surface": self.driver.surface }))
            .collect();
        let trip: Trip = serde_json::from_value(json!({
            "drystage": 1, "vehicle": self.vehicle, "start": { "name": "a" }, "legs": legs
        }))
        .unwrap();
        let burden = Burden {
            dry_mass: trip.vehicle.kerb_mass_kg,
            roof_drag: SquareMetres::ZERO,
        };
        let formula = Formula::from_vehicle(&trip.vehicle);
        let legs = trip.legs.iter().zip(terrain::along(&trip)).enumerate();
        let legs = legs.map(|(at, (leg, terrain))| {
            let response = formula
                .leg(leg, &terrain, burden)
                .response(Litres::new(45.0));
            let day = u32::try_from(at + 1).unwrap();
            let tank = at / usize::try_from(days).unwrap();
            LegDoubt::new(&response, leg.surface(), day).on(leg.surface() != Surface::Sealed, tank)
        });
        let saved = fit.saved(None);
        let world = World {
            seed,
            vehicle: VehicleDoubt::fitted(&saved),
            legs: legs.collect(),
            chances: Vec::new(),
            held: Held::default(),
            reading: Litres::ZERO,
        };
        let (mut one, mut two) = (Vec::new(), Vec::new());
        for number in 0..6 {
            let block = world.block_without_return(number);
            for sample in 0..BLOCK {
                let of = |from: u32| {
                    let legs =
                        (from..from + days).map(|leg| block.driving(leg as usize, sample).get());
                    saved.base.get() * legs.sum::<f64>() / f64::from(days)
                };
                one.push(of(0));
                two.push(f64::midpoint(of(0), of(days)));
            }
        }
        [one, two]
    }
}

fn band(mut samples: Vec<f64>) -> std::ops::RangeInclusive<f64> {
    samples.sort_by(f64::total_cmp);
    samples[samples.len() / 20]..=samples[samples.len() * 19 / 20]
}

/// How often later tanks, and later pairs of tanks, of so many days are inside the 90 % band of a plan by a log.
fn coverage(driver: Driver, days: u32, (tanks, most, is_even): (u32, u32, bool)) -> [f64; 2] {
    let (logs, pairs, mut inside) = (60, 8, [0.0; 2]);
    for seed in 0..logs {
        let mut life = Life::new(driver, 900 + seed);
        let fit = life.log(tanks, most, is_even);
        let [one, two] = life.drawn(&fit, days, seed).map(band);
        for _ in 0..pairs {
            let [a, b] = [(); 2].map(|()| life.planned(days));
            inside[0] += [a, b].iter().filter(|tank| one.contains(tank)).count() as f64 / 2.0;
            inside[1] += f64::from(u8::from(two.contains(&f64::midpoint(a, b))));
        }
    }
    let all = f64::from(u32::try_from(logs).unwrap() * pairs);
    inside.map(|inside| inside / all)
}

/// Whatever the days a tank lasts, nine of ten later tanks, and of pairs of them, are inside the 90 % band: of a log
/// whose tanks last as long as the plan's, and of one with tanks of one to eight days. A cell of 60 logs strays by some
/// 2 in 100.
#[test]
fn later_tanks_are_inside_the_band() {
    let calm = Driver {
        day: 0.05,
        tank: 0.02,
        parked: 0.0,
        ..DRIVER
    };
    let wild = Driver {
        day: 0.12,
        tank: 0.04,
        ..DRIVER
    };
    let gravel = Driver {
        surface: Surface::Gravel,
        ..DRIVER
    };
    for (name, driver, is_even) in [
        ("even", DRIVER, true),
        ("mixed", DRIVER, false),
        ("calm", calm, true),
        ("wild", wild, true),
        ("wild, mixed", wild, false),
        ("gravel", gravel, false),
        ("gravel, even", gravel, true),
    ] {
        let mut means = [0.0; 2];
        for days in [1, 2, 4, 8] {
            let longest = if is_even { days } else { 8 };
            let inside = coverage(driver, days, (24, longest, is_even));
            let [one, two] = inside.map(|inside| 100.0 * inside);
            println!("{name}, {days} days a tank: one {one:.1} %, two {two:.1} %");
            for (mean, inside) in means.iter_mut().zip(inside) {
                *mean += inside / 4.0;
                assert!((0.83..=0.97).contains(&inside), "{name} {days}");
            }
        }
        println!("{name}: {means:?}");
        assert!(
            means.iter().all(|mean| (0.85..=0.95).contains(mean)),
            "{name}: {means:?}"
        );
    }
}

/// Long logs give day and tank back.
#[test]
fn day_and_tank_are_recovered() {
    let mut missed = Vec::new();
    for (day, tank) in [(0.1, 0.02), (0.08, 0.03), (0.06, 0.05), (0.12, 0.04)] {
        let (mut days, mut tanks) = (0.0, 0.0);
        let logs = 8;
        for seed in 0..logs {
            let driver = Driver {
                day,
                tank,
                ..DRIVER
            };
            let fit = Life::new(driver, 40 + seed).log(400, 8, false);
            let saved = fit.saved(None);
            days += saved.road_day_share.unwrap().get() / logs as f64;
            tanks += saved.tank_share.unwrap().get() / logs as f64;
        }
        println!("day {day} found {days:.3}, tank {tank} found {tanks:.3}");
        if (days / day - 1.0).abs() > 0.2 || (tanks - tank).abs() > 0.012 {
            missed.push((day, days, tank, tanks));
        }
    }
    assert!(missed.is_empty(), "{missed:?}");
}
