//! What is required where, exactly, by one pass from the finish to the start.
//!
//! With `u_j(f)` the litres of leg j begun with f usable litres, `T` the usable tank, `s_j` what stop j can give,
//! `r_j` the fixed reserve at place j and `p` the share added to all use still ahead:
//!
//! ```text
//! A_n = r_n
//! R_j = the least f with f − (1 + p)·u_{j+1}(f) ≥ A_{j+1}     required on departure from place j
//! A_j = max(r_j, R_j − s_j)                                   required on arrival at place j
//! K   = max(0, max_j (R_j − T))                               litres in cans
//! ```
//!
//! It is exact because f − u(f) rises with f: more on board is never worse later. A fuel stop that is met more than
//! once has one supply; `sharing` shares it out among the meetings. A fuel stop off the route is used only where that
//! lowers what is required on arrival.

use crate::consumption::usage::Usage;
use crate::quantity::{Litres, Share};

/// Lost at each decant, spilt and left in the can. Common practice, no source.
pub(crate) const DECANTING_LOSS: Litres = Litres::new(0.2);

/// Two amounts of fuel that differ by less are equal: far under a drop, far over what arithmetic rounds off.
pub const ROUNDING: Litres = Litres::new(1e-6);

/// A fuel stop that the plan relies on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FuelStopVisit {
    /// Its stock; `None` if unlimited.
    pub supply: Option<Litres>,
    /// Fuel stops of one number are one fuel stop met again, with one supply.
    pub number: usize,
    /// One way of the detour to it; [`Usage::NONE`] when it is on the route.
    pub detour: Usage,
}

/// A trip reduced to what the recursion needs. Places are 0 to n, leg j runs from place j to place j + 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// Usable litres of a full tank.
    pub tank: Litres,
    /// Fuel use of each leg, in driving order.
    pub legs: Vec<Usage>,
    /// The fixed reserve at each place; one more than there are legs.
    pub reserve: Vec<Litres>,
    /// Share added to all use still ahead.
    pub extra: Share,
    /// The fuel stop at each place, where there is one to rely on; one more than there are legs.
    pub fuel_stops: Vec<Option<FuelStopVisit>>,
    /// Fill of the cans that are on board, largest first, for what is lost in decanting them; may be empty.
    pub cans: Vec<Litres>,
}

/// What is required where.
#[derive(Clone, Debug, PartialEq)]
pub struct Need {
    /// On departure from each place; at the finish what must be left.
    pub departure: Vec<Litres>,
    /// On arrival at each place, before anything is filled.
    pub arrival: Vec<Litres>,
    /// At the fuel stop after filling, where a fuel stop is used: more than on departure when there is a detour.
    pub at_fuel_stop: Vec<Option<Litres>>,
    /// The most that a meeting may take from its fuel stop, so that the others have their share; `None` if unlimited
    /// or where there is no fuel stop.
    pub allowance: Vec<Option<Litres>>,
    /// What to leave each fuel stop with, where prices decide; `None` if the tank is filled.
    pub filled_to: Vec<Option<Litres>>,
    /// On arrival with less than this, fill tank and all cans; `None` if that is never asked.
    pub fill_all_below: Vec<Option<Litres>>,
    /// Litres that must be in cans somewhere.
    pub in_cans: Litres,
    /// Whether the search for the best shares of limited stops that are met again was cut short.
    pub sharing_cut: bool,
}

/// Whether to use the fuel stops off the route.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum OffRoute {
    /// Where that lowers what is required on arrival.
    WhereItHelps,
    /// Every fuel stop off the route is driven to.
    Used,
}

impl Problem {
    /// How many numbers of fuel stops there are.
    pub fn fuel_stop_numbers(&self) -> usize {
        self.fuel_stops
            .iter()
            .flatten()
            .map(|fuel_stop| fuel_stop.number + 1)
            .max()
            .unwrap_or(0)
    }

    /// Whether a limited fuel stop is met more than once.
    pub(crate) fn meets_again(&self) -> bool {
        !self.meetings().is_empty()
    }

    /// The places at which each limited fuel stop is met, for those that are met more than once.
    pub(crate) fn meetings(&self) -> Vec<Vec<usize>> {
        super::sharing::meetings(self)
    }

