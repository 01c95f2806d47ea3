//! Why no more cans are carried, and cans that are not where the trip would have them first.

use crate::model::vocabulary::CarryingPlace;
use crate::quantity::{Kilograms, Litres};
use crate::solver::load::LoadLimit;

/// Why no more cans are carried.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NoMoreCans {
    /// The trip lists none.
    NoneListed,
    /// None of those listed fits whole into the tank with the reserve in it, or may be anywhere but in the cabin.
    NoneUsable,
    /// There are no more.
    AllCarried,
    /// The rules allow no more fuel in cans.
    Rule(Litres),
    /// The next can would exceed this limit.
    Mass {
        /// Which limit it is.
        what: LoadLimit,
        /// What is left of it at its worst departure.
        left: Kilograms,
        /// Place number of that departure.
        place_number: usize,
    },
}

/// Cans that are not in the place that the trip lists first for them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Elsewhere {
    /// The size of each can.
    pub size: Litres,
    /// How many there are.
    pub count: u32,
    /// The place in which they are carried instead.
    pub place: CarryingPlace,
    /// The place that is listed first.
    pub first: CarryingPlace,
    /// What is left of that place's limit, where it has one.
    pub left: Option<Kilograms>,
}
