//! The fuel in cans, and masses against their limits.

use crate::quantity::{Kilograms, Litres};
use crate::solver::cans::ChosenCans;
use crate::solver::load::{Departure, LoadBar};
use crate::solver::payload::Room;

use super::supplies::Supplies;

/// The cans of a plan, and the litres needed and carried in them.
#[derive(Clone, Debug, PartialEq)]
pub struct FuelInCans {
    /// Litres in cans that the best estimate needs in the tank, with the chosen cans on board.
    pub without_losses: Litres,
    /// Those litres with decanting losses; this much must be in cans.
    pub needed: Litres,
    /// Fill of the chosen cans.
    pub carried: Litres,
    /// Whether what is carried covers what is needed, decanting losses included.
    pub covers: bool,
    /// What the start itself lacks; no can cures it.
    pub short_at_start: Litres,
    /// The chosen cans, equal ones together.
    pub cans: Vec<ChosenCans>,
}

/// Masses against their limits.
#[derive(Clone, Debug, PartialEq)]
pub struct LoadPlan {
    /// Place number of the heaviest departure.
    pub heaviest_at: usize,
    /// Mass of vehicle, load and fuel at that departure.
    pub mass: Kilograms,
    /// Gross vehicle mass limit, where stated.
    pub gvm: Option<Kilograms>,
    /// Each limit with the load on it at its worst departure, total mass first.
    pub bars: Vec<LoadBar>,
    /// What can still be loaded in each place.
    pub room: Vec<Room>,
    /// Mass at every departure.
    pub departures: Vec<Departure>,
    /// Water and what else is used up.
    pub supplies: Supplies,
}
