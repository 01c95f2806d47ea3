//! What each fuel stop costs that is dry, and the one on which the trip hangs.

use crate::quantity::Litres;
use crate::solver::fuel::{POUR_LOSS, ROUNDING};

use crate::plan::answers::dry::{DryAt, DryPair, DryStop, DryStops, MoreCans};
use crate::plan::kept::what_if_dry::WhatIfDry;
use crate::plan::parts::Plan;

/// Places that are worked out anew at most for one plan; beyond that the rest is left out, and said to be. Chosen, no
/// source: some seconds' work.
pub(super) const MOST_STEPS: usize = 50_000_000;

impl Plan {
    /// What if a pump is dry or a can is lost; computed when first asked for.
    pub fn dry(&self) -> &DryStops {
        self.answers
            .dry
            .get_or_init(|| self.kept.what_if_dry.each(&self.found_dry))
    }

    /// What if two pumps are dry: the pair that costs most, where there are two; computed when first asked for.
    pub fn dry_pair(&self) -> Option<&DryPair> {
        self.answers
            .dry_pair
            .get_or_init(|| self.kept.what_if_dry.worst_pair(&self.dry().stops))
            .as_ref()
    }
}

impl WhatIfDry {
    /// So many more cans when the trip needs so much, pouring losses included.
    pub(super) fn more_cans(&self, needed: Litres) -> Option<MoreCans> {
        let [size, fill] = self.largest?;
        let missing = needed - self.carried - ROUNDING;
        let gives = fill - POUR_LOSS;
        let count = if missing > Litres::ZERO && gives > Litres::ZERO {
            (missing / gives).ceil()
        } else {
            0.0
        };
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "not negative, and a cast keeps within what the type holds"
        )]
        let count = count as u32;
        Some(MoreCans { count, size })
    }

    /// What each stop costs that is found dry, and a can lost.
    fn each(&self, found: &[DryAt]) -> DryStops {
        let mut answer = DryStops {
            can_lost: self.can_lost(),
            shared_as_planned: self.plain.is_shared() && !self.plain.shares_anew(),
            ..DryStops::default()
        };
        let mut steps = 0;
        for at in found {
            if steps > MOST_STEPS {
                answer.cut = true;
                break;
            }
            let (spare, plain) = self.plain.spare_without(&at.nodes);
            let (needed, poured) = self.poured.spare_without(&at.nodes);
            steps += plain + poured;
            answer.stops.push(DryStop {
                spare,
                more: self.more_cans(needed),
                at: at.clone(),
            });
        }
        answer.hangs_on = self.hangs_on(&answer.stops);
        answer
    }

    /// The stop that leaves neither way out and lacks most for the easier one; failing that, the one that costs
    /// most.
    fn hangs_on(&self, stops: &[DryStop]) -> Option<usize> {
        let strands = (0..stops.len())
            .filter(|&stop| stops[stop].at.strands())
            .min_by(|&a, &b| {
                let (a, b) = (stops[a].at.best(), stops[b].at.best());
                a.get().total_cmp(&b.get())
            });
        let costs = || {
            (0..stops.len())
                .filter(|&stop| stops[stop].spare > self.plain.need().spare + ROUNDING)
                .max_by(|&a, &b| {
                    let (a, b) = (stops[a].spare, stops[b].spare);
                    a.get().total_cmp(&b.get())
                })
        };
        strands.or_else(costs)
    }
}
