//! Ways back to a refuge, and what they take in the samples of a block.

use crate::consumption::usage::Usage;
use crate::quantity::{Litres, Share};
use crate::solver::fuel::Problem;

use super::scaled::Scaled;
use super::world::{Block, LegDoubt};
use super::{BLOCK, Lane};

/// The ways back of a trip.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Returns<'a> {
    /// The trip with every input at its best estimate.
    pub(crate) problem: &'a Problem,
    /// What cannot be known of the legs.
    pub(crate) legs: &'a [LegDoubt],
    /// Each leg the other way; `None` if it cannot be driven.
    pub(crate) back: &'a [Option<Usage>],
    /// Whether each place is a refuge.
    pub(crate) refuge: &'a [bool],
    /// One way from each place to its fuel stop.
    pub(crate) to_fuel: &'a [Usage],
    /// Where the trip begins past a place, that place with the way back to it.
    pub(crate) aside: Option<(usize, Usage)>,
}

/// A point of the way: a leg (from 0) and a part of it.
pub(crate) type Point = (usize, Share);

impl Returns<'_> {
    /// Litres needed at each place to go back to the nearest refuge behind it and be there with the reserve; no amount
    /// is enough where there is none.
    pub(super) fn home(&self, block: &Block) -> Vec<Lane> {
        let mut home: Vec<Lane> = Vec::with_capacity(self.refuge.len());
        for place_number in 0..self.refuge.len() {
            let needed = self.at_place(place_number, home.last(), block);
            home.push(needed);
        }
        home
    }

    /// Litres that the return needs at one place, given those at the place before it.
    fn at_place(&self, place_number: usize, before: Option<&Lane>, block: &Block) -> Lane {
        let mut needed = if self.refuge[place_number] {
            let mut needed = [self.problem.reserve[place_number].get(); BLOCK];
            let to_fuel = self.to_fuel[place_number];
            if to_fuel != Usage::NONE {
                aside(to_fuel, &mut needed, place_number.saturating_sub(1), block);
            }
            needed
        } else {
            let behind = before
                .zip(place_number.checked_sub(1))
                .and_then(|(before, leg)| {
                    let mut needed = *before;
                    self.back_over(leg, Share::new(1.0), &mut needed, block)?;
                    Some(needed)
                });
            behind.unwrap_or([f64::INFINITY; BLOCK])
        };
        if let Some((at, back)) = self.aside
            && at == place_number
        {
            // Over the ground of the leg that was begun, so with its factor.
            let leg = place_number.min(block.driving.len().saturating_sub(1));
            aside(back, &mut needed, leg, block);
        }
        needed
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

    /// Litres that the return needs at one point of a leg.
    pub(super) fn needed_at(&self, block: &Block, (leg, part): Point) -> Lane {
        // What is needed at a refuge depends on nothing behind it.
        let refuge = (0..=leg)
            .rfind(|&place_number| self.refuge[place_number])
            .unwrap_or(0);
        let mut needed = self.at_place(refuge, None, block);
        for place_number in refuge + 1..=leg {
            needed = self.at_place(place_number, Some(&needed), block);
        }
        self.back_over(leg, part, &mut needed, block)
            .map_or([f64::INFINITY; BLOCK], |()| needed)
    }

    /// `left` becomes what is needed to go back over the first part of a leg; `None` if it cannot be driven.
    pub(super) fn back_over(
        &self,
        leg: usize,
        part: Share,
        left: &mut Lane,
        block: &Block,
    ) -> Option<()> {
        let idle = self.legs[leg].idle() * part.get();
        let back = Scaled::new(self.back[leg]?.part(part), idle);
        back.needed_for(left, &block.back[leg], &block.idling);
        Some(())
    }
}

/// `left` becomes what is needed at the start of a way off the route, over ground like that of a leg.
fn aside(way: Usage, left: &mut Lane, leg: usize, block: &Block) {
    Scaled::new(way, Litres::ZERO).needed_for(left, &block.driving[leg], &block.idling);
}
