//! What a leg takes in each sample: the draws put to the legs' responses.
//!
//! Everything that is not known about driving becomes one factor on the driving litres of a leg:
//! `exp(day + distance + ground + sand + shares + wind) · Σ share of a component · factor of the vehicle for it`.
//! Idling has a factor of its own. Ground and shares draw a part that all legs of a kind have in common and a part of
//! their own.

use crate::consumption::response::{Answer, Response};
use crate::consumption::spread::{self, COMMON, DAY_CARRIED, DAY_SPREAD, Drawn};
use crate::model::vocabulary::{BaseFrom, Surface};
use crate::quantity::{Deviations, Factor, Litres, Share};

use super::draw::{Source, normals, uniforms};
use super::{BLOCK, Lane};

/// Parts of the driving litres that have a factor of the vehicle each: plain with what air-conditioning adds, sand,
/// low range, roof.
const PARTS: usize = 4;
const LOW_RANGE: usize = 2;

/// What is not known about one leg.
#[derive(Clone, Debug)]
pub struct LegDoubt {
    /// The answers, nothing where the leg does not care.
    answers: [Option<Answer>; Drawn::ALL.len()],
    surface: Surface,
    day: u32,
    /// What each part has of the driving litres.
    parts: [f64; PARTS],
    /// Litres of idling at its likely rate.
    idle: Litres,
}

impl LegDoubt {
    /// From a leg's response.
    pub fn of(response: &Response, surface: Surface, day: u32) -> Self {
        let parts = response.components;
        let driving = (parts.total() - parts.idle).get();
        let of_driving = |litres: Litres| {
            if driving > 0.0 {
                litres.get() / driving
            } else {
                0.0
            }
        };
        let (sand, low_range, roof) = (
            of_driving(parts.sand),
            of_driving(parts.low_range),
            of_driving(parts.roof),
        );
        Self {
            answers: Drawn::ALL
                .map(|drawn| Some(*response.answer(drawn)).filter(|answer| !answer.is_flat())),
            surface,
            day,
            parts: [1.0 - sand - low_range - roof, sand, low_range, roof],
            idle: parts.idle,
        }
    }

    /// Litres of idling at its likely rate.
    pub fn idle(&self) -> Litres {
        self.idle
    }

    /// From the logs to the factors on the driving litres.
    fn finish(&self, logs: &mut Lane, vehicle: &[Lane; PARTS]) {
        let [plain, sand, low_range, roof] = vehicle;
        let [of_plain, of_sand, of_low_range, of_roof] = self.parts;
        for (sample, log) in logs.iter_mut().enumerate() {
            let vehicle = of_plain * plain[sample]
                + of_sand * sand[sample]
                + of_low_range * low_range[sample]
                + of_roof * roof[sample];
            *log = log.exp() * vehicle;
        }
    }
}

/// How far the factors of the vehicle may be off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VehicleDoubt {
    /// Where the base figure comes from.
    pub base_from: BaseFrom,
}

/// What may be held at its likely value, to see what it alone does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Unknown {
    /// The base figure.
    Base,
    /// What a day brings.
    Day,
    /// Rolling resistance of the surfaces.
    Ground,
    /// Rolling resistance of sand.
    Sand,
    /// Shares of sand.
    SandShare,
    /// Shares of low range.
    LowRangeShare,
    /// Consumption in low range.
    LowRange,
    /// The wind.
    Wind,
    /// Driven distances.
    Distance,
    /// Idling.
    Idle,
}

impl Unknown {
    /// Every one of them.
    pub const ALL: [Self; 10] = [
        Self::Base,
        Self::Day,
        Self::Ground,
        Self::Sand,
        Self::SandShare,
        Self::LowRangeShare,
        Self::LowRange,
        Self::Wind,
        Self::Distance,
        Self::Idle,
    ];
}

/// A set of unknowns.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Held(u16);

impl Held {
    /// One alone.
    pub const fn only(unknown: Unknown) -> Self {
        Self(1 << unknown as u16)
    }

    const fn has(self, unknown: Unknown) -> bool {
        self.0 & (1 << unknown as u16) != 0
    }
}

