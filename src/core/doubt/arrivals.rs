//! When simulated trips arrive: driving times with the speeds and distances that are drawn for their fuel, and halts.
//!
//! Departures are as planned. Left out: breakdowns, fuel stops, and what a driver does about being late.

use crate::consumption::spread::{self, COMMON};
use crate::model::vocabulary::Surface;
use crate::quantity::{Factor, Hours, LogFactor, Share};

use super::BLOCK;
use super::draw::{Source, normals};
use super::study::FEW_BLOCKS;
use super::tally::index_of;

/// Standard deviation of the time at halts, in its log. Common practice, no source.
const HALT_SPREAD: LogFactor = LogFactor::new(0.3);

/// The time that one leg takes by the best estimate.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LegTime {
    /// Driving time, without stops.
    pub(crate) driving: Hours,
    /// Standing with the engine running.
    pub(crate) idle: Hours,
    pub(crate) surface: Surface,
    pub(crate) day: u32,
}

/// Hours from the departure of its day to the end of each leg, in rising shares of the simulated trips; with so many hours
/// of halts for each hour of driving.
pub(crate) fn elapsed<const N: usize>(
    seed: u64,
    legs: &[LegTime],
    halts: Factor,
    shares: [Share; N],
) -> Vec<[Hours; N]> {
    let (of_common, of_own) = (COMMON.get().sqrt(), (1.0 - COMMON.get()).sqrt());
    let mut at_ends: Vec<Vec<f64>> = vec![Vec::with_capacity(FEW_BLOCKS * BLOCK); legs.len()];
    for block in 0..FEW_BLOCKS {
        let lane = |source, index| {
            let mut lane = [0.0; BLOCK];
            normals(seed, source, index, block, &mut lane);
            lane
        };
        let common = lane(Source::Speed, 0);
        let (mut day, mut halt, mut since) = (0, [1.0; BLOCK], [0.0; BLOCK]);
        for (index, leg) in legs.iter().enumerate() {
            if leg.day != day {
                day = leg.day;
                halt = lane(Source::Halts, day as usize).map(|z| (HALT_SPREAD.get() * z).exp());
                since = [0.0; BLOCK];
            }
            let (own, distance) = (lane(Source::LegSpeed, index), lane(Source::Distance, index));
            let [median, of_distance] = spread::distance(leg.surface);
            let of_speed = spread::speed_spread(leg.surface).get();
            for sample in 0..BLOCK {
                let speed = of_common * common[sample] + of_own * own[sample];
                let log = median.get() + of_distance.get() * distance[sample] - of_speed * speed;
                let driving = leg.driving.get() * log.exp();
                since[sample] += driving * (1.0 + halts.get() * halt[sample]) + leg.idle.get();
            }
            at_ends[index].extend(since);
        }
    }
    let quantiles = |mut all: Vec<f64>| {
        shares.map(|share| {
            let at = index_of(share.get() * all.len() as f64, all.len());
            let (_, hours, _) = all.select_nth_unstable_by(at, f64::total_cmp);
            Hours::new(*hours)
        })
    };
    at_ends.into_iter().map(quantiles).collect()
}
