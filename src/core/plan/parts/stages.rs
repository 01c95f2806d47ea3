//! The stages between fuel stops that are relied on, and their turn-back points.

use crate::quantity::{Kilometres, Litres, Share};

/// A run of legs from one counted fuel stop to the next.
#[derive(Clone, Debug, PartialEq)]
pub struct Stage {
    /// Place number where it starts.
    pub from: usize,
    /// Place number where it ends.
    pub to: usize,
    /// Where it starts, from the start of the trip.
    pub from_km: Kilometres,
    /// Length of the stage by road.
    pub distance: Kilometres,
    /// Usable litres needed on departure.
    pub required: Litres,
    /// Usable litres that the instructions put on board there.
    pub on_board: Litres,
    /// What a full tank can give.
    pub tank: Litres,
    /// What must be in cans.
    pub in_cans: Litres,
    /// The turn-back point: at the success target where trips were simulated, else the best estimate.
    pub turn_back: Option<TurnBack>,
    /// The turn-back point by the best estimate.
    pub turn_back_best_estimate: Option<TurnBack>,
    /// The last point, at the same standard, from which an unconfirmed stop behind can be reached that is nearer than
    /// the refuge.
    pub unconfirmed_turn_back: Option<TurnBack>,
}

impl Stage {
    /// What to leave with: what is needed, and never more than the instructions put on board.
    pub fn leave_with(&self) -> Litres {
        self.required.min(self.on_board)
    }
}

/// The last point from which a place behind can still be reached with the fixed reserve untouched.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TurnBack {
    /// From the start of the trip.
    pub at_km: Kilometres,
    /// Place number of the fuel stop to return to.
    pub refuge: usize,
    /// The chance that it has fuel.
    pub chance: Share,
    /// Distance of the return.
    pub way_back: Kilometres,
    /// What was left in a limited stop; `None` for a refuge.
    pub left: Option<Litres>,
}
