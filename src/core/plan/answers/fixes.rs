//! Fixes: changes with which a trip that fails has enough fuel and a legal load.

use json_patch::PatchOperation;

use crate::model::vocabulary::CarryingPlace;
use crate::quantity::{Hours, Kilograms, Kilometres, KilometresPerHour, Litres, Percent, Share};

/// Remedies that together make a trip sufficient, and what comes of them.
#[derive(Clone, Debug)]
pub struct Fix {
    /// Its remedies, mostly one or two.
    pub remedies: Vec<Remedy>,
    /// The changes as operations on the trip, each index guarded.
    pub changes: Vec<PatchOperation>,
    /// Litres that need no longer be in cans; negative when more must be.
    pub litres: Litres,
    /// Mass that is moved or left at home.
    pub kg: Kilograms,
    /// Driving time that it adds.
    pub time: Hours,
    /// By how much it lowers the contingency.
    pub reserve: Percent,
    /// Probability of arriving; `None` if it is not known.
    pub odds_through: Option<Share>,
    /// Probability of returning safely from a dry fuel stop; `None` unless the fix relies on that.
    pub odds_back: Option<Share>,
}

/// The fixes that a search found, and what it left out.
#[derive(Clone, Debug, Default)]
pub struct Fixes {
    /// The fixes, the least change first.
    pub found: Vec<Fix>,
    /// Changes and sets of changes that were not tried, or not with every set of cans, because the search is bounded.
    pub untried: usize,
    /// Changes that seemed to do and were not planned in full for the same reason.
    pub unconfirmed: usize,
}

/// A change of the trip.
#[derive(Clone, Debug, PartialEq)]
pub enum Remedy {
    /// Cans in other places, perhaps less full, with gear moved to make room.
    CansElsewhere {
        /// Additional places for cans.
        to: Vec<CarryingPlace>,
        /// Their fill as a share of the nominal size, if less than before.
        filled: Option<Share>,
        /// Gear that is moved to the cargo area.
        moved: Option<String>,
    },
    /// Gear is moved to the cargo area.
    Moved {
        /// Name of the gear.
        name: String,
    },
    /// Gear is left behind, or less of it is taken.
    LeftBehind {
        /// Name of the gear.
        name: String,
        /// Mass that is left behind.
        mass: Kilograms,
        /// Whether it is safety gear.
        spared: Spared,
    },
    /// The roof rack stays at home.
    NoRack,
    /// A lower speed on sealed roads.
    Slower {
        /// Reduction of the speed.
        by: KilometresPerHour,
        /// Whether on gravel too.
        on_gravel: bool,
    },
    /// Tyres are aired down in the sand.
    AirDown {
        /// Leg numbers, from 1.
        legs: Vec<usize>,
    },
    /// The plan relies on turning back from a dry fuel stop.
    TurnBackIfDry,
    /// A detour to a fuel stop off the route.
    Detour {
        /// The place from which, by number.
        from: usize,
        /// The place of the fuel stop.
        to: String,
        /// Length of the detour, there and back.
        fix: Kilometres,
    },
    /// A smaller contingency.
    SmallerReserve {
        /// The contingency with it.
        to: Percent,
    },
}

/// Whether gear is safety gear, as set in the trip file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Spared {
    /// Gear that is stated not to be safety gear.
    Dispensable,
    /// Gear for which the trip does not state it.
    Unknown,
    /// Gear that is stated to be safety gear.
    SafetyGear,
}