/// All that is drawn for a trip.
#[derive(Clone, Debug)]
pub struct World {
    /// Seed of the draws.
    pub seed: u64,
    /// The vehicle.
    pub vehicle: VehicleDoubt,
    /// The legs.
    pub legs: Vec<LegDoubt>,
    /// The chance of each pump, by its number.
    pub chances: Vec<Share>,
    /// What is held at its likely value.
    pub held: Held,
    /// Whether ways back are asked for too.
    pub both_ways: bool,
}

/// What the legs take in each sample of one block.
#[derive(Clone, Debug)]
pub struct Block {
    /// Factor on the driving litres of each leg.
    pub(super) driving: Vec<Lane>,
    /// The same with the wind turned round, for the way back; empty where none is asked for.
    pub(super) back: Vec<Lane>,
    /// Factor on idling.
    pub(super) idling: Lane,
    /// Whether each pump is dry.
    pub(super) dry: Vec<[bool; BLOCK]>,
}

impl Block {
    /// The factor on the driving litres of a leg (from 0) in a sample of the block.
    pub fn driving(&self, leg: usize, sample: usize) -> Factor {
        Factor::new(self.driving[leg][sample])
    }
}

/// The draws that legs have in common, made when first asked for.
struct Shared {
    seed: u64,
    block: usize,
    lanes: Vec<(Source, usize, Box<Lane>)>,
}

impl Shared {
    fn normals(&mut self, source: Source, index: usize) -> &Lane {
        let at = self
            .lanes
            .iter()
            .position(|(held, at, _)| *held == source && *at == index);
        let at = at.unwrap_or_else(|| {
            let mut lane = Box::new([0.0; BLOCK]);
            normals(self.seed, source, index, self.block, &mut lane);
            self.lanes.push((source, index, lane));
            self.lanes.len() - 1
        });
        &self.lanes[at].2
    }
}

impl World {
    fn is_held(&self, unknown: Unknown) -> bool {
        self.held.has(unknown)
    }

    /// Draws a block.
    pub fn block(&self, number: usize) -> Block {
        let mut shared = Shared {
            seed: self.seed,
            block: number,
            lanes: Vec::new(),
        };
        let (factors, idling) = self.factors(number);
        let days = self.days(number);
        let mut driving = Vec::with_capacity(self.legs.len());
        let mut back = Vec::with_capacity(self.legs.len());
        for (index, leg) in self.legs.iter().enumerate() {
            let day = &days[days.partition_point(|(day, _)| *day < leg.day)].1;
            let mut log = **day;
            self.add_distance(index, leg, number, &mut log);
            self.add_grounds(index, leg, &mut shared, &mut log);
            let mut other_way = log;
            if let (Some(wind), false) = (
                leg.answers[Drawn::Wind as usize],
                self.is_held(Unknown::Wind),
            ) {
                let drawn = shared.normals(Source::Wind, leg.day as usize);
                for ((log, back), &z) in log.iter_mut().zip(&mut other_way).zip(drawn) {
                    *log += wind.log(Deviations::new(z)).get();
                    *back += wind.log(Deviations::new(-z)).get();
                }
            }
            leg.finish(&mut log, &factors);
            driving.push(log);
            if self.both_ways {
                leg.finish(&mut other_way, &factors);
                back.push(other_way);
            }
        }
        Block {
            driving,
            back,
            idling,
            dry: self.dry(number),
        }
    }

    /// The factors of the vehicle for each part of driving, and for idling.
    fn factors(&self, block: usize) -> ([Lane; PARTS], Lane) {
        let drawn = |index: usize, spread: f64, unknown: Unknown| {
            let mut lane = [0.0; BLOCK];
            if !self.is_held(unknown) {
                normals(self.seed, Source::Factor, index, block, &mut lane);
            }
            lane.map(|z| (spread * z).exp())
        };
        let base = drawn(
            0,
            spread::base_spread(self.vehicle.base_from).get(),
            Unknown::Base,
        );
        let low_range = drawn(1, spread::LOW_RANGE_SPREAD.get(), Unknown::LowRange);
        let idling = drawn(2, spread::IDLE_SPREAD.get(), Unknown::Idle);
        let mut parts = [base; PARTS];
        for (part, factor) in parts[LOW_RANGE].iter_mut().zip(&low_range) {
            *part *= factor;
        }
        (parts, idling)
    }

