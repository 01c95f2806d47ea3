//! Water and what else is used up.

use crate::quantity::{Days, Kilograms, Kilometres, Litres};

/// Water and what else is used up.
#[derive(Clone, Debug, PartialEq)]
pub struct Supplies {
    /// Days of the trip.
    pub(crate) days: Days,
    /// The water; nothing when nobody is on board or no water is listed.
    pub(crate) water: Option<Water>,
    /// Things that are used up day by day, water left out.
    pub(crate) others: Vec<Supply>,
}

/// Drinking water.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Water {
    /// Aboard at the start.
    pub(crate) on_board: Litres,
    /// Stated need of a person and day.
    pub(crate) person_day: Litres,
    /// What a person drinks on the hottest day, where a temperature is stated.
    pub(crate) in_heat: Option<Litres>,
    /// Need of all on board in a day.
    pub(crate) a_day: Litres,
    /// Days that it lasts.
    pub(crate) lasts: Days,
    /// At the last turn-back point of the trip.
    pub(crate) at_turn_back: Option<WaterAtTurnBack>,
}

/// Water at a turn-back point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct WaterAtTurnBack {
    /// The point, from the start of the trip.
    pub(crate) at_km: Kilometres,
    /// Days that the water on board on that morning lasts.
    pub(crate) lasts: Days,
    /// Days back to the refuge, that day counted: as many as the way out took.
    pub(crate) back: Days,
}

/// A thing that is used up.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Supply {
    /// What it is called.
    pub(crate) name: String,
    /// Aboard at the start.
    pub(crate) on_board: Kilograms,
    /// Used in a day.
    pub(crate) a_day: Kilograms,
    /// Days that it lasts.
    pub(crate) lasts: Days,
}
