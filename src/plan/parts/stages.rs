//! The stages between fuel stops that are relied on, and their turn-back points.

use crate::quantity::{Kilometres, Litres, Share};

/// A run of legs from one counted fuel stop to the next.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// Place number where it starts.
    pub from: usize,
    /// Place number where it ends.
    pub to: usize,
    /// Where it starts, from the start of the trip.
    pub from_km: Kilometres,
    /// Its length.
    pub distance: Kilometres,
    /// Usable litres needed on departure.
    pub required: Litres,
    /// What a full tank can give.
    pub tank: Litres,
    /// What must be in cans.
    pub spare: Litres,
    /// The last point from which a refuge behind can be reached.
    pub turn_back: Option<TurnBack>,
    /// The last point from which a doubtful stop behind, nearer than the refuge, can be reached.
    pub doubtful_turn_back: Option<TurnBack>,
}

/// The last point from which a place behind can still be reached with the fixed reserve untouched.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TurnBack {
    /// From the start of the trip.
    pub at_km: Kilometres,
    /// The place behind.
    pub refuge: usize,
    /// The chance that it has fuel.
    pub chance: Share,
    /// Usable litres on board at the point.
    pub on_board: Litres,
    /// Way back to the place.
    pub way_back: Kilometres,
    /// Litres that the way back takes.
    pub needs: Litres,
    /// What was left in a limited stop; nothing for a refuge.
    pub left: Option<Litres>,
}
