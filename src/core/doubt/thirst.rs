//! How many times its best estimate a leg takes in simulated trips.

use crate::quantity::{Factor, Share};

use super::BLOCK;
use super::study::FIRST_BLOCKS;
use super::tally::index_of;
use super::world::World;

/// The factor on the driving litres of a leg (from 0) that is not exceeded in a share of the first 8,192 simulated trips.
///
/// # Panics
/// If there is no such leg.
pub(crate) fn driving_factor(world: &World, leg: usize, share: Share) -> Factor {
    let mut factors: Vec<f64> = Vec::with_capacity(FIRST_BLOCKS * BLOCK);
    for number in 0..FIRST_BLOCKS {
        factors.extend(world.block_without_return(number).driving[leg]);
    }
    let at = index_of(share.get() * factors.len() as f64, factors.len());
    let (_, factor, _) = factors.select_nth_unstable_by(at, f64::total_cmp);
    Factor::new(*factor)
}