    /// What a limited fuel stop keeps at each place for when it is met again.
    pub(crate) fn kept_after(&self, need: &Need) -> Vec<Litres> {
        let mut kept = vec![Litres::ZERO; self.fuel_stop_numbers()];
        let mut kept_after = vec![Litres::ZERO; self.fuel_stops.len()];
        for (place, fuel_stop) in self.fuel_stops.iter().enumerate().rev() {
            if let Some(fuel_stop) = fuel_stop {
                kept_after[place] = kept[fuel_stop.number];
                kept[fuel_stop.number] += need.allowance[place].unwrap_or_default();
            }
        }
        kept_after
    }

    /// Solves the recursion for limited fuel stops that are shared out so.
    pub(crate) fn need_with_allowance(&self, allowance: &[Option<Litres>]) -> Need {
        self.need_with(allowance, OffRoute::WhereItHelps)
    }

    /// How many cans, the largest first, must be full for `wanted` litres over a full tank to reach the tank.
    pub(super) fn cans_for(&self, wanted: Litres) -> usize {
        count_until(self.cans.iter().map(|fill| *fill - DECANTING_LOSS), wanted)
    }

    /// How many cans, the largest first, must be full to hold `litres`, in which what decanting them loses is counted.
    pub(super) fn cans_holding(&self, litres: Litres) -> usize {
        count_until(self.cans.iter().copied(), litres - ROUNDING)
    }

    /// Litres in the whole cans that are filled, from empty, to hold so much: each time the smallest that is enough,
    /// else the largest. Less where all of them hold less.
    pub(crate) fn whole_cans(&self, wanted: Litres) -> Litres {
        let mut held = Litres::ZERO;
        for (at, &fill) in self.cans.iter().enumerate() {
            let missing = wanted - held;
            if missing <= ROUNDING {
                break;
            }
            if fill >= missing {
                let enough = self.cans[at..].iter().rev().find(|&&fill| fill >= missing);
                return held + enough.copied().unwrap_or(fill);
            }
            held += fill;
        }
        held
    }

    /// Required on departure for a leg, for the rest of one, or for a detour, that must end with `left`.
    pub(crate) fn before(&self, leg: Usage, left: Litres) -> Litres {
        let needed = leg.needed_for(left, self.extra);
        needed + self.decanted_between(needed, left)
    }

    /// What is lost in decanting the cans that must be full for one amount on board and need not be for a lesser one.
    pub(crate) fn decanted_between(&self, more: Litres, less: Litres) -> Litres {
        let decanted = self
            .cans_for(more - self.tank)
            .saturating_sub(self.cans_for(less - self.tank));
        DECANTING_LOSS * decanted as f64
    }

    /// What is lost when cans that hold `litres` are decanted; the smallest count first, so that it is never less.
    pub(crate) fn lost_in_decanting(&self, litres: Litres) -> Litres {
        let decanted = count_until(self.cans.iter().rev().copied(), litres - ROUNDING);
        DECANTING_LOSS * decanted as f64
    }

    /// Solves the recursion. Cost: linear in the legs, and a hundredth of a second where a limited fuel stop is met
    /// again.
    ///
    /// # Panics
    /// When `reserve` or `fuel_stops` are not one longer than `legs`.
    pub fn need(&self) -> Need {
        let shares = self.shares();
        Need {
            sharing_cut: shares.cut,
            ..self.need_with(&shares.litres, OffRoute::WhereItHelps)
        }
    }

    /// Solves the recursion for limited fuel stops that are shared out as in another solution of the same trip.
    pub(crate) fn need_as(&self, other: &Need) -> Need {
        self.need_with(&self.shares_as(other), OffRoute::WhereItHelps)
    }

    /// The need with every fuel stop used, whether or not that helps.
    pub(crate) fn need_using(&self, other: &Need) -> Need {
        self.need_with(&self.shares_as(other), OffRoute::Used)
    }

    fn shares_as(&self, other: &Need) -> Vec<Option<Litres>> {
        let shares = self.fuel_stops.iter().zip(&other.allowance);
        shares
            .map(|(fuel_stop, allowance)| {
                let limited = fuel_stop.is_some_and(|fuel_stop| fuel_stop.supply.is_some());
                limited.then(|| allowance.unwrap_or_default())
            })
            .collect()
    }

