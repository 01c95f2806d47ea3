//! What a reading under way requires: with how much read off to continue, and with how much to return.
//!
//! The reading may be off, so what is needed is compared with the litres that were read, each simulated trip with an
//! error of its own; nothing is deducted on top. What is known of the vehicle from the driven part is in the simulated
//! trips already. Who is at a fuel stop may fill first, to continue and to return.
//!
//! While a return from the next check is possible, nothing is lost by continuing to it. But a check is at the turn-back
//! point of the fuel that was read, so one could always continue so far; who has less than leads even 5 of 100 to the
//! next refuge gains nothing by it.

use super::conditional::LEVEL;
use super::fitted::FuelChecks;
use super::route::{Course, Reserve};
use crate::doubt::returns::{Point, Returns};
use crate::doubt::study::{Drawn, FIRST_BLOCKS};
use crate::doubt::tally::UnsortedSamples;
use crate::doubt::world::Block;
use crate::doubt::{BLOCK, Lane};
use crate::quantity::{Litres, Share};
use crate::solver::fuel::{Need, Problem};

/// With what leads no more than this share of the trips to the next refuge there is no point in driving to another
/// check.
const HARDLY: Share = Share::new(1.0 - LEVEL.get());

/// Litres to be read off where a trip under way is now.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct NowFigures {
    /// To continue without filling here; `None` if no amount is enough.
    pub(crate) continue_with: Option<Litres>,
    /// To continue once tank and cans are filled here as planned; `None` if nothing can be had here.
    pub(crate) continue_filling: Option<Litres>,
    /// To return to the refuge behind with the reserve intact, once everything is filled here that can be; `None` if
    /// there is no return.
    pub(crate) return_with: Option<Litres>,
}

impl Drawn {
    /// The figures where a trip under way is now.
    pub(crate) fn now(
        &self,
        (problem, need): (&Problem, &Need),
        checks: &FuelChecks,
    ) -> NowFigures {
        let here = Here::new(self, (problem, need), checks);
        let blocks = self.over(FIRST_BLOCKS, |_, block| here.needed(block));
        let enough = |lane: fn(&NeededHere) -> Option<&Lane>, share: Share| {
            let lanes: Option<Vec<&[f64]>> = blocks
                .iter()
                .map(|needed| lane(needed).map(Lane::as_slice))
                .collect();
            let litres = UnsortedSamples::from_parts(lanes?).quantile(share);
            (litres.get() < f64::INFINITY).then(|| litres.max(Litres::ZERO))
        };
        let continuing = |finish, look_ahead| {
            let on = enough(finish, LEVEL);
            let hardly = enough(finish, HARDLY);
            let ahead = enough(look_ahead, LEVEL).zip(hardly);
            let ahead = ahead.map(|(ahead, hardly)| ahead.max(hardly));
            match (on, ahead) {
                (Some(on), Some(ahead)) => Some(on.min(ahead)),
                (on, ahead) => on.or(ahead),
            }
        };
        NowFigures {
            continue_with: continuing(
                |needed| Some(&needed.finish),
                |needed| needed.look_ahead.as_ref(),
            ),
            continue_filling: continuing(
                |needed| needed.finish_filling.as_ref(),
                |needed| needed.look_ahead_filling.as_ref(),
            ),
            return_with: enough(|needed| Some(&needed.back), LEVEL),
        }
    }
}

/// Litres to be read off where a trip under way is now, over the simulated trips of a block.
struct NeededHere {
    /// To reach the next refuge without filling here.
    finish: Lane,
    finish_filling: Option<Lane>,
    /// To drive to the next check and to return from there; `None` if that check decides nothing.
    look_ahead: Option<Lane>,
    look_ahead_filling: Option<Lane>,
    /// To return over the same legs.
    back: Lane,
}

/// Where a trip under way is now.
struct Here<'a> {
    course: Course<'a>,
    place_number: usize,
    /// The first check ahead, as long as it decides.
    look_ahead: Option<Point>,
    /// The refuges behind; the present place is none, since returning there is no way out.
    behind: Vec<bool>,
}

impl<'a> Here<'a> {
    fn new(
        drawn: &'a Drawn,
        (problem, need): (&'a Problem, &'a Need),
        checks: &'a FuelChecks,
    ) -> Self {
        let route = checks.route();
        let decides = |row: &&super::fitted::Fitted| row.kind.decides() && !row.is_full_fill();
        let mut behind = route.refuge.clone();
        behind[route.from] &= route.aside.is_some();
        Self {
            course: Course {
                problem,
                need,
                legs: &drawn.world().legs,
                route,
            },
            place_number: route.from,
            look_ahead: checks
                .rows
                .first()
                .filter(decides)
                .and(route.points.first())
                .copied(),
            behind,
        }
    }

    fn returns(&self, refuge: &'a [bool]) -> Returns<'a> {
        let course = self.course;
        Returns {
            refuge,
            ..course.route.returns(course.problem, course.legs)
        }
    }

    fn needed(&'a self, block: &Block) -> NeededHere {
        let (course, place_number) = (&self.course, self.place_number);
        let read = |lane: Lane| as_read(&lane, block);
        let filling = |lane: &Lane| course.needed_before_filling(place_number, lane, block);
        let finish = course.needed_at((place_number, Share::ZERO), block, Reserve::Used);
        let look_ahead = self.look_ahead.map(|point| {
            let ways = self.returns(&course.route.refuge);
            let mut lane = ways.needed_at(block, point);
            course.add_first_part(point, &mut lane, block);
            lane
        });
        let back = self.returns(&self.behind).home(block)[place_number];
        NeededHere {
            finish_filling: filling(&finish).map(read),
            look_ahead_filling: look_ahead.as_ref().and_then(filling).map(read),
            back: read(filling(&back).unwrap_or(back)),
            finish: read(finish),
            look_ahead: look_ahead.map(read),
        }
    }
}

/// What must be read off so that as much is on board as is needed, each simulated trip with its own error of the
/// reading. What needs nothing may be read off as nothing.
fn as_read(needed: &Lane, block: &Block) -> Lane {
    let mut read = [f64::INFINITY; BLOCK];
    for ((read, needed), off) in read.iter_mut().zip(needed).zip(&block.reading) {
        // What no amount is enough for is not a number on a leg that takes nothing more for more on board.
        if *needed <= 0.0 {
            *read = 0.0;
        } else if !needed.is_nan() {
            *read = needed - off;
        }
    }
    read
}
