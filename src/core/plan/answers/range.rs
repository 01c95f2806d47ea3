//! How far the vehicle goes on one surface, from a full tank, with cans or without.

use crate::quantity::{Kilograms, Kilometres, KilometresPerHour, Litres, LitresPer100Km, Share};
use crate::solver::cans::ChosenCans;
use crate::solver::load::{Departure, LoadBar, LoadLimit};
use crate::solver::payload::Room;

/// One more person: the driver of the mass in running order (Regulation (EU) No 1230/2012, from memory).
pub const PERSON: Kilograms = Kilograms::new(75.0);
/// Mass of the gear that is added in one of the changes.
pub const GEAR: Kilograms = Kilograms::new(20.0);
/// An open roof rack. Common practice, no source.
pub const RACK: Kilograms = Kilograms::new(30.0);
/// A change of speed.
pub const STEP: KilometresPerHour = KilometresPerHour::new(10.0);
/// A surface that is the same all the way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TypicalSurface {
    /// Asphalt or concrete.
    Sealed,
    /// Gravel that was graded.
    Gravel,
    /// Gravel worn into ripples.
    Corrugated,
    /// A track in soft sand.
    SandyTrack,
    /// Dunes without a track.
    Dunes,
    /// Rock, in low range.
    RockInLowRange,
}

impl TypicalSurface {
    /// All of them, in the order in which they are tabulated.
    pub const ALL: [Self; 6] = [
        Self::Sealed,
        Self::Gravel,
        Self::Corrugated,
        Self::SandyTrack,
        Self::Dunes,
        Self::RockInLowRange,
    ];
}

/// A figure for each of [`TypicalSurface::ALL`].
pub type BySurface<T> = [T; TypicalSurface::ALL.len()];

/// A distance by the best estimate and at the success target.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reach {
    /// With every input at its most likely value.
    pub best_estimate: Kilometres,
    /// Reached by as many simulated trips as the success target requires; never farther than the best estimate.
    pub at_target: Kilometres,
}

/// How far the vehicle goes on one surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// Until the fuel on board is the minimum on arrival.
    pub to_minimum: Reach,
    /// Until the usable fuel is gone.
    pub until_empty: Reach,
    /// Mean consumption until then, by the best estimate.
    pub rate: LitresPer100Km,
    /// Mean driving speed until then.
    pub speed: KilometresPerHour,
}

/// How far the vehicle goes with one load.
#[derive(Clone, Debug, PartialEq)]
pub struct Loaded {
    /// Usable fuel at the start, without what decanting loses.
    pub fuel: Litres,
    /// Mass at the start.
    pub mass: Kilograms,
    /// The range on each surface.
    pub by_surface: BySurface<Range>,
}

/// How far the vehicle goes with a set of cans, loaded as in the trip.
#[derive(Clone, Debug, PartialEq)]
pub struct WithCans {
    /// The cans, of all sets of as many the one that holds most within the limits.
    pub cans: Vec<ChosenCans>,
    /// The range with them.
    pub loaded: Loaded,
}

/// Why there is no larger number of cans.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum EndOfCans {
    /// The trip lists no more.
    AllListed,
    /// The rules allow no more fuel in cans.
    Rule(Litres),
    /// One more would exceed this limit, by at least so much.
    Limit(LoadLimit, Kilograms),
    /// More than are shown.
    NotShown,
}

/// One change, from the tank alone and loaded as in the trip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum RangeChange {
    /// The first of the cans.
    OneMoreCan,
    /// One more person.
    OneMorePerson,
    /// More gear, of the mass [`GEAR`].
    MoreGear,
    /// Without the roof rack, and what is on it in the cargo area.
    WithoutRoof,
    /// With an open roof rack.
    WithRack,
    /// Slower by 10 km/h.
    Slower,
    /// Faster by 10 km/h.
    Faster,
    /// Tyres aired down.
    AiredDown,
}

/// What one change does.
#[derive(Clone, Debug, PartialEq)]
pub struct Changed {
    /// What is changed.
    pub what: RangeChange,
    /// Mass that it adds; below 0 if it saves some.
    pub mass: Kilograms,
    /// Distance that it adds at the success target, to the minimum on arrival; below 0 if it costs some. `None` if it does
    /// nothing on that surface, or cannot be done.
    pub by_surface: BySurface<Option<Kilometres>>,
}

/// How much farther the fuel on board leads along the route ahead from a fuel check, without another fill; `None` if beyond
/// the finish.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RangeLeft {
    /// To the minimum on arrival, at the success target.
    pub to_minimum: Option<Kilometres>,
    /// To the minimum on arrival with the expected litres, by the best estimate.
    pub to_minimum_best_estimate: Option<Kilometres>,
    /// Until the usable fuel is gone, at the success target.
    pub until_empty: Option<Kilometres>,
    /// Until the usable fuel is gone with the expected litres, by the best estimate.
    pub until_empty_best_estimate: Option<Kilometres>,
}

/// The masses of a vehicle that leaves with a full tank and without cans, off the sealed road on the first day.
#[derive(Clone, Debug, PartialEq)]
pub struct Payload {
    /// Masses at that departure.
    pub departure: Departure,
    /// Each limit of mass, and what uses it.
    pub bars: Vec<LoadBar>,
    /// What can still be loaded in each place.
    pub room: Vec<Room>,
}

/// How far the vehicle of a trip goes.
#[derive(Clone, Debug, PartialEq)]
pub struct Ranges {
    /// The share of simulated trips that must get as far.
    pub success_target: Share,
    /// The vehicle with the first person alone, from the tank.
    pub empty: Loaded,
    /// Loaded as in the trip, without the roof rack and with its load inside; from the tank.
    pub without_roof: Loaded,
    /// Loaded as in the trip, from the tank.
    pub as_stated: Loaded,
    /// What that is made of, its limits, and what can still be loaded.
    pub payload: Payload,
    /// With each number of cans that the load allows, one can first.
    pub with_cans: Vec<WithCans>,
    /// Why there is no larger number of them.
    pub end_of_cans: EndOfCans,
    /// What single changes do.
    pub changes: Vec<Changed>,
}
