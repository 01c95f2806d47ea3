//! What is done at fuel stops, and with the cans.

use crate::model::vocabulary::CarryingPlace;
use crate::quantity::{Kilometres, Litres, Money, Share};

/// What is done at a fuel stop.
#[derive(Clone, Debug, PartialEq)]
pub struct Stop {
    /// Number of the place, 0 for the start.
    pub place_number: usize,
    /// Name of the place.
    pub place: String,
    /// From the start of the trip.
    pub at_km: Kilometres,
    /// Whether the plan relies on it.
    pub counted: bool,
    /// Chance of having fuel.
    pub chance: Share,
    /// Litres in stock; `None` if unlimited.
    pub supply: Option<Litres>,
    /// The most to take at this visit, so that later ones have their share; `None` if unlimited.
    pub at_most: Option<Litres>,
    /// What to have in the tank and in cans on leaving, back on the route; `None` if the plan does not use it. What is
    /// in them already stays.
    pub leave_with: Option<[Litres; 2]>,
    /// How often the trip comes to it; all visits share what it has.
    pub visits: usize,
    /// Litres put in the tank.
    pub tank: Litres,
    /// Litres put in cans.
    pub cans: Litres,
    /// How many cans are filled.
    pub cans_filled: u32,
    /// Usable litres on leaving.
    pub after: Litres,
    /// Extra way that is driven to use it; 0 when it is not used.
    pub detour: Kilometres,
    /// Whether it takes an extra way to come to it.
    pub off_route: bool,
    /// What it costs, where a price is stated.
    pub cost: Option<Money>,
}

/// One can emptied into the tank.
#[derive(Clone, Debug, PartialEq)]
pub struct Decant {
    /// Where it is done, from the start of the trip.
    pub at_km: Kilometres,
    /// The leg on which, or before which, it is done, from 1.
    pub leg: usize,
    /// The place, unless it is done on the road.
    pub place_number: Option<usize>,
    /// Litres that reach the tank.
    pub litres: Litres,
    /// Litres spilt and left in the can.
    pub lost: Litres,
    /// Size of the can.
    pub can_size: Litres,
    /// Where the can was carried.
    pub from: CarryingPlace,
    /// The can fits once the gauge shows no more than this, unusable litres included.
    pub when_tank_at_most_gauge: Litres,
    /// The first kilometre at which it fits.
    pub earliest_km: Kilometres,
    /// The last kilometre at which the tank alone still holds what it must.
    pub latest_km: Kilometres,
}
