//! What the fuel in cans is carried for.

use crate::consumption::causes::Cause;
use crate::quantity::Litres;

/// Something that fuel in cans is carried for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LedgerPart {
    /// The way at the baseline consumption, and the fixed reserve, as far as the tank does not hold them.
    Way,
    /// A cause of the legs.
    Cause(Cause),
    /// Ways to fuel stops off the route and back.
    Detours,
    /// What is lost when cans are decanted.
    Decanting,
    /// The per-cent share on all use.
    Percent,
    /// What is not known of the trip, up to the success target.
    Doubt,
    /// What the fuel checks cost, so that hardly anybody is turned back who would arrive.
    Checks,
}

/// What one part is answerable for.
#[derive(Clone, Debug, PartialEq)]
pub struct LedgerRow {
    /// The cause that the litres are for.
    pub part: LedgerPart,
    /// Litres of the fuel in cans; below 0 where it saves some.
    pub litres: Litres,
    /// Those litres by leg (numbers from 1); legs without any are left out.
    pub legs: Vec<(usize, Litres)>,
    /// What the fuel in cans would be without it, where it is a cause.
    pub without: Option<Litres>,
    /// How many of the chosen cans could then stay at home.
    pub cans_fewer: Option<usize>,
}

/// What is in one can.
#[derive(Clone, Debug, PartialEq)]
pub struct CanFor {
    /// Size of the can.
    pub size: Litres,
    /// What it is carried for, leg by leg where it is of a leg, most first.
    pub parts: Vec<(LedgerPart, Option<usize>, Litres)>,
}

/// The fuel in cans split by what it is carried for.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ledger {
    /// What is split: the litres in cans that must be in cans.
    pub in_cans: Litres,
    /// The places between which it is carried; `None` if none is needed.
    pub stage: Option<(usize, usize)>,
    /// Litres by cause, largest first.
    pub rows: Vec<LedgerRow>,
    /// The chosen cans, filled with the rows in their order.
    pub cans: Vec<CanFor>,
}
