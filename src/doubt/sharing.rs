//! How the stock of a limited fuel stop that is met again is shared out among the visits: so that the largest share of
//! the simulated trips gets through with the cans that are carried.
//!
//! At each visit the driver takes what there is room for, but leaves what later visits are to have. Best estimates would
//! give all to the last visit, which can take it; a thirsty trip needs more at the first.

use crate::quantity::{Litres, Share};
use crate::solver::fuel::{Need, Problem};

use super::study::{Drawn, FEW_BLOCKS, Policy};
use super::tally::Sorted;

/// Shares between two visits that are tried at once.
const STEPS: u32 = 8;
/// How often the span between the best share's neighbours is tried again: to a thirtieth of the stock, then finer.
const ROUNDS: u32 = 3;
/// Blocks that a share is judged by.
const BLOCKS: usize = FEW_BLOCKS;

/// What there is before anything is filled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Carried {
    /// Litres that the cans hold.
    pub in_cans: Litres,
    /// Usable litres on board at the start, or where a trip under way is.
    pub on_board: Litres,
}

/// How good a way of sharing is: trips that get through, then the fewest litres missing, or the most to spare.
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
    /// The need of a policy with limited fuel stops shared out for those who carry so much; `target` is the share of the
    /// trips that must get through.
    pub fn shared_out(&self, policy: &Policy, carried: Carried, target: Share) -> Need {
        let problem = &policy.problem;
        let meetings = problem.meetings();
        let mut best = policy.need.clone();
        let mut worth = self.worth(policy, &best, carried, target);
        for visits in &meetings {
            for (at, &one) in visits.iter().enumerate() {
                for &other in &visits[at + 1..] {
                    let had = |need: &Need, node: usize| need.allowance[node].unwrap_or_default();
                    let both = had(&best, one) + had(&best, other);
                    let (mut low, mut high) = (Litres::ZERO, both);
                    for _ in 0..ROUNDS {
                        let step = (high - low) / f64::from(STEPS);
                        for nth in 0..=STEPS {
                            let first = low + step * f64::from(nth);
                            let need = split(problem, &best, [one, other], [first, both - first]);
                            let tried = self.worth(policy, &need, carried, target);
                            if tried.beats(worth) {
                                (best, worth) = (need, tried);
                            }
                        }
                        let first = had(&best, one);
                        low = (first - step).max(Litres::ZERO);
                        high = (first + step).min(both);
                    }
                }
            }
        }
        best
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
        let missing = Sorted::of(lanes.into_iter().flatten().collect());
        Worth {
            through: missing.enough(Litres::ZERO),
            missing: missing.quantile(target),
        }
    }
}

/// The need with the stock of two visits shared out so.
fn split(problem: &Problem, need: &Need, visits: [usize; 2], litres: [Litres; 2]) -> Need {
    let mut allowance = need.allowance.clone();
    for (node, litres) in visits.into_iter().zip(litres) {
        allowance[node] = Some(litres);
    }
    problem.need_with_allowance(&allowance)
}
