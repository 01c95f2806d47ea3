//! A smaller set in the place of one that holds more than is needed.

use crate::plan::trial::Trial;
use crate::quantity::Litres;
use crate::solver::cans::{self, Holding};
use crate::solver::fuel::ROUNDING;

use super::{Roof, Search};

/// Sets that are tried in place of one that holds more than is needed.
const MOST_SMALLER: usize = 4;

impl Search<'_> {
    /// The set, or a smaller one if a can of it could stay at home: with other cans the checks may require less.
    pub(super) fn without_idle_can(&mut self, trial: Trial) -> Trial {
        if !self.has_idle_can(&trial) {
            return trial;
        }
        let smaller = self.no_more_than_needed(trial);
        self.without_smallest_cans(smaller)
    }

    /// The set without its smallest cans, one after the other, as long as what remains covers its need. The few sets
    /// that are tried in the place of a large one may all be too small.
    fn without_smallest_cans(&mut self, mut trial: Trial) -> Trial {
        while self.has_idle_can(&trial) {
            let mut cans = trial.loadout.cans.clone();
            // The last of equal cans is in the place that is liked least.
            let smallest = (0..cans.len())
                .rev()
                .min_by(|&a, &b| cans[a].fill.get().total_cmp(&cans[b].fill.get()));
            let Some(at) = smallest else { break };
            cans[at].count -= 1;
            cans.retain(|set| set.count > 0);
            if self.too_small.contains(&cans) {
                break;
            }
            let estimate = self.tries.estimate(cans);
            let fewer = self.tries.at_target(estimate);
            if !fewer.covers() {
                break;
            }
            trial = fewer;
        }
        trial
    }

    /// The first set that holds what a larger one needs, where that one covers it: a search that was cut short ends
    /// with the largest set, with cans that would never be filled. Where the larger set is within the limits, so is the
    /// other.
    pub(super) fn no_more_than_needed(&mut self, larger: Trial) -> Trial {
        if !larger.covers() {
            return larger;
        }
        let must_fit = self.is_within(&larger);
        let start_cans = self.tries.facts.trip.rules().start_cans();
        let wanted = Holding {
            least: larger.need.in_cans.max(start_cans),
            ..self.wanted
        };
        let mut tries = 0;
        for roof in Roof::BOTH {
            for count in 1..cans::count(&larger.loadout.cans) {
                let Some(batches) = self.batches(count, roof, wanted) else {
                    return larger;
                };
                for batch in batches.into_iter().flatten() {
                    let estimate = self.tries.estimate(self.stock.in_first_places(&batch));
                    let is_too_small = self.too_small.contains(&estimate.loadout.cans);
                    if is_too_small || must_fit && self.within(&estimate, &batch).is_none() {
                        continue;
                    }
                    if tries == MOST_SMALLER {
                        return larger;
                    }
                    tries += 1;
                    let trial = self.tries.at_target(estimate);
                    let within = self.within(&trial, &batch);
                    match within {
                        _ if !trial.covers() => {}
                        Some(set) => {
                            let smaller = self.arranged(trial, set);
                            return self.without_idle_can(smaller);
                        }
                        None if must_fit => {}
                        None => return self.without_idle_can(trial),
                    }
                }
            }
        }
        larger
    }

    /// Whether the smallest can could stay at home: the others hold what is needed and what is in cans at the start.
    fn has_idle_can(&self, trial: &Trial) -> bool {
        let start_cans = self.tries.facts.trip.rules().start_cans();
        let least = trial.need.in_cans.max(start_cans);
        let fills = trial.loadout.cans.iter().map(|cans| cans.fill);
        let smallest = fills.reduce(Litres::min);
        smallest.is_some_and(|smallest| trial.loadout.fill - smallest > least + ROUNDING)
    }
}
