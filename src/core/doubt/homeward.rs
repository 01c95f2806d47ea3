//! Going back, in the samples: what it takes, and the last point from which it can be done.

use std::ops::Range;

use crate::consumption::usage::Usage;
use crate::quantity::{Factor, Kilometres, Litres, Share};
use crate::solver::turn_back::{OutAndBack, last_on};

use super::driven::Driven;
use super::returns::Returns;
use super::study::{AtStops, Drawn, FEW_BLOCKS, FirstDriven};
use super::tally::index_of;
use super::world::Block;
use super::{BLOCK, Lane};

/// Blocks that settle a turn-back point: the share that can go back from there to a third of a per cent.
const ENOUGH: usize = 2 * FEW_BLOCKS;

/// The last point from which a trip can go back.
#[derive(Clone, Copy, Debug)]
struct LastPoint {
    /// A kilometre from which it can; less than any if it cannot from anywhere.
    from: f64,
    /// How long the leg is that begins there, if the point is on it; with what it takes to find the point.
    on_leg: Option<(Kilometres, OutAndBack, Litres)>,
}

impl LastPoint {
    const NONE: Self = Self {
        from: f64::NEG_INFINITY,
        on_leg: None,
    };

    fn kilometre(&self) -> f64 {
        let point = self.on_leg.and_then(|(length, way, needed)| {
            let point = last_on(way, way.at_its_start(needed))?;
            Some(self.from + length.get() * point.part.get())
        });
        point.unwrap_or(self.from)
    }

    /// The kilometre up to which a share of the trips cannot go back any more; `None` if it cannot from anywhere. The
    /// points themselves are sought only on the leg where that is.
    fn quantile(points: &[&Self], share: Share) -> Option<Kilometres> {
        let mut from: Vec<f64> = points.iter().map(|point| point.from).collect();
        let index = index_of(share.get() * from.len() as f64, from.len());
        if index >= from.len() {
            return None;
        }
        let at = *from.select_nth_unstable_by(index, f64::total_cmp).1;
        let before = points.iter().filter(|point| point.from < at).count();
        let there = points
            .iter()
            .filter(|point| point.from.total_cmp(&at).is_eq());
        let mut there: Vec<f64> = there.map(|point| point.kilometre()).collect();
        let (_, found, _) = there.select_nth_unstable_by(index - before, f64::total_cmp);
        found.is_finite().then(|| Kilometres::new(*found))
    }
}

impl Returns<'_> {
    /// A leg the other way in a sample.
    fn back(&self, leg: usize, block: &Block, sample: usize) -> Option<Usage> {
        let (factor, idling) = (block.back[leg][sample], block.idling[sample]);
        Some(self.back[leg]?.scaled(
            Factor::new(factor),
            self.legs[leg].idle(),
            Factor::new(idling),
        ))
    }

    /// The last kilometre of each stage, given by its first and last place, from which a refuge behind can be reached
    /// in a share of the trips with the reserve intact, after what the plan fills. `km` are the kilometres of the
    /// places. `None` where even its first place is too far.
    pub(crate) fn turn_backs(
        &self,
        drawn: &Drawn,
        (first, at_stops): (&FirstDriven, AtStops),
        stages: &[(usize, usize)],
        km: &[Kilometres],
        share: Share,
    ) -> Vec<Option<Kilometres>> {
        let blocks = drawn.over(first.kept().min(ENOUGH), |number, block| {
            let (home, driven) = (self.home(block), first.block(number, at_stops));
            let last = |&(from, to): &(usize, usize)| {
                self.last_points(block, driven, &home[from], from..to, km)
            };
            stages.iter().map(last).collect::<Vec<Vec<LastPoint>>>()
        });
        let last = |at: usize| {
            let trips: Vec<&LastPoint> = blocks.iter().flat_map(|points| &points[at]).collect();
            LastPoint::quantile(&trips, Share::new(1.0 - share.get()))
        };
        (0..stages.len()).map(last).collect()
    }

    /// The last points of a stage from which each sample can go back to its first place and be there with what is
    /// `needed`.
    fn last_points(
        &self,
        block: &Block,
        driven: &Driven,
        needed: &Lane,
        legs: Range<usize>,
        km: &[Kilometres],
    ) -> Vec<LastPoint> {
        let (mut last, mut needed) = (vec![LastPoint::NONE; BLOCK], *needed);
        // Which samples can go back from everywhere so far.
        let mut can = [true; BLOCK];
        for leg in legs.clone() {
            let [from, to] = [km[leg], km[leg + 1]];
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
                let point = &mut last[sample];
                point.from = from.get();
                if there_is.is_none() {
                    continue;
                }
                if (start - out.litres(start)).get() >= needed_at_end[sample] {
                    point.from = to.get();
                    continue;
                }
                can[sample] = false;
                let back = self.back(leg, block, sample);
                let way = OutAndBack { out, back, start };
                point.on_leg = Some((to - from, way, needed));
            }
            if there_is.is_none() {
                break;
            }
            needed = needed_at_end;
        }
        last
    }

    /// A leg as a sample drives it, and what may be burnt; `None` if it does not come there.
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
        // What decanting the cans will lose is not there to burn.
        Some((out, start - self.problem.lost_in_decanting(in_cans)))
    }
}
