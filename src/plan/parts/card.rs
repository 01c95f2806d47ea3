//! The lines of the go/no-go card.

use crate::quantity::{Kilometres, Litres};

/// A line of the go/no-go card: litres on arrival, tank and cans together, usable.
#[derive(Clone, Debug, PartialEq)]
pub struct Decision {
    /// Place number; nothing for a point on the road.
    pub node: Option<usize>,
    /// Name of the place, or of the place that the leg leads to.
    pub place: String,
    /// From the start of the trip.
    pub at_km: Kilometres,
    /// With this much or more, go on, whether or not anything can be had here. Nothing where tank and cans
    /// together never hold so much.
    pub go_on: Option<Litres>,
    /// With this much or more, go on after filling tank and cans here as the stops say. Nothing where the plan
    /// relies on no fuel.
    pub fill_cans: Option<Litres>,
    /// With less than this, turn back.
    pub turn_back: Litres,
    /// The way back from here. Nothing where no sure pump lies behind, where a leg cannot be driven the other way,
    /// or where tank and cans together never hold what that takes.
    pub back: Option<WayBack>,
}

/// What going back takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WayBack {
    /// The nearest sure pump behind, as a place number.
    pub refuge: usize,
    /// With this much aboard it is reached with the fixed reserve untouched; what pouring the cans loses is
    /// counted.
    pub needed: Litres,
}
