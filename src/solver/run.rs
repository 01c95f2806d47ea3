//! A trip as driven: what is on board leg by leg, what is filled where, and which can is poured when.

use crate::quantity::{Kilometres, Litres};

use super::cans::Can;
use super::fuel::Need;

/// One leg as driven.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LegRun {
    /// Usable litres on departure, cans included, after all filling and pouring at the place.
    pub start: Litres,
    /// Litres in cans on departure.
    pub start_cans: Litres,
    /// Litres burnt.
    pub used: Litres,
    /// Usable litres in the tank on arrival.
    pub end_tank: Litres,
    /// Litres in cans on arrival.
    pub end_cans: Litres,
}

/// What is filled at one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fill {
    /// Place number.
    pub node: usize,
    /// Usable litres on coming to the pump.
    pub at_pump: Litres,
    /// Litres into the tank.
    pub tank: Litres,
    /// Litres into cans.
    pub cans: Litres,
    /// How many cans got any.
    pub cans_filled: u32,
    /// Whether the stop had as much as was wanted.
    pub is_as_wanted: bool,
    /// Usable litres when back on the route.
    pub after: Litres,
    /// Litres burnt on the detour.
    pub detour: Litres,
}

/// One can emptied into the tank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PourEvent {
    /// Leg index from 0 on which, or before which, it is done.
    pub leg: usize,
    /// From the start of the trip.
    pub at: Kilometres,
    /// Whether it is done at the place where the leg starts.
    pub at_place: bool,
    /// Litres that reach the tank.
    pub litres: Litres,
    /// Litres spilt and left in the can.
    pub lost: Litres,
    /// The can.
    pub can: Can,
    /// It fits once the tank holds no more usable litres than this.
    pub fits_at: Litres,
    /// First kilometre at which it fits.
    pub earliest: Kilometres,
    /// Last kilometre at which the tank alone still holds its floor.
    pub latest: Kilometres,
}

/// Tank and cans between two events on one leg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// Leg index from 0.
    pub leg: usize,
    /// Where it starts, from the start of the trip.
    pub from: Kilometres,
    /// Where it ends.
    pub to: Kilometres,
    /// Usable litres in the tank at its start.
    pub tank_from: Litres,
    /// Usable litres in the tank at its end.
    pub tank_to: Litres,
    /// Litres in cans.
    pub cans: Litres,
    /// Litres in the fullest of them.
    pub fullest_can: Litres,
}

/// The trip as driven.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Run {
    /// The legs.
    pub legs: Vec<LegRun>,
    /// The places at which a pump is used, in driving order.
    pub fills: Vec<Fill>,
    /// The pours in driving order.
    pub pours: Vec<PourEvent>,
    /// Tank and cans all along.
    pub spans: Vec<Span>,
}

impl Run {
    /// What a leg ends with less than is required there; nothing where it ends with enough.
    pub fn lacks(&self, leg: usize, need: &Need) -> Litres {
        let driven = &self.legs[leg];
        (need.arrival[leg + 1] - driven.end_tank - driven.end_cans).max(Litres::ZERO)
    }
}
