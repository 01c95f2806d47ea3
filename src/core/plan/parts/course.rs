//! Tank and cans along the route.

use crate::quantity::{Kilometres, Litres};

/// Tank and cans between two events on one leg; the cans do not change within it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// Leg number, from 1.
    pub leg: usize,
    /// Where it starts, from the start of the trip.
    pub from_km: Kilometres,
    /// Where the span ends.
    pub to_km: Kilometres,
    /// Usable litres in the tank at its start.
    pub tank_from: Litres,
    /// Usable litres in the tank at its end; below 0 is what is missing.
    pub tank_to: Litres,
    /// Litres in cans.
    pub cans: Litres,
    /// What must be left at its start, on a straight line from one end of its leg to the other.
    pub reserve_from: Litres,
    /// What must be left at its end.
    pub reserve_to: Litres,
}

/// Fuel on board at a point of the way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OnBoard {
    /// Usable litres in the tank; below 0 is what is missing.
    pub tank: Litres,
    /// Litres in cans.
    pub cans: Litres,
    /// The minimum that must be left there.
    pub reserve: Litres,
}
