//! Water and what else is used up.

use crate::quantity::{Days, Kilograms, Kilometres, Litres};

/// Water and what else is used up.
#[derive(Clone, Debug, PartialEq)]
pub struct Supplies {
    /// Days of the trip.
    pub days: Days,
    /// The water; `None` if nobody is on board or no water is listed.
    pub water: Option<Water>,
    /// Things that are used up day by day, water left out.
    pub others: Vec<Supply>,
}

/// The drinking water and how long it lasts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Water {
    /// On board at the start.
    pub on_board: Litres,
    /// Stated need of a person and day.
    pub person_day: Litres,
    /// What a person drinks on the hottest day, where a temperature is stated.
    pub(crate) in_heat: Option<Litres>,
    /// Need of all on board in a day.
    pub a_day: Litres,
    /// Days that it lasts.
    pub lasts: Days,
    /// At the last turn-back point of the trip.
    pub at_turn_back: Option<WaterAtTurnBack>,
}

/// Water at a turn-back point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WaterAtTurnBack {
    /// The point, from the start of the trip.
    pub at_km: Kilometres,
    /// Days that the water on board on that morning lasts.
    pub lasts: Days,
    /// Days back to the refuge, that day counted: as many as the way out took.
    pub back: Days,
}

/// Gear that is used up day by day.
#[derive(Clone, Debug, PartialEq)]
pub struct Supply {
    /// Name of the gear, as the user wrote it.
    pub name: String,
    /// On board at the start.
    pub on_board: Kilograms,
    /// Used in a day.
    pub a_day: Kilograms,
    /// Days that it lasts.
    pub lasts: Days,
}
