//! How the one supply of a limited fuel stop is shared out among the meetings with it.
//!
//! What is required anywhere is convex in the shares: it is made of sums, maxima and rising straight lines of them. So
//! the fuel in cans has no false minima along any exchange between two meetings, and a golden-section search finds the
//! best exchange. Exchanges are tried in turn until none helps, from two beginnings. With one fuel stop met twice that
//! is exact; with more meetings it may rest where only several exchanges at once would help, and then requires more
//! spare than it must, never for less. The same where the search is cut short because there are too many meetings.

use crate::consumption::usage::Usage;
use crate::quantity::Litres;

use super::fuel::{OffRoute, Problem, ROUNDING};

/// Places looked at at most before the search is cut short: a hundredth of a second.
const MOST_WORK: usize = 1_000_000;

/// Rounds of exchanges at most.
const ROUNDS: usize = 12;
/// Halvings of a search; each keeps 0.618 of its span.
const STEPS: usize = 48;
/// What is required at the start counts this much of the fuel in cans, to decide between shares that need the same
/// spare.
const OF_START: f64 = 1e-4;

/// The places at which each limited fuel stop is met, for those that are met more than once.
pub(super) fn meetings(problem: &Problem) -> Vec<Vec<usize>> {
    let n = problem.legs.len();
    let mut meetings = vec![Vec::new(); problem.fuel_stop_numbers()];
    for (place, fuel_stop) in problem.fuel_stops.iter().enumerate().take(n) {
        if let Some(fuel_stop) = fuel_stop.filter(|fuel_stop| fuel_stop.supply.is_some()) {
            meetings[fuel_stop.number].push(place);
        }
    }
    meetings.retain(|places| places.len() > 1);
    meetings
}

/// Whether the fuel stop of a number is met no more than once on the route.
pub(super) fn met_once(problem: &Problem, number: usize) -> bool {
    let met = problem.fuel_stops.iter().flatten();
    met.filter(|fuel_stop| fuel_stop.number == number).count() <= 1
}

/// Stock of the fuel stop at each place; `None` if there is no fuel stop or its stock is unlimited.
pub(super) fn supplies(problem: &Problem) -> Vec<Option<Litres>> {
    let fuel_stops = problem.fuel_stops.iter();
    fuel_stops
        .map(|fuel_stop| fuel_stop.and_then(|fuel_stop| fuel_stop.supply))
        .collect()
}

/// Litres that each meeting may take from its fuel stop; `None` without a fuel stop or with unlimited fuel.
pub(super) struct Shares {
    pub(super) litres: Vec<Option<Litres>>,
    /// Whether the search for the best was cut short.
    pub(super) cut: bool,
}

/// The shares of the meetings at which `cost`, convex in them, is least, as far as that is found with `most_work`
/// places looked at.
pub(super) fn best(
    problem: &Problem,
    meetings: &[Vec<usize>],
    most_work: usize,
    mut cost: impl FnMut(&[Option<Litres>]) -> f64,
) -> Shares {
    let mut fuel_stops = problem.fuel_stops.iter().flatten();
    let is_convex = fuel_stops.all(|fuel_stop| fuel_stop.detour == Usage::NONE);
    // The part that a meeting has at first, by whether it is the last of so many.
    let mut searched = |part: fn(bool, usize) -> f64| {
        let mut begun = supplies(problem);
        for places in meetings {
            for (at, &place) in places.iter().enumerate() {
                let part = part(at + 1 == places.len(), places.len());
                begun[place] = begun[place].map(|supply| supply * part);
            }
        }
        let mut search = Search {
            least: cost(&begun),
            shares: begun,
            cost: &mut cost,
            is_convex,
            looks_left: most_work / 2 / problem.fuel_stops.len(),
        };
        let cut = search.exchange_all(meetings).is_err();
        let shares = Shares {
            litres: search.shares,
            cut,
        };
        (search.least, shares)
    };
    // A litre taken early has to be carried, so the last has all; should the search rest short of the best from
    // there, it may not from equal shares.
    let late = searched(|last, _| f64::from(u8::from(last)));
    let even = searched(|_, meetings| 1.0 / meetings as f64);
    if even.0 < late.0 - 1e-9 {
        even.1
    } else {
        late.1
    }
}

