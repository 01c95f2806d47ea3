//! The legs of a plan, and their sums.

use crate::model::vocabulary::Surface;
use crate::quantity::{
    Hours, Kilometres, KilometresPerHour, Litres, LitresPer100Km, Metres, Money, Share,
};

/// Sums over the trip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Totals {
    /// All legs, without detours to fuel stops.
    pub distance: Kilometres,
    /// Litres burnt on all legs, by the best estimate.
    pub fuel: Litres,
    /// Consumption over all; `None` if nothing is driven.
    pub rate: Option<LitresPer100Km>,
    /// Metres climbed on all legs.
    pub ascent: Metres,
    /// Driving time of all legs, without stops.
    pub driving: Hours,
    /// What the fuel costs, where every stop that is used has a price.
    pub cost: Option<Money>,
}

/// One leg as planned.
#[derive(Clone, Debug, PartialEq)]
pub struct PlannedLeg {
    /// Leg number, from 1.
    pub n: usize,
    /// Name of the place it starts from.
    pub from: String,
    /// Name of the place it ends at.
    pub to: String,
    /// Day of the trip.
    pub day: u32,
    /// Surface outside sand and dunes.
    pub surface: Surface,
    /// Where it starts, from the start of the trip.
    pub from_km: Kilometres,
    /// Length by road.
    pub distance: Kilometres,
    /// Metres climbed on the leg.
    pub ascent: Metres,
    /// Metres descended on the leg.
    pub descent: Metres,
    /// Driving time of the leg, without stops.
    pub driving: Hours,
    /// Litres burnt on the leg, by the best estimate.
    pub fuel: Litres,
    /// Consumption of the leg; `None` on a leg of no length.
    pub rate: Option<LitresPer100Km>,
    /// Usable litres on departure, cans included.
    pub start: Litres,
    /// Usable litres on arrival, cans included, before any filling.
    pub end: Litres,
    /// What the gauge shows on arrival, unusable litres included.
    pub end_tank_gauge: Litres,
    /// Litres in cans on arrival.
    pub end_cans: Litres,
    /// What must be left on arrival: the fixed part and the share of all use to the next counted stop.
    pub reserve: Litres,
    /// The fixed part of it, which no use still ahead adds to.
    pub fixed_reserve: Litres,
    /// Whether less than that is left.
    pub below_reserve: bool,
    /// Litres of the leg with no fuel on board at its start.
    pub use_empty: Litres,
    /// Litres more for each litre on board at the start of the leg.
    pub use_slope: Share,
    /// The speed that is meant on its fastest part.
    pub speed: KilometresPerHour,
    /// Where the engine's limit holds the leg somewhere, the lowest speed there, and the one that was wanted.
    pub held: Option<(KilometresPerHour, KilometresPerHour)>,
    /// Litres on board that, held steady, give the leg its litres; hours, causes and printed working are taken there.
    pub steady: Litres,
}
