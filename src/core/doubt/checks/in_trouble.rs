//! A fuel stop without fuel, a can lost: how simulated trips end that continue all the same, and that return.
//!
//! Counted are the trips that come there, with nobody turned back before. Continuing leads to the next refuge with what
//! the plan takes at limited fuel stops; returning leads over the same legs to the refuge behind. No fuel stop that is
//! not relied on helps.

use super::dry::Dry;
use super::fitted::FuelChecks;
use super::obeyed::on_board_at_point;
use super::route::{CheckRoute, Reserve, add_detour};
use crate::doubt::driven::{Driven, Instructions, driven_over};
use crate::doubt::returns::Point;
use crate::doubt::study::{AtStops, Drawn, FirstDriven};
use crate::doubt::tally::Odds;
use crate::doubt::world::Block;
use crate::doubt::{BLOCK, Lane};
use crate::quantity::{Litres, Share};
use crate::solver::fuel::{Need, Problem, ROUNDING};

/// Of the trips that run out, returning must save more than so many standard errors to be distinguished from
/// continuing.
const TOLD_APART: f64 = 2.0;

/// How trips end that take one action.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ends {
    /// There with the reserve intact.
    pub reserve_intact: Odds,
    /// There having used some of it.
    pub using_reserve: Odds,
    /// Out of fuel on the route.
    pub ran_out: Odds,
}

/// What a driver in trouble can do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Action {
    /// To the next refuge.
    Continue,
    /// To the refuge behind.
    Return,
}

/// How trips end in trouble.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InTrouble {
    /// How many simulated trips come there.
    pub trips: usize,
    /// Shares of the trips that continue.
    pub on: Ends,
    /// Those that return; `None` if there is no return.
    pub back: Option<Ends>,
}

impl InTrouble {
    /// What is recommended: continue if at most one in twenty runs out; otherwise what runs out less, if they differ by
    /// more than their sampling errors; otherwise return.
    pub fn recommended(&self) -> Action {
        let on = self.on.ran_out;
        let Some(back) = self.back.map(|back| back.ran_out) else {
            return Action::Continue;
        };
        let apart = TOLD_APART * on.error.get().hypot(back.error.get());
        if on.share.get() <= 0.05 || on.share.get() + apart < back.share.get() {
            Action::Continue
        } else {
            Action::Return
        }
    }
}

/// Something that goes wrong.
#[derive(Clone, Debug)]
pub struct Trouble {
    /// Where the driver finds it out: a leg, and the part of it that is driven.
    pub(crate) at: Point,
    /// The places of fuel stops that have no fuel.
    pub(crate) dry: Vec<usize>,
    /// Litres that are lost.
    pub(crate) lost: Litres,
}

#[derive(Default)]
struct Counts {
    trips: usize,
    on: [usize; 3],
    back: [usize; 3],
    may_return: bool,
}

impl Drawn {
    /// How the first simulated trips end in trouble, as they were driven until there.
    pub(crate) fn in_trouble(
        &self,
        first: &FirstDriven,
        instructions: Instructions<'_>,
        trouble: &Trouble,
    ) -> InTrouble {
        self.ends_in_trouble(
            first.card().checks(),
            instructions,
            trouble,
            first.kept(),
            |number, _| std::borrow::Cow::Borrowed(first.block(number, AtStops::Fuel)),
        )
    }

    /// How trips end in trouble that are driven again until there, under other instructions.
    pub(crate) fn in_trouble_driven(
        &self,
        checks: &FuelChecks,
        instructions: Instructions<'_>,
        trouble: &Trouble,
        blocks: usize,
    ) -> InTrouble {
        self.ends_in_trouble(checks, instructions, trouble, blocks, |_, block| {
            std::borrow::Cow::Owned(driven_over(instructions, trouble.at.0 + 1, block))
        })
    }

