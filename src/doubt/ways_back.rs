//! Ways back to a refuge, and what they take in the samples of a block.

use crate::consumption::usage::Usage;
use crate::quantity::{Litres, Share};
use crate::solver::fuel::Problem;

use super::scaled::Scaled;
use super::world::{Block, LegDoubt};
use super::{BLOCK, Lane};

/// The ways back of a trip.
#[derive(Clone, Copy, Debug)]
pub struct WaysBack<'a> {
    /// The trip with everything at its likely value.
    pub problem: &'a Problem,
    /// What cannot be known of the legs.
    pub legs: &'a [LegDoubt],
    /// Each leg the other way; nothing where it cannot be driven.
    pub back: &'a [Option<Usage>],
    /// Whether each place is a refuge.
    pub refuge: &'a [bool],
    /// One way from each place to its fuel stop.
    pub to_fuel: &'a [Usage],
    /// Where the trip begins past a place, that place with the way back to it.
    pub aside: Option<(usize, Usage)>,
}

/// A point of the way: a leg (from 0) and a part of it.
pub type Point = (usize, Share);

impl WaysBack<'_> {
    /// Litres needed at each place to go back to the nearest refuge behind it and be there with the reserve; no amount
    /// is enough where there is none.
    pub(super) fn home(&self, block: &Block) -> Vec<Lane> {
        let mut home: Vec<Lane> = Vec::with_capacity(self.refuge.len());
        for (node, &refuge) in self.refuge.iter().enumerate() {
            let mut needed = if refuge {
                let mut needed = [self.problem.reserve[node].get(); BLOCK];
                let to_fuel = self.to_fuel[node];
                if to_fuel != Usage::NONE {
                    aside(to_fuel, &mut needed, node.saturating_sub(1), block);
                }
                needed
            } else {
                let behind = node.checked_sub(1).and_then(|leg| {
                    let mut needed = home[leg];
                    self.back_over(leg, Share::new(1.0), &mut needed, block)?;
                    Some(needed)
                });
                behind.unwrap_or([f64::INFINITY; BLOCK])
            };
            if let Some((at, back)) = self.aside
                && at == node
            {
                // Over the ground of the leg that was begun, so with its factor.
                aside(
                    back,
                    &mut needed,
                    node.min(block.driving.len().saturating_sub(1)),
                    block,
                );
            }
            home.push(needed);
        }
        home
    }

    /// Litres needed at each of some points to go back; no amount is enough where that cannot be done.
    pub(super) fn needed(&self, block: &Block, points: &[Point]) -> Vec<Lane> {
        let home = self.home(block);
        let needed = points.iter().map(|&(leg, part)| {
            let mut needed = home[leg];
            self.back_over(leg, part, &mut needed, block)
                .map_or([f64::INFINITY; BLOCK], |()| needed)
        });
        needed.collect()
    }

    /// The same at one point.
    pub(super) fn needed_at(&self, block: &Block, (leg, part): Point) -> Lane {
        let mut needed = self.home(block)[leg];
        self.back_over(leg, part, &mut needed, block)
            .map_or([f64::INFINITY; BLOCK], |()| needed)
    }

    /// `left` becomes what is needed to go back over the first part of a leg; nothing where it cannot be driven.
    pub(super) fn back_over(
        &self,
        leg: usize,
        part: Share,
        left: &mut Lane,
        block: &Block,
    ) -> Option<()> {
        let idle = self.legs[leg].idle() * part.get();
        let back = Scaled::of(self.back[leg]?.part(part), idle);
        back.needed_for(left, &block.back[leg], &block.idling);
        Some(())
    }
}

/// `left` becomes what is needed at the start of a way off the route, over ground like that of a leg.
fn aside(way: Usage, left: &mut Lane, leg: usize, block: &Block) {
    Scaled::of(way, Litres::ZERO).needed_for(left, &block.driving[leg], &block.idling);
}
