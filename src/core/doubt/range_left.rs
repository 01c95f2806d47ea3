//! How much farther simulated trips get along the route from a fuel check, without another fill.
//!
//! Each trip goes on from there with what it has on board, over the legs as they take fuel in that trip. So a trip that
//! arrives with little, because its vehicle or its day is thirsty, is thirsty on what is ahead as well.

use crate::quantity::{Kilometres, Litres, Share};

use super::checks::on_board_at_point;
use super::driven::Instructions;
use super::returns::Point;
use super::study::{AtStops, Drawn, FirstDriven};
use super::tally::index_of;
use super::world::Block;
use super::{BLOCK, Lane};

/// How far a share of the simulated trips get from a fuel check at least; `None` if beyond the finish.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Reached {
    /// With the reserve intact.
    pub(crate) on_reserve: Option<Kilometres>,
    /// Until the usable fuel is gone.
    pub(crate) until_empty: Option<Kilometres>,
}

/// What one block of trips reaches from one check: with the reserve intact, and until empty.
type Lanes = [Lane; 2];

impl Drawn {
    /// How far a share of the first simulated trips get from each fuel check.
    pub(crate) fn range_left(
        &self,
        first: &FirstDriven,
        instructions: Instructions<'_>,
        share: Share,
    ) -> Vec<Reached> {
        let points = &first.card().checks().route().points;
        let blocks: Vec<Vec<Lanes>> = self.over(first.kept(), |number, block| {
            let driven = first.block(number, AtStops::Fuel);
            let from = |&point: &Point| {
                let on_board = on_board_at_point(instructions, point, block, driven);
                reached(instructions, point, block, &on_board)
            };
            points.iter().map(from).collect()
        });
        let quantile = |check: usize, level: usize| {
            let lanes = blocks.iter().map(|lanes| &lanes[check][level]);
            let mut all: Vec<f64> = lanes.flatten().copied().collect();
            if all.is_empty() {
                return None;
            }
            let at = index_of((1.0 - share.get()) * all.len() as f64, all.len());
            let (_, km, _) = all.select_nth_unstable_by(at, f64::total_cmp);
            km.is_finite().then_some(Kilometres::new(*km))
        };
        (0..points.len())
            .map(|check| Reached {
                on_reserve: quantile(check, 0),
                until_empty: quantile(check, 1),
            })
            .collect()
    }
}

/// Kilometres from a point; not a finite number beyond the finish.
fn reached(
    instructions: Instructions<'_>,
    (leg, part): Point,
    block: &Block,
    on_board: &Lane,
) -> Lanes {
    let mut lanes = [[f64::INFINITY; BLOCK]; 2];
    for sample in 0..BLOCK {
        let mut on_board = Litres::new(on_board[sample]);
        if !on_board.get().is_finite() || on_board <= Litres::ZERO {
            for lane in &mut lanes {
                lane[sample] = 0.0;
            }
            continue;
        }
        let mut km = Kilometres::ZERO;
        let mut rest = Share::new(1.0 - part.get());
        for leg in leg..instructions.problem.legs.len() {
            let whole = instructions.scaled(instructions.problem.legs[leg], leg, block, sample);
            let length = instructions.conditions.distances[leg] * rest.get();
            let usage = whole.part(rest);
            for (lane, level) in lanes
                .iter_mut()
                .zip([instructions.problem.reserve[leg + 1], Litres::ZERO])
            {
                if lane[sample].is_infinite()
                    && let Some(part) = usage.part_until(on_board, level.min(on_board))
                {
                    lane[sample] = (km + length * part.get()).get();
                }
            }
            if lanes[1][sample].is_finite() {
                break;
            }
            on_board -= usage.litres(on_board);
            km += length;
            rest = Share::new(1.0);
        }
    }
    lanes
}
