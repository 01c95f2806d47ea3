//! Ways to make a trip fit.

use json_patch::PatchOperation;

use crate::model::vocabulary::CarryingPlace;
use crate::quantity::{Hours, Kilograms, Kilometres, KilometresPerHour, Litres, Percent, Share};

/// A way to make it fit.
#[derive(Clone, Debug)]
pub struct Way {
    /// What is to be done, mostly one or two things.
    pub doing: Vec<Doing>,
    /// The changes as operations on the trip, each index guarded.
    pub changes: Vec<PatchOperation>,
    /// Litres that need no longer be in cans; negative when more must be.
    pub litres: Litres,
    /// What is moved, and what is left at home.
    pub kg: Kilograms,
    /// Time added.
    pub time: Hours,
    /// What the reserve on all use still ahead is lowered by.
    pub reserve: Percent,
    /// The probabilities of getting through, where they are known.
    pub odds_through: Option<Share>,
    /// The probabilities of turning back from a dry fuel stop instead and being safe, where the way counts on that.
    pub odds_back: Option<Share>,
}

/// What a search for ways found, and what it left out.
#[derive(Clone, Debug, Default)]
pub struct Ways {
    /// The ways, the least change first.
    pub found: Vec<Way>,
    /// Changes and sets of changes that were not tried, or not with every set of cans, because the search is bounded.
    pub untried: usize,
    /// Changes that seemed to do and were not planned in full for the same reason.
    pub unconfirmed: usize,
}

/// What is to be done.
#[derive(Clone, Debug, PartialEq)]
pub enum Doing {
    /// Cans may lie in other places, are perhaps less full, and a thing makes room for them.
    CansElsewhere {
        /// Where cans may lie besides where they did.
        to: Vec<CarryingPlace>,
        /// How full of their size, where less than before.
        filled: Option<Share>,
        /// The thing that is moved to the load space.
        moved: Option<String>,
    },
    /// A thing goes to the load space.
    Moved {
        /// What.
        name: String,
    },
    /// Less is taken along.
    LeftBehind {
        /// Of what.
        name: String,
        /// How much less.
        mass: Kilograms,
        /// Whether it can be spared.
        spared: Spared,
    },
    /// The roof carrier stays at home.
    NoRack,
    /// Slower on these roads.
    Slower {
        /// By so much.
        by: KilometresPerHour,
        /// Whether on gravel too.
        on_gravel: bool,
    },
    /// Tyres are let down in the sand.
    AirDown {
        /// Leg numbers, from 1.
        legs: Vec<usize>,
    },
    /// Turning back from a fuel stop that is dry is counted on.
    TurnBackIfDry,
    /// To a fuel stop off the route and back.
    Detour {
        /// The place from which, by number.
        from: usize,
        /// The place of the fuel stop.
        to: String,
        /// There and back.
        way: Kilometres,
    },
    /// A smaller reserve on all use still ahead.
    SmallerReserve {
        /// What is left of it.
        to: Percent,
    },
}

/// Whether a thing can be spared, by what the trip says of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Spared {
    /// It is said to be no safety gear.
    Dispensable,
    /// Nothing is said.
    Unknown,
    /// It is safety gear.
    SafetyGear,
}
