//! A fuel stop without fuel: every one that the plan relies on, the worst pair of them, one can lost.
//!
//! A stop has no fuel on arrival, with what each simulated trip has on board there; the detour to it and back is
//! driven. All visits to one stop are without. From there the driver continues, to the next refuge with what the plan
//! takes at limited stops, or returns over the same legs to the refuge behind.
//!
//! The start is left out: what there is one sees before setting out.

use crate::doubt::checks::{Action, Ends, InTrouble};
use crate::quantity::{Kilometres, Litres, Share};

/// Whether enough simulated trips arrive.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Open {
    /// Fewer than the success target arrive at all.
    No,
    /// The success target arrives, but not with the reserve intact.
    UsingReserve,
    /// The success target arrives with the reserve intact.
    Yes,
}

impl Open {
    /// What the shares of simulated trips mean at a success target.
    pub(crate) fn from_ends(ends: Ends, target: Share) -> Self {
        if ends.reserve_intact.share >= target {
            Self::Yes
        } else if ends.ran_out.share.get() <= 1.0 - target.get() {
            Self::UsingReserve
        } else {
            Self::No
        }
    }

    /// The word for it in the JSON report.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Yes => "yes",
            Self::UsingReserve => "using-reserve",
            Self::No => "no",
        }
    }
}

/// What happens to simulated trips in trouble, and where they go.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Choices {
    /// The refuge ahead, a place number.
    pub on_to: usize,
    /// The refuge behind; `None` if there is no return.
    pub back_to: Option<usize>,
    /// Outcomes of the trips that continue and of those that return.
    pub shares: InTrouble,
    /// The success target that the words follow from.
    pub target: Share,
}

impl Choices {
    /// Whether continuing meets the success target.
    pub fn on(&self) -> Open {
        Open::from_ends(self.shares.on, self.target)
    }

    /// Whether returning meets the success target.
    pub fn back(&self) -> Open {
        self.shares
            .back
            .map_or(Open::No, |back| Open::from_ends(back, self.target))
    }

    /// Whether more than one in twenty runs out whatever is done.
    pub fn strands(&self) -> bool {
        self.least_run_out() > Share::new(0.05)
    }

    /// The share that runs out if the recommended action is taken.
    pub fn least_run_out(&self) -> Share {
        match (self.shares.recommended(), self.shares.back) {
            (Action::Return, Some(back)) => back.ran_out.share,
            _ => self.shares.on.ran_out.share,
        }
    }
}

/// So many more cans of one size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MoreCans {
    /// How many; none when those of the plan do.
    pub count: u32,
    /// Nominal size of the cans.
    pub size: Litres,
}

/// A fuel stop that the plan relies on and that has no fuel.
#[derive(Clone, Debug, PartialEq)]
pub struct DryStop {
    /// The places at which it is met, in driving order.
    pub place_numbers: Vec<usize>,
    /// The chance that it has fuel.
    pub chance: Share,
    /// What happens on arrival.
    pub choices: Choices,
    /// Litres that must be in cans if it is planned without; `None` if that was too much work.
    pub needed_without: Option<Litres>,
    /// What that is in more cans of the largest kind in the load; their empty mass is left out.
    pub more: Option<MoreCans>,
}

impl DryStop {
    /// The place at which it is met first.
    pub fn place_number(&self) -> usize {
        self.place_numbers[0]
    }
}

/// The two stops that hurt most if both have no fuel.
#[derive(Clone, Debug, PartialEq)]
pub struct DryPair {
    /// First place of each.
    pub place_numbers: [usize; 2],
    /// What happens on arrival at the second; `None` if no simulated trip comes there.
    pub choices: Option<Choices>,
    /// Whether it is the worst of all pairs; else only neighbours were tried.
    pub of_all: bool,
}

/// The fullest can lost at the worst moment.
#[derive(Clone, Debug, PartialEq)]
pub struct CanLost {
    /// Litres in the can.
    pub litres: Litres,
    /// The point of the route at which the loss leaves most trips without fuel.
    pub at_km: Kilometres,
    /// The leg that it falls on, from 1.
    pub leg: usize,
    /// What happens from there.
    pub choices: Choices,
}

/// All that may be missing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DryStops {
    /// Each stop alone, in driving order.
    pub stops: Vec<DryStop>,
    /// The worst two fuel stops without fuel at once.
    pub pair: Option<DryPair>,
    /// One can lost, where one is carried full.
    pub can_lost: Option<CanLost>,
    /// The critical fuel stop, in `stops`: the one without which most trips run out, else the one that costs most in
    /// cans. `None` if none costs anything.
    pub critical: Option<usize>,
    /// Whether there were more stops than could be planned without.
    pub cut: bool,
}

impl DryStops {
    /// The critical fuel stop.
    pub fn critical_stop(&self) -> Option<&DryStop> {
        self.stops.get(self.critical?)
    }
}
