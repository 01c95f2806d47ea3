//! Fuel checks: litres to continue with and to return with, at places and on the route.

use crate::doubt::checks::{Action, CheckKind, IfDry};
use crate::doubt::tally::Odds;
use crate::quantity::{Kilometres, Litres, Share};

/// A fuel check. Litres are usable, tank and cans together, on arrival and before any filling.
#[derive(Clone, Debug, PartialEq)]
pub struct FuelCheck {
    /// Place number; `None` if the check is en route.
    pub place_number: Option<usize>,
    /// The leg on which it is, or at whose end, from 1.
    pub leg: usize,
    /// Name of the place, or of the place that the leg leads to.
    pub place: String,
    /// From the start of the trip.
    pub at_km: Kilometres,
    /// Whether it is a check, the decision, or after the decision.
    pub kind: CheckKind,
    /// On board by the best estimate.
    pub expected: Litres,
    /// On board in simulated trips, with nobody turned back and no luck.
    pub arrivals: Arrivals,
    /// Continue with this or more; `None` if nothing is asked here, or if no amount is enough.
    pub continue_with: Option<Litres>,
    /// With less, return with this or more.
    pub back: Option<Return>,
    /// With less than either, what runs out less often.
    pub if_neither: Action,
    /// With this, 95 of 100 of those who arrive with about as much reach the next refuge.
    pub finish: Option<Litres>,
    /// What to do instead if the fuel stop here, which is relied on, has no fuel.
    pub if_dry: Option<IfDry>,
    /// How much `continue_with` rises for each litre from stops that are not relied on, since a stop was last left as
    /// planned.
    pub rises_per_litre: Option<Share>,
    /// At unlimited fuel that is relied on: what to leave with, by the litres pumped to fill as planned. Empty if that
    /// is always enough.
    pub pumped: Vec<Pumped>,
    /// The share of all simulated trips that are turned back here, with fuel at every stop that is relied on.
    pub turned_back: Odds,
}

/// Litres on arrival in simulated trips.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arrivals {
    /// 1 % of the trips have less.
    pub p01: Litres,
    /// 5 % of the trips have less.
    pub p05: Litres,
    /// Half of the trips have less.
    pub p50: Litres,
    /// 95 % of the trips have less.
    pub p95: Litres,
    /// 99 % of the trips have less.
    pub p99: Litres,
}

/// What a return takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Return {
    /// The refuge behind, a place number.
    pub refuge: usize,
    /// With this, 95 of 100 get back with the reserve intact; `None` if no amount on board is enough.
    pub litres: Option<Litres>,
}

/// What to leave a fuel stop with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pumped {
    /// If no more than this was pumped to fill as planned.
    pub up_to: Litres,
    /// Leave with this; in the first of several rows as planned, which is about this.
    pub leave_with: Litres,
}