    fn ends_in_trouble<'a>(
        &self,
        checks: &FuelChecks,
        instructions: Instructions<'_>,
        trouble: &Trouble,
        blocks: usize,
        driven: impl Fn(usize, &Block) -> std::borrow::Cow<'a, Driven> + Sync + Send,
    ) -> InTrouble {
        let without = Without::new(
            instructions.problem,
            instructions.need,
            checks.route(),
            &trouble.dry,
        );
        let counts = self.over(blocks, |number, block| {
            without.counted(instructions, trouble, block, &driven(number, block))
        });
        let all = counts.iter().fold(Counts::default(), |mut all, more| {
            all.trips += more.trips;
            all.may_return |= more.may_return;
            for (sum, of) in all.on.iter_mut().zip(more.on) {
                *sum += of;
            }
            for (sum, of) in all.back.iter_mut().zip(more.back) {
                *sum += of;
            }
            all
        });
        let ends = |of: [usize; 3]| Ends {
            reserve_intact: Odds::from_count(of[0], all.trips),
            using_reserve: Odds::from_count(of[1], all.trips),
            ran_out: Odds::from_count(of[2], all.trips),
        };
        InTrouble {
            trips: all.trips,
            on: ends(all.on),
            back: all.may_return.then(|| ends(all.back)),
        }
    }
}

/// The trip without the fuel of some places.
struct Without {
    dry: Dry,
    /// The trip without reserve, for what a return uses of it.
    bare: Problem,
}

impl Without {
    fn new(problem: &Problem, need: &Need, route: &CheckRoute, dry: &[usize]) -> Self {
        let dry = Dry::new(problem, need, route, dry);
        Self {
            bare: Problem {
                reserve: vec![Litres::ZERO; problem.reserve.len()],
                ..dry.problem.clone()
            },
            dry,
        }
    }

    fn back(
        &self,
        problem: &Problem,
        instructions: Instructions<'_>,
        at: Point,
        block: &Block,
    ) -> Lane {
        let ways = self.dry.route.returns(problem, instructions.legs);
        ways.needed_at(block, at)
    }

    fn counted(
        &self,
        instructions: Instructions<'_>,
        trouble: &Trouble,
        block: &Block,
        driven: &Driven,
    ) -> Counts {
        let course = self.dry.course(instructions.legs);
        let (leg, part) = trouble.at;
        let is_at_place = part >= Share::new(1.0);
        // The detour to a fuel stop without fuel is driven both ways.
        let to_no_avail = |mut lane: Lane| {
            let is_dry = is_at_place && trouble.dry.contains(&(leg + 1));
            if is_dry
                && let Some(stop) = instructions
                    .problem
                    .fuel_stops
                    .get(leg + 1)
                    .copied()
                    .flatten()
            {
                add_detour(stop.detour, leg + 1, &mut lane, block);
            }
            lane
        };
        let needed = |reserve| {
            if is_at_place {
                course.needed_at_place(leg + 1, block, reserve)
            } else {
                course.needed_at((leg, part), block, reserve)
            }
        };
        let on = [Reserve::Intact, Reserve::Used].map(|reserve| to_no_avail(needed(reserve)));
        let back = [&self.dry.problem, &self.bare]
            .map(|problem| to_no_avail(self.back(problem, instructions, trouble.at, block)));
        let on_board = on_board_at_point(instructions, trouble.at, block, driven);
        let mut counts = Counts {
            may_return: back[1].iter().any(|litres| litres.is_finite()),
            ..Counts::default()
        };
        for trip in 0..BLOCK {
            if !on_board[trip].is_finite() || on_board[trip] < 0.0 {
                continue;
            }
            let in_cans = driven.in_cans(leg).map_or(0.0, |lane| lane[trip]);
            let in_cans = (Litres::new(in_cans) - trouble.lost).max(Litres::ZERO);
            let on_board = on_board[trip]
                - trouble.lost.get()
                - instructions.problem.lost_in_decanting(in_cans).get();
            counts.trips += 1;
            for (ends, needed) in [(&mut counts.on, &on), (&mut counts.back, &back)] {
                // What is no number no amount is enough for.
                let is_enough = |litres: f64| on_board >= litres - ROUNDING.get();
                let end = if is_enough(needed[0][trip]) {
                    0
                } else if is_enough(needed[1][trip]) {
                    1
                } else {
                    2
                };
                ends[end] += 1;
            }
        }
        counts
    }
}
