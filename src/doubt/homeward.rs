//! Going back, in the samples: what it takes, and the last point from which it can be done.

use crate::consumption::usage::Usage;
use crate::quantity::{Factor, Kilometres, Litres, Share};
use crate::solver::fuel::Problem;
use crate::solver::turn_back::{OutAndBack, last_point, needed_back};

use super::driven::{Driven, Instructions, driven};
use super::study::Drawn;
use super::tally::Heap;
use super::world::{Block, LegDoubt};
use super::{BLOCK, study::FIRST_BLOCKS};

/// Blocks that are asked: each sample is driven there and back.
pub const BLOCKS: usize = FIRST_BLOCKS / 4;

/// The ways back of a trip.
#[derive(Clone, Copy, Debug)]
pub struct WaysBack<'a> {
    /// The trip with everything at its likely value.
    pub problem: &'a Problem,
    /// What cannot be known of the legs.
    pub legs: &'a [LegDoubt],
    /// Each leg the other way; nothing where it cannot be driven.
    pub back: &'a [Option<Usage>],
    /// Whether each place is a refuge.
    pub refuge: &'a [bool],
    /// Where the trip begins past a place, that place with the way back to it.
    pub aside: Option<(usize, Usage)>,
}

/// A point of the way: a leg (from 0) and a part of it.
pub type Point = (usize, Share);

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

    /// Litres needed at each place to be back at the nearest refuge behind it with the reserve, with everything at its
    /// likely value.
    pub fn likely_home(&self) -> Vec<Option<Litres>> {
        self.home_by(|leg| self.back[leg], |_| Factor::new(1.0))
    }

    /// The same in a sample.
    fn home(&self, block: &Block, sample: usize) -> Vec<Option<Litres>> {
        self.home_by(
            |leg| self.back(leg, block, sample),
            |leg| block.driving(leg, sample),
        )
    }

    fn home_by(
        &self,
        back: impl Fn(usize) -> Option<Usage>,
        detour: impl Fn(usize) -> Factor,
    ) -> Vec<Option<Litres>> {
        let mut home: Vec<Option<Litres>> = Vec::with_capacity(self.refuge.len());
        for (node, &refuge) in self.refuge.iter().enumerate() {
            let needed = if refuge {
                let reserve = self.problem.reserve[node];
                Some(self.problem.pumps[node].map_or(reserve, |pump| {
                    let factor = detour(node.saturating_sub(1));
                    let detour = pump.detour.scaled(factor, Litres::ZERO, factor);
                    detour.needed_for(reserve, Share::ZERO)
                }))
            } else {
                let behind = home.last().copied().flatten();
                behind.and_then(|behind| needed_back(back(node - 1), behind))
            };
            let needed = match self.aside {
                // Over the ground of the leg that was begun, so with its factor.
                Some((at, back)) if at == node => {
                    let factor = detour(node.min(self.refuge.len().saturating_sub(2)));
                    needed.and_then(|needed| {
                        needed_back(Some(back.scaled(factor, Litres::ZERO, factor)), needed)
                    })
                }
                _ => needed,
            };
            home.push(needed);
        }
        home
    }

    /// Litres that are enough, in a share of the samples, to go back from each of some points; what pouring loses is
    /// left out. Nothing where one cannot go back.
    pub fn enough(&self, drawn: &Drawn, points: &[Point], share: Share) -> Vec<Option<Litres>> {
        let blocks = drawn.over(BLOCKS, |block| {
            let mut needed = vec![Vec::with_capacity(BLOCK); points.len()];
            for sample in 0..BLOCK {
                let home = self.home(block, sample);
                for (needed, &(leg, part)) in needed.iter_mut().zip(points) {
                    let back = self.back(leg, block, sample).map(|back| back.part(part));
                    needed.extend(home[leg].and_then(|home| needed_back(back, home)));
                }
            }
            needed
        });
        (0..points.len())
            .map(|at| {
                let samples = blocks.iter().flat_map(|needed| &needed[at]);
                let samples: Vec<f64> = samples.map(|litres| litres.get()).collect();
                (!samples.is_empty()).then(|| Heap::of(samples).quantile(share))
            })
            .collect()
    }

    /// The last kilometre of each stretch, given by its first and last place, from which a refuge behind can be reached
    /// in a share of the samples with the reserve untouched. `km` are the kilometres of the places. Nothing where even
    /// its first place is too far.
    pub fn turn_backs(
        &self,
        drawn: &Drawn,
        told: Instructions<'_>,
        stretches: &[(usize, usize)],
        km: &[Kilometres],
        share: Share,
    ) -> Vec<Option<Kilometres>> {
        let blocks = drawn.over(BLOCKS, |block| {
            let mut points = vec![Vec::with_capacity(BLOCK); stretches.len()];
            driven(told, block, |sample, driven| {
                let home = self.home(block, sample);
                for (points, &(from, to)) in points.iter_mut().zip(stretches) {
                    let point = home[from].and_then(|needed| {
                        last_point(self.out_and_back(driven, block, sample, from..to), needed)
                    });
                    points.push(point.map_or(f64::NEG_INFINITY, |point| {
                        let leg = from + point.leg;
                        let (start, end) = (km[leg], km[leg + 1]);
                        (start + (end - start) * point.part.get()).get()
                    }));
                }
            });
            points
        });
        (0..stretches.len())
            .map(|at| {
                let samples = blocks.iter().flat_map(|points| points[at].iter().copied());
                let last = Heap::of(samples.collect()).quantile(Share::new(1.0 - share.get()));
                // The heap knows litres alone; these are kilometres.
                last.get().is_finite().then(|| Kilometres::new(last.get()))
            })
            .collect()
    }

    fn out_and_back(
        &self,
        driven: &Driven,
        block: &Block,
        sample: usize,
        legs: std::ops::Range<usize>,
    ) -> impl Iterator<Item = OutAndBack> {
        let idling = Factor::new(block.idling[sample]);
        legs.map_while(move |leg| {
            let run = driven.legs.get(leg)?;
            let factor = block.driving(leg, sample);
            Some(OutAndBack {
                out: self.problem.legs[leg].scaled(factor, self.legs[leg].idle(), idling),
                back: self.back(leg, block, sample),
                // What pouring the cans will lose is not there to burn.
                start: run.start - self.problem.lost_in_pouring(run.start_cans),
            })
        })
    }
}
