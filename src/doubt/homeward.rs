//! Going back, in the samples: what it takes, and the last point from which it can be done.

use std::ops::Range;

use crate::consumption::usage::Usage;
use crate::quantity::{Factor, Kilometres, Litres, Share};
use crate::solver::turn_back::{OutAndBack, last_on};

use super::driven::Driven;
use super::study::{Among, Drawn, FEW_BLOCKS, FirstDriven};
use super::tally::Heap;
use super::ways_back::WaysBack;
use super::world::Block;
use super::{BLOCK, Lane};

impl WaysBack<'_> {
    /// A leg the other way in a sample.
    fn back(&self, leg: usize, block: &Block, sample: usize) -> Option<Usage> {
        let (factor, idling) = (block.back[leg][sample], block.idling[sample]);
        Some(self.back[leg]?.scaled(
            Factor::new(factor),
            self.legs[leg].idle(),
            Factor::new(idling),
        ))
    }

    /// The last kilometre of each stretch, given by its first and last place, from which a refuge behind can be reached
    /// in a share of the counted trips with the reserve intact, after what the plan fills. `km` are the kilometres of the
    /// places. Nothing where even its first place is too far.
    pub fn turn_backs(
        &self,
        drawn: &Drawn,
        (first, among): (&FirstDriven, Among),
        stretches: &[(usize, usize)],
        km: &[Kilometres],
        share: Share,
    ) -> Vec<Option<Kilometres>> {
        let blocks = drawn.over(first.kept().min(FEW_BLOCKS), |number, block| {
            let (home, driven) = (self.home(block), first.block(number));
            let last = |&(from, to): &(usize, usize)| {
                self.last_kilometres(block, driven, &home[from], from..to, km)
            };
            stretches.iter().map(last).collect::<Vec<Lane>>()
        });
        let last = |at: usize| {
            let counted = blocks.iter().enumerate().flat_map(|(block, points)| {
                let trips = points[at].iter().enumerate();
                trips.filter_map(move |(trip, &last)| {
                    first.is_among(among, block, trip).then_some(last)
                })
            });
            let counted: Vec<f64> = counted.collect();
            let last = Heap::of([&counted[..]]).quantile(Share::new(1.0 - share.get()));
            // The heap knows litres alone; these are kilometres.
            last.get().is_finite().then(|| Kilometres::new(last.get()))
        };
        (0..stretches.len()).map(last).collect()
    }

    /// The last kilometre of a stretch from which each sample can go back to its first place and be there with
    /// what is `needed`; less than anything where even that is too much.
    fn last_kilometres(
        &self,
        block: &Block,
        driven: &Driven,
        needed: &Lane,
        legs: Range<usize>,
        km: &[Kilometres],
    ) -> Lane {
        let (mut last, mut needed) = ([f64::NEG_INFINITY; BLOCK], *needed);
        // Which samples can go back from everywhere so far.
        let mut can = [true; BLOCK];
        for leg in legs.clone() {
            let [from, to] = [km[leg], km[leg + 1]].map(Kilometres::get);
            let mut needed_at_end = needed;
            let there_is = self.back_over(leg, Share::new(1.0), &mut needed_at_end, block);
            for sample in 0..BLOCK {
                if !can[sample] {
                    continue;
                }
                let out = self.out(leg, block, sample, driven);
                let needed = Litres::new(needed[sample]);
                let Some((out, start)) =
                    out.filter(|(_, start)| leg > legs.start || *start >= needed)
                else {
                    can[sample] = false;
                    continue;
                };
                last[sample] = from;
                if there_is.is_none() {
                    continue;
                }
                if (start - out.litres(start)).get() >= needed_at_end[sample] {
                    last[sample] = to;
                    continue;
                }
                can[sample] = false;
                let back = self.back(leg, block, sample);
                let way = OutAndBack { out, back, start };
                if let Some(point) = last_on(way, way.at_its_start(needed)) {
                    last[sample] = from + (to - from) * point.part.get();
                }
            }
            if there_is.is_none() {
                break;
            }
            needed = needed_at_end;
        }
        last
    }

    /// A leg as a sample drives it, and what may be burnt; nothing where it does not come there.
    fn out(
        &self,
        leg: usize,
        block: &Block,
        sample: usize,
        driven: &Driven,
    ) -> Option<(Usage, Litres)> {
        let start = driven.start(leg, sample)?;
        let in_cans = Litres::new(driven.in_cans(leg)?[sample]);
        let (factor, idling) = (
            block.driving(leg, sample),
            Factor::new(block.idling[sample]),
        );
        let out = self.problem.legs[leg].scaled(factor, self.legs[leg].idle(), idling);
        // What pouring the cans will lose is not there to burn.
        Some((out, start - self.problem.lost_in_pouring(in_cans)))
    }
}