impl Problem {
    /// The shares of limited fuel stops with which the least fuel in cans is needed.
    pub(super) fn shares(&self) -> Shares {
        let meetings = meetings(self);
        if meetings.is_empty() {
            return Shares {
                litres: supplies(self),
                cut: false,
            };
        }
        // What is lost in decanting comes in whole cans and would make steps; it is left out of the search.
        let smooth = Self {
            cans: Vec::new(),
            ..self.clone()
        };
        best(&smooth, &meetings, MOST_WORK, |shares| smooth.cost(shares))
    }

    /// Litres in cans, and a little of what the start requires.
    fn cost(&self, shares: &[Option<Litres>]) -> f64 {
        let mut at_start = Litres::ZERO;
        let in_cans = self.back_from_the_finish(shares, OffRoute::WhereItHelps, |_, step| {
            at_start = step.arrival;
        });
        in_cans.get() + OF_START * at_start.get()
    }
}

/// There were more exchanges to be tried than may be.
struct TooMany;

/// A search for the best shares.
struct Search<'a, C> {
    shares: Vec<Option<Litres>>,
    cost: &'a mut C,
    /// What these shares cost.
    least: f64,
    /// Whether the cost is known to be convex: fuel stops off the route are skipped where that costs less.
    is_convex: bool,
    /// How many shares may still be looked at.
    looks_left: usize,
}

impl<C: FnMut(&[Option<Litres>]) -> f64> Search<'_, C> {
    /// Exchanges between meetings until none helps.
    fn exchange_all(&mut self, meetings: &[Vec<usize>]) -> Result<(), TooMany> {
        for _ in 0..ROUNDS {
            let before = self.least;
            for places in meetings {
                for (at, &one) in places.iter().enumerate() {
                    for &other in &places[at + 1..] {
                        self.exchange([one, other])?;
                    }
                }
            }
            if before - self.least < 1e-9 {
                break;
            }
        }
        Ok(())
    }

    /// Shares out anew what two meetings have together.
    fn exchange(&mut self, [one, other]: [usize; 2]) -> Result<(), TooMany> {
        let share = |place: usize| self.shares[place].unwrap_or_default();
        let (had, both) = (share(one), share(one) + share(other));
        let golden = (5.0_f64.sqrt() - 1.0) / 2.0;
        let mut trial = self.shares.clone();
        let mut cost_with = |of_one: f64| {
            self.looks_left = self.looks_left.checked_sub(1).ok_or(TooMany)?;
            trial[one] = Some(Litres::new(of_one));
            trial[other] = Some(both - Litres::new(of_one));
            Ok((self.cost)(&trial))
        };
        if self.is_convex {
            // Where neither a drop more nor a drop less costs less, nothing does.
            let more = cost_with((had + ROUNDING).min(both).get())?;
            let fewer = cost_with((had - ROUNDING).max(Litres::ZERO).get())?;
            if more >= self.least && fewer >= self.least {
                return Ok(());
            }
        }
        let (mut low, mut high) = (0.0, both.get());
        let (mut left, mut right) = (high - golden * high, golden * high);
        let (mut cost_left, mut cost_right) = (cost_with(left)?, cost_with(right)?);
        for _ in 0..STEPS {
            if cost_left <= cost_right {
                (high, right, cost_right) = (right, left, cost_left);
                left = high - golden * (high - low);
                cost_left = cost_with(left)?;
            } else {
                (low, left, cost_left) = (left, right, cost_right);
                right = low + golden * (high - low);
                cost_right = cost_with(right)?;
            }
        }
        // The ends are tried too, since the search only closes in on them.
        let mut best = (self.least, had.get());
        for of_one in [0.0, f64::midpoint(low, high), both.get()] {
            let cost = cost_with(of_one)?;
            if cost < best.0 {
                best = (cost, of_one);
            }
        }
        let (least, of_one) = best;
        if least < self.least {
            self.least = least;
            self.shares[one] = Some(Litres::new(of_one));
            self.shares[other] = Some(both - Litres::new(of_one));
        }
        Ok(())
    }
}