    /// Solves the recursion with the litres that each meeting may take from its fuel stop, `None` if unlimited.
    pub(super) fn need_with(&self, shares: &[Option<Litres>], off_route: OffRoute) -> Need {
        let n = self.legs.len();
        assert!(
            self.reserve.len() == n + 1 && self.fuel_stops.len() == n + 1,
            "one reserve and one fuel stop for each place"
        );
        let mut need = Need {
            departure: vec![self.reserve[n]; n + 1],
            arrival: vec![self.reserve[n]; n + 1],
            at_fuel_stop: vec![None; n + 1],
            // Nothing is kept for the finish, which may be where a limited stop is met again.
            allowance: (0..)
                .zip(shares)
                .map(|(place_number, share)| {
                    share.map(|share| {
                        if place_number < n {
                            share
                        } else {
                            Litres::ZERO
                        }
                    })
                })
                .collect(),
            filled_to: vec![None; n + 1],
            fill_all_below: vec![None; n + 1],
            in_cans: Litres::ZERO,
            sharing_cut: false,
        };
        need.in_cans = self.back_from_the_finish(shares, off_route, |j, step| {
            need.departure[j] = step.departure;
            need.arrival[j] = step.arrival;
            need.at_fuel_stop[j] = step.at_fuel_stop;
        });
        need
    }

    /// Shows what each place but the finish requires, the last one first; the most that is over a full tank.
    pub(super) fn back_from_the_finish(
        &self,
        shares: &[Option<Litres>],
        off_route: OffRoute,
        mut show: impl FnMut(usize, Step),
    ) -> Litres {
        let n = self.legs.len();
        let (mut next, mut in_cans) = (self.reserve[n], Litres::ZERO);
        for j in (0..n).rev() {
            let step = self.step(j, next, self.fuel_stops[j], shares[j], off_route);
            next = step.arrival;
            in_cans = in_cans.max(step.most() - self.tank);
            show(j, step);
        }
        in_cans
    }

    /// One step of the recursion: what place `j` requires when the next one requires `next` on arrival, and
    /// `fuel_stop`, of which no more than `share` may be taken, is what there is at `j`.
    fn step(
        &self,
        j: usize,
        next: Litres,
        fuel_stop: Option<FuelStopVisit>,
        share: Option<Litres>,
        off_route: OffRoute,
    ) -> Step {
        let departure = self.before(self.legs[j], next);
        let mut step = Step {
            departure,
            arrival: self.reserve[j].max(departure),
            at_fuel_stop: None,
        };
        let Some(fuel_stop) = fuel_stop else {
            return step;
        };
        let at_fuel_stop = self.before(fuel_stop.detour, departure);
        let before_filling = share.map_or(self.reserve[j], |share| {
            self.reserve[j].max(at_fuel_stop - share)
        });
        let arrival = self.before(fuel_stop.detour, before_filling);
        if arrival < step.arrival || fuel_stop.detour == Usage::NONE || off_route == OffRoute::Used
        {
            step.arrival = arrival;
            step.at_fuel_stop = Some(at_fuel_stop);
        }
        step
    }
}

/// How many of some cans, in their order, it takes to hold so much.
fn count_until(cans: impl Iterator<Item = Litres>, wanted: Litres) -> usize {
    let mut held = Litres::ZERO;
    let needed = cans.take_while(|&fill| {
        let more = held < wanted;
        held += fill;
        more
    });
    needed.count()
}

/// What one place requires.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Step {
    pub(super) departure: Litres,
    /// On arrival, before anything is filled.
    pub(super) arrival: Litres,
    /// At the fuel stop after filling, where a fuel stop is used.
    pub(super) at_fuel_stop: Option<Litres>,
}

