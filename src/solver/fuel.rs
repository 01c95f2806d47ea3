//! What is required where, exactly, by one pass from the finish to the start.
//!
//! With `u_j(f)` the litres of leg j begun with f usable litres, `T` the usable tank, `s_j` what stop j can give,
//! `r_j` the fixed reserve at place j and `p` the share added to all use still ahead:
//!
//! ```text
//! A_n = r_n
//! R_j = the least f with f − (1 + p)·u_{j+1}(f) ≥ A_{j+1}     required on departure from place j
//! A_j = max(r_j, R_j − s_j)                                   required on arrival at place j
//! K   = max(0, max_j (R_j − T))                               spare litres
//! ```
//!
//! It is exact because f − u(f) rises with f: more on board is never worse later. A pump that is met more than once
//! has one supply; `sharing` shares it out among the meetings. A pump off the route is used only where
//! that lowers what is required on arrival.

use crate::consumption::usage::Usage;
use crate::quantity::{Litres, Share};

/// Lost at each pour, spilt and left in the can. Common practice, no source.
pub const POUR_LOSS: Litres = Litres::new(0.2);

/// Two amounts of fuel that differ by less are equal: far under a drop, far over what arithmetic rounds off.
pub const ROUNDING: Litres = Litres::new(1e-6);

/// A pump that the plan relies on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pump {
    /// What it has; nothing when unlimited.
    pub supply: Option<Litres>,
    /// Pumps of one number are one pump met again, with one supply.
    pub number: usize,
    /// One way of the detour to it; [`Usage::NONE`] when it is on the route.
    pub detour: Usage,
}

/// A trip reduced to what the recursion needs. Places are 0 to n, leg j runs from place j to place j + 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// Usable litres of a full tank.
    pub tank: Litres,
    /// The legs.
    pub legs: Vec<Usage>,
    /// The fixed reserve at each place; one more than there are legs.
    pub reserve: Vec<Litres>,
    /// Share added to all use still ahead.
    pub extra: Share,
    /// The pump at each place, where there is one to rely on; one more than there are legs.
    pub pumps: Vec<Option<Pump>>,
    /// Fill of the cans that are aboard, largest first, for what is lost in pouring them; may be empty.
    pub cans: Vec<Litres>,
}

/// What is required where.
#[derive(Clone, Debug, PartialEq)]
pub struct Need {
    /// On departure from each place; at the finish what must be left.
    pub departure: Vec<Litres>,
    /// On arrival at each place, before anything is filled.
    pub arrival: Vec<Litres>,
    /// At the pump after filling, where a pump is used: more than on departure when there is a detour.
    pub at_pump: Vec<Option<Litres>>,
    /// The most that a meeting may take from its pump, so that the others have their share; nothing when unlimited
    /// or where no pump is used.
    pub allowance: Vec<Option<Litres>>,
    /// Litres that must be in cans somewhere.
    pub spare: Litres,
}

impl Problem {
    /// How many numbers of pumps there are.
    pub fn pump_numbers(&self) -> usize {
        self.pumps
            .iter()
            .flatten()
            .map(|pump| pump.number + 1)
            .max()
            .unwrap_or(0)
    }

    /// How many cans, the largest first, must be full for `wanted` litres over a full tank to reach the tank.
    fn cans_for(&self, wanted: Litres) -> usize {
        let mut held = Litres::ZERO;
        self.cans
            .iter()
            .take_while(|&&fill| {
                let more = held < wanted;
                held += fill - POUR_LOSS;
                more
            })
            .count()
    }

    /// Required on departure for a leg, or for the rest of one, that must end with `left`.
    pub fn before(&self, leg: Usage, left: Litres) -> Litres {
        let needed = leg.needed_for(left, self.extra);
        let poured = self
            .cans_for(needed - self.tank)
            .saturating_sub(self.cans_for(left - self.tank));
        needed + POUR_LOSS * poured as f64
    }

    /// What is lost when cans that hold `litres` are poured; the smallest count first, so that it is never less.
    pub fn lost_in_pouring(&self, litres: Litres) -> Litres {
        let mut held = Litres::ZERO;
        let poured = self.cans.iter().rev().take_while(|&&fill| {
            let more = held < litres - ROUNDING;
            held += fill;
            more
        });
        POUR_LOSS * poured.count() as f64
    }

    /// Solves the recursion. Cost: linear in the legs, and some hundred times that where a limited pump is met again.
    ///
    /// # Panics
    /// When `reserve` or `pumps` are not one longer than `legs`.
    pub fn need(&self) -> Need {
        self.need_with(&self.shares())
    }

    /// Solves the recursion with the litres that each meeting may take from its pump, nothing where unlimited.
    pub(super) fn need_with(&self, shares: &[Option<Litres>]) -> Need {
        let n = self.legs.len();
        assert!(
            self.reserve.len() == n + 1 && self.pumps.len() == n + 1,
            "one reserve and one pump entry for each place"
        );
        let mut need = Need {
            departure: vec![self.reserve[n]; n + 1],
            arrival: vec![self.reserve[n]; n + 1],
            at_pump: vec![None; n + 1],
            allowance: vec![None; n + 1],
            spare: Litres::ZERO,
        };
        for j in (0..n).rev() {
            let departure = self.before(self.legs[j], need.arrival[j + 1]);
            let passing = self.reserve[j].max(departure);
            need.departure[j] = departure;
            need.spare = need.spare.max(departure - self.tank);
            need.arrival[j] = passing;
            let Some(pump) = self.pumps[j] else { continue };
            let at_pump = pump.detour.needed_for(departure, self.extra);
            let before_filling = shares[j].map_or(self.reserve[j], |share| {
                self.reserve[j].max(at_pump - share)
            });
            let arrival = pump.detour.needed_for(before_filling, self.extra);
            if arrival < passing || pump.detour == Usage::NONE {
                need.arrival[j] = arrival;
                need.at_pump[j] = Some(at_pump);
                need.allowance[j] = shares[j];
                need.spare = need.spare.max(at_pump - self.tank);
            }
        }
        need
    }
}
