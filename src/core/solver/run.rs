//! A trip as driven: what is on board leg by leg, what is filled where, and which can is decanted when.

use crate::quantity::{Kilometres, Litres};

use super::cans::Can;
use super::fuel::Need;

/// One leg as driven.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct LegRun {
    /// Usable litres on departure, cans included, after all filling and decanting at the place.
    pub(crate) start: Litres,
    /// Litres in cans on departure.
    pub(crate) start_cans: Litres,
    pub(crate) used: Litres,
    /// Usable litres in the tank on arrival.
    pub(crate) end_tank: Litres,
    /// Litres in cans on arrival.
    pub(crate) end_cans: Litres,
}

/// What is filled at one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Fill {
    pub(crate) place_number: usize,
    /// Usable litres on coming to the fuel stop.
    pub(crate) at_fuel_stop: Litres,
    /// Litres into the tank.
    pub(crate) tank: Litres,
    pub(crate) cans: Litres,
    /// How many cans got any.
    pub(crate) cans_filled: u32,
    /// Whether the stop had as much as was wanted.
    pub(crate) is_as_wanted: bool,
    /// Usable litres when back on the route.
    pub(crate) after: Litres,
    /// Litres burnt on the detour.
    pub(crate) detour: Litres,
}

/// One can emptied into the tank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct DecantEvent {
    /// Leg index from 0 on which, or before which, it is done.
    pub(crate) leg: usize,
    /// From the start of the trip.
    pub(crate) at: Kilometres,
    /// Whether it is done at the place where the leg starts.
    pub(crate) at_place: bool,
    /// Litres that reach the tank.
    pub(crate) litres: Litres,
    /// Litres spilt and left in the can.
    pub(crate) lost: Litres,
    pub(crate) can: Can,
    /// It fits once the tank holds no more usable litres than this.
    pub(crate) fits_at: Litres,
    /// First kilometre at which it fits.
    pub(crate) earliest: Kilometres,
    /// Last kilometre at which the tank alone still holds its floor.
    pub(crate) latest: Kilometres,
}

/// Tank and cans between two events on one leg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Span {
    /// Leg index from 0.
    pub(crate) leg: usize,
    /// Where it starts, from the start of the trip.
    pub(crate) from: Kilometres,
    pub(crate) to: Kilometres,
    /// Usable litres in the tank at its start.
    pub tank_from: Litres,
    /// Usable litres in the tank at its end.
    pub tank_to: Litres,
    /// Litres in cans.
    pub cans: Litres,
    /// Litres in the fullest of them.
    pub(crate) fullest_can: Litres,
}

/// The trip as driven.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Run {
    pub(crate) legs: Vec<LegRun>,
    /// The places at which a fuel stop is used, in driving order.
    pub(crate) fills: Vec<Fill>,
    /// The decants in driving order.
    pub(crate) decants: Vec<DecantEvent>,
    /// Tank and cans all along.
    pub(crate) spans: Vec<Span>,
}

impl Run {
    /// What a leg ends with less than is required there; `None` if it ends with enough.
    pub(crate) fn lacks(&self, leg: usize, need: &Need) -> Litres {
        let driven = &self.legs[leg];
        (need.arrival[leg + 1] - driven.end_tank - driven.end_cans).max(Litres::ZERO)
    }
}