impl Step {
    /// The most that must be on board there.
    fn most(&self) -> Litres {
        self.at_fuel_stop.map_or(self.departure, |at_fuel_stop| {
            at_fuel_stop.max(self.departure)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A leg or one way of a detour that takes `litres` whatever is on board.
    fn takes(litres: f64) -> Usage {
        let litres = Litres::new(litres);
        Usage::between(litres, litres, Litres::new(100.0))
    }

    /// Two legs on a tank of 50 L with 2 L to be left everywhere; between them an unlimited fuel stop off the route.
    fn with_fuel_stop(legs: [f64; 2], detour: f64) -> Need {
        with_fuel_stop_and_cans(legs, detour, &[])
    }

    fn with_fuel_stop_and_cans(legs: [f64; 2], detour: f64, cans: &[f64]) -> Need {
        let fuel_stop = FuelStopVisit {
            supply: None,
            number: 0,
            detour: takes(detour),
        };
        let problem = Problem {
            tank: Litres::new(50.0),
            legs: legs.map(takes).to_vec(),
            reserve: vec![Litres::new(2.0); 3],
            extra: Share::ZERO,
            fuel_stops: vec![None, Some(fuel_stop), None],
            cans: cans.iter().copied().map(Litres::new).collect(),
        };
        problem.need()
    }

    fn near(litres: Litres, by_hand: f64) {
        assert!(
            (litres.get() - by_hand).abs() < 1e-9,
            "{litres:?}, by hand {by_hand}"
        );
    }

    /// By hand: 5 L to the fuel stop on top of the 2 L to be there with; 40 + 2 L back on the route and 5 L before that
    /// at the fuel stop.
    #[test]
    fn the_way_to_a_fuel_stop_and_back_is_needed_too() {
        let need = with_fuel_stop([40.0, 40.0], 5.0);
        near(need.departure[1], 42.0);
        near(need.at_fuel_stop[1].unwrap(), 47.0);
        near(need.arrival[1], 7.0);
        near(need.departure[0], 47.0);
        near(need.in_cans, 0.0);
        // 48 L back on the route fit the tank, the 53 L that are needed at the fuel stop do not.
        near(with_fuel_stop([40.0, 46.0], 5.0).in_cans, 3.0);
    }

    /// By hand: 3 L of the 53 L at the fuel stop are in a can, which is decanted on the route back to the route: 0.2 L
    /// are lost.
    #[test]
    fn a_can_for_the_way_back_from_a_fuel_stop_loses_too() {
        let need = with_fuel_stop_and_cans([40.0, 46.0], 5.0, &[4.75]);
        near(need.at_fuel_stop[1].unwrap(), 53.2);
        near(need.in_cans, 3.2);
    }

    /// By hand: to come to the fuel stop takes 47 L, to pass it 42 L, so it is passed.
    #[test]
    fn a_fuel_stop_too_far_off_the_route_is_not_used() {
        let need = with_fuel_stop([40.0, 40.0], 45.0);
        assert_eq!(need.at_fuel_stop[1], None);
        near(need.departure[0], 82.0);
        near(need.in_cans, 32.0);
    }

    /// By hand: a can of 19 L gives 18.8 L, so 18.9 L over a full tank take two cans, and 50 L three.
    #[test]
    fn every_can_that_is_decanted_loses_a_little() {
        let in_cans = |litres: f64| {
            let problem = Problem {
                tank: Litres::new(50.0),
                legs: vec![takes(litres)],
                reserve: vec![Litres::ZERO; 2],
                extra: Share::ZERO,
                fuel_stops: vec![None; 2],
                cans: vec![Litres::new(19.0); 4],
            };
            problem.need().in_cans
        };
        near(in_cans(50.0), 0.0);
        near(in_cans(68.8), 19.0);
        near(in_cans(68.9), 19.3);
        near(in_cans(100.0), 50.6);
    }

    /// The smallest cans first, so that the count is never less than it will be.
    #[test]
    fn what_is_lost_follows_from_the_cans_that_hold_it() {
        let mut problem = Problem {
            tank: Litres::new(50.0),
            legs: Vec::new(),
            reserve: vec![Litres::ZERO],
            extra: Share::ZERO,
            fuel_stops: vec![None],
            cans: [19.0, 9.5, 4.75].map(Litres::new).to_vec(),
        };
        for (litres, cans) in [
            (0.0, 0.0),
            (4.75, 1.0),
            (14.25, 2.0),
            (19.0, 3.0),
            (33.25, 3.0),
        ] {
            near(problem.lost_in_decanting(Litres::new(litres)), 0.2 * cans);
        }
        problem.cans.clear();
        near(problem.lost_in_decanting(Litres::new(19.0)), 0.0);
    }
}
