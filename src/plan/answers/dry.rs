//! What if the pump is dry: every stop, the worst pair of those that the plan relies on, one can lost.
//!
//! A stop is found dry on arrival, with what the plan has aboard there; the detour to it and back is burnt. All
//! meetings with one pump are dry together. From there one goes on or turns back:
//!
//! - *On* to the next stop that is relied on, or to the finish, with the least that the recursion asks for without
//!   the pump and without the per cent on top. Where the next stop is limited, that is what it takes to get on from
//!   there too, and not just to reach it.
//! - *Back* over the same legs to the nearest refuge behind, as for a turn-back point. What limited stops on the way
//!   back might still hold is not counted.
//!
//! All fuel aboard counts, less what is lost in pouring it from the cans. Each way is open with the fixed reserve
//! untouched, or only by using it, or not at all.
//!
//! The start is left out: what its pump has is seen before setting out.

use crate::quantity::{Kilometres, Litres, Share};
use crate::solver::fuel::ROUNDING;

/// Whether a way is open.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Open {
    /// Not with what is aboard.
    No,
    /// One arrives, but with less than the fixed reserve.
    UsingReserve,
    /// With the fixed reserve untouched.
    Yes,
}

impl Open {
    /// The word in JSON.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Yes => "yes",
            Self::UsingReserve => "using-reserve",
            Self::No => "no",
        }
    }
}

/// A way out of trouble.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WayOut {
    /// The place it leads to.
    pub to: usize,
    /// Whether it is open.
    pub open: Open,
    /// Litres aboard over what it takes with the fixed reserve untouched; below 0 is what is missing for that.
    pub margin: Litres,
}

/// A pump that is found dry.
#[derive(Clone, Debug, PartialEq)]
pub struct DryAt {
    /// The places at which it is met, in driving order; it is found dry at the first.
    pub nodes: Vec<usize>,
    /// The chance that it has fuel.
    pub chance: Share,
    /// Going on from there.
    pub go_on: WayOut,
    /// Turning back from there; nothing where no refuge lies behind, or a leg cannot be driven the other way.
    pub turn_back: Option<WayOut>,
    /// Where the last drop is burnt when one goes on all the same and does not get there.
    pub empty_at: Option<Kilometres>,
}

impl DryAt {
    /// The place at which it is found dry.
    pub fn node(&self) -> usize {
        self.nodes[0]
    }

    /// Whether neither way is open.
    pub fn strands(&self) -> bool {
        is_stranded(self.go_on, self.turn_back)
    }

    /// Litres over what the easier way takes.
    pub(in crate::plan) fn best(&self) -> Litres {
        best(self.go_on, self.turn_back)
    }
}

fn is_stranded(go_on: WayOut, turn_back: Option<WayOut>) -> bool {
    go_on.open == Open::No && turn_back.is_none_or(|back| back.open == Open::No)
}

/// Litres over what the easier way takes.
pub(in crate::plan) fn best(go_on: WayOut, turn_back: Option<WayOut>) -> Litres {
    turn_back.map_or(go_on.margin, |back| back.margin.max(go_on.margin))
}

/// So many more cans of one size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MoreCans {
    /// How many; none when those of the plan do.
    pub count: u32,
    /// Their size.
    pub size: Litres,
}

/// A stop that the plan relies on and that is dry.
#[derive(Clone, Debug, PartialEq)]
pub struct DryStop {
    /// What then, on arrival.
    pub at: DryAt,
    /// Spare litres that the trip needs without it, as [`Spare::plain`](crate::plan::Spare::plain) counts them.
    pub spare: Litres,
    /// What that is in more cans of the largest kind in the load; their empty mass is left out. Nothing when no
    /// kind is listed.
    pub more: Option<MoreCans>,
}

/// The two stops that cost most when both are dry.
#[derive(Clone, Debug, PartialEq)]
pub struct DryPair {
    /// First place of each.
    pub nodes: [usize; 2],
    /// Spare litres that the trip needs without both.
    pub spare: Litres,
    /// What that is in more cans.
    pub more: Option<MoreCans>,
    /// Whether it is the worst of all pairs; else only neighbours were tried.
    pub of_all: bool,
    /// What then, on arrival at the second; nothing where what is aboard at the first does not reach it.
    pub at_second: Option<(WayOut, Option<WayOut>)>,
}

/// The fullest can is lost at the worst moment.
#[derive(Clone, Debug, PartialEq)]
pub struct CanLost {
    /// Litres in it.
    pub litres: Litres,
    /// The worst moment: where the easier way out is hardest.
    pub at_km: Kilometres,
    /// The leg that it falls on, from 1.
    pub leg: usize,
    /// Spare litres with which the trip goes through whenever it is lost.
    pub spare: Litres,
    /// Going on from there.
    pub go_on: WayOut,
    /// Turning back from there.
    pub turn_back: Option<WayOut>,
}

/// All that may be missing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DryStops {
    /// Each stop alone, in driving order.
    pub stops: Vec<DryStop>,
    /// One can lost, where one is carried full.
    pub can_lost: Option<CanLost>,
    /// The stop on which the trip hangs, in `stops`: the one that leaves neither way out, else the one that costs
    /// most spare fuel. Nothing where none costs anything.
    pub hangs_on: Option<usize>,
    /// Whether there were more stops than could be worked out.
    pub cut: bool,
    /// Whether a limited pump that is met again was shared out as with all pumps, so that the litres may be more than the
    /// least.
    pub shared_as_planned: bool,
}

impl DryStops {
    /// The stop on which the trip hangs.
    pub fn hinge(&self) -> Option<&DryStop> {
        self.stops.get(self.hangs_on?)
    }
}

/// A way out that takes `fixed` litres with the reserve untouched and `bare` litres to arrive with nothing.
pub(in crate::plan) fn way_out(to: usize, aboard: Litres, fixed: Litres, bare: Litres) -> WayOut {
    WayOut {
        to,
        open: if aboard >= fixed - ROUNDING {
            Open::Yes
        } else if aboard > bare + ROUNDING {
            Open::UsingReserve
        } else {
            Open::No
        },
        margin: aboard - fixed,
    }
}
