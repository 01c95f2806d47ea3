//! A leg scaled by the samples of a block, all of them at once.

use crate::consumption::usage::{Usage, expm1_over_x};
use crate::quantity::{Litres, Share};

use super::Lane;

/// A leg, or a detour, as the samples scale it: α = driving · factor + idling · factor, β = growth · factor.
#[derive(Clone, Copy, Debug)]
pub(super) struct Scaled {
    driving: f64,
    growth: f64,
    idle: f64,
}

impl Scaled {
    pub(super) fn new(usage: Usage, idle: Litres) -> Self {
        Self {
            driving: (usage.at_empty() - idle).get(),
            growth: usage.growth().get(),
            idle: idle.get(),
        }
    }

    /// `on_board` at the start of the leg becomes what is left at its end.
    pub(super) fn burn(self, on_board: &mut Lane, factor: &Lane, idling: &Lane) {
        for ((on_board, factor), idling) in on_board.iter_mut().zip(factor).zip(idling) {
            let rate = self.driving * factor + self.idle * idling;
            let beta = self.growth * factor;
            *on_board -= (rate + beta * *on_board) * expm1_over_x(Share::new(-beta)).get();
        }
    }

    /// `left` becomes what is needed at the start of the leg to end with it.
    pub(super) fn needed_for(self, left: &mut Lane, factor: &Lane, idling: &Lane) {
        for ((left, factor), idling) in left.iter_mut().zip(factor).zip(idling) {
            let rate = self.driving * factor + self.idle * idling;
            let beta = self.growth * factor;
            *left += (rate + beta * *left) * expm1_over_x(Share::new(beta)).get();
        }
    }
}