    /// The log of what each day brings; half of it carried over to the next.
    fn days(&self, block: usize) -> Vec<(u32, Box<Lane>)> {
        let mut numbers: Vec<u32> = self.legs.iter().map(|leg| leg.day).collect();
        numbers.sort_unstable();
        numbers.dedup();
        let mut days: Vec<(u32, Box<Lane>)> = Vec::with_capacity(numbers.len());
        for day in numbers {
            let mut fresh = Box::new([0.0; BLOCK]);
            if !self.is_held(Unknown::Day) {
                normals(self.seed, Source::Day, day as usize, block, &mut fresh);
                for z in fresh.iter_mut() {
                    *z *= DAY_SPREAD.get();
                }
                if let Some((last, before)) = days.last() {
                    let carried = DAY_CARRIED.get().powf(f64::from(day - last));
                    let new = (1.0 - carried * carried).sqrt();
                    for (z, before) in fresh.iter_mut().zip(before.iter()) {
                        *z = new * *z + carried * before;
                    }
                }
            }
            days.push((day, fresh));
        }
        days
    }

    fn add_distance(&self, index: usize, leg: &LegDoubt, block: usize, log: &mut Lane) {
        let [median, spread] = spread::distance(leg.surface);
        if self.is_held(Unknown::Distance) {
            log.iter_mut().for_each(|log| *log += median.get());
            return;
        }
        let mut drawn = [0.0; BLOCK];
        normals(self.seed, Source::Distance, index, block, &mut drawn);
        for (log, z) in log.iter_mut().zip(&drawn) {
            *log += median.get() + spread.get() * z;
        }
    }

    /// Resistance and shares: a part in common with other legs, a part of the leg's own.
    fn add_grounds(&self, index: usize, leg: &LegDoubt, shared: &mut Shared, log: &mut Lane) {
        let kinds = [
            (
                Drawn::Ground,
                Unknown::Ground,
                Source::Ground,
                leg.surface as usize,
                Source::LegGround,
            ),
            (
                Drawn::SandGround,
                Unknown::Sand,
                Source::SandGround,
                0,
                Source::LegSandGround,
            ),
            (
                Drawn::SandShare,
                Unknown::SandShare,
                Source::SandShare,
                0,
                Source::LegSandShare,
            ),
            (
                Drawn::LowRangeShare,
                Unknown::LowRangeShare,
                Source::LowRangeShare,
                0,
                Source::LegLowRangeShare,
            ),
        ];
        let (of_common, of_own) = (COMMON.get().sqrt(), (1.0 - COMMON.get()).sqrt());
        for (drawn, unknown, common, kind, own) in kinds {
            let Some(answer) = leg.answers[drawn as usize] else {
                continue;
            };
            if self.is_held(unknown) {
                let middle = answer.log(Deviations::ZERO).get();
                log.iter_mut().for_each(|log| *log += middle);
                continue;
            }
            let mut own_part = [0.0; BLOCK];
            normals(self.seed, own, index, shared.block, &mut own_part);
            let common = shared.normals(common, kind);
            for ((log, own), common) in log.iter_mut().zip(&own_part).zip(common) {
                let z = of_common * common + of_own * own;
                *log += answer.log(Deviations::new(z)).get();
            }
        }
    }

    fn dry(&self, block: usize) -> Vec<[bool; BLOCK]> {
        self.chances
            .iter()
            .enumerate()
            .map(|(number, chance)| {
                if chance.get() >= 1.0 {
                    return [false; BLOCK];
                }
                let mut drawn = [0.0; BLOCK];
                uniforms(self.seed, Source::Pump, number, block, &mut drawn);
                drawn.map(|drawn| drawn >= chance.get())
            })
            .collect()
    }
}
