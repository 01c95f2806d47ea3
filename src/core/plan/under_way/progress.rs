//! What was driven on a trip that is under way.

use crate::calibrate::{Factors, LikelyOff};
use crate::model::vehicle::Vehicle;
use crate::model::vocabulary::Measured;
use crate::quantity::{Kilometres, Litres, Share};

/// What was driven between two readings.
#[derive(Clone, Debug, PartialEq)]
pub struct DrivenInterval {
    /// Where the two readings were taken: legs driven until there, and the part of the next one.
    pub between: [(usize, Share); 2],
    /// What it is called there.
    pub places: [String; 2],
    /// The way as planned, and as the odometer has it, in true kilometres.
    pub distance: [Kilometres; 2],
    /// Litres that were used; `None` if no departure was written down, or the readings contradict one another so
    /// that less than nothing would have been.
    pub used: Option<Litres>,
    /// How far they may be off: a standard deviation.
    pub spread: Litres,
    /// What can be learnt from it.
    pub worth: Worth,
    /// What most probably makes the difference between used and planned.
    pub likely_off: LikelyOff,
}

/// What the two readings at the ends of a way are worth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Worth {
    /// The factors follow from them.
    Counts,
    /// Nothing was driven between them.
    NothingDriven,
    /// No departure was written down: the first of them is none.
    NoDeparture,
    /// They contradict one another, or the way.
    Contradicts,
}

/// Litres that were read off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FuelReading {
    /// Where: legs driven until there, and the part of the next one.
    pub at: (usize, Share),
    /// Usable, tank and cans, before anything was filled.
    pub left: Litres,
    /// How far they may be off: a standard deviation.
    pub spread: Litres,
    /// Litres that were then taken on.
    pub filled: Litres,
}

/// What was driven so far.
#[derive(Clone, Debug, PartialEq)]
pub struct Progress {
    /// Number of the place where the rest begins, or of the last one passed.
    pub place_number: usize,
    /// What it is called where the rest begins.
    pub place: String,
    /// Distance to the next place, where the rest begins between two or off the plan.
    pub to_next: Option<Kilometres>,
    /// What the odometer showed there.
    pub odometer: Kilometres,
    /// What was read off, in the order of the log.
    pub readings: Vec<FuelReading>,
    /// The ways that were driven.
    pub intervals: Vec<DrivenInterval>,
    /// Factors before and after the log.
    pub factors: [Factors; 2],
    /// What is on board, usable, tank and cans.
    pub on_board: Litres,
    /// How far that may be off: a standard deviation.
    pub error: Litres,
    /// How it was measured.
    pub how: Measured,
    /// The vehicle with what the way added.
    pub vehicle: Vehicle,
}
