//! How the one supply of a limited pump is shared out among the meetings with it.
//!
//! What is required anywhere is convex in the shares: it is made of sums, maxima and rising straight lines of them.
//! So the spare fuel has no false minima along any exchange between two meetings, and a golden-section search
//! finds the best exchange. Exchanges are tried in turn until none helps, from two beginnings. With one pump met twice
//! that is exact; with more meetings it may rest where only several exchanges at once would help, and then asks for
//! more spare than it must, never for less.

use crate::quantity::Litres;

use super::fuel::{OffRoute, Problem};

/// Rounds of exchanges at most.
const ROUNDS: usize = 12;
/// Halvings of a search; each keeps 0.618 of its span.
const STEPS: usize = 48;
/// What is required at the start counts this much of the spare, to decide between shares that need the same spare.
const OF_START: f64 = 1e-4;

/// The places at which each limited pump is met, for those that are met more than once.
pub(super) fn meetings(problem: &Problem) -> Vec<Vec<usize>> {
    let n = problem.legs.len();
    let mut meetings = vec![Vec::new(); problem.pump_numbers()];
    for (place, pump) in problem.pumps.iter().enumerate().take(n) {
        if let Some(pump) = pump.filter(|pump| pump.supply.is_some()) {
            meetings[pump.number].push(place);
        }
    }
    meetings.retain(|places| places.len() > 1);
    meetings
}

/// Whether the pump of a number is met no more than once on the way.
pub(super) fn met_once(problem: &Problem, number: usize) -> bool {
    let met = problem.pumps.iter().flatten();
    met.filter(|pump| pump.number == number).count() <= 1
}

/// What the pump at each place has; nothing where there is none or as much as one likes.
pub(super) fn supplies(problem: &Problem) -> Vec<Option<Litres>> {
    let pumps = problem.pumps.iter();
    pumps
        .map(|pump| pump.and_then(|pump| pump.supply))
        .collect()
}

/// The shares of the meetings at which `cost`, convex in them, is least.
pub(super) fn best(
    problem: &Problem,
    meetings: &[Vec<usize>],
    mut cost: impl FnMut(&[Option<Litres>]) -> f64,
) -> Vec<Option<Litres>> {
    // The part that a meeting has at first, by whether it is the last of so many.
    let mut searched = |part: fn(bool, usize) -> f64| {
        let mut begun = supplies(problem);
        for places in meetings {
            for (at, &place) in places.iter().enumerate() {
                let part = part(at + 1 == places.len(), places.len());
                begun[place] = begun[place].map(|supply| supply * part);
            }
        }
        let cost = exchanged(&mut begun, meetings, &mut cost);
        (cost, begun)
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
    /// The litres that each meeting may take from its pump; nothing where there is no pump or as much as one likes.
    pub(super) fn shares(&self) -> Vec<Option<Litres>> {
        let meetings = meetings(self);
        if meetings.is_empty() {
            return supplies(self);
        }
        // What is lost in pouring comes in whole cans and would make steps; it is left out of the search.
        let smooth = Self {
            cans: Vec::new(),
            ..self.clone()
        };
        best(&smooth, &meetings, |shares| smooth.cost(shares))
    }

    /// Spare litres, and a little of what the start requires.
    fn cost(&self, shares: &[Option<Litres>]) -> f64 {
        let need = self.need_with(shares, OffRoute::WhereItHelps);
        need.spare.get() + OF_START * need.arrival[0].get()
    }
}

/// Exchanges between meetings until none helps; the cost that is reached.
fn exchanged(
    shares: &mut [Option<Litres>],
    meetings: &[Vec<usize>],
    cost: &mut impl FnMut(&[Option<Litres>]) -> f64,
) -> f64 {
    let mut least = cost(shares);
    for _ in 0..ROUNDS {
        let before = least;
        for places in meetings {
            for (at, &one) in places.iter().enumerate() {
                for &other in &places[at + 1..] {
                    least = exchange(shares, [one, other], least, cost);
                }
            }
        }
        if before - least < 1e-9 {
            break;
        }
    }
    least
}

/// Shares out anew what two meetings have together; the cost that results.
fn exchange(
    shares: &mut [Option<Litres>],
    [one, other]: [usize; 2],
    least: f64,
    cost: &mut impl FnMut(&[Option<Litres>]) -> f64,
) -> f64 {
    let share = |place: usize| shares[place].unwrap_or_default();
    let (had, both) = (share(one), share(one) + share(other));
    let golden = (5.0_f64.sqrt() - 1.0) / 2.0;
    let mut trial = shares.to_vec();
    let mut cost_with = |of_one: f64| {
        trial[one] = Some(Litres::new(of_one));
        trial[other] = Some(both - Litres::new(of_one));
        cost(&trial)
    };
    let (mut low, mut high) = (0.0, both.get());
    let (mut left, mut right) = (high - golden * high, golden * high);
    let (mut cost_left, mut cost_right) = (cost_with(left), cost_with(right));
    for _ in 0..STEPS {
        if cost_left <= cost_right {
            (high, right, cost_right) = (right, left, cost_left);
            left = high - golden * (high - low);
            cost_left = cost_with(left);
        } else {
            (low, left, cost_left) = (left, right, cost_right);
            right = low + golden * (high - low);
            cost_right = cost_with(right);
        }
    }
    let middle = f64::midpoint(low, high);
    // The ends are tried too, since the search only closes in on them.
    let best = [0.0, middle, both.get()]
        .into_iter()
        .map(|of_one| (cost_with(of_one), of_one))
        .min_by(|a, b| a.0.total_cmp(&b.0));
    let (cost, of_one) = best.unwrap_or((least, had.get()));
    if cost >= least {
        return least;
    }
    shares[one] = Some(Litres::new(of_one));
    shares[other] = Some(both - Litres::new(of_one));
    cost
}
