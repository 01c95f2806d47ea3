//! How the stock of a limited fuel stop that is met again is shared out among the visits: so that the largest share of
//! the simulated trips gets through with the cans that are carried.
//!
//! At each visit the driver takes what there is room for, but leaves what later visits are to have. Best estimates
//! would give all to the last visit, which can take it; a thirsty trip needs more at the first. Where a stop is met
//! many times the search is cut short, and reports that.

use crate::quantity::{Litres, Share};
use crate::solver::fuel::{Need, Problem};

use super::study::{Drawn, FEW_BLOCKS, Policy};
use super::tally::Sorted;

/// Shares between two visits that are tried at once.
const STEPS: u32 = 8;
/// How often the span between the best share's neighbours is tried again: to a thirtieth of the stock, then finer.
const ROUNDS: u32 = 3;
/// Shares that are looked at for two visits.
const LOOKS_AT_PAIR: usize = (ROUNDS * (STEPS + 1)) as usize;
/// Blocks that a share is judged by.
const BLOCKS: usize = FEW_BLOCKS;
/// Places looked at at most in each of the trips: a tenth of a second. Chosen, no source.
const MOST_WORK: usize = 16_000;

/// What there is before anything is filled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Carried {
    /// Litres that the cans hold.
    pub(crate) in_cans: Litres,
    /// Usable litres on board at the start, or where a trip under way is.
    pub(crate) on_board: Litres,
}

/// How good a way of sharing is: trips that get through, then the fewest litres missing, or the largest margin.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Worth {
    through: Share,
    missing: Litres,
}

impl Worth {
    fn beats(self, other: Self) -> bool {
        if self.through == other.through {
            self.missing < other.missing
        } else {
            self.through > other.through
        }
    }
}

impl Drawn {
    /// The need of a policy with limited fuel stops shared out for those who carry so much; `target` is the share of
    /// the trips that must get through.
    pub(crate) fn shared_out(&self, policy: &Policy, carried: Carried, target: Share) -> Need {
        let mut search = Search {
            problem: &policy.problem,
            worth_of: |need: &Need| self.worth(policy, need, carried, target),
            worth: self.worth(policy, &policy.need, carried, target),
            best: policy.need.clone(),
            looks_left: MOST_WORK / policy.problem.fuel_stops.len(),
        };
        let meetings = policy.problem.meetings();
        let mut pairs: Vec<[usize; 2]> = meetings.iter().flat_map(|visits| pairs(visits)).collect();
        let cut = pairs.len() * LOOKS_AT_PAIR > search.looks_left;
        if cut {
            search.share_evenly(&meetings);
            // Best estimates know whether much is to be moved far; what is left is between neighbours.
            pairs.sort_by_key(|[one, other]| other - one);
        }
        // What one pair exchanges may make another exchange worth while.
        loop {
            let before = search.worth;
            for &pair in &pairs {
                search.exchange(pair);
            }
            if !search.worth.beats(before) || search.looks_left == 0 {
                break;
            }
        }
        Need {
            sharing_cut: cut || policy.need.sharing_cut,
            ..search.best
        }
    }

    fn worth(&self, policy: &Policy, need: &Need, carried: Carried, target: Share) -> Worth {
        let policy = Policy {
            need: need.clone(),
            ..policy.clone()
        };
        let lanes = self.over(BLOCKS, |_, block| {
            policy.missing(
                &self.world().legs,
                block,
                [carried.in_cans, carried.on_board],
            )
        });
        let missing = Sorted::from_samples(lanes.into_iter().flatten().collect());
        Worth {
            through: missing.enough(Litres::ZERO),
            missing: missing.quantile(target),
        }
    }
}

/// Every two of some visits.
fn pairs(visits: &[usize]) -> impl Iterator<Item = [usize; 2]> {
    (1..).zip(visits).flat_map(|(later, &one)| {
        let others = visits[later..].iter();
        others.map(move |&other| [one, other])
    })
}

/// A search for the best way of sharing.
struct Search<'a, W> {
    problem: &'a Problem,
    worth_of: W,
    best: Need,
    worth: Worth,
    /// How many ways may still be looked at.
    looks_left: usize,
}

impl<W: Fn(&Need) -> Worth> Search<'_, W> {
    /// Shares out anew what two visits have together.
    fn exchange(&mut self, [one, other]: [usize; 2]) {
        let before = self.best.allowance.clone();
        let had = |place_number: usize| before[place_number].unwrap_or_default();
        let both = had(one) + had(other);
        let at = if both > Litres::ZERO {
            Share::new(had(one) / both)
        } else {
            Share::ZERO
        };
        self.along(at, |part| {
            let mut allowance = before.clone();
            let first = both * part.get();
            (allowance[one], allowance[other]) = (Some(first), Some(both - first));
            allowance
        });
    }

    /// Brings the shares of all visits of each stop nearer to one another, as far as that helps.
    fn share_evenly(&mut self, meetings: &[Vec<usize>]) {
        let before = self.best.allowance.clone();
        self.along(Share::ZERO, |part| {
            let mut allowance = before.clone();
            for visits in meetings {
                let had = |&place_number: &usize| before[place_number].unwrap_or_default();
                let even = visits.iter().map(had).sum::<Litres>() / visits.len() as f64;
                for place_number in visits {
                    let had = had(place_number);
                    allowance[*place_number] = Some(had + (even - had) * part.get());
                }
            }
            allowance
        });
    }

    /// Tries the shares at parts of a line, ever nearer to the best, which is at first `at`.
    fn along(&mut self, mut at: Share, shares: impl Fn(Share) -> Vec<Option<Litres>>) {
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..ROUNDS {
            let step = (high - low) / f64::from(STEPS);
            for nth in 0..=STEPS {
                if self.looks_left == 0 {
                    return;
                }
                self.looks_left -= 1;
                let part = Share::new(low + step * f64::from(nth));
                let need = self.problem.need_with_allowance(&shares(part));
                let worth = (self.worth_of)(&need);
                if worth.beats(self.worth) {
                    (self.best, self.worth, at) = (need, worth, part);
                }
            }
            low = (at.get() - step).max(0.0);
            high = (at.get() + step).min(1.0);
        }
    }
}
